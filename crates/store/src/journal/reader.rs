//! Reads lines by sequence from the segments, beside the writer, never past what is synced.

use super::Reading;
use super::error::ReadError;
use super::line::{Frame, Hash, Head, Line, MAX_LINE};
use super::segment;
use super::verify::{self, Verified};
use crate::disk::{Disk, DiskFile};
use coilwright_shop::archive::Unreadable;
use coilwright_shop::entry::{ENTRY_VERSION, Entry, Seq};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, PoisonError, RwLock, RwLockReadGuard, RwLockWriteGuard};

/// One call gives no more than about this, however many lines were asked for.
const MAX_READ: usize = 4 << 20;
/// Below this distance a place is found by reading on.
const NEAR: u64 = 4 << 10;
/// Read at once where one line is looked for: some lines, so that a place is found without reading half the segment.
const PEEK: usize = 4 << 10;
/// Read at once where lines are read on and on.
const STRIDE: usize = 64 << 10;

/// A segment and how much of it is synced.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub first: Seq,
    pub used: u64,
}

pub(crate) struct FileReader {
    disk: Arc<dyn Disk>,
    dir: PathBuf,
    journal: Hash,
    synced: RwLock<Synced>,
}

struct Synced {
    head: Head,
    places: Vec<Place>,
}

impl FileReader {
    pub(super) fn new(disk: Arc<dyn Disk>, dir: PathBuf, journal: Hash, head: Head, places: Vec<Place>) -> Self {
        Self { disk, dir, journal, synced: RwLock::new(Synced { head, places }) }
    }

    /// The writer begins a segment.
    pub(super) fn begin(&self, first: Seq) {
        self.write().places.push(Place { first, used: 0 });
    }

    /// The writer has synced up to here.
    pub(super) fn reached(&self, head: Head, used: u64) {
        let mut synced = self.write();
        synced.head = head;
        if let Some(last) = synced.places.last_mut() {
            last.used = used;
        }
    }

    fn look(&self) -> RwLockReadGuard<'_, Synced> {
        self.synced.read().unwrap_or_else(PoisonError::into_inner)
    }

    fn write(&self) -> RwLockWriteGuard<'_, Synced> {
        self.synced.write().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Reading for FileReader {
    fn head(&self) -> Head {
        self.look().head
    }

    fn journal(&self) -> String {
        self.journal.to_string()
    }

    fn read(&self, after: Seq, limit: usize) -> Result<Vec<Line>, ReadError> {
        let (head, places) = {
            let synced = self.look();
            let begin = synced.places.partition_point(|p| p.first <= after.saturating_add(1)).saturating_sub(1);
            (synced.head, synced.places.get(begin..).unwrap_or_default().to_vec())
        };
        let mut lines: Vec<Line> = Vec::new();
        let mut bytes = 0;
        let mut from = after;
        for place in places {
            if lines.len() >= limit || bytes >= MAX_READ || from >= head.seq {
                break;
            }
            let mut segment = Segment::open(self.disk.as_ref(), &self.dir, place)?;
            let mut at = segment.find(from + 1)?;
            segment.stride = if limit - lines.len() > 8 { STRIDE } else { PEEK };
            while lines.len() < limit && bytes < MAX_READ && from < head.seq && at < place.used {
                let (line, next) = segment.line(at)?;
                let frame = Frame::of(&line).filter(|f| f.seq == from + 1);
                let Some(frame) = frame.filter(|f| lines.last().is_none_or(|l| f.prev == l.head.hash)) else {
                    return Err(segment.corrupt(from + 1, "the line is not good"));
                };
                if frame.version > u64::from(ENTRY_VERSION) {
                    let (path, known) = (segment.path, u64::from(ENTRY_VERSION));
                    return Err(ReadError::Newer { path, found: frame.version, known });
                }
                bytes += line.len();
                from = frame.seq;
                lines.push(Line { head: frame.head(), prev: frame.prev, bytes: line });
                at = next;
            }
        }
        Ok(lines)
    }

    fn verify(&self) -> Verified {
        let (head, places) = {
            let synced = self.look();
            (synced.head, synced.places.clone())
        };
        verify::verify_places(self.disk.as_ref(), &self.dir, self.journal, &places, head)
    }
}

/// One segment open for reading, with the part of it last read.
struct Segment {
    file: Box<dyn DiskFile>,
    path: PathBuf,
    place: Place,
    buffer: Vec<u8>,
    start: u64,
    /// Read at once.
    stride: usize,
}

