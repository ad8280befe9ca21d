//! How many turns to unwind so that a coil measures what it should, and what the meter shows on the way.

use crate::coil::Design;
use crate::coil::findings::{Finding, Level, ONE_SIDED_95};
use crate::measured::{Measured, half_width_to_u};
use crate::quantity::{Length, Resistance, Temperature};
use crate::reading::Meter;
use crate::wire::Wire;
use core::f64::consts::PI;

/// A wound coil on the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Question<'a> {
    /// The wire it was wound of.
    pub wire: &'a Wire,
    /// The coil as planned, with the counts that were really wound.
    pub design: &'a Design,
    /// What the meter shows.
    pub reading: Resistance,
    /// What the test leads show when shorted.
    pub test_leads: Measured<Resistance>,
    /// Temperature of the coil.
    pub temperature: Measured<Temperature>,
    /// What it should have at 20 °C, with its magnet-wire leads.
    pub target: Resistance,
    /// How far it may be off.
    pub tolerance: Resistance,
    /// The meter.
    pub meter: Meter,
}

/// Where the finish lead comes out after unwinding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// On the same side as before: whole turns.
    Same,
    /// Across the coil: half turns.
    Opposite,
}

/// The coil with some turns less.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Turns unwound, in halves.
    pub turns: f64,
    /// Resistance at 20 °C then.
    pub dcr: Measured<Resistance>,
    /// What this meter should show then, at this temperature with these leads.
    pub reading: Measured<Resistance>,
    /// Where the finish lead comes out.
    pub exit: Exit,
    /// Layer that is then the outermost, from 1.
    pub layer: usize,
    /// Turns that are then left on it.
    pub left_on_layer: f64,
    /// Width that this layer has lost.
    pub width_lost: Length,
    /// Whether it is within the tolerance.
    pub within: bool,
}

/// What to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Trim {
    /// Resistance now, at 20 °C.
    pub dcr: Measured<Resistance>,
    /// Measured over planned, without the magnet-wire leads.
    pub ratio: Measured<f64>,
    /// One turn of the outermost layer of this coil at 20 °C.
    pub turn: Measured<Resistance>,
    /// Turns that would meet the target: a real number, not to be unwound.
    pub exact_turns: f64,
    /// Turns to unwind.
    pub unwind: f64,
    /// Below this reading the coil is out of tolerance for good.
    pub stop_reading: Resistance,
    /// Steps of half a turn around the one to take.
    pub steps: Vec<Step>,
    /// What the winder must be told.
    pub findings: Vec<Finding>,
}

/// Why the coil cannot be trimmed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TrimError {
    /// Nothing can be put back.
    #[error(
        "the coil has {dcr_ohm:.3} Ω at 20 °C, {short_ohm:.3} Ω below the least allowed {least_ohm:.3} Ω: unwinding only lowers it, and nothing can be put back"
    )]
    AlreadyLow {
        /// Resistance at 20 °C.
        dcr_ohm: f64,
        /// Target less tolerance.
        least_ohm: f64,
        /// By how much it is short.
        short_ohm: f64,
    },
    /// The reading is no more than what test leads and magnet-wire leads have.
    #[error("a reading of {reading_ohm:.3} Ω leaves nothing for the winding after {leads_ohm:.3} Ω of leads")]
    NothingLeft {
        /// The reading.
        reading_ohm: f64,
        /// Test leads and magnet-wire leads.
        leads_ohm: f64,
    },
    /// The target lies below what would be left of the coil.
    #[error("{target_ohm:.3} Ω would need all {turns} turns to be unwound: this is another coil, wind it anew")]
    NotThisCoil {
        /// The target.
        target_ohm: f64,
        /// All turns there are.
        turns: u32,
    },
}

/// Relative doubt of what a turn has beyond the coil's own ratio: unevenness of wire and layers, common practice, no source.
const UNEVEN: f64 = 0.01;

