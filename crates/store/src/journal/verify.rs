//! Walks the whole chain and tells what it finds, changing nothing.

use super::error::Finding;
use super::line::{Hash, Head};
use super::manifest::{FORMAT, MANIFEST, Manifest, NOTE, Note, Small, read_small};
use super::reader::Place;
use super::segment::{self, Rest};
use crate::disk::Disk;
use coilwright_shop::entry::{Entry, Seq};
use std::io;
use std::path::Path;

/// What walking the whole chain found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified {
    /// Whether every entry up to `head` is good and nothing grave was found.
    pub ok: bool,
    /// The last good entry.
    pub head: Head,
    /// What is worth telling, the grave first.
    pub findings: Vec<Finding>,
}

impl Verified {
    fn of(head: Head, mut findings: Vec<Finding>) -> Self {
        findings.sort_by_key(|f| !f.grave);
        Self { ok: findings.iter().all(|f| !f.grave), head, findings }
    }
}

/// Verifies the journal of a data folder whose daemon does not run. Needs no lock and writes nothing.
#[must_use]
pub fn verify_folder(disk: &dyn Disk, data: &Path) -> Verified {
    let dir = data.join("journal");
    let mut findings = Vec::new();
    let nothing = Head { seq: 0, hash: Hash([0; 32]) };
    let names = match disk.list(&dir) {
        Ok(names) => names,
        Err(e) => return Verified::of(nothing, vec![unreadable(&dir, &e)]),
    };
    let mut firsts: Vec<Seq> = names.iter().filter_map(|n| segment::first_of(n)).collect();
    firsts.sort_unstable();

    let path = dir.join(MANIFEST);
    let manifest: Option<Manifest> = small(disk, &path, &mut findings);
    if manifest.is_none() && findings.is_empty() {
        let text = "the manifest is missing; the next start makes it anew from the segments".to_owned();
        findings.push(Finding { code: "manifest_missing", grave: true, path, seq: None, text });
    }
    let note: Option<Note> = small(disk, &dir.join(NOTE), &mut findings);

    let id = manifest.as_ref().and_then(Manifest::journal_hash).or_else(|| first_prev(disk, &dir, firsts.first()));
    let mut walker = Walker { disk, dir: &dir, head: Head { seq: 0, hash: id.unwrap_or(nothing.hash) }, findings };
    let mut witness = note.as_ref().and_then(Note::head);
    for (place, first) in firsts.iter().enumerate() {
        let last = place + 1 == firsts.len();
        if !walker.segment(*first, None, last, witness) {
            break;
        }
        if let Some(sealed) = manifest.as_ref().and_then(|m| m.sealed.get(place))
            && (sealed.first != *first || sealed.head() != Some(walker.head))
        {
            walker.damaged(*first, walker.head.seq, "it does not end where the manifest says that it was sealed");
            break;
        }
    }
    // A journal that ends before what it once reached has lost its end.
    witness = witness.into_iter().chain(manifest.as_ref().and_then(Manifest::sealed_head)).max_by_key(|w| w.seq);
    if let Some(seen) = witness.filter(|w| w.seq > walker.head.seq)
        && walker.findings.iter().all(|f| f.code != "damaged")
    {
        let seq = walker.head.seq + 1;
        let text = format!(
            "the journal ends at entry {}, but a note or the manifest names entry {}",
            walker.head.seq, seen.seq
        );
        walker.findings.push(Finding { code: "damaged", grave: true, path: dir.clone(), seq: Some(seq), text });
    }
    Verified::of(walker.head, walker.findings)
}

/// Verifies what a running journal has synced.
pub(super) fn verify_places(disk: &dyn Disk, dir: &Path, journal: Hash, places: &[Place], head: Head) -> Verified {
    let mut walker = Walker { disk, dir, head: Head { seq: 0, hash: journal }, findings: Vec::new() };
    for place in places {
        if !walker.segment(place.first, Some(place.used), false, None) {
            break;
        }
    }
    if walker.findings.is_empty() && walker.head != head {
        walker.damaged(
            places.last().map_or(1, |p| p.first),
            head.seq,
            "the walked chain does not end where the writer stands",
        );
    }
    Verified::of(walker.head, walker.findings)
}

