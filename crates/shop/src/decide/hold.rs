//! Wire is promised, and promises are given back.

use super::{Decision, Ruling, bounds, job_of, live_job, live_spool, number, spool_of, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, SpoolHeld, SpoolReleased};
use crate::id::{HoldId, JobId, SpoolId};
use crate::refusal::Refusal;
use crate::state::State;

/// A promise to make.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldWire {
    /// On which spool.
    pub spool: SpoolId,
    /// How much.
    pub hold_m: f64,
    /// What for, in words.
    pub reason: String,
    /// For which job.
    pub job: Option<JobId>,
    /// Only if the spool still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Promises wire. All promises together stay within what is there at the shop's confidence, so that whoever asks second
/// for the same metres is refused.
///
/// # Errors
/// More than is free; spool or job unknown, retired or ended.
pub fn hold(state: &State, ask: &HoldWire, _at: &Moment) -> Ruling {
    let spool = live_spool(state, ask.spool)?;
    still_at(spool.rev, ask.if_rev, ask.spool)?;
    if let Some(job) = ask.job {
        live_job(state, job)?;
    }
    let hold_m = number(ask.hold_m, "/hold_m", bounds::TINY, bounds::LENGTH_M)?;
    let confidence = state.figures().confidence.value;
    let (safe, held) = (spool.safe(confidence).m(), spool.held().m());
    if held + hold_m > safe {
        let left = spool.estimate().left;
        let free = (safe - held).max(0.0);
        let to: Vec<String> =
            spool.holds.iter().map(|(id, h)| h.job.map_or(id.to_string(), |j| j.to_string())).collect();
        let promised =
            if to.is_empty() { String::new() } else { format!(", {held:.2} m of it promised ({})", to.join(", ")) };
        let detail = format!(
            "spool {} has {:.2} ± {:.2} m left, {safe:.2} m with confidence {confidence}{promised}: {free:.2} m are free",
            ask.spool,
            left.value.m(),
            left.u.m(),
        );
        let next = "take another spool, release a hold, or measure this one better";
        return Err(Refusal::refused("not_free", "not that much free", detail, next)
            .at("/hold_m")
            .met(hold_m)
            .allowed(format!("at most {free:.2} m")));
    }
    let reason = ask.reason.trim().to_owned();
    let hold = state.next_hold();
    Ok(Decision::of(vec![Fact::SpoolHeld(SpoolHeld {
        spool: ask.spool,
        hold,
        hold_m,
        reason,
        job: ask.job,
        coil_no: None,
    })]))
}

/// A promise to give back.
#[derive(Debug, Clone, PartialEq)]
pub struct ReleaseHold {
    /// On which spool.
    pub spool: SpoolId,
    /// Which.
    pub hold: HoldId,
    /// Why, in words.
    pub reason: String,
    /// Only if the spool still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Gives a promise back.
///
/// # Errors
/// No such promise; the coil it belongs to is on the winder.
pub fn release(state: &State, ask: &ReleaseHold, _at: &Moment) -> Ruling {
    let spool = spool_of(state, ask.spool)?;
    still_at(spool.rev, ask.if_rev, ask.spool)?;
    let hold = spool.holds.get(&ask.hold).ok_or_else(|| Refusal::not_found("hold", ask.hold, "/hold"))?;
    if let (Some(job), Some(coil_no)) = (hold.job, hold.coil_no) {
        let winding = job_of(state, job).ok().and_then(|j| j.works.get(&coil_no)).is_some_and(|w| w.is_winding());
        if winding {
            let detail = format!("hold {} belongs to coil {coil_no} of {job}, which is on the winder", ask.hold);
            let next = "record that coil as good or scrapped: its hold goes with it";
            return Err(Refusal::refused("coil_on_winder", "in use", detail, next).at("/hold"));
        }
    }
    let reason = ask.reason.trim().to_owned();
    Ok(Decision::of(vec![Fact::SpoolReleased(SpoolReleased { spool: ask.spool, hold: ask.hold, reason })]))
}
