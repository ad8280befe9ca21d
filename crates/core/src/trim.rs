//! How many turns to unwind so that a coil measures what it should, and what the meter shows on the way.

mod told;
mod walk;

use crate::coil::Design;
use crate::finding::Finding;
use crate::measured::{Input, Inputs, Measured};
use crate::meter::Meter;
use crate::quantity::{Length, Resistance, Temperature};
use crate::wire::Wire;
use core::f64::consts::PI;
use walk::{Layer, Walk};

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
    /// Measured over planned, without the magnet-wire leads; its doubt is the measurement's.
    pub ratio: Measured<f64>,
    /// One turn of the outermost layer of this coil at 20 °C.
    pub turn: Measured<Resistance>,
    /// Standard uncertainty that the meter gives the reading.
    pub meter_u: Resistance,
    /// The same in turns.
    pub meter_turns: f64,
    /// Turns that would meet the target: a real number, not to be unwound.
    pub exact_turns: f64,
    /// Turns to unwind; `None` where this meter cannot tell one turn from none.
    pub unwind: Option<f64>,
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
        "the coil has {dcr_ohm:.3} ± {u_ohm:.3} Ω at 20 °C, {:.3} Ω below the least allowed {least_ohm:.3} Ω: unwinding only lowers it, and nothing can be put back", least_ohm - dcr_ohm
    )]
    AlreadyLow {
        /// Resistance at 20 °C.
        dcr_ohm: f64,
        /// Its standard uncertainty.
        u_ohm: f64,
        /// Target less tolerance.
        least_ohm: f64,
    },
    /// The reading is no more than what test leads and magnet-wire leads have.
    #[error(
        "a reading of {reading_ohm:.3} Ω leaves nothing for the winding after {leads_ohm:.3} Ω of test leads and magnet-wire leads: is the coil shorted, or the reading that of the leads?"
    )]
    NothingLeft {
        /// The reading.
        reading_ohm: f64,
        /// Test leads and magnet-wire leads.
        leads_ohm: f64,
    },
    /// The reading is so far from the plan that something else is wrong.
    #[error(
        "{dcr_ohm:.3} Ω at 20 °C is {ratio:.2} times what is planned: an open joint, a wrong range, or other wire; unwinding does not mend that"
    )]
    FarFromPlan {
        /// The coil at 20 °C.
        dcr_ohm: f64,
        /// Measured over planned.
        ratio: f64,
    },
    /// The target lies below what would be left of the coil.
    #[error("{target_ohm:.3} Ω would need nearly all {turns} turns to be unwound: this is another coil, wind it anew")]
    NotThisCoil {
        /// The target.
        target_ohm: f64,
        /// All turns there are.
        turns: u32,
    },
}

/// Relative standard uncertainty of what one turn has beyond the coil's own ratio: unevenness of wire and layers; common
/// practice, no source.
pub const UNEVEN: f64 = 0.01;

/// Steps shown on either side of the one to take, in half turns.
const AROUND: u32 = 3;

