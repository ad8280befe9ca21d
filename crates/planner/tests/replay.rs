//! A day of facts on a shop instance: after each the plan in force is repaired, holds, and has changed little.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods)]

mod events;
mod read;

use coilwright_planner::{Effort, check, plan, repair};

const SEED: u64 = 1;

#[test]
fn a_plan_repaired_after_every_fact_holds_and_changes_little() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/fixtures/planning/shop/shop_m03.json");
    let (mut question, _) = read::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    question.spools.iter_mut().for_each(|s| s.safe = None);
    let effort = Effort { rounds: 50, explain: false, ..Effort::default() };
    question.incumbent = plan(&question, effort, &|| true).unwrap().assign;
    let mut dice = events::Dice(SEED);
    let facts = 80;
    let mut changes = 0;
    for number in 0..facts {
        let fact = events::happen(&mut question, &mut dice, number);
        let mended = repair(&question, effort, &|| true).unwrap();
        assert_eq!(events::wrong(&question, &mended.assign), None, "seed {SEED}, fact {number}, a {fact}");
        assert_eq!(check(&question, &mended.assign).faults, [], "seed {SEED}, fact {number}, a {fact}");
        changes += mended.changes;
        question.incumbent = mended.assign;
    }
    assert!(changes <= 5 * facts, "seed {SEED}: {changes} changes in {facts} facts");
    // The check itself sees a plan that does not hold: a coil taken away, and a spool that gives nothing more.
    let mut less = question.incumbent.clone();
    less[0].coils += 1;
    assert!(events::wrong(&question, &less).is_some());
    let at = question.spools.iter().position(|s| s.id == question.incumbent[0].spool).unwrap();
    question.spools[at].held = true;
    assert!(events::wrong(&question, &question.incumbent).is_some());
}
