//! Puts entries and frozen folds on the shelves, forgets old keys, and makes everything anew when the shelves fail.

use super::good::{Change, Frozen, Good};
use super::keys::{self, Piece, Use};
use super::shelves::{Lost, Memory, Shelves};
use super::value::{FOLD, KEYS, history_prefix, key, opened};
use super::{BATCH, Index, KeyUse, PIECE};
use crate::journal::{Hash, Head, walk_entries};
use coilwright_shop::entry::Entry;
use std::sync::atomic::Ordering;
use std::sync::{Arc, PoisonError};

impl Index {
    /// Makes new shelves in memory from the journal. The ones on the disk fail their check at the next open, or are
    /// found behind, and are replaced then.
    pub(super) fn mend(&self, good: &mut Good, lost: &Lost) {
        let memory = Memory::default();
        let mut made = Good::empty(good.journal.clone());
        let start = made.head().unwrap_or(Head { seq: 0, hash: Hash([0; 32]) });
        let mut why = lost.0.clone();
        let mut pile: Vec<Entry> = Vec::new();
        let walked = walk_entries(self.journal.as_ref(), start, |line, entry| {
            pile.push(entry);
            if pile.len() >= BATCH {
                let _ = self.add_to(&memory, &mut made, &pile, line.head);
                pile.clear();
            }
            Ok(())
        });
        match walked {
            Ok(head) => drop(self.add_to(&memory, &mut made, &pile, head)),
            Err(e) => why = format!("{why}; and not all of the journal could be read: {e}"),
        }
        *good = made;
        *self.shelves.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(memory);
        *self.mishap.lock().unwrap_or_else(PoisonError::into_inner) = Some(why);
        self.indexed_to.store(good.seq, Ordering::Release);
    }

    pub(super) fn add_to(
        &self,
        shelves: &dyn Shelves,
        good: &mut Good,
        entries: &[Entry],
        head: Head,
    ) -> Result<(), Lost> {
        let known = good.seq;
        let mut next = good.clone();
        let mut change = Change::new(shelves, &mut next);
        for entry in entries.iter().filter(|e| e.seq > known) {
            self.add_entry(&mut change, entry)?;
        }
        if head.seq > known {
            (change.good().seq, change.good().hash) = (head.seq, head.hash.to_string());
            self.forget(shelves, &mut change)?;
            shelves.apply(change.into_batch()?)?;
            *good = next;
        }
        Ok(())
    }

    fn add_entry(&self, change: &mut Change<'_>, entry: &Entry) -> Result<(), Lost> {
        let at = entry.stamp.at.as_millisecond();
        let good = change.good();
        good.highest_ms = Some(good.highest_ms.map_or(at, |highest| highest.max(at)));
        if let Some(text) = &entry.key {
            let used = KeyUse { seq: entry.seq, digest: KeyUse::digest_of(&entry.method, &entry.asked) };
            change.note_key(&Use { used, at_ms: at, text: text.as_bytes() })?;
            self.known.note(text.as_bytes());
        }
        let mut subjects = self.subjects_of(entry);
        subjects.sort_unstable();
        subjects.dedup();
        for prefix in subjects.iter().filter_map(|s| history_prefix(s)) {
            change.note(prefix, entry.seq)?;
        }
        Ok(())
    }

    /// Forgets keys that are both too old and too many: a sixteenth of those that are kept at once, so that a piece is not
    /// made anew for every entry.
    fn forget(&self, shelves: &dyn Shelves, change: &mut Change<'_>) -> Result<(), Lost> {
        let good = change.good();
        let too_many = good.uses.saturating_sub(self.keeping.count);
        let oldest = good.highest_ms.unwrap_or(0) - i64::from(self.keeping.days) * 86_400_000;
        if too_many <= self.keeping.count / 16 {
            return Ok(());
        }
        change.close_keys()?;
        let mut places = Vec::new();
        let mut met = 0;
        shelves.scan(&[KEYS], &[KEYS + 1], false, &mut |place, bytes| {
            let uses = opened(place, bytes).and_then(|(value, _)| keys::uses(value));
            let old = uses.is_some_and(|uses| {
                met += uses.len() as u64;
                uses.first().is_some_and(|one| one.at_ms < oldest)
            });
            places.extend(old.then(|| place.to_vec()));
            old && met < too_many
        })?;
        let mut left = too_many;
        for place in places {
            let Some(bytes) = change.get(&place)? else { continue };
            let Some(uses) = keys::uses(&bytes) else { return Err(Lost("the check of keys does not hold".to_owned())) };
            let most = usize::try_from(left).unwrap_or(usize::MAX);
            let gone = uses.iter().take(most).take_while(|one| one.at_ms < oldest).count();
            left -= gone as u64;
            change.good().uses = change.good().uses.saturating_sub(gone as u64);
            change.take(place)?;
            if let Some((first, rest)) = uses.get(gone..).and_then(<[_]>::split_first) {
                let mut piece = Piece::begin(first);
                rest.iter().for_each(|one| {
                    piece.takes(one);
                });
                change.put_new(piece.place, &piece.bytes);
            }
        }
        Ok(())
    }
}

