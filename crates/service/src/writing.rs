//! The one rhythm of every writing request: understood and digested here, decided by the writer, answered when synced.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_proto::Method;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::job::JobEnded;
use coilwright_proto::learn::LearnChanged;
use coilwright_proto::spool::{SpoolHeld, SpoolRead};
use coilwright_shop::decide::{Decision, Ruling};
use coilwright_shop::entry::{Decided, Moment, Seq};
use coilwright_shop::id::{HoldId, JobId, SpoolId};
use coilwright_shop::job::Status;
use coilwright_shop::refusal::{Kind, Refusal, Told};
use coilwright_shop::state::State;
use coilwright_store::{NotDone, Request};
use serde::Serialize;
use serde_json::Value;
use sha2::{Digest, Sha256};

/// What an answer is made of.
pub struct After<'a> {
    /// The state that was decided on.
    pub before: &'a State,
    /// The state with what was decided.
    pub state: &'a State,
    /// What was decided.
    pub decision: &'a Decision,
    /// The entry.
    pub seq: Seq,
}

impl After<'_> {
    /// A spool after what was decided, and what it lost or won by it.
    pub fn spool_read(&self, id: SpoolId) -> SpoolRead {
        let left = |state: &State| state.spool(id).map(|s| s.estimate().left);
        let now = left(self.state).unwrap_or(Measured::certain(Length::ZERO));
        let before = left(self.before).map_or(Length::ZERO, |b| b.value);
        SpoolRead {
            spool: id.to_string(),
            left_m: now.into(),
            changed_m: words::metres(now.value - before),
            findings: words::findings(&self.decision.findings),
            rev: self.state.spool(id).map_or(self.seq, |s| s.rev),
            seq: self.seq,
        }
    }

    /// The promises on a spool after one was made or given back.
    pub fn spool_held(&self, id: SpoolId, hold: Option<HoldId>) -> SpoolHeld {
        let spool = self.state.spool(id);
        let confidence = self.state.figures().confidence.value;
        SpoolHeld {
            spool: id.to_string(),
            hold: hold.map_or_else(String::new, |h| h.to_string()),
            held_m: words::metres(spool.map_or(Length::ZERO, |s| s.held())),
            free_m: words::metres(spool.map_or(Length::ZERO, |s| s.free(confidence))),
            rev: spool.map_or(self.seq, |s| s.rev),
            seq: self.seq,
        }
    }

    /// A job that was ended.
    pub fn job_ended(&self, id: JobId) -> JobEnded {
        JobEnded {
            job: id.to_string(),
            status: words::status(self.state.job(id).map_or(Status::Cancelled, |j| j.status())),
            rev: self.job_rev(id),
            seq: self.seq,
            findings: words::findings(&self.decision.findings),
        }
    }

    /// Learning after it was changed.
    pub fn learning(&self) -> LearnChanged {
        let ratios = &self.state.lessons().ratios;
        let leaves = ratios.values().flat_map(|tree| tree.values()).flat_map(|branch| branch.values());
        LearnChanged {
            frozen: self.state.shop().learning.frozen_at.is_some(),
            coils: leaves.map(|leaf| leaf.n).sum(),
            seq: self.seq,
        }
    }

    /// A job's revision after what was decided.
    pub fn job_rev(&self, id: JobId) -> Seq {
        self.state.job(id).map_or(self.seq, |j| j.rev)
    }
}

/// Longest idempotency key.
const LONGEST_KEY: usize = 200;

/// [`try_write`] for answers that cannot fail.
///
/// # Errors
/// As [`try_write`].
pub fn write<P: Method + Serialize>(
    app: &App,
    caller: &Caller,
    params: &P,
    key: Option<&str>,
    decide: impl Fn(&State, &Moment) -> Ruling + Send + 'static,
    answer: impl Fn(&After) -> P::Answer + Send + 'static,
) -> Result<Value, RpcError> {
    try_write(app, caller, params, key, decide, move |after| Ok(answer(after)))
}

