//! What is told of a designed coil.

use super::{CoilDesign, FindingAnswer};
use crate::former::OriginAnswer;
use crate::quantity::{C, Deg, Figure, G, M, Mm, Ohm, One, Pct, Setting, Uh};
use crate::shape::tells;
use schemars::JsonSchema;
use serde::Serialize;

/// Everything about a coil. A member that could not be computed is absent and named in `findings`.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CoilDesigned {
    /// Turns of each layer to wind, first layer first; of windings side by side, those of each of them.
    pub turns_per_layer: Vec<u32>,
    /// Times that the coil goes round while it is wound.
    pub turns: u32,
    /// Unbroken lengths of wire in one coil, where it is more than one: two windings, or several wires in hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pieces: Option<u32>,
    /// From turn to turn along the axis.
    pub pitch_mm: Figure<Mm>,
    /// Width asked for, or made by the count.
    pub width_mm: Figure<Mm>,
    /// Width that this count takes at this pitch.
    pub wound_width_mm: Figure<Mm>,
    /// Diameter under the first layer, glue included.
    pub base_diameter_mm: Figure<Mm>,
    /// Mean diameter of each layer.
    pub layer_diameters_mm: Vec<Figure<Mm>>,
    /// Wire in the winding, without leads, before it stretches.
    pub length_m: Figure<M>,
    /// Wire to ask of a spool: winding, tails and threading, no credit for stretch.
    pub need_m: Figure<M>,
    /// Wire expected to leave the spool.
    pub draw_m: Figure<M>,
    /// Resistance at 20 °C with leads.
    pub dcr_ohm: Figure<Ohm>,
    /// Resistance at the bench with leads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dcr_bench_ohm: Option<Figure<Ohm>>,
    /// Outside diameter with nested layers: for length and mass.
    pub outside_nested_mm: Figure<Mm>,
    /// Outside diameter at the cross-over with skin and wrap: for the gap.
    pub outside_crossover_mm: Figure<Mm>,
    /// Between pole and former, one side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance_inner_mm: Option<Figure<Mm>>,
    /// Between winding and plate at the cross-over, one side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance_outer_mm: Option<Figure<Mm>>,
    /// The same with the coil hot and the bore cold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clearance_outer_hot_mm: Option<Figure<Mm>>,
    /// The flat piece that the former is bent from; none where it is used again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub blank: Option<BlankAnswer>,
    /// Mandrel to wind on.
    pub mandrel_mm: Setting<Mm>,
    /// Masses.
    pub mass: MassAnswer,
    /// Inductance in air; not to be compared with a data sheet's, which has iron in it.
    pub inductance_air_uh: Figure<Uh>,
    /// Winding beyond the top plate on each side; negative if within it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overhang_mm: Option<Figure<Mm>>,
    /// Travel one way until the winding leaves the field or the field leaves the winding, offset taken off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub one_sided_travel_mm: Option<Figure<Mm>>,
    /// Tension of each layer as a hanging weight.
    pub tension_g: Vec<Setting<G>>,
    /// Between which the first layer's may lie.
    pub tension_advised_g: TensionRange,
    /// Never beyond this, where known: the wire would stretch for good.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tension_cap_g: Option<Setting<G>>,
    /// Resistance of one turn of the outermost layer at 20 °C.
    pub turn_ohm: Figure<Ohm>,
    /// What comes of it if the width is filled by eye, by trial; only where the count stands on an edge.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub if_filled: Option<FilledAnswer>,
    /// The two windings of a dual coil.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub windings: Option<Vec<WindingAnswer>>,
    /// Both in series.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub series: Option<JoinedAnswer>,
    /// Both in parallel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parallel: Option<JoinedAnswer>,
    /// How strongly the two are coupled in air, 0 to 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coupling: Option<Setting<One>>,
    /// The bake of a self-bonding winding.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bake: Option<BakeAnswer>,
    /// What the winder must be told, the serious first.
    pub findings: Vec<FindingAnswer>,
    /// Where each default came from.
    pub origins: Vec<OriginAnswer>,
    /// The request as it was understood, in the units of its names.
    pub understood: CoilDesign,
}

