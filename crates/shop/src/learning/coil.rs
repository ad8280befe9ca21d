//! What one coil teaches, read from its record and its steps.

use super::{Cell, Off, mandrel_key};
use crate::entry::Seq;
use crate::fact::{CoilRecord, Fact, Step};
use crate::job::{CoilWork, Job};
use coilwright_core::learning::first;

/// How much of a job a fact may have changed the lessons of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Touched {
    /// None of it.
    Nothing,
    /// One coil.
    Coil(u32),
    /// All of it.
    Whole,
}

/// What one coil teaches, and where it is filed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct OneCoil {
    pub(super) seq: Seq,
    pub(super) wire: String,
    pub(super) mandrel: i64,
    pub(super) winder: String,
    pub(super) cell: Cell,
    pub(super) off: Option<Off>,
}

impl Touched {
    pub(crate) fn by(fact: &Fact) -> Touched {
        match fact {
            Fact::CoilFinished(f) | Fact::CoilScrapped(f) => Touched::Coil(f.coil_no),
            Fact::StepDone(f) => Touched::Coil(f.coil_no),
            // Records from before learning are filed under the plan's wire.
            Fact::JobChanged(_) => Touched::Whole,
            _ => Touched::Nothing,
        }
    }

    /// What the touched coils of a job teach.
    pub(crate) fn lessons(self, job: Option<&Job>) -> Vec<OneCoil> {
        let Some(job) = job else { return Vec::new() };
        match self {
            Touched::Nothing => Vec::new(),
            Touched::Coil(no) => job.works.get(&no).and_then(|w| one(job, no, w)).into_iter().collect(),
            Touched::Whole => job.works.iter().filter_map(|(no, w)| one(job, *no, w)).collect(),
        }
    }
}

fn one(job: &Job, coil_no: u32, work: &CoilWork) -> Option<OneCoil> {
    let o = work.outcome.as_ref()?;
    let r: &CoilRecord = &o.record;
    let lesson = r.lesson.as_ref();
    let mut cell = Cell { recorded: 1, scrapped: u64::from(!o.good), ..Cell::default() };
    match lesson {
        Some(l) => {
            l.dcr_ratio.filter(|_| !l.left_out).into_iter().for_each(|x| cell.ratio.add(x));
            l.pitch_factor.into_iter().for_each(|k| cell.pitch.add(k));
            l.nesting.into_iter().for_each(|b| cell.nesting.add(b));
            if let Some(d) = l.drawn {
                cell.metres.add(d.ratio);
                cell.draws.add(&first::draws(), d.wound_m, d.more_m.value, d.more_m.u);
            }
        }
        // Recorded before there was learning: its plan was by first values.
        None => r.ratio.filter(|_| o.good).into_iter().for_each(|x| cell.ratio.add(x)),
    }
    let wound = r.minutes.filter(|_| o.good).map(|m| (Step::Wound, m));
    let later = work.steps.iter().filter_map(|(step, done)| Some((*step, done.minutes?)));
    for (step, minutes) in wound.into_iter().chain(later).filter(|(_, m)| *m > 0.0) {
        cell.log_minutes.entry(step.word().to_owned()).or_default().add(libm::log(minutes));
    }
    let off = lesson.filter(|l| !l.cause.is_empty());
    Some(OneCoil {
        seq: o.seq,
        wire: lesson.map_or(&job.plan.wire, |l| &l.wire).clone(),
        mandrel: mandrel_key(lesson.map_or(r.mandrel_mm, |l| l.mandrel_mm)),
        winder: r.winder.clone(),
        cell,
        off: off.map(|l| Off { job: job.id, coil_no, winder: r.winder.clone(), lesson: l.clone() }),
    })
}
