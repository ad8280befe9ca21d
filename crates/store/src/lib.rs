//! Keeps entries: the journal on disk is the truth, the index beside it can be rebuilt, one thread writes.
//!
//! [`Store::open`] is the door. A writing request hands [`Store::submit`] a decision; the writer runs it on the state
//! *ahead*, appends what it decided, syncs, publishes the new state, answers. Readers take [`Store::state`] and
//! never wait. What the files look like is drawn in `FORMAT.md` beside this crate.
//!
//! Nothing here logs: what was found while opening comes back as an [`OpenReport`], what goes wrong later is seen in
//! [`Store::health`].

mod care;
mod clock;
mod disk;
mod fold;
mod index;
mod journal;
mod past;
mod store;
mod writer;

pub use care::{
    BackedUp, CareError, Mended, Repaired, Restored, Until, backup, newest_backup, repair, restore, verify_index,
};
pub use clock::{Clock, SystemClock};
pub use coilwright_shop::archive::{Archive, Unreadable};
pub use disk::{Disk, DiskFile, RealDisk};
pub use fold::{Fold, Subjects};
pub use index::{IndexReport, KeyKeeping};
pub use journal::{
    Append, FileJournal, Finding, Folder, Hash, Head, Journal, Journalling, Line, OpenError, Opened, ReadError,
    Reading, Verified, Witness, read_folder, verify_folder,
};
pub use store::{Health, OpenReport, Options, Store};
pub use writer::{Decision, Done, NotDone, OnCommit, Outcome, Published, Reply, Request};
