//! Measured over planned resistance, by wire, by mandrel on that wire, and by winder on both: each learns from the others.

use super::{Learned, Prior, Sums, scatter};
use std::collections::BTreeMap;

/// Coils of one winder on one mandrel.
pub type Leaf = Sums;
/// By winder.
pub type Branch = BTreeMap<String, Leaf>;
/// By mandrel, in whole micrometres; 0 where it was not noted.
pub type Tree = BTreeMap<i64, Branch>;

/// Share of the prior's variance that lies between wires (the table's Ω/m), between the mandrels of a wire, and between
/// hands. First guess: the limits of bare diameters alone make 1.4 % of Ω/m.
const SHARES: [f64; 3] = [0.6, 0.2, 0.2];

/// What all coils of a shop say of measured over planned resistance.
///
/// ```text
/// wire     ~ N(1, 0.6·τ²)        mandrel ~ N(wire, 0.2·τ²)        winder ~ N(mandrel, 0.2·τ²)
/// a coil   ~ N(winder, s²)
/// ```
///
/// So a winder of whom nothing else is known has the prior 1 ± τ, and one whose shop has wound this wire before starts
/// from what the shop knows of it. The tree is solved exactly, up and down; s is one for the whole shop. The wire of a new
/// spool may differ from that of the spools before by its own 1.3 % or so: coils of several spools show it as scatter,
/// coils of one spool hide it.
#[derive(Debug, Clone)]
pub struct Ratios<'a> {
    prior: Prior,
    scatter: f64,
    freedom: f64,
    wires: &'a BTreeMap<String, Tree>,
}

/// A message: precision and the value it pulls towards.
#[derive(Debug, Clone, Copy)]
struct Pull {
    precision: f64,
    towards: f64,
}

impl Pull {
    const NONE: Pull = Pull { precision: 0.0, towards: 0.0 };

    fn with(self, other: Pull) -> Pull {
        let precision = self.precision + other.precision;
        if precision == 0.0 {
            return Pull::NONE;
        }
        let towards = (self.precision * self.towards + other.precision * other.towards) / precision;
        Pull { precision, towards }
    }

    /// Through one more step of the tree, of this variance.
    fn across(self, variance: f64) -> Pull {
        if self.precision == 0.0 {
            return Pull::NONE;
        }
        Pull { precision: 1.0 / (1.0 / self.precision + variance), towards: self.towards }
    }

    fn variance(self) -> f64 {
        1.0 / self.precision
    }
}

impl<'a> Ratios<'a> {
    /// All coils of the shop by wire.
    pub fn new(prior: Prior, wires: &'a BTreeMap<String, Tree>) -> Ratios<'a> {
        let leaves = wires.values().flat_map(BTreeMap::values).flat_map(BTreeMap::values);
        let (scatter, freedom) = scatter(&prior, leaves);
        Ratios { prior, scatter, freedom, wires }
    }

    fn variance(&self, level: usize) -> f64 {
        self.prior.spread * self.prior.spread * SHARES[level]
    }

    fn of_leaf(&self, leaf: &Leaf) -> Pull {
        let own = Pull { precision: leaf.count() / (self.scatter * self.scatter), towards: leaf.mean() };
        if leaf.is_empty() { Pull::NONE } else { own }
    }

    /// What the winders on a mandrel say of it, but for one of them.
    fn of_branch(&self, branch: &Branch, but: Option<&str>) -> Pull {
        branch
            .iter()
            .filter(|(winder, _)| Some(winder.as_str()) != but)
            .fold(Pull::NONE, |sum, (_, leaf)| sum.with(self.of_leaf(leaf).across(self.variance(2))))
    }

    /// What prior and all mandrels but one say of a wire.
    fn of_wire(&self, wire: &str, but: Option<i64>) -> Pull {
        let prior = Pull { precision: 1.0 / self.variance(0), towards: self.prior.mean };
        let branches = self.wires.get(wire).into_iter().flatten().filter(|(mandrel, _)| Some(**mandrel) != but);
        branches.fold(prior, |sum, (_, branch)| sum.with(self.of_branch(branch, None).across(self.variance(1))))
    }

    /// A winder's own figure on this wire and mandrel, whether or not there are coils of his.
    pub fn of_winder(&self, wire: &str, mandrel: i64, winder: &str) -> Learned {
        let above = self.of_wire(wire, Some(mandrel)).across(self.variance(1));
        let branch = self.wires.get(wire).and_then(|tree| tree.get(&mandrel));
        let others = branch.map_or(Pull::NONE, |b| self.of_branch(b, Some(winder)));
        let before = above.with(others).across(self.variance(2));
        let own = branch.and_then(|b| b.get(winder)).map_or(Pull::NONE, |leaf| self.of_leaf(leaf));
        let after = before.with(own);
        Learned {
            mean: after.towards,
            u: libm::sqrt(after.variance()),
            weight: own.precision / after.precision,
            scatter: self.scatter,
            freedom: self.freedom,
        }
    }

    /// The next coil of this wire on this mandrel by whoever winds there: the winders mixed as their coils are.
    pub fn of_coil(&self, wire: &str, mandrel: i64) -> Learned {
        let branch = self.wires.get(wire).and_then(|tree| tree.get(&mandrel));
        let coils: f64 = branch.into_iter().flatten().map(|(_, leaf)| leaf.count()).sum();
        let Some(branch) = branch.filter(|_| coils > 0.0) else {
            return self.of_winder(wire, mandrel, "");
        };
        let each: Vec<(f64, Learned)> =
            branch.iter().map(|(winder, leaf)| (leaf.count() / coils, self.of_winder(wire, mandrel, winder))).collect();
        let mean: f64 = each.iter().map(|(share, l)| share * l.mean).sum();
        let variance: f64 = each.iter().map(|(share, l)| share * (l.u * l.u + (l.mean - mean) * (l.mean - mean))).sum();
        let weight = each.iter().map(|(share, l)| share * l.weight).sum();
        Learned { mean, u: libm::sqrt(variance), weight, scatter: self.scatter, freedom: self.freedom }
    }

    /// Coils of this wire.
    pub fn coils(&self, wire: &str) -> u64 {
        self.wires.get(wire).into_iter().flatten().flat_map(|(_, branch)| branch.values()).map(|leaf| leaf.n).sum()
    }

    /// How far one coil lies from the figure of its winder.
    pub fn scatter(&self) -> f64 {
        self.scatter
    }
}
