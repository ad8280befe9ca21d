//! The door: a question checked and turned into whole millimetres, what is needed rounded up, what is there down.

use crate::question::{Assigned, Job, Question, Spool, WrongQuestion};
use coilwright_core::quantity::Length;
use std::collections::{BTreeMap, BTreeSet};

/// A rounding error of a conversion, in millimetres: 25.7 m must not become 25 701 mm.
const CRUMB_MM: f64 = 1e-6;

/// Longest length in metres and longest time in minutes that are taken in, so that sums stay far from overflow.
const LARGEST: f64 = 1e6;

/// Most coils of one job, for the same reason.
const MOST_COILS: u32 = 100_000;

/// Spools and jobs in whole numbers, for one set of safe lengths.
#[derive(Debug, Clone)]
pub(crate) struct Shelf {
    pub bins: Vec<Bin>,
    pub jobs: Vec<Item>,
    /// Due days in order with the winder's time up to each, in thousandths of a minute; empty if time is not looked at.
    pub days: Vec<Day>,
    /// Number of wires.
    pub wires: usize,
    /// The plan in force: job, spool -> coils.
    pub incumbent: BTreeMap<(usize, usize), u32>,
    /// Jobs (by index) from the most to the least preferred among equals: due first, then opened first.
    pub by_due: Vec<usize>,
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
    pub bins: Vec<usize>,
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
        let mut jobs = Vec::with_capacity(question.jobs.len());
        for job in &question.jobs {
            let started: Vec<(usize, u32)> =
                job.started.iter().filter_map(|(s, &n)| Some((*spool_at.get(s.as_str())?, n))).collect();
            let item = item(question, job, started, &wires, &days);
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
        let incumbent = question.incumbent.iter().filter_map(|a| Some((place(a)?, a.coils))).collect();
        let mut shelf =
            Shelf { days: limits(question, &days, &jobs), bins, jobs, wires: wires.len(), incumbent, by_due };
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
        shelf.jobs.iter_mut().for_each(|j| j.day = None);
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

fn item(
    question: &Question,
    job: &Job,
    started: Vec<(usize, u32)>,
    wires: &BTreeMap<&str, usize>,
    days: &[i32],
) -> Item {
    let must = started.iter().any(|&(_, n)| n > 0);
    let on = started.first().map(|&(i, _)| question.spools[i].wire.as_str());
    let accepted = std::iter::once(job.wire.as_str()).chain(job.alternates.iter().map(|a| a.wire.as_str()));
    let mut choices = Vec::new();
    for name in accepted {
        let (Some(&wire), Some(need), Some(worth)) = (wires.get(name), job.need_on(name), job.worth_on(name)) else {
            continue;
        };
        let allowed = if must { on == Some(name) } else { worth > 0 };
        if !allowed || choices.iter().any(|c: &Choice| c.wire == wire) {
            continue;
        }
        let bins = (0..question.spools.len())
            .filter(|&i| {
                let spool = &question.spools[i];
                let only = job.only_from.as_ref().is_none_or(|id| *id == spool.id);
                let together = !job.matched_set || started.iter().all(|&(at, _)| at == i);
                spool.wire == name && !spool.held && only && together
            })
            .collect();
        choices.push(Choice { wire, need: mm_up(need.total()).max(1), worth, bins });
    }
    choices.sort_by_key(|c| -c.worth);
    Item {
        coils: job.coils.saturating_sub(job.started_coils()),
        choices,
        day: job.due_by().and_then(|due| days.binary_search(&due).ok()),
        minutes: time_up(job.minutes),
        matched: job.matched_set,
        must,
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

fn check(question: &Question) -> Result<(), WrongQuestion> {
    named_once("spool", question.spools.iter().map(|s| s.id.as_str()))?;
    named_once("job", question.jobs.iter().map(|j| j.id.as_str()))?;
    named_once("offer", question.supply.iter().map(|o| o.id.as_str()))?;
    if let Some(risk) = question.risk {
        figure(|| "risk".into(), risk, 1e-9, 0.5, "from 0.000000001 to 0.5")?;
    }
    figure(|| "common share".into(), question.common_share, 0.0, 1.0, "from 0 to 1")?;
    if let Some(minutes) = question.minutes_per_day {
        figure(|| "minutes per day".into(), minutes, 0.0, LARGEST, "0 or more")?;
    }
    for (wire, smallest) in &question.smallest_coil {
        metres(|| format!("smallest coil of wire `{wire}`"), *smallest)?;
    }
    for s in &question.spools {
        let left = |what: &str| format!("{what} of spool `{}`", s.id);
        figure(|| left("length left"), s.left.value.m(), -LARGEST, LARGEST, "a number")?;
        metres(|| left("uncertainty"), s.left.u)?;
        metres(|| left("last digit"), s.half_digit)?;
        metres(|| left("promised length"), s.promised)?;
        metres(|| left("safe length"), s.safe.unwrap_or_default())?;
        figure(|| left("doubt of a draw"), s.draw_doubt, 0.0, 1.0, "from 0 to 1")?;
    }
    for o in &question.supply {
        metres(|| format!("length of offer `{}`", o.id), o.left.value)?;
        metres(|| format!("uncertainty of offer `{}`", o.id), o.left.u)?;
        figure(|| format!("doubt of a draw of offer `{}`", o.id), o.draw_doubt, 0.0, 1.0, "from 0 to 1")?;
    }
    question.jobs.iter().try_for_each(|job| check_job(question, job))
}

fn check_job(question: &Question, job: &Job) -> Result<(), WrongQuestion> {
    let needs = std::iter::once(job.need).chain(job.alternates.iter().filter_map(|a| a.need));
    for need in needs {
        for part in [need.net, need.tails, need.scrap] {
            metres(|| format!("need of job `{}`", job.id), part)?;
        }
        if need.total().m() <= 0.0 {
            return Err(WrongQuestion::Nothing { job: job.id.clone(), what: "length of a coil" });
        }
    }
    if job.coils == 0 {
        return Err(WrongQuestion::Nothing { job: job.id.clone(), what: "number of coils" });
    }
    let coils = f64::from(job.coils);
    figure(|| format!("coils of job `{}`", job.id), coils, 1.0, f64::from(MOST_COILS), "from 1 to 100000")?;
    figure(|| format!("minutes of job `{}`", job.id), job.minutes, 0.0, LARGEST, "0 or more")?;
    let started: u64 = job.started.values().map(|&n| u64::from(n)).sum();
    if started > u64::from(job.coils) {
        let started = u32::try_from(started).unwrap_or(u32::MAX);
        return Err(WrongQuestion::TooManyStarted { job: job.id.clone(), started, coils: job.coils });
    }
    let mut wire: Option<&str> = None;
    for id in job.started.keys() {
        let Some(spool) = question.spools.iter().find(|s| s.id == *id) else {
            return Err(WrongQuestion::UnknownSpool { job: job.id.clone(), spool: id.clone() });
        };
        if job.need_on(&spool.wire).is_none() || wire.is_some_and(|w| w != spool.wire) {
            return Err(WrongQuestion::StartedOnOtherWire { job: job.id.clone(), wire: spool.wire.clone() });
        }
        wire = Some(&spool.wire);
    }
    Ok(())
}

fn named_once<'a>(what: &'static str, ids: impl Iterator<Item = &'a str>) -> Result<(), WrongQuestion> {
    let mut seen = BTreeSet::new();
    for id in ids {
        if !seen.insert(id) {
            return Err(WrongQuestion::NamedTwice { what, id: id.to_owned() });
        }
    }
    Ok(())
}

fn metres(what: impl Fn() -> String, length: Length) -> Result<(), WrongQuestion> {
    figure(what, length.m(), 0.0, LARGEST, "0 m or more")
}

fn figure(
    what: impl Fn() -> String,
    met: f64,
    least: f64,
    most: f64,
    allowed: &'static str,
) -> Result<(), WrongQuestion> {
    // A NaN is in no range.
    if (least..=most).contains(&met) { Ok(()) } else { Err(WrongQuestion::Figure { what: what(), met, allowed }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::question::Need;
    use coilwright_core::measured::Measured;

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

    #[test]
    fn a_question_that_contradicts_itself_is_refused() {
        let spool = |id: &str| Spool::new(id, "A", Measured::certain(Length::from_m(50.0)));
        let job = |id: &str| Job::new(id, "A", 1, Need { net: Length::from_m(5.0), ..Need::default() }, 1);
        let mut q = Question { spools: vec![spool("s1"), spool("s1")], ..Question::default() };
        assert_eq!(Shelf::new(&q, None).err(), Some(WrongQuestion::NamedTwice { what: "spool", id: "s1".into() }));
        q.spools.pop();
        q.jobs = vec![job("J1")];
        q.jobs[0].started.insert("s9".into(), 1);
        assert!(matches!(Shelf::new(&q, None), Err(WrongQuestion::UnknownSpool { .. })));
        q.jobs[0].started = [("s1".to_owned(), 2)].into();
        assert!(matches!(Shelf::new(&q, None), Err(WrongQuestion::TooManyStarted { started: 2, coils: 1, .. })));
        q.jobs[0].started.clear();
        q.spools[0].left.u = Length::from_m(f64::NAN);
        assert!(matches!(Shelf::new(&q, None), Err(WrongQuestion::Figure { .. })));
        q.spools[0].left.u = Length::ZERO;
        q.jobs[0].wire = "B".into();
        q.jobs[0].started = [("s1".to_owned(), 1)].into();
        assert!(matches!(Shelf::new(&q, None), Err(WrongQuestion::StartedOnOtherWire { .. })));
    }
}
