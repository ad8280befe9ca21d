//! Mends damaged segments in place: what is good stays, what is not comes from a backup, what was there is kept aside.

use super::error::CareError;
use crate::disk::{Disk, RealDisk, replace};
use crate::journal::{
    FileJournal, Folder, Frame, Head, Journal, MANIFEST, Manifest, NOTE, Note, OpenError, Reading, Rest, hash_from_hex,
    read_folder, segment, segments_of, small,
};
use coilwright_shop::entry::Seq;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What was mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repaired {
    /// The journal's last entry now.
    pub head: Head,
    /// The segments that were written anew.
    pub segments: Vec<Mended>,
}

/// A segment that was written anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mended {
    /// The segment.
    pub path: PathBuf,
    /// Where its damaged bytes are kept; `None` if the file was not there.
    pub kept: Option<PathBuf>,
    /// The entries that came from the backup.
    pub from_backup: Vec<Seq>,
}

/// Mends the journal of a data folder, whose daemon does not run, with lines of a backup. Either every entry that was
/// ever witnessed is good afterwards, or nothing is changed. A kill on the way leaves each segment as it was or mended.
///
/// # Errors
///
/// See [`CareError`]; [`CareError::NotMendable`] if an entry is good in neither place.
pub fn repair(data: &Path, backup: &Path) -> Result<Repaired, CareError> {
    if !data.join("journal").is_dir() {
        return Err(CareError::NoBackup { folder: data.to_path_buf() });
    }
    let folder = Folder::lock(data)?;
    if !backup.join("journal").is_dir() {
        return Err(CareError::NoBackup { folder: backup.to_path_buf() });
    }
    let source = read_folder(Arc::new(RealDisk), backup)?;
    let dir = folder.journal();
    let plan = Planning { data, backup, dir: &dir, source: source.as_ref(), mends: Vec::new() }.run()?;
    let mut segments = Vec::new();
    for mend in plan {
        segments.push(mend.write(&dir)?);
    }
    let (journal, _) = FileJournal::open_with(folder, Arc::new(RealDisk), Default::default(), &[])?;
    Ok(Repaired { head: journal.head(), segments })
}

/// A segment to be written.
struct Mend {
    first: Seq,
    bytes: Vec<u8>,
    from_backup: Vec<Seq>,
}

impl Mend {
    fn write(self, dir: &Path) -> Result<Mended, OpenError> {
        let name = segment::name(self.first);
        let path = dir.join(&name);
        let kept = match RealDisk.read(&path) {
            Ok(damaged) => {
                let aside = free_name(dir, self.first)?;
                replace(&RealDisk, dir, &aside, &damaged).map_err(OpenError::io("keeping", &dir.join(&aside)))?;
                Some(dir.join(aside))
            }
            Err(_) => None,
        };
        replace(&RealDisk, dir, &name, &self.bytes).map_err(OpenError::io("writing", &path))?;
        Ok(Mended { path, kept, from_backup: self.from_backup })
    }
}

fn free_name(dir: &Path, first: Seq) -> Result<String, OpenError> {
    let names = RealDisk.list(dir).map_err(OpenError::io("reading", dir))?;
    let mut name = format!("damaged-{first:020}.bin");
    let mut again = 1u32;
    while names.contains(&name) {
        name = format!("damaged-{first:020}-{again}.bin");
        again += 1;
    }
    Ok(name)
}

struct Planning<'a> {
    data: &'a Path,
    backup: &'a Path,
    dir: &'a Path,
    source: &'a dyn Reading,
    mends: Vec<Mend>,
}

impl Planning<'_> {
    /// Walks segment after segment; where one is not good, puts together what it should be.
    fn run(mut self) -> Result<Vec<Mend>, CareError> {
        let manifest: Option<Manifest> = small(&RealDisk, &self.dir.join(MANIFEST))?;
        let note: Option<Note> = small(&RealDisk, &self.dir.join(NOTE))?;
        let journal = self.source.journal();
        if manifest.as_ref().is_some_and(|m| m.journal != journal) {
            let what = "it is of another journal".to_owned();
            return Err(CareError::OtherHistory { folder: self.backup.to_path_buf(), what });
        }
        let no_id = || OpenError::corrupt(self.backup, 0, "the backup's journal has no id");
        let mut head = Head { seq: 0, hash: hash_from_hex(&journal).ok_or_else(no_id)? };
        let there = segments_of(&RealDisk, self.dir)?;
        let mut firsts = there.clone();
        firsts.extend(manifest.iter().flat_map(|m| m.sealed.iter().map(|s| s.first)));
        firsts.sort_unstable();
        let noted = note.filter(|n| n.journal == journal).map_or(0, |n| n.seq);
        let witnessed = noted.max(self.source.head().seq);
        let sealed_to = manifest.as_ref().and_then(Manifest::sealed_head).map_or(0, |sealed| sealed.seq);
        loop {
            let first = head.seq + 1;
            let next = firsts.iter().copied().find(|f| *f > first);
            let end = next.map(|next| next - 1).or_else(|| (sealed_to >= first).then_some(sealed_to));
            if end.is_none() && !there.contains(&first) && head.seq >= witnessed {
                break;
            }
            // A file that cannot be read is mended like one that is not there.
            let bytes = RealDisk.read(&self.dir.join(segment::name(first))).unwrap_or_default();
            let walk = segment::walk(&bytes, head, |_, _| {});
            let whole = match (&walk.rest, end) {
                (Rest::Blank, Some(end)) => walk.head.seq == end,
                // A torn end is cut by the next start.
                (Rest::Blank | Rest::Bad { later: None, .. }, None) => walk.head.seq >= witnessed,
                (Rest::Bad { .. }, _) => false,
            };
            head = if whole { walk.head } else { self.mend(first, head, &bytes, end, witnessed)? };
            if end.is_none() {
                break;
            }
        }
        Ok(self.mends)
    }

    fn mend(
        &mut self,
        first: Seq,
        from: Head,
        bytes: &[u8],
        end: Option<Seq>,
        witnessed: Seq,
    ) -> Result<Head, CareError> {
        let good: BTreeMap<Seq, (Frame, &[u8])> =
            segment::good_lines(bytes).into_iter().map(|(frame, line)| (frame.seq, (frame, line))).collect();
        let mut head = from;
        let mut mend = Mend { first, bytes: Vec::new(), from_backup: Vec::new() };
        while end.is_none_or(|end| head.seq < end) {
            let seq = head.seq + 1;
            if let Some((frame, line)) = good.get(&seq).filter(|(frame, _)| frame.follows(head)) {
                mend.bytes.extend_from_slice(line);
                head = frame.head();
            } else if let Some(line) = self.source.read(head.seq, 1)?.first().filter(|line| line.prev == head.hash) {
                mend.bytes.extend_from_slice(&line.bytes);
                mend.from_backup.push(seq);
                head = line.head;
            } else {
                break;
            }
            mend.bytes.push(b'\n');
        }
        // A good line of a later sync proves that all before it had been synced.
        let after = head.seq + 1;
        let proved = good.values().filter(|(frame, _)| frame.group > after).map(|(frame, _)| frame.seq).max();
        let wanted = end.unwrap_or_else(|| witnessed.max(proved.unwrap_or(0)));
        if head.seq < wanted {
            let (folder, backup) = (self.data.to_path_buf(), self.backup.to_path_buf());
            let backup_head = self.source.head().seq;
            return Err(CareError::NotMendable { folder, backup, seq: head.seq + 1, backup_head });
        }
        self.mends.push(mend);
        Ok(head)
    }
}
