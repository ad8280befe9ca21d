//! What can be seen of a sample, and what a wire of given diameters would show instead: one forward model for all of it.

use crate::coil::figures::{Fixed, Shape, Spacing, figures};
use crate::measured::{Input, Inputs, Measured, Propagated};
use crate::quantity::{Length, Mass, Resistance, Temperature};
use crate::wire::{ENAMEL, Wire, linear_mass};
use core::f64::consts::FRAC_PI_4;

/// What was measured of a sample. Anything may be absent; every uncertainty is the instrument's alone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Seen {
    /// Diameter over the insulation.
    pub overall: Option<Measured<Length>>,
    /// Bare diameter.
    pub bare: Option<Measured<Length>>,
    /// From turn to turn along the axis.
    pub pitch: Option<Measured<Length>>,
    /// A straight piece that was weighed or measured.
    pub sample: Sample,
    /// The coil that it came from.
    pub coil: Option<Wound>,
    /// Impedance rating of the driver: says little, and only together with `coil`.
    pub rated: Option<Resistance>,
}

/// A straight piece of the wire.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sample {
    /// Its length.
    pub length: Option<Measured<Length>>,
    /// Its mass.
    pub mass: Option<Measured<Mass>>,
    /// Its resistance, the shorted test leads taken off.
    pub ohm: Option<Measured<Resistance>>,
    /// The length that was between the clips, if not `length`.
    pub ohm_length: Option<Measured<Length>>,
    /// Its temperature when its resistance was measured; 20 °C if absent.
    pub temperature: Option<Measured<Temperature>>,
}

/// The coil that the sample came from.
#[derive(Debug, Clone, PartialEq)]
pub struct Wound {
    /// Inside diameter of the former.
    pub inside: Measured<Length>,
    /// Wall of the former.
    pub wall: Measured<Length>,
    /// Turns counted on each layer.
    pub turns: Vec<u32>,
    /// Winding width outside to outside of wire.
    pub width: Option<Measured<Length>>,
    /// Magnet wire to the terminals that is part of the reading.
    pub leads: Measured<Length>,
    /// Its resistance, the shorted test leads taken off.
    pub ohm: Option<Measured<Resistance>>,
    /// Its temperature then; 20 °C if absent.
    pub temperature: Option<Measured<Temperature>>,
}

/// One kind of measurement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// Diameter over the insulation.
    Overall,
    /// Bare diameter.
    Bare,
    /// Pitch.
    Pitch,
    /// Mass of the straight piece.
    Mass,
    /// Resistance of the straight piece.
    Ohm,
    /// Winding width of the counted turns.
    Width,
    /// Resistance of the whole coil.
    CoilOhm,
    /// Rated impedance of the driver.
    Rated,
}

impl Measure {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Measure::Overall => "overall diameter",
            Measure::Bare => "bare diameter",
            Measure::Pitch => "pitch",
            Measure::Mass => "mass of the sample",
            Measure::Ohm => "resistance of the sample",
            Measure::Width => "winding width",
            Measure::CoilOhm => "resistance of the coil",
            Measure::Rated => "rated impedance",
        }
    }

    /// Greatest value over least that the wires of all coils could show (from 0.05 to 1.3 mm, copper or aluminium): how
    /// widely a wire that is none of the candidates spreads, evenly in the logarithm.
    pub fn spread(self) -> f64 {
        match self {
            Measure::Overall | Measure::Bare | Measure::Pitch | Measure::Width => 1.3 / 0.05,
            Measure::Mass => 11.8 / 0.0053,
            Measure::Ohm | Measure::CoilOhm | Measure::Rated => 14.4 / 0.0130,
        }
    }
}

/// A measurement with its outcome, in SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// What was measured.
    pub measure: Measure,
    /// Value and the instrument's own standard uncertainty.
    pub met: Input,
}

