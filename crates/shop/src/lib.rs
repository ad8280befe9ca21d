//! Facts that happen in a shop, the state they add up to, and who may decide what.
//!
//! A request becomes an `ask`; [`decide`] turns an ask, the [`state`] and the moment into facts or a refusal, always the
//! same ones; the facts of one request are an [`entry`] of the journal; the state is the fold of all entries.

pub mod alert;
pub mod archive;
pub mod decide;
pub mod entry;
pub mod fact;
pub mod figures;
pub mod finding;
pub mod gate;
pub mod id;
pub mod job;
pub mod learning;
mod recall;
pub mod refusal;
pub mod spool;
pub mod state;
pub mod uncertain;

pub use decide::Decision;
pub use entry::{Decided, Entry, Moment, Seq};
pub use fact::{Fact, Subject};
pub use finding::{Finding, Level};
pub use id::{HoldId, JobId, SpoolId};
pub use refusal::{Kind, Refusal, Told};
pub use state::State;
pub use uncertain::{Money, Uncertain};
