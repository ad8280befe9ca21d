//! The journal: the truth, as hash-chained lines.

mod apart;
mod error;
mod file;
mod line;
mod lock;
mod make;
mod manifest;
mod open;
mod reader;
pub(crate) mod segment;
mod verify;

pub use apart::read_folder;
pub use error::{Append, Finding, OpenError, ReadError};
pub use file::{FileJournal, Folder};
pub use line::{Hash, Head, Line};
pub use open::{Opened, Witness};
pub use verify::{Verified, verify_folder};

pub(crate) use apart::{segments_of, small};
pub(crate) use line::{Frame, MAX_LINE, fits, hex, open_line};
pub(crate) use manifest::{FORMAT, MANIFEST, Manifest, NOTE, Note, Sealed, Small, read_small, sealed_bytes};
pub(crate) use reader::{start_of, walk_entries};
pub(crate) use segment::{Rest, Walk};

use coilwright_shop::entry::{Entry, Seq};
use std::sync::Arc;

/// Where entries are kept. Synchronous; called on the writer's thread.
pub trait Journal: Send + 'static {
    /// The last entry that is surely kept.
    fn head(&self) -> Head;

    /// Keeps a group after the head `after`: all of it or nothing, on the disk when this returns `Ok`.
    ///
    /// # Errors
    ///
    /// See [`Append`]. After [`Append::Broken`] every later call fails too.
    fn append(&mut self, after: Head, group: &[Entry]) -> Result<Head, Append>;

    /// Lines after the sequence `after`, at most `limit`, as hashed.
    ///
    /// # Errors
    ///
    /// If a line cannot be read or does not check.
    fn read(&self, after: Seq, limit: usize) -> Result<Vec<Line>, ReadError> {
        self.reader().read(after, limit)
    }

    /// The reading side, for other threads.
    fn reader(&self) -> Arc<dyn Reading>;

    /// Leaves a note of the head: nothing more will be appended.
    ///
    /// # Errors
    ///
    /// If the note cannot be written. Nothing is lost then but a witness.
    fn rest(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// The reading side of a journal. Sees what is synced and nothing else.
pub trait Reading: Send + Sync + 'static {
    /// The last entry that is surely kept.
    fn head(&self) -> Head;

    /// The journal's id, hexadecimal: `prev` of the first line.
    fn journal(&self) -> String;

    /// Lines after the sequence `after`, at most `limit`, as hashed.
    ///
    /// # Errors
    ///
    /// If a line cannot be read or does not check.
    fn read(&self, after: Seq, limit: usize) -> Result<Vec<Line>, ReadError>;

    /// Walks the whole chain.
    fn verify(&self) -> Verified;
}

/// Sizes a journal is written with. Reading works whatever they were.
#[derive(Debug, Clone, Copy)]
pub struct Journalling {
    /// A segment is sealed when the next group would make it longer than this, bytes.
    pub segment_bytes: u64,
    /// Newlines written ahead at once, bytes.
    pub step_bytes: u64,
    /// Room kept for a restart on a full disk, bytes; 0 for none.
    pub ballast_bytes: u64,
}

impl Default for Journalling {
    fn default() -> Self {
        Self { segment_bytes: 4 << 20, step_bytes: 256 << 10, ballast_bytes: 512 << 10 }
    }
}

/// A hash from its 64 hexadecimal digits.
pub(crate) fn hash_from_hex(text: &str) -> Option<line::Hash> {
    line::Hash::from_hex(text.as_bytes())
}