impl Seen {
    /// The measurements that were made, in a fixed order.
    pub fn observations(&self) -> Vec<Observation> {
        let coil = self.coil.as_ref();
        let rated = self.rated.filter(|_| coil.is_some_and(|c| c.ohm.is_none()));
        [
            (Measure::Overall, self.overall.map(Measured::input)),
            (Measure::Bare, self.bare.map(Measured::input)),
            (Measure::Pitch, self.pitch.map(Measured::input)),
            (Measure::Mass, self.sample.mass.map(Measured::input)),
            (Measure::Ohm, self.sample.ohm.map(Measured::input)),
            (Measure::Width, coil.and_then(|c| c.width).map(Measured::input)),
            (Measure::CoilOhm, coil.and_then(|c| c.ohm).map(Measured::input)),
            (Measure::Rated, rated.map(|r| Input::certain(r.ohm()))),
        ]
        .into_iter()
        .filter_map(|(measure, met)| met.map(|met| Observation { measure, met }))
        .collect()
    }

    /// Length of the straight piece; a metre ± 2 mm where none was cut yet.
    pub(super) fn length(&self) -> Measured<Length> {
        self.sample.length.unwrap_or(Measured::new(Length::from_m(1.0), Length::from_mm(2.0)))
    }
}

/// Relative standard uncertainty of the mass and resistance models: common practice, no source.
const MODEL_U: f64 = 0.005;
/// Pitch over overall diameter of hand-wound turns, and what a sample departs from it: common practice, no source.
const PITCH: Input = Input { value: 1.02, u: 0.02 * 1.02 };
/// Re over the rated impedance: 0.70 to 0.85, all of it equally likely (from memory, behind IEC 60268-5).
const RE_OVER_RATED: Input = Input { value: 0.775, u: 0.043_301_270_189_221_93 };

/// Places in the list of what moves a prediction. Diameters and ρ are the wire's own; the rest is the sample's.
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
    pub const ALL: usize = 15;
}

/// What `wire` would show in `measures`: means, and their covariance through everything they share.
///
/// ```text
/// overall D · bare d · pitch k·D · mass m'(d, D)·l · Ω r(d)·l·(1 + α(T − 20)) · width N·k·D + D
/// coil r(d)·(L(D)·(1 + ε_R) + leads)·(1 + α(T − 20)) · rated R_coil,20 / 0.775
/// ```
///
/// The mass of a metre is computed from the diameters with one enamel density for every candidate, so that no table's
/// print favours its own wire; a candidate whose mass or Ω/m was measured keeps that. The instruments' own
/// uncertainties are not in it. Worked: for copper of 0.254 mm with d known to 1.47 µm, r varies by 2·1.47/254 = 1.15 %.
pub(super) fn predict(wire: &Wire, seen: &Seen, measures: &[Measure]) -> Propagated {
    let mass = mass_model(wire);
    let coil = seen.coil.as_ref();
    Inputs::new(inputs(wire, seen, &mass)).propagate(|x, out| {
        // A sample that is too short to have its length apart from the clips'.
        let ohm_length = if seen.sample.ohm_length.is_some() { x[at::OHM_LENGTH] } else { x[at::LENGTH] };
        let (bare, overall) = (Length::from_m(x[at::BARE]), Length::from_m(x[at::OVERALL]));
        let hot = |c: f64| wire.conductor.resistance_ratio(Temperature::from_c(c));
        out.extend(measures.iter().map(|m| match m {
            Measure::Overall => x[at::OVERALL],
            Measure::Bare => x[at::BARE],
            Measure::Pitch => x[at::PITCH] * x[at::OVERALL],
            Measure::Mass => mass.kg_per_m(wire, bare, overall) * x[at::MASS] * x[at::LENGTH],
            Measure::Ohm => wire.ohm_per_m_at(bare, x[at::RHO]).ohm_per_m() * ohm_length * hot(x[at::OHM_C]),
            Measure::Width => coil.map_or(0.0, |c| (most(&c.turns) * x[at::PITCH] + 1.0) * x[at::OVERALL]),
            Measure::CoilOhm => coil.map_or(0.0, |c| coil_ohm(wire, c, x)) * hot(x[at::COIL_C]),
            Measure::Rated => coil.map_or(0.0, |c| coil_ohm(wire, c, x)) / x[at::RATED],
        }));
    })
}

