//! `sheet.section`: the coil in its gap as a drawing to scale.

use crate::coil::CoilDesign;
use crate::method::Method;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Asks for the drawing of a coil.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetSection {
    /// The coil, as for `coil.design`.
    pub coil: CoilDesign,
    /// What the title block calls it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
}

/// The drawing.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SheetSectionAnswer {
    /// A whole SVG document.
    pub svg: String,
    /// The drawing in a sentence, for those who do not see it.
    pub sentence: String,
}

impl Method for SheetSection {
    type Answer = SheetSectionAnswer;
    const NAME: &'static str = "sheet.section";
    const SUMMARY: &'static str = "Draws the section of coil, former and gap to scale, as SVG.";
}
