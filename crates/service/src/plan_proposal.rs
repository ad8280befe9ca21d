//! What is proposed in place of the plan in force: shown by `plan.show`, taken by `plan.accept`.

use crate::plan_question::WORTH;
use crate::{plan_words, words};
use coilwright_planner::{Assigned, Effort, NoPlan, Plan, Question, plan, repair};
use coilwright_proto::plan::{PlanProposal, PlanRisk};
use std::collections::BTreeMap;

/// What may be taken in place of the plan in force, and what that is in words; none if nothing is better.
///
/// # Errors
/// As the planner's own.
pub fn proposed(
    asked: &Question,
    in_force: bool,
    go_on: &dyn Fn() -> bool,
) -> Result<Option<(Vec<Assigned>, String)>, NoPlan> {
    if !in_force {
        // As `plan.make` answers without params.
        let made = plan(asked, Effort::default(), go_on)?;
        let done = (made.assign, "The first plan was taken, as `plan make` made it.".to_owned());
        return Ok(Some(done).filter(|(assign, _)| !assign.is_empty()));
    }
    let mended = repair(asked, Effort { explain: false, ..Effort::default() }, go_on)?;
    let proposal = proposal(asked.clone(), &mended, go_on)?;
    Ok(match (proposal, mended.changes) {
        (Some(p), _) => {
            let gained = gained(p.gain, p.stranded_less_m.quantity().m(), p.spools_less);
            let assign = p.assign.into_iter().map(plan_words::planned).collect();
            Some((assign, format!("The proposed plan was taken: {gained}, with {}.", in_moves(p.moves))))
        }
        (None, 0) => None,
        (None, n) => {
            let changes = if n == 1 { "1 change".to_owned() } else { format!("{n} changes") };
            let taken =
                format!("The plan was taken as it was repaired, with {changes} against the one accepted before.");
            Some((mended.assign, taken)).filter(|(assign, _)| !assign.is_empty())
        }
    })
}

/// A plan made anew, with as few moves against the repaired one as its gain allows; none if nothing is gained.
pub fn proposal(asked: Question, mended: &Plan, go_on: &dyn Fn() -> bool) -> Result<Option<PlanProposal>, NoPlan> {
    let asked = Question { incumbent: mended.assign.clone(), ..asked };
    let anew = plan(&asked, Effort { explain: false, ..Effort::default() }, go_on)?;
    let gain = anew.value - mended.value;
    let straighter = mended.stranded - anew.stranded;
    let fewer = mended.touched as i64 - anew.touched as i64;
    let better = (gain, (1000.0 * straighter.m()).round() as i64, fewer) > (0, 0, 0);
    let moves = moves(&mended.assign, &anew.assign);
    if !better || moves == 0 {
        return Ok(None);
    }
    let gained = gained(gain as f64 / WORTH, straighter.m(), fewer);
    let moved = in_moves(moves);
    Ok(Some(PlanProposal {
        text: format!(
            "A new plan is better: {gained}, with {moved} against the plan in force; `plan accept` takes it."
        ),
        gain: gain as f64 / WORTH,
        stranded_less_m: words::metres(straighter),
        spools_less: fewer,
        moves,
        risk_pct: PlanRisk {
            promised: 100.0 * anew.risk.promised.unwrap_or(0.0),
            computed: 100.0 * anew.risk.computed,
        },
        assign: anew.assign.into_iter().map(plan_words::assign).collect(),
    }))
}

fn gained(gain: f64, straighter_m: f64, fewer: i64) -> String {
    match (gain == 0.0, straighter_m >= 0.001) {
        (true, true) => format!("{straighter_m:.2} m less is stranded"),
        (true, false) if fewer == 1 => "one spool less is opened".into(),
        (true, false) => format!("{fewer} spools less are opened"),
        _ => format!("worth {gain} more"),
    }
}

fn in_moves(n: usize) -> String {
    if n == 1 { "1 move".to_owned() } else { format!("{n} moves") }
}

/// Job and spool pairs that differ, new ones among them.
fn moves(before: &[Assigned], after: &[Assigned]) -> usize {
    let pairs = |of: &[Assigned]| -> BTreeMap<(String, String), u32> {
        of.iter().map(|a| ((a.job.clone(), a.spool.clone()), a.coils)).collect()
    };
    let (old, new) = (pairs(before), pairs(after));
    let gone = old.iter().filter(|(at, n)| new.get(*at) != Some(n)).count();
    gone + new.keys().filter(|at| !old.contains_key(*at)).count()
}
