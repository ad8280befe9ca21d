//! A coil from its wire, former and winding to everything a winder asks about it.
//!
//! [`spec`] is the question ([`lay`] how the wires lie), [`laid`] shares out the layers, [`assume`] fills what was not
//! said, [`count`] finds the turns, [`figures`] carries the formulas, [`findings`] judges, and [`design()`] walks through
//! them.

pub mod assume;
pub mod count;
mod design;
pub mod figures;
pub mod filled;
pub mod findings;
mod inductance;
pub mod joint;
mod kind_findings;
pub mod laid;
pub mod lay;
pub mod range;
mod shape;
pub mod spec;
pub mod tension;
mod windings;

pub use design::{Design, DesignError, Mass, design};
pub use windings::{Joined, WindingFigures, Windings};
