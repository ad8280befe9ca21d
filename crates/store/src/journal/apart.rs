//! A journal read from its files while nobody writes it: nothing is locked, nothing is changed.

use super::Reading;
use super::error::OpenError;
use super::line::{Hash, Head};
use super::manifest::{FORMAT, MANIFEST, Manifest, NOTE, Note, Small, read_small};
use super::reader::{FileReader, Place};
use super::segment::{self, Rest};
use crate::disk::Disk;
use coilwright_shop::entry::{ENTRY_VERSION, Seq};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Walks the journal of a data folder or a backup from its first line and gives its reading side. A torn end is passed
/// over, as the next start would do.
///
/// # Errors
///
/// [`OpenError::Corrupt`], [`OpenError::Newer`], or what the system said; a folder without a journal is an error of the
/// system's kind "not found".
pub fn read_folder(disk: Arc<dyn Disk>, data: &Path) -> Result<Arc<dyn Reading>, OpenError> {
    let dir = data.join("journal");
    let segments = segments_of(disk.as_ref(), &dir)?;
    let manifest: Option<Manifest> = small(disk.as_ref(), &dir.join(MANIFEST))?;
    let note: Option<Note> = small(disk.as_ref(), &dir.join(NOTE))?;
    let named = manifest.as_ref().and_then(Manifest::journal_hash);
    let journal = match named {
        Some(journal) => journal,
        None => id_in_first_line(disk.as_ref(), &dir)?,
    };
    let mut head = Head { seq: 0, hash: journal };
    let mut places = Vec::new();
    for (place, first) in segments.iter().copied().enumerate() {
        let path = dir.join(segment::name(first));
        if Some(first) != head.seq.checked_add(1) {
            return Err(OpenError::corrupt(&path, head.seq + 1, "entries before this segment are missing"));
        }
        let bytes = disk.read(&path).map_err(OpenError::io("reading", &path))?;
        let mut newer = None;
        let walk = segment::walk(&bytes, head, |frame, _| {
            if frame.version > u64::from(ENTRY_VERSION) {
                newer = Some(frame.version);
            }
        });
        if let Some(found) = newer {
            return Err(OpenError::Newer { path, found, known: u64::from(ENTRY_VERSION) });
        }
        head = walk.head;
        let last = place + 1 == segments.len();
        match walk.rest {
            Rest::Blank => {}
            Rest::Bad { later: None, .. } if last => {}
            Rest::Bad { .. } => {
                return Err(OpenError::corrupt(&path, head.seq + 1, "it is not good, yet later ones were synced"));
            }
        }
        places.push(Place { first, used: walk.used as u64 });
    }
    let sealed = manifest.as_ref().and_then(Manifest::sealed_head);
    let seen = note.as_ref().filter(|n| n.journal == journal.to_string()).and_then(Note::head);
    if let Some(witness) = sealed.into_iter().chain(seen).find(|w| w.seq > head.seq) {
        let what = format!("it ends before entry {}, which a note or the manifest names", witness.seq);
        return Err(OpenError::corrupt(&dir, head.seq + 1, what));
    }
    Ok(Arc::new(FileReader::new(disk, dir, journal, head, places)))
}

/// The first sequences of the segments in a journal's folder, in order.
pub(crate) fn segments_of(disk: &dyn Disk, dir: &Path) -> Result<Vec<Seq>, OpenError> {
    let names = disk.list(dir).map_err(OpenError::io("reading", dir))?;
    let mut segments: Vec<Seq> = names.iter().filter_map(|name| segment::first_of(name)).collect();
    segments.sort_unstable();
    Ok(segments)
}

/// A small file; `None` if it is not there or does not check.
pub(crate) fn small<T: for<'a> serde::Deserialize<'a>>(disk: &dyn Disk, path: &Path) -> Result<Option<T>, OpenError> {
    match disk.read(path).map(|bytes| read_small(&bytes)) {
        Ok(Small::Good(value)) => Ok(Some(value)),
        Ok(Small::Damaged) => Ok(None),
        Ok(Small::Newer(found)) => Err(OpenError::Newer { path: path.to_path_buf(), found, known: FORMAT }),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(OpenError::io("reading", path)(e)),
    }
}

/// The journal's id as line 1 has it.
fn id_in_first_line(disk: &dyn Disk, dir: &Path) -> Result<Hash, OpenError> {
    let path: PathBuf = dir.join(segment::name(1));
    let bytes = disk.read(&path).map_err(OpenError::io("reading", &path))?;
    let line = bytes.split(|c| *c == b'\n').next().unwrap_or_default();
    let frame = super::line::Frame::of(line).filter(|frame| frame.seq == 1);
    let lost = || OpenError::corrupt(&path, 1, "the manifest is lost too, and the first line is not good");
    frame.map(|frame| frame.prev).ok_or_else(lost)
}
