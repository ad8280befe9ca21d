//! Metres that really left a spool against metres planned: what of it is elongation, what is the hand's threading.

use super::millionths;
use serde::{Deserialize, Serialize};

/// What is believed of both before any coil was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawsPrior {
    /// Doubt of the elongation that the plan reckons with, as a fraction.
    pub elongation_u: f64,
    /// Doubt of tails and threading together, in metres.
    pub threading_u_m: f64,
    /// How far one coil lies from its shop's habit besides the counter's error, in metres.
    pub scatter_m: f64,
}

/// Sums over coils of which the wire was measured, each product rounded to a millionth: exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct DrawSums {
    /// How many.
    pub n: u64,
    weight: i64,
    by_length: i64,
    by_length_squared: i64,
    more: i64,
    more_by_length: i64,
}

/// Beyond this a sum's part is no draw of a workshop: 1e12 leaves room for many in a whole number of 64 bits.
const FARTHEST: f64 = 1e12 / 1e6;

impl DrawSums {
    /// One coil: wound length, metres more than planned, standard uncertainty of that.
    pub fn add(&mut self, prior: &DrawsPrior, length_m: f64, more_m: f64, u_m: f64) {
        let weight = 1.0 / (u_m * u_m + prior.scatter_m * prior.scatter_m);
        let part = |x: f64| millionths(x, FARTHEST);
        self.merge(&DrawSums {
            n: 1,
            weight: part(weight),
            by_length: part(weight * length_m),
            by_length_squared: part(weight * length_m * length_m),
            more: part(weight * more_m),
            more_by_length: part(weight * more_m * length_m),
        });
    }

    /// Those of other coils too.
    pub fn merge(&mut self, other: &DrawSums) {
        self.n = self.n.wrapping_add(other.n);
        self.each(other, i64::wrapping_add);
    }

    /// As if these coils had never been added.
    pub fn take_back(&mut self, other: &DrawSums) {
        self.n = self.n.wrapping_sub(other.n);
        self.each(other, i64::wrapping_sub);
    }

    fn each(&mut self, other: &DrawSums, op: impl Fn(i64, i64) -> i64) {
        self.weight = op(self.weight, other.weight);
        self.by_length = op(self.by_length, other.by_length);
        self.by_length_squared = op(self.by_length_squared, other.by_length_squared);
        self.more = op(self.more, other.more);
        self.more_by_length = op(self.more_by_length, other.more_by_length);
    }
}

/// Elongation and threading over what the plan reckons with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LearnedDraws {
    /// To be added to the elongation, as a fraction.
    pub elongation: f64,
    /// Its standard uncertainty.
    pub elongation_u: f64,
    /// To be added to the threading, in metres.
    pub threading_m: f64,
    /// Its standard uncertainty.
    pub threading_u_m: f64,
    /// Share of the shop's own coils in the elongation and in the threading, 0 to 1.
    pub weights: [f64; 2],
}

/// Splits metres more than planned into elongation and threading.
///
/// ```text
/// more = −L·δε + δc + error,   δε ~ N(0, u_ε²),  δc ~ N(0, u_c²)
/// ```
///
/// Least squares with prior. Coils of one size can hardly tell the two apart: both then stay doubtful and strongly
/// correlated, and what they add up to is what is known. To first order in ε.
pub fn learn_draws(prior: &DrawsPrior, own: &DrawSums) -> LearnedDraws {
    let of = |x: i64| x as f64 * 1e-6;
    let (ve, vc) = (prior.elongation_u * prior.elongation_u, prior.threading_u_m * prior.threading_u_m);
    let (a, b, c) = (of(own.by_length_squared) + 1.0 / ve, -of(own.by_length), of(own.weight) + 1.0 / vc);
    let (p, q) = (-of(own.more_by_length), of(own.more));
    let determinant = a * c - b * b;
    let (elongation_variance, threading_variance) = (c / determinant, a / determinant);
    LearnedDraws {
        elongation: (c * p - b * q) / determinant,
        elongation_u: libm::sqrt(elongation_variance),
        threading_m: (a * q - b * p) / determinant,
        threading_u_m: libm::sqrt(threading_variance),
        weights: [(1.0 - elongation_variance / ve).max(0.0), (1.0 - threading_variance / vc).max(0.0)],
    }
}
