//! `plan.show`: the accepted plan, repaired to what is there now; and, if a new one would be better, that as a proposal.

use crate::app::App;
use crate::caller::Caller;
use crate::day;
use crate::patience::Patience;
use crate::plan_proposal::proposal;
use crate::plan_question::{Scope, left_out, no_plan, question};
use crate::plan_words::{self, Ground};
use coilwright_planner::{Effort, repair};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::plan::{PlanAnswer, PlanShow};

pub fn answer(app: &App, caller: &Caller, asked: PlanShow) -> Result<PlanAnswer, RpcError> {
    let published = app.store.state();
    let state = &published.state;
    let Some((accepted_by, accepted)) = &state.shop().plan else {
        return Err(RpcError::new(code::NOT_FOUND, ErrorKind::Refused, "no plan was accepted yet")
            .next("see one with `plan make`; `plan accept` takes it"));
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
