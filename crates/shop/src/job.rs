//! A job as its facts add up: what is wanted, which coils are on the winder, done or scrapped, what is missing.

use crate::archive::{Happened, NoEffect};
use crate::entry::Seq;
use crate::fact::{
    Before, CoilPlan, CoilRecord, CoilStarted, Fact, JobChanged, JobClosed, JobOpened, OtherWire, Step, StepDone,
};
use crate::id::{HoldId, JobId, SpoolId};
use crate::uncertain::Uncertain;
use jiff::Timestamp;
use jiff::civil::Date;
use rpds::RedBlackTreeMapSync;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Job {
    /// Its id.
    pub id: JobId,
    /// What it is, in words.
    pub title: String,
    /// The coil as asked for.
    pub coil: Arc<Value>,
    /// What follows of it.
    pub plan: Arc<CoilPlan>,
    /// Good coils wanted.
    pub coils: u32,
    /// When it is promised.
    pub due_on: Option<Date>,
    /// 1 to 9, 9 first.
    pub priority: u8,
    /// Wires that would do as well.
    pub other_wires: Arc<Vec<OtherWire>>,
    /// Noted before teardown.
    pub before: Before,
    /// Every coil that was started, by its number.
    pub works: RedBlackTreeMapSync<u32, CoilWork>,
    /// How it ended.
    pub ended: Option<Ended>,
    /// When it was opened.
    pub opened_at: Timestamp,
    /// The last entry that changed it.
    pub rev: Seq,
}

/// Where a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Taken, nothing started.
    Open,
    /// At least one coil was started.
    InWork,
    /// All coils wanted are good and went through every step.
    Ready,
    /// Handed over.
    Closed,
    /// Will not be done.
    Cancelled,
}

/// How a job ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "end", rename_all = "snake_case")]
pub enum Ended {
    /// Handed over.
    Closed {
        /// As told.
        closed: Arc<JobClosed>,
        /// When.
        at: Timestamp,
    },
    /// Will not be done.
    Cancelled {
        /// Why.
        reason: String,
        /// When.
        at: Timestamp,
    },
}

/// One coil of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoilWork {
    /// Its start, as it was told.
    pub started: Arc<CoilStarted>,
    /// When.
    pub started_at: Timestamp,
    /// Layers that are full.
    pub layer: u32,
    /// The tablet that follows it.
    pub lease: String,
    /// As wound.
    pub outcome: Option<Outcome>,
    /// Steps after winding.
    pub steps: BTreeMap<Step, Arc<StepDone>>,
    /// The entries that noted them.
    #[serde(default)]
    pub step_seqs: BTreeMap<Step, Seq>,
}

/// What became of a coil.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Good; otherwise scrapped.
    pub good: bool,
    /// As recorded.
    pub record: Arc<CoilRecord>,
    /// When.
    pub at: Timestamp,
    /// The entry.
    pub seq: Seq,
}

/// Steps that every good coil goes through after it is wound.
pub const AFTER_WINDING: [Step; 3] = [Step::Trimmed, Step::Cured, Step::Tested];

impl CoilWork {
    /// On the winder now.
    pub fn is_winding(&self) -> bool {
        self.outcome.is_none()
    }

    /// Recorded as good.
    pub fn is_good(&self) -> bool {
        self.outcome.as_ref().is_some_and(|o| o.good)
    }

    /// Steps that a good coil still lacks.
    pub fn missing(&self) -> Vec<Step> {
        AFTER_WINDING.into_iter().filter(|step| !self.steps.contains_key(step)).collect()
    }

    /// Resistance as it was measured last: after a step, or as wound.
    pub fn dcr_ohm(&self) -> Option<Uncertain> {
        let after = self.steps.values().rev().find_map(|done| done.dcr_ohm);
        after.or_else(|| self.outcome.as_ref().and_then(|o| o.record.dcr_ohm))
    }

    /// The promise on its spool.
    pub fn hold(&self) -> (SpoolId, HoldId) {
        (self.started.spool, self.started.hold)
    }
}

