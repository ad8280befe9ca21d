//! Whether a question makes sense: names, figures in their range, started coils where they can be.

use crate::question::{Job, Question, WrongQuestion};
use coilwright_core::quantity::Length;
use std::collections::BTreeSet;

/// Longest length in metres and longest time in minutes that are taken in, so that sums stay far from overflow.
const LARGEST: f64 = 1e6;

/// Most coils of one job, for the same reason.
const MOST_COILS: u32 = 100_000;

/// Checks a question.
///
/// # Errors
/// The first contradiction or impossible figure met.
pub(crate) fn check(question: &Question) -> Result<(), WrongQuestion> {
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
    use crate::question::{Need, Spool};
    use coilwright_core::measured::Measured;

    #[test]
    fn a_question_that_contradicts_itself_is_refused() {
        let spool = |id: &str| Spool::new(id, "A", Measured::certain(Length::from_m(50.0)));
        let job = |id: &str| Job::new(id, "A", 1, Need { net: Length::from_m(5.0), ..Need::default() }, 1);
        let mut q = Question { spools: vec![spool("s1"), spool("s1")], ..Question::default() };
        assert_eq!(check(&q).err(), Some(WrongQuestion::NamedTwice { what: "spool", id: "s1".into() }));
        q.spools.pop();
        q.jobs = vec![job("J1")];
        q.jobs[0].started.insert("s9".into(), 1);
        assert!(matches!(check(&q), Err(WrongQuestion::UnknownSpool { .. })));
        q.jobs[0].started = [("s1".to_owned(), 2)].into();
        assert!(matches!(check(&q), Err(WrongQuestion::TooManyStarted { started: 2, coils: 1, .. })));
        q.jobs[0].started.clear();
        q.spools[0].left.u = Length::from_m(f64::NAN);
        assert!(matches!(check(&q), Err(WrongQuestion::Figure { .. })));
        q.spools[0].left.u = Length::ZERO;
        q.jobs[0].wire = "B".into();
        q.jobs[0].started = [("s1".to_owned(), 1)].into();
        assert!(matches!(check(&q), Err(WrongQuestion::StartedOnOtherWire { .. })));
    }
}
