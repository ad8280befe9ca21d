//! The entry: everything that one request decided, as one line of the journal.

use crate::fact::Fact;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// Position in the journal: 1 for the first entry, no gaps.
pub type Seq = u64;

/// The version of the entry format that this program writes.
pub const ENTRY_VERSION: u32 = 1;

/// How far a wall-clock reading may be believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClockQuality {
    /// Later than every entry before it: nothing speaks against it.
    Plausible,
    /// Earlier than the entry before it: the clock was set back or lost its time (a Pi without a battery clock).
    WentBack,
}

/// When an entry was decided. Order is by sequence, never by this.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    /// Wall clock, UTC.
    pub at: Timestamp,
    /// How far `at` may be believed.
    pub quality: ClockQuality,
    /// Which run of the machine or daemon `mono_ms` counts in.
    pub boot: String,
    /// Milliseconds since that run began, never going back.
    pub mono_ms: u64,
}

/// What one request decided, as it stands in the journal (without the chain members `prev` and `hash`, which the store
/// adds to the line and checks over its bytes).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Position in the journal.
    pub seq: Seq,
    /// Format version of this entry.
    pub v: u32,
    /// Sequence of the first entry that reached the disk in the same sync.
    pub group: Seq,
    /// When.
    #[serde(flatten)]
    pub stamp: Stamp,
    /// Who asked: the name of the token, or `bench` for the local socket.
    pub who: String,
    /// The method that asked, e.g. `spool.weigh`.
    pub method: String,
    /// The caller's idempotency key.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// Digest of the params as understood, hexadecimal SHA-256.
    pub asked: String,
    /// What happened: one or more facts. All of an entry count or none does.
    pub facts: Vec<Fact>,
    /// The answer given to the caller, kept so that the same key gets the same answer again.
    pub answer: Value,
}

/// What a decision wants written.
#[derive(Debug, Clone, PartialEq)]
pub struct Decided {
    /// What happened: one or more facts.
    pub facts: Vec<Fact>,
    /// The answer to the caller.
    pub answer: Value,
}

/// What a decision may look at besides the state: the moment and the place in the journal it would take.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// The sequence the entry will have if it is written.
    pub seq: Seq,
    /// When.
    pub stamp: Stamp,
    /// Who asked.
    pub who: String,
}
