//! A batch of equal coils from several part spools: how many starts there are in them, and how many starts n good coils
//! need.
//!
//! A coil is one unbroken length, so each spool yields whole starts only: what is left less what is lost once by putting
//! the spool up, divided by what one coil needs, rounded down. The lengths are uncertain; part of that doubt is common to
//! all spools of a wire (the mass of a metre in the table), the rest is each spool's own (scale and tare):
//!
//! ```text
//! left of spool i    Lᵢ = μᵢ + bᵢ·Z + σᵢ·Nᵢ                     Z, Nᵢ standard normal, independent
//! n starts from it   P(nᵢ ≥ n | Z) = Φ((μᵢ + bᵢ·Z − W)/√(σᵢ² + k²·W²)),   W = once + n·c
//! starts in all      convolution over the spools, then the mean over Z
//! good among n       binomial with the share 1 − s that is not scrapped
//! ```

use crate::enough::{Remaining, Word, normal_density};
use crate::measured::Measured;
use crate::quantity::Length;

/// Most starts counted, on one spool and in all: more count as this many.
pub const MOST_STARTS: usize = 1000;
/// The mean over Z is taken from −7 to 7 in steps of this; for smooth functions the sum is as good as the integral.
const STEP: f64 = 0.125;

/// One part spool as a batch sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartSpool {
    /// What is left on it and not promised away. `u` is the whole standard uncertainty.
    pub left: Measured<Length>,
    /// How much the length moves with one standard uncertainty of what is common to all spools (bᵢ); |bᵢ| is at most `u`.
    pub common: Length,
    /// Relative standard uncertainty of a draw from it (k).
    pub draw_doubt: f64,
}

/// What every start takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Take {
    /// Wire of one start, tails included.
    pub each: Length,
    /// Wire lost once by putting a spool up.
    pub once: Length,
}

impl Take {
    /// Wire of so many starts from one spool: `once + n·each`; nothing for none.
    pub fn of(&self, starts: usize) -> Length {
        if starts == 0 { Length::ZERO } else { self.once + self.each * starts as f64 }
    }

    /// Whole starts in a length: `⌊(length − once)/each⌋`.
    ///
    /// Worked: 142.51 m, once 1.0 m, each 14.145 m: 10.
    pub fn starts_in(&self, length: Length) -> usize {
        let starts = (length - self.once) / self.each;
        // A length that is just there counts: 1e-9 of a start is below every scale.
        if starts > 0.0 { ((starts + 1e-9) as usize).min(MOST_STARTS) } else { 0 }
    }
}

impl PartSpool {
    fn own_u(&self) -> f64 {
        let (u, b) = (self.left.u.m(), self.common.m());
        libm::sqrt((u * u - b * b).max(0.0))
    }

    fn remaining(&self) -> Remaining {
        Remaining::new(self.left, self.draw_doubt)
    }

    /// Probability that so many starts come from it.
    pub fn probability(&self, take: &Take, starts: usize) -> f64 {
        self.remaining().probability(take.of(starts))
    }

    /// Starts that are there with this confidence.
    pub fn safe_starts(&self, take: &Take, confidence: f64) -> usize {
        let mut starts = take.starts_in(self.remaining().safe_length(confidence));
        // The root and the probability may differ in the last place.
        while starts > 0 && Word::of(self.probability(take, starts), confidence) != Word::Enough {
            starts -= 1;
        }
        starts
    }

    /// P(n starts), n = 0, 1, …, given what is common (Z = `z`).
    fn starts_given(&self, take: &Take, z: f64) -> Vec<f64> {
        let at_z = Remaining::new(
            Measured::new(self.left.value + self.common * z, Length::from_m(self.own_u())),
            self.draw_doubt,
        );
        let mut at_least = 1.0;
        let mut each = Vec::new();
        for n in 1..=MOST_STARTS {
            let more = at_z.probability(take.of(n)).min(at_least);
            each.push(at_least - more);
            at_least = more;
            if at_least < 1e-15 {
                break;
            }
        }
        each.push(at_least);
        each
    }
}