fn inputs(wire: &Wire, seen: &Seen, mass: &MassModel) -> Vec<Input> {
    let twenty = Measured::certain(Temperature::from_c(20.0));
    let mut x = vec![Input::certain(0.0); at::ALL];
    x[at::BARE] = wire.bare.input();
    x[at::OVERALL] = wire.overall.input();
    let (shows, own) = (!follows_bare(wire), wire.ohm_per_m_own_u());
    x[at::RHO] = Input { value: 1.0, u: if shows { own } else { own.max(MODEL_U) } };
    x[at::MASS] = Input { value: 1.0, u: mass.u };
    x[at::PITCH] = PITCH;
    x[at::RATED] = RE_OVER_RATED;
    x[at::LENGTH] = seen.length().input();
    x[at::OHM_LENGTH] = seen.sample.ohm_length.unwrap_or(seen.length()).input();
    x[at::OHM_C] = seen.sample.temperature.unwrap_or(twenty).input();
    if let Some(c) = &seen.coil {
        x[at::INSIDE] = c.inside.input();
        x[at::WALL] = c.wall.input();
        x[at::LEADS] = c.leads.input();
        x[at::COIL_C] = c.temperature.unwrap_or(twenty).input();
    }
    let copper = wire.conductor == crate::conductor::Conductor::Copper;
    x[at::EXCESS] = Input { value: if copper { 0.010 } else { 0.005 }, u: 0.005 };
    x[at::NESTING] = Input { value: 0.90, u: 0.04 };
    x
}

/// Resistance of the whole coil at 20 °C by the same formulas as a design.
fn coil_ohm(wire: &Wire, c: &Wound, x: &[f64]) -> f64 {
    let mut shape = Shape::from_array([0.0; Shape::LEN]);
    shape.inside = x[at::INSIDE];
    shape.wall = x[at::WALL];
    shape.glue = 1e-5;
    shape.bare = x[at::BARE];
    shape.overall = x[at::OVERALL];
    shape.resistance_factor = x[at::RHO];
    shape.pitch_factor = x[at::PITCH];
    shape.nesting = x[at::NESTING];
    shape.resistance_excess = x[at::EXCESS];
    shape.leads = x[at::LEADS];
    let fixed = Fixed {
        wire,
        turns: &c.turns,
        spacing: Spacing::CountAlone,
        slit: 0.0,
        adhesive_density: 0.0,
        bench_ratio: 1.0,
        hot_growth: 0.0,
    };
    figures(shape, fixed).dcr
}

fn most(turns: &[u32]) -> f64 {
    f64::from(turns.iter().copied().max().unwrap_or(0))
}

/// How the mass of a metre hangs on the diameters, and its own doubt.
struct MassModel {
    follows: bool,
    u: f64,
}

fn mass_model(wire: &Wire) -> MassModel {
    let (d, o) = (wire.bare.value, wire.overall.value);
    let nominal = wire.g_per_m().value;
    if wire.g_per_m_at(d * 1.01, o * 1.01, 1.0) == nominal {
        return MassModel { follows: false, u: wire.g_per_m_own_u() };
    }
    let insulation = FRAC_PI_4 * (o.m() * o.m() - d.m() * d.m());
    let enamel = ENAMEL.u.kg_per_m3() * insulation / linear_mass(wire.conductor, d, o).kg_per_m();
    MassModel { follows: true, u: MODEL_U.max(enamel) }
}

impl MassModel {
    fn kg_per_m(&self, wire: &Wire, bare: Length, overall: Length) -> f64 {
        if self.follows {
            linear_mass(wire.conductor, bare, overall).kg_per_m()
        } else {
            wire.g_per_m().value.kg_per_m()
        }
    }
}

fn follows_bare(wire: &Wire) -> bool {
    wire.ohm_per_m_at(wire.bare.value * 1.01, 1.0) != wire.ohm_per_m().value
}
