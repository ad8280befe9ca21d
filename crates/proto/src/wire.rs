//! `wire.list` and `wire.show`: the catalog's wires.

use crate::quantity::{Figure, GPerM, Mm, OhmPerM, Reading, Setting};
use crate::shape::{asks, method, tells};
use coilwright_core::conductor::Conductor;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The metal of a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Metal {
    /// Annealed copper.
    Copper,
    /// Electrical-grade aluminium.
    Aluminium,
    /// Copper-clad aluminium, 10 % copper by volume.
    Cca10,
    /// Copper-clad aluminium, 15 % copper by volume.
    Cca15,
}

impl From<Metal> for Conductor {
    fn from(m: Metal) -> Conductor {
        match m {
            Metal::Copper => Conductor::Copper,
            Metal::Aluminium => Conductor::Aluminium,
            Metal::Cca10 => Conductor::Cca10,
            Metal::Cca15 => Conductor::Cca15,
        }
    }
}
impl From<Conductor> for Metal {
    fn from(c: Conductor) -> Metal {
        match c {
            Conductor::Copper => Metal::Copper,
            Conductor::Aluminium => Metal::Aluminium,
            Conductor::Cca10 => Metal::Cca10,
            Conductor::Cca15 => Metal::Cca15,
        }
    }
}

asks! {
    /// A wire written out by its figures.
    InlineWire {
        /// The metal.
        conductor: Metal,
        /// Bare diameter.
        bare_mm: Reading<Mm>,
        /// Diameter over the insulation.
        overall_mm: Reading<Mm>,
    } may {
        /// Least diameter over the insulation that the maker allows.
        overall_min_mm: Setting<Mm>,
        /// Greatest diameter over the insulation that the maker allows.
        overall_max_mm: Setting<Mm>,
        /// Resistance of a metre at 20 °C; with `u` it counts as measured on this wire. Computed from metal and diameter if
        /// absent.
        ohm_per_m: Reading<OhmPerM>,
        /// Mass of a metre with its insulation; with `u` it counts as measured on this wire. Computed if absent.
        g_per_m: Reading<GPerM>,
    }
}

/// Whether a source lists a wire or it was computed from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WireStanding {
    /// A source lists it.
    Listed,
    /// The same size in another conductor: for identification, never proposed for buying.
    Computed,
}

/// A wire of the catalog.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WireAnswer {
    /// Its id.
    pub wire: String,
    /// In words.
    pub label: String,
    /// The metal.
    pub conductor: Metal,
    /// Series of sizes: `awg` or `metric`, or another of a plugin.
    pub series: String,
    /// Size in that series.
    pub size: String,
    /// Build or grade of the insulation.
    pub build: String,
    /// Listed or computed.
    pub standing: WireStanding,
    /// Bare diameter.
    pub bare_mm: Figure<Mm>,
    /// Least bare diameter allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bare_min_mm: Option<Setting<Mm>>,
    /// Greatest bare diameter allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bare_max_mm: Option<Setting<Mm>>,
    /// Diameter over the insulation.
    pub overall_mm: Figure<Mm>,
    /// Least overall diameter allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overall_min_mm: Option<Setting<Mm>>,
    /// Greatest overall diameter allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overall_max_mm: Option<Setting<Mm>>,
    /// Resistance of a metre at 20 °C.
    pub ohm_per_m: Figure<OhmPerM>,
    /// Least resistance of a metre allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ohm_per_m_min: Option<Setting<OhmPerM>>,
    /// Greatest resistance of a metre allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ohm_per_m_max: Option<Setting<OhmPerM>>,
    /// Mass of a metre with its insulation.
    pub g_per_m: Figure<GPerM>,
    /// The plugin that brought it.
    pub plugin: String,
    /// Where its dimensions come from.
    pub source: String,
}

asks! {
    /// Asks for the catalog's wires.
    WireList {} may {
        /// Only wires of this metal.
        conductor: Metal,
        /// Only wires whose id or label has this text.
        text: String,
        /// Only wires at least this thick, bare.
        bare_min_mm: Setting<Mm>,
        /// Only wires at most this thick, bare.
        bare_max_mm: Setting<Mm>,
        /// Only listed or only computed wires; listed ones if absent.
        standing: WireStanding,
        /// At most so many; 100 if absent, 1000 at most.
        limit: u32,
        /// Goes on where an earlier answer's `next_cursor` left off.
        cursor: String,
    }
}

tells! {
    /// Wires, thickest first within a series.
    WireListAnswer {
        /// The wires.
        items: Vec<WireAnswer>,
    } may {
        /// Where to go on; absent at the end.
        next_cursor: String,
    }
}

method!(WireList => WireListAnswer, "wire.list", "Lists the wires of the catalog.");

asks! {
    /// Asks for one wire.
    WireShow {
        /// Id of the wire.
        wire: String,
    } may {}
}

method!(WireShow => WireAnswer, "wire.show", "Shows one wire with its limits and where they come from.", leading: ["wire"]);
