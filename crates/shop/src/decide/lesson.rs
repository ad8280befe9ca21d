//! What a good coil teaches: its figures held against a plan by first values, and whether they lie off what was expected.

use super::record::Record;
use super::{CANNOT_BE, WORTH_A_WORD};
use crate::fact::{CoilPlan, Lesson, LessonDrawn};
use crate::finding::Finding;
use crate::learning::{expected_ratio, mandrel_key};
use crate::spool::Spool;
use crate::state::State;
use crate::uncertain::Uncertain;
use coilwright_core::learning::{Seen, likely_cause};

/// A pitch or a radial step outside of this is a slip of the calliper, not a habit.
const PITCHES: (f64, f64) = (0.95, 1.25);
const STEPS: (f64, f64) = (0.80, 1.10);

/// The lesson of a coil wound well, and what is to be said of it.
pub(super) fn lesson(state: &State, plan: &CoilPlan, spool: &Spool, ask: &Record, dcr: Option<Uncertain>) -> Taught {
    let mut findings = Vec::new();
    let wire = spool.wire().key().to_owned();
    let planned_wire = wire == plan.wire;
    let mandrel_mm = ask.mandrel_mm.or(plan.mandrel_mm);
    let counted = counted(plan, &ask.turns_per_layer);
    let drawn = ask.drawn_m.and_then(|d| drawn(plan, counted, d));
    let first = plan.first.map(|f| f.dcr_ohm).or(plan.dcr_ohm);
    let mut lesson = Lesson {
        wire,
        mandrel_mm,
        dcr_ratio: None,
        expected: None,
        cause: String::new(),
        left_out: false,
        pitch_factor: pitch(plan, ask, &mut findings),
        nesting: nesting(plan, ask, &mut findings),
        drawn,
    };
    if let Some((met, first)) = dcr.zip(first).filter(|_| planned_wire) {
        let by_first = Uncertain::new(first.value * counted.share, first.u * counted.share);
        let ratio = met.value / by_first.value;
        let learned = expected_ratio(state, &lesson.wire, mandrel_key(mandrel_mm), ask.winder.trim());
        // The plan's own doubt fades as own coils take its place.
        let plan_u = libm::sqrt(1.0 - learned.weight) * by_first.u / by_first.value;
        let own_u = libm::hypot(learned.scatter, learned.u);
        let u = libm::hypot(libm::hypot(own_u, plan_u), met.u / by_first.value);
        let off = ratio - learned.mean;
        if ratio.is_finite() && u.is_finite() {
            lesson.dcr_ratio = Some(ratio);
            lesson.expected = Some(Uncertain::new(learned.mean, u));
            lesson.left_out = off.abs() > CANNOT_BE * u;
            if off.abs() > WORTH_A_WORD * u {
                let seen = Seen { ratio: ratio / learned.mean, u, turns: counted.turns, drawn: drawn.map(|d| d.ratio) };
                lesson.cause = likely_cause(&seen);
                findings.push(off_plan(met, by_first.value * learned.mean, learned.weight > 0.0, &lesson));
            }
        }
    }
    Taught { lesson, findings }
}

/// A lesson, and what is to be said of it.
pub(super) struct Taught {
    pub(super) lesson: Lesson,
    pub(super) findings: Vec<Finding>,
}

fn off_plan(met: Uncertain, expected: f64, by_own: bool, lesson: &Lesson) -> Finding {
    let what = if by_own { "that this shop's coils make likely" } else { "planned" };
    let left_out = if lesson.left_out { "; so far off that nothing is learned from it" } else { "" };
    let text = format!(
        "{:.3} Ω at 20 °C, {:+.1} % from the {expected:.3} Ω {what}: {}{left_out}",
        met.value,
        (met.value / expected - 1.0) * 100.0,
        lesson.cause
    );
    Finding::watch("dcr_off_plan", text).figures(met.value, expected)
}

/// The turns that were wound, and what they make of the plan.
#[derive(Clone, Copy)]
struct Counted {
    turns: u32,
    /// Wire in the winding.
    wound_m: f64,
    /// Over the plan's; 1 where nothing was counted or nothing is planned.
    share: f64,
}

fn counted(plan: &CoilPlan, turns: &[u32]) -> Counted {
    let planned: f64 = plan.layers.iter().map(|l| f64::from(l.turns) * l.turn_m).sum();
    let planned_turns = plan.layers.iter().fold(0u32, |sum, l| sum.saturating_add(l.turns));
    if turns.len() != plan.layers.len() || turns.is_empty() || planned <= 0.0 {
        return Counted { turns: planned_turns, wound_m: planned, share: 1.0 };
    }
    let wound_m: f64 = plan.layers.iter().zip(turns).map(|(l, n)| f64::from(*n) * l.turn_m).sum();
    let all = turns.iter().fold(0u32, |sum, n| sum.saturating_add(*n));
    Counted { turns: all, wound_m, share: if wound_m > 0.0 { wound_m / planned } else { 1.0 } }
}

fn drawn(plan: &CoilPlan, counted: Counted, met: Uncertain) -> Option<LessonDrawn> {
    let planned_wound = counted.wound_m / counted.share;
    let planned = plan.first.map_or(plan.draw_m, |f| f.draw_m).value + counted.wound_m - planned_wound;
    let ratio = met.value / planned;
    // Beyond this another thing was measured than the wire of this coil.
    let one_coil = planned > 0.0 && (0.8..=1.25).contains(&ratio);
    one_coil.then(|| LessonDrawn {
        wound_m: counted.wound_m,
        ratio,
        more_m: Uncertain::new(met.value - planned, met.u),
    })
}

/// k = (W − o)/(max N·o).
fn pitch(plan: &CoilPlan, ask: &Record, findings: &mut Vec<Finding>) -> Option<f64> {
    let (width, o) = ask.width_mm.zip(plan.overall_mm)?;
    let turns = ask.turns_per_layer.iter().copied().chain(plan.layers.iter().map(|l| l.turns));
    // A real count rules; where there is none the plan's was wound.
    let most = if ask.turns_per_layer.is_empty() { turns.max() } else { ask.turns_per_layer.iter().copied().max() };
    let k = (width - o) / (f64::from(most.filter(|n| *n > 0)?) * o);
    believable("pitch", "width_mm", width, k, PITCHES, findings)
}

/// b = ((D − D₀)/2o − 1)/(n − 1).
fn nesting(plan: &CoilPlan, ask: &Record, findings: &mut Vec<Finding>) -> Option<f64> {
    let ((outside, o), base) = ask.outside_mm.zip(plan.overall_mm).zip(plan.base_mm)?;
    let above = f64::from(u32::try_from(plan.layers.len()).ok()?) - 1.0;
    if above < 1.0 {
        return None;
    }
    let b = ((outside - base) / (2.0 * o) - 1.0) / above;
    believable("step from layer to layer", "outside_mm", outside, b, STEPS, findings)
}

fn believable(
    what: &str,
    from: &str,
    met: f64,
    value: f64,
    (least, most): (f64, f64),
    findings: &mut Vec<Finding>,
) -> Option<f64> {
    if (least..=most).contains(&value) {
        return Some(value);
    }
    let text = format!(
        "`{from}` of {met} mm would make the {what} {value:.2} wire diameters, which is no winding: measure it again"
    );
    findings.push(Finding::watch("measure_again", text).figures(value, most));
    None
}
