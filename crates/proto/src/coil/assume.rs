//! What a design assumes otherwise than by default.

use crate::quantity::{GPerCm3, Mm, One, Pct, Reading, Setting};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
