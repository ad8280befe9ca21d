//! What can go wrong with the journal, said so that a person knows the file, the sequence and the next step.

use super::line::Head;
use coilwright_shop::entry::Seq;
use std::io;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a group was not kept.
#[derive(Debug, Error)]
pub enum Append {
    /// Somebody else appended (cannot happen to a file): read up to this head and decide again.
    #[error("the journal has moved on to entry {}", .0.seq)]
    Moved(Head),
    /// It may or may not have been kept: look, never guess (cannot happen to a file).
    #[error("it is not known whether the group was kept: {0}")]
    Unknown(String),
    /// No room. Nothing was written; try again when there is some.
    #[error("the disk is full; free some space, writing goes on by itself")]
    Full,
    /// Nothing can be written any more until the journal is opened again. The group may or may not be found then.
    #[error("the journal cannot be written ({0}); restart the daemon, it then checks what was kept")]
    Broken(String),
}

/// Why a folder was not opened.
#[derive(Debug, Error)]
pub enum OpenError {
    /// Another process writes here.
    #[error("{} is in use by another daemon{}; stop that one or choose another folder", .folder.display(), .process.map(|p| format!(" (process {p})")).unwrap_or_default())]
    InUse {
        /// The data folder.
        folder: PathBuf,
        /// The other process, if it left its number.
        process: Option<u32>,
    },
    /// Not ours to read or write.
    #[error("no permission for {}; give the daemon's user this folder (chown -R) or choose another one", .path.display())]
    NoPermission {
        /// What was refused.
        path: PathBuf,
    },
    /// A folder of something else.
    #[error("{} holds {found}, but no journal: it is no shop's folder; choose an empty one or one that is not there yet", .folder.display())]
    NotAShop {
        /// The folder.
        folder: PathBuf,
        /// What is in it that is none of ours.
        found: String,
    },
    /// Written by a newer program.
    #[error("{} has format {found}, this program knows {known}; install the newer program again", .path.display())]
    Newer {
        /// The file that says so.
        path: PathBuf,
        /// Its format.
        found: u64,
        /// The newest we know.
        known: u64,
    },
    /// Not what was once written. Nothing was changed.
    #[error("{} is damaged at entry {seq}: {what}; nothing was changed: run `coilwright journal verify` for the whole finding, then `coilwright repair --from-backup`", .path.display())]
    Corrupt {
        /// The file.
        path: PathBuf,
        /// The first entry that is not good.
        seq: Seq,
        /// What is wrong.
        what: String,
    },
    /// The disk is full and there was nothing left to give up.
    #[error("the disk of {} is full; free some space and start again", .path.display())]
    Full {
        /// What could not be written.
        path: PathBuf,
    },
    /// The system refused.
    #[error("{doing} {}: {source}", .path.display())]
    Io {
        /// What was tried.
        doing: &'static str,
        /// On what.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The writer's thread could not be started.
    #[error("a thread could not be started: {0}")]
    Thread(io::Error),
}

impl OpenError {
    /// Sorts what the system said about `path`.
    pub(crate) fn io(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_path_buf();
        move |source| match source.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Self::NoPermission { path },
            _ if is_full(&source) => Self::Full { path },
            _ => Self::Io { doing, path, source },
        }
    }

    pub(crate) fn corrupt(path: &Path, seq: Seq, what: impl Into<String>) -> Self {
        Self::Corrupt { path: path.to_path_buf(), seq, what: what.into() }
    }
}

/// Whether this is about room.
pub(crate) fn is_full(e: &io::Error) -> bool {
    matches!(e.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded)
}

/// Why lines could not be read.
#[derive(Debug, Error)]
pub enum ReadError {
    /// A line is not what was once written.
    #[error("{} is damaged at entry {seq}: {what}; run `coilwright journal verify`", .path.display())]
    Corrupt {
        /// The file.
        path: PathBuf,
        /// The entry.
        seq: Seq,
        /// What is wrong.
        what: String,
    },
    /// A line was written by a newer program.
    #[error("{} holds entries of version {found}, this program knows {known}; install the newer program again", .path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// The version of the entry.
        found: u64,
        /// The newest we know.
        known: u64,
    },
    /// The system refused.
    #[error("reading {}: {source}", .path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

impl From<ReadError> for OpenError {
    fn from(e: ReadError) -> Self {
        match e {
            ReadError::Corrupt { path, seq, what } => Self::Corrupt { path, seq, what },
            ReadError::Newer { path, found, known } => Self::Newer { path, found, known },
            ReadError::Io { path, source } => Self::io("reading", &path)(source),
        }
    }
}

/// Something worth telling, found while opening or verifying.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Stable short word: `torn`, `manifest_remade`, `note_unreadable`, `witness_ahead`, `ballast_spent`, `damaged` …
    pub code: &'static str,
    /// Whether data that was once acknowledged may be missing or wrong.
    pub grave: bool,
    /// The file.
    pub path: PathBuf,
    /// The entry, where one can be named.
    pub seq: Option<Seq>,
    /// One sentence.
    pub text: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(kind: io::ErrorKind, words: &[&str]) {
        let text = OpenError::io("opening", Path::new("shop/lock"))(io::Error::from(kind)).to_string();
        for word in words.iter().chain(&["shop/lock"]) {
            assert!(text.contains(word), "{text}");
        }
    }

    #[test]
    fn what_the_system_refuses_is_said_with_the_next_step() {
        check(io::ErrorKind::PermissionDenied, &["no permission", "chown"]);
        check(io::ErrorKind::ReadOnlyFilesystem, &["no permission"]);
        check(io::ErrorKind::StorageFull, &["full", "free some space"]);
        check(io::ErrorKind::NotADirectory, &["opening"]);
    }

    #[test]
    fn damage_is_said_with_file_entry_and_command() {
        let text = OpenError::corrupt(Path::new("journal/x.jsonl"), 7, "it is not good").to_string();
        for word in ["journal/x.jsonl", "entry 7", "it is not good", "coilwright journal verify"] {
            assert!(text.contains(word), "{text}");
        }
    }
}
