//! What the winder must be told before he unwinds.

use super::{Question, Trim};
use crate::coil::findings::ONE_SIDED_95;
use crate::finding::Finding;

/// Standard uncertainties beyond which a coil is not the one that was planned.
const FAR: f64 = 3.0;

/// `chosen` is the count within the tolerance, `ratio_doubt` the standard uncertainty of measured over planned, both doubted.
pub(super) fn findings(q: &Question, t: &Trim, chosen: Option<f64>, ratio_doubt: f64) -> Vec<Finding> {
    let mut all = Vec::new();
    meter(q, t, &mut all);
    far_from_plan(t, ratio_doubt, &mut all);
    if t.unwind.is_some() {
        count(q, t, chosen, &mut all);
        below(q, t, &mut all);
    }
    all
}

fn meter(q: &Question, t: &Trim, all: &mut Vec<Finding>) {
    let (u, tolerance) = (ONE_SIDED_95 * t.dcr.u.ohm(), q.tolerance.ohm());
    if t.unwind.is_none() {
        all.push(
            Finding::stop(
                "meter_cannot_decide",
                format!(
                    "this meter cannot decide: its u of {:.3} Ω is {:.1} turns; use a meter of 0.01 Ω a digit, or compare with a resistor of 1 % on the same leads",
                    t.meter_u.ohm(),
                    t.meter_turns
                ),
            )
            .figures(t.meter_turns, 1.0),
        );
    } else if u > tolerance {
        all.push(
            Finding::watch(
                "reading_wider_than_tolerance",
                format!(
                    "± {u:.3} Ω (1.64 u) of the measurement is more than the ± {tolerance:.3} Ω allowed: whether the coil ends within them is not sure; take off one turn at a time, or measure against a known resistor"
                ),
            )
            .figures(u, tolerance),
        );
    }
}

fn far_from_plan(t: &Trim, doubt: f64, all: &mut Vec<Finding>) {
    let off = (t.ratio.value - 1.0).abs();
    if off > FAR * doubt {
        all.push(
            Finding::watch(
                "far_from_plan",
                format!(
                    "this coil measures {:.3} times its plan, {:.1} standard uncertainties off: is it this wire, and were the turns counted right?",
                    t.ratio.value,
                    off / doubt
                ),
            )
            .figures(off, FAR * doubt),
        );
    }
}

fn count(q: &Question, t: &Trim, chosen: Option<f64>, all: &mut Vec<Finding>) {
    let (value, turn, target, tolerance) = (t.dcr.value.ohm(), t.turn.value.ohm(), q.target.ohm(), q.tolerance.ohm());
    match chosen {
        None => all.push(
            Finding::watch(
                "no_count_within_tolerance",
                format!("no whole or half turn comes within {target:.3} ± {tolerance:.3} Ω, since one turn is {turn:.4} Ω: stay at the last whole turn above, and shorten the leads or widen the tolerance"),
            )
            .figures(turn, 2.0 * tolerance),
        ),
        Some(0.0) => all.push(
            Finding::note(
                "leave_it",
                format!("{value:.3} Ω is within {target:.3} ± {tolerance:.3} Ω and no whole turn comes nearer: leave it"),
            )
            .figures(value - target, tolerance),
        ),
        Some(turns) if libm::floor(turns) != turns => all.push(
            Finding::watch(
                "finish_lead_crosses",
                format!("{turns} turns bring the finish lead out on the other side; no whole turn is within {target:.3} ± {tolerance:.3} Ω"),
            )
            .figures(turns, libm::floor(turns)),
        ),
        Some(_) => {}
    }
}

/// A used-up layer leaves the finish lead at the other end of the winding.
fn below(q: &Question, t: &Trim, all: &mut Vec<Finding>) {
    let layers = q.design.turns_per_layer.len();
    let Some(step) = t.steps.iter().find(|s| Some(s.turns) == t.unwind).filter(|s| s.layer < layers) else { return };
    all.push(
        Finding::watch(
            "layer_used_up",
            format!("layer {layers} comes off altogether: the finish lead then leaves layer {}, and an odd number of layers ends on the far side", step.layer),
        )
        .figures(step.turns, f64::from(q.design.turns_per_layer.last().copied().unwrap_or(0))),
    );
}
