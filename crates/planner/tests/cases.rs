//! Fourteen questions that can be solved by hand, each a trap for a plausible wrong answer.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods)]

mod read;

use coilwright_planner::{Effort, Plan, Proof, Question, Reason, Unlock, check, plan};
use read::File;
use serde_json::Value;
use std::collections::BTreeMap;

const CASES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/fixtures/planning/cases");

fn case(name: &str) -> (Question, File) {
    read::read(&std::fs::read_to_string(format!("{CASES}/{name}.json")).unwrap()).unwrap()
}

/// Plans a case and compares all that its file expects of every case.
#[track_caller]
fn solved(name: &str) -> (Question, Plan, Value) {
    let (question, file) = case(name);
    let plan = plan(&question, Effort::default(), &|| true).unwrap();
    let expect = file.expect;
    let checked = check(&question, &plan.assign);
    assert_eq!(checked.faults, [], "{name}");
    assert_eq!(checked.value, plan.value);
    assert!(plan.value <= plan.bound);
    assert_eq!(plan.value, expect["value"].as_i64().unwrap(), "{name}: {plan:#?}");
    let done: Vec<&str> = strings(&expect["done"]);
    let mut in_plan: Vec<&str> = plan.assign.iter().map(|a| a.job.as_str()).collect();
    in_plan.dedup();
    assert_eq!(in_plan, done, "{name}");
    let refused: Vec<&str> = plan.refused.iter().map(|r| r.job.as_str()).collect();
    let wanted: Vec<&str> =
        expect["refused"].as_array().unwrap().iter().map(|r| r.as_str().or(r["job"].as_str()).unwrap()).collect();
    assert_eq!(refused, wanted, "{name}");
    for (refused, wanted) in plan.refused.iter().zip(expect["refused"].as_array().unwrap()) {
        if let Some(reason) = wanted["reason"].as_str() {
            assert_eq!(refused.reason.as_str(), reason, "{name}: {refused:?}");
        }
    }
    for key in ["assign", "must_include"] {
        for (job, lies) in expect[key].as_object().into_iter().flatten() {
            for (spool, coils) in lies.as_object().unwrap() {
                let there = plan.assign.iter().find(|a| a.job == *job && a.spool == *spool).map(|a| a.coils);
                let (there, coils) = (there.map_or(0, u64::from), coils.as_u64().unwrap());
                let right = if key == "assign" { there == coils } else { there >= coils };
                assert!(right, "{name}: {:?}", plan.assign);
            }
        }
    }
    if let Some(touched) = expect["spools_touched"].as_u64() {
        assert_eq!(plan.touched as u64, touched, "{name}");
    }
    if let Some(useless) = expect["useless_remnant_m"].as_f64() {
        near(plan.stranded.m(), useless, 1e-9);
    }
    (question, plan, expect)
}

fn strings(value: &Value) -> Vec<&str> {
    value.as_array().unwrap().iter().map(|v| v.as_str().unwrap()).collect()
}

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
}

fn bought(plan: &Plan) -> (Vec<(&str, u32)>, u64) {
    let purchase = plan.purchase.as_ref().unwrap();
    (purchase.lines.iter().map(|l| (l.offer.as_str(), l.count)).collect(), purchase.cost)
}

#[test]
fn case_01_nothing_to_do_is_an_empty_plan_and_proved() {
    let (_, plan, _) = solved("01_zero_jobs");
    assert_eq!((plan.gap, plan.proof, plan.purchase), (0.0, Proof::Optimal, None));
}

#[test]
fn case_02_the_greedy_choice_is_wrong() {
    let (_, plan, _) = solved("02_greedy_is_wrong");
    assert_eq!(plan.proof, Proof::Optimal);
}

#[test]
fn case_03_best_fit_by_length_is_wrong() {
    let (question, plan, expect) = solved("03_best_fit_decreasing_is_wrong");
    let mut loads: BTreeMap<&str, f64> = BTreeMap::new();
    for a in &plan.assign {
        let need = question.jobs.iter().find(|j| j.id == a.job).unwrap().need.total().m();
        *loads.entry(&a.spool).or_default() += need * f64::from(a.coils);
    }
    for (spool, load) in expect["spool_loads"].as_object().unwrap() {
        near(loads[spool.as_str()], load.as_f64().unwrap(), 1e-9);
    }
}

#[test]
fn case_04_a_total_is_no_continuous_piece() {
    let (_, plan, _) = solved("04_total_enough_no_continuous_piece");
    let Reason::NoContinuousLength { longest, needed, shortfall } = &plan.refused[0].reason else { panic!() };
    near(longest.m(), 30.0, 1e-9);
    near(needed.m(), 40.0, 1e-9);
    near(shortfall.m(), 10.0, 1e-9);
    assert_eq!(bought(&plan), (vec![("offer-0", 1)], 1000));
    let [Unlock::Buy(buy)] = &plan.refused[0].unlock[..] else { panic!("{:?}", plan.refused[0].unlock) };
    assert_eq!(buy.cost, 1000);
}

