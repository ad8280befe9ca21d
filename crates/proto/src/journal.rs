//! `journal.*`: entries by sequence, the check of the chain, and the counter-entry.

use crate::coil::FindingAnswer;
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

asks! {
    /// Asks for entries.
    JournalRead {} may {
        /// Only entries after this sequence; 0, all of them, if left out.
        after: u64,
        /// At most so many; 100 if left out, 1000 at most.
        limit: u32,
    }
}
method!(JournalRead => JournalReadAnswer, "journal.read", "Reads entries as they stand in the journal, by sequence.");

/// Entries as they stand in the journal.
#[derive(Debug, Serialize, JsonSchema)]
pub struct JournalReadAnswer {
    /// The entries, byte for byte.
    #[schemars(with = "Vec<JournalEntry>")]
    pub items: Vec<Box<RawValue>>,
    /// The last entry of the journal.
    pub head: u64,
    /// Ask on with `after` this; left out at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_cursor: Option<u64>,
}

/// An entry: everything that one request decided.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct JournalEntry {
    /// Position, from 1, without gaps.
    pub seq: u64,
    /// Version of the entry's form.
    pub v: u32,
    /// First entry of the same sync.
    pub group: u64,
    /// When, UTC, by a clock that may be wrong: order is by `seq`.
    pub at: String,
    /// Who asked.
    pub who: String,
    /// The method that asked.
    pub method: String,
    /// The caller's idempotency key.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// Digest of the params as understood.
    pub asked: String,
    /// What happened.
    pub facts: Vec<serde_json::Value>,
    /// The answer that was given.
    pub answer: serde_json::Value,
    /// Hash of the entry before.
    pub prev: String,
    /// Hash of this one.
    pub hash: String,
}

asks! {
    /// Asks whether the chain holds.
    JournalVerify {} may {}
}
method!(JournalVerify => JournalVerified, "journal.verify", "Checks the chain of all entries.");

tells! {
    /// What the check found.
    JournalVerified {
        /// Whether every entry is good.
        ok: bool,
        /// The last good entry.
        head: u64,
        /// Its hash.
        hash: String,
        /// What was found, the grave first.
        findings: Vec<FindingAnswer>,
    } may {}
}

asks! {
    /// An entry shall no longer count.
    JournalUndo {
        /// The entry.
        seq: u64,
        /// Why, in words.
        reason: String,
    } may {
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JournalUndo => JournalUndone, "journal.undo", "Writes a counter-entry: the named entry stays in the journal and no longer counts.", writes: true, leading: ["seq", "reason"]);

tells! {
    /// The counter-entry.
    JournalUndone {
        /// The entry that no longer counts.
        undone: u64,
        /// The counter-entry.
        seq: u64,
        /// What was noticed: entries that stood on the undone one.
        findings: Vec<FindingAnswer>,
    } may {}
}
