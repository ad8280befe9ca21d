//! Questions at the edge of sense: many jobs, equal everything, freezes that contradict each other, nothing at all.
//! Each is answered or refused; the number of times a search asks whether to go on is bounded, so none hangs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{
    Assigned, Depth, Effort, Job, Need, NoPlan, Question, Spool, WrongQuestion, check, plan, repair,
};
use std::cell::Cell;

fn metres(x: f64) -> Length {
    Length::from_m(x)
}

fn spool(id: usize, left: f64) -> Spool {
    Spool::new(&format!("s{id}"), "A", Measured::new(metres(left), metres(0.2)))
}

fn job(id: usize, coils: u32, net: f64) -> Job {
    Job::new(&format!("j{id}"), "A", coils, Need { net: metres(net), tails: metres(0.3), scrap: metres(0.1) }, 3)
}

fn question(spools: Vec<Spool>, jobs: Vec<Job>) -> Question {
    Question { spools, jobs, risk: Some(0.02), ..Question::default() }
}

/// A plan and a repair that hold, with at most `asked` questions whether to go on.
#[track_caller]
fn answered(q: &Question, effort: Effort, asked: u64) -> i64 {
    let count = Cell::new(0_u64);
    let go_on = || {
        count.set(count.get() + 1);
        count.get() < asked
    };
    let made = plan(q, effort, &go_on).unwrap();
    assert!(count.get() < asked, "asked {} times: the search does not end by itself", count.get());
    let mended = repair(q, Effort { explain: false, ..effort }, &|| true).unwrap();
    for plan in [&made, &mended] {
        assert_eq!(check(q, &plan.assign).faults, []);
        assert!(plan.value <= plan.bound);
    }
    made.value
}

const SHORT: Effort = Effort { rounds: 20, seed: 1, proof: Depth::Quick, explain: false };

#[test]
fn ten_thousand_jobs_are_planned_and_repaired() {
    let spools = (0..60).map(|i| spool(i, 20.0 + i as f64)).collect();
    let jobs = (0..10_000).map(|i| job(i, 1 + (i % 3) as u32, 4.0 + (i % 17) as f64)).collect();
    let value = answered(&question(spools, jobs), SHORT, 100_000);
    assert!(value > 0);
}

#[test]
fn equal_spools_and_equal_jobs_are_told_apart_by_order_and_name() {
    let spools = (0..20).map(|i| spool(i, 30.0)).collect();
    let jobs: Vec<Job> = (0..80).map(|i| job(i, 2, 6.0)).collect();
    let q = question(spools, jobs);
    let effort = Effort { rounds: 200, proof: Depth::Full, explain: true, ..SHORT };
    let value = answered(&q, effort, 10_000_000);
    // Four coils of 6.4 m on each of 20 spools with 30 m: 40 jobs of two, worth 3 each.
    assert_eq!(value, 120);
    let (once, again) = (plan(&q, effort, &|| true).unwrap(), plan(&q, effort, &|| true).unwrap());
    assert_eq!(once, again);
}

#[test]
fn nothing_at_all_is_an_empty_plan() {
    let full = Effort { rounds: 100, proof: Depth::Full, explain: true, ..SHORT };
    assert_eq!(answered(&Question::default(), full, 1000), 0);
    assert_eq!(answered(&question(vec![spool(0, 30.0)], Vec::new()), full, 1000), 0);
    let q = question(Vec::new(), vec![job(0, 1, 5.0)]);
    assert_eq!(answered(&q, full, 1000), 0);
    assert_eq!(plan(&q, full, &|| true).unwrap().refused.len(), 1);
}

#[test]
fn freezes_that_contradict_each_other_are_answered_or_refused() {
    // More is started than the spool holds, and it is held; a second job is frozen onto the same end.
    let mut q =
        question(vec![Spool { held: true, ..spool(0, 10.0) }, spool(1, 40.0)], vec![job(0, 3, 8.0), job(1, 2, 7.0)]);
    q.jobs[0].started.insert("s0".into(), 2);
    q.jobs[1].started.insert("s0".into(), 1);
    q.jobs[1].matched_set = true;
    q.jobs[1].only_from = Some("s1".into());
    answered(&q, Effort { rounds: 100, proof: Depth::Full, explain: true, ..SHORT }, 100_000);
    // The plan in force says the same coils thrice, on spools held or gone.
    let line = |spool: &str, coils| Assigned { job: "j0".into(), wire: "A".into(), spool: spool.into(), coils };
    q.incumbent = vec![line("s0", 3), line("s1", 3), line("s9", 3)];
    answered(&q, SHORT, 100_000);
    // More started than the job has coils: refused by name.
    q.jobs[0].started.insert("s1".into(), 2);
    let refused = plan(&q, SHORT, &|| true).unwrap_err();
    let named = WrongQuestion::TooManyStarted { job: "j0".into(), started: 4, coils: 3 };
    assert_eq!(refused, NoPlan::Wrong(named));
}

#[test]
fn a_spool_that_owes_more_than_it_has_gives_nothing() {
    let owing = Spool { promised: metres(50.0), ..spool(0, 20.0) };
    let doubtful = Spool { left: Measured::new(metres(5.0), metres(40.0)), ..spool(1, 5.0) };
    let q = question(vec![owing, doubtful], vec![job(0, 1, 3.0)]);
    assert_eq!(answered(&q, Effort { rounds: 100, proof: Depth::Full, explain: true, ..SHORT }, 100_000), 0);
    let below_nothing = question(vec![spool(0, -3.0)], vec![job(0, 1, 3.0)]);
    match plan(&below_nothing, SHORT, &|| true) {
        Ok(plan) => assert_eq!(plan.value, 0),
        Err(error) => assert!(error.to_string().contains("allowed"), "{error}"),
    }
}
