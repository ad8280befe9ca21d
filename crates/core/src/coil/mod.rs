//! A coil from its wire, former and winding to everything a winder asks about it.
//!
//! [`spec`] is the question, [`assume`] fills what was not said, [`count`] finds the turns, [`figures`] carries the
//! formulas, [`findings`] judges, and [`design()`] walks through them.

pub mod assume;
pub mod count;
mod design;
pub mod figures;
pub mod filled;
pub mod findings;
pub mod joint;
pub mod range;
pub mod spec;
pub mod tension;

pub use design::{Design, DesignError, Mass, design};
