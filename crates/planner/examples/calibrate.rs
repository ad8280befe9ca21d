//! Holds the promised risk against thrown lengths: the planner's plan beside first-fit by eye and first-fit with care.
//!
//! What is on a spool and what is drawn from it are thrown from the law that the spool states (`Spool::remaining`), the
//! part of a draw that all spools have in common too: this checks the planner's arithmetic, not whether a real balance
//! keeps to what it states. First-fit takes jobs as due and spools as they stand on the shelf, and keeps to the winder's
//! hours. By eye it counts the wire of the winding alone against the mean length; with care tails and scrap too, and leaves
//! a twentieth of every spool. A coil is lost when the wire ends in it; those after it on that spool are not begun.
//!
//! `cargo run --release -p coilwright-planner --example calibrate -- FILE... [--throws N] [--seed N] [--rounds N] [--share S]`

#![allow(clippy::disallowed_methods, clippy::disallowed_types, reason = "an example reads files")]

#[path = "../tests/read/mod.rs"]
mod read;

use coilwright_core::beta::share_quantile;
use coilwright_planner::{Assigned, Effort, Job, Question, Spool, plan};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

const USAGE: &str = "calibrate FILE... [--throws N] [--seed N] [--rounds N] [--share S]";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (mut paths, mut throws, mut seed, mut share) = (Vec::new(), 40_000_u32, 1_u64, 0.0);
    let mut effort = Effort { explain: false, ..Effort::default() };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--throws" => throws = words.next().ok_or(USAGE)?.parse()?,
            "--seed" => seed = words.next().ok_or(USAGE)?.parse()?,
            "--rounds" => effort.rounds = words.next().ok_or(USAGE)?.parse()?,
            "--share" => share = words.next().ok_or(USAGE)?.parse()?,
            _ => paths.push(word),
        }
    }
    println!("{throws} throws, seed {seed}, {} rounds, common share {share}", effort.rounds);
    println!(
        "| instance | promised | computed | observed (95 %) | worth done: plan, care, eye | coils lost: plan, care, eye |"
    );
    for path in paths {
        let (mut question, file) = read::read(&std::fs::read_to_string(path)?)?;
        question.spools.iter_mut().for_each(|s| s.safe = None);
        question.common_share = share;
        let made = plan(&question, effort, &|| true)?;
        let ways = [made.assign, first_fit(&question, true), first_fit(&question, false)];
        let [planned, careful, eye] = ways.map(|assign| thrown(&question, &assign, throws, seed));
        let (low, high) = interval(planned.short, throws);
        println!(
            "| {} | {:.2} % | {:.3} % | {:.3} % ({:.3} to {:.3}){} | {:.1}, {:.1}, {:.1} | {:.4}, {:.3}, {:.2} |",
            file.name,
            100.0 * question.risk.unwrap_or(0.0),
            100.0 * made.risk.computed,
            100.0 * f64::from(planned.short) / f64::from(throws.max(1)),
            100.0 * low,
            100.0 * high,
            if low > question.risk.unwrap_or(0.0) { " **over**" } else { "" },
            planned.worth,
            careful.worth,
            eye.worth,
            planned.lost,
            careful.lost,
            eye.lost,
        );
    }
    Ok(())
}

/// The exact interval of a share that was met `met` times in `of`: no share outside it would give so many or so few with
/// 2.5 % or more.
///
/// # Sources
/// C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404; cited from memory.
fn interval(met: u32, of: u32) -> (f64, f64) {
    let (k, n) = (f64::from(met), f64::from(of));
    let low = if met == 0 { 0.0 } else { share_quantile(0.025, k, n - k + 1.0) };
    let high = if met == of { 1.0 } else { share_quantile(0.975, k + 1.0, n - k) };
    (low, high)
}

/// First-fit: each job whole, on the first spools of one accepted wire that seem to hold it, in the winder's hours.
fn first_fit(question: &Question, careful: bool) -> Vec<Assigned> {
    let margin = if careful { 0.95 } else { 1.0 };
    let seems = |job: &Job, wire: &str| {
        let need = job.need_on(wire).unwrap_or_default();
        if careful { need.total().m() } else { need.net.m() }
    };
    let mut left: Vec<f64> = question.spools.iter().map(|s| s.left.value.m() * margin - s.promised.m()).collect();
    let mut jobs: Vec<&Job> = question.jobs.iter().collect();
    jobs.sort_by_key(|j| (j.started_coils() == 0, j.due_by()));
    for (i, spool) in question.spools.iter().enumerate() {
        for job in &jobs {
            let begun = f64::from(job.started.get(&spool.id).copied().unwrap_or(0));
            left[i] -= begun * seems(job, &spool.wire);
        }
    }
    let mut minutes: BTreeMap<i32, f64> = jobs.iter().filter_map(|j| Some((j.due_by()?, 0.0))).collect();
    let mut assign = Vec::new();
    for job in jobs {
        let due = job.due_by().unwrap_or(i32::MAX);
        let late =
            |day: i32, taken: f64| question.minutes_per_day.is_some_and(|m| taken + job.minutes > m * f64::from(day));
        if job.started_coils() == 0 && minutes.range(due..).any(|(&day, &taken)| late(day, taken)) {
            continue;
        }
        let begun_on = question.spools.iter().find(|s| job.started.contains_key(&s.id)).map(|s| s.wire.as_str());
        let accepted = std::iter::once(job.wire.as_str()).chain(job.alternates.iter().map(|a| a.wire.as_str()));
        for wire in accepted.filter(|w| begun_on.is_none_or(|on| on == *w)) {
            let (mut rest, mut lies) = (job.coils - job.started_coils(), Vec::new());
            for (i, spool) in question.spools.iter().enumerate().filter(|(_, s)| s.wire == wire) {
                let room = if spool.held { 0.0 } else { left[i] };
                let coils = rest.min((room / seems(job, wire)).max(0.0) as u32);
                rest -= coils;
                lies.push((i, coils));
            }
            if rest > 0 {
                continue;
            }
            minutes.range_mut(due..).for_each(|(_, taken)| *taken += job.minutes);
            for (i, coils) in lies {
                left[i] -= seems(job, wire) * f64::from(coils);
                let spool = question.spools[i].id.clone();
                let coils = coils + job.started.get(&spool).copied().unwrap_or(0);
                if coils > 0 {
                    assign.push(Assigned { job: job.id.clone(), wire: wire.to_owned(), spool, coils });
                }
            }
            break;
        }
    }
    assign
}

