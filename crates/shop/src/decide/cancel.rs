//! A job will not be done.

use super::{Decision, Ruling, live_job, said, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, JobCancelled, SpoolReleased};
use crate::id::JobId;
use crate::refusal::Refusal;
use crate::state::State;

/// A job to cancel.
#[derive(Debug, Clone, PartialEq)]
pub struct Cancel {
    /// Which.
    pub job: JobId,
    /// Why, in words.
    pub reason: String,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Cancels a job and gives back all that was promised to it.
///
/// # Errors
/// A coil of it is on the winder; no reason; job unknown or ended.
pub fn cancel(state: &State, ask: &Cancel, _at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    let reason = said(&ask.reason, "/reason", "the reason")?;
    if let Some((no, _)) = job.works.iter().find(|(_, w)| w.is_winding()) {
        let detail = format!("coil {no} of {} is on the winder", ask.job);
        let next = "record that coil as good or scrapped first";
        return Err(Refusal::refused("coil_on_winder", "in use", detail, next).at("/job"));
    }
    let mut facts = vec![Fact::JobCancelled(JobCancelled { job: ask.job, reason })];
    facts.extend(releases(state, ask.job, "job cancelled"));
    Ok(Decision::of(facts))
}

/// Gives back everything promised to a job.
pub(super) fn releases(state: &State, job: JobId, reason: &str) -> Vec<Fact> {
    state
        .holds_for(job)
        .map(|(spool, hold, _)| {
            Fact::SpoolReleased(SpoolReleased { spool: spool.id(), hold, reason: reason.to_owned() })
        })
        .collect()
}