/// Finds the turns to unwind.
///
/// ```text
/// R20 = (reading − test leads)/(1 + α(T − 20))          s = (R20 − R_leads)/(R_planned − R_leads)
/// turn of layer i = s · r20·(1 + ε_R)·π·D_i
/// ```
///
/// The outermost layer goes first, then the one below. The choice is the count of whole turns within the tolerance that
/// comes nearest to the target, since whole turns keep the finish lead on its side; only if there is none, the nearest
/// count with a half; if there is none either, the last whole turn above the target, from where nothing is lost yet.
///
/// What the meter will show is better known than the value: its error stays the same while turns come off.
///
/// # Errors
/// [`TrimError`] where unwinding cannot help.
pub fn trim(q: &Question) -> Result<Trim, TrimError> {
    let k = q.wire.conductor.resistance_ratio(q.temperature.value);
    let r20 = q.wire.ohm_per_m().value.ohm_per_m();
    let leads = r20 * q.design.assumed.leads.value.m();
    let dcr = now(q, k);
    let planned = q.design.dcr.value.ohm() - leads;
    let winding = dcr.value.ohm() - leads;
    if winding <= 0.0 {
        let leads_ohm = q.test_leads.value.ohm() + leads * k;
        return Err(TrimError::NothingLeft { reading_ohm: q.reading.ohm(), leads_ohm });
    }
    let (target, tolerance) = (q.target.ohm(), q.tolerance.ohm());
    let least = target - tolerance;
    if dcr.value.ohm() < least {
        let dcr_ohm = dcr.value.ohm();
        return Err(TrimError::AlreadyLow { dcr_ohm, least_ohm: least, short_ohm: least - dcr_ohm });
    }
    let ratio = winding / planned;
    let wound = r20 * (1.0 + q.design.assumed.resistance_excess.value) * ratio;
    let layers: Vec<Layer> = q
        .design
        .layer_diameters
        .iter()
        .zip(&q.design.turns_per_layer)
        .map(|(d, n)| Layer { turn: wound * PI * d.value.m(), turns: *n })
        .collect();
    let all: f64 = layers.iter().map(|l| f64::from(l.turns)).sum();
    let walk = Walk { layers: &layers, start: dcr.value.ohm() };
    let exact = walk.turns_to(target).filter(|t| *t <= all - 1.0);
    let Some(exact) = exact else {
        return Err(TrimError::NotThisCoil { target_ohm: target, turns: q.design.turns });
    };
    let unwind = choose(&walk, exact, target, tolerance);
    let step = |halves: u32| describe(q, &walk, f64::from(halves) * 0.5, k, dcr);
    let steps = around(unwind.unwrap_or(libm::floor(exact)), all).map(step).collect();
    let (share, u) = (dcr.u / dcr.value, dcr.u.ohm());
    let turn = layers.last().map_or(0.0, |l| l.turn);
    Ok(Trim {
        dcr,
        ratio: Measured::new(ratio, u / planned),
        turn: Measured::new(Resistance::from_ohm(turn), Resistance::from_ohm(turn * libm::hypot(share, UNEVEN))),
        exact_turns: exact,
        unwind: unwind.unwrap_or(libm::floor(exact)),
        stop_reading: Resistance::from_ohm(least * k + q.test_leads.value.ohm()),
        steps,
        findings: findings(q, unwind, turn, dcr, ratio),
    })
}

/// The value at 20 °C, with the doubt of meter, temperature and test leads.
fn now(q: &Question, k: f64) -> Measured<Resistance> {
    let dcr = (q.reading.ohm() - q.test_leads.value.ohm()) / k;
    let meter = q.meter.u(q.reading).ohm();
    let leads = if matches!(q.meter, Meter::Class { .. }) { q.test_leads.u.ohm() } else { 0.0 };
    let warm = dcr * q.wire.conductor.alpha20() * q.temperature.u.c();
    let u = libm::sqrt(meter * meter + leads * leads + warm * warm) / k;
    Measured::new(Resistance::from_ohm(dcr), Resistance::from_ohm(u))
}

#[derive(Debug, Clone, Copy)]
struct Layer {
    /// One turn of it, Ω at 20 °C.
    turn: f64,
    turns: u32,
}

/// The coil being unwound from outside.
struct Walk<'a> {
    layers: &'a [Layer],
    /// Ω at 20 °C before.
    start: f64,
}

impl Walk<'_> {
    /// Turns until the value is down to `target`; 0 if it is there already, `None` if it never gets there.
    fn turns_to(&self, target: f64) -> Option<f64> {
        let (mut over, mut turns) = (self.start - target, 0.0);
        if over <= 0.0 {
            return Some(0.0);
        }
        for l in self.layers.iter().rev() {
            let holds = f64::from(l.turns) * l.turn;
            if over <= holds {
                return Some(turns + over / l.turn);
            }
            over -= holds;
            turns += f64::from(l.turns);
        }
        None
    }

    /// The value after `turns`, the layer (from 0) that is outermost then, and the turns gone from it.
    fn after(&self, turns: f64) -> (f64, usize, f64) {
        let (mut value, mut gone) = (self.start, turns);
        for (i, l) in self.layers.iter().enumerate().rev() {
            let on_it = f64::from(l.turns);
            if gone < on_it || i == 0 {
                return (value - gone * l.turn, i, gone);
            }
            value -= on_it * l.turn;
            gone -= on_it;
        }
        (value, 0, gone)
    }
}

