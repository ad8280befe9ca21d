//! The log: for people on a terminal, a JSON object a line otherwise.

use coilwright_service::settings::{Log, LogFormat};
use std::io::IsTerminal;
use tracing_subscriber::EnvFilter;

/// Starts logging to standard error.
///
/// # Errors
/// In a sentence, if the filter is not understood.
pub fn start(settings: &Log) -> Result<(), String> {
    let filter = EnvFilter::try_new(&settings.filter).map_err(|e| {
        format!(
            "log.filter `{}` is not understood: {e}; write `info`, `debug` or `coilwright_service=debug`",
            settings.filter
        )
    })?;
    let human = match settings.format {
        LogFormat::Human => true,
        LogFormat::Json => false,
        LogFormat::Auto => std::io::stderr().is_terminal(),
    };
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    let started = if human {
        log.with_target(false).with_ansi(std::io::stderr().is_terminal()).try_init()
    } else {
        log.json().flatten_event(true).try_init()
    };
    started.map_err(|e| e.to_string())
}