/// Has a decision made and written, and gives its answer. `key` is the caller's idempotency key.
///
/// # Errors
/// The shop's refusal, a key used otherwise, or why nothing can be written now.
pub fn try_write<P: Method + Serialize>(
    app: &App,
    caller: &Caller,
    params: &P,
    key: Option<&str>,
    decide: impl Fn(&State, &Moment) -> Ruling + Send + 'static,
    answer: impl Fn(&After) -> Result<P::Answer, Refusal> + Send + 'static,
) -> Result<Value, RpcError> {
    if let Some(k) = key.filter(|k| k.is_empty() || k.len() > LONGEST_KEY) {
        return Err(RpcError::params("/idempotency_key", format!("a key has 1 to {LONGEST_KEY} bytes"))
            .met(k.len())
            .allowed(format!("1 to {LONGEST_KEY} bytes"))
            .next("take a shorter key that is this request's own, such as a random one; or leave it out"));
    }
    let outcome = app.store.ask(Request {
        method: P::NAME.into(),
        who: caller.who.clone(),
        key: key.map(str::to_owned),
        asked: digest(params)?,
        decide: Box::new(move |state, moment| {
            let decision = decide(state, moment)?;
            let after = state.after(moment, &decision.facts);
            let told = answer(&After { before: state, state: &after, decision: &decision, seq: moment.seq })?;
            let told = serde_json::to_value(told).map_err(|e| unanswerable(&e))?;
            Ok(Decided { facts: decision.facts, answer: told })
        }),
        // `ask` puts its own in place.
        reply: Box::new(|_| {}),
    });
    outcome.map(|done| done.answer).map_err(not_done)
}

/// Digest of the params as understood: two spellings of one number are the same request, two keys of one request too.
fn digest<P: Method + Serialize>(params: &P) -> Result<String, RpcError> {
    let failed = |e: serde_json::Error| {
        RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the params could not be digested: {e}"))
    };
    let mut understood = serde_json::to_value(params).map_err(failed)?;
    if let Some(members) = understood.as_object_mut() {
        members.remove("idempotency_key");
    }
    let text = format!("{} {understood}", P::NAME);
    Ok(Sha256::digest(text.as_bytes()).iter().map(|b| format!("{b:02x}")).collect())
}

fn unanswerable(e: &serde_json::Error) -> Refusal {
    Refusal::from(Told {
        kind: Kind::Wrong,
        code: "unanswerable".into(),
        message: "cannot be answered".into(),
        detail: format!("the answer could not be written: {e}; nothing was kept"),
        pointer: None,
        met: Value::Null,
        allowed: Value::Null,
        next_step: "check the numbers of the request".into(),
    })
}

fn not_done(why: NotDone<Refusal>) -> RpcError {
    let text = why.to_string();
    match why {
        NotDone::Refused(r) => refused(r),
        NotDone::KeyReused { first_seq } => RpcError::new(code::KEY_REUSED, ErrorKind::WrongRequest, text)
            .at("/idempotency_key")
            .met(first_seq)
            .next("take a new key, or repeat the first request as it was"),
        NotDone::TooLarge { bytes, allowed } => RpcError::new(code::TOO_MUCH, ErrorKind::WrongRequest, text)
            .met(bytes)
            .allowed(allowed)
            .next("send less at once"),
        NotDone::Busy => RpcError::new(code::BUSY, ErrorKind::Failed, text).next("ask again in a moment"),
        NotDone::Full => {
            RpcError::new(code::DEGRADED, ErrorKind::Failed, text).next("free some space; writing goes on by itself")
        }
        NotDone::Degraded(_) | NotDone::Unknown(_) => RpcError::new(code::DEGRADED, ErrorKind::Failed, text)
            .next("restart the daemon; with the same idempotency key nothing is written twice"),
        NotDone::Failed(_) => RpcError::new(code::INTERNAL, ErrorKind::Failed, text)
            .next("the daemon's log says more; nothing was written"),
    }
}

/// A refusal of the shop as an error on the wire.
pub fn refused(r: Refusal) -> RpcError {
    let r = Told::from(r);
    let (code, kind) = match r.kind {
        Kind::Refused => (code::REFUSED, ErrorKind::Refused),
        Kind::NotFound => (code::NOT_FOUND, ErrorKind::Refused),
        Kind::Conflict => (code::CONFLICT, ErrorKind::Refused),
        Kind::Wrong => (code::INVALID_PARAMS, ErrorKind::WrongRequest),
    };
    let mut e = RpcError::new(code, kind, r.detail).met(r.met).allowed(r.allowed).next(r.next_step);
    e.data.pointer = r.pointer;
    e.data.reason = Some(r.code);
    e
}
