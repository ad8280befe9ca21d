//! Inductance in air of a coil as it is wound: one block of wire, or two that are coupled.

use super::figures::{Figures, FiguresAt as At, Fixed, Shape, part};
use super::lay::Connect;
use crate::inductance::{thick_coil, thin_coil};
use crate::measured::{Measured, Propagated};
use crate::quantity::Inductance;

/// Nodes of the integrals.
const POINTS: usize = 12;

/// Inductance in air of the winding, as its windings are joined.
///
/// Of one block it is the exact integral over N turns, from the base diameter over the nested build, as long as the
/// longest layer's turns. Of two blocks it is made of both and their mutual inductance ([`Pair`]). The doubt follows the
/// thin coil's slope in the mean diameter and the length.
pub(super) fn inductance(x: Shape, fixed: Fixed, f: &Figures, p: &Propagated) -> Measured<Inductance> {
    let all = block(fixed, f);
    let value = match Pair::of(x, fixed, f) {
        None => thick_coil(all.turns, all.inner, all.outer, all.length, POINTS),
        Some(pair) => pair.joined(x, fixed, f),
    };
    let thin = |outside: f64, length: f64| thin_coil(all.turns, all.inner / 2.0 + outside / 4.0, length);
    let at = thin(f.outside_nested, all.length);
    let by_diameter = thin(f.outside_nested + 2.0 * p.u(At::outside_nested as usize), all.length) - at;
    let by_pitch = thin(f.outside_nested, all.pitches * (f.pitch + p.u(At::pitch as usize))) - at;
    let u = value / at * libm::sqrt(by_diameter * by_diameter + by_pitch * by_pitch);
    Measured::new(Inductance::from_h(value), Inductance::from_h(u))
}

/// A rectangle of turns around the axis, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Block {
    turns: f64,
    inner: f64,
    outer: f64,
    /// As long as so many pitches.
    pitches: f64,
    length: f64,
}

impl Block {
    /// L/N²: the inductance of its section for one turn.
    fn of_one_turn(inner: f64, outer: f64, length: f64) -> f64 {
        thick_coil(1.0, inner, outer, length, POINTS)
    }
}

/// The whole coil as one block.
fn block(fixed: Fixed, f: &Figures) -> Block {
    let most = f64::from(fixed.turns.iter().copied().max().unwrap_or(0));
    let laid = fixed.laid;
    let inner = if laid.inside > 0 { f.inner_base } else { f.base };
    let pitches = f64::from(laid.beside) * f64::from(laid.hands) * most;
    let (inner, outer) = (inner / 2.0, f.outside_nested / 2.0);
    Block { turns: laid.turns_around(fixed.turns), inner, outer, pitches, length: pitches * f.pitch }
}

/// Two blocks of turns on one axis: their inductances and the one between them, henries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pair {
    first: f64,
    second: f64,
    mutual: f64,
}

impl Pair {
    /// The two blocks of a coil that is not one: two windings over or beside each other, or layers on both sides of the
    /// former.
    ///
    /// ```text
    /// 2·M_AB = E(A∪G∪B) − E(A∪G) − E(G∪B) + E(G)
    /// ```
    ///
    /// E is the inductance of a section with an even current of one per unit of area, A and B are the blocks and G is
    /// what lies between them: the coils must share their ends or their faces, so that each union is a rectangle again.
    /// Exact for even currents; the layers' unequal lengths within a block are left out.
    pub(super) fn of(x: Shape, fixed: Fixed, f: &Figures) -> Option<Pair> {
        let laid = fixed.laid;
        let turns = |from: usize, n: usize| f64::from(fixed.turns.iter().skip(from).take(n).sum::<u32>());
        let all = block(fixed, f);
        if laid.beside == 2 {
            let half = all.length / 2.0;
            // Their middles lie one width and the space apart, and each counts as long as its turns.
            let apart = ((f.wound_width + x.space) / 2.0 - half).max(0.0);
            let e = |length: f64| {
                if length > 0.0 { length * length * Block::of_one_turn(all.inner, all.outer, length) } else { 0.0 }
            };
            let n = turns(0, laid.layers);
            let own = n * n * Block::of_one_turn(all.inner, all.outer, half);
            let twice = e(2.0 * half + apart) - 2.0 * e(half + apart) + e(apart);
            return Some(Pair { first: own, second: own, mutual: n * n * twice / (2.0 * half * half) });
        }
        let cut = if laid.inside > 0 {
            laid.inside
        } else if laid.parts.len() > 1 && laid.parts.iter().all(|p| p.layers < laid.layers) {
            laid.parts.first()?.layers
        } else {
            return None;
        };
        let step = x.nesting * x.overall + x.paper;
        let first_outer = all.inner + (x.overall + (cut as f64 - 1.0) * step);
        let second_inner = if laid.inside > 0 {
            f.base / 2.0
        } else {
            all.outer - (x.overall + (laid.layers as f64 - cut as f64 - 1.0) * step)
        };
        // Nested windings reach a little into each other: both end in the middle of what they share.
        let (edge, start) = if second_inner < first_outer {
            let middle = (second_inner + first_outer) / 2.0;
            (middle, middle)
        } else {
            (first_outer, second_inner)
        };
        let e = |inner: f64, outer: f64| {
            let depth = outer - inner;
            if depth > 0.0 { depth * depth * Block::of_one_turn(inner, outer, all.length) } else { 0.0 }
        };
        let (n1, n2) = (turns(0, cut), turns(cut, laid.layers - cut));
        let (d1, d2) = (edge - all.inner, all.outer - start);
        let twice = e(all.inner, all.outer) - e(all.inner, start) - e(edge, all.outer) + e(edge, start);
        Some(Pair {
            first: n1 * n1 * Block::of_one_turn(all.inner, edge, all.length),
            second: n2 * n2 * Block::of_one_turn(start, all.outer, all.length),
            mutual: n1 * n2 * twice / (2.0 * d1 * d2),
        })
    }

    /// Inductance of both as they are joined; the two halves of one winding are in series.
    ///
    /// ```text
    /// series  L₁ + L₂ + 2M        parallel  i₁²L₁ + i₂²L₂ + 2·i₁·i₂·M,  i₁ = R₂/(R₁ + R₂)
    /// ```
    ///
    /// In parallel the currents share themselves out by resistance, as they do below a few kilohertz.
    fn joined(&self, x: Shape, fixed: Fixed, f: &Figures) -> f64 {
        let series = self.first + self.second + 2.0 * self.mutual;
        if fixed.laid.parts.len() < 2 {
            return series;
        }
        match fixed.laid.connect {
            Connect::Series => series,
            Connect::Apart => self.first,
            Connect::Parallel => {
                let [r1, r2] = [0, 1].map(|i| part(x, fixed, f.pitch, i).dcr);
                let (i1, i2) = (r2 / (r1 + r2), r1 / (r1 + r2));
                i1 * i1 * self.first + i2 * i2 * self.second + 2.0 * i1 * i2 * self.mutual
            }
        }
    }

    /// How strongly the two are coupled, 0 to 1.
    pub(super) fn coupling(&self) -> f64 {
        self.mutual / libm::sqrt(self.first * self.second)
    }
}
