//! The journal in files: appends a group, syncs it, and fails for good if a sync fails.

use super::error::{Append, OpenError, is_full};
use super::line::{Head, close_line, open_line};
pub use super::lock::Folder;
use super::make::{fill, make_segment, write_manifest};
use super::manifest::{FORMAT, Manifest, NOTE, Note, Sealed, sealed_bytes};
use super::open::{self, Opened, Ready, Witness};
use super::reader::{FileReader, Place};
use super::{Journal, Journalling, Reading};
use crate::disk::{Disk, DiskFile, RealDisk, replace};
use coilwright_shop::entry::{Entry, Seq};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The journal of a data folder.
pub struct FileJournal {
    disk: Arc<dyn Disk>,
    dir: PathBuf,
    sizes: Journalling,
    manifest: Manifest,
    head: Head,
    first: Seq,
    active: Box<dyn DiskFile>,
    used: u64,
    room: u64,
    group: Vec<u8>,
    broken: Option<String>,
    reader: Arc<FileReader>,
    // Last, so that it is given back last.
    _folder: Folder,
}

impl FileJournal {
    /// Locks a data folder and opens the journal in it, making both if they are not there.
    ///
    /// # Errors
    ///
    /// See [`OpenError`]; nothing is changed in a folder that is refused as corrupt or newer.
    pub fn open(dir: &Path) -> Result<(Self, Opened), OpenError> {
        Self::open_with(Folder::lock(dir)?, Arc::new(RealDisk), Journalling::default(), &[])
    }

    /// The same with a disk of one's own, other sizes, and witnesses that saw how far the journal went.
    ///
    /// # Errors
    ///
    /// See [`OpenError`].
    pub fn open_with(
        folder: Folder,
        disk: Arc<dyn Disk>,
        sizes: Journalling,
        witnesses: &[Witness],
    ) -> Result<(Self, Opened), OpenError> {
        let dir = folder.journal();
        let Ready { manifest, journal, head, first, active, used, room, opened } =
            open::open(disk.as_ref(), &dir, &sizes, witnesses)?;
        let mut places: Vec<Place> = manifest.sealed.iter().map(|s| Place { first: s.first, used: s.used }).collect();
        places.push(Place { first, used });
        let reader = Arc::new(FileReader::new(Arc::clone(&disk), dir.clone(), journal, head, places));
        let group = Vec::new();
        let this = Self {
            disk,
            dir,
            sizes,
            manifest,
            head,
            first,
            active,
            used,
            room,
            group,
            broken: None,
            reader,
            _folder: folder,
        };
        Ok((this, opened))
    }

    /// Seals the active segment and begins the next one.
    fn roll(&mut self) -> io::Result<()> {
        let next = self.head.seq + 1;
        make_segment(self.disk.as_ref(), &self.dir, next, self.sizes.step_bytes)?;
        let mut manifest = self.manifest.clone();
        let hash = self.head.hash.to_string();
        manifest.sealed.push(Sealed { first: self.first, last: self.head.seq, used: self.used, hash });
        write_manifest(self.disk.as_ref(), &self.dir, &manifest)?;
        let mut active = self.disk.open(&self.dir.join(super::segment::name(next)), false)?;
        self.room = active.length()?;
        (self.manifest, self.active, self.first, self.used) = (manifest, active, next, 0);
        self.reader.begin(next);
        Ok(())
    }

    /// Sees to it that newlines stand where the group will be written.
    fn make_room(&mut self, needed: u64) -> io::Result<()> {
        if needed <= self.room {
            return Ok(());
        }
        let room = needed.next_multiple_of(self.sizes.step_bytes.max(1));
        fill(self.active.as_mut(), self.room, room)?;
        self.active.sync()?;
        self.room = room;
        Ok(())
    }

    /// Preparing failed: without room that is all, anything else is the end.
    fn unprepared(&mut self, doing: &str, e: &io::Error) -> Append {
        if is_full(e) { Append::Full } else { self.broken(format!("{doing}: {e}")) }
    }

    fn broken(&mut self, why: String) -> Append {
        self.broken = Some(why.clone());
        Append::Broken(why)
    }

    /// A write stopped for want of room: puts the newlines back, so that nothing of the group stays.
    fn take_back(&mut self, length: u64) -> Append {
        let undone = fill(self.active.as_mut(), self.used, self.used + length).and_then(|()| self.active.sync());
        match undone {
            Ok(()) => Append::Full,
            Err(e) => self.broken(format!("taking back a group on a full disk: {e}")),
        }
    }

    fn encode(&mut self, group: &[Entry]) -> Result<Head, String> {
        let mut head = self.head;
        self.group.clear();
        for entry in group {
            if Some(entry.seq) != head.seq.checked_add(1) || entry.group != self.head.seq + 1 {
                return Err(format!("entry {} does not follow entry {}", entry.seq, head.seq));
            }
            let open = open_line(entry).map_err(|e| format!("entry {} has no JSON: {e}", entry.seq))?;
            head = Head { seq: entry.seq, hash: close_line(&open, head.hash, &mut self.group) };
        }
        Ok(head)
    }
}

impl Journal for FileJournal {
    fn head(&self) -> Head {
        self.head
    }

    fn append(&mut self, after: Head, group: &[Entry]) -> Result<Head, Append> {
        if let Some(why) = &self.broken {
            return Err(Append::Broken(why.clone()));
        }
        if after != self.head {
            return Err(Append::Moved(self.head));
        }
        if group.is_empty() {
            return Ok(self.head);
        }
        let head = self.encode(group).map_err(Append::Broken)?;
        let length = self.group.len() as u64;
        if self.used > 0
            && self.used + length > self.sizes.segment_bytes
            && let Err(e) = self.roll()
        {
            return Err(self.unprepared("beginning a segment", &e));
        }
        if let Err(e) = self.make_room(self.used + length) {
            return Err(self.unprepared("making room", &e));
        }
        match self.active.write_at(self.used, &self.group) {
            Ok(()) => {}
            Err(e) if is_full(&e) => return Err(self.take_back(length)),
            Err(e) => return Err(self.broken(format!("writing: {e}"))),
        }
        // After a failed sync the kernel may have dropped the pages and forgotten the error: a second try that
        // succeeds would prove nothing.
        if let Err(e) = self.active.sync() {
            return Err(self.broken(format!("syncing: {e}")));
        }
        let path = self.dir.join(super::segment::name(self.first));
        match self.active.is_at(&path) {
            Ok(true) => {}
            Ok(false) => {
                return Err(self.broken(format!("{} was removed or moved away: bring it back", path.display())));
            }
            Err(e) => return Err(self.broken(format!("looking at {}: {e}", path.display()))),
        }
        self.used += length;
        self.head = head;
        self.reader.reached(head, self.used);
        Ok(head)
    }

    fn reader(&self) -> Arc<dyn Reading> {
        Arc::clone(&self.reader) as Arc<dyn Reading>
    }

    fn rest(&mut self) -> io::Result<()> {
        if let Some(why) = &self.broken {
            return Err(io::Error::other(why.clone()));
        }
        let note = Note {
            format: FORMAT,
            journal: self.manifest.journal.clone(),
            seq: self.head.seq,
            hash: self.head.hash.to_string(),
        };
        replace(self.disk.as_ref(), &self.dir, NOTE, &sealed_bytes(&note)?)
    }
}
