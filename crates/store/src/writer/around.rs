//! What a decision's group asks of the rest: the time, and what a key was used for before.

use super::group::Around;
use super::request::{Done, NotDone, Outcome};
use crate::clock::Clock;
use crate::index::{Index, KeyUse};
use crate::past::Past;
use coilwright_shop::entry::{Entry, Seq};
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

pub(super) struct Surroundings {
    pub index: Arc<Index>,
    pub recent: Recent,
    pub clock: Box<dyn Clock>,
}

impl<E> Around<E> for Surroundings {
    fn clock(&self) -> &dyn Clock {
        self.clock.as_ref()
    }

    fn key_use(&self, key: &str) -> Option<KeyUse> {
        self.recent.uses.get(key).copied().or_else(|| self.index.key_use(key))
    }

    fn past<'a>(&'a self, queued: &'a [Entry]) -> Past<'a> {
        Past::new(&self.index, queued)
    }

    fn first_outcome(&self, seq: Seq) -> Outcome<E> {
        match self.index.first_answer(seq) {
            Ok(answer) => Ok(Done { seq, answer, replayed: true }),
            Err(why) => Err(NotDone::Failed(format!("the first answer, entry {seq}, cannot be read: {why}"))),
        }
    }
}

/// Keys of entries that the indexer has not seen yet.
#[derive(Default)]
pub(super) struct Recent {
    uses: BTreeMap<String, KeyUse>,
    order: VecDeque<(Seq, String)>,
}

impl Recent {
    pub(super) fn add(&mut self, entries: &[Entry], indexed_to: Seq) {
        while let Some((seq, key)) = self.order.front().filter(|(seq, _)| *seq <= indexed_to) {
            if self.uses.get(key).is_some_and(|used| used.seq == *seq) {
                self.uses.remove(key);
            }
            self.order.pop_front();
        }
        for entry in entries {
            if let Some(key) = &entry.key {
                let used = KeyUse { seq: entry.seq, digest: KeyUse::digest_of(&entry.method, &entry.asked) };
                self.uses.insert(key.clone(), used);
                self.order.push_back((entry.seq, key.clone()));
            }
        }
    }
}
