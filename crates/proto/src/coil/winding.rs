//! How a coil is wound: its kind, its wires in hand, its layers and their width or count.

use super::TurnsPerLayer;
use crate::quantity::{C, GPerCm3, GPerM, Mm, OhmPerM, Reading, Setting};
use crate::shape::asks;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// The winding: a width to fill, or a count.
    #[derive(Default)]
    WindingParams {} may {
        /// What kind it is: one winding on the outside of the former if absent.
        kind: WindingKind,
        /// Wires laid side by side at once and joined at their ends, each an unbroken length: 2 is bifilar.
        wires_in_hand: u32,
        /// How the two windings of a dual coil lie.
        arrangement: WindingArrangement,
        /// How the two windings of a dual coil are joined: then resistance, force and inductance are those of both.
        connect: WindingConnect,
        /// Layers of the inner winding of a stacked dual coil, or inside the former; half of `layers` if absent.
        inner_layers: u32,
        /// Free width between two windings side by side.
        space_mm: Reading<Mm>,
        /// Paper between the layers, thickness of one.
        paper_mm: Reading<Mm>,
        /// Self-bonding wire: no adhesive, baked instead.
        bond: BondParams,
        /// Rectangular wire of an edge-wound coil; `wire` says its conductor and what the spool is called.
        ribbon: RibbonParams,
        /// Number of layers; may be absent where turns are listed per layer.
        layers: u32,
        /// Width outside to outside of wire.
        width_mm: Reading<Mm>,
        /// Turns of each layer, first layer first, or one number for the first layer: a real count rules over the width.
        turns_per_layer: TurnsPerLayer,
    }
}

/// Kinds of winding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WindingKind {
    /// One winding on the outside of the former.
    Plain,
    /// Two windings with leads of their own.
    Dual,
    /// The first layers inside the former, the others outside, one wire through a hole.
    InsideOutside,
    /// Rectangular wire.
    EdgeWound,
}

/// How the two windings of a dual coil lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WindingArrangement {
    /// The second over the first.
    Stacked,
    /// Beside each other along the former, both with the layers and turns that are given.
    SideBySide,
    /// Laid together, wire beside wire.
    InHand,
}

/// How the two windings of a dual coil are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WindingConnect {
    /// Not at all: the figures are those of the first winding.
    Apart,
    /// One after the other.
    Series,
    /// Beside each other.
    Parallel,
}

asks! {
    /// The bond coat of a self-bonding wire.
    BondParams {} may {
        /// Diameter over the bond coat; for a rectangular wire its own dimensions are taken over it.
        overall_mm: Reading<Mm>,
        /// Temperature of the winding while it is baked by current.
        bake_c: Setting<C>,
        /// Density of the bond coat.
        g_per_cm3: Reading<GPerCm3>,
    }
}

asks! {
    /// A rectangular wire: width stands away from the former, thickness lies along it.
    RibbonParams {
        /// Bare, away from the former.
        width_mm: Reading<Mm>,
        /// Bare, along the former.
        thickness_mm: Reading<Mm>,
        /// Over the insulation, away from the former.
        over_width_mm: Reading<Mm>,
        /// Over the insulation, along the former.
        over_thickness_mm: Reading<Mm>,
    } may {
        /// Resistance of a metre at 20 °C as measured: never that of a round wire of the same area.
        ohm_per_m: Reading<OhmPerM>,
        /// Mass of a metre with its insulation.
        g_per_m: Reading<GPerM>,
        /// Radius of its corners; sharp if absent.
        corner_radius_mm: Setting<Mm>,
    }
}
