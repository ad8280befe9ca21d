//! The door: a question checked and turned into whole millimetres, what is needed rounded up, what is there down.

use crate::question::{Assigned, Job, Question, Spool, WrongQuestion};
use crate::sense::check;
use crate::ways::Ways;
use coilwright_core::quantity::Length;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// A rounding error of a conversion, in millimetres: 25.7 m must not become 25 701 mm.
const CRUMB_MM: f64 = 1e-6;

/// Spools and jobs in whole numbers, for one set of safe lengths. What does not depend on these is shared by all copies.
#[derive(Debug, Clone)]
pub(crate) struct Shelf {
    pub bins: Vec<Bin>,
    pub jobs: Rc<Vec<Item>>,
    /// Due days in order with the winder's time up to each, in thousandths of a minute; empty if time is not looked at.
    pub days: Vec<Day>,
    /// Number of wires.
    pub wires: usize,
    /// Number of kinds of coil.
    pub kinds: usize,
    /// The plan in force: job, spool -> coils.
    pub incumbent: Rc<BTreeMap<(usize, usize), u32>>,
    /// Jobs (by index) from the most to the least preferred among equals: due first, then opened first.
    pub by_due: Rc<Vec<usize>>,
}

/// A spool: what may still be put on it beside what is promised and started.
#[derive(Debug, Clone)]
pub(crate) struct Bin {
    pub wire: usize,
    /// Safe length less what is promised and started; never negative.
    pub room: i64,
    /// Mean length less what is promised and started: what is expected to be left if nothing more is put on it.
    pub left: i64,
    /// An end shorter than this is useless.
    pub usual: i64,
    /// Promised and started, already counted off.
    pub fixed: i64,
    /// Gives nothing more: held, or beyond help.
    pub closed: bool,
    /// Carries started coils.
    pub begun: bool,
    pub sealed: bool,
    pub age: i64,
    /// Place in the order of names.
    pub rank: i64,
}

/// A job.
#[derive(Debug, Clone)]
pub(crate) struct Item {
    /// Coils not started.
    pub coils: u32,
    /// Ways to make it, best first.
    pub choices: Vec<Choice>,
    /// Place of its due day in `Shelf::days`.
    pub day: Option<usize>,
    pub minutes: i64,
    pub matched: bool,
    /// Has started coils: comes before every job that has none.
    pub must: bool,
    /// Started coils by spool.
    pub started: Vec<(usize, u32)>,
}

/// One wire that a job may be made of.
#[derive(Debug, Clone)]
pub(crate) struct Choice {
    pub wire: usize,
    pub need: i64,
    pub worth: i64,
    pub bins: Rc<[usize]>,
    /// Coils of one length that may come from the same spools are of one kind, whatever job they are of.
    pub kind: usize,
}

/// Time up to a due day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Day {
    pub day: i32,
    pub limit: i64,
}

/// Whole millimetres that cover a length.
pub(crate) fn mm_up(length: Length) -> i64 {
    libm::ceil(length.m() * 1000.0 - CRUMB_MM).max(0.0) as i64
}

/// Whole millimetres that a length covers.
pub(crate) fn mm_down(length: Length) -> i64 {
    libm::floor(length.m() * 1000.0 + CRUMB_MM).max(0.0) as i64
}

/// A length from whole millimetres.
pub(crate) fn length(mm: i64) -> Length {
    Length::from_m(mm as f64 / 1000.0)
}

/// Thousandths of a minute, rounded up.
pub(crate) fn time_up(minutes: f64) -> i64 {
    libm::ceil(minutes * 1000.0 - CRUMB_MM) as i64
}

