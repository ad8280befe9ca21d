//! What happened to one thing, in order: the facts themselves, kept so that an entry can be taken out again.

use crate::entry::Seq;
use crate::fact::Fact;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// One fact with its entry's sequence and time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Happened {
    /// The entry.
    pub seq: Seq,
    /// When, by the wall clock.
    pub at: Timestamp,
    /// What.
    pub fact: Arc<Fact>,
}

/// A fact that changes nothing where it stands: about a thing that is not there, or a second arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NoEffect;
