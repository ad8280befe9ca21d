//! Two coils side by side, in one driver if its data are known: the change with its uncertainty, and what it means.

mod telling;

use crate::coil::DesignError;
use crate::coil::joint::{Joint, Side};
use crate::coil::spec::CoilSpec;
use crate::driver::{Driver, DriverData, Impossible};
use crate::finding::Finding;
use crate::former::Former;
use crate::measured::{Input, Measured, Propagated};
use crate::motor::{FIELD_OVER_PLATE, Field};
use crate::origin::Origin;
use crate::ring::MetalFormer;
use crate::sound::{self, DAMPING_U, Exchange, Part, Sound};

pub use telling::sentence;

/// Driver data as measured: the members of [`DriverData`] in its order, each with its standard uncertainty.
pub type DriverInputs = [Option<Input>; 8];

/// Relative standard uncertainty of the resistance between two coils wound alike from one spool, read on one meter.
/// Common practice, no source.
pub const ALIKE_U: f64 = 0.003;

/// Figures of a driver with one coil, or the change from one to another. SI units; levels in dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Re.
    pub re: Measured<f64>,
    /// Bl.
    pub bl: Option<Measured<f64>>,
    /// Mms.
    pub mms: Option<Measured<f64>>,
    /// fs.
    pub fs: Option<Measured<f64>>,
    /// Qes.
    pub qes: Option<Measured<f64>>,
    /// Qms.
    pub qms: Option<Measured<f64>>,
    /// Qts.
    pub qts: Option<Measured<f64>>,
    /// Level at 1 m for 1 W.
    pub db_1w: Option<Measured<f64>>,
    /// Level at 1 m for 2.83 V.
    pub db_2v83: Option<Measured<f64>>,
}

/// Two coils in one driver.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The driver's data, completed.
    pub driver: Driver,
    /// With the original.
    pub original: Figures,
    /// With the substitute.
    pub substitute: Figures,
    /// Substitute less original; errors common to both fall out.
    pub change: Figures,
    /// Bl' / Bl.
    pub bl_ratio: Measured<f64>,
    /// Re' / Re.
    pub re_ratio: Measured<f64>,
    /// Qts' / Qts.
    pub qts_ratio: Option<Measured<f64>>,
    /// Mass of each coil, with the former where `former_counted`.
    pub coil_mass: [Measured<f64>; 2],
    /// The second less the first.
    pub mass_change: Measured<f64>,
    /// Resistance of each as wound, 20 °C.
    pub dcr: [Measured<f64>; 2],
    /// The second less the first.
    pub dcr_change: Measured<f64>,
    /// What the change of resistance would carry if nothing were common.
    pub dcr_change_if_apart: f64,
    /// Outside diameter at the cross-over, second less first.
    pub outside_change: Measured<f64>,
    /// Whether the formers' mass is in the coils'.
    pub former_counted: bool,
    /// How the damping of the formers was exchanged.
    pub exchange: Exchange,
    /// What must be told.
    pub findings: Vec<Finding>,
    /// What was taken for granted.
    pub origins: Vec<Origin>,
}

/// Why two coils cannot be compared.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Incomparable {
    /// One of them is no coil: 0 the original, 1 the substitute.
    #[error("{1}")]
    Coil(usize, DesignError),
    /// The driver's data contradict each other.
    #[error(transparent)]
    Driver(#[from] Impossible),
    /// The substitute would leave no moving mass.
    #[error(
        "the original coil weighs {coil_g:.2} g as described, the driver moves {mms_g:.2} g with it: too little to take it out"
    )]
    TooLight {
        /// The original's mass, g.
        coil_g: f64,
        /// Mms, g.
        mms_g: f64,
    },
}

