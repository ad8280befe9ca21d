//! Where the facts lie that the state does not keep. The journal, to the daemon; a list of entries, to a test.

use crate::entry::{Entry, Seq};
use crate::fact::{Fact, Subject};
use jiff::Timestamp;
use thiserror::Error;

/// All entries up to now, found by their number and by what they are about.
pub trait Archive {
    /// The entry of this number; `None` if there is none.
    ///
    /// # Errors
    /// It cannot be read.
    fn entry(&self, seq: Seq) -> Result<Option<Entry>, Unreadable>;

    /// All entries with facts about a thing, in order, with numbers below `before`.
    ///
    /// # Errors
    /// One of them cannot be read.
    fn about(&self, of: Subject, before: Seq) -> Result<Vec<Entry>, Unreadable>;
}

/// Something in the archive cannot be read; why, as a sentence.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0}")]
pub struct Unreadable(pub String);

/// One fact with its entry's number and time.
#[derive(Debug, Clone, PartialEq)]
pub struct Happened {
    /// The entry.
    pub seq: Seq,
    /// When, by the wall clock.
    pub at: Timestamp,
    /// What.
    pub fact: Fact,
}

impl Happened {
    /// What these entries say about one thing, in their order.
    pub fn to(of: Subject, entries: &[Entry]) -> impl Iterator<Item = Happened> {
        entries.iter().flat_map(move |entry| {
            let facts = entry.facts.iter().filter(move |fact| fact.subject() == Some(of));
            facts.map(|fact| Happened { seq: entry.seq, at: entry.stamp.at, fact: fact.clone() })
        })
    }
}

/// A fact that changes nothing where it stands: about a thing that is not there, or a second arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NoEffect;

impl Archive for Vec<Entry> {
    fn entry(&self, seq: Seq) -> Result<Option<Entry>, Unreadable> {
        Ok(self.iter().find(|entry| entry.seq == seq).cloned())
    }

    fn about(&self, of: Subject, before: Seq) -> Result<Vec<Entry>, Unreadable> {
        let about = |entry: &&Entry| entry.seq < before && entry.facts.iter().any(|f| f.subject() == Some(of));
        Ok(self.iter().filter(about).cloned().collect())
    }
}
