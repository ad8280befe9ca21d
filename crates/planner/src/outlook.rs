//! What is left by day while a plan is wound, and the first job for which a spool is likely to run short.
//!
//! A job is wound in the order started, due, priority, opened. With a winder's day it ends on the day that its minutes
//! reach; without one, on its due day. The doubt widens with what is drawn since the last weighing:
//!
//! ```text
//! left(t) = μ − W(t),   u(t) = √(σ² + k²·W(t)²)
//! ```

use crate::answer::{Plan, Reason};
use crate::door::{mm_down, mm_up};
use crate::question::{Assigned, Job, Question, Spool};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use std::collections::BTreeMap;

/// What is left by day.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// By spool, in the question's order.
    pub spools: Vec<Depletion>,
    /// By wire, in the order of names; what spools have in common adds up in a straight line, the rest in quadrature.
    pub wires: Vec<Depletion>,
    /// Jobs that are likely to run short, the first one first; those without a day last.
    pub short: Vec<Short>,
}

/// What is left of one spool or wire by day.
#[derive(Debug, Clone, PartialEq)]
pub struct Depletion {
    /// The spool, or the wire.
    pub name: String,
    /// Today after nothing (day 0), then the evening of day 1, 2, …
    pub days: Vec<Level>,
}

/// What is left on one evening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Day from today; 0 is before today's work.
    pub day: i32,
    /// Length left and its standard uncertainty.
    pub left: Measured<Length>,
    /// What of it can be made into the smallest usual coil, safely: whole coils only, nothing from a held spool.
    pub usable: Length,
}

/// A job that is likely to run short.
#[derive(Debug, Clone, PartialEq)]
pub struct Short {
    /// The job.
    pub job: String,
    /// The wire it lacks; of a job that might be made of several, its own.
    pub wire: String,
    /// The spool that tips over; none for a job that has no spool.
    pub spool: Option<String>,
    /// Day on which it would be wound or is due; none if it was left out and is due on no day.
    pub day: Option<i32>,
    /// Probability that its wire is not there.
    pub probability: f64,
}

/// The outlook over a number of days if the plan is wound; `refused` are the jobs that it leaves out for want of wire.
pub fn outlook(question: &Question, assign: &[Assigned], refused: &[String], days: u32) -> Outlook {
    let days = i32::try_from(days).unwrap_or(i32::MAX).min(3660);
    let ends = winding_days(question, assign);
    let draws = draws(question, assign, &ends);
    let spools: Vec<Depletion> = question.spools.iter().map(|s| depletion(question, s, &draws, days)).collect();
    Outlook { wires: by_wire(question, &spools, &draws, days), spools, short: short(question, &draws, refused) }
}

impl Plan {
    /// The outlook of this plan over a number of days.
    pub fn outlook(&self, question: &Question, days: u32) -> Outlook {
        // A job that only lacks the winder's time does not run short of wire.
        let for_wire = self.refused.iter().filter(|r| !matches!(r.reason, Reason::NoTime { .. }));
        let refused: Vec<String> = for_wire.map(|r| r.job.clone()).collect();
        outlook(question, &self.assign, &refused, days)
    }
}

/// Length drawn for one job from one spool.
struct Draw<'a> {
    job: &'a Job,
    day: i32,
    length: f64,
}

/// By spool, in winding order.
type Draws<'a> = BTreeMap<&'a str, Vec<Draw<'a>>>;

/// Jobs of the plan in winding order with the day on which each ends.
fn winding_days<'a>(question: &'a Question, assign: &[Assigned]) -> Vec<(&'a Job, i32)> {
    let planned = |j: &&Job| j.started_coils() > 0 || assign.iter().any(|a| a.job == j.id);
    let mut order: Vec<&Job> = question.jobs.iter().filter(planned).collect();
    order.sort_by_key(|j| (j.started_coils() == 0, j.due_by().unwrap_or(i32::MAX), std::cmp::Reverse(j.priority)));
    let mut minutes = 0.0;
    order
        .into_iter()
        .map(|job| {
            minutes += job.minutes;
            let day = match question.minutes_per_day {
                Some(per_day) if per_day > 0.0 => libm::ceil(minutes / per_day).clamp(1.0, 1e9) as i32,
                _ => job.due_by().unwrap_or(1),
            };
            (job, day)
        })
        .collect()
}

