//! Mixing an adhesive for a coil: how much, weighed how well, workable for how long, cured how.

use crate::adhesive::{Adhesive, BENCH, CureAt, RULE_TRUSTED_K};
use crate::finding::Finding;
use crate::measured::Measured;
use crate::origin::{Mark, Origin};
use crate::quantity::{Mass, Temperature};

mod judging;

/// What stays in the cup and on the brush, as a fraction of what the coils take: common practice, no source.
pub const WASTE: f64 = 0.5;

/// The question.
#[derive(Debug, Clone, PartialEq)]
pub struct MixSpec {
    /// The adhesive.
    pub adhesive: Adhesive,
    /// Cured adhesive in one coil.
    pub cured: Measured<Mass>,
    /// Coils to wind with one mix.
    pub coils: u32,
    /// Lost beside the coils, as a fraction of what they take.
    pub waste: Option<f64>,
    /// The step of the scale's display.
    pub step: Mass,
    /// Temperature of the room.
    pub room: Option<Temperature>,
    /// Wet winding of all these coils, minutes.
    pub winding_min: Option<f64>,
    /// Temperature to cure at; all stated ones where none.
    pub cure: Option<Temperature>,
    /// Temperature of the working coil.
    pub hot: Option<Temperature>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixed {
    /// What the coils take and the waste, as mixed: solvent included.
    pub needed: Mass,
    /// The least that this scale can weigh in the ratio; none for one part, or where no limit of the ratio is known.
    pub least: Option<Mass>,
    /// What to weigh.
    pub weigh: Weigh,
    /// Temperature of the room that was taken.
    pub room: Temperature,
    /// Minutes that it stays workable there.
    pub pot_life_min: Option<f64>,
    /// Minutes left when the winding is done; negative if they are missing.
    pub spare_min: Option<f64>,
    /// The cure asked for, or every stated one.
    pub cures: Vec<CureAt>,
    /// What must be told, the serious first.
    pub findings: Vec<Finding>,
    /// What was taken where nothing was said.
    pub origins: Vec<Origin>,
}

/// What to weigh, in whole steps of the display.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weigh {
    /// Resin, or the one part.
    pub resin: Mass,
    /// Hardener.
    pub hardener: Option<Mass>,
    /// Standard uncertainty of the ratio, as a fraction of it.
    pub ratio_u: Option<f64>,
    /// How far the ratio of these steps is off, as a fraction of it.
    pub ratio_off: Option<f64>,
}

impl Weigh {
    /// Both parts.
    pub fn total(self) -> Mass {
        self.resin + self.hardener.unwrap_or(Mass::ZERO)
    }
}

/// Answers the question. Its numbers are taken as checked: above zero where they must be.
pub fn mix(spec: &MixSpec) -> Mixed {
    let mut origins = Vec::new();
    let mut habit = |param: &str, value: f64, unit: &'static str, source: &str| {
        let (mark, source) = (Mark::CommonPractice, source.to_owned());
        origins.push(Origin { param: param.to_owned(), value, u: 0.0, unit, mark, source });
    };
    let waste = spec.waste.unwrap_or_else(|| {
        habit("waste_pct", 100.0 * WASTE, "%", "left in the cup and on the brush; no source");
        WASTE
    });
    let room = spec.room.unwrap_or_else(|| {
        habit("temperature_c", BENCH.c(), "°C", "a bench of which nothing is said; no source");
        BENCH
    });
    let a = &spec.adhesive;
    let needed = spec.cured.value * (f64::from(spec.coils) * (1.0 + waste) / a.solids);
    let least = least_mix(a, spec.step);
    let weigh = weigh(needed.max(least.unwrap_or(Mass::ZERO)), a.hardener, spec.step);
    let pot_life_min = a.pot_life_at(room);
    let mut mixed = Mixed {
        needed,
        least,
        weigh,
        room,
        pot_life_min,
        spare_min: pot_life_min.zip(spec.winding_min).map(|(pot, winding)| pot - winding),
        cures: match spec.cure {
            Some(t) => a.cure_at(t).into_iter().collect(),
            None => a.cures.iter().map(|c| CureAt { hours: c.hours, glass: c.glass, from: *c }).collect(),
        },
        findings: Vec::new(),
        origins,
    };
    mixed.findings = judging::judge(spec, &mixed);
    mixed
}

/// Standard uncertainty of a ratio of hardener to resin weighed into one cup, as a fraction of it.
///
/// ```text
/// resin m = w₁ − w₀,  hardener h = w₂ − w₁,  each reading good to a = step/√12:
/// u(h/m)/(h/m) = a·√(2/h² + 2/m² + 2/(h·m))
/// ```
///
/// The middle reading ends one part and begins the other, so the errors add. A scale that is off by a factor is off for both
/// parts: it does not count. How well the scale repeats is taken as better than its step.
///
/// Worked: 5 g and 5 g on a scale that shows 0.1 g: 1.41 %.
pub fn ratio_u(resin: Mass, hardener: Mass, step: Mass) -> f64 {
    let (m, h) = (resin.kg(), hardener.kg());
    step.kg() / libm::sqrt(12.0) * libm::sqrt(2.0 / (h * h) + 2.0 / (m * m) + 2.0 / (h * m))
}

/// The least mix whose ratio stays within its limit by twice its standard uncertainty.
///
/// ```text
/// T = 2·a·(1 + r)·√(2 + 2/r + 2/r²)/limit
/// ```
///
/// Worked: equal parts within 5 % on a scale that shows 0.1 g: 5.66 g; on one that shows 0.01 g: 0.57 g.
pub fn least_mix(a: &Adhesive, step: Mass) -> Option<Mass> {
    let (r, limit) = (a.hardener?, a.ratio_limit?);
    let by_step = 2.0 * (1.0 + r) * libm::sqrt(2.0 + 2.0 / r + 2.0 / (r * r)) / (limit * libm::sqrt(12.0));
    Some(step * by_step)
}

/// At least `total`, in whole steps of the display. The resin is taken up to a tenth further until the hardener comes out on
/// a step too: 10.7 g and 3.21 g cannot be weighed in steps of 0.1 g, 11.0 g and 3.3 g can.
fn weigh(total: Mass, hardener: Option<f64>, step: Mass) -> Weigh {
    // A hair of slack, so that 3.0 g is not 30.000000000000004 steps.
    let steps = |m: Mass| libm::ceil(m / step - 1e-9).max(1.0);
    let Some(r) = hardener else {
        return Weigh { resin: step * steps(total), hardener: None, ratio_u: None, ratio_off: None };
    };
    let least = steps(total * (1.0 / (1.0 + r)));
    let off = |resin: f64| libm::round(resin * r).max(1.0) / (resin * r) - 1.0;
    let further = (least / 10.0).clamp(10.0, 200.0) as u32;
    let mut resin = least;
    for tried in (0..=further).map(|n| least + f64::from(n)) {
        if off(tried).abs() < off(resin).abs() - 1e-9 {
            resin = tried;
        }
    }
    let (m, h) = (step * resin, step * libm::round(resin * r).max(1.0));
    Weigh { resin: m, hardener: Some(h), ratio_u: Some(ratio_u(m, h, step)), ratio_off: Some(off(resin)) }
}

/// Whether a temperature lies so far from a stated one that the rule of doubling is a guess.
fn far(stated: Temperature, t: Temperature) -> bool {
    (t.c() - stated.c()).abs() > RULE_TRUSTED_K
}

#[cfg(test)]
mod tests;
