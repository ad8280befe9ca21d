//! A layer of a coil on the winder is full.

use super::{Decision, Ruling, live_job, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, LayerReached};
use crate::id::JobId;
use crate::job::{CoilWork, Job};
use crate::refusal::Refusal;
use crate::state::State;

/// A layer reached.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Which job.
    pub job: JobId,
    /// Which coil; the one on the winder if absent.
    pub coil_no: Option<u32>,
    /// Layers that are full now.
    pub layer: u32,
    /// The tablet that follows this coil.
    pub lease: String,
    /// This tablet takes over from the one that followed it so far.
    pub take_over: bool,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Notes a full layer. Layers only go forward; a tablet that lost its way may skip some.
///
/// # Errors
/// Not on the winder; not further than before; more than the coil has; another tablet follows it.
pub fn progress(state: &State, ask: &Progress, _at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    let (coil_no, work) = on_winder(job, ask.coil_no)?;
    let layers = u32::try_from(job.plan.layers.len()).unwrap_or(u32::MAX);
    let most = if layers == 0 { u32::MAX } else { layers };
    if ask.layer <= work.layer || ask.layer > most {
        let detail = if ask.layer > most {
            format!("the coil has {layers} layers")
        } else {
            format!("layer {} of coil {coil_no} was full already", work.layer)
        };
        return Err(Refusal::refused(
            "not_that_layer",
            "not that layer",
            detail,
            "look at the job and go on from there",
        )
        .at("/layer")
        .met(ask.layer)
        .allowed(format!("from {} to {most}", work.layer.saturating_add(1))));
    }
    if !work.lease.is_empty() && work.lease != ask.lease && !ask.take_over {
        let detail = format!("coil {coil_no} is followed by {}", work.lease);
        let next = "go on there, or take over with `take_over`";
        return Err(Refusal::refused("followed_elsewhere", "another tablet follows it", detail, next).at("/lease"));
    }
    let lease = ask.lease.clone();
    Ok(Decision::of(vec![Fact::LayerReached(LayerReached { job: ask.job, coil_no, layer: ask.layer, lease })]))
}

/// The coil meant, if it is on the winder; without a number the only one that is.
pub(super) fn on_winder(job: &Job, coil_no: Option<u32>) -> Result<(u32, &CoilWork), Refusal> {
    let winding: Vec<(u32, &CoilWork)> =
        job.works.iter().filter(|(_, w)| w.is_winding()).map(|(no, w)| (*no, w)).collect();
    let found = match (coil_no, winding.as_slice()) {
        (None, [only]) => Some(*only),
        (None, _) => None,
        (Some(no), all) => all.iter().find(|(n, _)| *n == no).copied(),
    };
    found.ok_or_else(|| {
        let now: Vec<String> = winding.iter().map(|(no, _)| no.to_string()).collect();
        let (detail, next) = match (coil_no, now.len()) {
            (Some(no), _) if job.works.contains_key(&no) => {
                (format!("coil {no} of {} is recorded already", job.id), "undo that entry to record it anew".to_owned())
            }
            (Some(no), _) => {
                (format!("coil {no} of {} was not started", job.id), "start it with `job start`".to_owned())
            }
            (None, 0) => (format!("no coil of {} is on the winder", job.id), "start one with `job start`".to_owned()),
            (None, _) => (
                format!("coils {} of {} are on the winder", now.join(", "), job.id),
                "say which with `coil_no`".to_owned(),
            ),
        };
        Refusal::refused("not_on_winder", "not on the winder", detail, next).at("/coil_no")
    })
}
