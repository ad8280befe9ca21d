//! The sums themselves: what is added up over coils, and taken back.

use coilwright_core::learning::{DrawSums, Ratios, Sums, Tree, first};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Sums over some coils.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cell {
    /// Measured over planned resistance.
    pub ratio: Sums,
    /// Pitch over overall diameter.
    pub pitch: Sums,
    /// Radial step over overall diameter.
    pub nesting: Sums,
    /// Metres drawn over metres planned.
    pub metres: Sums,
    /// The same, for telling elongation from threading.
    pub draws: DrawSums,
    /// Natural logarithm of minutes, by the step's word.
    pub log_minutes: BTreeMap<String, Sums>,
    /// Coils recorded, good or not.
    pub recorded: u64,
    /// Of these, scrapped.
    pub scrapped: u64,
}

/// Sums over the coils that count: resistance by wire, mandrel in µm and winder, all else together.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lessons {
    /// Measured over planned resistance.
    pub ratios: BTreeMap<String, Tree>,
    /// All coils.
    pub all: Cell,
}

/// Onto the sums, or out of them again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    Add,
    TakeBack,
}

impl Sign {
    fn sums(self, to: &mut Sums, by: &Sums) {
        match self {
            Sign::Add => to.merge(by),
            Sign::TakeBack => to.take_back(by),
        }
    }

    fn number(self, to: &mut u64, by: u64) {
        *to = match self {
            Sign::Add => to.wrapping_add(by),
            Sign::TakeBack => to.wrapping_sub(by),
        };
    }
}

impl Cell {
    /// Whether no coil is in it.
    pub(super) fn is_empty(&self) -> bool {
        self.recorded == 0
    }

    pub(super) fn put(&mut self, by: &Cell, sign: Sign) {
        sign.sums(&mut self.ratio, &by.ratio);
        sign.sums(&mut self.pitch, &by.pitch);
        sign.sums(&mut self.nesting, &by.nesting);
        sign.sums(&mut self.metres, &by.metres);
        match sign {
            Sign::Add => self.draws.merge(&by.draws),
            Sign::TakeBack => self.draws.take_back(&by.draws),
        }
        by.log_minutes.iter().for_each(|(s, m)| sign.sums(self.log_minutes.entry(s.clone()).or_default(), m));
        self.log_minutes.retain(|_, m| !m.is_empty());
        sign.number(&mut self.recorded, by.recorded);
        sign.number(&mut self.scrapped, by.scrapped);
    }
}

impl Lessons {
    pub(super) fn put(&mut self, wire: &str, mandrel: i64, winder: &str, by: &Cell, sign: Sign) {
        self.all.put(by, sign);
        if by.ratio.is_empty() {
            return;
        }
        let mandrels = self.ratios.entry(wire.to_owned()).or_default();
        let winders = mandrels.entry(mandrel).or_default();
        sign.sums(winders.entry(winder.to_owned()).or_default(), &by.ratio);
        winders.retain(|_, own| !own.is_empty());
        mandrels.retain(|_, winders| !winders.is_empty());
        self.ratios.retain(|_, mandrels| !mandrels.is_empty());
    }

    /// What they say of measured over planned resistance.
    pub fn resistance(&self) -> Ratios<'_> {
        Ratios::new(first::RATIO, &self.ratios)
    }
}
