//! The shop from outside: decisions, state and journal together.
#![cfg(test)]

mod bench;
mod jobs;
mod laws;
mod lots;
mod short_spool;
mod simulated;
mod spools;
mod undo;