/// P(n starts in all), n = 0, 1, …; adds up to 1.
pub fn starts(spools: &[PartSpool], take: &Take) -> Vec<f64> {
    let common = spools.iter().any(|s| s.common != Length::ZERO);
    if !common {
        return starts_given(spools, take, 0.0);
    }
    let mut all: Vec<f64> = Vec::new();
    let mut weights = 0.0;
    for i in -56..=56 {
        let z = f64::from(i) * STEP;
        let weight = normal_density(z) * STEP;
        weights += weight;
        let given = starts_given(spools, take, z);
        if all.len() < given.len() {
            all.resize(given.len(), 0.0);
        }
        all.iter_mut().zip(&given).for_each(|(sum, p)| *sum += weight * p);
    }
    all.iter_mut().for_each(|p| *p /= weights);
    all
}

fn starts_given(spools: &[PartSpool], take: &Take, z: f64) -> Vec<f64> {
    spools.iter().fold(vec![1.0], |so_far, spool| convolved(&so_far, &spool.starts_given(take, z)))
}

/// The distribution of a sum; what is beyond the most counts as the most.
fn convolved(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; (a.len() + b.len() - 1).min(MOST_STARTS + 1)];
    let Some(last) = sum.len().checked_sub(1) else { return sum };
    for (i, p) in a.iter().enumerate().filter(|(_, p)| **p > 0.0) {
        for (j, q) in b.iter().enumerate().filter(|(_, q)| **q > 0.0) {
            if let Some(total) = sum.get_mut((i + j).min(last)) {
                *total += p * q;
            }
        }
    }
    sum
}

/// P(at least n) of a distribution over 0, 1, ….
pub fn at_least(distribution: &[f64], n: usize) -> f64 {
    distribution.iter().skip(n).sum::<f64>().clamp(0.0, 1.0)
}

/// Probability that at least `good` of `starts` coils come out good, each scrapped with probability `scrap`.
///
/// ```text
/// Σ C(n, m)·(1 − s)^m·s^(n − m), m = good … n
/// ```
///
/// Worked: 24 of 26 at 6 % scrap: 0.797.
pub fn good_of(good: usize, starts: usize, scrap: f64) -> f64 {
    if good == 0 {
        return 1.0;
    }
    if starts < good {
        return 0.0;
    }
    if scrap <= 0.0 {
        return 1.0;
    }
    if scrap >= 1.0 {
        return 0.0;
    }
    let ln_choose = |n: usize, m: usize| {
        libm::lgamma(n as f64 + 1.0) - libm::lgamma(m as f64 + 1.0) - libm::lgamma((n - m) as f64 + 1.0)
    };
    let term = |m: usize| {
        libm::exp(ln_choose(starts, m) + m as f64 * libm::log1p(-scrap) + (starts - m) as f64 * libm::log(scrap))
    };
    (good..=starts).map(term).sum::<f64>().min(1.0)
}

/// The fewest starts of which at least `good` come out good with this confidence; none below `most`.
pub fn starts_for(good: usize, scrap: f64, confidence: f64, most: usize) -> Option<usize> {
    (good..=most).find(|n| good_of(good, *n, scrap) >= confidence)
}