fn draws<'a>(question: &'a Question, assign: &[Assigned], ends: &[(&'a Job, i32)]) -> Draws<'a> {
    let mut draws: Draws = BTreeMap::new();
    for &(job, day) in ends {
        let mut coils: BTreeMap<&str, u32> = BTreeMap::new();
        for a in assign.iter().filter(|a| a.job == job.id) {
            coils.insert(&a.spool, a.coils);
        }
        if coils.is_empty() {
            coils.extend(job.started.iter().map(|(s, &n)| (s.as_str(), n)));
        }
        for spool in &question.spools {
            let Some(&n) = coils.get(spool.id.as_str()) else { continue };
            let coil = job.need_on(&spool.wire).map_or(0.0, |need| need.total().m());
            draws.entry(&spool.id).or_default().push(Draw { job, day, length: coil * f64::from(n) });
        }
    }
    draws
}

fn drawn(draws: &Draws, spool: &Spool, day: i32) -> f64 {
    let of = draws.get(spool.id.as_str());
    of.into_iter().flatten().filter(|d| d.day <= day).map(|d| d.length).sum()
}

fn depletion(question: &Question, spool: &Spool, draws: &Draws, days: i32) -> Depletion {
    let level = |day: i32| {
        let drawn = drawn(draws, spool, day);
        let left = Measured::new(
            Length::from_m((spool.left.value.m() - drawn).max(0.0)),
            Length::from_m(libm::hypot(spool.left.u.m(), spool.draw_doubt * drawn)),
        );
        Level { day, left, usable: usable(question, spool, drawn) }
    };
    Depletion { name: spool.id.clone(), days: (0..=days).map(level).collect() }
}

/// Whole smallest usual coils that are safe beside what is drawn and promised.
pub(crate) fn usable(question: &Question, spool: &Spool, drawn: f64) -> Length {
    let coil = question.smallest_coil.get(&spool.wire).map_or(0, |&l| mm_up(l));
    if spool.held {
        return Length::ZERO;
    }
    let safe = mm_down(spool.safe_length(question.risk.map(|risk| 1.0 - risk)));
    let room = (safe - mm_up(spool.promised) - mm_up(Length::from_m(drawn))).max(0);
    let whole = if coil > 0 { room / coil * coil } else { room };
    Length::from_m(whole as f64 / 1000.0)
}

fn by_wire(question: &Question, spools: &[Depletion], draws: &Draws, days: i32) -> Vec<Depletion> {
    let mut wires: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (i, spool) in question.spools.iter().enumerate() {
        wires.entry(&spool.wire).or_default().push(i);
    }
    let sum = |of: &[usize], day: i32| {
        let at = |i: &usize| spools.get(*i).and_then(|d| d.days.get(day as usize));
        let (mut left, mut usable, mut apart, mut common) = (0.0, 0.0, 0.0, 0.0);
        for (i, level) in of.iter().filter_map(|i| Some((*i, at(i)?))) {
            let spool = &question.spools[i];
            let draw = spool.draw_doubt * drawn(draws, spool, day);
            left += level.left.value.m();
            usable += level.usable.m();
            apart += spool.left.u.m() * spool.left.u.m() + (1.0 - question.common_share) * draw * draw;
            common += libm::sqrt(question.common_share) * draw;
        }
        let u = libm::sqrt(apart + common * common);
        Level { day, left: Measured::new(Length::from_m(left), Length::from_m(u)), usable: Length::from_m(usable) }
    };
    wires
        .into_iter()
        .map(|(wire, of)| Depletion { name: wire.to_owned(), days: (0..=days).map(|d| sum(&of, d)).collect() })
        .collect()
}

/// Of each spool the first job that it runs short of with more than the allowed risk, and the refused jobs.
fn short(question: &Question, draws: &Draws, refused: &[String]) -> Vec<Short> {
    let allowed = question.risk.unwrap_or(0.5);
    let mut found: Vec<Short> = Vec::new();
    for spool in &question.spools {
        let mut total = spool.promised.m();
        for draw in draws.get(spool.id.as_str()).into_iter().flatten() {
            total += draw.length;
            let probability = 1.0 - spool.remaining().probability(Length::from_m(total));
            if spool.safe.is_none() && probability > allowed {
                found.push(Short {
                    job: draw.job.id.clone(),
                    wire: spool.wire.clone(),
                    spool: Some(spool.id.clone()),
                    day: Some(draw.day),
                    probability,
                });
                break;
            }
        }
    }
    for job in question.jobs.iter().filter(|j| refused.contains(&j.id)) {
        found.push(Short {
            job: job.id.clone(),
            wire: job.wire.clone(),
            spool: None,
            day: job.due_by(),
            probability: 1.0 - chance(question, draws, job),
        });
    }
    found.sort_by_key(|f| f.day.unwrap_or(i32::MAX));
    found
}

/// Probability that a refused job could be made beside everything that is planned: its coils go one by one where they
/// are likeliest to be there.
fn chance(question: &Question, draws: &Draws, job: &Job) -> f64 {
    let on_wire = |wire: &str| {
        let need = job.need_on(wire).map_or(0.0, |n| n.total().m());
        let spools: Vec<&Spool> = question.spools.iter().filter(|s| s.wire == wire && !s.held).collect();
        let mut totals: Vec<f64> = spools.iter().map(|s| s.promised.m() + drawn(draws, s, i32::MAX)).collect();
        let before: Vec<f64> = totals.clone();
        let p = |i: usize, total: f64| spools[i].remaining().probability(Length::from_m(total));
        for _ in 0..job.coils.min(1000) {
            let best = (0..spools.len()).max_by(|&a, &b| p(a, totals[a] + need).total_cmp(&p(b, totals[b] + need)));
            match best {
                Some(i) => totals[i] += need,
                None => return 0.0,
            }
        }
        (0..spools.len()).filter(|&i| totals[i] > before[i]).map(|i| p(i, totals[i])).product()
    };
    let accepted = std::iter::once(&job.wire).chain(job.alternates.iter().map(|a| &a.wire));
    accepted.map(|w| on_wire(w)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Effort, plan};
    use crate::question::Need;

    fn question() -> Question {
        let spool = |id: &str, mean: f64, sd: f64| Spool {
            draw_doubt: 0.01,
            ..Spool::new(id, "A", Measured::new(Length::from_m(mean), Length::from_m(sd)))
        };
        let job = |id: &str, coils: u32, net: f64, due: i32| Job {
            due_day: Some(due),
            minutes: 60.0,
            ..Job::new(id, "A", coils, Need { net: Length::from_m(net), ..Need::default() }, 3)
        };
        Question {
            spools: vec![spool("s1", 100.0, 0.3), spool("s2", 30.0, 0.3)],
            jobs: vec![job("J1", 2, 20.0, 2), job("J2", 1, 25.0, 4), job("J3", 1, 90.0, 5)],
            smallest_coil: [("A".to_owned(), Length::from_m(12.0))].into(),
            risk: Some(0.02),
            minutes_per_day: Some(60.0),
            ..Question::default()
        }
    }

    #[test]
    fn the_doubt_widens_with_what_is_drawn() {
        let q = question();
        let plan = plan(&q, Effort::default(), &|| true).unwrap();
        let view = plan.outlook(&q, 3);
        for spool in view.spools {
            for pair in spool.days.windows(2) {
                assert!(pair[1].left.value <= pair[0].left.value && pair[1].left.u >= pair[0].left.u);
                assert!(pair[1].usable <= pair[1].left.value);
            }
        }
    }

    #[test]
    fn usable_is_whole_usual_coils_and_less_than_what_is_left() {
        let q = question();
        let view = outlook(&q, &[], &[], 0);
        // 30 m ± 0.3 m: two coils of 12 m are safe, the rest of 6 m makes none.
        assert_eq!(view.spools[1].days[0].usable, Length::from_m(24.0));
        assert_eq!(view.wires[0].days[0].left.value, Length::from_m(130.0));
        assert!((view.wires[0].days[0].left.u.m() - 0.3 * 2f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn the_refused_job_is_the_first_to_run_short() {
        let q = question();
        let plan = plan(&q, Effort::default(), &|| true).unwrap();
        assert_eq!(plan.value, 6, "{plan:?}");
        let view = plan.outlook(&q, 7);
        let first = &view.short[0];
        assert_eq!((first.job.as_str(), first.wire.as_str(), first.day), ("J3", "A", Some(5)));
        assert!(first.probability > 0.9, "{first:?}");
    }

    #[test]
    fn an_overdrawn_spool_names_the_job_that_tips_it() {
        let q = question();
        let assign = |job: &str, coils| Assigned { job: job.into(), wire: "A".into(), spool: "s2".into(), coils };
        let view = outlook(&q, &[assign("J1", 1), assign("J2", 1)], &[], 7);
        let first = &view.short[0];
        assert_eq!((first.job.as_str(), first.spool.as_deref(), first.day), ("J2", Some("s2"), Some(2))); // the second hour of two
        assert!(first.probability > 0.99);
    }
}
