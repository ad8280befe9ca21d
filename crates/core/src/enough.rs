//! Whether a length is there: the probability that a spool yields it, the longest length that is safe, and the word.
//!
//! What is left on a spool is a normal variable (mean, standard uncertainty). What a winding really takes differs from
//! what was computed by a factor common to every draw from that spool (density, tension, the counter's scale), so its
//! doubt grows with the total drawn and does not average out over many coils:
//!
//! ```text
//! left  L = μ + σ·N₁ (+ a·U, U uniform on −1…1: the scale's last digit)
//! drawn D = W·(1 + k·N₂)
//! P(L ≥ D) = Φ((μ − W)/s),   s² = σ² + k²·W²        (a = 0)
//! ```
//!
//! Gate and plan both take their probability from here.

use crate::measured::Measured;
use crate::quantity::Length;
use core::f64::consts::{PI, SQRT_2};
use serde::{Deserialize, Serialize};

/// What is left on one spool, as far as a draw from it is concerned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remaining {
    /// Length left and its standard uncertainty.
    pub left: Measured<Length>,
    /// Relative standard uncertainty of a draw, common to all draws from this spool (k, as 0.006).
    pub draw_doubt: f64,
    /// Half the scale's last digit as a length of wire: an error equally likely anywhere within ± this, not in `left.u`.
    pub half_digit: Length,
}

/// The word for how much is left, never shown without its probability.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Word {
    /// More likely too short than not: the best estimate itself does not reach.
    Short,
    /// The best estimate reaches, the shop's confidence does not: a better weighing decides.
    Doubtful,
    /// There with at least the shop's confidence.
    Enough,
}

impl Word {
    /// The word for a probability, at the shop's `confidence`: enough from `confidence` up, short below one half.
    pub fn of(probability: f64, confidence: f64) -> Word {
        if probability >= confidence {
            Word::Enough
        } else if probability < 0.5 {
            Word::Short
        } else {
            Word::Doubtful
        }
    }

    /// The word as written on the wire.
    pub fn as_str(self) -> &'static str {
        match self {
            Word::Enough => "enough",
            Word::Doubtful => "doubtful",
            Word::Short => "short",
        }
    }
}

impl Remaining {
    /// What is left, with the doubt of a draw and no separate error of the scale's last digit.
    pub fn new(left: Measured<Length>, draw_doubt: f64) -> Remaining {
        Remaining { left, draw_doubt, half_digit: Length::ZERO }
    }

    /// The same with an error of the scale's last digit, equally likely within ± `half_digit`.
    pub fn with_half_digit(self, half_digit: Length) -> Remaining {
        Remaining { half_digit: half_digit.abs(), ..self }
    }

    /// Probability that `need` in total can be drawn from the spool.
    ///
    /// With a last-digit error `a` the sum of a normal and a uniform variable is taken exactly:
    /// `P(D ≤ t) = s/2a · [G((t+a)/s) − G((t−a)/s)]`, `G(x) = x·Φ(x) + φ(x)`.
    ///
    /// Left is not known better by being positive: a length of 0 has probability 1.
    ///
    /// Worked: 100 m ± 4 m, 95 m needed: Φ(1.25) = 0.894.
    pub fn probability(&self, need: Length) -> f64 {
        let need = need.m();
        if need <= 0.0 {
            return 1.0;
        }
        let spread = libm::hypot(self.left.u.m(), self.draw_doubt * need);
        normal_plus_uniform(self.left.value.m() - need, spread, self.half_digit.m())
    }

    /// The longest total that is there with `confidence` (0.5 or more; a lower one is taken as 0.5); 0 if none is.
    ///
    /// ```text
    /// W + z·√(σ² + k²·W²) ≤ μ   ⇔   W ≤ (μ² − z²σ²) / (μ + z·√(σ²·(1 − z²k²) + k²μ²)),   z = Φ⁻¹(confidence)
    /// ```
    ///
    /// The form of the root with the sum below the line holds for every k. A last-digit error is met by bisection
    /// below that root, since it can only shorten.
    ///
    /// Worked: σ = 0 gives μ/(1 + z·k); k = 0 gives μ − z·σ.
    pub fn safe_length(&self, confidence: f64) -> Length {
        let (mean, sigma, k) = (self.left.value.m(), self.left.u.m(), self.draw_doubt);
        let z = normal_quantile(confidence).max(0.0);
        if mean <= z * sigma {
            return Length::ZERO;
        }
        let zk = z * k;
        let root = z * libm::sqrt((sigma * sigma * (1.0 - zk * zk) + k * k * mean * mean).max(0.0));
        let safe = (mean * mean - z * z * sigma * sigma) / (mean + root);
        if self.half_digit.m() > 0.0 { self.bisect(confidence.max(0.5), safe) } else { Length::from_m(safe) }
    }

