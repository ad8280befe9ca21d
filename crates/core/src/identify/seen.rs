//! What can be seen of a sample: diameters, a straight piece on the scale and on the meter, the coil that it came from.

use crate::measured::{Input, Measured};
use crate::quantity::{Length, Mass, Quantity, Resistance, Temperature};

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
    /// Its temperature when its resistance was measured; exactly 20 °C if absent.
    pub temperature: Option<Measured<Temperature>>,
}

/// The coil that the sample came from.
#[derive(Debug, Clone, PartialEq)]
pub struct Wound {
    /// Inside diameter of the former.
    pub inside: Measured<Length>,
    /// Wall of the former.
    pub wall: Measured<Length>,
    /// How often the wire goes round.
    pub turns: Turns,
    /// Winding width outside to outside of wire.
    pub width: Option<Measured<Length>>,
    /// Magnet wire to the terminals that is part of the reading.
    pub leads: Measured<Length>,
    /// Its resistance, the shorted test leads taken off.
    pub ohm: Option<Measured<Resistance>>,
    /// Its temperature then; exactly 20 °C if absent.
    pub temperature: Option<Measured<Temperature>>,
}

/// How often the wire of a coil goes round its former.
#[derive(Debug, Clone, PartialEq)]
pub enum Turns {
    /// Counted on each layer: then the width, if it was measured, tells how thick the wire is.
    Counted(Vec<u32>),
    /// Nobody counted: so many layers, each as full as the width lets this wire be.
    Filling(u32),
}

impl Wound {
    /// Layers.
    pub fn layers(&self) -> usize {
        match &self.turns {
            Turns::Counted(n) => n.len(),
            Turns::Filling(n) => *n as usize,
        }
    }

    /// Whether enough is known of it to say what its resistance would be with another wire.
    pub fn is_described(&self) -> bool {
        matches!(self.turns, Turns::Counted(_)) || self.width.is_some()
    }
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

    /// Greatest value over least that wires from 0.05 to 1.3 mm, copper or aluminium, show: how widely one that is none of
    /// the candidates spreads, evenly in the logarithm.
    ///
    /// Mass per metre goes from bare aluminium of 0.05 mm (5.3 mg/m) to bare copper of 1.3 mm (11.8 g/m), resistance from
    /// that copper (0.0130 Ω/m) to that aluminium (14.4 Ω/m). Derived from densities and resistivities.
    pub fn spread(self) -> f64 {
        match self {
            Measure::Overall | Measure::Bare | Measure::Pitch | Measure::Width => 1.3 / 0.05,
            Measure::Mass => 11.8 / 0.0053,
            Measure::Ohm | Measure::CoilOhm | Measure::Rated => 14.4 / 0.0130,
        }
    }

    /// Whether it tells one metal from another of the same size.
    pub fn tells_metal(self) -> bool {
        matches!(self, Measure::Mass | Measure::Ohm | Measure::CoilOhm | Measure::Rated)
    }

    /// Whether it is made on the coil.
    pub fn of_coil(self) -> bool {
        matches!(self, Measure::Width | Measure::CoilOhm | Measure::Rated)
    }

    /// A value in SI units as people read it.
    pub fn shown(self, si: f64) -> String {
        match self {
            Measure::Overall | Measure::Bare | Measure::Pitch | Measure::Width => format!("{:.4} mm", 1e3 * si),
            Measure::Mass => format!("{:.4} g", 1e3 * si),
            Measure::Ohm | Measure::CoilOhm | Measure::Rated => format!("{si:.4} Ω"),
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

/// No instrument of a workshop is better than a millionth of its reading; one stated to be so is taken as this good.
const BEST_U: f64 = 1e-6;

impl Seen {
    /// The measurements that count, in a fixed order: the width of a coil whose turns were not counted is part of its
    /// description, and a rating says nothing beside the coil's own resistance or without its geometry.
    pub fn observations(&self) -> Vec<Observation> {
        let described = self.coil.as_ref().filter(|c| c.is_described());
        let counted = self.coil.as_ref().filter(|c| matches!(c.turns, Turns::Counted(_)));
        let ohm = described.and_then(|c| c.ohm);
        let rated = self.rated.filter(|_| described.is_some() && ohm.is_none());
        [
            (Measure::Overall, self.overall.map(Measured::input)),
            (Measure::Bare, self.bare.map(Measured::input)),
            (Measure::Pitch, self.pitch.map(Measured::input)),
            (Measure::Mass, self.sample.mass.map(Measured::input)),
            (Measure::Ohm, self.sample.ohm.map(Measured::input)),
            (Measure::Width, counted.and_then(|c| c.width).map(Measured::input)),
            (Measure::CoilOhm, ohm.map(Measured::input)),
            (Measure::Rated, rated.map(|r| Input::certain(r.si()))),
        ]
        .into_iter()
        .filter_map(|(measure, met)| {
            let met = met?;
            Some(Observation { measure, met: Input { u: met.u.max(BEST_U * met.value.abs()), ..met } })
        })
        .collect()
    }

    /// Whether what is known of the sample says what this measurement would show.
    pub fn can_show(&self, measure: Measure) -> bool {
        let coil = self.coil.as_ref();
        match measure {
            Measure::Width => coil.is_some_and(|c| matches!(c.turns, Turns::Counted(_))),
            Measure::CoilOhm | Measure::Rated => coil.is_some_and(Wound::is_described),
            _ => true,
        }
    }

    /// Length of the straight piece; a metre ± 1 mm where none was cut yet.
    pub fn length(&self) -> Measured<Length> {
        self.sample.length.unwrap_or(Measured::new(Length::from_m(1.0), Length::from_mm(1.0)))
    }

    /// The length that is between the clips.
    pub fn ohm_length(&self) -> Measured<Length> {
        self.sample.ohm_length.unwrap_or(self.length())
    }
}