/// Puts a frozen fold on its shelf in pieces, in the place of the one before.
pub(super) fn put_fold(
    shelves: &dyn Shelves,
    good: &mut Good,
    bytes: &[u8],
    head: Head,
    version: u32,
) -> Result<(), Lost> {
    let place = |piece: usize| key(FOLD, &[&u32::try_from(piece).unwrap_or(u32::MAX).to_be_bytes()]);
    let mut next = good.clone();
    let before = next.fold.as_ref().map_or(0, |f| f.length.div_ceil(PIECE as u64));
    let (hash, digest) = (head.hash.to_string(), Hash::of(bytes).to_string());
    next.fold = Some(Frozen { seq: head.seq, hash, version, length: bytes.len() as u64, digest });
    let mut change = Change::new(shelves, &mut next);
    let mut pieces = 0;
    for piece in bytes.chunks(PIECE) {
        change.put_new(place(pieces), piece);
        pieces += 1;
    }
    for left_over in pieces..usize::try_from(before).unwrap_or(pieces) {
        change.take(place(left_over))?;
    }
    shelves.apply(change.into_batch()?)?;
    *good = next;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::shelves::{Batch, Each};
    use super::super::{IndexStart, KeyKeeping, open_candidate};
    use super::*;
    use crate::journal::{FileJournal, Journal};
    use coilwright_shop::entry::{ClockQuality, ENTRY_VERSION, Stamp};
    use coilwright_shop::fact::{AlertSeen, Fact};
    use std::sync::RwLock;
    use std::sync::atomic::AtomicBool;

    /// Shelves that work until they are broken.
    struct Breaking {
        inner: Memory,
        broken: Arc<AtomicBool>,
    }

    impl Breaking {
        fn check(&self) -> Result<(), Lost> {
            if self.broken.load(Ordering::SeqCst) { Err(Lost("broken on purpose".to_owned())) } else { Ok(()) }
        }
    }

    impl Shelves for Breaking {
        fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, Lost> {
            self.check().and_then(|()| self.inner.get(key))
        }
        fn apply(&self, batch: Batch) -> Result<(), Lost> {
            self.check().and_then(|()| self.inner.apply(batch))
        }
        fn scan(&self, from: &[u8], to: &[u8], down: bool, each: Each<'_>) -> Result<(), Lost> {
            self.check().and_then(|()| self.inner.scan(from, to, down, each))
        }
        fn flush(&self) -> Result<(), Lost> {
            self.check()
        }
        fn in_memory(&self) -> bool {
            false
        }
    }

    fn entry(seq: u64) -> Entry {
        let stamp = Stamp {
            at: jiff::Timestamp::UNIX_EPOCH,
            quality: ClockQuality::Plausible,
            boot: "b".to_owned(),
            mono_ms: 0,
        };
        let facts = vec![Fact::AlertSeen(AlertSeen { alert: format!("alert {seq}") })];
        let key = Some(format!("key {seq}"));
        let (who, method, asked) = ("w".to_owned(), "m".to_owned(), "a".to_owned());
        Entry { seq, v: ENTRY_VERSION, group: seq, stamp, who, method, key, asked, facts, answer: seq.into() }
    }

    /// Breaks the shelves, lets `touch` notice, and checks that every answer is right after it.
    #[track_caller]
    fn check(touch: impl FnOnce(&Index, &mut dyn FnMut() -> (Entry, Head))) {
        let dir = tempfile::tempdir().unwrap();
        let (mut journal, _) = FileJournal::open(dir.path()).unwrap();
        let reading = journal.reader();
        let mut written = 0;
        let mut write = || {
            written += 1;
            let entry = entry(written);
            let head = journal.append(journal.head(), std::slice::from_ref(&entry)).unwrap();
            (entry, head)
        };
        let subjects = |entry: &Entry| vec![format!("s-{}", entry.seq % 2)];
        let start = IndexStart { journal: reading, subjects, keeping: KeyKeeping::default() };
        let (mut index, _) = open_candidate(dir.path()).settle(start);
        let broken = Arc::new(AtomicBool::new(false));
        index.shelves = RwLock::new(Arc::new(Breaking { inner: Memory::default(), broken: Arc::clone(&broken) }));
        for _ in 0..5 {
            let (entry, head) = write();
            index.add(&[entry], head);
        }
        assert_eq!(index.mishap(), None);
        broken.store(true, Ordering::SeqCst);
        touch(&index, &mut write);
        assert_eq!(index.mishap().as_deref(), Some("broken on purpose"));
        let (entry, head) = write();
        index.add(&[entry], head);
        assert_eq!(index.indexed_to(), head.seq);
        for seq in 1..=head.seq {
            assert_eq!(index.key_use(&format!("key {seq}")).map(|used| used.seq), Some(seq));
        }
        let odd: Vec<u64> = (1..=head.seq).rev().filter(|seq| seq % 2 == 1).collect();
        assert_eq!(index.about("s-1", u64::MAX, 100), odd);
    }

    #[test]
    fn shelves_that_fail_when_asked_are_made_anew_in_memory() {
        check(|index, _| assert_eq!(index.key_use("key 3").map(|used| used.seq), Some(3)));
        check(|index, _| assert_eq!(index.about("s-0", u64::MAX, 1), [4]));
    }

    #[test]
    fn shelves_that_fail_when_filled_are_made_anew_in_memory() {
        check(|index, write| {
            let (entry, head) = write();
            index.add(&[entry], head);
        });
    }

    #[test]
    fn entries_added_twice_are_passed_over() {
        check(|index, write| {
            let (entry, head) = write();
            index.add(std::slice::from_ref(&entry), head);
            index.add(&[entry], head);
        });
    }
}
