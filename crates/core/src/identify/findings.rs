//! What is odd about the measurements of a sample: outside all candidates, against each other, or silent on the metal.

use super::seen::{Measure, Observation, Seen};
use super::{Candidate, Ranked, Shows, density};
use crate::conductor::Conductor;
use crate::finding::Finding;

/// A measurement further than this many of its standard uncertainties from every candidate fits none.
const FAR: f64 = 4.0;
/// χ² that a true wire exceeds once in a thousand, for 1 to 8 measurements. Any table of χ²; here scipy's `chi2.isf`.
const ONCE_IN_A_THOUSAND: [f64; 8] = [10.828, 13.816, 16.266, 18.467, 20.515, 22.458, 24.322, 26.124];
/// The same, once in a million (scipy's `chi2.isf`).
const ONCE_IN_A_MILLION: [f64; 8] = [23.928, 27.631, 30.665, 33.377, 35.888, 38.258, 40.522, 42.701];

/// All findings, the serious ones first.
pub(super) fn judge(
    seen: &Seen,
    met: &[Observation],
    candidates: &[Candidate],
    shows: &[Shows],
    ranked: &[Ranked],
    none: f64,
) -> Vec<Finding> {
    let strays = strays(met, shows);
    let least = shows.iter().map(|s| s.misfit).fold(f64::INFINITY, f64::min);
    let mut all: Vec<Finding> = Vec::new();
    all.extend(excludes_everything(met, least));
    if strays.is_empty() {
        all.extend(contradiction(met, shows, least));
    }
    all.extend(strays);
    if none > 0.5 {
        let text = format!("with a probability of {none:.3} it is none of the {} candidates", ranked.len());
        all.push(Finding::watch("none_of_these", text).figures(none, 0.5));
    }
    all.extend(metal_not_told(met, candidates, ranked));
    all.extend(not_used(seen, met));
    all.sort_by_key(|f| f.level);
    all
}

/// Even the best candidate is out of the question.
fn excludes_everything(met: &[Observation], least: f64) -> Option<Finding> {
    let limit = limit(&ONCE_IN_A_MILLION, met)?;
    (least > limit).then(|| {
        let text = format!(
            "no candidate shows what was seen: the best misses with a misfit of {least:.0}, and a true wire exceeds {limit:.0} once in a million; the probabilities only rank bad fits. Widen the candidates or check the readings and their units"
        );
        Finding::stop("excludes_everything", text).figures(least, limit)
    })
}

fn limit(table: &[f64; 8], met: &[Observation]) -> Option<f64> {
    table.get(met.len().checked_sub(1)?).copied()
}

/// Measurements that fit no candidate, each by itself.
fn strays(met: &[Observation], shows: &[Shows]) -> Vec<Finding> {
    let stray = |(i, o): (usize, &Observation)| {
        let off = |s: &Shows| (o.met.value - s.prediction.value(i)).abs() / libm::hypot(o.met.u, s.prediction.u(i));
        let nearest = shows.iter().map(|s| (off(s), s.prediction.value(i))).min_by(|a, b| a.0.total_cmp(&b.0))?;
        (nearest.0 > FAR).then(|| {
            let text = format!(
                "the {} of {} fits no candidate: the nearest would show {}, {:.0} standard uncertainties away; check the reading and its unit",
                o.measure.name(),
                o.measure.shown(o.met.value),
                o.measure.shown(nearest.1),
                nearest.0
            );
            Finding::watch("fits_no_candidate", text).figures(nearest.0, FAR)
        })
    };
    met.iter().enumerate().filter_map(stray).collect()
}

/// Measurements that each fit some candidate, but none together: which one to doubt.
fn contradiction(met: &[Observation], shows: &[Shows], least: f64) -> Option<Finding> {
    let limit = limit(&ONCE_IN_A_THOUSAND, met)?;
    if met.len() < 2 || least <= limit {
        return None;
    }
    let without = |left_out: usize| {
        shows.iter().map(|s| density(&s.prediction, met, |i| i != left_out).1).fold(f64::INFINITY, f64::min)
    };
    let best = met.iter().enumerate().map(|(i, o)| (without(i), o)).min_by(|a, b| a.0.total_cmp(&b.0));
    let doubt = match best {
        Some((misfit, o)) if met.len() > 2 => format!(
            "without the {} of {} the rest agree best (misfit {misfit:.1}): measure it again first",
            o.measure.name(),
            o.measure.shown(o.met.value)
        ),
        _ => "measure both again".into(),
    };
    let text = format!(
        "no one wire shows all of this: the best misses with a misfit of {least:.1}, and a true wire exceeds {limit:.1} once in a thousand; {doubt}"
    );
    Some(Finding::watch("observations_contradict", text).figures(least, limit))
}

/// Only mass or resistance tells copper from aluminium.
fn metal_not_told(met: &[Observation], candidates: &[Candidate], ranked: &[Ranked]) -> Option<Finding> {
    if met.iter().any(|o| o.measure.tells_metal()) {
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
        let text = format!(
            "diameters do not tell the metal ({}): weigh a measured length or measure its resistance",
            open.join("; ")
        );
        Finding::watch("metal_not_told", text)
    })
}

/// What was given and counts for nothing.
fn not_used(seen: &Seen, met: &[Observation]) -> Vec<Finding> {
    let mut all = Vec::new();
    let described = seen.coil.as_ref().is_some_and(|c| c.is_described());
    if seen.rated.is_some() && !met.iter().any(|o| o.measure == Measure::Rated) {
        let text = if described {
            "the rated impedance is not used: the coil's own resistance says more"
        } else {
            "the rated impedance says nothing about the wire without the coil: give its inside diameter, wall, and turns or width and layers"
        };
        all.push(Finding::note("rated_not_used", text.into()));
    }
    if seen.coil.as_ref().is_some_and(|c| c.ohm.is_some()) && !described {
        let text =
            "the coil's resistance says nothing about the wire without its turns: count them, or give width and layers";
        all.push(Finding::note("coil_not_used", text.into()));
    }
    all
}