impl Segment {
    fn open(disk: &dyn Disk, dir: &Path, place: Place) -> Result<Self, ReadError> {
        let path = dir.join(segment::name(place.first));
        match disk.open_read(&path) {
            Ok(file) => Ok(Self { file, path, place, buffer: Vec::new(), start: 0, stride: PEEK }),
            Err(source) => Err(ReadError::Io { path, source }),
        }
    }

    fn corrupt(&self, seq: Seq, what: &str) -> ReadError {
        ReadError::Corrupt { path: self.path.clone(), seq, what: what.to_owned() }
    }

    /// Where the line of `seq` begins: halving by what lines claim, then reading on.
    fn find(&mut self, seq: Seq) -> Result<u64, ReadError> {
        if seq <= self.place.first {
            return Ok(0);
        }
        let (mut low, mut high) = (0, self.place.used);
        while high - low > NEAR {
            let middle = low + (high - low) / 2;
            let (_, start) = self.line(middle)?;
            if start >= high {
                high = middle;
                continue;
            }
            let (line, _) = self.line(start)?;
            match Frame::claimed_seq(&line) {
                Some(claimed) if claimed <= seq => low = start,
                Some(_) => high = middle,
                // A damaged line must not lead astray: read on from the last place that was believed.
                None => break,
            }
        }
        for start in [low, 0] {
            if let Some(at) = self.read_on(start, seq)? {
                return Ok(at);
            }
        }
        Err(self.corrupt(seq, "the line is missing"))
    }

    fn read_on(&mut self, mut at: u64, seq: Seq) -> Result<Option<u64>, ReadError> {
        while at < self.place.used {
            let (line, next) = self.line(at)?;
            match Frame::claimed_seq(&line) {
                Some(claimed) if claimed == seq => return Ok(Some(at)),
                Some(claimed) if claimed > seq => return Ok(None),
                _ => at = next,
            }
        }
        Ok(None)
    }

    /// The bytes from `at` to the next newline, and the place after it.
    fn line(&mut self, at: u64) -> Result<(Vec<u8>, u64), ReadError> {
        let mut want = self.stride;
        loop {
            let inside = at.checked_sub(self.start).and_then(|skip| self.buffer.get(usize::try_from(skip).ok()?..));
            if let Some(rest) = inside
                && let Some(length) = rest.iter().position(|c| *c == b'\n')
            {
                let line = rest.get(..length).unwrap_or_default().to_vec();
                return Ok((line, at + length as u64 + 1));
            }
            if want > 2 * MAX_LINE {
                return Err(self.corrupt(self.place.first, "a line in it has no end"));
            }
            self.fetch(at, want).map_err(|source| ReadError::Io { path: self.path.clone(), source })?;
            if (self.buffer.len() as u64) < want as u64 && !self.buffer.contains(&b'\n') {
                return Err(self.corrupt(self.place.first, "it ends in the middle of a line"));
            }
            want *= 4;
        }
    }

    fn fetch(&mut self, at: u64, want: usize) -> io::Result<()> {
        let most = usize::try_from(self.place.used.saturating_sub(at)).unwrap_or(usize::MAX);
        self.buffer.resize(want.min(most), 0);
        let filled = self.file.read_at(at, &mut self.buffer)?;
        self.buffer.truncate(filled);
        self.start = at;
        Ok(())
    }
}

/// The place before the first entry.
pub(crate) fn start_of(reading: &dyn Reading) -> Head {
    Head { seq: 0, hash: Hash::from_hex(reading.journal().as_bytes()).unwrap_or(reading.head().hash) }
}

/// Hands over every entry after `from`, in order, each checked against the one before. Returns the last one. What is
/// unreadable to whoever takes them ends the walk.
pub(crate) fn walk_entries(
    reading: &dyn Reading,
    from: Head,
    mut each: impl FnMut(&Line, Entry) -> Result<(), Unreadable>,
) -> Result<Head, ReadError> {
    let mut head = from;
    loop {
        let lines = reading.read(head.seq, 4096)?;
        if lines.is_empty() {
            return Ok(head);
        }
        for line in lines {
            let broken = |what: String| ReadError::Corrupt { path: PathBuf::from("journal"), seq: line.head.seq, what };
            if line.prev != head.hash {
                return Err(broken("it does not follow the entry before".to_owned()));
            }
            let entry = line.entry().map_err(|e| broken(format!("it is no entry: {e}")))?;
            head = line.head;
            each(&line, entry).map_err(|Unreadable(why)| broken(why))?;
        }
    }
}
