//! `coil.design`: wire, former, winding, gap and target in; everything about the coil out.

use crate::error::Explained;
use crate::former::OriginAnswer;
use crate::quantity::{C, Deg, Figure, G, GPerCm3, GPerM, M, Mm, Ohm, OhmPerM, One, Pct, Reading, Setting, Uh};
use crate::reference::{AdhesiveRef, FormerRef, WireRef};
use crate::shape::{asks, method, tells};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;

asks! {
    /// A coil: what it is wound of, on what, and for which gap and target.
    CoilDesign {
        /// The wire.
        wire: WireRef,
        /// The former.
        former: FormerParams,
        /// The winding.
        winding: WindingParams,
    } may {
        /// Magnet wire between winding and terminals, both ends together: part of the resistance and of the tails.
        leads_m: Reading<M>,
        /// Wire beyond the winding at both ends together, leads included.
        tails_m: Reading<M>,
        /// Wire lost in threading.
        threading_m: Reading<M>,
        /// The magnetic gap.
        gap: GapParams,
        /// What the coil should measure.
        target: TargetParams,
        /// Temperature at the bench.
        bench_c: Setting<C>,
        /// Temperature of the working coil.
        hot_c: Setting<C>,
        /// Middle of the winding above the middle of the top plate.
        offset_mm: Setting<Mm>,
        /// The adhesive that it is wound with: its density, and at the gate its pot life.
        adhesive: AdhesiveRef,
        /// What is assumed otherwise than by default.
        assume: AssumeParams,
    }
}

/// The former.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FormerParams {
    /// Its material.
    pub material: FormerRef,
    /// Inside diameter.
    pub inside_diameter_mm: Reading<Mm>,
    /// Wall thickness.
    pub wall_mm: Reading<Mm>,
    /// Height along the axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<Reading<Mm>>,
    /// Slit left open between the ends of the blank: 0 closes it. The material's own if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slit_mm: Option<Setting<Mm>>,
    /// Release shims between mandrel and former, on each side.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shims_mm: Vec<Setting<Mm>>,
    /// Six outside diameters of a former that is used again, at three heights two ways: mean for length, greatest for the fit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 6))]
    pub outside_diameters_mm: Vec<Reading<Mm>>,
    /// Vent holes: they take their share of mass and damping.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vents: Option<VentParams>,
    /// Half the angle at the tip of a former that is a cone: its blank is a sector, the winding sits on its narrow end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cone_deg: Option<Setting<Deg>>,
}

asks! {
    /// Round holes in a former's wall.
    VentParams {
        /// How many.
        count: u32,
        /// Their diameter.
        diameter_mm: Setting<Mm>,
    } may {}
}

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

asks! {
    /// The magnetic gap.
    GapParams {} may {
        /// Diameter of the pole.
        pole_mm: Reading<Mm>,
        /// Bore of the top plate.
        bore_mm: Reading<Mm>,
        /// Thickness of the top plate.
        plate_mm: Reading<Mm>,
        /// Least clearance between pole and former, one side, cold.
        min_inner_mm: Setting<Mm>,
        /// Least clearance between winding and plate, one side, cold.
        min_outer_mm: Setting<Mm>,
    }
}

asks! {
    /// What the coil should measure.
    TargetParams {} may {
        /// Direct-current resistance at 20 °C, leads included.
        dcr_ohm: Setting<Ohm>,
        /// How far it may be off.
        tolerance_pct: Setting<Pct>,
        /// Rated impedance of the driver.
        rated_ohm: Setting<Ohm>,
    }
}

/// Assumptions.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AssumeParams {
    /// Pitch over overall diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch_factor: Option<Reading<One>>,
    /// Radial step from layer to layer over overall diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nesting: Option<Reading<One>>,
    /// Excess of the wound resistance per metre over the wire's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resistance_excess_pct: Option<Reading<Pct>>,
    /// Elongation of the wire in winding.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elongation_pct: Option<Reading<Pct>>,
    /// Film of glue between former and first layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub glue_mm: Option<Reading<Mm>>,
    /// Skin of adhesive over the winding, one side; 0 if it is wiped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skin_mm: Option<Reading<Mm>>,
    /// Collar or wrap over the winding, one side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap_mm: Option<Reading<Mm>>,
    /// How the layers above the first are counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alternate_layer_turns: Option<UpperLayers>,
    /// Density of the cured adhesive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adhesive_g_per_cm3: Option<Setting<GPerCm3>>,
}

