//! The question: what coil is meant, in which gap, for which target.

use super::lay::Lay;
use crate::former::Former;
use crate::measured::Measured;
use crate::quantity::{Density, Length, Resistance, Temperature};
use crate::wire::{Standing, Wire};
use serde::{Deserialize, Serialize};

/// A coil as the winder describes it. What is `None` was not said.
#[derive(Debug, Clone, PartialEq)]
pub struct CoilSpec {
    /// The wire.
    pub wire: Wire,
    /// Whether the wire is listed, computed or given by its figures.
    pub standing: Standing,
    /// The former.
    pub former: Former,
    /// Layers and width or count.
    pub winding: Winding,
    /// Magnet wire between winding and terminals, both ends together; part of the resistance and of the tails.
    pub leads: Option<Measured<Length>>,
    /// Wire beyond the winding at both ends together, leads included.
    pub tails: Option<Measured<Length>>,
    /// Wire lost in threading the machine.
    pub threading: Option<Measured<Length>>,
    /// The magnetic gap.
    pub gap: Option<Gap>,
    /// What the coil should measure.
    pub target: Option<Target>,
    /// Temperature at the bench.
    pub bench: Option<Temperature>,
    /// Temperature of the working coil.
    pub hot: Option<Temperature>,
    /// Middle of the winding above the middle of the top plate.
    pub offset: Option<Length>,
    /// What the winder assumes otherwise than by default.
    pub assume: AssumeSpec,
}

/// Layers, and either the width to fill or the turns to wind.
#[derive(Debug, Clone, PartialEq)]
pub struct Winding {
    /// Number of layers.
    pub layers: u32,
    /// Width outside to outside of wire.
    pub width: Option<Measured<Length>>,
    /// Turns of each layer, first layer first: a real count rules. Of windings side by side: of each of them.
    pub turns_per_layer: Option<Vec<u32>>,
    /// How the wires lie.
    pub lay: Lay,
}

/// The magnetic gap of the motor.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Diameter of the pole.
    pub pole: Option<Measured<Length>>,
    /// Bore of the top plate.
    pub bore: Option<Measured<Length>>,
    /// Thickness of the top plate.
    pub plate: Option<Measured<Length>>,
    /// Least clearance between pole and former, cold, on one side.
    pub min_inner: Option<Length>,
    /// Least clearance between winding and plate, cold, on one side.
    pub min_outer: Option<Length>,
}

/// What the finished coil should measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Direct-current resistance at 20 °C, leads included.
    pub dcr: Option<Resistance>,
    /// How far it may be off, as a fraction.
    pub tolerance: Option<f64>,
    /// Rated impedance of the driver.
    pub rated: Option<Resistance>,
}

/// How the layers above the first are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UpperLayers {
    /// One turn less than the first: they start and end one groove in.
    OneLess,
    /// As many as the first.
    Equal,
}

/// Assumptions given in the request; the rest comes from [`super::assume`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AssumeSpec {
    /// Pitch over overall diameter, k.
    pub pitch_factor: Option<Measured<f64>>,
    /// Radial step from layer to layer over overall diameter, b.
    pub nesting: Option<Measured<f64>>,
    /// Excess of the wound resistance per metre over the wire's, as a fraction.
    pub resistance_excess: Option<Measured<f64>>,
    /// Elongation of the wire in winding, as a fraction.
    pub elongation: Option<Measured<f64>>,
    /// Film of glue between former and first layer.
    pub glue: Option<Measured<Length>>,
    /// Skin of adhesive over the winding, on one side.
    pub skin: Option<Measured<Length>>,
    /// Collar or wrap over the winding, on one side.
    pub wrap: Option<Measured<Length>>,
    /// How the layers above the first are counted.
    pub upper_layers: Option<UpperLayers>,
    /// Density of the cured adhesive.
    pub adhesive: Option<Density>,
    /// What the shop's own coils taught: stands in for what is not given.
    pub learned: LearnedSpec,
}

/// Figures that the shop's own coils taught, each for the next coil.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LearnedSpec {
    /// Measured over planned resistance of this wire on this mandrel.
    pub dcr_ratio: Option<Taught<f64>>,
    /// Pitch over overall diameter.
    pub pitch_factor: Option<Taught<f64>>,
    /// Radial step over overall diameter.
    pub nesting: Option<Taught<f64>>,
    /// To be added to the usual elongation, as a fraction.
    pub more_elongation: Option<Taught<f64>>,
    /// To be added to the usual threading.
    pub more_threading: Option<Taught<Length>>,
}

/// A figure and the number of coils that taught it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taught<Q> {
    /// The figure for the next coil.
    pub next: Measured<Q>,
    /// How many coils taught it.
    pub coils: u64,
}
