//! The risk of a whole plan: that any of its spools runs short.
//!
//! Running short at one coil of a spool implies running short of the spool's total, so spools are counted, not coils.
//! Spools share a part ρ of the variance of a draw (one counter, one balance). Given that common factor g they are
//! independent:
//!
//! ```text
//! P(plan ok) = ∫ φ(g) · Π_i Φ((μ_i − W_i − √ρ·k_i·W_i·g) / √(σ_i² + (1 − ρ)·k_i²·W_i²)) dg
//! ```
//!
//! The integral is taken by the trapezoidal rule, which for a smooth integrand under a normal density errs by far less
//! than any printed digit. With ρ = 0 it is the plain product, which is never below the truth's risk for ρ > 0.
//!
//! # Sources
//! One-factor form: C. W. Dunnett, M. Sobel, Biometrika 42 (1955) 258. Safe side of the product: D. Slepian, Bell
//! System Technical Journal 41 (1962) 463. Both cited from memory.

use crate::door::length;
use crate::question::{Question, Spool};
use coilwright_core::enough::{Remaining, normal_density};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use std::cell::RefCell;

/// Half the range of the common factor, in its standard deviations.
const REACH: f64 = 8.0;
/// Steps of the common factor over its range.
const STEPS: i32 = 256;

/// Total drawn from a spool, in whole millimetres, what is promised to others included.
pub(crate) type Load = (usize, i64);

/// Probability that any of the spools runs short of its total.
pub(crate) fn plan_risk(question: &Question, loads: &[Load]) -> f64 {
    let at = |&(i, mm): &Load| question.spools.get(i).map(|s| (s, length(mm).m()));
    let spools: Vec<(&Spool, f64)> = loads.iter().filter_map(at).collect();
    plan_risk_in_metres(&spools, question.common_share)
}

/// The same with totals in metres; `share` is the part of a draw's variance that spools have in common.
pub(crate) fn plan_risk_in_metres(loads: &[(&Spool, f64)], share: f64) -> f64 {
    let spools: Vec<(&Spool, Length)> = loads
        .iter()
        .filter(|(s, need)| s.safe.is_none() && *need > 0.0)
        .map(|&(s, need)| (s, Length::from_m(need)))
        .collect();
    if share <= 0.0 {
        return short(spools.iter().map(|(s, need)| s.remaining().probability(*need)));
    }
    let width = 2.0 * REACH / f64::from(STEPS);
    let mut risk = 0.0;
    for step in 0..=STEPS {
        let factor = -REACH + width * f64::from(step);
        let given = spools.iter().map(|(s, need)| probability_given(s, *need, share, factor));
        let end = if step == 0 || step == STEPS { 0.5 } else { 1.0 };
        risk += end * width * normal_density(factor) * short(given);
    }
    risk.clamp(0.0, 1.0)
}

/// The logarithm of each spool's probability to be enough, as last asked: most of a plan is as it was a moment ago.
pub(crate) struct Ledger(RefCell<Vec<(i64, f64)>>);

impl Ledger {
    pub fn new(spools: usize) -> Ledger {
        Ledger(RefCell::new(vec![(0, 0.0); spools]))
    }

    /// Whether the joint risk of the totals is within what is allowed.
    pub fn within(&self, question: &Question, loads: &[Load], allowed: f64) -> bool {
        let mut known = self.0.borrow_mut();
        let mut log = 0.0;
        for &(i, mm) in loads {
            let (Some(spool), Some(last)) = (question.spools.get(i), known.get_mut(i)) else { continue };
            if last.0 != mm {
                *last = (mm, libm::log1p(-spool_risk(spool, mm)));
            }
            log += last.1;
        }
        // What spools have in common only lowers the risk: where it would do without, the integral is not needed.
        -libm::expm1(log) <= allowed || (question.common_share > 0.0 && plan_risk(question, loads) <= allowed)
    }
}

