//! The index: keys and histories found quickly. Distrusted at every open, replaced whenever it fails.

mod block;
mod filling;
mod good;
mod keys;
mod known;
mod opening;
mod shelves;
mod value;

pub(crate) use opening::{Candidate, IndexStart, open_candidate};

use crate::fold::{Fold, Subjects};
use crate::journal::{Hash, Head, Reading};
use coilwright_shop::entry::{Entry, Seq};
use filling::put_fold;
use good::Good;
use jiff::Timestamp;
use known::Known;
use sha2::{Digest, Sha256};
use shelves::{Lost, Shelves};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};
use value::{FOLD, KEYS, history_prefix, key, opened};

/// How many entries are put on the shelves together when many are.
pub(crate) const BATCH: usize = 512;
/// A frozen fold is cut into pieces of this size: sled keeps larger values in files of their own.
const PIECE: usize = 32 << 10;

/// How long idempotency keys are remembered: whichever of the two is more.
#[derive(Debug, Clone, Copy)]
pub struct KeyKeeping {
    /// At least this many days back from the newest entry.
    pub days: u32,
    /// At least this many keys.
    pub count: u64,
}

impl Default for KeyKeeping {
    fn default() -> Self {
        Self { days: 30, count: 100_000 }
    }
}

/// What was found of the index when it was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IndexReport {
    /// Why the index that was there (or was not) could not be used and a new one was made; `None`: it was used.
    pub rebuilt: Option<String>,
    /// Where the old one was put.
    pub set_aside: Option<PathBuf>,
    /// Entries that were added from the journal.
    pub added: u64,
    /// Why it is kept in memory for this run instead of on the disk.
    pub in_memory: Option<String>,
}

/// What a key was used for: the first sequence and the digest of method and params.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct KeyUse {
    pub seq: Seq,
    pub digest: Hash,
}

impl KeyUse {
    pub(crate) fn digest_of(method: &str, asked: &str) -> Hash {
        Hash(Sha256::new().chain_update(method).chain_update([0]).chain_update(asked).finalize().into())
    }
}

/// The index as the writer, the indexer and readers share it.
pub(crate) struct Index {
    shelves: RwLock<Arc<dyn Shelves>>,
    good: Mutex<Good>,
    known: Known,
    indexed_to: AtomicU64,
    journal: Arc<dyn Reading>,
    subjects: Subjects,
    keeping: KeyKeeping,
    mishap: Mutex<Option<String>>,
}

impl Index {
    /// The last entry that the shelves know of.
    pub(crate) fn indexed_to(&self) -> Seq {
        self.indexed_to.load(Ordering::Acquire)
    }

    /// The journal that it is the index of.
    pub(crate) fn journal(&self) -> &dyn Reading {
        self.journal.as_ref()
    }

    /// Whether an entry is about a subject.
    pub(crate) fn is_about(&self, entry: &Entry, subject: &str) -> bool {
        self.subjects_of(entry).iter().any(|s| s == subject)
    }

    /// What an entry is about. A program's fault in that must not stop the indexing of all others.
    fn subjects_of(&self, entry: &Entry) -> Vec<String> {
        let subjects = self.subjects;
        catch_unwind(AssertUnwindSafe(|| subjects(entry))).unwrap_or_default()
    }

