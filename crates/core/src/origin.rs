//! Where a default came from: every number that nobody gave carries its mark and its source into the answer.

use serde::{Deserialize, Serialize};

/// The mark on a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// A published source is named beside it.
    Published,
    /// Derived here from published values or from geometry; the derivation is named.
    Derived,
    /// Common practice of the trade; no source.
    CommonPractice,
    /// From memory, not verified: check it before relying on it.
    Memory,
    /// Learned from the shop's own coils.
    Learned,
}

/// A default that entered a calculation.
#[derive(Debug, Clone, PartialEq)]
pub struct Origin {
    /// The parameter that it stands for, e.g. `assume.nesting`.
    pub param: String,
    /// Its value, in `unit`.
    pub value: f64,
    /// Its standard uncertainty, in `unit`.
    pub u: f64,
    /// The unit, as people write it; empty for a bare ratio.
    pub unit: &'static str,
    /// The mark.
    pub mark: Mark,
    /// The source, or what the mark rests on.
    pub source: String,
}
