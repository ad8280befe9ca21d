//! `plan.show`: the accepted plan, repaired to what is there now; and, if a new one would be better, that as a proposal.

use crate::app::App;
use crate::caller::Caller;
use crate::day;
use crate::patience::Patience;
use crate::plan_question::{Scope, WORTH, left_out, no_plan, question};
use crate::plan_words::{self, Ground};
use crate::words;
use coilwright_planner::{Assigned, Effort, NoPlan, Plan, Question, plan, repair};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::plan::{PlanAnswer, PlanProposal, PlanRisk, PlanShow};
use std::collections::BTreeMap;

pub fn answer(app: &App, caller: &Caller, asked: PlanShow) -> Result<PlanAnswer, RpcError> {
    let published = app.store.state();
    let state = &published.state;
    let Some((accepted_by, accepted)) = &state.shop().plan else {
        return Err(RpcError::new(code::NOT_FOUND, ErrorKind::Refused, "no plan was accepted yet")
            .next("make one with `plan make` and accept it with `plan accept`"));
    };
    let scope = Scope {
        as_of: day::as_of(state, asked.as_of.as_deref(), "/as_of")?,
        risk: accepted.promised_risk_pct / 100.0,
        wires: None,
        until: None,
    };
    let patience = Patience::of(app, caller);
    let asked = question(&app.catalog, state, &scope);
    let mended = repair(&asked, Effort::default(), &|| patience.go_on()).map_err(no_plan)?;
    let proposal = proposal(asked, &mended, &|| patience.go_on()).map_err(no_plan)?;
    let changes = mended.changes;
    let ground = Ground { catalog: &app.catalog, state, as_of: scope.as_of, seq: published.head.seq };
    let mut answer = plan_words::answer(ground, mended, left_out(state, &scope));
    answer.accepted_by = Some(*accepted_by);
    answer.changes = Some(changes);
    answer.proposal = proposal;
    Ok(answer)
}

/// A plan made anew, with as few moves against the repaired one as its gain allows; none if nothing is gained.
fn proposal(asked: Question, mended: &Plan, go_on: &dyn Fn() -> bool) -> Result<Option<PlanProposal>, NoPlan> {
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
    let gained = match (gain, straighter.m() >= 0.001) {
        (0, true) => format!("{:.2} m less is stranded", straighter.m()),
        (0, false) if fewer == 1 => "one spool less is opened".into(),
        (0, false) => format!("{fewer} spools less are opened"),
        _ => format!("worth {} more", gain as f64 / WORTH),
    };
    let moved = if moves == 1 { "1 move".to_owned() } else { format!("{moves} moves") };
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

/// Job and spool pairs that differ, new ones among them.
fn moves(before: &[Assigned], after: &[Assigned]) -> usize {
    let pairs = |of: &[Assigned]| -> BTreeMap<(String, String), u32> {
        of.iter().map(|a| ((a.job.clone(), a.spool.clone()), a.coils)).collect()
    };
    let (old, new) = (pairs(before), pairs(after));
    let gone = old.iter().filter(|(at, n)| new.get(*at) != Some(n)).count();
    gone + new.keys().filter(|at| !old.contains_key(*at)).count()
}
