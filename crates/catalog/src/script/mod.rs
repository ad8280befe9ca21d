//! Scripts of plugins: values in, values out, within low bounds.
//!
//! A script sees the one value it is given and the few words of `words`; it has no file, socket, clock, sleep, import or
//! eval. What it answers is checked against the shape that the manifest declares. A script that fails is told by plugin,
//! file and line, and nothing else happens.

pub(crate) mod case;
mod engine;
mod forms;
pub(crate) mod offers;
mod room;
mod run;
mod shape;
mod shape_toml;
mod strikes;
mod value;
mod words;

pub use engine::Bounds;
pub use forms::{ExtraCost, Per, PluginFinding, Proposal};
pub use offers::{MethodOffer, Moment, ScriptOffer, SettingOffer};
pub use room::{Asking, Room, Unable};
pub use run::CallError;
pub use shape::{Kind, Member, Misfit, Shape, ends_in};
