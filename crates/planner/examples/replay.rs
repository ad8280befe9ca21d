//! Replays a thousand seeded facts on a shop instance and repairs the plan in force after each: how long it takes, how
//! much changes, whether every plan holds. Each repair is done five times on the same question and the least time is
//! counted, so that what other programs take of the machine is not.
//!
//! `cargo run --release -p coilwright-planner --example replay -- FILE [--facts N] [--seed N]`

#![allow(clippy::disallowed_methods, clippy::disallowed_types, reason = "an example reads a file and times itself")]

#[path = "../tests/events/mod.rs"]
mod events;
#[path = "../tests/read/mod.rs"]
mod read;

use coilwright_planner::{Effort, NoPlan, Plan, Question, check, plan, repair};
use std::time::Instant;

const USAGE: &str = "replay FILE [--facts N] [--seed N]";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (mut path, mut facts, mut seed) = (None, 1000, 1);
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--facts" => facts = words.next().ok_or(USAGE)?.parse()?,
            "--seed" => seed = words.next().ok_or(USAGE)?.parse()?,
            _ if path.is_none() => path = Some(word),
            _ => return Err(USAGE.into()),
        }
    }
    let (mut question, file) = read::read(&std::fs::read_to_string(path.ok_or(USAGE)?)?)?;
    question.spools.iter_mut().for_each(|s| s.safe = None);
    let effort = Effort { explain: false, ..Effort::default() };
    question.incumbent = plan(&question, effort, &|| true)?.assign;
    let mut dice = events::Dice(seed);
    let (mut times, mut changes, mut faults) = (Vec::new(), Vec::new(), 0);
    for number in 0..facts {
        events::happen(&mut question, &mut dice, number);
        let (time, mended) = timed(&question, effort)?;
        times.push(time);
        let wrong = events::wrong(&question, &mended.assign);
        let checked = check(&question, &mended.assign).faults;
        faults += usize::from(wrong.is_some() || !checked.is_empty());
        changes.push(mended.changes);
        question.incumbent = mended.assign;
    }
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times.get(((times.len() as f64 * share) as usize).min(times.len().saturating_sub(1)));
    let line = serde_json::json!({
        "instance": file.name,
        "facts": facts,
        "seed": seed,
        "milliseconds": {"median": at(0.5), "p99": at(0.99), "most": at(1.0)},
        "changes": {
            "mean": changes.iter().sum::<usize>() as f64 / changes.len().max(1) as f64,
            "most": changes.iter().max(),
        },
        "plans_that_do_not_hold": faults,
    });
    println!("{line}");
    Ok(())
}

/// The repaired plan, and the least of five times in milliseconds.
fn timed(question: &Question, effort: Effort) -> Result<(f64, Plan), NoPlan> {
    let mut least = f64::INFINITY;
    let mut mended = repair(question, effort, &|| true)?;
    for _ in 0..5 {
        let start = Instant::now();
        mended = repair(question, effort, &|| true)?;
        least = least.min(start.elapsed().as_secs_f64() * 1000.0);
    }
    Ok((least, mended))
}
