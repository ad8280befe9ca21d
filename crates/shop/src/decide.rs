//! Decisions: pure, repeatable functions from state, request and moment to facts or a refusal. One file per request.
//!
//! None of them looks at a clock or at anything else outside its arguments: the writer may run one again on a later
//! state and must get what that state warrants.

mod accept_plan;
mod cancel;
mod cause;
mod change;
mod close;
mod figures;
mod hold;
pub mod import;
mod learn;
mod lesson;
mod measure;
mod move_spool;
mod open;
mod progress;
mod receive;
mod record;
mod retire;
mod seen;
mod start;
mod step;
mod undo;
mod weigh;

pub use accept_plan::{AcceptPlan, accept_plan};
pub use cancel::{Cancel, cancel};
pub use change::{Change, change};
pub use close::{Close, close};
pub use figures::{SetFigures, set_figures};
pub use hold::{HoldWire, ReleaseHold, hold, release};
pub use learn::{Forget, Freeze, forget, freeze};
pub use measure::{Measure, measure};
pub use move_spool::{MoveSpool, move_spool};
pub use open::{Open, open};
pub use progress::{Progress, progress};
pub use receive::{Receive, receive};
pub use record::{Record, record};
pub use retire::{Retire, retire};
pub use seen::{Seen, seen};
pub use start::{Start, at_gate, start};
pub use step::{DoStep, step};
pub use undo::{Undo, undo};
pub use weigh::{Weigh, weigh};

use crate::entry::Seq;
use crate::fact::Fact;
use crate::finding::Finding;
use crate::id::{JobId, SpoolId};
use crate::job::{Ended, Job};
use crate::refusal::{Kind, Refusal};
use crate::spool::Spool;
use crate::state::State;
use crate::uncertain::Uncertain;
use coilwright_core::content::Content;
use serde_json::Value;

/// Readings further than this many standard uncertainties from the expectation cannot belong to it.
pub(crate) const CANNOT_BE: f64 = 4.0;
/// Readings further than this are worth a word.
pub(crate) const WORTH_A_WORD: f64 = 2.5;

/// What was decided: the facts to write, and what was noticed on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// To be written as one entry.
    pub facts: Vec<Fact>,
    /// To be told to the caller; not written.
    pub findings: Vec<Finding>,
}

impl Decision {
    fn of(facts: Vec<Fact>) -> Decision {
        Decision { facts, findings: Vec::new() }
    }
}

/// The outcome of every decision.
pub type Ruling = Result<Decision, Refusal>;

fn spool_of(state: &State, id: SpoolId) -> Result<&Spool, Refusal> {
    state.spool(id).ok_or_else(|| Refusal::not_found("spool", id, "/spool"))
}

/// A spool that may still be used.
fn live_spool(state: &State, id: SpoolId) -> Result<&Spool, Refusal> {
    let spool = spool_of(state, id)?;
    match &spool.retired {
        None => Ok(spool),
        Some(retired) => Err(Refusal::refused(
            "spool_retired",
            "spool is retired",
            format!("spool {id} was retired in entry {}: {}", retired.seq, retired.reason),
            format!("take another spool, or undo entry {}", retired.seq),
        )
        .at("/spool")),
    }
}

fn job_of(state: &State, id: JobId) -> Result<&Job, Refusal> {
    state.job(id).ok_or_else(|| Refusal::not_found("job", id, "/job"))
}

/// A job that has not ended.
fn live_job(state: &State, id: JobId) -> Result<&Job, Refusal> {
    let job = job_of(state, id)?;
    let how = match &job.ended {
        None => return Ok(job),
        Some(Ended::Closed { .. }) => "closed".to_owned(),
        Some(Ended::Cancelled { reason, .. }) => format!("cancelled: {reason}"),
    };
    let next = format!("open a new job, or undo entry {}", job.rev);
    Err(Refusal::refused("job_ended", "job has ended", format!("job {id} is {how}"), next).at("/job"))
}

/// Refuses if the caller looked at something older than what is there.
fn still_at(rev: Seq, if_rev: Option<Seq>, what: impl std::fmt::Display) -> Result<(), Refusal> {
    match if_rev {
        Some(seen) if seen != rev => Err(Refusal::new(
            Kind::Conflict,
            "stale_rev",
            "changed since you looked",
            format!("{what} is at revision {rev}, the request was made for revision {seen}"),
            format!("look at {what} again and decide anew"),
        )
        .at("/if_rev")
        .met(seen)
        .allowed(rev)),
        _ => Ok(()),
    }
}

/// A figure that is finite, has no negative uncertainty and lies within the bounds.
fn sane(figure: Uncertain, pointer: &str, least: f64, most: f64) -> Result<Uncertain, Refusal> {
    number(figure.value, pointer, least, most)?;
    if figure.is_sane() {
        return Ok(figure);
    }
    let detail = format!("an uncertainty of {} cannot be", figure.u);
    Err(Refusal::wrong("impossible_uncertainty", pointer, detail, "give u as a standard uncertainty, 0 or more"))
}

/// A number within bounds, both included.
fn number(value: f64, pointer: &str, least: f64, most: f64) -> Result<f64, Refusal> {
    if value.is_finite() && value >= least && value <= most {
        return Ok(value);
    }
    let detail = format!("{value} is not between {least} and {most}");
    let refusal = Refusal::wrong("out_of_range", pointer, detail, "check the number and its unit");
    Err(refusal.met(Value::from(value)).allowed(format!("{least} to {most}")))
}

/// A text that says something.
fn said(text: &str, pointer: &str, what: &str) -> Result<String, Refusal> {
    let text = text.trim();
    if text.is_empty() {
        let detail = format!("{what} is empty");
        return Err(Refusal::wrong("empty_text", pointer, detail, format!("say {what} in a few words")));
    }
    Ok(text.to_owned())
}

/// Bounds wide enough for any workshop and narrow enough to catch a slipped unit.
mod bounds {
    pub(super) const TINY: f64 = 1e-9;
    pub(super) const MASS_G: f64 = 1e5;
    pub(super) const LENGTH_M: f64 = 1e6;
    pub(super) const OHM: f64 = 1e7;
    pub(super) const MINUTES: f64 = 1e5;
}

/// How far a reading lies from its expectation, in the uncertainty of the difference.
fn distance(met: Uncertain, expected: Uncertain) -> f64 {
    let u = libm::hypot(met.u, expected.u);
    let off = met.value - expected.value;
    if u > 0.0 { off / u } else { off.signum() * if off == 0.0 { 0.0 } else { f64::INFINITY } }
}

/// `12.62 ± 0.21 m`
fn metres_left(content: &Content) -> String {
    format!("{:.2} ± {:.2} m", content.left.value.m(), content.left.u.m())
}

/// How likely a try went unwritten before the last reading, where it is worth a word.
fn unwritten(content: Option<&Content>) -> String {
    let q = content.and_then(|c| c.readings.last()?.unwritten).unwrap_or(0.0);
    if q < 0.2 { String::new() } else { format!(" (that a try was not written down is {:.0} % likely)", 100.0 * q) }
}

/// Says so if less is left than was promised.
fn promises(spool: &Spool) -> Option<Finding> {
    let uncovered = spool.uncovered().m();
    if uncovered <= 0.0 {
        return None;
    }
    let (held, left) = (spool.held().m(), spool.estimate().left.value.m());
    let text = format!(
        "{held:.2} m of spool {} are promised but {left:.2} m are left: {uncovered:.2} m too little; release a hold",
        spool.id()
    );
    Some(Finding::watch("promises_uncovered", text).figures(held, left))
}
