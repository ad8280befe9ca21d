//! Care of a data folder: a copy elsewhere, a new folder from the copy, and damaged segments mended out of it.
//!
//! A backup is a folder with a `journal/` like any other, its lines the same bytes; so whatever reads a journal reads
//! a backup, and `jq` does too. See `FORMAT.md`, "A backup".

mod backup;
mod copying;
mod deep;
mod error;
mod repair;
mod restore;

pub use backup::{BackedUp, backup, newest_backup};
pub use deep::verify_index;
pub use error::CareError;
pub use repair::{Mended, Repaired, repair};
pub use restore::{Restored, Until, restore};