impl Shelf {
    /// The question in whole numbers, every spool with what is safe at `confidence`.
    ///
    /// # Errors
    /// A question that contradicts itself or holds figures that are none.
    pub fn new(question: &Question, confidence: Option<f64>) -> Result<Shelf, WrongQuestion> {
        check(question)?;
        let spool_at: BTreeMap<&str, usize> =
            question.spools.iter().enumerate().map(|(i, s)| (s.id.as_str(), i)).collect();
        let wires: BTreeSet<&str> = question.spools.iter().map(|s| s.wire.as_str()).collect();
        let wires: BTreeMap<&str, usize> = wires.into_iter().enumerate().map(|(i, w)| (w, i)).collect();
        let mut bins: Vec<Bin> =
            question.spools.iter().map(|s| bin(question, s, wires.get(s.wire.as_str()).copied())).collect();
        for (rank, &i) in spool_at.values().enumerate() {
            bins[i].rank = rank as i64;
        }
        let due: BTreeSet<i32> = match question.minutes_per_day {
            Some(_) => question.jobs.iter().filter_map(Job::due_by).collect(),
            None => BTreeSet::new(),
        };
        let days: Vec<i32> = due.into_iter().collect();
        let mut ways = Ways::new(question, &wires);
        let mut jobs = Vec::with_capacity(question.jobs.len());
        for job in &question.jobs {
            let started: Vec<(usize, u32)> =
                job.started.iter().filter_map(|(s, &n)| Some((*spool_at.get(s.as_str())?, n))).collect();
            let item = item(&mut ways, job, started, &days);
            for &(i, n) in &item.started {
                let need = job.need_on(&question.spools[i].wire).map_or(0, |need| mm_up(need.total()));
                bins[i].fixed += need * i64::from(n);
                bins[i].begun |= n > 0;
            }
            jobs.push(item);
        }
        let mut by_due: Vec<usize> = (0..jobs.len()).collect();
        by_due.sort_by_key(|&j| (question.jobs[j].due_by().unwrap_or(i32::MAX), j));
        let job_at: BTreeMap<&str, usize> = question.jobs.iter().enumerate().map(|(j, x)| (x.id.as_str(), j)).collect();
        let place = |a: &Assigned| Some((*job_at.get(a.job.as_str())?, *spool_at.get(a.spool.as_str())?));
        let incumbent: BTreeMap<(usize, usize), u32> =
            question.incumbent.iter().filter_map(|a| Some((place(a)?, a.coils))).collect();
        let days = limits(question, &days, &jobs);
        let mut shelf = Shelf {
            days,
            bins,
            jobs: Rc::new(jobs),
            wires: wires.len(),
            kinds: ways.kinds(),
            incumbent: Rc::new(incumbent),
            by_due: Rc::new(by_due),
        };
        shelf.set_rooms(&safe_lengths(question, confidence));
        for (bin, spool) in shelf.bins.iter_mut().zip(&question.spools) {
            bin.left = mm_down(spool.left.value) - bin.fixed;
        }
        Ok(shelf)
    }

    /// Puts other safe lengths in, in whole millimetres by spool.
    pub fn set_rooms(&mut self, safe: &[i64]) {
        for (bin, safe) in self.bins.iter_mut().zip(safe) {
            bin.room = if bin.closed { 0 } else { (safe - bin.fixed).max(0) };
        }
    }

    /// The same shelf with other safe lengths.
    pub fn with_rooms(&self, safe: &[i64]) -> Shelf {
        let mut shelf = self.clone();
        shelf.set_rooms(safe);
        shelf
    }

    /// The same shelf without a look at the winder's time.
    pub fn without_time(&self) -> Shelf {
        let mut shelf = self.clone();
        shelf.days.clear();
        Rc::make_mut(&mut shelf.jobs).iter_mut().for_each(|j| j.day = None);
        shelf
    }
}

/// Safe lengths of all spools in whole millimetres.
pub(crate) fn safe_lengths(question: &Question, confidence: Option<f64>) -> Vec<i64> {
    question.spools.iter().map(|s| mm_down(s.safe_length(confidence))).collect()
}

fn bin(question: &Question, spool: &Spool, wire: Option<usize>) -> Bin {
    Bin {
        wire: wire.unwrap_or(0),
        room: 0,
        left: 0,
        usual: question.smallest_coil.get(&spool.wire).map_or(0, |&l| mm_up(l)),
        fixed: mm_up(spool.promised),
        closed: spool.held,
        begun: false,
        sealed: !spool.opened,
        age: i64::from(spool.age_days),
        rank: 0,
    }
}

fn item(ways: &mut Ways, job: &Job, started: Vec<(usize, u32)>, days: &[i32]) -> Item {
    Item {
        coils: job.coils.saturating_sub(job.started_coils()),
        choices: ways.of(job, &started),
        day: job.due_by().and_then(|due| days.binary_search(&due).ok()),
        minutes: time_up(job.minutes),
        matched: job.matched_set,
        must: started.iter().any(|&(_, n)| n > 0),
        started,
    }
}

/// Time up to each due day; what started jobs take is there in any case, for they are finished whatever the clock says.
fn limits(question: &Question, days: &[i32], jobs: &[Item]) -> Vec<Day> {
    let Some(per_day) = question.minutes_per_day else { return Vec::new() };
    let up_to = |at: usize| jobs.iter().filter(|j| j.must && j.day.is_some_and(|d| d <= at)).map(|j| j.minutes).sum();
    let time = |day: i32| libm::floor(per_day * 1000.0 * f64::from(day) + CRUMB_MM) as i64;
    days.iter().enumerate().map(|(at, &day)| Day { day, limit: time(day).max(up_to(at)) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::Need;

    #[test]
    fn need_is_rounded_up_and_what_is_there_down() {
        assert_eq!(mm_up(Length::from_m(25.7)), 25_700);
        assert_eq!(mm_up(Length::from_m(25.7001)), 25_701);
        assert_eq!(mm_down(Length::from_m(25.7)), 25_700);
        assert_eq!(mm_down(Length::from_m(25.6999)), 25_699);
        assert_eq!(mm_down(Length::from_m(-3.0)), 0);
        let need = Need { net: Length::from_m(25.0), tails: Length::from_m(0.5), scrap: Length::from_m(0.2) };
        assert_eq!(mm_up(need.total()), 25_700);
    }
}
