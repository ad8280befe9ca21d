//! Solves one planning instance and prints the plan as one line of JSON.
//!
//! With `--explain` the reason for every refusal goes to standard error.
//! With `--joint` the safe lengths of the file are left aside and the promised risk is shared out over the plan.
//!
//! `cargo run --release -p coilwright-planner --example solve -- FILE [--rounds N] [--seed N] [--quick] [--joint] [--explain]`

#![allow(clippy::disallowed_methods, clippy::disallowed_types, reason = "an example reads a file and times itself")]

#[path = "cost/mod.rs"]
mod cost;
#[path = "../tests/read/mod.rs"]
mod read;

use coilwright_planner::{Depth, Effort, plan};
use std::time::Instant;

const USAGE: &str = "solve FILE [--rounds N] [--seed N] [--quick] [--joint] [--explain]";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut effort = Effort { rounds: 12_000, explain: false, proof: Depth::Full, ..Effort::default() };
    let mut path = None;
    let mut joint = false;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--rounds" => effort.rounds = words.next().ok_or(USAGE)?.parse()?,
            "--seed" => effort.seed = words.next().ok_or(USAGE)?.parse()?,
            "--explain" => effort.explain = true,
            "--joint" => joint = true,
            "--quick" => effort.proof = Depth::Quick,
            _ if path.is_none() => path = Some(word),
            _ => return Err(USAGE.into()),
        }
    }
    let text = std::fs::read_to_string(path.ok_or(USAGE)?)?;
    let (mut question, file) = read::read(&text)?;
    if joint {
        question.spools.iter_mut().for_each(|s| s.safe = None);
    }
    let start = Instant::now();
    let busy = cost::cpu_milliseconds();
    let plan = plan(&question, effort, &|| true)?;
    let milliseconds = start.elapsed().as_secs_f64() * 1000.0;
    let busy = cost::cpu_milliseconds() - busy;
    let assign: Vec<serde_json::Value> = plan
        .assign
        .iter()
        .map(|a| serde_json::json!({"job": a.job, "wire": a.wire, "spool": a.spool, "coils": a.coils}))
        .collect();
    let line = serde_json::json!({
        "instance": file.name,
        "value": plan.value,
        "bound": plan.bound,
        "proof": plan.proof.as_str(),
        "rounds": plan.rounds,
        "risk": plan.risk.computed,
        "milliseconds": milliseconds,
        "cpu_milliseconds": busy,
        "stranded_cm": (plan.stranded.m() * 100.0).round(),
        "spools_opened": plan.touched,
        "assign": assign,
    });
    println!("{line}");
    plan.refused.iter().for_each(|r| eprintln!("{}", r.sentence(coilwright_planner::PLAIN)));
    Ok(())
}