/// The count to take; `None` if no whole or half count meets the tolerance.
fn choose(walk: &Walk, exact: f64, target: f64, tolerance: f64) -> Option<f64> {
    let off = |turns: f64| (walk.after(turns).0 - target).abs();
    // Nearest first; of two as near the one with more left on the coil.
    let best = |counts: [f64; 2]| {
        counts
            .into_iter()
            .filter(|t| *t >= 0.0 && off(*t) <= tolerance * (1.0 + 1e-9))
            .min_by(|a, b| off(*a).total_cmp(&off(*b)))
    };
    let whole = libm::floor(exact);
    let half = libm::floor(exact - 0.5) + 0.5;
    best([whole, whole + 1.0]).or_else(|| best([half, half + 1.0]))
}

/// Half turns from one and a half before `turns` to one and a half beyond it, within the coil.
fn around(turns: f64, all: f64) -> core::ops::RangeInclusive<u32> {
    let halves = (2.0 * turns) as u32;
    let most = (2.0 * (all - 1.0)) as u32;
    halves.saturating_sub(3)..=(halves + 3).min(most)
}

fn describe(q: &Question, walk: &Walk, turns: f64, k: f64, dcr: Measured<Resistance>) -> Step {
    let (value, layer, gone) = walk.after(turns);
    let off = (walk.start - value) * k;
    let digit = match q.meter {
        Meter::Class { resolution, .. } => half_width_to_u(0.5 * resolution.ohm()),
        Meter::Comparison { .. } => 0.0,
    };
    // What came off carries the coil's doubt as a share; what stays on is read with the same error as before.
    let reading_u = libm::hypot(off * libm::hypot(dcr.u / dcr.value, UNEVEN), digit);
    let on_layer = q.design.turns_per_layer.get(layer).map_or(0.0, |n| f64::from(*n));
    Step {
        turns,
        dcr: Measured::new(
            Resistance::from_ohm(value),
            Resistance::from_ohm(libm::hypot(dcr.u.ohm(), off / k * UNEVEN)),
        ),
        reading: Measured::new(Resistance::from_ohm(q.reading.ohm() - off), Resistance::from_ohm(reading_u)),
        exit: if libm::floor(turns) == turns { Exit::Same } else { Exit::Opposite },
        layer: layer + 1,
        left_on_layer: on_layer - gone,
        width_lost: q.design.pitch.value * gone,
        within: (value - q.target.ohm()).abs() <= q.tolerance.ohm() * (1.0 + 1e-9),
    }
}

fn findings(q: &Question, unwind: Option<f64>, turn: f64, dcr: Measured<Resistance>, ratio: f64) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut say = |code: &str, level, text: String, figure: f64, limit: f64| {
        all.push(Finding { code: code.to_owned(), level, text, figure: Some(figure), limit: Some(limit) });
    };
    let (u, tolerance) = (dcr.u.ohm(), q.tolerance.ohm());
    let value = dcr.value.ohm();
    match unwind {
        None => say(
            "no_count_within_tolerance",
            Level::Watch,
            format!(
                "no whole or half turn comes within ± {tolerance:.3} Ω: one turn is {turn:.4} Ω; stay above the target, or shorten the leads"
            ),
            turn,
            tolerance,
        ),
        Some(0.0) => say(
            "leave_it",
            Level::Note,
            format!(
                "{value:.3} Ω is within {:.3} ± {tolerance:.3} Ω and no whole turn comes nearer: leave it",
                q.target.ohm()
            ),
            value - q.target.ohm(),
            tolerance,
        ),
        Some(turns) if libm::floor(turns) != turns => say(
            "finish_lead_crosses",
            Level::Watch,
            format!(
                "{turns} turns bring the finish lead out on the other side; no whole turn is within ± {tolerance:.3} Ω"
            ),
            turns,
            libm::floor(turns),
        ),
        Some(_) => {}
    }
    if u > turn {
        say(
            "meter_cannot_decide",
            Level::Stop,
            format!(
                "this meter cannot decide: u {u:.3} Ω is {:.1} turns; use a meter of 0.01 Ω a digit, or compare with a resistor of 1 % on the same leads",
                u / turn
            ),
            u / turn,
            1.0,
        );
    } else if ONE_SIDED_95 * u > tolerance {
        say(
            "reading_wider_than_tolerance",
            Level::Watch,
            format!(
                "u {u:.3} Ω ({:.1} turns) is too wide to be 95 % sure of ± {tolerance:.3} Ω: unwind one turn less, measure, then decide",
                u / turn
            ),
            ONE_SIDED_95 * u,
            tolerance,
        );
    }
    let plan_u = q.design.dcr.u / q.design.dcr.value;
    let off = (ratio - 1.0).abs() / libm::hypot(plan_u, dcr.u / dcr.value);
    if off > 3.0 {
        say(
            "far_from_plan",
            Level::Watch,
            format!(
                "this coil measures {ratio:.3} times its plan, {off:.1} standard uncertainties off: is it this wire, and were the turns counted right?"
            ),
            ratio,
            1.0,
        );
    }
    all
}

#[cfg(test)]
mod tests;
