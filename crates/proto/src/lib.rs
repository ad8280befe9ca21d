//! The words on the wire: params, answers and errors of every method, each with its JSON Schema.
//!
//! Nothing is decided here. A params type refuses what it does not know, by name and place; an answer type says what a
//! program may rely on.

pub mod adhesive;
pub mod alert;
pub mod batch;
pub mod bench;
pub mod buying;
pub mod care;
pub mod coil;
pub mod error;
pub mod former;
pub mod identify;
pub mod inductance;
pub mod job;
pub mod journal;
pub mod learn;
pub mod matching;
pub mod method;
pub mod money;
pub mod outlook;
pub mod params;
pub mod plan;
pub mod plugin;
pub mod quantity;
pub mod reference;
mod shape;
pub mod sheet;
pub mod shop;
pub mod sound;
pub mod spool;
pub mod unlock;
pub mod wire;

pub use method::{Method, MethodDoc, methods};
