//! The teller: asks the daemon and says what it answered, for people or as JSON lines.

use super::Told;
use crate::ask::Client;
use crate::exit::End;
use serde_json::{Value, json};
use std::cell::Cell;
use std::io::{ErrorKind, Write};

/// Asks the daemon and says what it answered.
pub struct Teller {
    client: Client,
    as_json: bool,
    calls: Cell<u32>,
}

impl Teller {
    /// A teller that asks by `client`; with `as_json` it prints calls and answers instead of the story.
    pub fn new(client: Client, as_json: bool) -> Teller {
        Teller { client, as_json, calls: Cell::new(0) }
    }

    /// Calls a method.
    ///
    /// # Errors
    /// The daemon's refusal, already reported.
    pub fn ask(&self, method: &str, params: Value) -> Told<Value> {
        self.calls.set(self.calls.get() + 1);
        match self.client.call(method, &params) {
            Ok(answer) => {
                if self.as_json {
                    line(&json!({ "method": method, "params": params, "result": answer }).to_string())?;
                }
                Ok(answer)
            }
            Err(e) => Err((e.report(|_| None), String::new())),
        }
    }

    /// Says a line of the story.
    pub fn say(&self, text: impl AsRef<str>) {
        if !self.as_json {
            // A story that nobody hears out is told to its end all the same: it makes the folder.
            let _ = line(text.as_ref());
        }
    }

    /// Calls so far.
    pub fn calls(&self) -> u32 {
        self.calls.get()
    }
}

/// A line on standard output.
fn line(text: &str) -> Told<()> {
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{text}") {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err((End::Failed, format!("the output was lost: {e}"))),
        _ => Ok(()),
    }
}