/// What came of a plan over all throws.
struct Came {
    /// Throws in which any spool ran short.
    short: u32,
    /// Coils lost in a throw, on average.
    lost: f64,
    /// Worth of the jobs that got all their coils, on average.
    worth: f64,
}

/// Winds a plan many times over, each spool's coils by due date and worth, with thrown lengths.
fn thrown(question: &Question, assign: &[Assigned], throws: u32, seed: u64) -> Came {
    let worth = |j: usize| {
        let wire = assign.iter().find(|a| a.job == question.jobs[j].id).map(|a| a.wire.as_str());
        wire.and_then(|w| question.jobs[j].worth_on(w)).unwrap_or(0) as f64
    };
    let worths: Vec<f64> = (0..question.jobs.len()).map(worth).collect();
    let loads: Vec<(&Spool, Vec<(usize, f64)>)> =
        question.spools.iter().map(|s| (s, coils_on(question, assign, s))).filter(|(_, c)| !c.is_empty()).collect();
    let (own, common) = ((1.0 - question.common_share).sqrt(), question.common_share.sqrt());
    let mut dice = Dice(seed);
    let mut came = Came { short: 0, lost: 0.0, worth: 0.0 };
    for _ in 0..throws {
        let shared = dice.normal();
        let mut missed = vec![false; question.jobs.len()];
        let mut lost = 0;
        for (spool, coils) in &loads {
            let digit = spool.half_digit.m() * (2.0 * dice.unit() - 1.0);
            let has = spool.left.value.m() + spool.left.u.m() * dice.normal() + digit;
            let stretch = 1.0 + spool.draw_doubt * (common * shared + own * dice.normal());
            let mut used = spool.promised.m() * stretch;
            let mut ended = false;
            for &(job, coil) in coils {
                used += coil * stretch;
                if used > has {
                    lost += u32::from(!ended);
                    ended = true;
                    missed[job] = true;
                }
            }
        }
        came.short += u32::from(lost > 0);
        came.lost += f64::from(lost);
        came.worth += worths.iter().zip(&missed).filter(|(_, missed)| !**missed).map(|(w, _)| w).sum::<f64>();
    }
    let throws = f64::from(throws.max(1));
    Came { lost: came.lost / throws, worth: came.worth / throws, ..came }
}

/// Job and need of every coil on a spool, in the order in which they are wound: begun ones, then as due, then by worth.
fn coils_on(question: &Question, assign: &[Assigned], spool: &Spool) -> Vec<(usize, f64)> {
    let mut coils = Vec::new();
    for (j, job) in question.jobs.iter().enumerate() {
        let begun = job.started.get(&spool.id).copied().unwrap_or(0);
        let planned = assign.iter().find(|a| a.job == job.id && a.spool == spool.id).map_or(0, |a| a.coils);
        let need = job.need_on(&spool.wire).unwrap_or_default().total().m();
        let due = job.due_by().unwrap_or(i32::MAX);
        for n in 0..planned.max(begun) {
            coils.push(((n >= begun, due, u32::MAX - job.priority, j), need));
        }
    }
    coils.sort_by_key(|(order, _)| *order);
    coils.into_iter().map(|((.., j), need)| (j, need)).collect()
}

/// Numbers of its own: none of the planner's arithmetic is used to check it.
///
/// # Sources
/// Mixing: G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014. Normal draws: G. E. P. Box, M. E. Muller, Annals of Mathematical
/// Statistics 29 (1958) 610. Both from memory.
struct Dice(u64);

impl Dice {
    /// A number above 0 and up to 1.
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut x = self.0;
        x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((x ^ (x >> 31)) >> 11) + 1) as f64 / 9_007_199_254_740_992.0
    }

    fn normal(&mut self) -> f64 {
        libm::sqrt(-2.0 * libm::log(self.unit())) * libm::cos(TAU * self.unit())
    }
}
