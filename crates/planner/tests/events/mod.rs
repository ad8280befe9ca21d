//! A shop's day as a seeded stream of facts (weighings, jobs opened, jobs cancelled), and a check of plans that shares
//! no line with the planner.

use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Assigned, Job, Question};
use std::collections::BTreeMap;

/// A stream of numbers of its own.
pub struct Dice(pub u64);

impl Dice {
    /// A number from 0 up to 1.
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// A whole number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// A draw from the standard normal law, by the sum of twelve.
    #[allow(dead_code, reason = "not every target throws lengths")]
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// Lets one thing happen: a spool weighed (six times in ten; every fifth of them is a tenth short of what was thought),
/// a job opened or one without started coils cancelled (two in ten each).
#[allow(dead_code, reason = "not every target replays a day")]
pub fn happen(question: &mut Question, dice: &mut Dice, number: usize) -> &'static str {
    match dice.below(10) {
        0..=5 => {
            let at = dice.below(question.spools.len());
            let factor = if dice.below(5) == 0 { 0.9 } else { 1.0 };
            let noise = dice.normal();
            let spool = &mut question.spools[at];
            let moved = Length::from_m(spool.left.u.m() * noise);
            spool.left = Measured::new((spool.left.value * factor + moved).max(Length::ZERO), spool.left.u);
            "weighing"
        }
        6 | 7 => {
            let like = question.jobs[dice.below(question.jobs.len())].clone();
            let coils = 1 + dice.below(8) as u32;
            let minutes = like.minutes / f64::from(like.coils) * f64::from(coils);
            let id = format!("new-{number}");
            question.jobs.push(Job { id, coils, minutes, started: BTreeMap::new(), ..like });
            "job"
        }
        _ => {
            let open: Vec<usize> =
                (0..question.jobs.len()).filter(|&j| question.jobs[j].started_coils() == 0).collect();
            if open.len() > 1 {
                question.jobs.remove(open[dice.below(open.len())]);
            }
            "cancellation"
        }
    }
}

/// What is wrong with a plan, by plain sums over the question: whole jobs, accepted wires, started coils in place, held
/// spools, a spool's mean length, the winder's minutes. The joint risk is not looked at here.
#[allow(dead_code, reason = "not every target checks plans")]
pub fn wrong(question: &Question, assign: &[Assigned]) -> Option<String> {
    let mut drawn: BTreeMap<&str, f64> = BTreeMap::new();
    let mut minutes: BTreeMap<i32, f64> = BTreeMap::new();
    for job in &question.jobs {
        let lies: Vec<&Assigned> = assign.iter().filter(|a| a.job == job.id).collect();
        let started: u32 = job.started.values().sum();
        let day = job.due_day.unwrap_or(i32::MAX).max(1);
        if lies.is_empty() && started == 0 {
            continue;
        }
        if !lies.is_empty() {
            *minutes.entry(day).or_default() += job.minutes;
            if lies.iter().map(|a| a.coils).sum::<u32>() != job.coils {
                return Some(format!("{}: not all its coils", job.id));
            }
        }
        if lies.iter().any(|a| a.wire != lies[0].wire) {
            return Some(format!("{}: two wires", job.id));
        }
        for (spool, n) in &job.started {
            let there = lies.iter().find(|a| a.spool == *spool).map_or(0, |a| a.coils);
            if !lies.is_empty() && there < *n {
                return Some(format!("{}: started coils moved off {spool}", job.id));
            }
        }
        for spool in &question.spools {
            let n = lies.iter().filter(|a| a.spool == spool.id).map(|a| a.coils).sum::<u32>();
            let begun = job.started.get(&spool.id).copied().unwrap_or(0);
            if n == 0 && begun == 0 {
                continue;
            }
            let alternate = job.alternates.iter().find(|a| a.wire == spool.wire);
            let need = match (spool.wire == job.wire, alternate) {
                (true, _) => job.need,
                (false, Some(other)) => other.need.unwrap_or(job.need),
                (false, None) => return Some(format!("{}: wire {} was not accepted", job.id, spool.wire)),
            };
            if spool.held && n > begun {
                return Some(format!("{}: new coils on the held spool {}", job.id, spool.id));
            }
            let coil = need.net.m() + need.tails.m() + need.scrap.m();
            *drawn.entry(&spool.id).or_default() += coil * f64::from(n.max(begun));
        }
    }
    if let Some(lost) = assign.iter().find(|a| !question.jobs.iter().any(|j| j.id == a.job)) {
        return Some(format!("{}: no such job", lost.job));
    }
    for spool in &question.spools {
        let added = assign.iter().any(|a| {
            let job = question.jobs.iter().find(|j| j.id == a.job);
            let begun = job.and_then(|j| j.started.get(&spool.id)).copied().unwrap_or(0);
            a.spool == spool.id && a.coils > begun
        });
        let most = spool.safe.unwrap_or(spool.left.value).m();
        let drawn = drawn.get(spool.id.as_str()).copied().unwrap_or(0.0) + spool.promised.m();
        if added && drawn > most + 1e-6 {
            return Some(format!("{}: {drawn} m of {most} m", spool.id));
        }
    }
    let mut sum = 0.0;
    for (day, of_day) in minutes {
        sum += of_day;
        let granted: f64 = question
            .jobs
            .iter()
            .filter(|j| j.due_day.unwrap_or(i32::MAX).max(1) <= day)
            .filter(|j| j.started_coils() > 0)
            .map(|j| j.minutes)
            .sum();
        if day < i32::MAX && question.minutes_per_day.is_some_and(|m| sum > (m * f64::from(day)).max(granted) + 1e-3) {
            return Some(format!("day {day}: {sum} minutes"));
        }
    }
    None
}
