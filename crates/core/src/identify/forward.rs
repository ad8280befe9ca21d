//! What a wire would show: one forward model for every measurement, so that what they share makes them correlated.

use super::assume::Assumed;
use super::seen::{Measure, Seen, Turns, Wound};
use crate::measured::{Input, Inputs, Measured, Propagated};
use crate::quantity::{Length, Temperature};
use crate::wire::Wire;
use core::f64::consts::PI;

/// Places in the list of what moves a prediction. Diameters, resistivity and mass are the wire's; the rest is the sample's.
mod at {
    pub const BARE: usize = 0;
    pub const OVERALL: usize = 1;
    pub const RHO: usize = 2;
    pub const MASS: usize = 3;
    pub const PITCH: usize = 4;
    pub const RATED: usize = 5;
    pub const LENGTH: usize = 6;
    pub const OHM_LENGTH: usize = 7;
    pub const OHM_C: usize = 8;
    pub const INSIDE: usize = 9;
    pub const WALL: usize = 10;
    pub const LEADS: usize = 11;
    pub const COIL_C: usize = 12;
    pub const EXCESS: usize = 13;
    pub const NESTING: usize = 14;
    pub const WIDTH: usize = 15;
    pub const FILL: usize = 16;
    pub const ALL: usize = 17;
}

/// The last turn that a width leaves room for is cut off anywhere: standard uncertainty of a whole number rounded down.
const FILL: Input = Input { value: 0.0, u: 0.288_675_134_594_812_9 };

/// What `wire` would show in `measures`: means, and their covariance through everything they share.
///
/// ```text
/// overall D · bare d · pitch k·D · mass m'(d, D)·l · resistance r20(d)·l·(1 + α(T − 20)) · width (N·k + 1)·D
/// coil r20(d)·(L·(1 + ε_R) + leads)·(1 + α(T − 20)),  L = Σ N_i·√((πD_i)² + (kD)²)  ·  rated Re/0.775
/// ```
///
/// d and D vary within the maker's limits (u = limit/√3), m' and r20 by another 0.5 % each unless they were measured on
/// this very wire. Where nobody counted the turns, a layer has N = (W − D)/(k·D) − ½ of them, the mean of all that a
/// number rounded down can have been, and each layer above the first one less. The instruments' own uncertainties are not
/// in it. Worked: copper of 0.254 mm with d known to 1.47 µm has its resistance known to 2·1.47/254 = 1.15 % by that.
pub(super) fn predict(wire: &Wire, seen: &Seen, assumed: &Assumed, measures: &[Measure]) -> Propagated {
    let coil = seen.coil.as_ref();
    let one_length = seen.sample.ohm_length.is_none();
    Inputs::new(inputs(wire, seen, assumed, measures)).propagate(|x, out| {
        let ohm_length = if one_length { x[at::LENGTH] } else { x[at::OHM_LENGTH] };
        let (bare, overall) = (Length::from_m(x[at::BARE]), Length::from_m(x[at::OVERALL]));
        let hot = |c: f64| wire.conductor.resistance_ratio(Temperature::from_c(c));
        let of_coil = || coil.map_or(0.0, |c| coil_ohm(wire, c, assumed.glue, x));
        out.extend(measures.iter().map(|m| match m {
            Measure::Overall => x[at::OVERALL],
            Measure::Bare => x[at::BARE],
            Measure::Pitch => x[at::PITCH] * x[at::OVERALL],
            Measure::Mass => wire.g_per_m_at(bare, overall, x[at::MASS]).kg_per_m() * x[at::LENGTH],
            Measure::Ohm => wire.ohm_per_m_at(bare, x[at::RHO]).ohm_per_m() * ohm_length * hot(x[at::OHM_C]),
            Measure::Width => coil.map_or(0.0, |c| (most(c) * x[at::PITCH] + 1.0) * x[at::OVERALL]),
            Measure::CoilOhm => of_coil() * hot(x[at::COIL_C]),
            Measure::Rated => of_coil() / x[at::RATED],
        }));
    })
}

