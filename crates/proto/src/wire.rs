//! `wire.list` and `wire.show`: the catalog's wires.

use crate::method::Method;
use crate::quantity::{Figure, GPerM, Mm, OhmPerM, Reading, Setting};
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

/// A wire written out by its figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InlineWire {
    /// The metal.
    pub conductor: Metal,
    /// Bare diameter.
    pub bare_mm: Reading<Mm>,
    /// Diameter over the insulation.
    pub overall_mm: Reading<Mm>,
    /// Least diameter over the insulation that the maker allows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overall_min_mm: Option<Setting<Mm>>,
    /// Greatest diameter over the insulation that the maker allows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overall_max_mm: Option<Setting<Mm>>,
    /// Resistance of a metre at 20 °C; with `u` it counts as measured on this wire. Computed from metal and diameter if
    /// absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm_per_m: Option<Reading<OhmPerM>>,
    /// Mass of a metre with its insulation; with `u` it counts as measured on this wire. Computed if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub g_per_m: Option<Reading<GPerM>>,
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

/// Asks for the catalog's wires.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WireList {
    /// Only wires of this metal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conductor: Option<Metal>,
    /// Only wires whose id or label has this text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// Only wires at least this thick, bare.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bare_min_mm: Option<Setting<Mm>>,
    /// Only wires at most this thick, bare.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bare_max_mm: Option<Setting<Mm>>,
    /// Only listed or only computed wires; listed ones if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standing: Option<WireStanding>,
    /// At most so many; 100 if absent, 1000 at most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<u32>,
    /// Goes on where an earlier answer's `next_cursor` left off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cursor: Option<String>,
}

/// Wires, thickest first within a series.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WireListAnswer {
    /// The wires.
    pub items: Vec<WireAnswer>,
    /// Where to go on; absent at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_cursor: Option<String>,
}

impl Method for WireList {
    type Answer = WireListAnswer;
    const NAME: &'static str = "wire.list";
    const SUMMARY: &'static str = "Lists the wires of the catalog.";
}

/// Asks for one wire.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WireShow {
    /// Id of the wire.
    pub wire: String,
}

impl Method for WireShow {
    type Answer = WireAnswer;
    const NAME: &'static str = "wire.show";
    const SUMMARY: &'static str = "Shows one wire with its limits and where they come from.";
    const LEADING: &'static [&'static str] = &["wire"];
}
