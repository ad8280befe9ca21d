//! Opening the index: believed only if everything it says agrees with itself and with the journal.

use super::good::Good;
use super::known::Known;
use super::shelves::{Lost, Memory, Shelves, Sled};
use super::{Index, IndexReport, KeyKeeping};
use crate::fold::Subjects;
use crate::journal::{Head, Reading, Witness};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex, RwLock};

/// How many indexes that were not believed are kept.
const KEPT: usize = 2;

/// An index that agrees with itself, or why there is none. Not yet compared with the journal.
pub(crate) struct Candidate {
    dir: PathBuf,
    found: Result<(Sled, Good, Known), String>,
    /// Whether there was anything to be set aside.
    there: bool,
}

/// What the index needs to know of its surroundings.
pub(crate) struct IndexStart {
    pub journal: Arc<dyn Reading>,
    pub subjects: Subjects,
    pub keeping: KeyKeeping,
}

impl IndexStart {
    fn index(self, shelves: Arc<dyn Shelves>, good: Good, known: Known, mishap: Option<String>) -> Index {
        Index {
            indexed_to: AtomicU64::new(good.seq),
            shelves: RwLock::new(shelves),
            good: Mutex::new(good),
            known,
            journal: self.journal,
            subjects: self.subjects,
            keeping: self.keeping,
            mishap: Mutex::new(mishap),
        }
    }
}

/// Opens the index of a data folder, as far as that goes without the journal.
pub(crate) fn open_candidate(data: &Path) -> Candidate {
    let dir = data.join("index");
    let there = dir.exists();
    let found = if there { try_open(&dir) } else { Err("there was none".to_owned()) };
    Candidate { dir, found, there }
}

fn try_open(dir: &Path) -> Result<(Sled, Good, Known), String> {
    let marker = marker(dir);
    if marker.exists() {
        return Err("the last time it was opened the daemon died or was killed".to_owned());
    }
    // Without the marker an open that hangs could not be told the next time: better no index than that.
    fs::write(&marker, b"").map_err(|e| format!("its marker file cannot be written: {e}"))?;
    let found = Sled::open(dir).map_err(|lost| lost.0).and_then(|sled| {
        let known = Known::default();
        let good = Good::checked(&sled, &known)?;
        Ok((sled, good, known))
    });
    let _ = fs::remove_file(&marker);
    found
}

fn marker(dir: &Path) -> PathBuf {
    dir.with_extension("opening")
}

impl Candidate {
    /// What the index has seen of the journal.
    pub(crate) fn witness(&self) -> Option<Witness> {
        let (_, good, _) = self.found.as_ref().ok()?;
        Some(Witness { name: "the index".to_owned(), journal: good.journal.clone(), head: good.head()? })
    }

    /// Compares it with the journal and takes it, or puts it aside and makes a new one. Entries are not added here.
    pub(crate) fn settle(self, start: IndexStart) -> (Index, IndexReport) {
        let mut report = IndexReport { rebuilt: None, set_aside: None, added: 0, in_memory: None };
        let judged = self.found.and_then(|(sled, good, known)| {
            agrees(&good, start.journal.as_ref())?;
            Ok((sled, good, known))
        });
        let (shelves, good, known): (Arc<dyn Shelves>, Good, Known) = match judged {
            Ok((sled, good, known)) => (Arc::new(sled), good, known),
            Err(why) => {
                if self.there {
                    report.set_aside = set_aside(&self.dir);
                }
                report.rebuilt = Some(why);
                let good = Good::empty(start.journal.journal());
                match fresh(&self.dir, &good) {
                    Ok(sled) => (Arc::new(sled), good, Known::default()),
                    Err(lost) => {
                        report.in_memory = Some(lost.0);
                        (Arc::new(Memory::default()), good, Known::default())
                    }
                }
            }
        };
        let index = start.index(shelves, good, known, report.in_memory.clone());
        (index, report)
    }

    /// The index if it agrees with itself and with the journal, or why not. Nothing is put aside.
    pub(crate) fn look(self, start: IndexStart) -> Result<Index, String> {
        let (sled, good, known) = self.found?;
        agrees(&good, start.journal.as_ref())?;
        Ok(start.index(Arc::new(sled), good, known, None))
    }

    /// An index in memory, for journals that have no folder.
    pub(crate) fn none() -> Self {
        Self { dir: PathBuf::new(), found: Err("there was none".to_owned()), there: false }
    }
}

/// Whether the journal has, at the place the index names, the entry the index has seen.
fn agrees(good: &Good, journal: &dyn Reading) -> Result<(), String> {
    if good.journal != journal.journal() {
        return Err("it belongs to another journal".to_owned());
    }
    let seen = good.head().ok_or("its record has a hash that is none")?;
    check_place(seen, journal)?;
    match &good.fold {
        Some(frozen) if frozen.seq > good.seq => Err("its frozen fold is ahead of itself".to_owned()),
        Some(frozen) => {
            let hash = crate::journal::hash_from_hex(&frozen.hash).ok_or("its frozen fold has a hash that is none")?;
            check_place(Head { seq: frozen.seq, hash }, journal)
        }
        None => Ok(()),
    }
}

fn check_place(seen: Head, journal: &dyn Reading) -> Result<(), String> {
    if seen.seq > journal.head().seq {
        return Err(format!("it has seen entry {}, the journal ends at {}", seen.seq, journal.head().seq));
    }
    let Some(before) = seen.seq.checked_sub(1) else { return Ok(()) };
    match journal.read(before, 1).map(|lines| lines.first().map(|line| line.head)) {
        Ok(Some(head)) if head == seen => Ok(()),
        Ok(_) => Err(format!("it has seen another entry {}", seen.seq)),
        Err(e) => Err(format!("entry {} could not be compared: {e}", seen.seq)),
    }
}

fn fresh(dir: &Path, good: &Good) -> Result<Sled, Lost> {
    if dir.as_os_str().is_empty() {
        return Err(Lost("there is no folder for it".to_owned()));
    }
    let marker = marker(dir);
    fs::write(&marker, b"").map_err(|e| Lost(format!("its marker file cannot be written: {e}")))?;
    let made = Sled::open(dir).and_then(|sled| {
        sled.apply(good.change().into_iter().collect())?;
        // The record at least, so that a kill before sled writes by itself does not leave an index without one.
        sled.flush()?;
        Ok(sled)
    });
    let _ = fs::remove_file(&marker);
    made
}

/// Gives a folder that is not believed a number, and deletes the oldest such folders.
fn set_aside(dir: &Path) -> Option<PathBuf> {
    let above = dir.parent()?;
    let mut numbers: Vec<u64> = fs::read_dir(above)
        .ok()?
        .flatten()
        .filter_map(|item| item.file_name().to_str()?.strip_prefix("index-")?.parse().ok())
        .collect();
    numbers.sort_unstable();
    let next = numbers.last().map_or(1, |last| last.saturating_add(1));
    let aside = above.join(format!("index-{next}"));
    let moved = fs::rename(dir, &aside);
    let _ = fs::remove_file(marker(dir));
    for old in numbers.iter().rev().skip(KEPT - 1) {
        let _ = fs::remove_dir_all(above.join(format!("index-{old}")));
    }
    match moved {
        Ok(()) => Some(aside),
        // It cannot be moved: then it must go, or the new one would be opened into it.
        Err(_) => fs::remove_dir_all(dir).ok().map(|()| dir.to_path_buf()),
    }
}
