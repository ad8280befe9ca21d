//! Checking a plan afresh: nothing of the search is used, only the question, the plan and the statistics.
//!
//! Every plan is checked before it is answered, and again by whoever accepts it, against the state of that moment.

use crate::question::{Assigned, Job, Question, Spool};
use crate::risk::plan_risk_in_metres;
use coilwright_core::quantity::Length;
use std::collections::BTreeMap;

/// Rounding that is forgiven, in metres and minutes.
const CRUMB: f64 = 1e-6;

/// What a check found.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// What is wrong; empty if the plan holds.
    pub faults: Vec<Fault>,
    /// Worth of the jobs in the plan.
    pub value: i64,
    /// Probability that any spool with coils on it runs short, started coils included.
    pub risk: f64,
    /// Expected length of useless ends.
    pub stranded: Length,
    /// Spools that carry coils.
    pub touched: usize,
}

/// Something wrong with a plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// A job that is not in the question.
    #[error("job `{0}` is not open")]
    UnknownJob(String),
    /// A spool that is not in the question.
    #[error("spool `{0}` is not on the shelf")]
    UnknownSpool(String),
    /// The same job and spool twice, or no coils.
    #[error("job `{job}` on spool `{spool}` is given twice or without coils")]
    Malformed {
        /// the job
        job: String,
        /// the spool
        spool: String,
    },
    /// The wire named is not the spool's, or not accepted for the job, or not the same for all its coils.
    #[error("job `{job}` is not to be made of wire `{wire}`")]
    Wire {
        /// the job
        job: String,
        /// the wire
        wire: String,
    },
    /// Some coils of a job, not all.
    #[error("job `{job}` has {met} coils in the plan and needs {needed}: all or none")]
    NotAllCoils {
        /// the job
        job: String,
        /// coils in the plan
        met: u64,
        /// coils of the job
        needed: u32,
    },
    /// Started coils were moved or left out.
    #[error("job `{job}` has {started} started coils on spool `{spool}`, which must stay there")]
    StartedMoved {
        /// the job
        job: String,
        /// the spool
        spool: String,
        /// coils started there
        started: u32,
    },
    /// New coils on a held spool.
    #[error("spool `{0}` is held")]
    Held(String),
    /// A matched set from several spools, or not from the one it was begun with.
    #[error("job `{0}` is a matched set: all its coils come from one spool")]
    NotMatched(String),
    /// More than the spool can safely give.
    #[error("spool `{spool}` would give {drawn_m:.3} m of {safe_m:.3} m")]
    TooLong {
        /// the spool
        spool: String,
        /// metres drawn and promised
        drawn_m: f64,
        /// metres that are safe
        safe_m: f64,
    },
    /// The plan as a whole is riskier than promised.
    #[error("the plan runs short with a probability of {met:.5}; {allowed} is promised")]
    Risk {
        /// risk of the plan
        met: f64,
        /// what is promised
        allowed: f64,
    },
    /// More work up to a day than there is time for.
    #[error("up to day {day} the plan takes {minutes:.1} minutes of {limit:.1}")]
    Time {
        /// the day
        day: i32,
        /// minutes planned up to it
        minutes: f64,
        /// minutes there are
        limit: f64,
    },
}