/// Compares a substitute with the original coil of a driver.
///
/// `same_wire` says that both are wound from one spool: then the errors of that wire are common to them, and what stays is
/// [`ALIKE_U`] of the resistance.
///
/// # Errors
/// [`Incomparable`].
pub fn compare(driver: &DriverInputs, coils: [&CoilSpec; 2], same_wire: bool) -> Result<Comparison, Incomparable> {
    let mut more = vec![
        Input { value: FIELD_OVER_PLATE.0, u: FIELD_OVER_PLATE.1 },
        Input { value: 1.0, u: DAMPING_U },
        Input { value: 1.0, u: if same_wire { ALIKE_U } else { 0.0 } },
    ];
    more.extend(driver.iter().map(|d| d.unwrap_or(Input::certain(f64::NAN))));
    let joint = Joint::new(coils, same_wire, &more).map_err(|(side, e)| Incomparable::Coil(side, e))?;
    let frame = Frame::of(coils, joint.middle());
    let middle: Vec<f64> = more.iter().map(|i| i.value).collect();
    let completed = data(&middle).complete(joint.middle()[0].figures.dcr)?;
    let parts = frame.parts(&middle, joint.middle());
    if let Some(mms) = completed.mms.filter(|m| parts[0].mass >= *m) {
        return Err(Incomparable::TooLight { coil_g: 1e3 * parts[0].mass, mms_g: 1e3 * mms });
    }
    let (_, exchange) = sound::substitute(&completed, &parts[0], &parts[1], 1.0, frame.field_known);
    let p = joint.propagate(|x, sides, out| {
        let parts = frame.parts(x, sides);
        // A nudge that makes the data impossible (Qts up to Qes) is left out: the middle is what was asked about.
        let d = data(x).complete(sides[0].figures.dcr).unwrap_or(completed);
        let before = sound::original(&d);
        let (after, _) = sound::substitute(&d, &parts[0], &parts[1], x[1], frame.field_known);
        let [one, other] = [list(&before), list(&after)];
        out.extend(one);
        out.extend(other);
        out.extend(one.iter().zip(&other).map(|(a, b)| b - a));
        // Levels differ even where the diaphragm's area, and so the level itself, is not known.
        let places = 2 * MEMBERS;
        out[places + 7] = after.db_over(&before).unwrap_or(f64::NAN);
        out[places + 8] = after.db_over_at_one_voltage(&before).unwrap_or(f64::NAN);
        out.extend([
            parts[1].in_field / parts[0].in_field,
            after.re / before.re,
            after.qts_change(&before).map_or(f64::NAN, |c| 1.0 + c),
            parts[0].mass,
            parts[1].mass,
            parts[1].mass - parts[0].mass,
            parts[0].dcr,
            parts[1].dcr,
            parts[1].dcr - parts[0].dcr,
            sides[1].figures.outside_crossover - sides[0].figures.outside_crossover,
        ]);
    });
    let at = |j: usize| p.measured::<f64>(3 * MEMBERS + j);
    let known = |m: Measured<f64>| m.value.is_finite().then_some(m);
    let mut told = Comparison {
        driver: completed,
        original: figures(&p, 0),
        substitute: figures(&p, 1),
        change: figures(&p, 2),
        bl_ratio: at(0),
        re_ratio: at(1),
        qts_ratio: known(at(2)),
        coil_mass: [at(3), at(4)],
        mass_change: at(5),
        dcr: [at(6), at(7)],
        dcr_change: at(8),
        dcr_change_if_apart: libm::hypot(at(6).u, at(7).u),
        outside_change: at(9),
        former_counted: frame.former_counted,
        exchange,
        findings: Vec::new(),
        origins: Vec::new(),
    };
    told.findings = telling::findings(&told, &frame);
    told.origins = telling::origins(&told, driver, same_wire);
    Ok(told)
}

/// Members of [`Figures`].
const MEMBERS: usize = 9;

fn list(s: &Sound) -> [f64; MEMBERS] {
    let or_nan = |x: Option<f64>| x.unwrap_or(f64::NAN);
    [
        s.re,
        or_nan(s.bl),
        or_nan(s.mms),
        or_nan(s.fs),
        or_nan(s.qes),
        or_nan(s.qms),
        or_nan(s.qts),
        or_nan(s.db_1w),
        or_nan(s.db_2v83),
    ]
}