    /// The standard uncertainty of the length left that would make `need` safe at `confidence`, all else as it is.
    ///
    /// `√(((μ − W)/z)² − k²W²)`; none if no weighing, however fine, would do. Ignores the last-digit error, which a
    /// finer scale takes with it.
    pub fn uncertainty_needed(&self, need: Length, confidence: f64) -> Option<Length> {
        let z = normal_quantile(confidence);
        let spare = self.left.value.m() - need.m();
        if spare < 0.0 {
            return None;
        }
        if z <= 0.0 {
            return Some(self.left.u);
        }
        let draw = self.draw_doubt * need.m();
        let squared = (spare / z) * (spare / z) - draw * draw;
        (squared >= 0.0).then(|| Length::from_m(libm::sqrt(squared)))
    }

    /// The word for `need` at the shop's confidence, with the probability that it stands for.
    pub fn judge(&self, need: Length, confidence: f64) -> (Word, f64) {
        let probability = self.probability(need);
        (Word::of(probability, confidence), probability)
    }

    fn bisect(&self, confidence: f64, above: f64) -> Length {
        let (mut low, mut high) = (0.0, above);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.probability(Length::from_m(middle)) >= confidence {
                low = middle;
            } else {
                high = middle;
            }
        }
        Length::from_m(low)
    }
}

/// Density of the standard normal distribution, φ(x).
pub fn normal_density(x: f64) -> f64 {
    libm::exp(-0.5 * x * x) / libm::sqrt(2.0 * PI)
}

/// Distribution function of the standard normal distribution, Φ(x) = ½·erfc(−x/√2); exact in the far tail too.
pub fn normal_probability(x: f64) -> f64 {
    0.5 * libm::erfc(-x / SQRT_2)
}

