//! The shelf as a match sees it: which spools hold a wire, and which of them is enough for one coil.

use crate::match_words::Named;
use coilwright_catalog::Catalog;
use coilwright_core::conductor::Conductor;
use coilwright_core::enough::{Remaining, Word};
use coilwright_core::quantity::Length;
use coilwright_proto::quantity::Reading;
use coilwright_proto::reference::Ref;
use coilwright_proto::wire::InlineWire;
use coilwright_shop::spool::Spool;
use coilwright_shop::state::State;
use std::collections::BTreeMap;

/// The spools in use, by the wire on them.
pub struct Shelf {
    spools: BTreeMap<String, Vec<OnShelf>>,
    confidence: f64,
}

/// A spool as a draw sees it.
#[derive(Debug, Clone)]
pub struct OnShelf {
    /// Its id.
    pub id: String,
    /// What is on it.
    pub remaining: Remaining,
    /// What is there with the shop's confidence.
    safe: Length,
    /// What is promised of it.
    held: Length,
}

impl Shelf {
    /// All spools that are not retired.
    pub fn of(state: &State) -> Shelf {
        let confidence = state.figures().confidence.value;
        let mut spools: BTreeMap<String, Vec<OnShelf>> = BTreeMap::new();
        for spool in state.spools().filter(|s| s.retired.is_none()) {
            let remaining = spool.remaining();
            spools.entry(spool.wire().key().to_owned()).or_default().push(OnShelf {
                id: spool.id().to_string(),
                remaining,
                safe: remaining.safe_length(confidence),
                held: spool.held(),
            });
        }
        for list in spools.values_mut() {
            list.sort_by(|a, b| (a.safe - a.held).m().total_cmp(&(b.safe - b.held).m()));
        }
        Shelf { spools, confidence }
    }

    /// How many spools there are.
    pub fn len(&self) -> usize {
        self.spools.values().map(Vec::len).sum()
    }

    /// Whether any spool holds this wire.
    pub fn has(&self, key: &str) -> bool {
        self.spools.contains_key(key)
    }

    /// The spool with least on it that is enough for a coil, as the gate decides: the wire is there with the shop's
    /// confidence, and free of promises. Otherwise the one that comes nearest.
    ///
    /// # Errors
    /// The nearest, if there is any, where none is enough.
    pub fn enough(&self, key: &str, need: Length) -> Result<&OnShelf, Option<&OnShelf>> {
        let list = self.spools.get(key).map_or(&[][..], Vec::as_slice);
        list.iter()
            .find(|s| {
                let (word, _) = s.remaining.judge(need, self.confidence);
                word == Word::Enough && (s.held.m() <= 0.0 || (s.safe - s.held).m() >= need.m())
            })
            .ok_or_else(|| list.last())
    }
}

impl OnShelf {
    /// What can be promised of it with the shop's confidence.
    pub fn free(&self) -> Length {
        (self.safe - self.held).max(Length::ZERO)
    }
}

/// The wires on the shelf, each once: by its catalog's figures, or by those it was received with. A spool that remembers
/// too little to design with, or a wire the catalog no longer has, is passed over.
pub fn wires(state: &State, catalog: &Catalog) -> Vec<Named> {
    let mut all: BTreeMap<&str, &Spool> = BTreeMap::new();
    for spool in state.spools().filter(|s| s.retired.is_none()) {
        all.entry(spool.wire().key()).or_insert(spool);
    }
    all.into_values().filter_map(|s| named(s, catalog)).collect()
}

fn named(spool: &Spool, catalog: &Catalog) -> Option<Named> {
    let w = spool.wire();
    if let Some(id) = &w.id {
        return catalog.wire(id).map(Named::of);
    }
    let inline = InlineWire {
        conductor: Conductor::from_word(&w.conductor)?.into(),
        bare_mm: Reading::of(w.bare_mm?),
        overall_mm: Reading::of(w.overall_mm?),
        overall_min_mm: None,
        overall_max_mm: None,
        ohm_per_m: Some(Reading::known(w.ohm_per_m.value, w.ohm_per_m.u)),
        g_per_m: Some(Reading::known(w.g_per_m.value, w.g_per_m.u)),
    };
    Named::asked(catalog, &Ref::Inline(Box::new(inline)), "").ok()
}