fn figures(p: &Propagated, block: usize) -> Figures {
    let at = |j: usize| p.measured::<f64>(block * MEMBERS + j);
    let known = |j: usize| Some(at(j)).filter(|m| m.value.is_finite());
    Figures {
        re: at(0),
        bl: known(1),
        mms: known(2),
        fs: known(3),
        qes: known(4),
        qms: known(5),
        qts: known(6),
        db_1w: known(7),
        db_2v83: known(8),
    }
}

/// The driver's data among the inputs; what nobody gave is not a number there.
fn data(x: &[f64]) -> DriverData {
    let given = |j: usize| x.get(3 + j).copied().filter(|v| v.is_finite());
    DriverData {
        re: given(0),
        bl: given(1),
        mms: given(2),
        fs: given(3),
        qms: given(4),
        qes: given(5),
        qts: given(6),
        sd: given(7),
    }
}

/// What stays the same while the dimensions are nudged.
struct Frame<'a> {
    coils: [&'a CoilSpec; 2],
    /// Both fill the field, so that only the density of turns counts.
    filled: bool,
    plate_known: bool,
    /// The wire in the field is a length, not only good for a ratio.
    field_known: bool,
    former_counted: bool,
    /// The formers differ in mass and their heights are not both known.
    former_left_out: bool,
}

impl<'a> Frame<'a> {
    fn of(coils: [&'a CoilSpec; 2], sides: [Side; 2]) -> Frame<'a> {
        let plate = plate(coils, sides);
        let widths = sides.map(|s| s.figures.width);
        let height = coils.map(|c| c.former.height.is_some());
        let former_counted = height == [true, true];
        let weight = |f: &Former| (f.material.density.value, f.wall.value, f.height.map(|h| h.value));
        Frame {
            coils,
            filled: matches!(Field::for_widths(plate, FIELD_OVER_PLATE.0, &widths), Field::Filled(_)),
            plate_known: plate.is_some(),
            field_known: plate.is_some(),
            former_counted,
            former_left_out: !former_counted && weight(&coils[0].former) != weight(&coils[1].former),
        }
    }

    fn parts(&self, x: &[f64], sides: [Side; 2]) -> [Part; 2] {
        let plate = plate(self.coils, sides);
        let height = x[0] * plate.unwrap_or(1.0 / FIELD_OVER_PLATE.0);
        let field = if self.filled { Field::Filled(height) } else { Field::Tall(height) };
        [0, 1].map(|i| {
            let (side, spec) = (&sides[i], self.coils[i]);
            let f = &side.figures;
            let former = if self.former_counted { f.former_mass } else { 0.0 };
            // Two coils of one spool differ by their own winding only: the second carries it.
            let alike = if i == 1 { x[2] } else { 1.0 };
            Part {
                dcr: f.dcr * alike,
                mass: f.wire_mass + f.adhesive_mass + former,
                in_field: side.in_field(field),
                damping: damping(&spec.former, side.shape.inside + side.shape.wall, plate),
            }
        })
    }
}

/// The plate of whichever coil's gap has one: it is the same motor.
fn plate(coils: [&CoilSpec; 2], sides: [Side; 2]) -> Option<f64> {
    (0..2).find(|i| coils[*i].gap.as_ref().is_some_and(|g| g.plate.is_some())).map(|i| sides[i].shape.plate)
}

/// What a former adds to the driver's mechanical resistance per square tesla: nothing if it is no metal, unknown if its
/// height or the plate's is needed and nobody said.
pub fn damping(former: &Former, mean_diameter: f64, plate: Option<f64>) -> Option<f64> {
    let Some(resistivity) = former.material.resistivity else { return Some(0.0) };
    let slit = former.slit.m() > 0.0;
    let height = former.height.map(|h| h.value.m());
    let metal = MetalFormer {
        diameter: mean_diameter,
        // Vent holes take as much of the damping as they take of the wall.
        wall: former.wall.value.m() * former.kept(),
        height: height.unwrap_or(f64::INFINITY),
        resistivity: resistivity.ohm_m(),
    };
    match (plate, slit, height) {
        (None, _, _) | (_, true, None) => None,
        (Some(plate), true, Some(_)) => Some(metal.damping_slit(plate)),
        (Some(plate), false, _) => Some(metal.damping_closed(plate)),
    }
}

#[cfg(test)]
mod tests;
