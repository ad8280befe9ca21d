//! The past, looked up: entries by number from the journal, and by what they are about through the index.

use crate::index::{BATCH, Index};
use crate::journal::{Line, ReadError};
use coilwright_shop::archive::{Archive, Unreadable};
use coilwright_shop::entry::{Entry, Seq};
use coilwright_shop::fact::Subject;

/// All entries that are synced, and those that wait for it.
pub(crate) struct Past<'a> {
    index: &'a Index,
    /// Decided and not synced yet, in order.
    queued: &'a [Entry],
}

impl<'a> Past<'a> {
    pub(crate) fn new(index: &'a Index, queued: &'a [Entry]) -> Self {
        Self { index, queued }
    }

    /// Lines about a subject, newest first, with numbers below `before`, at most `limit`. Only what is synced.
    pub(crate) fn newest(&self, subject: &str, before: Seq, limit: usize) -> Result<Vec<Line>, ReadError> {
        let known = self.index.indexed_to();
        let mut found: Vec<Line> = self.unindexed(subject, known, before)?.into_iter().map(|(line, _)| line).collect();
        found.reverse();
        found.truncate(limit);
        for seq in self.index.about(subject, before.min(known.saturating_add(1)), limit - found.len()) {
            found.extend(self.index.journal().read(seq.saturating_sub(1), 1)?);
        }
        Ok(found)
    }

    /// What the index does not know yet is little and stands at the end of the journal.
    fn unindexed(&self, subject: &str, known: Seq, before: Seq) -> Result<Vec<(Line, Entry)>, ReadError> {
        let mut found = Vec::new();
        let mut after = known;
        loop {
            let left = usize::try_from(before.saturating_sub(after).saturating_sub(1)).unwrap_or(BATCH);
            let lines = self.index.journal().read(after, left.min(BATCH))?;
            let Some(last) = lines.last() else { return Ok(found) };
            after = last.head.seq;
            for line in lines {
                match line.entry() {
                    Ok(entry) if self.index.is_about(&entry, subject) => found.push((line, entry)),
                    _ => {}
                }
            }
        }
    }

    fn read_about(&self, subject: &str, before: Seq) -> Result<Vec<Entry>, Unreadable> {
        let known = self.index.indexed_to();
        let mut entries = Vec::new();
        for seq in self.index.about(subject, before.min(known.saturating_add(1)), usize::MAX).into_iter().rev() {
            let entry = self.entry(seq)?.filter(|entry| self.index.is_about(entry, subject));
            entries.push(entry.ok_or_else(|| Unreadable(format!("entry {seq} is not about {subject}")))?);
        }
        let unindexed = self.unindexed(subject, known, before).map_err(|e| Unreadable(e.to_string()))?;
        entries.extend(unindexed.into_iter().map(|(_, entry)| entry));
        let last = entries.last().map_or(0, |entry| entry.seq);
        let queued = self.queued.iter().filter(|entry| (last + 1..before).contains(&entry.seq));
        entries.extend(queued.filter(|entry| self.index.is_about(entry, subject)).cloned());
        Ok(entries)
    }
}

impl Archive for Past<'_> {
    fn entry(&self, seq: Seq) -> Result<Option<Entry>, Unreadable> {
        if let Some(entry) = self.queued.iter().find(|entry| entry.seq == seq) {
            return Ok(Some(entry.clone()));
        }
        let Some(before) = seq.checked_sub(1) else { return Ok(None) };
        let lines = self.index.journal().read(before, 1).map_err(|e| Unreadable(e.to_string()))?;
        let Some(line) = lines.first().filter(|line| line.head.seq == seq) else { return Ok(None) };
        line.entry().map(Some).map_err(|e| Unreadable(format!("entry {seq} cannot be read: {e}")))
    }

    fn about(&self, of: Subject, before: Seq) -> Result<Vec<Entry>, Unreadable> {
        self.read_about(&of.to_string(), before)
    }
}
