//! What to measure next: the information that each instrument is expected to give about which wire it is.

use super::assume::Assumed;
use super::forward::predict;
use super::normal::{Factor, dot};
use super::seen::{Measure, Observation, Seen};
use super::{Candidate, LN_TWO_PI, Ranked};
use core::f64::consts::LN_2;

/// A measurement that could be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// What it is called.
    pub name: String,
    /// What it measures.
    pub measure: Measure,
    /// Its standard uncertainty in SI units, whatever it reads.
    pub u: f64,
    /// Its standard uncertainty as a share of what it reads, added as it stands in a meter's papers.
    pub u_share: f64,
}

impl Instrument {
    fn u_at(&self, reading: f64) -> f64 {
        self.u + self.u_share * reading.abs()
    }
}

/// What a measurement would tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// Place of the instrument in the list.
    pub instrument: usize,
    /// Expected information about which wire it is, in bits.
    pub bits: f64,
    /// What it would show if the wire is the most probable one, and its own uncertainty there; SI units.
    pub shows: (f64, f64),
}

/// Candidates beyond this share of the probability are left out of the expectation, and more than this many.
const SHARE: f64 = 0.999;
const MOST: usize = 60;

/// Expected information of each instrument, the most telling first.
///
/// ```text
/// I = Σ_w p_w · ∫ N(y; m_w, s_w) · ln[ N(y; m_w, s_w) / Σ_v p_v·N(y; m_v, s_v) ] dy
/// ```
///
/// `m_w`, `s_w`: what the measurement would show if it is wire w, given what was seen (the conditional normal law, so that
/// a diameter that is known already counts). That it may be none of the candidates is left out, and so are the candidates
/// beyond the first 60 or beyond 99.9 % of the probability. No instrument is told twice: one that measured already, or one
/// less than twice as good, would repeat its own error. Measurements on a coil need a coil that was described.
pub fn gains(
    seen: &Seen,
    met: &[Observation],
    candidates: &[Candidate],
    ranked: &[Ranked],
    assumed: &Assumed,
    instruments: &[Instrument],
) -> Vec<Gain> {
    let known = |i: &Instrument| {
        met.iter().any(|o| o.measure == i.measure && o.met.u <= 2.0 * i.u_at(o.met.value))
            // A rating says less than the coil's resistance, but nothing more is learned of it.
            || i.measure == Measure::Rated
    };
    let open: Vec<(usize, &Instrument)> =
        instruments.iter().enumerate().filter(|(_, i)| seen.can_show(i.measure) && !known(i)).collect();
    let probable = probable(ranked);
    // For each candidate, mean and spread of every open measurement.
    let laws: Vec<(f64, Vec<Law>)> = probable
        .iter()
        .filter_map(|(i, p)| Some((*p, outlook(candidates.get(*i)?, seen, met, assumed, &open)?)))
        .collect();
    let mut gains: Vec<Gain> = open
        .iter()
        .enumerate()
        .filter_map(|(k, (instrument, _))| {
            let of_k: Vec<(f64, f64, f64)> =
                laws.iter().filter_map(|(p, law)| law.get(k).map(|l| (*p, l.mean, l.spread))).collect();
            let likeliest = laws.first()?.1.get(k)?;
            Some(Gain {
                instrument: *instrument,
                bits: information(&of_k),
                shows: (likeliest.mean, likeliest.of_instrument),
            })
        })
        .collect();
    gains.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    gains
}

/// What a measurement would show if the sample is a certain wire.
struct Law {
    mean: f64,
    spread: f64,
    of_instrument: f64,
}

/// The candidates that hold nearly all of the probability, with their share of it.
fn probable(ranked: &[Ranked]) -> Vec<(usize, f64)> {
    let all: f64 = ranked.iter().map(|r| r.probability).sum();
    let mut held = 0.0;
    let mut kept = Vec::new();
    for r in ranked.iter().take(MOST) {
        if held >= SHARE * all {
            break;
        }
        held += r.probability;
        kept.push((r.candidate, r.probability));
    }
    kept.into_iter().map(|(i, p)| (i, p / held)).collect()
}

