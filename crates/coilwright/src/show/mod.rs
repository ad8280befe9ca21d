//! Showing answers: for people on a terminal, tab-separated in a pipe, JSON where asked, ids alone where quiet.

mod adhesive;
mod bench;
mod care;
mod coil;
mod former;
mod identify;
mod job;
mod journal;
mod learn;
mod matching;
mod number;
mod plain;
mod plan;
mod plugin;
mod read;
mod shop;
mod sound;
mod spool;
mod stock;
mod table;
mod wire;

pub use number::figure;
use number::shown;
pub use read::{items, text};

use crate::exit::End;
use serde_json::Value;
use std::io::{IsTerminal, Write};
use std::path::Path;

/// For whom an answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// People.
    People,
    /// The next program in a pipe.
    Pipe,
    /// JSON.
    Json,
    /// Ids alone.
    Quiet,
}

impl How {
    /// What the flags and the output say.
    pub fn of(json: bool, quiet: bool) -> How {
        match (json, quiet, std::io::stdout().is_terminal()) {
            (true, _, _) => How::Json,
            (_, true, _) => How::Quiet,
            (_, _, true) => How::People,
            _ => How::Pipe,
        }
    }
}

/// Shows the answer of `method`. A gate that says stop, a reload that kept the old plugins, and a table with lines that cannot
/// be taken end as refusals, so that `job gate … && …` does not go on.
pub fn answer(method: &str, answer: &Value, how: How) -> End {
    match show(method, answer, how) {
        End::Done if method == "job.gate" && answer["verdict"] == "stop" => End::Refused,
        End::Done if method == "plugin.reload" && answer["swapped"] == false => End::Refused,
        End::Done if method == "care.import" && answer["refused"] != 0 => End::Refused,
        end => end,
    }
}

fn show(method: &str, answer: &Value, how: How) -> End {
    if how == How::Json {
        return json(answer);
    }
    if let Some(sheet) = sheet_text(answer) {
        return print(sheet);
    }
    let text = match (method, how) {
        ("spool.list", how) => spool::list(answer, how),
        ("job.list", how) => job::list(answer, how),
        ("journal.read", _) => journal::lines(answer),
        ("wire.list", how) => wire::list(answer, how),
        ("wire.identify", how) => identify::identified(answer, how),
        ("coil.match", how) => matching::matched(answer, how),
        ("alert.list", how) => stock::alerts(answer, how),
        ("former.list", how) => wire::formers(answer, how),
        ("adhesive.list", how) => adhesive::list(answer, how),
        ("plugin.new" | "plugin.check" | "plugin.test" | "plugin.pack" | "plugin.add" | "plugin.switch", how) => {
            plugin::on_files(method, answer, how)
        }
        (method, How::Quiet) => plain::ids(method, answer),
        (_, How::Pipe) => plain::tab_separated(answer),
        ("coil.design", _) => coil::design(answer),
        ("former.mandrel", _) => former::mandrel(answer),
        ("former.compare", _) => former::compared(answer),
        ("adhesive.mix", _) => adhesive::mix(answer),
        ("coil.fit", _) => matching::fitted(answer),
        ("coil.sound", _) => sound::sound(answer),
        ("coil.pair", _) => sound::pair(answer),
        ("coil.inductance", _) => sound::inductance(answer),
        ("coil.reading", _) => bench::reading(answer),
        ("coil.trim", _) => bench::trim(answer),
        ("coil.heat", _) => bench::heat(answer),
        ("shop.status", _) => shop::status(answer),
        ("shop.figures" | "shop.set", _) => shop::figures(answer),
        ("spool.show", _) => spool::show(answer),
        ("spool.yields", _) => stock::yields(answer),
        ("job.batch", _) => stock::batch(answer),
        ("job.show", _) => job::show(answer),
        ("job.gate" | "job.start", _) => job::gate(answer),
        ("plan.make" | "plan.show", _) => plan::plan(answer),
        ("plugin.list", _) => plugin::list(answer),
        ("plan.outlook", _) => plan::outlook(answer),
        ("plan.unlock", _) => plan::unlock(answer),
        ("plan.buy", _) => plan::buy(answer),
        ("learn.show", _) => learn::learned(answer),
        ("care.import", _) => care::imported(answer),
        ("journal.verify", _) => journal::verified(answer),
        _ => plain::done(answer),
    };
    let end = print(&text);
    if how != How::People || method == "journal.read" {
        how_it_goes_on(method, answer);
    }
    end
}

/// A list that ends at its limit says so beside the output, where no program takes it for an item.
fn how_it_goes_on(method: &str, answer: &Value) {
    if answer["items"].is_null() || answer["next_cursor"].is_null() {
        return;
    }
    let flag = if method == "journal.read" { "after" } else { "cursor" };
    let next = plain::text(&answer["next_cursor"]);
    eprintln!("more follow: ask on with --{flag} {next}, or for more at once with --limit");
}

/// Shows what a plugin's method answered: names and values, and lists as tables.
pub fn of_plugin(answer: &Value, how: How) -> End {
    match how {
        How::Json => json(answer),
        How::Pipe | How::Quiet => print(&plain::tab_separated(answer)),
        How::People => print(&plugin::answer(answer)),
    }
}

/// Prints an answer as indented JSON.
pub fn json(answer: &Value) -> End {
    print(&format!("{answer:#}\n"))
}

/// Writes a sheet to a file.
pub fn to_file(answer: &Value, file: &Path) -> End {
    let Some(text) = sheet_text(answer) else { return json(answer) };
    match std::fs::write(file, text) {
        Ok(()) => {
            eprintln!("written: {}", file.display());
            End::Done
        }
        Err(e) => {
            eprintln!("error: {} cannot be written: {e}; choose another place with -o", file.display());
            End::WrongUse
        }
    }
}

fn sheet_text(answer: &Value) -> Option<&str> {
    answer["svg"].as_str().or_else(|| answer["html"].as_str())
}

/// Prints, and takes a reader that has gone away (`| head`) for a good end. Output that is lost otherwise is a failure.
pub fn print(text: &str) -> End {
    let mut out = std::io::stdout().lock();
    let written = out
        .write_all(text.as_bytes())
        .and_then(|()| if text.ends_with('\n') { Ok(()) } else { out.write_all(b"\n") })
        .and_then(|()| out.flush());
    match written {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            eprintln!("error: the output was lost: {e}");
            End::Failed
        }
        _ => End::Done,
    }
}