/// Checks a plan against a question.
pub fn check(question: &Question, assign: &[Assigned]) -> Checked {
    let spools: BTreeMap<&str, &Spool> = question.spools.iter().map(|s| (s.id.as_str(), s)).collect();
    let jobs: BTreeMap<&str, &Job> = question.jobs.iter().map(|j| (j.id.as_str(), j)).collect();
    let mut faults = Vec::new();
    let mut by_job: BTreeMap<&str, BTreeMap<&str, u32>> = BTreeMap::new();
    for a in assign {
        match (jobs.get(a.job.as_str()), spools.get(a.spool.as_str())) {
            (None, _) => faults.push(Fault::UnknownJob(a.job.clone())),
            (_, None) => faults.push(Fault::UnknownSpool(a.spool.clone())),
            (Some(job), Some(spool)) => {
                if a.wire != spool.wire || job.need_on(&a.wire).is_none() {
                    faults.push(Fault::Wire { job: a.job.clone(), wire: a.wire.clone() });
                }
                let twice = by_job.entry(&job.id).or_default().insert(&spool.id, a.coils).is_some();
                if twice || a.coils == 0 {
                    faults.push(Fault::Malformed { job: a.job.clone(), spool: a.spool.clone() });
                }
            }
        }
    }
    let mut drawn: BTreeMap<&str, Drawn> = BTreeMap::new();
    let mut value = 0;
    for job in &question.jobs {
        let lies = by_job.get(job.id.as_str());
        draw(job, lies, &spools, &mut drawn);
        let Some(lies) = lies else { continue };
        check_job(job, lies, &spools, &mut faults);
        let wire = lies.keys().next().and_then(|s| spools.get(s)).map(|s| s.wire.as_str());
        value += wire.and_then(|w| job.worth_on(w)).unwrap_or(0);
    }
    check_lengths(question, &drawn, &mut faults);
    check_risk(question, &drawn, &mut faults);
    check_time(question, |job| by_job.contains_key(job.id.as_str()), &mut faults);
    let all: Vec<(&Spool, f64)> = drawn.values().map(|d| (d.spool, d.total())).collect();
    Checked {
        faults,
        value,
        risk: plan_risk_in_metres(&all, question.common_share),
        // Begun at zero: the empty sum of floats is −0.
        stranded: drawn.values().fold(Length::ZERO, |sum, d| sum + d.useless(question)),
        touched: drawn.len(),
    }
}

/// What is drawn from one spool, in metres.
struct Drawn<'a> {
    spool: &'a Spool,
    started: f64,
    added: f64,
}

impl Drawn<'_> {
    fn total(&self) -> f64 {
        self.spool.promised.m() + self.started + self.added
    }

    fn begun_total(&self) -> f64 {
        self.spool.promised.m() + self.started
    }

    fn useless(&self, question: &Question) -> Length {
        let left = Length::from_m(self.spool.left.value.m() - self.total());
        let smallest = question.smallest_coil.get(&self.spool.wire).copied().unwrap_or_default();
        if left.m() < smallest.m() - CRUMB { left.max(Length::ZERO) } else { Length::ZERO }
    }
}

fn draw<'a>(
    job: &Job,
    lies: Option<&BTreeMap<&str, u32>>,
    spools: &BTreeMap<&str, &'a Spool>,
    drawn: &mut BTreeMap<&'a str, Drawn<'a>>,
) {
    let started = |id: &str| job.started.get(id).copied().unwrap_or(0);
    let mut add = |id: &str, started: u32, added: u32| {
        let Some(&spool) = spools.get(id) else { return };
        let coil = job.need_on(&spool.wire).map_or(0.0, |n| n.total().m());
        let entry = drawn.entry(&spool.id).or_insert(Drawn { spool, started: 0.0, added: 0.0 });
        entry.started += coil * f64::from(started);
        entry.added += coil * f64::from(added);
    };
    for (id, &n) in job.started.iter().filter(|(_, n)| **n > 0) {
        add(id, n, 0);
    }
    for (id, &n) in lies.into_iter().flatten() {
        if n > started(id) {
            add(id, 0, n - started(id));
        }
    }
}

