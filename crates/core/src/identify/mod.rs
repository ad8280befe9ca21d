//! Which wire a sample is: probabilities over candidates from measurements that share the same true diameters.
//!
//! [`seen`] says what can be measured, `forward` what each candidate would show, `normal` weighs it, [`next`] finds the
//! measurement that would tell most, [`findings`] says what is odd, and [`identify`] walks through them.

pub mod assume;
pub mod findings;
mod forward;
pub mod next;
mod normal;
pub mod seen;

use crate::finding::Finding;
use crate::measured::Propagated;
use crate::quantity::Length;
use crate::wire::Wire;
use assume::Assumed;
use forward::predict;
use next::{Gain, Instrument};
use normal::{Factor, dot};
use seen::{Measure, Observation, Seen};

/// A wire that the sample may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate<'a> {
    /// The wire; its diameters' uncertainty is the spread that its maker's limits allow.
    pub wire: &'a Wire,
    /// How likely it is beside the others before anything was measured; only ratios count, and 0 leaves it out.
    pub weight: f64,
}

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Identified {
    /// Every candidate with a weight, the most probable first.
    pub ranked: Vec<Ranked>,
    /// Probability that it is none of them.
    pub none: f64,
    /// What to measure next, the most telling first.
    pub next: Vec<Gain>,
    /// What is odd.
    pub findings: Vec<Finding>,
}

/// A candidate with its probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranked {
    /// Its place in the list of candidates.
    pub candidate: usize,
    /// Its share of the probability before anything was measured.
    pub prior: f64,
    /// Its probability after the measurements.
    pub probability: f64,
    /// eᵀΣ⁻¹e: about as large as the number of measurements if this is the wire.
    pub misfit: f64,
}

/// What a coil made for one wire is off by if the sample is another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IfOther {
    /// The other's Ω/m over this one's, less one: so much too low is the copy's resistance, at the same turns.
    pub dcr: f64,
    /// The other's overall diameter less this one's.
    pub overall: Length,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum IdentifyError {
    /// Nothing was measured that a wire could be told by.
    #[error("nothing was measured that a wire could be told by")]
    NothingSeen,
    /// No candidate, or none with a weight.
    #[error("there is no candidate with a weight above 0")]
    NoCandidates,
    /// Numbers so far from any wire that no comparison is left.
    #[error("the measurements are so far from every candidate that they cannot be compared")]
    BeyondComparison,
}

/// Ranks `candidates` by what was `seen`.
///
/// ```text
/// x ~ N(μ_w, Σ_w),   Σ_w = diag(u²) + A·Aᵀ,   ln P(w|x) = ln prior_w − ½·eᵀΣ_w⁻¹e − ½·ln|Σ_w| + const,   e = x − μ_w
/// ```
///
/// `u` the instruments; a column of `A` what one shared input moves by its standard uncertainty: true bare and overall
/// diameter within the maker's limits (limit/√3), resistivity and mass model, pitch of hand-wound turns, lengths and
/// temperatures. `none` is the probability beforehand that it is no candidate at all: then each measurement by itself is
/// spread evenly in its logarithm over what wires can show ([`Measure::spread`]).
///
/// # Errors
/// [`IdentifyError`] where there is nothing to compare.
///
/// # Sources
/// Bayes's rule with normal laws; covariance by JCGM 100:2008 (GUM), F.1.2.3.
pub fn identify(
    seen: &Seen,
    candidates: &[Candidate],
    none: f64,
    assumed: &Assumed,
    instruments: &[Instrument],
) -> Result<Identified, IdentifyError> {
    let met = seen.observations();
    if met.is_empty() {
        return Err(IdentifyError::NothingSeen);
    }
    let weights: f64 = candidates.iter().map(|c| c.weight).sum();
    if !(weights > 0.0 && weights.is_finite()) {
        return Err(IdentifyError::NoCandidates);
    }
    let measures: Vec<Measure> = met.iter().map(|o| o.measure).collect();
    let mut shows: Vec<Shows> = candidates
        .iter()
        .enumerate()
        .filter(|(_, c)| c.weight > 0.0)
        .map(|(candidate, c)| {
            let prediction = predict(c.wire, seen, assumed, &measures);
            let (density, misfit) = density(&prediction, &met, |_| true);
            let prior = (1.0 - none) * c.weight / weights;
            Shows { candidate, prior, ln: density + libm::log(prior), misfit, prediction }
        })
        .collect();
    shows.sort_by(|a, b| b.ln.total_cmp(&a.ln));
    let ln_none = libm::log(none) + none_density(&met);
    let highest = shows.first().map_or(ln_none, |f| f.ln.max(ln_none));
    if !highest.is_finite() {
        return Err(IdentifyError::BeyondComparison);
    }
    let share = |ln: f64| libm::exp(ln - highest);
    let total: f64 = shows.iter().map(|f| share(f.ln)).sum::<f64>() + share(ln_none);
    let ranked: Vec<Ranked> = shows
        .iter()
        .map(|s| Ranked { candidate: s.candidate, prior: s.prior, probability: share(s.ln) / total, misfit: s.misfit })
        .collect();
    let none = share(ln_none) / total;
    Ok(Identified {
        next: next::gains(seen, &met, candidates, &ranked, assumed, instruments),
        findings: findings::judge(seen, &met, candidates, &shows, &ranked, none),
        ranked,
        none,
    })
}

/// What follows if the sample is `that` wire where it was taken for `this`.
pub fn if_other(this: &Wire, that: &Wire) -> IfOther {
    IfOther {
        dcr: that.ohm_per_m().value / this.ohm_per_m().value - 1.0,
        overall: that.overall.value - this.overall.value,
    }
}

/// What a candidate would show, and how well that agrees.
struct Shows {
    candidate: usize,
    prior: f64,
    /// Logarithm of the density times the prior.
    ln: f64,
    misfit: f64,
    prediction: Propagated,
}

/// Logarithm of the density of those measurements that are to be `counted`, and their misfit.
fn density(p: &Propagated, met: &[Observation], counted: impl Fn(usize) -> bool) -> (f64, f64) {
    let kept: Vec<(usize, &Observation)> = met.iter().enumerate().filter(|(i, _)| counted(*i)).collect();
    let covariance = |i: usize, j: usize| {
        let (Some((a, one)), Some((b, _))) = (kept.get(i), kept.get(j)) else { return 0.0 };
        p.covariance(*a, *b) + if i == j { one.met.u * one.met.u } else { 0.0 }
    };
    let Some(factor) = Factor::new(kept.len(), covariance) else { return (f64::NEG_INFINITY, f64::INFINITY) };
    let e: Vec<f64> = kept.iter().map(|(i, o)| o.met.value - p.value(*i)).collect();
    let z = factor.whiten(&e);
    let misfit = dot(&z, &z);
    (-0.5 * misfit - factor.half_ln_det() - 0.5 * kept.len() as f64 * LN_TWO_PI, misfit)
}

/// ln 2π.
const LN_TWO_PI: f64 = 1.837_877_066_409_345_5;

/// Logarithm of the density of the measurements if the wire is none of the candidates.
fn none_density(met: &[Observation]) -> f64 {
    met.iter().map(|o| -libm::log(o.met.value * libm::log(o.measure.spread()))).sum()
}

#[cfg(test)]
mod tests;
