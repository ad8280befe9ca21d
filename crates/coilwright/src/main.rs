//! The binary: the daemon, the demo, and a command for every method.

mod ask;
mod care;
mod demo;
mod exit;
mod export;
mod flags;
mod foreign;
mod log;
mod plugin;
mod serve;
mod show;
mod words;

use std::process::ExitCode;

fn main() -> ExitCode {
    words::run().into()
}
