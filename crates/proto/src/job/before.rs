//! What must be noted before a driver is taken apart.

use crate::quantity::{Mm, Ohm, Reading, Setting};
use crate::shape::asks;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Sign of a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Lead {
    /// The start lead is plus.
    Plus,
    /// The start lead is minus.
    Minus,
}

/// Winding hand, seen from the start end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Hand {
    /// With the clock.
    Clockwise,
    /// Against it.
    Counterclockwise,
}

/// Which pole the middle of the gap is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GapPolarity {
    /// The pole is north.
    PoleNorth,
    /// The pole is south.
    PoleSouth,
}

asks! {
    /// What must be noted before a driver is taken apart: nobody can find it out afterwards.
    Before {} may {
        /// Sign of the start lead.
        start_lead: Lead,
        /// Winding hand.
        hand: Hand,
        /// Polarity of the gap.
        gap_polarity: GapPolarity,
        /// Height at which the coil rests.
        rest_height_mm: Setting<Mm>,
        /// Whether the moving part fell freely.
        free_fall: bool,
        /// Where the photo is.
        photo: String,
        /// Resistance of the old coil, if it still has one.
        dcr_ohm: Reading<Ohm>,
        /// Diameter of the pole, each time it was measured: three times are usual.
        pole_mm: Vec<Setting<Mm>>,
        /// Bore of the top plate, likewise.
        bore_mm: Vec<Setting<Mm>>,
        /// Thickness of the top plate, likewise.
        plate_mm: Vec<Setting<Mm>>,
        /// Inside diameter of the old former, likewise.
        former_inside_mm: Vec<Setting<Mm>>,
        /// Wall of the old former, likewise.
        former_wall_mm: Vec<Setting<Mm>>,
        /// Width of the old winding, likewise.
        width_mm: Vec<Setting<Mm>>,
        /// Anything else.
        note: String,
    }
}
