//! `former.list`, `former.compare`: the catalog's former materials, and formers side by side under one coil.

use crate::coil::{BlankAnswer, CoilDesign, FindingAnswer};
use crate::money::Money;
use crate::quantity::{C, Figure, G, GPerCm3, Mm, NsPerM, Ohm, OhmM, PerK, Reading, Setting, Tesla};
use crate::reference::FormerRef;
use crate::shape::{asks, method, tells};
use crate::wire::Metal;
use coilwright_core::origin::Mark;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// A former material written out by its figures.
    InlineMaterial {
        /// Density.
        density_g_per_cm3: Reading<GPerCm3>,
    } may {
        /// Resistivity at 20 °C: given for a metal, absent for an insulator.
        resistivity_ohm_m: Setting<OhmM>,
        /// Temperature it bears in continuous use.
        heat_limit_c: Setting<C>,
        /// Linear expansion.
        expansion_per_k: Setting<PerK>,
    }
}

/// Where a number came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum OriginMark {
    /// A published source is named.
    Published,
    /// Derived from published values or geometry.
    Derived,
    /// Common practice of the trade; no source.
    CommonPractice,
    /// From memory, not verified.
    Memory,
    /// Learned from the shop's own coils.
    Learned,
}

impl From<Mark> for OriginMark {
    fn from(m: Mark) -> OriginMark {
        match m {
            Mark::Published => OriginMark::Published,
            Mark::Derived => OriginMark::Derived,
            Mark::CommonPractice => OriginMark::CommonPractice,
            Mark::Memory => OriginMark::Memory,
            Mark::Learned => OriginMark::Learned,
        }
    }
}

tells! {
    /// Where one default came from.
    OriginAnswer {
        /// The member it stands for.
        param: String,
        /// Its value, in `unit`.
        value: f64,
        /// Its standard uncertainty, in `unit`.
        u: f64,
        /// The unit; empty for a bare ratio.
        unit: String,
        /// The mark.
        mark: OriginMark,
        /// The source, or what it rests on.
        source: String,
    } may {}
}

/// Asks for the catalog's former materials.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FormerList {}

/// A former material of the catalog.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FormerAnswer {
    /// Its id.
    pub former: String,
    /// In words.
    pub label: String,
    /// Whether a closed ring of it is a shorted turn.
    pub metal: bool,
    /// Density.
    pub density_g_per_cm3: Figure<GPerCm3>,
    /// Resistivity at 20 °C, of a metal.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resistivity_ohm_m: Option<Setting<OhmM>>,
    /// Temperature it bears in continuous use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_limit_c: Option<Setting<C>>,
    /// Linear expansion.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expansion_per_k: Option<Setting<PerK>>,
    /// Usual wall thicknesses.
    pub thicknesses_mm: Vec<Setting<Mm>>,
    /// Slit that is left open where none is asked for.
    pub slit_mm: Setting<Mm>,
    /// Where each number came from.
    pub origins: Vec<OriginAnswer>,
    /// The plugin that brought it.
    pub plugin: String,
}

tells! {
    /// The former materials.
    FormerListAnswer {
        /// The materials.
        items: Vec<FormerAnswer>,
    } may {}
}

method!(FormerList => FormerListAnswer, "former.list", "Lists the former materials of the catalog.");

asks! {
    /// Asks for two or more formers side by side under one coil.
    FormerCompare {
        /// The coil, as for `coil.design`: its own former is the first of the comparison.
        coil: CoilDesign,
        /// The others.
        formers: Vec<OtherFormer>,
    } may {
        /// What a square metre of the coil's own former costs.
        price_per_m2: Money,
        /// The field in the gap: gives the damping in it.
        field_t: Reading<Tesla>,
    }
}
method!(FormerCompare => FormerCompared, "former.compare", "Sets formers side by side under one coil: wall, mass, blank, room in the gap, heat, damping closed and slit, growth when hot, price.");

asks! {
    /// Another former for the same coil.
    OtherFormer {
        /// Its material.
        material: FormerRef,
    } may {
        /// Its wall; of the usual ones the nearest to that of the coil's own former if absent.
        wall_mm: Reading<Mm>,
        /// Slit left open between the ends of its blank; the material's own if absent.
        slit_mm: Setting<Mm>,
        /// What a square metre of it costs.
        price_per_m2: Money,
    }
}

tells! {
    /// Formers side by side.
    FormerCompared {
        /// One former each, the coil's own first.
        items: Vec<ComparedFormer>,
        /// Where each number came from.
        origins: Vec<OriginAnswer>,
    } may {}
}