/// What each open measurement would show if it is this candidate, given what was seen.
fn outlook(
    c: &Candidate,
    seen: &Seen,
    met: &[Observation],
    assumed: &Assumed,
    open: &[(usize, &Instrument)],
) -> Option<Vec<Law>> {
    let measures: Vec<Measure> = met.iter().map(|o| o.measure).chain(open.iter().map(|(_, i)| i.measure)).collect();
    let p = predict(c.wire, seen, assumed, &measures);
    let own = |i: usize, j: usize| if i == j { met.get(i).map_or(0.0, |o| o.met.u * o.met.u) } else { 0.0 };
    let factor = Factor::new(met.len(), |i, j| p.covariance(i, j) + own(i, j))?;
    let e: Vec<f64> = met.iter().enumerate().map(|(i, o)| o.met.value - p.value(i)).collect();
    let e = factor.whiten(&e);
    let one = |(k, (_, instrument)): (usize, &(usize, &Instrument))| {
        let y = met.len() + k;
        let shared: Vec<f64> = (0..met.len()).map(|i| p.covariance(i, y)).collect();
        let shared = factor.whiten(&shared);
        let mean = p.value(y) + dot(&shared, &e);
        let of_instrument = instrument.u_at(p.value(y));
        let variance = (p.covariance(y, y) - dot(&shared, &shared)).max(0.0) + of_instrument * of_instrument;
        Law { mean, spread: libm::sqrt(variance), of_instrument }
    };
    Some(open.iter().enumerate().map(one).collect())
}

/// Mutual information, in bits, between the choice of a law (p, m, s) and a draw from it.
///
/// The integral is a sum over points 0.3 standard deviations apart, over ± 6 of them, and nearer together where another
/// law is more than three times narrower. Against scipy's `quad` on fifteen seeded random sets of two to five laws, the
/// evenly spaced sum is off by at most 4e-6 bit with widths up to 1 : 4, but by 7e-3 with widths up to 1 : 30: hence the
/// nearer points.
fn information(laws: &[(f64, f64, f64)]) -> f64 {
    let narrowest = laws.iter().map(|l| l.2).fold(f64::INFINITY, f64::min);
    if narrowest.is_nan() || narrowest <= 0.0 {
        return 0.0;
    }
    let mut nats = 0.0;
    for (p, m, s) in laws {
        let finer = libm::ceil(s / (3.0 * narrowest)).clamp(1.0, 20.0);
        let step = 0.3 / finer;
        let half = (20.0 * finer) as i32;
        for i in -half..=half {
            let z = step * f64::from(i);
            let weight = step * libm::exp(-0.5 * (z * z + LN_TWO_PI));
            let y = m + s * z;
            let mixed: f64 = laws
                .iter()
                .map(|(q, n, t)| {
                    let z = (y - n) / t;
                    // Beyond nine standard deviations a law adds less than 1e-17 of its height.
                    if z.abs() > 9.0 { 0.0 } else { q / t * libm::exp(-0.5 * z * z) }
                })
                .sum();
            let own = libm::exp(-0.5 * z * z) / s;
            if own > 0.0 && mixed > 0.0 {
                nats += p * weight * libm::log(own / mixed);
            }
        }
    }
    (nats / LN_2).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Equally likely laws far apart tell one bit, two that coincide none. One standard deviation on either side of the
    /// middle: 0.4859441541 bit by scipy 1.x `integrate.quad` of the same integral (error bound 1e-12).
    #[test]
    fn two_laws_tell_a_bit_at_most() {
        let two = |apart: f64| information(&[(0.5, 0.0, 1.0), (0.5, apart, 1.0)]);
        assert!((two(40.0) - 1.0).abs() < 1e-8, "{}", two(40.0));
        assert!(two(0.0).abs() < 1e-12);
        assert!((two(2.0) - 0.485_944_154_1).abs() < 1e-7, "{}", two(2.0));
    }

    #[test]
    fn a_measurement_tells_no_more_than_the_doubt_there_is() {
        let laws = [(0.9, 0.0, 1.0), (0.1, 50.0, 1.0)];
        let doubt = -(0.9_f64 * 0.9_f64.log2() + 0.1 * 0.1_f64.log2());
        assert!((information(&laws) - doubt).abs() < 1e-8);
    }

    /// A wide law around a narrow one: by scipy 1.x `integrate.quad` with break points at ± 0.1 … ± 1.
    #[test]
    fn a_narrow_law_within_a_wide_one_is_not_stepped_over() {
        let laws = [(0.5, 0.0, 1.0), (0.5, 0.2, 1.0 / 30.0)];
        assert!((information(&laws) - WIDE_AND_NARROW).abs() < 1e-4, "{}", information(&laws));
    }
    const WIDE_AND_NARROW: f64 = 0.821_139_286;
}
