//! Opening a journal: what is good, what is torn and cut, what is corrupt and refused.

use super::Journalling;
use super::error::{Finding, OpenError, is_full};
use super::line::{Hash, Head};
use super::make::{BALLAST, keep_ballast, make_segment, write_manifest};
use super::manifest::{FORMAT, MANIFEST, Manifest, NOTE, Note, Sealed, Small, read_small};
use super::segment::{self, Rest, Walk};
use crate::disk::{Disk, DiskFile, replace};
use coilwright_shop::entry::{ENTRY_VERSION, Seq};
use std::io;
use std::path::{Path, PathBuf};

/// Somebody who saw the journal reach a sequence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Witness {
    /// Who, as it will stand in a message: `the index`, `the newest backup`.
    pub name: String,
    /// Of which journal, hexadecimal id. A witness of another journal is not heard.
    pub journal: String,
    /// What was seen.
    pub head: Head,
}

/// What opening found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opened {
    /// The last good entry.
    pub head: Head,
    /// Whether the journal was made just now.
    pub new: bool,
    /// What is worth telling.
    pub findings: Vec<Finding>,
}

/// A journal ready to be written.
pub(super) struct Ready {
    pub manifest: Manifest,
    pub journal: Hash,
    pub head: Head,
    /// First sequence of the segment that is written.
    pub first: Seq,
    pub active: Box<dyn DiskFile>,
    pub used: u64,
    pub room: u64,
    pub opened: Opened,
}

pub(super) fn open(
    disk: &dyn Disk,
    dir: &Path,
    sizes: &Journalling,
    witnesses: &[Witness],
) -> Result<Ready, OpenError> {
    let mut opening = Opening { disk, dir, sizes, findings: Vec::new() };
    opening.run(witnesses)
}

struct Opening<'a> {
    disk: &'a dyn Disk,
    dir: &'a Path,
    sizes: &'a Journalling,
    findings: Vec<Finding>,
}

