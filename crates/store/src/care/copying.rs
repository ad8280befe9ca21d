//! Writes lines as they stand into the segments of a copy, so that a kill or a power cut leaves a copy that is whole.

use crate::disk::{Disk, replace};
use crate::journal::{
    FORMAT, Hash, Head, Line, MANIFEST, Manifest, NOTE, Note, OpenError, Rest, Sealed, Walk, sealed_bytes, segment,
    segments_of, small,
};
use coilwright_shop::entry::Seq;
use std::path::{Path, PathBuf};

/// A segment of a copy is closed when the next line would make it longer, bytes.
const SEGMENT_BYTES: usize = 4 << 20;

/// A copy being continued. Its last segment is kept in memory and written whole, never in place.
pub(super) struct Copying<'a> {
    disk: &'a dyn Disk,
    dir: PathBuf,
    manifest: Manifest,
    head: Head,
    first: Seq,
    bytes: Vec<u8>,
    grown: bool,
}

impl<'a> Copying<'a> {
    /// Goes on where a copy ends; a new one of the journal `id` if there is none.
    pub(super) fn resume(disk: &'a dyn Disk, dir: &Path, id: Hash) -> Result<Self, OpenError> {
        disk.create_dir(dir).map_err(OpenError::io("making", dir))?;
        if let Some(above) = dir.parent() {
            disk.sync_dir(above).map_err(OpenError::io("syncing", above))?;
        }
        let segments = segments_of(disk, dir)?;
        let manifest = small(disk, &dir.join(MANIFEST))?.unwrap_or_else(|| Manifest::new(id));
        let damaged = || OpenError::corrupt(&dir.join(MANIFEST), 0, "a hash in it is none");
        let head = manifest.sealed_head().ok_or_else(damaged)?;
        let mut copy =
            Self { disk, dir: dir.to_path_buf(), manifest, head, first: head.seq + 1, bytes: Vec::new(), grown: false };
        for first in segments.into_iter().filter(|first| *first > head.seq) {
            copy.take_up(first)?;
        }
        Ok(copy)
    }

    /// A segment that the manifest does not list: the last one, or one that a kill left before its manifest.
    fn take_up(&mut self, first: Seq) -> Result<(), OpenError> {
        let path = self.dir.join(segment::name(first));
        if first != self.head.seq + 1 {
            return Err(OpenError::corrupt(&path, self.head.seq + 1, "entries before this segment are missing"));
        }
        if !self.bytes.is_empty() {
            self.seal();
        }
        self.bytes = self.disk.read(&path).map_err(OpenError::io("reading", &path))?;
        let Walk { used, head, rest } = segment::walk(&self.bytes, self.head, |_, _| {});
        if rest != Rest::Blank {
            return Err(OpenError::corrupt(&path, head.seq + 1, "a copy is written whole, yet this is not good"));
        }
        self.bytes.truncate(used);
        (self.head, self.first) = (head, first);
        Ok(())
    }

    /// The last entry of the copy.
    pub(super) fn head(&self) -> Head {
        self.head
    }

    /// The id of the journal that is copied.
    pub(super) fn journal(&self) -> &str {
        &self.manifest.journal
    }

    /// Adds the next line.
    pub(super) fn add(&mut self, line: &Line) -> Result<(), OpenError> {
        if line.head.seq != self.head.seq + 1 || line.prev != self.head.hash {
            let path = self.dir.join(segment::name(self.first));
            return Err(OpenError::corrupt(&path, line.head.seq, "the next entry does not follow the copy's last"));
        }
        if !self.bytes.is_empty() && self.bytes.len() + line.bytes.len() >= SEGMENT_BYTES {
            self.write()?;
            self.seal();
        }
        self.bytes.extend_from_slice(&line.bytes);
        self.bytes.push(b'\n');
        self.head = line.head;
        self.grown = true;
        Ok(())
    }

    /// Puts what was added on the disk: the segment, then the manifest, then the note of the head.
    pub(super) fn finish(mut self) -> Result<Head, OpenError> {
        self.write()?;
        self.put(MANIFEST, &sealed_bytes(&self.manifest))?;
        let (journal, hash) = (self.manifest.journal.clone(), self.head.hash.to_string());
        self.put(NOTE, &sealed_bytes(&Note { format: FORMAT, journal, seq: self.head.seq, hash }))?;
        Ok(self.head)
    }

    fn write(&mut self) -> Result<(), OpenError> {
        if std::mem::take(&mut self.grown) {
            let name = segment::name(self.first);
            replace(self.disk, &self.dir, &name, &self.bytes)
                .map_err(OpenError::io("writing", &self.dir.join(name)))?;
        }
        Ok(())
    }

    fn seal(&mut self) {
        let hash = self.head.hash.to_string();
        self.manifest.sealed.push(Sealed {
            first: self.first,
            last: self.head.seq,
            used: self.bytes.len() as u64,
            hash,
        });
        self.bytes.clear();
        self.first = self.head.seq + 1;
    }

    fn put(&self, name: &str, bytes: &Result<Vec<u8>, serde_json::Error>) -> Result<(), OpenError> {
        let path = self.dir.join(name);
        match bytes {
            Ok(bytes) => replace(self.disk, &self.dir, name, bytes).map_err(OpenError::io("writing", &path)),
            Err(e) => Err(OpenError::io("writing", &path)(std::io::Error::other(e.to_string()))),
        }
    }
}
