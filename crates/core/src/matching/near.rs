//! The nearest misses: by how much each fails, and which few fail least.

/// A scale on which misses of different kinds can be weighed: a miss of this much counts 1. Common practice, no source.
pub const FIT_SCALE: f64 = 0.05e-3;
/// The same for a width outside the range, m.
pub const WIDTH_SCALE: f64 = 0.5e-3;
/// The same for a mass above its limit, as a fraction of the limit.
pub const MASS_SCALE: f64 = 0.05;

/// A combination that fails, at the count of turns at which it fails least. SI units; what it does not miss is 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// Place of the wire in the list.
    pub wire: usize,
    /// Place of the former in the list.
    pub former: usize,
    /// Layers.
    pub layers: u32,
    /// Turns of the first layer.
    pub first: u32,
    /// Width it was looked at.
    pub width: f64,
    /// Resistance there.
    pub dcr: f64,
    /// Clearance at the cross-over, one side; infinite without a bore.
    pub clearance_outer: f64,
    /// How much the clearance falls short.
    pub too_fat: f64,
    /// How far the resistance is off, as a signed fraction; 0 within the tolerance.
    pub dcr_off: f64,
    /// The width that would give the resistance; 0 where a width within the range comes nearest.
    pub width_wanted: f64,
    /// Mass above the limit.
    pub too_heavy: f64,
    /// Level change beyond the limit, dB.
    pub level_off: f64,
    /// Change of Qts beyond the limit, as a fraction.
    pub qts_off: f64,
    /// Change of resonance beyond the limit, as a fraction.
    pub fs_off: f64,
    /// All of it on one scale.
    pub score: f64,
}

/// The few that miss least, in order. Room is made once.
#[derive(Debug, Clone)]
pub struct Nearest {
    kept: Vec<Miss>,
    most: usize,
}

impl Nearest {
    /// Room for `most`.
    pub fn new(most: usize) -> Nearest {
        Nearest { kept: Vec::with_capacity(most + 1), most }
    }

    /// Whether a miss of at least this score may still be among the few.
    pub fn may_take(&self, score: f64) -> bool {
        self.most > 0 && (self.kept.len() < self.most || self.kept.last().is_some_and(|worst| score < worst.score))
    }

    /// Takes a miss if it is among the few; of equals the first stays.
    pub fn take(&mut self, miss: Miss) {
        if !self.may_take(miss.score) {
            return;
        }
        let place = self.kept.partition_point(|m| m.score <= miss.score);
        self.kept.insert(place, miss);
        self.kept.truncate(self.most);
    }

    /// The misses, the nearest first.
    pub fn all(&self) -> &[Miss] {
        &self.kept
    }
}
