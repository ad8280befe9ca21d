//! Random questions, small enough to try everything: the plan holds, keeps its promise, and is the best there is.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod made;

use coilwright_planner::{Assigned, Depth, Effort, Proof, Question, check, plan, repair};
use made::{Dice, question};

/// Every plan there is, by trying every spool for every coil; the worth of the best that passes the check.
fn best_of_all(q: &Question) -> i64 {
    fn jobs(q: &Question, at: usize, assign: &mut Vec<Assigned>, best: &mut i64) {
        let Some(job) = q.jobs.get(at) else {
            let checked = check(q, assign);
            if checked.faults.is_empty() {
                *best = (*best).max(checked.value);
            }
            return;
        };
        jobs(q, at + 1, assign, best);
        coils(q, at, 0, job.coils, assign, best);
    }
    fn coils(q: &Question, at: usize, from: usize, rest: u32, assign: &mut Vec<Assigned>, best: &mut i64) {
        if rest == 0 {
            return jobs(q, at + 1, assign, best);
        }
        let Some(spool) = q.spools.get(from) else { return };
        coils(q, at, from + 1, rest, assign, best);
        let job = &q.jobs[at];
        let wire = assign.iter().find(|a| a.job == job.id).map_or(spool.wire.clone(), |a| a.wire.clone());
        if spool.wire != wire || job.need_on(&wire).is_none() {
            return;
        }
        for n in 1..=rest {
            assign.push(Assigned { job: job.id.clone(), wire: wire.clone(), spool: spool.id.clone(), coils: n });
            coils(q, at, from + 1, rest - n, assign, best);
            assign.pop();
        }
    }
    let mut best = 0;
    jobs(q, 0, &mut Vec::new(), &mut best);
    best
}

#[test]
fn the_exact_search_is_as_good_as_trying_everything() {
    for seed in 0..150 {
        let q = question(&mut Dice(seed), 4, 4);
        let plan = plan(&q, Effort { rounds: 60, proof: Depth::Full, ..Effort::default() }, &|| true).unwrap();
        assert_eq!(check(&q, &plan.assign).faults, [], "seed {seed}");
        let best = best_of_all(&q);
        assert_eq!(plan.value, best, "seed {seed}: {plan:#?} {q:#?}");
        assert_eq!((plan.bound, plan.proof), (best, Proof::Optimal), "seed {seed}");
        let quick = coilwright_planner::plan(&q, Effort { rounds: 10, ..Effort::default() }, &|| true).unwrap();
        assert!(quick.value <= best && best <= quick.bound, "seed {seed}: {} {best} {}", quick.value, quick.bound);
    }
}

#[test]
fn quick_plans_hold_and_never_exceed_their_bound() {
    for seed in 1000..1120 {
        let mut dice = Dice(seed);
        let q = question(&mut dice, 12, 20);
        let plan = plan(&q, Effort { rounds: 100, ..Effort::default() }, &|| true).unwrap();
        let checked = check(&q, &plan.assign);
        assert_eq!(checked.faults, [], "seed {seed}");
        assert_eq!((checked.value, checked.touched), (plan.value, plan.touched), "seed {seed}");
        assert!((checked.stranded.m() - plan.stranded.m()).abs() < 1e-9, "seed {seed}");
        assert!(plan.value <= plan.bound, "seed {seed}");
        if let Some(promised) = plan.risk.promised {
            assert!(plan.risk.computed <= promised, "seed {seed}: {:?}", plan.risk);
        }
        assert!(plan.refused.iter().all(|r| !r.sentence(coilwright_planner::PLAIN).is_empty()), "seed {seed}");
        assert_eq!(plan.refused.len() + done(&plan.assign), q.jobs.len(), "seed {seed}");
    }
}

#[test]
fn more_rounds_are_never_worse() {
    for seed in 2000..2040 {
        let q = question(&mut Dice(seed), 10, 16);
        let at = |rounds| plan(&q, Effort { rounds, explain: false, ..Effort::default() }, &|| true).unwrap().value;
        let (none, some) = (at(0), at(400));
        assert!(some >= none, "seed {seed}: {none} without a round, {some} with 400");
    }
}