impl Job {
    /// Where it stands.
    pub fn status(&self) -> Status {
        match &self.ended {
            Some(Ended::Closed { .. }) => Status::Closed,
            Some(Ended::Cancelled { .. }) => Status::Cancelled,
            None if self.missing().is_empty() => Status::Ready,
            None if self.works.is_empty() => Status::Open,
            None => Status::InWork,
        }
    }

    /// Whether nothing more is likely to happen to it: ended, and no coil of it on the winder.
    pub fn at_rest(&self) -> bool {
        self.ended.is_some() && !self.works.values().any(CoilWork::is_winding)
    }

    /// Good coils so far.
    pub fn good(&self) -> u32 {
        count(self.works.values().filter(|w| w.is_good()))
    }

    /// Scrapped coils so far.
    pub fn scrapped(&self) -> u32 {
        count(self.works.values().filter(|w| w.outcome.as_ref().is_some_and(|o| !o.good)))
    }

    /// Good coils still to be started, not counting those on the winder.
    pub fn to_start(&self) -> u32 {
        self.coils.saturating_sub(count(self.works.values().filter(|w| w.is_good() || w.is_winding())))
    }

    /// The number that the next start gets.
    pub fn next_coil_no(&self) -> u32 {
        self.works.last().map_or(1, |(no, _)| no.saturating_add(1))
    }

    /// Whether this wire may be used, and how unwelcome it is.
    pub fn accepts(&self, wire: &str) -> Option<f64> {
        if self.plan.wire == wire {
            return Some(0.0);
        }
        self.other_wires.iter().find(|o| o.wire == wire).map(|o| o.penalty)
    }

    /// What keeps it from being closed, in words; empty if nothing does.
    pub fn missing(&self) -> Vec<String> {
        let mut missing = Vec::new();
        for (no, work) in &self.works {
            if work.is_winding() {
                missing.push(format!("coil {no}: wound"));
            } else if work.is_good() {
                missing.extend(work.missing().into_iter().map(|step| format!("coil {no}: {}", step.word())));
                missing.extend(self.off_target(work).map(|how| format!("coil {no} {how}")));
            }
        }
        let lacking = self.coils.saturating_sub(count(self.works.values().filter(|w| w.is_good() || w.is_winding())));
        if lacking > 0 {
            missing.push(format!("{lacking} of {} coils not started", self.coils));
        }
        missing
    }

    /// How a coil wound well misses its target, in words; `None` if it meets it or there is none.
    pub fn off_target(&self, work: &CoilWork) -> Option<String> {
        let target = self.plan.target?;
        let room = target.dcr_ohm * target.tolerance_pct / 100.0;
        let Some(met) = work.dcr_ohm() else {
            return Some(format!(
                "was not measured: no reading was taken, {:.3} to {:.3} Ω at 20 °C are wanted",
                target.dcr_ohm - room,
                target.dcr_ohm + room
            ));
        };
        // A figure on the very edge is within: rounding must not decide.
        let within = (met.value - target.dcr_ohm).abs() <= room * (1.0 + 1e-9);
        (!within).then(|| {
            format!(
                "is out of tolerance: {:.3} Ω at 20 °C, {:.3} to {:.3} Ω are wanted",
                met.value,
                target.dcr_ohm - room,
                target.dcr_ohm + room
            )
        })
    }

    /// The life of one coil as a list that can be ticked: each step and whether it is done.
    pub fn steps(&self, coil_no: u32) -> Vec<(Step, bool)> {
        let work = self.works.get(&coil_no);
        let started = work.is_some();
        let good = work.is_some_and(CoilWork::is_good);
        let mut steps = vec![
            (Step::BeforeTeardown, self.before.missing_for_polarity().is_empty()),
            (Step::Gate, started),
            (Step::Start, started),
            (Step::Wound, good),
        ];
        for step in AFTER_WINDING {
            steps.push((step, work.is_some_and(|w| w.steps.contains_key(&step))));
        }
        steps.push((Step::Closed, matches!(self.ended, Some(Ended::Closed { .. }))));
        steps
    }