    /// Why the index went over to memory, if it did.
    pub(crate) fn mishap(&self) -> Option<String> {
        self.mishap.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// What a key was used for, as far as the shelves know.
    pub(crate) fn key_use(&self, text: &str) -> Option<KeyUse> {
        if !self.known.may_hold(text.as_bytes()) {
            return None;
        }
        self.insist(|shelves| {
            let (mut found, mut wrong) = (None, false);
            shelves.scan(&[KEYS], &[KEYS + 1], true, &mut |place, bytes| {
                let uses = opened(place, bytes).and_then(|(value, _)| keys::uses(value));
                wrong = uses.is_none();
                // The latest use counts.
                found = uses.into_iter().flatten().rfind(|one| one.text == text.as_bytes()).map(|one| one.used);
                found.is_none() && !wrong
            })?;
            if wrong { Err(Lost("the check of keys does not hold".to_owned())) } else { Ok(found) }
        })
    }

    /// The answer that an entry was given, from the journal.
    pub(crate) fn first_answer(&self, seq: Seq) -> Result<serde_json::Value, String> {
        let lines = self.journal.read(seq.saturating_sub(1), 1).map_err(|e| e.to_string())?;
        let line = lines.first().filter(|line| line.head.seq == seq).ok_or("it is not in the journal")?;
        line.entry().map(|entry| entry.answer).map_err(|e| e.to_string())
    }

    /// Sequences of entries about a subject, newest first, below `before`, at most `limit`, as far as the shelves know.
    pub(crate) fn about(&self, subject: &str, before: Seq, limit: usize) -> Vec<Seq> {
        let Some(prefix) = history_prefix(subject) else { return Vec::new() };
        let mut end = prefix.clone();
        end.extend_from_slice(&before.to_be_bytes());
        self.insist(|shelves| {
            let mut found = Vec::new();
            let mut wrong = false;
            if limit > 0 {
                shelves.scan(&prefix, &end, true, &mut |key, bytes| {
                    let seqs = opened(key, bytes).and_then(|(steps, _)| block::seqs(key, steps));
                    wrong |= seqs.is_none();
                    found.extend(seqs.into_iter().flatten().rev().filter(|seq| *seq < before));
                    !wrong && found.len() < limit
                })?;
            }
            found.truncate(limit);
            if wrong { Err(Lost("the check of a history does not hold".to_owned())) } else { Ok(found) }
        })
    }

    /// Adds entries to the shelves; those that they know already are passed over.
    pub(crate) fn add(&self, entries: &[Entry], head: Head) {
        let mut good = self.lock_good();
        let shelves = self.shelves();
        if let Err(lost) = self.add_to(shelves.as_ref(), &mut good, entries, head) {
            self.mend(&mut good, &lost);
        }
        self.indexed_to.store(good.seq, Ordering::Release);
    }

    /// Freezes a fold that stands at `head`, if the shelves stand there too.
    pub(crate) fn freeze<S: Fold>(&self, state: &S, head: Head) {
        let Some(bytes) = state.freeze() else { return };
        let mut good = self.lock_good();
        let shelves = self.shelves();
        if good.seq != head.seq || shelves.in_memory() {
            return;
        }
        if let Err(lost) = put_fold(shelves.as_ref(), &mut good, &bytes, head, S::VERSION) {
            self.mend(&mut good, &lost);
        }
    }

    /// The frozen fold and where it stands, if there is one of this version.
    pub(crate) fn thaw<S: Fold>(&self) -> Option<(S, Head)> {
        let frozen = self.lock_good().fold.clone().filter(|f| f.version == S::VERSION)?;
        let shelves = self.shelves();
        let mut bytes = Vec::new();
        for piece in 0..frozen.length.div_ceil(PIECE as u64) {
            let place = key(FOLD, &[&u32::try_from(piece).ok()?.to_be_bytes()]);
            let value = shelves.get(&place).ok()??;
            bytes.extend_from_slice(opened(&place, &value)?.0);
        }
        let whole = Hash::of(&bytes).to_string() == frozen.digest;
        let hash = crate::journal::hash_from_hex(&frozen.hash)?;
        let state = whole.then(|| S::thaw(&bytes)).flatten()?;
        Some((state, Head { seq: frozen.seq, hash }))
    }

    /// The latest wall clock among the entries that the shelves know.
    pub(crate) fn highest(&self) -> Option<Timestamp> {
        Timestamp::from_millisecond(self.lock_good().highest_ms?).ok()
    }

    /// What the index is good for.
    pub(crate) fn head(&self) -> Head {
        let good = self.lock_good();
        good.head().unwrap_or(Head { seq: 0, hash: Hash([0; 32]) })
    }

    /// Asks for all of it to be on the disk; at a clean stop.
    pub(crate) fn flush(&self) {
        // Nobody needs to know: what is missing is added from the journal at the next start.
        let _ = self.shelves().flush();
    }

    fn shelves(&self) -> Arc<dyn Shelves> {
        Arc::clone(&self.shelves.read().unwrap_or_else(PoisonError::into_inner))
    }

    fn lock_good(&self) -> MutexGuard<'_, Good> {
        self.good.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Asks the shelves; if they fail, replaces them and asks again.
    fn insist<T: Default>(&self, ask: impl Fn(&dyn Shelves) -> Result<T, Lost>) -> T {
        let shelves = self.shelves();
        match ask(shelves.as_ref()) {
            Ok(answer) => answer,
            Err(lost) => {
                let mut good = self.lock_good();
                // Somebody else may have mended it while this waited.
                if Arc::ptr_eq(&shelves, &self.shelves()) {
                    self.mend(&mut good, &lost);
                }
                drop(good);
                ask(self.shelves().as_ref()).unwrap_or_default()
            }
        }
    }
}
