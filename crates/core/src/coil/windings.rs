//! The two windings of a dual coil: each by itself, and both joined.

use super::figures::{Figures, Fixed, Shape};
use super::inductance::Pair;
use super::laid::Laid;
use super::spec::CoilSpec;
use crate::measured::{Measured, Propagated};
use crate::motor::{FIELD_OVER_PLATE, Field};
use crate::quantity::{Length, Quantity, Resistance};

/// The windings of a dual coil.
#[derive(Debug, Clone, PartialEq)]
pub struct Windings {
    /// Each by itself, the inner or first one first.
    pub each: Vec<WindingFigures>,
    /// One after the other.
    pub series: Joined,
    /// Beside each other.
    pub parallel: Joined,
    /// How strongly they are coupled in air, 0 to 1; nothing for wires laid together, whose coupling is all but whole.
    pub coupling: Option<f64>,
}

/// One winding.
#[derive(Debug, Clone, PartialEq)]
pub struct WindingFigures {
    /// Turns of each of its layers.
    pub turns_per_layer: Vec<u32>,
    /// Wires in parallel in it.
    pub wires: u32,
    /// Length of one wire in it, before it stretches.
    pub length: Measured<Length>,
    /// One unbroken length to ask of a spool.
    pub need: Measured<Length>,
    /// Resistance at 20 °C with leads.
    pub dcr: Measured<Resistance>,
    /// Wire that works in the field: force per current and tesla.
    pub field: Option<Measured<Length>>,
}

/// Both windings as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Joined {
    /// Resistance at 20 °C with leads.
    pub dcr: Measured<Resistance>,
    /// Wire that works in the field: force per current and tesla.
    pub field: Option<Measured<Length>>,
}

/// The field that the coil stands in; where no plate was given, one of no meaning.
pub(super) fn field(spec: &CoilSpec, width: f64) -> Field {
    let plate = spec.gap.as_ref().and_then(|g| g.plate).map(|p| p.value.m());
    Field::for_widths(plate, FIELD_OVER_PLATE.0, &[width])
}

/// What the propagation `p` holds of the windings from place `from` on; nothing for a coil of one.
pub(super) fn windings(
    spec: &CoilSpec,
    x: Shape,
    fixed: Fixed,
    f: &Figures,
    p: &Propagated,
    from: usize,
) -> Option<Windings> {
    let laid: &Laid = fixed.laid;
    let parts = laid.parts.len();
    if parts < 2 {
        return None;
    }
    let plate_known = spec.gap.as_ref().is_some_and(|g| g.plate.is_some());
    // The height of the field carries its own doubt into everything that does not lie in it as a whole.
    let in_field = |at: usize| {
        let m: Measured<Length> = p.measured(at);
        let whole = match field(spec, f.width) {
            Field::Filled(_) => false,
            Field::Tall(height) => f.width <= height,
        };
        let share = if whole { 0.0 } else { FIELD_OVER_PLATE.1 / FIELD_OVER_PLATE.0 };
        let u = libm::hypot(m.u.si(), m.value.si() * share);
        plate_known.then(|| Measured::new(m.value, Length::from_si(u)))
    };
    let each = laid.parts.iter().enumerate().map(|(i, part)| {
        let at = from + 4 * i;
        WindingFigures {
            turns_per_layer: fixed.turns.iter().skip(part.first).take(part.layers).copied().collect(),
            wires: part.wires,
            length: p.measured(at),
            need: p.measured(at + 1),
            dcr: p.measured(at + 2),
            field: in_field(at + 3),
        }
    });
    let joined = |k: usize| {
        let at = from + 4 * parts + 2 * k;
        Joined { dcr: p.measured(at), field: in_field(at + 1) }
    };
    Some(Windings {
        each: each.collect(),
        series: joined(0),
        parallel: joined(1),
        coupling: Pair::of(x, fixed, f).map(|pair| pair.coupling()),
    })
}