/// Finds the turns to unwind.
///
/// ```text
/// R20 = (reading − test leads)/(g·(1 + α(T − 20)))      s = (R20 − R_leads)/(R_planned − R_leads)
/// turn of layer i = s · r20·(1 + ε_R)·π·D_i             D_i the layer's mean diameter
/// ```
///
/// `g` is 1 unless a known resistor says what the meter shows for an ohm. The outermost layer goes first, then the one
/// below. The choice is the count of whole turns within the tolerance that comes nearest to the target, since whole turns
/// keep the finish lead on its side; only if there is none, the nearest count with a half; if there is none either, the
/// last whole turn above the target, from where nothing is lost yet. The magnet-wire leads keep their length: what comes
/// off is cut off.
///
/// What the meter will show is better known than the value: its error stays the same while turns come off.
///
/// Worked: 37 + 36 turns of AWG 34 on 25.7 mm are planned at 5.291 Ω; a reading of 5.81 Ω at 26 °C with test leads of
/// 0.21 Ω is 5.471 Ω at 20 °C, s = 1.0346, an outer turn 0.0742 Ω; for 5.30 Ω that is 2.30 turns: two, then 5.658 Ω.
///
/// # Errors
/// [`TrimError`] where unwinding cannot help.
pub fn trim(q: &Question) -> Result<Trim, TrimError> {
    let bench = Bench::new(q);
    let dcr = bench.dcr();
    if dcr.value <= bench.magnet_wire {
        return Err(TrimError::NothingLeft { reading_ohm: q.reading.ohm(), leads_ohm: bench.leads_shown() });
    }
    let (target, tolerance) = (q.target.ohm(), q.tolerance.ohm());
    let least = target - tolerance;
    if dcr.value < least {
        return Err(TrimError::AlreadyLow { dcr_ohm: dcr.value, u_ohm: dcr.u, least_ohm: least });
    }
    let ratio = (dcr.value - bench.magnet_wire) / bench.planned;
    if !(0.5..=2.0).contains(&ratio) {
        return Err(TrimError::FarFromPlan { dcr_ohm: dcr.value, ratio });
    }
    let layers = bench.layers(ratio);
    let walk = Walk { layers: &layers, start: dcr.value };
    let all: f64 = layers.iter().map(|l| f64::from(l.turns)).sum();
    let exact = walk.turns_to(target).filter(|t| *t <= all - 1.0);
    let Some(exact) = exact else {
        return Err(TrimError::NotThisCoil { target_ohm: target, turns: q.design.turns });
    };
    let chosen = walk.choose(exact, target, tolerance);
    let middle = chosen.unwrap_or(libm::floor(exact));
    let halves = (2.0 * middle) as u32;
    let most = (2.0 * (all - 1.0)) as u32;
    let steps: Vec<Step> = (halves.saturating_sub(AROUND)..=(halves + AROUND).min(most))
        .map(|halves| bench.step(&walk, f64::from(halves) * 0.5))
        .collect();
    let turn = bench.turn(layers.last().map_or(0.0, |l| l.turn));
    let meter_u = q.meter.u(q.reading, q.test_leads.value);
    // Of a warm coil one turn is more than at 20 °C, so this errs on the safe side, by 0.4 % a kelvin.
    let meter_turns = meter_u / turn.value;
    let decides = meter_turns <= 1.0;
    let mut trim = Trim {
        dcr: Measured::new(Resistance::from_ohm(dcr.value), Resistance::from_ohm(dcr.u)),
        ratio: Measured::new(ratio, bench.ratio_u()),
        turn,
        meter_u,
        meter_turns,
        exact_turns: exact,
        unwind: decides.then_some(middle),
        stop_reading: bench.shown(least),
        steps,
        findings: Vec::new(),
    };
    trim.findings = told::findings(q, &trim, chosen, bench.ratio_doubt());
    Ok(trim)
}

/// The measurement in numbers.
struct Bench<'a> {
    q: &'a Question<'a>,
    /// Resistance at this temperature over that at 20 °C.
    warm: f64,
    /// What the meter shows for one ohm.
    gain: f64,
    /// Magnet-wire leads, Ω at 20 °C.
    magnet_wire: f64,
    /// Winding as planned, Ω at 20 °C.
    planned: f64,
}

impl<'a> Bench<'a> {
    fn new(q: &'a Question<'a>) -> Self {
        let magnet_wire = q.wire.ohm_per_m().value.ohm_per_m() * q.design.assumed.leads.value.m();
        Bench {
            q,
            warm: q.wire.conductor.resistance_ratio(q.temperature.value),
            gain: q.meter.gain(q.test_leads.value),
            magnet_wire,
            planned: q.design.dcr.value.ohm() - magnet_wire,
        }
    }

