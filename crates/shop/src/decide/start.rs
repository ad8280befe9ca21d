//! A coil is started: the gate is asked once more, in the same breath as the promise is made.

use super::{Decision, Ruling, live_job, live_spool, said, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{CoilStarted, Fact, Override, SpoolHeld, SpoolReleased};
use crate::finding::Finding;
use crate::gate::{Check, Gate, Verdict, Wet, gate};
use crate::id::{HoldId, JobId, SpoolId};
use crate::job::Job;
use crate::refusal::Refusal;
use crate::spool::Spool;
use crate::state::State;
use serde_json::Value;

/// A start.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// Which job.
    pub job: JobId,
    /// Which coil of it; the next if absent.
    pub coil_no: Option<u32>,
    /// From which spool.
    pub spool: SpoolId,
    /// The adhesive about to be mixed, where it was named.
    pub wet: Option<Wet>,
    /// What others have to say of this start besides the gate.
    pub also: Vec<Check>,
    /// Why to go on although the gate says stop; signed by whoever asks.
    pub override_reason: Option<String>,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// What the gate says of a start now, and the number the coil would get. Decides nothing.
///
/// # Errors
/// Spool or job unknown.
pub fn at_gate(
    state: &State,
    job: JobId,
    coil_no: Option<u32>,
    spool: SpoolId,
    wet: Option<&Wet>,
) -> Result<(u32, Gate), Refusal> {
    let job = super::job_of(state, job)?;
    let spool = super::spool_of(state, spool)?;
    let coil_no = coil_no.unwrap_or_else(|| job.next_coil_no());
    Ok((coil_no, gate(job, coil_no, spool, state.figures(), wet)))
}

/// Starts a coil: its wire is promised to it and to nothing else. What was promised to the job before is used for it.
///
/// # Errors
/// The gate says stop and nobody signs; the coil was started before or none is wanted; spool or job unknown or ended.
pub fn start(state: &State, ask: &Start, at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    let spool = live_spool(state, ask.spool)?;
    let coil_no = ask.coil_no.unwrap_or_else(|| job.next_coil_no());
    super::number(f64::from(coil_no), "/coil_no", 1.0, 1e6)?;
    let gate = gate(job, coil_no, spool, state.figures(), ask.wet.as_ref()).and(&ask.also);
    let signed = match gate.verdict {
        Verdict::Go => None,
        Verdict::Stop => Some(signature(&gate, job, coil_no, ask, at)?),
    };
    let mut facts = Vec::new();
    let hold = use_own_holds(state, job, spool, &mut facts);
    facts.push(Fact::SpoolHeld(SpoolHeld {
        spool: ask.spool,
        hold,
        hold_m: gate.hold_m,
        reason: "started".to_owned(),
        job: Some(ask.job),
        coil_no: Some(coil_no),
    }));
    let findings = signed.iter().map(overridden).collect();
    facts.push(Fact::CoilStarted(CoilStarted {
        job: ask.job,
        coil_no,
        spool: ask.spool,
        hold,
        hold_m: gate.hold_m,
        p_enough: gate.p_enough,
        adhesive: ask.wet.as_ref().map_or_else(String::new, |w| w.of.clone()),
        signed,
    }));
    Ok(Decision { facts, findings })
}

/// The signature, or the refusal if there is none or none would do.
fn signature(gate: &Gate, job: &Job, coil_no: u32, ask: &Start, at: &Moment) -> Result<Override, Refusal> {
    let stops = gate.stops();
    let said_no: Vec<&str> = gate.checks.iter().filter(|c| !c.ok).map(|c| c.text.as_str()).collect();
    let refusal = |next: String| {
        Refusal::refused("gate_stops", "the gate says stop", said_no.join("; "), next)
            .met(Value::from(stops.clone()))
            .allowed("every check ok, or a signed override")
    };
    // No signature makes a coil out of one that is already made.
    if stops.iter().any(|code| code == "steps_done") {
        let next = if job.to_start() == 0 && !job.works.contains_key(&coil_no) {
            "raise `coils` with `job change` if one more is wanted".to_owned()
        } else {
            format!("start coil {}", job.next_coil_no())
        };
        return Err(refusal(next).at("/coil_no"));
    }
    match &ask.override_reason {
        Some(reason) => {
            let reason = said(reason, "/override/reason", "the reason")?;
            Ok(Override { by: at.who.clone(), reason, against: stops.clone() })
        }
        None => Err(refusal(next_step(&stops).to_owned()).at("/spool")),
    }
}

fn next_step(stops: &[String]) -> &'static str {
    let has = |code: &str| stops.iter().any(|s| s == code);
    if has("right_wire") {
        "take a spool of the planned wire, or add this wire to `other_wires`"
    } else if has("enough_wire") {
        "take another spool, or measure this one better"
    } else if has("spool_free") {
        "take another spool, or release the hold of the other"
    } else if has("polarity_noted") {
        "note start lead, hand and gap polarity with `job change`"
    } else if has("fits_gap") {
        "choose a wire or layer count that fits"
    } else {
        "mix less at a time, or use a slower adhesive"
    }
}

/// The job's own promises on this spool, given back as far as this coil uses them up; answers the id for the new one.
fn use_own_holds(state: &State, job: &Job, spool: &Spool, facts: &mut Vec<Fact>) -> HoldId {
    let mut next = state.next_hold();
    let mut need = job.plan.need_m.value;
    for (id, hold) in spool.holds.iter().filter(|(_, h)| h.serves(job.id)) {
        if need <= 0.0 {
            break;
        }
        let reason = "used for a started coil".to_owned();
        facts.push(Fact::SpoolReleased(SpoolReleased { spool: spool.id(), hold: *id, reason }));
        if hold.hold_m > need {
            facts.push(Fact::SpoolHeld(SpoolHeld {
                spool: spool.id(),
                hold: next,
                hold_m: hold.hold_m - need,
                reason: hold.reason.clone(),
                job: hold.job,
                coil_no: None,
            }));
            next = HoldId(next.0.saturating_add(1));
        }
        need -= hold.hold_m;
    }
    next
}

fn overridden(signed: &Override) -> Finding {
    let text = format!("{} signed to go on against {}: {}", signed.by, signed.against.join(", "), signed.reason);
    Finding::watch("override", text)
}