    /// The job after one more fact.
    pub(crate) fn fold(job: Option<Job>, happened: &Happened) -> Result<Job, NoEffect> {
        if let Fact::JobOpened(opened) = &happened.fact {
            return if job.is_none() { Ok(Job::opened(opened, happened)) } else { Err(NoEffect) };
        }
        let mut job = job.ok_or(NoEffect)?;
        let at = happened.at;
        match &happened.fact {
            Fact::JobChanged(f) => job.change(f),
            Fact::JobCancelled(f) if job.ended.is_none() => {
                job.ended = Some(Ended::Cancelled { reason: f.reason.clone(), at });
            }
            Fact::JobClosed(f) if job.ended.is_none() => {
                job.ended = Some(Ended::Closed { closed: Arc::new(f.clone()), at });
            }
            Fact::CoilStarted(f) if !job.works.contains_key(&f.coil_no) => {
                job.works.insert_mut(
                    f.coil_no,
                    CoilWork {
                        started: Arc::new(f.clone()),
                        started_at: at,
                        layer: 0,
                        lease: String::new(),
                        outcome: None,
                        steps: BTreeMap::new(),
                        step_seqs: BTreeMap::new(),
                    },
                );
            }
            Fact::LayerReached(f) => job.work(f.coil_no, |work| {
                work.layer = f.layer;
                work.lease.clone_from(&f.lease);
                Ok(())
            })?,
            Fact::CoilFinished(f) => job.record(f, true, happened)?,
            Fact::CoilScrapped(f) => job.record(f, false, happened)?,
            Fact::StepDone(f) => job.work(f.coil_no, |work| {
                if !work.is_good() {
                    return Err(NoEffect);
                }
                work.steps.insert(f.step, Arc::new(f.clone()));
                work.step_seqs.insert(f.step, happened.seq);
                Ok(())
            })?,
            _ => return Err(NoEffect),
        }
        job.rev = happened.seq;
        Ok(job)
    }

    fn opened(f: &JobOpened, happened: &Happened) -> Job {
        Job {
            id: f.job,
            title: f.title.clone(),
            coil: Arc::new(f.coil.clone()),
            plan: Arc::new(f.plan.clone()),
            coils: f.coils,
            due_on: f.due_on,
            priority: f.priority,
            other_wires: Arc::new(f.other_wires.clone()),
            before: f.before.clone(),
            works: RedBlackTreeMapSync::new_sync(),
            ended: None,
            opened_at: happened.at,
            rev: happened.seq,
        }
    }

    fn change(&mut self, f: &JobChanged) {
        if let Some(title) = &f.title {
            self.title.clone_from(title);
        }
        if let Some(coil) = &f.coil {
            self.coil = Arc::new(coil.clone());
        }
        if let Some(plan) = &f.plan {
            self.plan = Arc::new(plan.clone());
        }
        if let Some(wires) = &f.other_wires {
            self.other_wires = Arc::new(wires.clone());
        }
        if let Some(before) = &f.before {
            self.before = before.clone();
        }
        self.coils = f.coils.unwrap_or(self.coils);
        self.due_on = f.due_on.or(self.due_on);
        self.priority = f.priority.unwrap_or(self.priority);
    }

    fn record(&mut self, record: &CoilRecord, good: bool, happened: &Happened) -> Result<(), NoEffect> {
        self.work(record.coil_no, |work| {
            if !work.is_winding() {
                return Err(NoEffect);
            }
            let record = Arc::new(record.clone());
            work.outcome = Some(Outcome { good, record, at: happened.at, seq: happened.seq });
            Ok(())
        })
    }

    fn work(
        &mut self,
        coil_no: u32,
        change: impl FnOnce(&mut CoilWork) -> Result<(), NoEffect>,
    ) -> Result<(), NoEffect> {
        let work = self.works.get_mut(&coil_no).ok_or(NoEffect)?;
        change(work)
    }
}

fn count<T>(items: impl Iterator<Item = T>) -> u32 {
    u32::try_from(items.count()).unwrap_or(u32::MAX)
}
