//! A new data folder from a backup, whole or up to an entry or a time, opened once by the code that every start uses.

use super::copying::Copying;
use super::error::CareError;
use crate::disk::{Disk, RealDisk};
use crate::journal::{
    FileJournal, Head, Journal, Line, OpenError, Reading, Verified, hash_from_hex, read_folder, verify_folder,
};
use coilwright_shop::entry::{ClockQuality, Seq};
use jiff::Timestamp;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

const AT_ONCE: usize = 4096;

/// How much of the history is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    /// All of it.
    End,
    /// Up to this entry.
    Seq(Seq),
    /// All before the first entry with a plausible clock that is later.
    Time(Timestamp),
}

/// What a restored folder holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// Its last entry.
    pub head: Head,
    /// The backup's last entry.
    pub of: Seq,
}

/// Makes the data folder `to`, which must not be there, from the journal in `from` (a backup, or a data folder at rest).
/// `to` appears whole or not at all.
///
/// # Errors
///
/// See [`CareError`].
pub fn restore(from: &Path, to: &Path, until: Until) -> Result<Restored, CareError> {
    if fs::symlink_metadata(to).is_ok() {
        return Err(CareError::NotNew { folder: to.to_path_buf() });
    }
    if !from.join("journal").is_dir() {
        return Err(CareError::NoBackup { folder: from.to_path_buf() });
    }
    let source = read_folder(Arc::new(RealDisk), from)?;
    let of = source.head().seq;
    let last = match until {
        Until::End => of,
        Until::Seq(asked) if asked > of => {
            return Err(CareError::NotThere { folder: from.to_path_buf(), head: of, asked });
        }
        Until::Seq(asked) => asked,
        Until::Time(time) => last_before(source.as_ref(), time)?,
    };
    let made = beside(to);
    match fs::remove_dir_all(&made) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(OpenError::io("clearing", &made)(e).into()),
        _ => {}
    }
    let head = fill(source.as_ref(), &made, last)?;
    fs::rename(&made, to).map_err(OpenError::io("naming", to))?;
    let above = to.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
    RealDisk.sync_dir(above).map_err(OpenError::io("syncing", above))?;
    Ok(Restored { head, of })
}

/// Where the folder is made before it gets its name.
fn beside(to: &Path) -> PathBuf {
    let mut name = to.file_name().unwrap_or_default().to_os_string();
    name.push(".restoring");
    to.with_file_name(name)
}

fn fill(source: &dyn Reading, made: &Path, last: Seq) -> Result<Head, CareError> {
    let broken = |seq, what: &str| OpenError::corrupt(made, seq, what);
    let id = hash_from_hex(&source.journal()).ok_or_else(|| broken(0, "the backup's journal has no id"))?;
    fs::create_dir_all(made).map_err(OpenError::io("making", made))?;
    let mut copy = Copying::resume(&RealDisk, &made.join("journal"), id)?;
    while copy.head().seq < last {
        let lines = source.read(copy.head().seq, AT_ONCE)?;
        if lines.is_empty() {
            return Err(broken(copy.head().seq + 1, "the backup ends early").into());
        }
        for line in lines.iter().filter(|line| line.head.seq <= last) {
            copy.add(line)?;
        }
    }
    let head = copy.finish()?;
    // Opened and walked as every start would.
    let (journal, _) = FileJournal::open(made)?;
    let opened = journal.head();
    drop(journal);
    let Verified { ok, head: walked, findings } = verify_folder(&RealDisk, made);
    if !ok || walked != head || opened != head {
        let found = findings.first().map_or("it ends elsewhere", |finding| finding.text.as_str());
        return Err(broken(walked.seq + 1, found).into());
    }
    Ok(head)
}

/// The last entry before the first one that is later than `time` by a clock that nothing speaks against.
fn last_before(source: &dyn Reading, time: Timestamp) -> Result<Seq, CareError> {
    let mut after = 0;
    loop {
        let lines = source.read(after, AT_ONCE)?;
        let Some(last) = lines.last() else { return Ok(after) };
        for line in &lines {
            if is_later(line, time) {
                return Ok(line.head.seq - 1);
            }
        }
        after = last.head.seq;
    }
}

fn is_later(line: &Line, time: Timestamp) -> bool {
    line.entry().is_ok_and(|e| e.stamp.quality == ClockQuality::Plausible && e.stamp.at > time)
}
