//! What a plan costs as the shop grows: one made shelf of a number of coils, planned quickly, planned with a full proof and
//! repaired; time on a core for each and the memory of the whole run at its peak, as one line of JSON.
//!
//! There is a spool for ten coils and a job for five or six; a tenth more coils than the shelf can give. By default a wire
//! has 50 spools, so that wires grow in number and not in size, and every fifth job accepts a second wire; with
//! `--one-wire` all is of one wire.
//!
//! `cargo run --release -p coilwright-planner --example growth -- COILS [--one-wire] [--seed N]`

#![allow(clippy::disallowed_methods, clippy::disallowed_types, reason = "an example times itself")]

#[path = "cost/mod.rs"]
mod cost;

use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Alternate, Assigned, Depth, Effort, Job, Need, Question, Spool, plan, repair};

const USAGE: &str = "growth COILS [--one-wire] [--seed N]";

/// How often the repair is done.
const REPAIRS: u32 = 50;

/// Spools of one wire, and kinds of coil that are wound of it.
const SPOOLS_OF_WIRE: usize = 50;
const KINDS: usize = 10;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (mut coils, mut one_wire, mut seed) = (None, false, 1);
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--one-wire" => one_wire = true,
            "--seed" => seed = words.next().ok_or(USAGE)?.parse()?,
            _ if coils.is_none() => coils = Some(word.parse::<usize>()?),
            _ => return Err(USAGE.into()),
        }
    }
    let coils = coils.ok_or(USAGE)?;
    let mut question = shelf(coils, one_wire, seed);
    let effort = Effort::default();
    let quick = timed(|| plan(&question, Effort { explain: false, ..effort }, &|| true))?;
    let told = timed(|| plan(&question, effort, &|| true))?;
    let full = timed(|| plan(&question, Effort { explain: false, proof: Depth::Full, ..effort }, &|| true))?;
    question.incumbent = told.0.assign;
    shorten(&mut question);
    // The clock ticks in milliseconds: a repair is done many times over.
    let mend = || repair(&question, Effort { explain: false, ..effort }, &|| true);
    let mended = timed(|| (1..REPAIRS).try_fold(mend()?, |_, _| mend()))?;
    let line = serde_json::json!({
        "coils": coils,
        "spools": question.spools.len(),
        "jobs": question.jobs.len(),
        "seed": seed,
        "cpu_milliseconds": {"quick": quick.1, "quick_with_reasons": told.1, "full": full.1, "repair": mended.1 / f64::from(REPAIRS)},
        "gap": {"quick": quick.0.gap, "full": full.0.gap},
        "changes": mended.0.changes,
        "peak_mib": cost::peak_mib(),
    });
    println!("{line}");
    Ok(())
}

fn timed<T, E>(work: impl Fn() -> Result<T, E>) -> Result<(T, f64), E> {
    let before = cost::cpu_milliseconds();
    let answer = work()?;
    Ok((answer, cost::cpu_milliseconds() - before))
}

/// The fullest spool of the plan loses a tenth.
fn shorten(question: &mut Question) {
    let load =
        |spool: &str| question.incumbent.iter().filter(|a: &&Assigned| a.spool == spool).map(|a| a.coils).sum::<u32>();
    let most = (0..question.spools.len()).max_by_key(|&i| load(&question.spools[i].id));
    if let Some(spool) = most {
        let left = question.spools[spool].left;
        question.spools[spool].left = Measured::new(left.value * 0.9, left.u);
    }
}

fn shelf(coils: usize, one_wire: bool, seed: u64) -> Question {
    let mut state = seed;
    let mut below = |n: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) as usize) % n.max(1)
    };
    let metres = |m: f64| Length::from_m(m);
    let spools = (coils / 10).max(1);
    let wires = if one_wire { 1 } else { spools.div_ceil(SPOOLS_OF_WIRE) };
    let wire = |n: usize| format!("w{n:03}");
    let kinds: Vec<f64> = (0..wires * KINDS).map(|_| 8.0 + below(3000) as f64 / 100.0).collect();
    let mut question = Question { risk: Some(0.02), minutes_per_day: Some(coils as f64 * 0.4), ..Question::default() };
    let (mut made, mut needed) = (0, 0.0);
    while made < coils {
        let n = (1 + below(10)).min(coils - made);
        let of = below(wires);
        let net = kinds[of * KINDS + below(KINDS)];
        let id = format!("J{:05}", question.jobs.len());
        let mut job =
            Job::new(&id, &wire(of), n as u32, Need { net: metres(net), tails: metres(0.4), scrap: metres(0.2) }, 1);
        job.priority = 1 + below(20) as u32;
        job.due_day = Some(1 + below(30) as i32);
        job.minutes = 10.0 * n as f64;
        if wires > 1 && below(5) == 0 {
            job.alternates.push(Alternate { wire: wire((of + 1) % wires), penalty: 1, need: None });
        }
        needed += (net + 0.6) * n as f64;
        made += n;
        question.jobs.push(job);
    }
    let parts: Vec<f64> = (0..spools).map(|_| 0.1 + below(1000) as f64 / 400.0).collect();
    let share = needed / 1.1 / parts.iter().sum::<f64>();
    for (i, part) in parts.iter().enumerate() {
        let left = Measured::new(metres(part * share), metres(1.5));
        let mut spool = Spool::new(&format!("S{i:05}"), &wire(i % wires), left);
        spool.draw_doubt = 0.006;
        spool.age_days = below(1000) as u32;
        question.spools.push(spool);
    }
    question.smallest_coil = (0..wires).map(|n| (wire(n), metres(8.6))).collect();
    question
}