/// A fact shortens one spool; the plan is repaired: it holds again, and little of it has changed.
#[test]
fn a_repaired_plan_holds_and_changes_little() {
    let mut changed = Vec::new();
    for seed in 3000..3080 {
        let mut dice = Dice(seed);
        let mut q = question(&mut dice, 10, 16);
        q.incumbent = plan(&q, Effort { rounds: 100, explain: false, ..Effort::default() }, &|| true).unwrap().assign;
        let same = repair(&q, Effort::default(), &|| true).unwrap();
        let pairs = |a: &[Assigned]| q.incumbent.iter().filter(|x| a.contains(x)).count();
        assert_eq!(pairs(&same.assign), q.incumbent.len(), "seed {seed}: an unhurt plan stays");
        if q.incumbent.is_empty() {
            continue;
        }
        let hurt = q.incumbent[dice.below(q.incumbent.len() as u64) as usize].spool.clone();
        for spool in q.spools.iter_mut().filter(|s| s.id == hurt) {
            spool.left.value = spool.left.value * 0.8;
        }
        let mended = repair(&q, Effort::default(), &|| true).unwrap();
        assert_eq!(check(&q, &mended.assign).faults, [], "seed {seed}");
        let anew = plan(&q, Effort { rounds: 0, explain: false, ..Effort::default() }, &|| true).unwrap();
        assert!(anew.value >= mended.value, "seed {seed}: {} anew, {} repaired", anew.value, mended.value);
        changed.push(mended.changes);
    }
    let mean = changed.iter().sum::<usize>() as f64 / changed.len() as f64;
    assert!(mean < 5.0, "{mean} changes on average, {changed:?}");
}

/// Coils are started from a valid plan, then the question is asked again: they are still where they were.
#[test]
fn started_coils_stay_and_their_jobs_are_done() {
    for seed in 4000..4080 {
        let mut dice = Dice(seed);
        let mut q = question(&mut dice, 8, 10);
        let first = plan(&q, Effort { rounds: 50, explain: false, ..Effort::default() }, &|| true).unwrap();
        for a in &first.assign {
            if dice.chance(60) {
                continue;
            }
            for job in q.jobs.iter_mut().filter(|j| j.id == a.job) {
                job.started.insert(a.spool.clone(), 1 + dice.below(u64::from(a.coils)) as u32);
            }
        }
        let again = plan(&q, Effort { rounds: 100, ..Effort::default() }, &|| true).unwrap();
        assert_eq!(check(&q, &again.assign).faults, [], "seed {seed}");
        for job in q.jobs.iter().filter(|j| j.started_coils() > 0) {
            assert!(again.assign.iter().any(|a| a.job == job.id), "seed {seed}: {} {again:#?} {q:#?}", job.id);
        }
    }
}

fn done(assign: &[Assigned]) -> usize {
    let mut jobs: Vec<&str> = assign.iter().map(|a| a.job.as_str()).collect();
    jobs.sort_unstable();
    jobs.dedup();
    jobs.len()
}

/// Coils started anywhere, on spools too short or held, and a plan in force that names what is not there.
#[test]
fn whatever_was_started_a_plan_is_answered_and_holds() {
    for seed in 7000..7200 {
        let mut dice = Dice(seed);
        let mut q = question(&mut dice, 6, 8);
        let spools: Vec<(String, String)> = q.spools.iter().map(|s| (s.id.clone(), s.wire.clone())).collect();
        for job in &mut q.jobs {
            let (spool, wire) = &spools[dice.below(spools.len() as u64) as usize];
            if dice.chance(50) && job.need_on(wire).is_some() {
                job.started.insert(spool.clone(), 1 + dice.below(u64::from(job.coils)) as u32);
            }
            let line = Assigned { job: job.id.clone(), wire: wire.clone(), spool: spool.clone(), coils: job.coils };
            q.incumbent.push(line);
        }
        q.incumbent.push(Assigned { job: "gone".into(), wire: "C".into(), spool: "s99".into(), coils: 3 });
        for made in [plan, repair] {
            let plan = made(&q, Effort { rounds: 60, ..Effort::default() }, &|| true).unwrap();
            assert_eq!(check(&q, &plan.assign).faults, [], "seed {seed}");
            assert_eq!(plan.refused.len() + done(&plan.assign), q.jobs.len(), "seed {seed}");
            assert!(plan.value <= plan.bound, "seed {seed}");
            plan.outlook(&q, 10);
        }
    }
}