tells! {
    /// A width filled by eye instead of counted, by draws of every doubtful dimension: beside the figures of the counted
    /// coil, which hold the count.
    FilledAnswer {
        /// Turns that the width holds by the middle values, with the part of a turn.
        holds_turns: f64,
        /// How often the first layer holds how many.
        first_layer: Vec<CountShare>,
        /// Turns of all layers.
        turns: Figure<One>,
        /// Wire in the winding.
        length_m: Figure<M>,
        /// Resistance at 20 °C with leads.
        dcr_ohm: Figure<Ohm>,
        /// The resistance lies above this with 97.5 %,
        dcr_low_ohm: Setting<Ohm>,
        /// and below this with 97.5 %.
        dcr_high_ohm: Setting<Ohm>,
        /// Draws made.
        draws: usize,
        /// What they are fixed by: the same seed, the same figures.
        seed: u64,
    } may {}
}

tells! {
    /// A count and how often it comes.
    CountShare {
        /// Turns.
        turns: u32,
        /// Of a hundred coils.
        share_pct: Setting<Pct>,
    } may {}
}

tells! {
    /// The flat piece that a former is bent from: a strip, or a sector for a cone; empty where none is cut.
    #[derive(Default)]
    BlankAnswer {} may {
        /// Strip: along the circumference.
        length_mm: Setting<Mm>,
        /// Strip: along the axis, the former's height.
        width_mm: Setting<Mm>,
        /// Sector: radius of its inner edge.
        inner_radius_mm: Setting<Mm>,
        /// Sector: radius of its outer edge; needs the former's height.
        outer_radius_mm: Setting<Mm>,
        /// Sector: angle between its straight edges; the slit comes off one of them.
        angle_deg: Setting<Deg>,
    }
}

tells! {
    /// One winding of a dual coil.
    WindingAnswer {
        /// Turns of each of its layers.
        turns_per_layer: Vec<u32>,
        /// Unbroken lengths of wire in it, joined at their ends.
        pieces: u32,
        /// Length of one of them in the winding, before it stretches.
        length_m: Figure<M>,
        /// One of them, tails and threading included.
        need_m: Figure<M>,
        /// Resistance at 20 °C with leads.
        dcr_ohm: Figure<Ohm>,
    } may {
        /// Wire in the field of the top plate: force per current and tesla.
        field_m: Figure<M>,
    }
}

tells! {
    /// Two windings joined.
    JoinedAnswer {
        /// Resistance at 20 °C with leads.
        dcr_ohm: Figure<Ohm>,
    } may {
        /// Wire in the field of the top plate: force per current and tesla.
        field_m: Figure<M>,
    }
}

tells! {
    /// The bake of a self-bonding winding by current.
    BakeAnswer {
        /// Temperature of the winding then.
        at_c: Setting<C>,
        /// What the meter shows then, test leads not counted.
        reading_ohm: Figure<Ohm>,
        /// Against the resistance at 20 °C.
        over_20c: Setting<One>,
    } may {
        /// Against the resistance at the bench.
        over_bench: Setting<One>,
    }
}

tells! {
    /// Hanging weights between which a tension may lie.
    TensionRange {
        /// The least.
        min: Setting<G>,
        /// The greatest.
        max: Setting<G>,
    } may {}
}

/// Masses of a coil.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MassAnswer {
    /// Metal of winding and leads.
    pub conductor_g: Figure<G>,
    /// Winding and leads with their insulation.
    pub wire_g: Figure<G>,
    /// Former.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub former_g: Option<Figure<G>>,
    /// Adhesive.
    pub adhesive_g: Figure<G>,
}