fn check_job(job: &Job, lies: &BTreeMap<&str, u32>, spools: &BTreeMap<&str, &Spool>, faults: &mut Vec<Fault>) {
    let met: u64 = lies.values().map(|&n| u64::from(n)).sum();
    if met != u64::from(job.coils) {
        faults.push(Fault::NotAllCoils { job: job.id.clone(), met, needed: job.coils });
    }
    let wires: Vec<&str> = lies.keys().filter_map(|s| spools.get(s)).map(|s| s.wire.as_str()).collect();
    if let Some(other) = wires.iter().find(|w| **w != wires[0]) {
        faults.push(Fault::Wire { job: job.id.clone(), wire: (*other).to_owned() });
    }
    for (spool, &started) in &job.started {
        if lies.get(spool.as_str()).copied().unwrap_or(0) < started {
            faults.push(Fault::StartedMoved { job: job.id.clone(), spool: spool.clone(), started });
        }
    }
    let only = job.only_from.as_deref();
    for (&id, &n) in lies {
        let added = n > job.started.get(id).copied().unwrap_or(0);
        if added && spools.get(id).is_some_and(|s| s.held) {
            faults.push(Fault::Held(id.to_owned()));
        }
        if added && only.is_some_and(|only| only != id) {
            faults.push(Fault::NotMatched(job.id.clone()));
        }
    }
    // Coils started on several spools cannot be matched any more; what is added to them must still be from one.
    if job.matched_set && lies.len() > job.started.len().max(1) {
        faults.push(Fault::NotMatched(job.id.clone()));
    }
}

fn check_lengths(question: &Question, drawn: &BTreeMap<&str, Drawn>, faults: &mut Vec<Fault>) {
    for d in drawn.values().filter(|d| d.added > 0.0) {
        let safe = d.spool.safe_length(question.risk.map(|risk| 1.0 - risk)).m();
        if d.total() > safe + CRUMB {
            faults.push(Fault::TooLong { spool: d.spool.id.clone(), drawn_m: d.total(), safe_m: safe });
        }
    }
}

/// The joint risk, without spools whose started coils alone already break the promise and that get nothing more.
fn check_risk(question: &Question, drawn: &BTreeMap<&str, Drawn>, faults: &mut Vec<Fault>) {
    let Some(allowed) = question.risk else { return };
    let share = question.common_share;
    let own = |d: &Drawn| d.spool.remaining().probability(Length::from_m(d.begun_total()));
    let mut begun: Vec<&Drawn> = drawn.values().filter(|d| d.started > 0.0).collect();
    let mut aside: Vec<&str> = Vec::new();
    begun.sort_by(|a, b| own(b).total_cmp(&own(a)));
    loop {
        let loads: Vec<(&Spool, f64)> = begun.iter().map(|d| (d.spool, d.begun_total())).collect();
        if plan_risk_in_metres(&loads, share) <= allowed * (1.0 + CRUMB) {
            break;
        }
        match begun.pop() {
            Some(worst) => aside.push(&worst.spool.id),
            None => break,
        }
    }
    let counted: Vec<(&Spool, f64)> = drawn
        .values()
        .filter(|d| d.added > 0.0 || !aside.contains(&d.spool.id.as_str()))
        .map(|d| (d.spool, d.total()))
        .collect();
    let met = plan_risk_in_metres(&counted, share);
    if met > allowed * (1.0 + CRUMB) {
        faults.push(Fault::Risk { met, allowed });
    }
}

/// Time up to each due day; what started jobs take is granted, for they are finished whatever the clock says.
fn check_time(question: &Question, done: impl Fn(&Job) -> bool, faults: &mut Vec<Fault>) {
    let Some(per_day) = question.minutes_per_day else { return };
    // Minutes of all jobs done, and of the started ones, by day.
    let mut days: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for job in &question.jobs {
        let Some(day) = job.due_by() else { continue };
        let of_day = days.entry(day).or_default();
        of_day.0 += if done(job) { job.minutes } else { 0.0 };
        of_day.1 += if job.started_coils() > 0 { job.minutes } else { 0.0 };
    }
    let (mut minutes, mut begun) = (0.0, 0.0);
    for (day, of_day) in days {
        minutes += of_day.0;
        begun += of_day.1;
        let limit = (per_day * f64::from(day)).max(begun);
        if minutes > limit + CRUMB * question.jobs.len().max(1) as f64 {
            faults.push(Fault::Time { day, minutes, limit });
        }
    }
}
