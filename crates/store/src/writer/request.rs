//! What a request brings to the writer and what it takes back.

use crate::journal::Head;
use coilwright_shop::entry::{Decided, Entry, Moment, Seq};
use serde_json::Value;
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use thiserror::Error;

/// A pure, repeatable function from the state to what is to be written, or a refusal. It may be run more than once.
///
/// Deciding on no facts at all means that there is nothing to write: the answer is given, no entry made, no key used.
pub type Decision<S, E> = Box<dyn FnMut(&S, &Moment) -> Result<Decided, E> + Send>;

/// Takes the outcome. Called on the writer's thread: hand it on, do nothing long.
///
/// From async code: the sending half of a oneshot channel, `Box::new(move |outcome| drop(sender.send(outcome)))`.
pub type Reply<E> = Box<dyn FnOnce(Outcome<E>) + Send>;

/// Sees every group after it was published and answered, with the head it led to. Called on the writer's thread.
pub type OnCommit = Box<dyn Fn(&[Entry], Head) + Send>;

/// What became of a request.
pub type Outcome<E> = Result<Done, NotDone<E>>;

/// A writing request, understood and checked.
pub struct Request<S, E> {
    /// The method, e.g. `spool.weigh`.
    pub method: String,
    /// Who asks.
    pub who: String,
    /// The caller's idempotency key.
    pub key: Option<String>,
    /// Digest of the params as understood, hexadecimal.
    pub asked: String,
    /// What to do.
    pub decide: Decision<S, E>,
    /// Whom to tell.
    pub reply: Reply<E>,
}

/// It is on the disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// The entry; with no facts decided, the last entry that the decision saw.
    pub seq: Seq,
    /// The answer. For a key used again: the first one.
    pub answer: Value,
    /// Whether this key had been used for the same request before.
    pub replayed: bool,
}

/// It was not done, or not surely.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NotDone<E> {
    /// The decision refused. Nothing was written, the key is still free.
    #[error("refused")]
    Refused(E),
    /// The key belongs to another request.
    #[error("this key was used for another request, entry {first_seq}; take a new key")]
    KeyReused {
        /// The entry that the key was first used for.
        first_seq: Seq,
    },
    /// The entry would be too long.
    #[error("the entry would be {bytes} bytes long, {allowed} are allowed; send less at once")]
    TooLarge {
        /// Its length.
        bytes: usize,
        /// The longest that is written.
        allowed: usize,
    },
    /// The disk is full. Nothing was written; writing goes on by itself when there is room.
    #[error("the disk is full; free some space and ask again")]
    Full,
    /// Too many requests wait.
    #[error("too many requests wait to be written; ask again")]
    Busy,
    /// The writer does not write any more; reading goes on.
    #[error("nothing is written any more ({0}); restart the daemon")]
    Degraded(String),
    /// The group failed on its way to the disk. Whether it is there shows when the daemon has been restarted: ask again
    /// with the same key then.
    #[error("it is not known whether this was kept ({0}); restart the daemon and ask again with the same key")]
    Unknown(String),
    /// A fault in the program. Nothing was written.
    #[error("the decision failed: {0}")]
    Failed(String),
}

/// The state as readers see it: everything that is synced, nothing that is not.
#[derive(Debug, Clone)]
pub struct Published<S> {
    /// The state.
    pub state: S,
    /// The last entry in it.
    pub head: Head,
}

/// Gives an outcome to whom it concerns. A caller that panics on its answer must not take the writer with it.
pub(super) fn tell<E>(reply: Reply<E>, outcome: Outcome<E>) {
    let _ = catch_unwind(AssertUnwindSafe(move || reply(outcome)));
}

/// Tells whoever wants to know of a group; the same holds.
pub(super) fn tell_group(on_commit: Option<&OnCommit>, entries: &[Entry], head: Head) {
    if let Some(on_commit) = on_commit {
        let _ = catch_unwind(AssertUnwindSafe(|| on_commit(entries, head)));
    }
}

/// What a panic said.
pub(crate) fn panic_text(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|s| (*s).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "without words".to_owned())
}
