//! The record of what the index is good for, and the check of everything it holds against it.

use super::block::Block;
use super::keys::{self, Piece, Use};
use super::known::Known;
use super::shelves::{Batch, Lost, Shelves};
use super::value::{FOLD, HISTORY, KEYS, META, checked, key, opened};
use crate::journal::Head;
use coilwright_shop::entry::Seq;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

const FORMAT: u32 = 3;

/// What the index holds and up to which entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Good {
    pub format: u32,
    pub journal: String,
    pub seq: Seq,
    pub hash: String,
    /// The latest wall clock of any entry, milliseconds; none before the first.
    pub highest_ms: Option<i64>,
    pub keys: Tally,
    /// How many uses of keys stand in the pieces.
    pub uses: u64,
    pub history: Tally,
    pub fold: Option<Frozen>,
}

/// How many values a shelf holds, and the wrapping sum of their checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub(super) struct Tally {
    pub count: u64,
    pub sum: u64,
}

/// Which fold lies frozen on the shelf.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Frozen {
    pub seq: Seq,
    pub hash: String,
    pub version: u32,
    pub length: u64,
    pub digest: String,
}

impl Tally {
    fn add(&mut self, check: u64) {
        self.count += 1;
        self.sum = self.sum.wrapping_add(check);
    }

    fn take(&mut self, check: u64) {
        self.count = self.count.saturating_sub(1);
        self.sum = self.sum.wrapping_sub(check);
    }
}

impl Good {
    /// Of an empty index of this journal.
    pub(super) fn empty(journal: String) -> Self {
        let hash = journal.clone();
        let none = Tally::default();
        Self { format: FORMAT, journal, seq: 0, hash, highest_ms: None, keys: none, uses: 0, history: none, fold: None }
    }

    pub(super) fn head(&self) -> Option<Head> {
        Some(Head { seq: self.seq, hash: crate::journal::hash_from_hex(&self.hash)? })
    }

    fn tally(&mut self, shelf: u8) -> Option<&mut Tally> {
        match shelf {
            KEYS => Some(&mut self.keys),
            HISTORY => Some(&mut self.history),
            _ => None,
        }
    }

    /// The record as a change to the shelves; `None` if it has no JSON (never seen).
    pub(super) fn change(&self) -> Option<(Vec<u8>, Option<Vec<u8>>)> {
        let place = place();
        let (bytes, _) = checked(&place, &serde_json::to_vec(self).ok()?);
        Some((place, Some(bytes)))
    }

    /// Reads the record and compares all that the shelves hold with it; notes the keys that it meets.
    ///
    /// # Errors
    ///
    /// What does not agree, as half a sentence.
    pub(super) fn checked(shelves: &dyn Shelves, known: &Known) -> Result<Self, String> {
        let place = place();
        let bytes = shelves.get(&place).map_err(|lost| lost.0)?.ok_or("it has no record of what it is good for")?;
        let (record, _) = opened(&place, &bytes).ok_or("the check of its record does not hold")?;
        let mut good: Self = serde_json::from_slice(record).map_err(|e| format!("its record cannot be read: {e}"))?;
        if good.format != FORMAT {
            return Err(format!("it has format {}, this program makes {FORMAT}", good.format));
        }
        let mut met = Self::empty(good.journal.clone());
        let mut wrong = None;
        shelves
            .scan(&[], &[0xff], false, &mut |key, bytes| {
                match (opened(key, bytes), key.first()) {
                    (Some((value, check)), Some(shelf)) => {
                        if *shelf == KEYS {
                            match keys::uses(value) {
                                Some(uses) => uses.iter().for_each(|one| known.note(one.text)),
                                None => wrong = Some("the check of keys does not hold".to_owned()),
                            }
                        }
                        if let Some(tally) = met.tally(*shelf) {
                            tally.add(check);
                        } else if ![FOLD, META].contains(shelf) {
                            wrong = Some("it holds a shelf that is none of ours".to_owned());
                        }
                    }
                    _ => wrong = Some("the check of a value does not hold".to_owned()),
                }
                wrong.is_none()
            })
            .map_err(|lost| lost.0)?;
        if let Some(wrong) = wrong {
            return Err(wrong);
        }
        for (shelf, name) in [(KEYS, "keys"), (HISTORY, "history")] {
            let (met, said) = (met.tally(shelf).copied(), good.tally(shelf).copied());
            if met != said {
                return Err(format!("the shelf of {name} does not hold what was put there"));
            }
        }
        Ok(good)
    }
}

fn place() -> Vec<u8> {
    key(META, &[b"good"])
}

/// Changes to the shelves that keep the tallies right. Sees its own changes.
pub(super) struct Change<'a> {
    shelves: &'a dyn Shelves,
    changes: BTreeMap<Vec<u8>, Option<Vec<u8>>>,
    /// The last block of every history that grows, by its prefix.
    growing: BTreeMap<Vec<u8>, Block>,
    /// The last piece of the shelf of keys, once one was added.
    keys: Option<Piece>,
    good: &'a mut Good,
}

