//! The whole program from outside: its binary is started, asked, fed nonsense and stopped; its sources are read.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod adhesives;
mod bad_input;
mod batch;
mod bench;
mod care;
mod cli;
mod content;
mod costing;
mod demo;
mod discover;
mod example_plugin;
mod examples;
mod fold;
mod formers;
mod gate;
mod house;
mod identify;
mod importing;
mod jobs;
mod journal;
mod learning;
mod life;
mod matching;
mod passport;
mod physics;
mod plan_asking;
mod plan_buying;
mod plan_frozen;
mod plan_reasons;
mod plan_stopped;
mod plan_ways;
mod plans;
mod plugin_files;
mod plugin_host;
mod published;
mod race;
mod readme;
mod recompute;
mod scenarios;
mod sheets;
mod shop;
mod sound;
mod spools;
mod steps;
mod stock;
mod tokens;
mod web_socket;
mod windings;
