//! `former.list`: the catalog's former materials.

use crate::quantity::{C, Figure, GPerCm3, Mm, OhmM, PerK, Reading, Setting};
use crate::shape::{asks, method, tells};
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
