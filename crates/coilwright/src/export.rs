//! `export`: all entries of a shop as JSON lines, to standard output or into a new file that is whole or not there.

use crate::care::failed;
use crate::exit::End;
use crate::show;
use clap::{Arg, ArgMatches, Command, value_parser};
use coilwright_service::care::{ExportError, Exported, export};
use serde_json::json;
use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind};
use std::path::{Path, PathBuf};

/// The command.
pub fn command() -> Command {
    let path = |name: &'static str| Arg::new(name).long(name).value_parser(value_parser!(PathBuf));
    Command::new("export")
        .about("Write everything a shop ever wrote down as JSON lines, one entry a line")
        .arg(
            path("data")
                .value_name("DIR")
                .required(true)
                .help("The shop's folder or a backup; it is only read, and its daemon may run"),
        )
        .arg(path("output").short('o').value_name("FILE").help("Write to this new file instead of standard output"))
}

/// Does it.
pub fn run(given: &ArgMatches) -> End {
    let data = given.get_one::<PathBuf>("data").map_or(Path::new(""), PathBuf::as_path);
    let Some(file) = given.get_one::<PathBuf>("output") else {
        return match export(data, &mut BufWriter::new(io::stdout().lock())) {
            // A reader that has gone away (`| head`) is a good end.
            Err(ExportError::Out(e)) if e.kind() == ErrorKind::BrokenPipe => End::Done,
            Err(e) => said(&e),
            Ok(_) => End::Done,
        };
    };
    match to_file(data, file) {
        Ok(done) => {
            let answer = json!({ "file": file, "entries": done.entries, "hash": done.hash });
            show::answer("care.export", &answer, show::How::of(given.get_flag("json"), given.get_flag("quiet")))
        }
        Err(e) => said(&e),
    }
}

/// Into a file beside it first, renamed when it is whole and synced.
fn to_file(data: &Path, file: &Path) -> Result<Exported, ExportError> {
    let taken = |path: &Path| {
        io::Error::new(
            ErrorKind::AlreadyExists,
            format!("{} is there already; choose another place with -o", path.display()),
        )
    };
    if file.symlink_metadata().is_ok() {
        return Err(ExportError::Out(taken(file)));
    }
    let mut name = file.file_name().unwrap_or_default().to_os_string();
    name.push(".part");
    let part = file.with_file_name(name);
    let begun = File::create_new(&part).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => taken(&part),
        kind => io::Error::new(kind, format!("{}: {e}; choose another place with -o", part.display())),
    });
    let mut out = BufWriter::new(begun.map_err(ExportError::Out)?);
    let whole = export(data, &mut out).and_then(|done| {
        out.get_ref().sync_all().and_then(|()| fs::rename(&part, file)).map_err(ExportError::Out)?;
        Ok(done)
    });
    if whole.is_err() {
        let _ = fs::remove_file(&part);
    }
    whole
}

fn said(e: &ExportError) -> End {
    if let ExportError::Care(e) = e {
        return failed(e);
    }
    eprintln!("error: {e}");
    match e {
        ExportError::NoJournal(_) => End::NotFound,
        _ => End::WrongUse,
    }
}