/// Risk of one spool for a total.
pub(crate) fn spool_risk(spool: &Spool, mm: i64) -> f64 {
    if spool.safe.is_some() { 0.0 } else { 1.0 - spool.remaining().probability(length(mm)) }
}

/// Risk of several independent events; kept exact where each is tiny.
fn short(enough: impl Iterator<Item = f64>) -> f64 {
    let log: f64 = enough.map(|p| libm::log1p(-(1.0 - p))).sum();
    -libm::expm1(log)
}

/// Probability that a spool yields `need` when the common factor has a known value.
fn probability_given(spool: &Spool, need: Length, share: f64, factor: f64) -> f64 {
    let k = spool.draw_doubt;
    let drawn_more = libm::sqrt(share) * k * factor * need.m();
    let left = Measured::new(spool.left.value - Length::from_m(drawn_more), spool.left.u);
    let alone = Remaining::new(left, k * libm::sqrt(1.0 - share)).with_half_digit(spool.half_digit);
    alone.probability(need)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dice::Dice;

    fn question(share: f64) -> Question {
        let spool = |id: &str, mean: f64, sd: f64| Spool {
            draw_doubt: 0.006,
            ..Spool::new(id, "A", Measured::new(Length::from_m(mean), Length::from_m(sd)))
        };
        Question {
            spools: vec![spool("a", 50.0, 0.3), spool("b", 80.0, 0.4), spool("c", 30.0, 0.5)],
            common_share: share,
            ..Question::default()
        }
    }
    const LOADS: [Load; 3] = [(0, 49_300), (1, 79_000), (2, 29_000)];

    #[test]
    fn two_spools_at_a_fraction_over_one_percent_each_share_the_risk() {
        let spool = |id: &str| Spool::new(id, "A", Measured::new(Length::from_m(50.0), Length::from_m(1.0)));
        let q = Question { spools: vec![spool("s1"), spool("s2")], ..Question::default() };
        let one = plan_risk(&q, &[(0, 47_800)]);
        let both = plan_risk(&q, &[(0, 47_800), (1, 47_800)]);
        assert!((one - 0.013903).abs() < 5e-7, "{one}"); // Φ(−2.2)
        assert!((both - 0.027614).abs() < 5e-7, "{both}"); // 1 − (1 − Φ(−2.2))²
    }

    #[test]
    fn the_integral_agrees_with_throwing_dice() {
        // 400 000 throws: standard error 0.0007 at most; four of them allowed.
        let q = question(0.7);
        let mut dice = Dice::new(5);
        let mut normal = || (0..12).map(|_| dice.unit()).sum::<f64>() - 6.0;
        let throws = 400_000;
        let mut bad = 0;
        for _ in 0..throws {
            let common = normal();
            let short = LOADS.iter().any(|&(i, mm)| {
                let (s, need) = (&q.spools[i], mm as f64 / 1000.0);
                let own = 0.3f64.sqrt() * normal() + 0.7f64.sqrt() * common;
                need * (1.0 + s.draw_doubt * own) > s.left.value.m() + s.left.u.m() * normal()
            });
            bad += u32::from(short);
        }
        let thrown = f64::from(bad) / f64::from(throws);
        let risk = plan_risk(&q, &LOADS);
        assert!((risk - thrown).abs() < 0.0028, "integral {risk}, thrown {thrown}, seed 5");
    }

    #[test]
    fn what_spools_have_in_common_only_lowers_the_risk() {
        let apart = plan_risk(&question(0.0), &LOADS);
        let mut last = apart;
        for share in [1e-6, 0.3, 0.6, 0.9] {
            let risk = plan_risk(&question(share), &LOADS);
            assert!(risk <= last + 1e-7, "{share}: {risk} after {last}");
            last = risk;
        }
        assert!((plan_risk(&question(1e-9), &LOADS) - apart).abs() < 1e-6);
        assert!(last < apart);
    }
}
