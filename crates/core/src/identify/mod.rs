//! Which wire a sample is: probabilities over candidates from measurements that share the same true diameters.
//!
//! [`seen`] says what each candidate would show, `normal` weighs it, [`next`] finds the measurement that would tell most,
//! [`findings`] says what is odd about the measurements, and [`identify`] walks through them.

pub mod findings;
pub mod next;
mod normal;
pub mod seen;

use crate::coil::findings::Finding;
use crate::quantity::Length;
use crate::wire::Wire;
use next::{Gain, Instrument};
use normal::{Factor, dot};
use seen::{Observation, Seen, predict};

/// A wire that the sample may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate<'a> {
    /// The wire; its diameters' uncertainty is the spread that its maker's limits allow.
    pub wire: &'a Wire,
    /// How likely it is beside the others before anything was measured; only ratios count.
    pub weight: f64,
}

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Identified {
    /// Every candidate, the most probable first.
    pub ranked: Vec<Ranked>,
    /// Probability that it is none of them.
    pub none: f64,
    /// What to measure next, the most telling first.
    pub next: Vec<Gain>,
    /// What is odd.
    pub findings: Vec<Finding>,
}

/// A candidate with its probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// Its place in the list of candidates.
    pub candidate: usize,
    /// Its probability after the measurements.
    pub probability: f64,
    /// eᵀΣ⁻¹e: about as large as the number of measurements if this is the wire.
    pub misfit: f64,
    /// What follows if it is another one: for the first the second, for all others the first.
    pub if_other: Option<IfOther>,
}

/// What a coil meant for one wire is off by if the sample is another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IfOther {
    /// Place of the other in the list of candidates.
    pub other: usize,
    /// Its Ω/m over this one's, less one.
    pub dcr: f64,
    /// Its overall diameter less this one's.
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
}

/// Ranks `candidates` by what was `seen`.
///
/// ```text
/// x ~ N(μ_w, Σ_w),   Σ_w = diag(u²) + A·Aᵀ,   ln P(w|x) = ln prior_w − ½·eᵀΣ_w⁻¹e − ½·ln|Σ_w| + const,   e = x − μ_w
/// ```
///
/// `u` the instruments, the columns of `A` what the measurements share, each times its standard uncertainty: true bare and
/// overall diameter within the maker's limits (limit/√3), resistivity and mass model (0.5 %), pitch of hand-wound turns
/// (2 %), lengths and temperatures. `none` is the probability beforehand that it is no candidate at all: then every
/// measurement is spread evenly in its logarithm over what the wires of voice coils can show ([`seen::Measure::spread`]).
/// The same law for every candidate makes copper and aluminium of one size alike until mass or resistance is measured.
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
    instruments: &[Instrument],
) -> Result<Identified, IdentifyError> {
    let met = seen.observations();
    if met.is_empty() {
        return Err(IdentifyError::NothingSeen);
    }
    let weights: f64 = candidates.iter().map(|c| c.weight).sum();
    if !(weights > 0.0) {
        return Err(IdentifyError::NoCandidates);
    }
    let mut fits: Vec<Fit> = candidates
        .iter()
        .enumerate()
        .filter(|(_, c)| c.weight > 0.0)
        .map(|(i, c)| {
            let fit = fit(c.wire, seen, &met, |_| true);
            Fit { candidate: i, ln: fit.ln + libm::log((1.0 - none) * c.weight / weights), ..fit }
        })
        .collect();
    let ln_none = libm::log(none) + none_density(&met);
    fits.sort_by(|a, b| b.ln.total_cmp(&a.ln));
    let highest = fits.first().map_or(ln_none, |f| f.ln.max(ln_none));
    let share = |ln: f64| libm::exp(ln - highest);
    let total: f64 = fits.iter().map(|f| share(f.ln)).sum::<f64>() + share(ln_none);
    let ranked: Vec<Ranked> = fits
        .iter()
        .enumerate()
        .map(|(place, f)| Ranked {
            candidate: f.candidate,
            probability: share(f.ln) / total,
            misfit: f.misfit,
            if_other: fits.get(usize::from(place == 0)).filter(|o| o.candidate != f.candidate).and_then(|o| {
                Some(if_other(candidates.get(f.candidate)?.wire, candidates.get(o.candidate)?.wire, o.candidate))
            }),
        })
        .collect();
    let none = share(ln_none) / total;
    Ok(Identified {
        next: next::gains(seen, &met, candidates, &ranked, instruments),
        findings: findings::judge(seen, &met, candidates, &ranked, none),
        ranked,
        none,
    })
}

fn if_other(this: &Wire, that: &Wire, other: usize) -> IfOther {
    IfOther {
        other,
        dcr: that.ohm_per_m().value / this.ohm_per_m().value - 1.0,
        overall: that.overall.value - this.overall.value,
    }
}

/// How well a candidate explains the measurements.
#[derive(Debug, Clone, Copy)]
struct Fit {
    candidate: usize,
    /// Logarithm of the density, and of the prior once it is added.
    ln: f64,
    misfit: f64,
}

/// Density and misfit of those measurements that are to be `counted`.
fn fit(wire: &Wire, seen: &Seen, met: &[Observation], counted: impl Fn(usize) -> bool) -> Fit {
    let kept: Vec<Observation> = met.iter().enumerate().filter(|(i, _)| counted(*i)).map(|(_, o)| *o).collect();
    let measures: Vec<_> = kept.iter().map(|o| o.measure).collect();
    let p = predict(wire, seen, &measures);
    let own = |i: usize, j: usize| if i == j { kept.get(i).map_or(0.0, |o| o.met.u * o.met.u) } else { 0.0 };
    let Some(factor) = Factor::new(kept.len(), |i, j| p.covariance(i, j) + own(i, j)) else {
        return Fit { candidate: 0, ln: f64::NEG_INFINITY, misfit: f64::INFINITY };
    };
    let e: Vec<f64> = kept.iter().enumerate().map(|(i, o)| o.met.value - p.value(i)).collect();
    let z = factor.whiten(&e);
    let misfit = dot(&z, &z);
    let ln = -0.5 * misfit - factor.half_ln_det() - 0.5 * kept.len() as f64 * LN_TWO_PI;
    Fit { candidate: 0, ln, misfit }
}

/// ln 2π.
const LN_TWO_PI: f64 = 1.837_877_066_409_345_5;

/// Logarithm of the density of the measurements if the wire is none of the candidates.
fn none_density(met: &[Observation]) -> f64 {
    met.iter().map(|o| -libm::log(o.met.value * libm::log(o.measure.spread()))).sum()
}

#[cfg(test)]
mod tests;
