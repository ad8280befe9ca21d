//! What to measure next: the information that each instrument is expected to give about which wire it is.

use super::normal::{Factor, dot};
use super::seen::{Measure, Observation, Seen, predict};
use super::{Candidate, LN_TWO_PI, Ranked};
use core::f64::consts::LN_2;

/// A measurement that could be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// A word for programs, stable.
    pub code: &'static str,
    /// What it measures.
    pub measure: Measure,
    /// Its standard uncertainty in SI units, whatever it reads.
    pub u: f64,
    /// Its standard uncertainty as a share of what it reads, added in squares.
    pub u_share: f64,
}

/// What a measurement would tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// [`Instrument::code`].
    pub code: &'static str,
    /// Expected information about which wire it is, in bits.
    pub bits: f64,
}

/// Candidates beyond this share of the probability are left out of the expectation, and more than this many.
const SHARE: f64 = 0.999;
const MOST: usize = 100;

/// Expected information of each instrument, the most telling first.
///
/// ```text
/// I = Σ_w p_w · ∫ N(y; m_w, s_w) · ln[ N(y; m_w, s_w) / Σ_v p_v·N(y; m_v, s_v) ] dy
/// ```
///
/// `m_w`, `s_w`: what the measurement would show if it is wire w, given what was seen (the conditional normal law, so that
/// a diameter that is known already counts). The integral is a sum over 41 points ± 6 s_w apart by 0.3: for bell curves of
/// like width the error is far below a thousandth of a bit. That it may be none of the candidates is left out; so are
/// instruments whose measurement was made already with at most twice their uncertainty, and measurements on a coil where
/// no coil was described.
pub fn gains(
    seen: &Seen,
    met: &[Observation],
    candidates: &[Candidate],
    ranked: &[Ranked],
    instruments: &[Instrument],
) -> Vec<Gain> {
    let of_coil = |m: Measure| matches!(m, Measure::CoilOhm | Measure::Width | Measure::Rated);
    let known = |i: &&Instrument, y: f64| {
        met.iter().any(|o| o.measure == i.measure && o.met.u <= 2.0 * libm::hypot(i.u, i.u_share * y))
    };
    let open: Vec<&Instrument> = instruments
        .iter()
        .filter(|i| seen.coil.is_some() || !of_coil(i.measure))
        .filter(|i| !known(i, met.iter().find(|o| o.measure == i.measure).map_or(0.0, |o| o.met.value)))
        .collect();
    let probable = probable(ranked);
    // For each candidate, mean and spread of every open measurement.
    let laws: Vec<(f64, Vec<(f64, f64)>)> =
        probable.iter().filter_map(|(i, p)| Some((*p, outlook(candidates.get(*i)?, seen, met, &open)?))).collect();
    let mut gains: Vec<Gain> = open
        .iter()
        .enumerate()
        .map(|(k, instrument)| {
            let of_k: Vec<(f64, f64, f64)> =
                laws.iter().filter_map(|(p, law)| law.get(k).map(|(m, s)| (*p, *m, *s))).collect();
            Gain { code: instrument.code, bits: information(&of_k) }
        })
        .collect();
    gains.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    gains
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

/// Mean and standard deviation of each open measurement if it is this candidate, given what was seen.
fn outlook(c: &Candidate, seen: &Seen, met: &[Observation], open: &[&Instrument]) -> Option<Vec<(f64, f64)>> {
    let measures: Vec<Measure> = met.iter().map(|o| o.measure).chain(open.iter().map(|i| i.measure)).collect();
    let p = predict(c.wire, seen, &measures);
    let own = |i: usize, j: usize| if i == j { met.get(i).map_or(0.0, |o| o.met.u * o.met.u) } else { 0.0 };
    let factor = Factor::new(met.len(), |i, j| p.covariance(i, j) + own(i, j))?;
    let e: Vec<f64> = met.iter().enumerate().map(|(i, o)| o.met.value - p.value(i)).collect();
    let e = factor.whiten(&e);
    let one = |(k, instrument): (usize, &&Instrument)| {
        let y = met.len() + k;
        let shared: Vec<f64> = (0..met.len()).map(|i| p.covariance(i, y)).collect();
        let shared = factor.whiten(&shared);
        let mean = p.value(y) + dot(&shared, &e);
        let of_instrument = libm::hypot(instrument.u, instrument.u_share * p.value(y));
        let variance = (p.covariance(y, y) - dot(&shared, &shared)).max(0.0) + of_instrument * of_instrument;
        (mean, libm::sqrt(variance))
    };
    Some(open.iter().enumerate().map(one).collect())
}

/// Mutual information, in bits, between the choice of a law (p, m, s) and a draw from it.
fn information(laws: &[(f64, f64, f64)]) -> f64 {
    const STEP: f64 = 0.3;
    let mut nats = 0.0;
    for (p, m, s) in laws {
        for i in -20..=20 {
            let z = STEP * f64::from(i);
            let weight = STEP * libm::exp(-0.5 * (z * z + LN_TWO_PI));
            let y = m + s * z;
            let mixed: f64 = laws.iter().map(|(q, n, t)| q / t * libm::exp(-0.5 * ((y - n) / t) * ((y - n) / t))).sum();
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

    /// Two equally likely laws far apart tell one bit, two that coincide none; a third of a share of a bit in between is
    /// the known capacity of two bells one standard deviation on either side of the middle: 0.4862 bit (regression value,
    /// agreeing with scipy's quad in tests/recompute).
    #[test]
    fn two_laws_tell_a_bit_at_most() {
        let two = |apart: f64| information(&[(0.5, 0.0, 1.0), (0.5, apart, 1.0)]);
        assert!((two(40.0) - 1.0).abs() < 1e-9);
        assert!(two(0.0).abs() < 1e-12);
        assert!((two(2.0) - 0.4862).abs() < 1e-3, "{}", two(2.0));
    }

    #[test]
    fn a_measurement_tells_no_more_than_the_doubt_there_is() {
        let laws = [(0.9, 0.0, 1.0), (0.1, 50.0, 1.0)];
        let doubt = -(0.9_f64 * 0.9_f64.log2() + 0.1 * 0.1_f64.log2());
        assert!((information(&laws) - doubt).abs() < 1e-9);
    }
}
