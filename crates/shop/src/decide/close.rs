//! A job is handed over.

use super::cancel::releases;
use super::{Decision, Ruling, live_job, said, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, JobClosed, Override};
use crate::finding::Finding;
use crate::id::JobId;
use crate::refusal::Refusal;
use crate::state::State;
use serde_json::Value;

/// A job to close.
#[derive(Debug, Clone, PartialEq)]
pub struct Close {
    /// Which.
    pub job: JobId,
    /// Anything to say.
    pub note: String,
    /// Why to close it although something is missing; signed by whoever asks.
    pub override_reason: Option<String>,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Closes a job and gives back what is still promised to it.
///
/// # Errors
/// Coils or steps missing and nobody signs; a coil on the winder; job unknown or ended.
pub fn close(state: &State, ask: &Close, at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    let missing = job.missing();
    let refusal = |next: &str| {
        Refusal::refused("steps_missing", "steps missing", missing.join("; "), next)
            .at("/job")
            .met(Value::from(missing.clone()))
            .allowed("every coil wanted good, trimmed, cured, tested and within its tolerance")
    };
    if job.works.values().any(|w| w.is_winding()) {
        return Err(refusal("record the coil on the winder as good or scrapped"));
    }
    let mut findings = Vec::new();
    let mut signed = None;
    if !missing.is_empty() {
        let reason = ask.override_reason.as_deref().ok_or_else(|| {
            refusal("note those steps (`job step` takes the reading after trimming), or close with a signed override")
        })?;
        let reason = said(reason, "/override/reason", "the reason")?;
        findings
            .push(Finding::watch("override", format!("{} signed to close without: {}", at.who, missing.join("; "))));
        signed = Some(Override { by: at.who.clone(), reason, against: missing });
    }
    let mut facts = vec![Fact::JobClosed(JobClosed { job: ask.job, note: ask.note.trim().to_owned(), signed })];
    facts.extend(releases(state, ask.job, "job closed"));
    Ok(Decision { facts, findings })
}
