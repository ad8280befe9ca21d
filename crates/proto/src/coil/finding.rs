//! Something that a person at the bench must be told, and how serious it is.

use crate::shape::tells;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