/// How the layers above the first are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UpperLayers {
    /// One turn less than the first.
    OneLess,
    /// As many as the first.
    Equal,
}

/// Turns of each layer, or of the first one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TurnsPerLayer {
    /// Turns of the first layer; the others follow by rule.
    First(u32),
    /// Turns of each layer.
    Each(Vec<u32>),
}

impl Serialize for TurnsPerLayer {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self {
            TurnsPerLayer::First(n) => n.serialize(s),
            TurnsPerLayer::Each(list) => list.serialize(s),
        }
    }
}

struct TurnsForm;

impl<'de> Visitor<'de> for TurnsForm {
    type Value = TurnsPerLayer;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a list of whole numbers of turns like [52, 51], or one whole number for the first layer")
    }
    fn visit_u64<E: de::Error>(self, n: u64) -> Result<Self::Value, E> {
        u32::try_from(n).map(TurnsPerLayer::First).map_err(|_| E::invalid_value(de::Unexpected::Unsigned(n), &self))
    }
    fn visit_f64<E: de::Error>(self, turns: f64) -> Result<Self::Value, E> {
        whole(turns).map(TurnsPerLayer::First)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, seq: A) -> Result<Self::Value, A::Error> {
        let list = Vec::<WholeTurns>::deserialize(de::value::SeqAccessDeserializer::new(seq))?;
        Ok(TurnsPerLayer::Each(list.into_iter().map(|n| n.0).collect()))
    }
}

/// Turns of one layer.
struct WholeTurns(u32);

impl Visitor<'_> for WholeTurns {
    type Value = WholeTurns;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a whole number of turns")
    }
    fn visit_u64<E: de::Error>(self, n: u64) -> Result<WholeTurns, E> {
        u32::try_from(n).map(WholeTurns).map_err(|_| E::invalid_value(de::Unexpected::Unsigned(n), &self))
    }
    fn visit_f64<E: de::Error>(self, turns: f64) -> Result<WholeTurns, E> {
        whole(turns).map(WholeTurns)
    }
}
impl<'de> Deserialize<'de> for WholeTurns {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(WholeTurns(0))
    }
}

/// A count that was written with a point: `37.0` is meant as 37, `36.5` is no count of a layer.
fn whole<E: de::Error>(turns: f64) -> Result<u32, E> {
    if turns.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&turns) {
        return Ok(turns as u32);
    }
    let text = format!("a layer is counted in whole turns of 360°, and {turns} is none");
    let next = "write the whole turns; where the finish lead leaves across the coil, count that half turn to the leads";
    Err(E::custom(Explained::new(&text, &turns.to_string(), "whole turns like 36", next).encoded()))
}

impl<'de> Deserialize<'de> for TurnsPerLayer {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(TurnsForm)
    }
}
impl JsonSchema for TurnsPerLayer {
    fn schema_name() -> Cow<'static, str> {
        "TurnsPerLayer".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [
            { "type": "integer", "minimum": 1 },
            { "type": "array", "items": { "type": "integer", "minimum": 1 }, "minItems": 1, "maxItems": 12 },
        ]})
    }
}

method!(CoilDesign => CoilDesigned, "coil.design", "Designs a coil: turns, length, resistance, fit in the gap, masses, with uncertainty, findings and the origin of every default.");

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

/// How serious a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum FindingLevel {
    /// Do not go on.
    Stop,
    /// Look before going on.
    Watch,
    /// Worth knowing.
    Note,
}

tells! {
    /// Something the winder must be told.
    FindingAnswer {
        /// A stable word.
        code: String,
        /// How serious.
        level: FindingLevel,
        /// In words, with the figures.
        text: String,
    } may {
        /// The figure, in the unit that the text names.
        figure: f64,
        /// What it is held against.
        limit: f64,
    }
}