impl Opening<'_> {
    fn run(&mut self, witnesses: &[Witness]) -> Result<Ready, OpenError> {
        let segments = self.list()?;
        let new = segments.is_empty();
        let mut manifest = self.manifest(&segments)?;
        let damaged = || OpenError::corrupt(&self.dir.join(MANIFEST), 0, "a hash in it is none");
        let journal = manifest.journal_hash().ok_or_else(damaged)?;
        let mut head = manifest.sealed_head().ok_or_else(damaged)?;
        self.check_sealed(&manifest, &segments)?;
        let note = self.note(&manifest.journal)?;

        let unsealed: Vec<Seq> = segments.iter().copied().skip(manifest.sealed.len()).collect();
        let mut sealed_now = false;
        let mut last: Option<(Seq, Walk)> = None;
        for (place, first) in unsealed.iter().copied().enumerate() {
            let path = self.dir.join(segment::name(first));
            if Some(first) != head.seq.checked_add(1) {
                let what = format!("its name says that entry {} was on the disk", first.saturating_sub(1));
                return Err(OpenError::corrupt(&path, head.seq + 1, what));
            }
            let walk = self.walk(&path, head, note.as_ref())?;
            head = walk.head;
            if place + 1 < unsealed.len() {
                // A kill between making a segment and sealing the one before: seal it now.
                if walk.rest != Rest::Blank {
                    return Err(OpenError::corrupt(
                        &path,
                        head.seq + 1,
                        "it is not good to its end, yet a later segment is there",
                    ));
                }
                let hash = head.hash.to_string();
                manifest.sealed.push(Sealed { first, last: head.seq, used: walk.used as u64, hash });
                sealed_now = true;
            } else {
                last = Some((first, walk));
            }
        }

        self.hear(&head, last.as_ref(), note.as_ref(), witnesses, &manifest.journal)?;
        if let Some((first, walk)) = &last {
            self.cut(*first, walk)?;
        }
        if sealed_now {
            self.with_spare(MANIFEST, |o| write_manifest(o.disk, o.dir, &manifest))?;
        }
        let (first, used) = match last {
            Some((first, walk)) => (first, walk.used as u64),
            None => {
                let first = head.seq + 1;
                self.with_spare("segment", |o| make_segment(o.disk, o.dir, first, o.sizes.step_bytes))?;
                (first, 0)
            }
        };
        keep_ballast(self.disk, self.dir, self.sizes.ballast_bytes);
        let path = self.dir.join(segment::name(first));
        let mut active = self.disk.open(&path, false).map_err(OpenError::io("opening", &path))?;
        let room = active.length().map_err(OpenError::io("measuring", &path))?;
        let opened = Opened { head, new, findings: std::mem::take(&mut self.findings) };
        Ok(Ready { manifest, journal, head, first, active, used, room, opened })
    }

    /// Makes the folder, clears what was half-made, and lists the segments in order.
    fn list(&self) -> Result<Vec<Seq>, OpenError> {
        self.disk.create_dir(self.dir).map_err(OpenError::io("making", self.dir))?;
        let above = self.dir.parent().unwrap_or(self.dir);
        self.disk.sync_dir(above).map_err(OpenError::io("syncing", above))?;
        let mut segments = Vec::new();
        for name in self.disk.list(self.dir).map_err(OpenError::io("reading", self.dir))? {
            if name.ends_with(".tmp") {
                let path = self.dir.join(&name);
                self.disk.remove(&path).map_err(OpenError::io("deleting", &path))?;
            }
            segments.extend(segment::first_of(&name));
        }
        segments.sort_unstable();
        Ok(segments)
    }

    fn manifest(&mut self, segments: &[Seq]) -> Result<Manifest, OpenError> {
        let path = self.dir.join(MANIFEST);
        let why = match self.disk.read(&path) {
            Ok(bytes) => match read_small(&bytes) {
                Small::Good(manifest) => return Ok(manifest),
                Small::Newer(found) => return Err(OpenError::Newer { path, found, known: FORMAT }),
                Small::Damaged => "damaged",
            },
            Err(e) if e.kind() == io::ErrorKind::NotFound => "missing",
            Err(e) => return Err(OpenError::io("reading", &path)(e)),
        };
        let manifest = self.remade_manifest(segments)?;
        if why == "damaged" {
            let kept = self.dir.join("manifest-damaged.json");
            self.disk.rename(&path, &kept).map_err(OpenError::io("setting aside", &path))?;
        }
        self.with_spare(MANIFEST, |o| write_manifest(o.disk, o.dir, &manifest))?;
        // Without segments and without a manifest this is a first start, nothing to tell.
        if !(segments.is_empty() && why == "missing") {
            let text = format!("the manifest was {why} and was made anew from {} segments", segments.len());
            self.findings.push(Finding { code: "manifest_remade", grave: true, path, seq: None, text });
        }
        Ok(manifest)
    }

    /// The manifest that the segments themselves bear out: every one but the last, walked from the first line.
    fn remade_manifest(&self, segments: &[Seq]) -> Result<Manifest, OpenError> {
        let Some(first) = segments.first() else { return Ok(Manifest::new(new_journal_id()?)) };
        let path = self.dir.join(segment::name(*first));
        let bytes = self.disk.read(&path).map_err(OpenError::io("reading", &path))?;
        let line = bytes.split(|c| *c == b'\n').next().unwrap_or_default();
        let journal = match super::line::Frame::of(line).filter(|frame| frame.seq == 1) {
            Some(frame) => frame.prev,
            None if segments.len() == 1 && *first == 1 && line.is_empty() => new_journal_id()?,
            None => {
                return Err(OpenError::corrupt(&path, 1, "the manifest is lost too, and the first line is not good"));
            }
        };
        let mut manifest = Manifest::new(journal);
        let mut head = Head { seq: 0, hash: journal };
        for first in segments.split_last().map_or(&[][..], |(_, before)| before) {
            let path = self.dir.join(segment::name(*first));
            let walk = self.walk(&path, head, None)?;
            if Some(*first) != head.seq.checked_add(1) || walk.rest != Rest::Blank {
                return Err(OpenError::corrupt(
                    &path,
                    walk.head.seq + 1,
                    "it is not good to its end, yet a later segment is there",
                ));
            }
            head = walk.head;
            let hash = head.hash.to_string();
            manifest.sealed.push(Sealed { first: *first, last: head.seq, used: walk.used as u64, hash });
        }
        Ok(manifest)
    }

    /// Sealed segments are there and long enough. Their lines are checked by whoever reads them.
    fn check_sealed(&self, manifest: &Manifest, segments: &[Seq]) -> Result<(), OpenError> {
        for (place, sealed) in manifest.sealed.iter().enumerate() {
            let path = self.dir.join(segment::name(sealed.first));
            if segments.get(place) != Some(&sealed.first) {
                return Err(OpenError::corrupt(&path, sealed.first, "the sealed segment is missing"));
            }
            let mut file = self.disk.open_read(&path).map_err(OpenError::io("opening", &path))?;
            let length = file.length().map_err(OpenError::io("measuring", &path))?;
            if length < sealed.used {
                let what = format!("the sealed segment holds {length} bytes, {} were sealed", sealed.used);
                return Err(OpenError::corrupt(&path, sealed.first, what));
            }
        }
        Ok(())
    }

    fn note(&mut self, journal: &str) -> Result<Option<Note>, OpenError> {
        let path = self.dir.join(NOTE);
        let bytes = match self.disk.read(&path) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(OpenError::io("reading", &path)(e)),
        };
        match read_small::<Note>(&bytes) {
            Small::Newer(found) => Err(OpenError::Newer { path, found, known: FORMAT }),
            Small::Good(note) if note.journal == journal => Ok(Some(note)),
            Small::Good(_) | Small::Damaged => {
                let text =
                    "the note of the last clean stop is damaged or of another journal and was not heard".to_owned();
                self.findings.push(Finding { code: "note_unreadable", grave: false, path, seq: None, text });
                Ok(None)
            }
        }
    }

    fn walk(&self, path: &Path, from: Head, note: Option<&Note>) -> Result<Walk, OpenError> {
        let bytes = self.disk.read(path).map_err(OpenError::io("reading", path))?;
        let (mut newer, mut replaced) = (None, None);
        let walk = segment::walk(&bytes, from, |frame, _| {
            if frame.version > u64::from(ENTRY_VERSION) {
                newer = Some(frame.version);
            }
            if note.is_some_and(|n| n.seq == frame.seq && n.head() != Some(frame.head())) {
                replaced = Some(frame.seq);
            }
        });
        if let Some(found) = newer {
            return Err(OpenError::Newer { path: path.to_path_buf(), found, known: u64::from(ENTRY_VERSION) });
        }
        if let Some(seq) = replaced {
            return Err(OpenError::corrupt(path, seq, "the note of the last clean stop names another hash for it"));
        }
        Ok(walk)
    }

    /// Compares where the journal ends with what witnesses saw, and with what stands behind its end.
    fn hear(
        &mut self,
        head: &Head,
        last: Option<&(Seq, Walk)>,
        note: Option<&Note>,
        witnesses: &[Witness],
        journal: &str,
    ) -> Result<(), OpenError> {
        let path = last.map_or_else(|| self.dir.to_path_buf(), |(first, _)| self.dir.join(segment::name(*first)));
        let beyond = head.seq + 1;
        if let Some(note) = note.filter(|note| note.seq > head.seq) {
            let what = format!("the note of the last clean stop names entry {}", note.seq);
            return Err(OpenError::corrupt(&path, beyond, what));
        }
        let ahead = witnesses.iter().find(|w| w.journal == journal && w.head.seq > head.seq);
        match last.map(|(_, walk)| &walk.rest) {
            Some(Rest::Bad { later: Some(seq), .. }) => {
                let what = format!("it is not good, yet entry {seq} of a later group is");
                Err(OpenError::corrupt(&path, beyond, what))
            }
            Some(Rest::Bad { .. }) if let Some(witness) = ahead => {
                let what = format!("it is not good, yet {} has seen entry {}", witness.name, witness.head.seq);
                Err(OpenError::corrupt(&path, beyond, what))
            }
            _ => {
                if let Some(witness) = ahead {
                    let text = format!(
                        "the journal ends at entry {}, but {} has seen entry {}: an older copy was put back, or the disk lost what it had confirmed",
                        head.seq, witness.name, witness.head.seq
                    );
                    self.findings.push(Finding { code: "witness_ahead", grave: true, path, seq: Some(beyond), text });
                }
                Ok(())
            }
        }
    }

    /// Copies a torn end aside and overwrites it with newlines.
    fn cut(&mut self, first: Seq, walk: &Walk) -> Result<(), OpenError> {
        let Rest::Bad { until, .. } = walk.rest else { return Ok(()) };
        let path = self.dir.join(segment::name(first));
        let bytes = self.disk.read(&path).map_err(OpenError::io("reading", &path))?;
        let torn = bytes.get(walk.used..until).unwrap_or_default();
        let seq = walk.head.seq + 1;
        let kept = self.free_name(seq)?;
        self.with_spare("torn bytes", |o| replace(o.disk, o.dir, &kept, torn))?;
        let blank = || -> io::Result<()> {
            let mut file = self.disk.open(&path, false)?;
            file.write_at(walk.used as u64, &vec![b'\n'; torn.len()])?;
            file.sync()
        };
        blank().map_err(OpenError::io("cutting", &path))?;
        let text = format!(
            "{} bytes after entry {} are no whole good group: a write that was cut short before anybody was answered, or bytes changed since; they were cut and kept as {kept}",
            torn.len(),
            walk.head.seq
        );
        self.findings.push(Finding { code: "torn", grave: false, path, seq: Some(seq), text });
        Ok(())
    }

    fn free_name(&self, seq: Seq) -> Result<String, OpenError> {
        let names = self.disk.list(self.dir).map_err(OpenError::io("reading", self.dir))?;
        let mut name = format!("torn-{seq:020}.bin");
        let mut again = 1u32;
        while names.contains(&name) {
            name = format!("torn-{seq:020}-{again}.bin");
            again += 1;
        }
        Ok(name)
    }

    /// Does something that needs room; on a full disk gives up the ballast and tries once more.
    fn with_spare(&mut self, what: &str, act: impl Fn(&Self) -> io::Result<()>) -> Result<(), OpenError> {
        match act(self) {
            Err(e) if is_full(&e) && self.sizes.ballast_bytes > 0 => {
                let path = self.dir.join(BALLAST);
                self.disk.remove(&path).map_err(|_| OpenError::Full { path: self.dir.join(what) })?;
                let text = "the disk is full: the room kept for a restart was used; free some space".to_owned();
                self.findings.push(Finding { code: "ballast_spent", grave: false, path, seq: None, text });
                act(self).map_err(OpenError::io("writing", &self.dir.join(what)))
            }
            done => done.map_err(OpenError::io("writing", &self.dir.join(what))),
        }
    }
}

fn new_journal_id() -> Result<Hash, OpenError> {
    let mut id = [0; 32];
    let failed = |e| OpenError::io("drawing random bytes for", &PathBuf::from("the journal's id"))(io::Error::other(e));
    getrandom::fill(&mut id).map_err(failed)?;
    Ok(Hash(id))
}
