//! `plan.show`: the accepted plan, repaired to what is there now.

use crate::app::App;
use crate::plan_question::{Scope, question, unsound};
use crate::{day, plan_words};
use coilwright_planner::{Effort, repair};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::plan::{PlanAnswer, PlanShow};

pub fn answer(app: &App, asked: PlanShow) -> Result<PlanAnswer, RpcError> {
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
    let asked = question(&app.catalog, state, &scope);
    let mended = repair(&asked, Effort::default(), &|| !app.stopping())
        .map_err(|e| RpcError::new(code::INTERNAL, ErrorKind::Failed, e.to_string()))?;
    let changes = mended.changes;
    let mut answer = plan_words::answer(&app.catalog, mended, unsound(state, &scope), scope.as_of, published.head.seq);
    answer.accepted_by = Some(*accepted_by);
    answer.changes = Some(changes);
    Ok(answer)
}