#[test]
fn case_05_the_tails_tip_it() {
    let (_, plan, expect) = solved("05_tail_tips_it");
    let Reason::NotEnoughCoils { possible, needed, shortfall, piece, tails_tip_it } = plan.refused[0].reason else {
        panic!()
    };
    assert_eq!((possible, needed, tails_tip_it), (3, 4, true));
    near(shortfall.m(), expect["refused"][0]["shortfall_m"].as_f64().unwrap(), 1e-9);
    // One coil of 25.7 m is lacking (arithmetic).
    near(piece.m(), 25.7, 1e-9);
}

#[test]
fn case_06_the_shorter_but_surer_spool_is_taken() {
    let (_, plan, expect) = solved("06_weighing_uncertainty_tips_it");
    near(plan.risk.computed, expect["p_short"]["s2"].as_f64().unwrap(), 5e-9);
    near(1.0 - plan.spools[1].probability, plan.risk.computed, 1e-12);
}

#[test]
fn case_07_weighing_again_comes_before_buying() {
    let (_, plan, expect) = solved("07_reweigh_unlocks_before_buying");
    let Reason::Risk { p_short, allowed, .. } = &plan.refused[0].reason else { panic!() };
    near(*p_short, expect["refused"][0]["p_short"].as_f64().unwrap(), 5e-6);
    assert_eq!(*allowed, 0.02);
    let Unlock::Reweigh { spool, u_needed, .. } = &plan.refused[0].unlock[0] else { panic!() };
    assert_eq!(spool, "s1");
    near(u_needed.m(), expect["unlock"]["reweigh"]["sd_needed_m"].as_f64().unwrap(), 5e-5);
}

#[test]
fn case_08_a_held_spool_is_named() {
    let (_, plan, _) = solved("08_held_spool");
    assert!(matches!(&plan.refused[0].reason, Reason::Held { spools, .. } if *spools == ["s1"]));
    assert_eq!(plan.refused[0].unlock, [Unlock::Release { spools: vec!["s1".into()] }]);
}

#[test]
fn case_09_a_started_job_stays_where_it_is() {
    let (mut question, plan, expect) = solved("09_started_job_must_not_move");
    assert!(matches!(&plan.refused[0].reason, Reason::DisplacedByFrozen { by, .. } if *by == ["J1"]));
    question.jobs[0].started.clear();
    let free = coilwright_planner::plan(&question, Effort::default(), &|| true).unwrap();
    assert_eq!(free.value, expect["unfrozen_value"].as_i64().unwrap());
}

#[test]
fn case_10_another_wire_is_worth_its_penalty() {
    let (_, plan, _) = solved("10_substitute_wire_wins");
    assert_eq!(plan.proof, Proof::Optimal);
}

#[test]
fn case_11_one_purchase_unlocks_two_jobs() {
    let (_, plan, expect) = solved("11_one_purchase_unlocks_two");
    assert_eq!(bought(&plan), (vec![("offer-1", 1)], (expect["unlock"]["cost"].as_f64().unwrap() * 100.0) as u64));
    assert_eq!(plan.purchase.unwrap().jobs, strings(&expect["unlock"]["jobs"]));
}

#[test]
fn case_12_equals_keep_the_plan_in_force_and_else_the_older_spool() {
    let (mut question, plan, expect) = solved("12_equal_cost_tie_is_stable");
    assert_eq!(plan.changes as u64, expect["moves"].as_u64().unwrap());
    question.incumbent.clear();
    let fresh = coilwright_planner::plan(&question, Effort::default(), &|| true).unwrap();
    assert_eq!(fresh.assign[0].spool, "s1");
}

#[test]
fn case_13_a_useful_end_beats_the_tightest_fit() {
    solved("13_remnant_useful_beats_useless");
}

#[test]
fn case_14_the_risk_is_shared_by_the_plan() {
    let (_, plan, expect) = solved("14_risk_is_shared_by_the_plan");
    near(plan.risk.computed, expect["p_plan"].as_f64().unwrap(), 5e-7);
    let Reason::PlanRisk { with_it, allowed } = plan.refused[0].reason else { panic!() };
    near(with_it, expect["p_plan_both"].as_f64().unwrap(), 5e-7);
    assert_eq!(allowed, 0.02);
}

#[test]
fn every_case_file_has_its_test() {
    let source = include_str!("cases.rs");
    for entry in std::fs::read_dir(CASES).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        assert!(source.contains(&format!("solved(\"{name}\")")), "{name}");
    }
}
