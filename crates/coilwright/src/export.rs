//! `export` and `care export`: everything of a shop, from its folder or its daemon, to standard output or into a new file that
//! is whole or not there.

use crate::ask::Client;
use crate::care::failed;
use crate::exit::End;
use crate::show;
use clap::{Arg, ArgMatches, Command, value_parser};
use coilwright_service::care::{ExportError, Exported, export};
use serde_json::{Value, json};
use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind, Write};
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

fn to_file(data: &Path, file: &Path) -> Result<Exported, ExportError> {
    let place = NewFile::beside(file).map_err(ExportError::Out)?;
    let mut out = BufWriter::new(&place.part);
    let done = export(data, &mut out)?;
    drop(out);
    place.keep().map_err(ExportError::Out)?;
    Ok(done)
}

/// Writes out what a daemon tells, page by page; no file if it stops telling.
pub fn of_daemon(client: &Client, mut params: Value, file: Option<&PathBuf>) -> End {
    let place = match file.map(|file| NewFile::beside(file)).transpose() {
        Ok(place) => place,
        Err(e) => return End::wrong_use(e),
    };
    loop {
        let page = match client.call("care.export", &params) {
            Ok(page) => page,
            Err(why) => return why.report(|_| None),
        };
        let text = page["text"].as_str().unwrap_or_default();
        let written = match &place {
            Some(place) => (&place.part).write_all(text.as_bytes()),
            None => io::stdout().lock().write_all(text.as_bytes()),
        };
        match written {
            Err(e) if e.kind() == ErrorKind::BrokenPipe => return End::Done,
            Err(e) => return End::wrong_use(format!("the output cannot be written: {e}")),
            Ok(()) => {}
        }
        match &page["next_cursor"] {
            Value::Null => break,
            next => params["after"] = next.clone(),
        }
    }
    match place.map(NewFile::keep).transpose() {
        Ok(_) => End::Done,
        Err(e) => End::wrong_use(e),
    }
}

/// A file that is written beside its place, and takes it when it is whole and synced; dropped before, it is gone.
struct NewFile {
    part: File,
    beside: PathBuf,
    file: PathBuf,
}

impl NewFile {
    fn beside(file: &Path) -> io::Result<NewFile> {
        let taken = |path: &Path| {
            io::Error::new(
                ErrorKind::AlreadyExists,
                format!("{} is there already; choose another place with -o", path.display()),
            )
        };
        if file.symlink_metadata().is_ok() {
            return Err(taken(file));
        }
        let mut name = file.file_name().unwrap_or_default().to_os_string();
        name.push(".part");
        let beside = file.with_file_name(name);
        let part = File::create_new(&beside).map_err(|e| match e.kind() {
            ErrorKind::AlreadyExists => taken(&beside),
            kind => io::Error::new(kind, format!("{}: {e}; choose another place with -o", beside.display())),
        })?;
        Ok(NewFile { part, beside, file: file.to_owned() })
    }

    fn keep(self) -> io::Result<()> {
        self.part.sync_all()?;
        fs::rename(&self.beside, &self.file)
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        // Gone already where it was kept.
        let _ = fs::remove_file(&self.beside);
    }
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