/// Probability that at least `good` good coils come from a distribution of starts, when winding goes on until they are
/// there or the wire is used up.
pub fn good_from(distribution: &[f64], good: usize, scrap: f64) -> f64 {
    distribution.iter().enumerate().map(|(n, p)| p * good_of(good, n, scrap)).sum::<f64>().clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
    }

    fn m(metres: f64) -> Length {
        Length::from_m(metres)
    }

    /// Five part spools of one wire, 0.36698 g/m: nets in g with scale and tare, and 1.5 % of g/m if it is doubtful.
    fn shelf(g_per_m_doubt: f64) -> Vec<PartSpool> {
        let own = libm::hypot(0.5, 0.1 / libm::sqrt(12.0)) / 0.36698;
        let spool = |net: f64| {
            let left = net / 0.36698;
            let common = left * g_per_m_doubt;
            PartSpool { left: Measured::new(m(left), m(libm::hypot(own, common))), common: m(common), draw_doubt: 0.0 }
        };
        [52.3, 31.0, 26.4, 19.1, 14.9].map(spool).to_vec()
    }

    /// Reference: the same sums by scipy.stats (norm.cdf, numpy.convolve, a trapezoid over ±7), 14 digits; here to 1e-9,
    /// since the two error functions agree to 1e-15 and the sum over Z to 1e-12.
    #[test]
    fn starts_agree_with_scipy() {
        let take = Take { each: m(14.145), once: m(1.0) };
        near(at_least(&starts(&shelf(0.0), &take), 24), 0.8249691282815762, 1e-9);
        near(at_least(&starts(&shelf(0.015), &take), 24), 0.7126365262984621, 1e-9);
        near(good_from(&starts(&shelf(0.0), &take), 24, 0.06), 0.32217067097267754, 1e-9);
        near(good_from(&starts(&shelf(0.015), &take), 24, 0.06), 0.34245758759801437, 1e-9);
    }

    /// Reference: scipy.stats.binom.sf(23, n, 0.94).
    #[test]
    fn good_coils_agree_with_scipy() {
        near(good_of(24, 24, 0.06), 0.22650014605289773, 1e-13);
        near(good_of(24, 26, 0.06), 0.7972805141062007, 1e-13);
        near(good_of(24, 27, 0.06), 0.9244829961295085, 1e-13);
        near(good_of(24, 28, 0.06), 0.9760000013489482, 1e-13);
        assert_eq!(starts_for(24, 0.06, 0.95, 200), Some(28));
        assert_eq!(starts_for(24, 0.9, 0.95, 30), None);
    }

    #[test]
    fn whole_starts_are_counted_spool_by_spool() {
        let take = Take { each: m(14.145), once: m(1.0) };
        let by_middle: Vec<usize> = shelf(0.0).iter().map(|s| take.starts_in(s.left.value)).collect();
        assert_eq!(by_middle, [10, 5, 5, 3, 2]);
        let safe: Vec<usize> = shelf(0.0).iter().map(|s| s.safe_starts(&take, 0.98)).collect();
        assert_eq!(safe, [9, 5, 4, 3, 2]);
    }

    #[test]
    fn a_distribution_adds_up_to_one() {
        for doubt in [0.0, 0.015, 0.05] {
            let all = starts(&shelf(doubt), &Take { each: m(14.145), once: m(1.0) });
            near(all.iter().sum(), 1.0, 1e-12);
            assert!(all.iter().all(|p| *p >= 0.0));
        }
        assert_eq!(starts(&[], &Take { each: m(1.0), once: m(0.0) }), [1.0]);
    }

    #[test]
    fn certain_lengths_have_certain_starts() {
        let spool = PartSpool { left: Measured::certain(m(30.0)), common: Length::ZERO, draw_doubt: 0.0 };
        let take = Take { each: m(10.0), once: m(0.0) };
        let both = starts(&[spool, spool], &take);
        assert_eq!((at_least(&both, 6), at_least(&both, 7)), (1.0, 0.0));
        assert_eq!(spool.safe_starts(&take, 0.98), 3);
    }

    #[test]
    fn more_starts_than_are_counted_count_as_the_most() {
        let spool = PartSpool { left: Measured::new(m(5e4), m(50.0)), common: m(40.0), draw_doubt: 0.01 };
        let take = Take { each: m(0.5), once: m(1.0) };
        near(at_least(&starts(&[spool; 20], &take), MOST_STARTS), 1.0, 1e-12);
        assert_eq!(spool.safe_starts(&take, 0.98), MOST_STARTS);
    }

    #[test]
    fn scrap_bounds_are_no_trap() {
        assert_eq!(good_of(0, 0, 0.5), 1.0);
        assert_eq!(good_of(2, 1, 0.0), 0.0);
        assert_eq!(good_of(2, 2, 0.0), 1.0);
        assert_eq!(good_of(2, 5, 1.0), 0.0);
        near(good_of(1, 1000, 0.5), 1.0, 1e-12);
    }
}