    /// Carries the doubt of meter, test leads, temperature, magnet-wire leads and unevenness through a formula of the coil
    /// at the bench (as displayed, test leads taken off), its value at 20 °C, the magnet-wire leads, and the evenness.
    fn propagate(&self, formula: impl Fn(f64, f64, f64, f64) -> f64) -> Input {
        let q = self.q;
        let net = q.reading.ohm() - q.test_leads.value.ohm();
        let coil = Resistance::from_ohm(net / self.gain);
        let inputs = Inputs::new(vec![
            Input { value: net, u: q.meter.u(q.reading, q.test_leads.value).ohm() },
            Input { value: 0.0, u: q.meter.share_of_leads(coil).abs() * q.test_leads.u.ohm() },
            q.temperature.input(),
            Input { value: self.magnet_wire, u: q.wire.ohm_per_m().value.ohm_per_m() * q.design.assumed.leads.u.m() },
            Input { value: 1.0, u: UNEVEN },
        ]);
        let alpha = q.wire.conductor.alpha20();
        let p = inputs.propagate(|x, out| {
            let net = x[0] - x[1];
            out.push(formula(net, net / self.gain / (1.0 + alpha * (x[2] - 20.0)), x[3], x[4]));
        });
        Input { value: p.value(0), u: p.u(0) }
    }

    fn dcr(&self) -> Input {
        self.propagate(|_, r20, _, _| r20)
    }

    fn ratio_u(&self) -> f64 {
        self.propagate(|_, r20, leads, _| (r20 - leads) / self.planned).u
    }

    /// Standard uncertainty of the ratio, the plan's own included.
    fn ratio_doubt(&self) -> f64 {
        libm::hypot(self.ratio_u(), self.q.design.dcr.u / self.q.design.dcr.value)
    }

    /// One turn of a layer that has `turn` by the coil's ratio.
    fn turn(&self, turn: f64) -> Measured<Resistance> {
        let winding = self.dcr().value - self.magnet_wire;
        let u = self.propagate(|_, r20, leads, even| (r20 - leads) * turn / winding * even).u;
        Measured::new(Resistance::from_ohm(turn), Resistance::from_ohm(u))
    }

    fn layers(&self, ratio: f64) -> Vec<Layer> {
        let d = self.q.design;
        let wound = self.q.wire.ohm_per_m().value.ohm_per_m() * (1.0 + d.assumed.resistance_excess.value) * ratio;
        d.layer_diameters
            .iter()
            .zip(&d.turns_per_layer)
            .map(|(mean, turns)| Layer { turn: wound * PI * mean.value.m(), turns: *turns })
            .collect()
    }

    /// What the meter shows for a coil of `ohm` at 20 °C.
    fn shown(&self, ohm: f64) -> Resistance {
        Resistance::from_ohm(self.gain * self.warm * ohm) + self.q.test_leads.value
    }

    fn leads_shown(&self) -> f64 {
        self.shown(self.magnet_wire).ohm()
    }

    fn step(&self, walk: &Walk, turns: f64) -> Step {
        let q = self.q;
        let at = walk.after(turns);
        let off = (walk.start - at.value) / (walk.start - self.magnet_wire);
        let dcr = self.propagate(|_, r20, leads, even| r20 - (r20 - leads) * off * even);
        // What comes off carries the coil's doubt as a share; what stays on is read with the same error as before.
        let leads_share = self.magnet_wire / walk.start;
        let drop = self.propagate(|net, _, _, even| net * (1.0 - leads_share) * off * even);
        let digit = q.meter.resolution().ohm() / libm::sqrt(12.0);
        let on_layer = q.design.turns_per_layer.get(at.layer).map_or(0.0, |n| f64::from(*n));
        Step {
            turns,
            dcr: Measured::new(Resistance::from_ohm(dcr.value), Resistance::from_ohm(dcr.u)),
            reading: Measured::new(
                q.reading - Resistance::from_ohm(drop.value),
                Resistance::from_ohm(libm::hypot(drop.u, digit)),
            ),
            exit: if libm::floor(turns) == turns { Exit::Same } else { Exit::Opposite },
            layer: at.layer + 1,
            left_on_layer: on_layer - at.gone,
            width_lost: q.design.pitch.value * at.gone,
            within: (dcr.value - q.target.ohm()).abs() <= q.tolerance.ohm() * (1.0 + 1e-9),
        }
    }
}

#[cfg(test)]
mod tests;
