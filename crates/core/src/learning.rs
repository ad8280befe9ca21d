//! What a shop's own coils teach: from a first value with its doubt to the shop's own figure, with an interval for the next.
//!
//! Nothing here knows what happened when: all that is kept of many coils are sums of whole numbers, which can be added
//! and taken back in any order and come out the same to the last digit.

mod cause;
mod draws;
pub mod first;
mod share;
mod tree;

pub use cause::{Seen, likely_cause};
pub use draws::{DrawSums, DrawsPrior, LearnedDraws, learn_draws};
pub use share::{LearnedShare, learn_share};
pub use tree::{Branch, Leaf, Ratios, Tree};

use crate::beta::student;
use serde::{Deserialize, Serialize};

/// Share of all next values that an interval of this room holds.
pub const INSIDE: f64 = 0.95;
/// The same as a standard uncertainty: what a normal variable with this interval would have.
const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Sums over observations, each rounded to a millionth: exact, so that taking one back leaves no trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Sums {
    /// How many.
    pub n: u64,
    sum: i64,
    squares: i64,
}

/// How far from zero an observation may lie: its square in millionths must leave room for many.
const FARTHEST: f64 = 30.0;

/// A number in millionths; what is no number or out of reach is moved to the end of the reach.
pub(crate) fn millionths(x: f64, farthest: f64) -> i64 {
    if x.is_nan() {
        return 0;
    }
    #[allow(clippy::cast_possible_truncation, reason = "bounded on the line above")]
    let whole = libm::round(x.clamp(-farthest, farthest) * 1e6) as i64;
    whole
}

impl Sums {
    /// One more observation.
    pub fn add(&mut self, x: f64) {
        let x = millionths(x, FARTHEST);
        self.merge(&Sums { n: 1, sum: x, squares: x * x });
    }

    /// Those of other observations too.
    pub fn merge(&mut self, other: &Sums) {
        self.n = self.n.wrapping_add(other.n);
        self.sum = self.sum.wrapping_add(other.sum);
        self.squares = self.squares.wrapping_add(other.squares);
    }

    /// As if these observations had never been added.
    pub fn take_back(&mut self, other: &Sums) {
        self.n = self.n.wrapping_sub(other.n);
        self.sum = self.sum.wrapping_sub(other.sum);
        self.squares = self.squares.wrapping_sub(other.squares);
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// How many, as a number to reckon with.
    pub fn count(&self) -> f64 {
        self.n as f64
    }

    /// Their mean; 0 of none.
    pub fn mean(&self) -> f64 {
        if self.n == 0 { 0.0 } else { self.sum as f64 / self.count() * 1e-6 }
    }

    /// Sum of squared distances from their mean: Σx² − (Σx)²/n, in whole numbers until the last step.
    pub fn scatter_squares(&self) -> f64 {
        if self.n < 2 {
            return 0.0;
        }
        let n = i128::from(self.n);
        let sum = i128::from(self.sum);
        ((n * i128::from(self.squares) - sum * sum) as f64 / self.count() * 1e-12).max(0.0)
    }

    /// Standard deviation; `None` of fewer than two.
    pub fn deviation(&self) -> Option<f64> {
        (self.n > 1).then(|| libm::sqrt(self.scatter_squares() / (self.count() - 1.0)))
    }
}

/// What is believed of a figure before any coil was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Its middle.
    pub mean: f64,
    /// How far the figure of a shop lies from that, as standard uncertainty.
    pub spread: f64,
    /// How far one coil lies from the figure of its shop, as standard deviation.
    pub scatter: f64,
    /// How many degrees of freedom that scatter counts for.
    pub scatter_weight: f64,
}

/// What is believed after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// The shop's figure.
    pub mean: f64,
    /// Standard uncertainty of that.
    pub u: f64,
    /// Share of the shop's own coils in it, 0 to 1.
    pub weight: f64,
    /// How far one coil lies from it, as standard deviation.
    pub scatter: f64,
    /// Degrees of freedom of the scatter.
    pub freedom: f64,
}

impl Learned {
    /// Half of the interval that holds the next coil in 95 of 100 cases.
    ///
    /// ```text
    /// t(0.95, ν)·√(s² + u²)
    /// ```
    pub fn next_half(&self) -> f64 {
        student(INSIDE, self.freedom) * libm::hypot(self.scatter, self.u)
    }

    /// Standard uncertainty of the next coil: that of a normal variable with the same interval.
    pub fn next_u(&self) -> f64 {
        self.next_half() / NORMAL_95
    }
}

/// The scatter of coils, from a first guess and their own.
///
/// ```text
/// s² = (ν₀·s₀² + Σ(x − mean)²)/(ν₀ + Σ(n − 1))
/// ```
pub(crate) fn scatter<'a>(prior: &Prior, groups: impl Iterator<Item = &'a Sums>) -> (f64, f64) {
    let (mut squares, mut freedom) = (prior.scatter_weight * prior.scatter * prior.scatter, prior.scatter_weight);
    for group in groups.filter(|g| g.n > 1) {
        squares += group.scatter_squares();
        freedom += group.count() - 1.0;
    }
    (libm::sqrt(squares / freedom), freedom)
}

/// Moves a figure from its first value towards the shop's own coils, the more the more there are.
///
/// ```text
/// w = τ²/(τ² + s²/n),   figure = μ₀ + w·(mean − μ₀),   u = τ·√(1 − w)
/// ```
///
/// τ is the spread of the prior, s the scatter. Worked: 1.000 ± 0.015 and a scatter of 0.0085: the first coil has
/// w = 0.76, eight have 0.96.
///
/// # Sources
/// Normal mean with normal prior: JCGM 102:2011, 6 (weighted least squares); Student's t for a scatter that is itself
/// estimated: JCGM 100:2008, G.3.
pub fn learn(prior: &Prior, own: &Sums) -> Learned {
    let (scatter, freedom) = scatter(prior, core::iter::once(own));
    let variance = prior.spread * prior.spread;
    let n = own.count();
    let weight = if n > 0.0 { variance / (variance + scatter * scatter / n) } else { 0.0 };
    Learned {
        mean: prior.mean + weight * (own.mean() - prior.mean),
        u: libm::sqrt(variance * (1.0 - weight)),
        weight,
        scatter,
        freedom,
    }
}

/// Half of the interval for the next coil by the data alone, no prior at all; `None` of fewer than two.
///
/// ```text
/// t(0.95, n − 1)·s·√(1 + 1/n)
/// ```
///
/// # Sources
/// Prediction interval of a normal sample: ISO 16269-8:2004, from memory.
pub fn next_half_alone(own: &Sums) -> Option<f64> {
    let n = own.count();
    own.deviation().map(|s| student(INSIDE, n - 1.0) * s * libm::sqrt(1.0 + 1.0 / n))
}

#[cfg(test)]
mod tests;