/// Resistance of the whole coil at 20 °C: a plain winding outside its former, D_i = ID + 2t + 2g + o + 2(i−1)·b·o, as in
/// [`crate::coil::figures::figures`], with turns that need not be whole.
fn coil_ohm(wire: &Wire, c: &Wound, glue: f64, x: &[f64]) -> f64 {
    let overall = x[at::OVERALL];
    let innermost = x[at::INSIDE] + 2.0 * x[at::WALL] + 2.0 * glue + overall;
    let pitch = x[at::PITCH] * x[at::OVERALL];
    let first = (x[at::WIDTH] - x[at::OVERALL]) / pitch - 0.5 + x[at::FILL];
    let turns = |layer: usize| match &c.turns {
        Turns::Counted(n) => n.get(layer).copied().map_or(0.0, f64::from),
        // A wire too thick for the width makes no turn, not a negative one.
        Turns::Filling(_) => (first - if layer > 0 { 1.0 } else { 0.0 }).max(0.0),
    };
    let turn = |i: usize| PI * (innermost + 2.0 * i as f64 * x[at::NESTING] * overall);
    let length: f64 = (0..c.layers()).map(|i| turns(i) * libm::hypot(turn(i), pitch)).sum();
    let r20 = wire.ohm_per_m_at(Length::from_m(x[at::BARE]), x[at::RHO]).ohm_per_m();
    r20 * (length * (1.0 + x[at::EXCESS]) + x[at::LEADS])
}

fn most(c: &Wound) -> f64 {
    match &c.turns {
        Turns::Counted(n) => f64::from(n.iter().copied().max().unwrap_or(0)),
        Turns::Filling(_) => 0.0,
    }
}

fn inputs(wire: &Wire, seen: &Seen, assumed: &Assumed, measures: &[Measure]) -> Vec<Input> {
    let twenty = Measured::certain(Temperature::from_c(20.0));
    let any = |of: &[Measure]| measures.iter().any(|m| of.contains(m));
    let mut x = vec![Input::certain(0.0); at::ALL];
    x[at::BARE] = wire.bare.input();
    x[at::OVERALL] = wire.overall.input();
    // What was measured on this very wire does not follow the diameter and is as good as that measurement.
    let known = |follows: bool, own: f64, model: f64| Input { value: 1.0, u: if follows { model } else { own } };
    x[at::RHO] = known(follows_bare(wire), wire.ohm_per_m_own_u(), assumed.resistivity_u);
    x[at::MASS] = known(mass_follows(wire), wire.g_per_m_own_u(), assumed.mass_u);
    let of_coil = [Measure::CoilOhm, Measure::Rated];
    // An uncertainty that moves nothing costs two evaluations: each is there only where it moves something.
    x[at::PITCH] = Input::certain(assumed.pitch_factor.value);
    if any(&[Measure::Pitch, Measure::Width]) || any(&of_coil) {
        x[at::PITCH] = assumed.pitch_factor;
    }
    if any(&[Measure::Mass, Measure::Ohm]) {
        x[at::LENGTH] = seen.length().input();
        x[at::OHM_LENGTH] = seen.ohm_length().input();
        x[at::OHM_C] = seen.sample.temperature.unwrap_or(twenty).input();
    }
    if let Some(c) = seen.coil.as_ref().filter(|_| any(&of_coil)) {
        x[at::RATED] = assumed.re_over_rated;
        x[at::INSIDE] = c.inside.input();
        x[at::WALL] = c.wall.input();
        x[at::LEADS] = c.leads.input();
        x[at::COIL_C] = c.temperature.unwrap_or(twenty).input();
        x[at::EXCESS] = assumed.excess(wire.conductor);
        x[at::NESTING] = assumed.nesting;
        if let (Turns::Filling(_), Some(width)) = (&c.turns, c.width) {
            x[at::WIDTH] = width.input();
            x[at::FILL] = FILL;
        }
    }
    x
}

fn follows_bare(wire: &Wire) -> bool {
    wire.ohm_per_m_at(wire.bare.value * 1.01, 1.0) != wire.ohm_per_m().value
}

fn mass_follows(wire: &Wire) -> bool {
    wire.g_per_m_at(wire.bare.value * 1.01, wire.overall.value * 1.01, 1.0) != wire.g_per_m().value
}
