//! A good coil is trimmed, cured or tested.

use super::measure::at_20c;
use super::{Decision, Ruling, bounds, cause, live_job, number, spool_of, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, OhmReading, Step, StepDone};
use crate::finding::Finding;
use crate::id::JobId;
use crate::job::{AFTER_WINDING, Job};
use crate::refusal::Refusal;
use crate::state::State;
use crate::uncertain::Uncertain;
use serde_json::Value;

/// A step done.
#[derive(Debug, Clone, PartialEq)]
pub struct DoStep {
    /// Which job.
    pub job: JobId,
    /// Which coil.
    pub coil_no: u32,
    /// Trimmed, cured or tested.
    pub step: Step,
    /// It was looked at and needs none of it.
    pub not_needed: bool,
    /// Figures and words that belong to it.
    pub figures: Value,
    /// How long it took.
    pub minutes: Option<f64>,
    /// What the meter showed after it.
    pub reading: Option<OhmReading>,
    /// Anything else.
    pub note: String,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Notes a step. Trimming and curing come in either order, testing after both.
///
/// # Errors
/// A step that is not noted here; a coil that is not wound good; done before; tested before it is cured.
pub fn step(state: &State, ask: &DoStep, _at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    ask.minutes.map(|m| number(m, "/minutes", 0.0, bounds::MINUTES)).transpose()?;
    let (no, word) = (ask.coil_no, ask.step.word());
    if !AFTER_WINDING.contains(&ask.step) {
        let detail = format!("`{word}` comes of itself with its own request");
        let next = "give trimmed, cured or tested";
        return Err(Refusal::wrong("not_a_step", "/step", detail, next).met(word).allowed("trimmed, cured or tested"));
    }
    let work = job.works.get(&no).filter(|w| w.is_good()).ok_or_else(|| {
        let detail = format!("coil {no} of {} is not recorded as good", ask.job);
        Refusal::refused("not_wound", "not wound", detail, "record it with `job record` first").at("/coil_no")
    })?;
    if work.steps.contains_key(&ask.step) {
        let entry = work.step_seqs.get(&ask.step);
        let by = entry.map_or_else(String::new, |seq| format!(": entry {seq}"));
        let detail = format!("coil {no} of {} was {word} before{by}", ask.job);
        let next = entry.map_or_else(
            || "undo that entry, found with `job show`, to note it anew".to_owned(),
            |seq| format!("undo it with `journal undo {seq}` and note it anew"),
        );
        return Err(Refusal::refused("done_before", "done before", detail, next).at("/step"));
    }
    let missing: Vec<&str> = work.missing().into_iter().filter(|s| *s < ask.step).map(Step::word).collect();
    if ask.step == Step::Tested && !missing.is_empty() {
        let detail = format!("coil {no} of {} is not yet {}", ask.job, missing.join(", "));
        let next = "note those first; what is not needed is noted as such";
        return Err(Refusal::refused("steps_missing", "steps missing", detail, next).at("/step").met(word));
    }
    let wire = |reading: &OhmReading| at_20c(reading, spool_of(state, work.started.spool)?.wire());
    let dcr_ohm = ask.reading.as_ref().map(wire).transpose()?;
    let findings = dcr_ohm.and_then(|met| far_off(job, met)).into_iter().chain(untold(ask)).collect();
    let facts = vec![Fact::StepDone(StepDone {
        job: ask.job,
        coil_no: no,
        step: ask.step,
        not_needed: ask.not_needed,
        figures: ask.figures.clone(),
        minutes: ask.minutes,
        dcr_ohm,
        note: ask.note.trim().to_owned(),
    })];
    Ok(Decision { facts, findings })
}

/// A reading that the coil of this job should not give: out of its tolerance, or far from its plan where it has none.
fn far_off(job: &Job, met: Uncertain) -> Option<Finding> {
    let planned = job.plan.dcr_ohm?.value;
    let (wanted, room) = match job.plan.target {
        Some(t) => (t.dcr_ohm, t.dcr_ohm * t.tolerance_pct / 100.0),
        None => (planned, planned * FAR),
    };
    // As at the end of the job: rounding must not decide on the very edge.
    if (met.value - wanted).abs() <= room * (1.0 + 1e-9) {
        return None;
    }
    let cause = match (met.value / planned, cause::slip(met.value, planned)) {
        (_, Some(slip)) => format!("; {slip}"),
        (ratio, None) if !(0.5..=2.0).contains(&ratio) => "; a wrong reading, another coil, or turns bridged".into(),
        _ => String::new(),
    };
    let text = format!(
        "{:.3} Ω at 20 °C where {:.3} to {:.3} Ω are wanted ({planned:.3} Ω planned){cause}; undo this entry if it was misread",
        met.value,
        wanted - room,
        wanted + room
    );
    Some(Finding::watch("dcr_off_target", text).figures(met.value, wanted))
}

/// How far from its plan a coil without a target may be before it is worth a word: five times what a plan is good for.
const FAR: f64 = 0.10;

/// What a test looks at; free fall and resonance come with the driver, not with every coil.
const TESTS: [&str; 4] = ["isolation", "shorted_turn", "polarity", "clearance"];

/// The tests that were not told of.
fn untold(ask: &DoStep) -> Option<Finding> {
    if ask.step != Step::Tested || ask.not_needed {
        return None;
    }
    let lacking: Vec<&str> = TESTS.into_iter().filter(|t| ask.figures.get(t).is_none()).collect();
    let text = format!(
        "no result told of {}: give them in `figures`, e.g. {{\"isolation\": \"> 10 MΩ\"}}; the passport shows them",
        lacking.join(", ").replace('_', " ")
    );
    (!lacking.is_empty()).then(|| Finding::note("tests_untold", text))
}
