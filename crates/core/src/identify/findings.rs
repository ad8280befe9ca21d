//! What is odd about the measurements of a sample: outside all candidates, against each other, or silent on the metal.

use super::seen::{Measure, Observation, Seen, predict};
use super::{Candidate, Ranked, fit};
use crate::coil::findings::{Finding, Level};
use crate::conductor::Conductor;

/// A measurement further than this many of its standard uncertainties from every candidate fits none.
const FAR: f64 = 4.0;
/// Standard normal quantiles: a misfit that a true wire exceeds once in a thousand, and once in a million.
const ONCE_IN_A_THOUSAND: f64 = 3.090_232;
const ONCE_IN_A_MILLION: f64 = 4.753_424;

/// All findings.
pub(super) fn judge(
    seen: &Seen,
    met: &[Observation],
    candidates: &[Candidate],
    ranked: &[Ranked],
    none: f64,
) -> Vec<Finding> {
    let mut all = Vec::new();
    let strays = strays(seen, met, candidates);
    let least = ranked.iter().map(|r| r.misfit).fold(f64::INFINITY, f64::min);
    let limit = misfit_limit(met.len(), ONCE_IN_A_MILLION);
    if least > limit {
        all.push(Finding {
            code: "excludes_everything".to_owned(),
            level: Level::Stop,
            text: format!(
                "no candidate explains what was seen: the best has a misfit of {least:.0} where {limit:.0} is met once in a million; the probabilities only compare bad fits"
            ),
            figure: Some(least),
            limit: Some(limit),
        });
    }
    let alone = strays.is_empty();
    all.extend(strays);
    let limit = misfit_limit(met.len(), ONCE_IN_A_THOUSAND);
    if alone && met.len() > 1 && least > limit {
        all.push(contradiction(seen, met, candidates, least, limit));
    }
    if none > 0.5 {
        all.push(Finding {
            code: "none_of_these".to_owned(),
            level: Level::Watch,
            text: format!("with a probability of {none:.2} it is none of the {} candidates", ranked.len()),
            figure: Some(none),
            limit: Some(0.5),
        });
    }
    all.extend(metal_not_told(met, candidates, ranked));
    if seen.rated.is_some() && !met.iter().any(|o| o.measure == Measure::Rated) {
        let text = if seen.coil.is_some() {
            "the rated impedance is not used: the coil's resistance was measured and says more"
        } else {
            "the rated impedance says nothing about the wire without the coil's geometry"
        };
        all.push(note("rated_not_used", text.into()));
    }
    all
}

/// χ² of `n` measurements that a true wire exceeds with the probability of the normal quantile `z`.
///
/// # Sources
/// The cube-root approximation of Wilson and Hilferty (1931): within 1 % for the tails used here.
fn misfit_limit(n: usize, z: f64) -> f64 {
    let n = n as f64;
    let root = 1.0 - 2.0 / (9.0 * n) + z * libm::sqrt(2.0 / (9.0 * n));
    n * root * root * root
}

/// Measurements that fit no candidate, each by itself.
fn strays(seen: &Seen, met: &[Observation], candidates: &[Candidate]) -> Vec<Finding> {
    let measures: Vec<Measure> = met.iter().map(|o| o.measure).collect();
    let mut nearest = vec![(f64::INFINITY, 0.0); met.len()];
    for c in candidates.iter().filter(|c| c.weight > 0.0) {
        let p = predict(c.wire, seen, &measures);
        for (i, (o, near)) in met.iter().zip(&mut nearest).enumerate() {
            let off = (o.met.value - p.value(i)).abs() / libm::hypot(o.met.u, p.u(i));
            if off < near.0 {
                *near = (off, p.value(i));
            }
        }
    }
    met.iter()
        .zip(nearest)
        .filter(|(_, (off, _))| *off > FAR)
        .map(|(o, (off, shows))| Finding {
            code: "fits_no_candidate".to_owned(),
            level: Level::Watch,
            text: format!(
                "the {} of {} fits no candidate: the nearest would show {}, {off:.0} standard uncertainties away; check the reading and its unit",
                o.measure.name(),
                shown(o.measure, o.met.value),
                shown(o.measure, shows)
            ),
            figure: Some(off),
            limit: Some(FAR),
        })
        .collect()
}

/// Measurements that each fit some candidate, but none together: which one to doubt.
fn contradiction(seen: &Seen, met: &[Observation], candidates: &[Candidate], least: f64, limit: f64) -> Finding {
    let without = |left_out: usize| {
        candidates
            .iter()
            .filter(|c| c.weight > 0.0)
            .map(|c| fit(c.wire, seen, met, |i| i != left_out).misfit)
            .fold(f64::INFINITY, f64::min)
    };
    let doubtful = (0..met.len()).map(|i| (without(i), i)).min_by(|a, b| a.0.total_cmp(&b.0));
    let doubt = match doubtful.and_then(|(misfit, i)| met.get(i).map(|o| (misfit, o))) {
        Some((misfit, o)) if met.len() > 2 => format!(
            "without the {} of {} the rest agree best (misfit {misfit:.1}): measure it again",
            o.measure.name(),
            shown(o.measure, o.met.value)
        ),
        _ => "measure both again".into(),
    };
    Finding {
        code: "observations_contradict".to_owned(),
        level: Level::Watch,
        text: format!("no one wire shows all of this (misfit {least:.1}, met once in a thousand: {limit:.1}); {doubt}"),
        figure: Some(least),
        limit: Some(limit),
    }
}

/// Only mass or resistance tells copper from aluminium.
fn metal_not_told(met: &[Observation], candidates: &[Candidate], ranked: &[Ranked]) -> Option<Finding> {
    let tells = |o: &Observation| matches!(o.measure, Measure::Mass | Measure::Ohm | Measure::CoilOhm | Measure::Rated);
    if met.iter().any(tells) {
        return None;
    }
    let of = |metal: Conductor| -> f64 {
        let is = |r: &&Ranked| candidates.get(r.candidate).is_some_and(|c| c.wire.conductor == metal);
        ranked.iter().filter(is).map(|r| r.probability).sum()
    };
    let open: Vec<String> = Conductor::ALL
        .into_iter()
        .map(|metal| (metal, of(metal)))
        .filter(|(_, p)| *p > 0.01)
        .map(|(metal, p)| format!("{} {p:.2}", metal.name()))
        .collect();
    (open.len() > 1).then(|| {
        note(
            "metal_not_told",
            format!(
                "diameters do not tell the metal ({}): weigh a measured length or measure its resistance",
                open.join(", ")
            ),
        )
    })
}

fn shown(measure: Measure, si: f64) -> String {
    match measure {
        Measure::Overall | Measure::Bare | Measure::Pitch | Measure::Width => format!("{:.4} mm", 1e3 * si),
        Measure::Mass => format!("{:.4} g", 1e3 * si),
        Measure::Ohm | Measure::CoilOhm | Measure::Rated => format!("{si:.4} Ω"),
    }
}

fn note(code: &'static str, text: String) -> Finding {
    Finding::note(code, text)
}
