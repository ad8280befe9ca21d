//! A copy of the journal in another folder, made while the daemon runs, each time only of what is new.

use super::copying::Copying;
use super::error::CareError;
use crate::disk::{Disk, replace};
use crate::journal::{
    FORMAT, Folder, Head, OpenError, Reading, Small, Witness, hash_from_hex, read_small, sealed_bytes,
};
use coilwright_shop::entry::Seq;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::io;
use std::path::Path;

const RECORD: &str = "backup.json";
/// Lines asked for at once; a read ends by itself at some 4 MiB.
const AT_ONCE: usize = 4096;

/// How far a backup goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackedUp {
    /// Of which journal, hexadecimal id.
    pub journal: String,
    /// Its last entry.
    pub head: Head,
    /// When it was made, by the clock of the machine that made it.
    pub at: Timestamp,
    /// Entries that this time added; 0 when only looked at.
    pub added: u64,
}

impl BackedUp {
    /// What the backup has seen of the journal, for [`crate::Options::witnesses`].
    #[must_use]
    pub fn witness(&self) -> Witness {
        Witness { name: "the newest backup".to_owned(), journal: self.journal.clone(), head: self.head }
    }
}

#[derive(Serialize, Deserialize)]
struct Record {
    format: u64,
    journal: String,
    seq: Seq,
    hash: String,
    at: Timestamp,
}

/// Adds to the backup in `to` what it does not hold yet, up to the last synced entry; makes the folder if it is not
/// there. A kill or a power cut on the way leaves the backup as it was or further on, never damaged.
///
/// # Errors
///
/// See [`CareError`].
pub fn backup(disk: &dyn Disk, from: &dyn Reading, to: &Path, at: Timestamp) -> Result<BackedUp, CareError> {
    if to.join("index").exists() || to.join("token").exists() {
        return Err(CareError::DataFolder { folder: to.to_path_buf() });
    }
    let folder = Folder::lock(to)?;
    let until = from.head();
    let journal = from.journal();
    let no_id = || OpenError::corrupt(to, 0, "the journal to be copied has no id");
    let id = hash_from_hex(&journal).ok_or_else(no_id)?;
    let mut copy = Copying::resume(disk, &folder.journal(), id)?;
    follows(from, &copy, to)?;
    let begun = copy.head();
    while copy.head().seq < until.seq {
        let lines = from.read(copy.head().seq, AT_ONCE)?;
        if lines.is_empty() {
            break;
        }
        for line in lines.iter().filter(|line| line.head.seq <= until.seq) {
            copy.add(line)?;
        }
    }
    let head = copy.finish()?;
    let record = Record { format: FORMAT, journal: journal.clone(), seq: head.seq, hash: head.hash.to_string(), at };
    let bytes = sealed_bytes(&record).map_err(|e| OpenError::io("writing", to)(io::Error::other(e)))?;
    replace(disk, to, RECORD, &bytes).map_err(OpenError::io("writing", &to.join(RECORD)))?;
    Ok(BackedUp { journal, head, at, added: head.seq - begun.seq })
}

/// The journal must have, at the place where the copy ends, the entry that the copy has there.
fn follows(from: &dyn Reading, copy: &Copying<'_>, to: &Path) -> Result<(), CareError> {
    let other = |what: String| CareError::OtherHistory { folder: to.to_path_buf(), what };
    if copy.journal() != from.journal() {
        return Err(other("it is of another journal".to_owned()));
    }
    let head = copy.head();
    if head.seq > from.head().seq {
        return Err(other(format!("it holds entry {}, the journal ends at {}", head.seq, from.head().seq)));
    }
    let Some(before) = head.seq.checked_sub(1) else { return Ok(()) };
    let there = from.read(before, 1)?.first().map(|line| line.head);
    if there == Some(head) { Ok(()) } else { Err(other(format!("its entry {} is another one", head.seq))) }
}

/// How far the backup in a folder goes by its own record; nothing is walked. `None` if there is no record.
///
/// # Errors
///
/// If the record is there and cannot be used.
pub fn newest_backup(disk: &dyn Disk, folder: &Path) -> Result<Option<BackedUp>, OpenError> {
    let path = folder.join(RECORD);
    let record: Record = match disk.read(&path).map(|bytes| read_small(&bytes)) {
        Ok(Small::Good(record)) => record,
        Ok(Small::Newer(found)) => return Err(OpenError::Newer { path, found, known: FORMAT }),
        Ok(Small::Damaged) => return Err(OpenError::corrupt(&path, 0, "its check does not hold")),
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(OpenError::io("reading", &path)(e)),
    };
    let hash = hash_from_hex(&record.hash).ok_or_else(|| OpenError::corrupt(&path, 0, "its hash is none"))?;
    let head = Head { seq: record.seq, hash };
    Ok(Some(BackedUp { journal: record.journal, head, at: record.at, added: 0 }))
}
