//! How often a verdict by the meter is wrong: the coil is normal about its plan, the reading normal about the coil.

use crate::enough::{normal_density, normal_probability};
use crate::inductance::gauss_legendre;
use crate::measured::Input;

/// Chances of the verdicts on one coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Verdicts {
    /// It is out of tolerance and is taken.
    pub bad_taken: f64,
    /// It is within and is refused.
    pub good_refused: f64,
    /// It is refused, rightly or not.
    pub refused: f64,
}

/// Standard deviations of coil and meter that are looked at on either side: 1e-15 lies beyond.
const FAR: i32 = 8;
/// Nodes of Gauss–Legendre on each piece. No piece is longer than one standard deviation of the coil, nor, near a limit of
/// the verdict, of the meter.
const NODES: usize = 8;

/// Chances of a wrong verdict.
///
/// ```text
/// P(bad, taken) = ∫ outside `good`  φ((r − m)/s)/s · [Φ((b − r)/u) − Φ((a − r)/u)] dr
/// P(good, refused) = ∫ within `good`  φ((r − m)/s)/s · (1 − [Φ((b − r)/u) − Φ((a − r)/u)]) dr
/// ```
///
/// `m`, `s` the coil; `a`, `b` the readings that are taken; `u` a reading's standard uncertainty. Within 1e-11
/// of an integration with thirty digits (tests).
pub(super) fn verdicts(coil: Input, good: (f64, f64), taken: (f64, f64), u: f64) -> Verdicts {
    let is_good = |r: f64| (good.0..=good.1).contains(&r);
    let chance_taken = |r: f64| {
        if u > 0.0 {
            normal_probability((taken.1 - r) / u) - normal_probability((taken.0 - r) / u)
        } else if (taken.0..=taken.1).contains(&r) {
            1.0
        } else {
            0.0
        }
    };
    let mut all = Verdicts { bad_taken: 0.0, good_refused: 0.0, refused: 0.0 };
    let mut add = |r: f64, good: bool, weight: f64| {
        let taken = chance_taken(r);
        all.refused += weight * (1.0 - taken);
        if good {
            all.good_refused += weight * (1.0 - taken);
        } else {
            all.bad_taken += weight * taken;
        }
    };
    if coil.u <= 0.0 {
        add(coil.value, is_good(coil.value), 1.0);
        return all;
    }
    // In standard deviations of the coil from its middle.
    let from_middle = |r: f64| ((r - coil.value) / coil.u).clamp(-f64::from(FAR), f64::from(FAR));
    let steps = || (-FAR..=FAR).map(f64::from);
    let mut cuts: Vec<f64> = steps().collect();
    cuts.extend([good.0, good.1].map(from_middle));
    for limit in [taken.0, taken.1] {
        cuts.extend(steps().map(|j| from_middle(limit + j * u)));
    }
    cuts.sort_by(f64::total_cmp);
    let nodes = gauss_legendre(NODES);
    for pair in cuts.windows(2) {
        let (from, width) = (pair[0], pair[1] - pair[0]);
        let middle_is_good = is_good(coil.value + (from + 0.5 * width) * coil.u);
        for (at, weight) in &nodes {
            let z = from + at * width;
            add(coil.value + z * coil.u, middle_is_good, weight * width * normal_density(z));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_perfect_meter_is_never_wrong() {
        let all = verdicts(Input { value: 6.0, u: 0.1 }, (5.9, 6.1), (5.9, 6.1), 0.0);
        assert!(all.bad_taken.abs() < 1e-12 && all.good_refused.abs() < 1e-12, "{all:?}");
        assert!((all.refused - 2.0 * normal_probability(-1.0)).abs() < 1e-12, "{all:?}");
    }

    /// A meter that errs by far more than the coils differ takes a coil with the same chance whatever it is.
    #[test]
    fn a_useless_meter_is_a_toss() {
        let all = verdicts(Input { value: 6.0, u: 0.1 }, (5.9, 6.1), (-1e9, 6.0), 1e3);
        let bad = 2.0 * normal_probability(-1.0);
        assert!((all.bad_taken - 0.5 * bad).abs() < 1e-4, "{all:?}");
        assert!((all.good_refused - 0.5 * (1.0 - bad)).abs() < 1e-4, "{all:?}");
    }

    /// Sum of all readings: a coil is refused as often as the sum of coil and meter lies outside, normal with s² + u².
    #[test]
    fn refusals_are_those_of_coil_and_meter_together() {
        for (s, u) in [(0.08, 0.05), (0.01, 0.2), (0.2, 0.001), (0.05, 1e-6)] {
            let (a, b) = (5.95, 6.12);
            let all = verdicts(Input { value: 6.0, u: s }, (5.8, 6.1), (a, b), u);
            let together = f64::hypot(s, u);
            let taken = normal_probability((b - 6.0) / together) - normal_probability((a - 6.0) / together);
            assert!((all.refused - (1.0 - taken)).abs() < 1e-11, "{s} {u}: {} {}", all.refused, 1.0 - taken);
        }
    }

    /// A coil of 6 Ω ± s, read with ± u: what is good, what is taken; chances by mpmath 1.4 with 30 digits.
    #[test]
    fn chances_are_those_of_an_integration_with_thirty_digits() {
        for (s, u, good, taken, bad_taken, good_refused) in [
            (0.08, 0.05, (5.8, 6.2), (5.882, 6.118), 0.0002820526936239, 0.1988710898558),
            (0.02, 0.2, (5.95, 6.05), (5.95, 6.05), 0.002356984429262, 0.7934846311425),
            (0.15, 0.004, (5.85, 6.1), (5.8566, 6.0934), 0.0003064572163028, 0.02560513661033),
            (0.05, 0.03, (6.02, 6.3), (6.07, 6.25), 0.004578826359996, 0.2341915915672),
        ] {
            let all = verdicts(Input { value: 6.0, u: s }, good, taken, u);
            assert!((all.bad_taken - bad_taken).abs() < 1e-11, "{all:?} {bad_taken}");
            assert!((all.good_refused - good_refused).abs() < 1e-11, "{all:?} {good_refused}");
        }
    }

    #[test]
    fn a_coil_known_without_doubt_is_good_or_bad() {
        let good = verdicts(Input { value: 6.0, u: 0.0 }, (5.9, 6.1), (5.95, 6.05), 0.05);
        assert!(
            good.bad_taken == 0.0 && (good.good_refused - 2.0 * normal_probability(-1.0)).abs() < 1e-12,
            "{good:?}"
        );
        let bad = verdicts(Input { value: 6.2, u: 0.0 }, (5.9, 6.1), (5.95, 6.05), 0.05);
        assert!(bad.good_refused == 0.0 && bad.bad_taken > 0.0, "{bad:?}");
    }
}
