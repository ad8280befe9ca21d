//! `shop.status`: how the shop and its daemon are.

use crate::method::Method;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Asks how things are.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopStatus {}

/// Whether all is well.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Health {
    /// All is well.
    Good,
    /// Reading goes on, something else does not: see `faults`.
    Degraded,
}

/// How the shop and its daemon are.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ShopStatusAnswer {
    /// Version of the program.
    pub version: String,
    /// Whether all is well.
    pub health: Health,
    /// What is not well, in sentences.
    pub faults: Vec<String>,
    /// How much there is of what.
    pub counts: Counts,
    /// The plugins in use.
    pub plugins: Vec<PluginAnswer>,
    /// Digest of everything the catalog holds: the same digest answers the same questions in the same way.
    pub catalog_digest: String,
}

/// How much there is of what.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Counts {
    /// Wires in the catalog.
    pub wires: usize,
    /// Former materials in the catalog.
    pub formers: usize,
}

/// A plugin in use.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PluginAnswer {
    /// Its id.
    pub plugin: String,
    /// Its version.
    pub version: String,
    /// What it is.
    pub title: String,
    /// `built-in`, or the folder it was read from.
    pub origin: String,
}

impl Method for ShopStatus {
    type Answer = ShopStatusAnswer;
    const NAME: &'static str = "shop.status";
    const SUMMARY: &'static str = "Says how the shop and its daemon are.";
}
