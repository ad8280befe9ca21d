//! A job is changed.

use super::open::{coils, noted, noticed, others, past_due, priority, sound};
use super::{Decision, Ruling, live_job, said, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Before, CoilPlan, Fact, JobChanged, OtherWire};
use crate::finding::Finding;
use crate::id::JobId;
use crate::refusal::Refusal;
use crate::state::State;
use jiff::civil::Date;
use serde_json::Value;

/// What to change of a job; what is absent stays.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Which.
    pub job: JobId,
    /// Another title.
    pub title: Option<String>,
    /// Another coil, as asked for and what follows of it.
    pub coil: Option<(Value, CoilPlan)>,
    /// Another number of good coils.
    pub coils: Option<u32>,
    /// Another date.
    pub due_on: Option<Date>,
    /// Another priority.
    pub priority: Option<u8>,
    /// Other wires, the whole list.
    pub other_wires: Option<Vec<OtherWire>>,
    /// The record before teardown, whole.
    pub before: Option<Before>,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Changes a job. Coils already started stay as they were started.
///
/// # Errors
/// Fewer coils than are good or on the winder; nothing to change; figures out of range; job unknown or ended.
pub fn change(state: &State, ask: &Change, at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    let mut fact = JobChanged {
        job: ask.job,
        title: ask.title.as_deref().map(|t| said(t, "/title", "the title")).transpose()?,
        coil: None,
        plan: None,
        coils: ask.coils.map(coils).transpose()?,
        due_on: ask.due_on,
        priority: ask.priority.map(priority).transpose()?,
        other_wires: ask.other_wires.as_deref().map(others).transpose()?,
        before: ask.before.as_ref().map(noted).transpose()?,
    };
    let mut findings = Vec::new();
    if let Some((coil, plan)) = &ask.coil {
        fact.coil = Some(coil.clone());
        fact.plan = Some(sound(plan)?);
        findings.extend(noticed(plan));
        if !job.works.is_empty() {
            let text = format!("{} coils were started as the coil was before", job.works.size());
            findings.push(Finding::watch("coils_as_before", text));
        }
    }
    if fact == (JobChanged { job: ask.job, ..NOTHING }) {
        let detail = "the request changes nothing".to_owned();
        return Err(Refusal::wrong("nothing_changed", "/job", detail, "give at least one of the things to change"));
    }
    let begun = job.coils.saturating_sub(job.to_start());
    if let Some(wanted) = fact.coils.filter(|wanted| *wanted < begun) {
        let detail = format!("{begun} coils are good or on the winder, {wanted} is fewer");
        let next = format!("give {begun} or more");
        return Err(Refusal::refused("fewer_than_begun", "fewer than begun", detail, next)
            .at("/coils")
            .met(wanted)
            .allowed(format!("at least {begun}")));
    }
    findings.extend(past_due(fact.due_on, at));
    Ok(Decision { facts: vec![Fact::JobChanged(Box::new(fact))], findings })
}

const NOTHING: JobChanged = JobChanged {
    job: JobId(0),
    title: None,
    coil: None,
    plan: None,
    coils: None,
    due_on: None,
    priority: None,
    other_wires: None,
    before: None,
};
