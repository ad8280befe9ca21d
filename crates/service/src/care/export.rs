//! Everything a shop ever wrote down, as JSON lines for other programs: the journal's lines as they were hashed.

use coilwright_store::{CareError, OpenError, RealDisk, read_folder};
use std::fmt;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Lines asked for at once; a read ends by itself at some 4 MiB, so memory stays small however long the journal is.
const AT_ONCE: usize = 4096;

/// How far an export goes.
pub struct Exported {
    /// Entries written.
    pub entries: u64,
    /// Hash of the last one; of an empty journal its id.
    pub hash: String,
}

/// Why an export was not made.
#[derive(Debug)]
pub enum ExportError {
    /// The folder holds no journal.
    NoJournal(PathBuf),
    /// The journal cannot be read or does not check.
    Care(CareError),
    /// The output cannot be written.
    Out(io::Error),
}

impl fmt::Display for ExportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoJournal(folder) => {
                write!(f, "{} holds no journal; name a shop's data folder or a backup with --data", folder.display())
            }
            Self::Care(e) => e.fmt(f),
            Self::Out(e) => write!(f, "the output cannot be written: {e}"),
        }
    }
}

impl From<OpenError> for ExportError {
    fn from(e: OpenError) -> Self {
        Self::Care(CareError::Folder(e))
    }
}

/// Writes every entry of a data folder or a backup, one a line, its chain checked first. Nothing there is changed.
///
/// # Errors
/// See [`ExportError`]. A journal that does not check gives nothing at all.
pub fn export(data: &Path, out: &mut dyn Write) -> Result<Exported, ExportError> {
    if !data.join("journal").is_dir() {
        return Err(ExportError::NoJournal(data.to_path_buf()));
    }
    let from = read_folder(Arc::new(RealDisk), data)?;
    let head = from.head();
    let mut done = 0;
    while done < head.seq {
        let lines = from.read(done, AT_ONCE).map_err(OpenError::from)?;
        let Some(last) = lines.last() else { break };
        let reached = last.head.seq;
        for line in &lines {
            out.write_all(&line.bytes).and_then(|()| out.write_all(b"\n")).map_err(ExportError::Out)?;
        }
        done = reached;
    }
    out.flush().map_err(ExportError::Out)?;
    Ok(Exported { entries: done, hash: head.hash.to_string() })
}
