//! The writer: one thread that alone decides, appends, syncs, publishes and answers.

mod around;
mod group;
mod indexer;
mod request;
mod thread;

pub(crate) use request::panic_text;
pub use request::{Decision, Done, NotDone, OnCommit, Outcome, Published, Reply, Request};
pub(crate) use thread::{Message, Start, Status, start};
