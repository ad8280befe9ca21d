//! Every wire, layer count and whole count of turns that meets a target, and the nearest that do not.
//!
//! Plain numbers in SI units and no allocation within the search: the gap prunes by the wire's overall diameter, and the
//! counts that give the resistance are solved for, not tried. [`row`] is one wire in so many layers, [`near`] the misses.

pub mod near;
pub mod row;
mod search;

pub use near::{Miss, Nearest};
pub use row::{FormerFrame, Row, WireFrame};
pub use search::{Bounds, Hit, Searched, SoundBounds, Target, search};

#[cfg(test)]
mod tests;