/// The x with Φ(x) = p; −∞ at p ≤ 0 and +∞ at p ≥ 1.
///
/// Solved on the nearer tail: start from the leading terms of its expansion, then Halley's iteration on Φ, whose
/// relative residual is divided by φ. Within a few units of the last place for p from 1e-300 to 1 − 1e-16.
///
/// # Sources
///
/// Leading terms of the tail: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions (1964), 26.2.12.
pub fn normal_quantile(p: f64) -> f64 {
    if p <= 0.0 {
        return f64::NEG_INFINITY;
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    if p > 0.5 {
        return -normal_quantile_low(1.0 - p);
    }
    normal_quantile_low(p)
}

fn normal_quantile_low(p: f64) -> f64 {
    let mut x = if p > 0.1 {
        (p - 0.5) * libm::sqrt(2.0 * PI)
    } else {
        let t = -2.0 * libm::log(p);
        -libm::sqrt((t - libm::log(t * 2.0 * PI)).max(1.0))
    };
    for _ in 0..30 {
        let newton = (normal_probability(x) - p) / normal_density(x);
        let step = newton / (1.0 + 0.5 * x * newton).max(0.5);
        x -= step;
        if step.abs() <= 1e-15 * x.abs().max(1e-3) {
            break;
        }
    }
    x
}

/// P(s·N + a·U ≤ t), U uniform on −1…1.
fn normal_plus_uniform(t: f64, s: f64, a: f64) -> f64 {
    if a <= 0.0 {
        return if s > 0.0 { normal_probability(t / s) } else { f64::from(u8::from(t >= 0.0)) };
    }
    if s <= 1e-9 * a {
        return (0.5 * (t + a) / a).clamp(0.0, 1.0);
    }
    // Beyond ten spreads the difference of the two G would lose its digits; there the uniform part no longer matters.
    if t.abs() > a + 10.0 * s {
        return f64::from(u8::from(t >= 0.0));
    }
    let g = |x: f64| x * normal_probability(x) + normal_density(x);
    (0.5 * s / a * (g((t + a) / s) - g((t - a) / s))).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
    }

    fn spool(mean: f64, sd: f64, k: f64) -> Remaining {
        Remaining::new(Measured::new(Length::from_m(mean), Length::from_m(sd)), k)
    }

    /// Values from memory of the standard normal table, five decimals.
    #[test]
    fn quantiles_agree_with_the_table() {
        near(normal_quantile(0.975), 1.95996, 5e-6);
        near(normal_quantile(0.98), 2.05375, 5e-6);
        near(normal_quantile(0.99), 2.32635, 5e-6);
        near(normal_quantile(0.5), 0.0, 1e-15);
        near(normal_quantile(1e-9), -5.99781, 5e-6);
    }

    #[test]
    fn the_quantile_undoes_the_probability() {
        for i in 1..400 {
            let p = libm::exp(-f64::from(i));
            near(normal_probability(normal_quantile(p)) / p, 1.0, 3e-13);
            let q = f64::from(i) / 400.0;
            near(normal_probability(normal_quantile(q)), q, 1e-15);
        }
    }

    #[test]
    fn ninety_five_of_a_hundred_metres_within_four_is_doubtful() {
        let s = spool(100.0, 4.0, 0.0);
        let (word, p) = s.judge(Length::from_m(95.0), 0.98);
        assert_eq!(word, Word::Doubtful);
        near(1.0 - p, 0.10565, 5e-6); // Φ(−1.25), printed in every normal table
        near(s.safe_length(0.98).m(), 91.785, 5e-4);
        assert_eq!(s.judge(Length::from_m(101.0), 0.98).0, Word::Short);
        assert_eq!(s.judge(Length::from_m(91.0), 0.98).0, Word::Enough);
    }

    #[test]
    fn the_safe_length_has_exactly_the_confidence_asked_for() {
        for (mean, sd, k) in [(100.0, 4.0, 0.006), (30.0, 0.0, 0.02), (55.0, 3.0, 0.0), (80.0, 2.0, 0.6)] {
            for confidence in [0.9, 0.98, 0.9996] {
                let s = spool(mean, sd, k);
                near(s.probability(s.safe_length(confidence)), confidence, 1e-12);
            }
        }
        assert_eq!(spool(5.0, 4.0, 0.0).safe_length(0.98), Length::ZERO);
    }

    #[test]
    fn the_last_digit_shortens_what_is_safe() {
        let smooth = spool(40.0, 0.5, 0.006);
        let coarse = smooth.with_half_digit(Length::from_m(2.0));
        assert!(coarse.safe_length(0.98) < smooth.safe_length(0.98));
        near(coarse.probability(coarse.safe_length(0.98)), 0.98, 1e-12);
        // A uniform error alone: half of ± 2 m lies above 40 m, a quarter above 41 m.
        let digit = spool(40.0, 0.0, 0.0).with_half_digit(Length::from_m(2.0));
        near(digit.probability(Length::from_m(40.0)), 0.5, 1e-12);
        near(digit.probability(Length::from_m(41.0)), 0.25, 1e-12);
    }

    #[test]
    fn a_uniform_error_beside_a_normal_one_agrees_with_adding_it_up() {
        let s = spool(40.0, 0.7, 0.0).with_half_digit(Length::from_m(1.3));
        let steps = 20_000;
        let mean = (0..steps)
            .map(|i| {
                let shift = -1.3 + 2.6 * (f64::from(i) + 0.5) / f64::from(steps);
                spool(40.0 + shift, 0.7, 0.0).probability(Length::from_m(38.6))
            })
            .sum::<f64>()
            / f64::from(steps);
        near(s.probability(Length::from_m(38.6)), mean, 1e-9);
    }

    #[test]
    fn the_uncertainty_needed_makes_the_length_just_safe() {
        let s = spool(100.0, 4.0, 0.006);
        let u = s.uncertainty_needed(Length::from_m(95.0), 0.98).unwrap();
        near(spool(100.0, u.m(), 0.006).safe_length(0.98).m(), 95.0, 1e-9);
        assert_eq!(s.uncertainty_needed(Length::from_m(100.5), 0.98), None);
    }

    #[test]
    fn many_coils_from_one_spool_do_not_average_the_doubt_away() {
        // 40 coils of 2 m are as doubtful as one of 80 m: the error of a draw is common to the spool.
        let s = spool(81.0, 0.0, 0.006);
        near(s.probability(Length::from_m(2.0) * 40.0), s.probability(Length::from_m(80.0)), 0.0);
    }
}