impl<'a> Change<'a> {
    pub(super) fn new(shelves: &'a dyn Shelves, good: &'a mut Good) -> Self {
        Self { shelves, changes: BTreeMap::new(), growing: BTreeMap::new(), keys: None, good }
    }

    pub(super) fn good(&mut self) -> &mut Good {
        self.good
    }

    /// The value under a key, these changes included.
    pub(super) fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, Lost> {
        let bytes = match self.changes.get(key) {
            Some(changed) => changed.clone(),
            None => self.shelves.get(key)?,
        };
        match bytes {
            None => Ok(None),
            Some(bytes) => match opened(key, &bytes) {
                Some((value, _)) => Ok(Some(value.to_vec())),
                None => Err(Lost("the check of a value does not hold".to_owned())),
            },
        }
    }

    /// Puts a value where none is.
    pub(super) fn put_new(&mut self, key: Vec<u8>, value: &[u8]) {
        let (bytes, check) = checked(&key, value);
        if let Some(tally) = key.first().and_then(|shelf| self.good.tally(*shelf)) {
            tally.add(check);
        }
        self.changes.insert(key, Some(bytes));
    }

    /// Takes a value away, if one is there.
    pub(super) fn take(&mut self, key: Vec<u8>) -> Result<(), Lost> {
        if let Some(value) = self.get(&key)? {
            let (_, check) = checked(&key, &value);
            if let Some(tally) = key.first().and_then(|shelf| self.good.tally(*shelf)) {
                tally.take(check);
            }
            self.changes.insert(key, None);
        }
        Ok(())
    }

    /// Adds an entry to a history.
    pub(super) fn note(&mut self, prefix: Vec<u8>, seq: Seq) -> Result<(), Lost> {
        let last = match self.growing.remove(&prefix) {
            Some(block) => Some(block),
            None => self.last_block(&prefix)?,
        };
        let mut block = last.unwrap_or_else(|| Block::begin(&prefix, seq));
        if !block.takes(seq) {
            self.put(block.place, &block.steps)?;
            block = Block::begin(&prefix, seq);
        }
        self.growing.insert(prefix, block);
        Ok(())
    }

    /// Adds a use of a key.
    pub(super) fn note_key(&mut self, one: &Use<'_>) -> Result<(), Lost> {
        let last = match self.keys.take() {
            Some(piece) => Some(piece),
            None => self.last_piece()?,
        };
        let mut piece = last.unwrap_or_else(|| Piece { place: Piece::begin(one).place, bytes: Vec::new() });
        if !piece.takes(one) {
            self.put(piece.place, &piece.bytes)?;
            piece = Piece::begin(one);
        }
        self.good.uses += 1;
        self.keys = Some(piece);
        Ok(())
    }

    /// Puts the piece that grows among the changes, where [`Change::get`] sees it.
    pub(super) fn close_keys(&mut self) -> Result<(), Lost> {
        match self.keys.take() {
            Some(piece) => self.put(piece.place, &piece.bytes),
            None => Ok(()),
        }
    }

    fn last_piece(&self) -> Result<Option<Piece>, Lost> {
        self.last(&[KEYS], &[KEYS + 1], "keys", |place, bytes| {
            Some(Piece { place: place.to_vec(), bytes: bytes.to_vec() })
        })
    }

    fn last_block(&self, prefix: &[u8]) -> Result<Option<Block>, Lost> {
        self.last(prefix, &[prefix, &[0xff; 9]].concat(), "a history", Block::read)
    }

    /// What `read` makes of the last value from one key to another, its check taken off.
    fn last<T>(
        &self,
        from: &[u8],
        to: &[u8],
        what: &str,
        read: impl Fn(&[u8], &[u8]) -> Option<T>,
    ) -> Result<Option<T>, Lost> {
        let mut found = None;
        self.shelves.scan(from, to, true, &mut |place, bytes| {
            found = Some(opened(place, bytes).and_then(|(value, _)| read(place, value)));
            false
        })?;
        match found {
            Some(None) => Err(Lost(format!("the check of {what} does not hold"))),
            found => Ok(found.flatten()),
        }
    }

    /// Puts a value in the place of the one that is there, if one is.
    fn put(&mut self, key: Vec<u8>, value: &[u8]) -> Result<(), Lost> {
        self.take(key.clone())?;
        self.put_new(key, value);
        Ok(())
    }

    /// All changes and the record that belongs to them.
    pub(super) fn into_batch(mut self) -> Result<Batch, Lost> {
        for block in std::mem::take(&mut self.growing).into_values() {
            self.put(block.place, &block.steps)?;
        }
        self.close_keys()?;
        let record = self.good.change();
        Ok(self.changes.into_iter().chain(record).collect())
    }
}
