//! What spools of one wire and lot tell each other, kept up with every reading.
//!
//! Of each spool that told something, retired ones too, five numbers are kept. What a spool in use learns is the sum over
//! the others in order of their ids: it depends on what they tell now and on nothing else, so an undo gives the former
//! figures bit for bit.

use super::State;
use crate::id::SpoolId;
use crate::spool::Spool;
use coilwright_core::content::lot::Evidence;
use rpds::RedBlackTreeMapSync;
use serde::{Deserialize, Serialize};

type Lot = RedBlackTreeMapSync<SpoolId, Evidence>;

/// By wire and lot.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct Lots(RedBlackTreeMapSync<String, RedBlackTreeMapSync<String, Lot>>);

impl Lots {
    fn lot(&self, (wire, lot): (&str, &str)) -> Option<&Lot> {
        self.0.get(wire)?.get(lot)
    }

    /// What a spool tells now in place of what it told before; whether that is another thing.
    fn tell(&mut self, (wire, lot): (&str, &str), id: SpoolId, now: Option<Evidence>) -> bool {
        if self.lot((wire, lot)).and_then(|told| told.get(&id)) == now.as_ref() {
            return false;
        }
        let mut lots = self.0.get(wire).cloned().unwrap_or_else(RedBlackTreeMapSync::new_sync);
        let mut told = lots.get(lot).cloned().unwrap_or_else(Lot::new_sync);
        match now {
            Some(now) => told.insert_mut(id, now),
            None => {
                told.remove_mut(&id);
            }
        }
        // Nothing empty stays: the state after an undo is the state without the entry.
        if told.is_empty() {
            lots.remove_mut(lot);
        } else {
            lots.insert_mut(lot.to_owned(), told);
        }
        if lots.is_empty() {
            self.0.remove_mut(wire);
        } else {
            self.0.insert_mut(wire.to_owned(), lots);
        }
        true
    }

    /// What all but this spool tell.
    fn others(&self, of: (&str, &str), id: SpoolId) -> Evidence {
        let Some(lot) = self.lot(of) else { return Evidence::default() };
        lot.iter().filter(|(other, _)| **other != id).fold(Evidence::default(), |sum, (_, told)| sum + *told)
    }
}

impl State {
    /// After the history of a spool changed: what it tells its lot, and what the others learn of it. `before`: the spool
    /// as it was.
    pub(super) fn keep_up_lot(&mut self, id: SpoolId, before: Option<&Spool>) {
        let now = self.spools.get(&id).cloned();
        let Some((wire, lot)) = now.as_ref().or(before).and_then(Spool::lot) else { return };
        let (wire, lot) = (wire.to_owned(), lot.to_owned());
        let of = (wire.as_str(), lot.as_str());
        if self.lots.tell(of, id, now.as_ref().and_then(Spool::tells_its_lot)) {
            let same = |s: &&Spool| s.lot() == Some(of);
            let members: Vec<SpoolId> = self.spools.values().filter(same).map(Spool::id).collect();
            members.into_iter().for_each(|member| self.learn_of_lot(member));
        } else {
            self.learn_of_lot(id);
        }
    }

    /// What the others of its lot tell, onto a spool that is kept or was fetched.
    pub(super) fn learn_of_lot(&mut self, id: SpoolId) {
        let Some(spool) = self.spools.get(&id) else { return };
        let Some(of) = spool.lot() else { return };
        let others = self.lots.others(of, id);
        if spool.of_lot != others {
            let mut spool = spool.clone();
            spool.of_lot = others;
            self.spools.insert_mut(id, spool);
        }
    }
}