tells! {
    /// One former under the coil.
    ComparedFormer {
        /// Its id, or `written out`.
        former: String,
        /// In words.
        label: String,
        /// Wall.
        wall_mm: Setting<Mm>,
        /// Slit left open.
        slit_mm: Setting<Mm>,
        /// The flat strip that it is bent from.
        blank: BlankAnswer,
        /// Resistance at 20 °C of the same winding on it, with leads.
        dcr_ohm: Figure<Ohm>,
        /// In a sentence, against the first.
        sentence: String,
        /// What must be told of the coil on it, the serious first.
        findings: Vec<FindingAnswer>,
    } may {
        /// Its mass; absent without the former's height.
        former_g: Figure<G>,
        /// Wire, adhesive and former together.
        coil_g: Figure<G>,
        /// Between winding and plate at the cross-over, one side.
        clearance_outer_mm: Figure<Mm>,
        /// What it takes from that clearance against the first; negative if it gives.
        clearance_cost_mm: Setting<Mm>,
        /// Temperature it bears in continuous use, where known.
        heat_limit_c: Setting<C>,
        /// Mechanical resistance it adds while closed, per square tesla; of a metal.
        closed_per_t2: Figure<NsPerM>,
        /// The same with a slit.
        slit_per_t2: Figure<NsPerM>,
        /// Closed, in the field given.
        closed_n_s_per_m: Figure<NsPerM>,
        /// With a slit, in the field given.
        slit_n_s_per_m: Figure<NsPerM>,
        /// How much its diameter grows from bench to working temperature.
        growth_hot_mm: Setting<Mm>,
        /// How much the winding's grows.
        winding_growth_hot_mm: Setting<Mm>,
        /// The sheet of one blank, cut without loss.
        price: Money,
    }
}

asks! {
    /// Asks for the mandrel and shims of an inside diameter.
    FormerMandrel {
        /// Inside diameter of the former, or of the winding where it has none.
        inside_diameter_mm: Setting<Mm>,
    } may {
        /// Mandrels to choose from; the shop's own if left out.
        mandrels_mm: Vec<Setting<Mm>>,
        /// Release shims to choose from, thickness; the shop's own if left out.
        shims_mm: Vec<Setting<Mm>>,
        /// Film that a mandrel may be wrapped with to build it up.
        film_mm: Setting<Mm>,
        /// How far the inside diameter may be off; 0.02 mm if left out.
        tolerance_mm: Setting<Mm>,
        /// Temperature of the cure: the oven's effect is told for it.
        cure_c: Setting<C>,
        /// Temperature of the bench; 23 °C if left out.
        bench_c: Setting<C>,
        /// What the mandrel is made of; aluminium if left out.
        mandrel_material: MandrelMaterial,
        /// Expansion of the mandrel, where it is of something else.
        mandrel_expansion_per_k: Setting<PerK>,
        /// Conductor of the winding; copper if left out.
        conductor: Metal,
    }
}
method!(FormerMandrel => FormerMandrelAnswer, "former.mandrel", "Chooses mandrel, release shims and film wraps from the shop's own stock, and says what the oven does to them.", leading: ["inside_diameter_mm"]);

/// What a mandrel is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MandrelMaterial {
    /// Aluminium, 23e-6 per kelvin.
    Aluminium,
    /// Steel, 11.5e-6 per kelvin.
    Steel,
    /// Brass, 19e-6 per kelvin.
    Brass,
}

tells! {
    /// Mandrel and shims.
    FormerMandrelAnswer {
        /// The inside diameter wanted.
        inside_diameter_mm: Setting<Mm>,
        /// What the drawer allows, the best first.
        choices: Vec<MandrelChoice>,
        /// What to turn where nothing in the drawer will do: a mandrel for each shim.
        to_turn: Vec<MandrelToTurn>,
        /// What must be told, the serious first.
        findings: Vec<FindingAnswer>,
        /// All of it in one sentence.
        sentence: String,
        /// What can hurt at this step.
        cautions: Vec<String>,
        /// Where each default came from.
        origins: Vec<OriginAnswer>,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// What the oven does.
        oven: MandrelOven,
    }
}

tells! {
    /// A mandrel built up to a diameter.
    MandrelChoice {
        /// The mandrel.
        mandrel_mm: Setting<Mm>,
        /// Shims on each side.
        shims_mm: Vec<Setting<Mm>>,
        /// Wraps of film around the mandrel.
        film_wraps: u32,
        /// The inside diameter that comes of it.
        inside_diameter_mm: Setting<Mm>,
        /// That less the one wanted.
        off_mm: Setting<Mm>,
        /// Whether it is within the tolerance.
        fits: bool,
        /// In words.
        sentence: String,
    } may {}
}

tells! {
    /// A mandrel that would do.
    MandrelToTurn {
        /// Its diameter.
        mandrel_mm: Setting<Mm>,
        /// The shim that it goes with, on each side.
        shim_mm: Setting<Mm>,
    } may {}
}

tells! {
    /// Growth from bench to cure.
    MandrelOven {
        /// How much the mandrel grows.
        mandrel_growth_mm: Setting<Mm>,
        /// How much the winding would grow by itself.
        winding_growth_mm: Setting<Mm>,
        /// How much larger the coil is inside at the bench after it cured.
        larger_mm: Setting<Mm>,
        /// Play between mandrel and winding in the oven.
        play_mm: Setting<Mm>,
        /// In words.
        sentence: String,
    } may {}
}