struct Walker<'a> {
    disk: &'a dyn Disk,
    dir: &'a Path,
    head: Head,
    findings: Vec<Finding>,
}

impl Walker<'_> {
    /// Walks one segment; `false` if the chain cannot be followed further.
    fn segment(&mut self, first: Seq, used: Option<u64>, last: bool, witness: Option<Head>) -> bool {
        let path = self.dir.join(segment::name(first));
        let bytes = match self.disk.read(&path) {
            Ok(bytes) => bytes,
            Err(e) => {
                self.findings.push(unreadable(&path, &e));
                return false;
            }
        };
        let bytes = match used.and_then(|used| usize::try_from(used).ok()) {
            Some(used) => bytes.get(..used).unwrap_or(&bytes),
            None => &bytes,
        };
        if Some(first) != self.head.seq.checked_add(1) {
            self.damaged(first, self.head.seq + 1, "entries before this segment are missing");
            return false;
        }
        let (mut unknown, mut replaced) = (None, None);
        let walk = segment::walk(bytes, self.head, |frame, line| {
            if unknown.is_none() && serde_json::from_slice::<Entry>(line).is_err() {
                unknown = Some(frame.seq);
            }
            if witness.is_some_and(|w| w.seq == frame.seq && w.hash != frame.hash) {
                replaced = Some(frame.seq);
            }
        });
        self.head = walk.head;
        if let Some(seq) = unknown {
            self.damaged(first, seq, "its hash holds, but it is no entry that this program knows");
        }
        if let Some(seq) = replaced {
            self.damaged(first, seq, "the note of the last clean stop names another hash for it");
        }
        match walk.rest {
            Rest::Blank => true,
            Rest::Bad { later: None, .. } if last && witness.is_none_or(|w| w.seq <= self.head.seq) => {
                let text = "bytes after the last good entry are no whole good group: a write that was cut short before anybody was answered, or bytes changed since; the next start keeps them aside and cuts them";
                let (seq, text) = (Some(self.head.seq + 1), text.to_owned());
                self.findings.push(Finding { code: "torn", grave: false, path, seq, text });
                true
            }
            Rest::Bad { .. } => {
                self.damaged(first, self.head.seq + 1, "it is not good, yet later ones were synced");
                false
            }
        }
    }

    fn damaged(&mut self, first: Seq, seq: Seq, what: &str) {
        let path = self.dir.join(segment::name(first));
        let text = format!("damaged at entry {seq}: {what}");
        self.findings.push(Finding { code: "damaged", grave: true, path, seq: Some(seq), text });
    }
}

fn small<T: for<'a> serde::Deserialize<'a>>(disk: &dyn Disk, path: &Path, findings: &mut Vec<Finding>) -> Option<T> {
    let (code, text) = match disk.read(path).map(|bytes| read_small(&bytes)) {
        Ok(Small::Good(value)) => return Some(value),
        Ok(Small::Newer(found)) => ("newer_format", format!("it has format {found}, this program knows {FORMAT}")),
        Ok(Small::Damaged) => ("damaged_file", "its check does not hold".to_owned()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => return None,
        Err(e) => ("unreadable", e.to_string()),
    };
    findings.push(Finding { code, grave: true, path: path.to_path_buf(), seq: None, text });
    None
}

fn unreadable(path: &Path, e: &io::Error) -> Finding {
    Finding { code: "unreadable", grave: true, path: path.to_path_buf(), seq: None, text: e.to_string() }
}

/// The journal's id as the first line has it, for when the manifest is lost.
fn first_prev(disk: &dyn Disk, dir: &Path, first: Option<&Seq>) -> Option<Hash> {
    let bytes = disk.read(&dir.join(segment::name(*first?))).ok()?;
    super::line::Frame::of(bytes.split(|c| *c == b'\n').next()?).map(|frame| frame.prev)
}
