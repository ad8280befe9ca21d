//! A job is taken.

use super::{Decision, Ruling, bounds, number, said, sane};
use crate::entry::Moment;
use crate::fact::{Before, CoilPlan, Fact, JobOpened, OtherWire};
use crate::finding::{Finding, Level};
use crate::refusal::Refusal;
use crate::state::State;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde_json::Value;

/// A job to open.
#[derive(Debug, Clone, PartialEq)]
pub struct Open {
    /// What it is, in words.
    pub title: String,
    /// The coil as asked for.
    pub coil: Value,
    /// What follows of it.
    pub plan: CoilPlan,
    /// Good coils wanted.
    pub coils: u32,
    /// When it is promised.
    pub due_on: Option<Date>,
    /// 1 to 9, 9 first.
    pub priority: u8,
    /// Wires that would do as well.
    pub other_wires: Vec<OtherWire>,
    /// Noted before teardown.
    pub before: Before,
}

/// Most coils of one job: more is a slipped key.
const MOST_COILS: u32 = 10_000;

/// Takes a job. Nothing is promised to it yet.
///
/// # Errors
/// Figures out of any range; a title that says nothing.
pub fn open(state: &State, ask: &Open, at: &Moment) -> Ruling {
    let fact = JobOpened {
        job: state.next_job(),
        title: said(&ask.title, "/title", "the title")?,
        coil: ask.coil.clone(),
        plan: sound(&ask.plan)?,
        coils: coils(ask.coils)?,
        due_on: ask.due_on,
        priority: priority(ask.priority)?,
        other_wires: others(&ask.other_wires)?,
        before: noted(&ask.before)?,
    };
    let mut findings = noticed(&fact.plan);
    let missing = fact.before.missing_for_polarity();
    if !missing.is_empty() {
        let text = format!("note before teardown, nobody can find it out later: {}", missing.join(", "));
        findings.push(Finding::watch("polarity_not_noted", text));
    }
    findings.extend(past_due(fact.due_on, at));
    findings.extend(no_spool(state, &fact));
    Ok(Decision { facts: vec![Fact::JobOpened(Box::new(fact))], findings })
}

pub(super) fn coils(coils: u32) -> Result<u32, Refusal> {
    number(f64::from(coils), "/coils", 1.0, f64::from(MOST_COILS)).map(|_| coils)
}

pub(super) fn priority(priority: u8) -> Result<u8, Refusal> {
    number(f64::from(priority), "/priority", 1.0, 9.0).map(|_| priority)
}

pub(super) fn others(wires: &[OtherWire]) -> Result<Vec<OtherWire>, Refusal> {
    for (i, other) in wires.iter().enumerate() {
        said(&other.wire, &format!("/other_wires/{i}/wire"), "the other wire")?;
        number(other.penalty, &format!("/other_wires/{i}/penalty"), 0.0, 1e6)?;
    }
    Ok(wires.to_vec())
}

pub(super) fn noted(before: &Before) -> Result<Before, Refusal> {
    before.rest_height_mm.map(|mm| number(mm, "/before/rest_height_mm", -1e4, 1e4)).transpose()?;
    Ok(before.clone())
}

pub(super) fn sound(plan: &CoilPlan) -> Result<CoilPlan, Refusal> {
    said(&plan.wire, "/coil/wire", "the wire")?;
    sane(plan.need_m, "/coil", bounds::TINY, bounds::LENGTH_M)?;
    sane(plan.draw_m, "/coil", bounds::TINY, bounds::LENGTH_M)?;
    for layer in &plan.layers {
        number(layer.turn_m, "/coil", bounds::TINY, bounds::LENGTH_M)?;
    }
    number(plan.threading_m, "/coil/threading_m", 0.0, bounds::LENGTH_M)?;
    number(plan.start_tail_m, "/coil/tails_m", 0.0, bounds::LENGTH_M)?;
    if let Some(dcr) = plan.dcr_ohm {
        sane(dcr, "/coil", bounds::TINY, bounds::OHM)?;
    }
    if let Some(fit) = plan.fit {
        number(fit.clearance_outer_mm, "/coil/gap", -1e4, 1e4)?;
        number(fit.min_outer_mm, "/coil/gap/min_outer_mm", -1e4, 1e4)?;
    }
    for minutes in [plan.pot_life_min, plan.winding_min].into_iter().flatten() {
        number(minutes, "/coil", 0.0, bounds::MINUTES)?;
    }
    Ok(plan.clone())
}

/// What a coil's figures say on their own.
pub(super) fn noticed(plan: &CoilPlan) -> Vec<Finding> {
    let Some(fit) = plan.fit.filter(|f| f.level != Level::Note) else { return Vec::new() };
    let (clearance, min) = (fit.clearance_outer_mm, fit.min_outer_mm);
    let text = format!("{clearance:.3} mm outside clearance, at least {min:.3} mm wanted");
    vec![Finding::new("fits_gap", fit.level, text).figures(clearance, min)]
}

pub(super) fn past_due(due_on: Option<Date>, at: &Moment) -> Option<Finding> {
    // A day of grace: the date is the shop's, the moment is UTC.
    let today = TimeZone::UTC.to_datetime(at.stamp.at).date();
    let due = due_on.filter(|due| due.tomorrow().is_ok_and(|after| after < today))?;
    Some(Finding::watch("past_due", format!("promised for {due}, which is past")))
}

fn no_spool(state: &State, job: &JobOpened) -> Option<Finding> {
    let confidence = state.figures().confidence.value;
    let need = job.plan.need_m.value;
    let suits = |wire: &str| job.plan.wire == wire || job.other_wires.iter().any(|o| o.wire == wire);
    let best = state
        .spools()
        .filter(|s| s.retired.is_none() && suits(s.wire().key()))
        .map(|s| s.free(confidence).m())
        .fold(0.0, f64::max);
    if best >= need {
        return None;
    }
    let text = format!("no spool has one coil's {need:.2} m free; the best has {best:.2} m");
    Some(Finding::watch("no_spool", text).figures(best, need))
}
