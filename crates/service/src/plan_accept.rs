//! `plan.accept`: a plan becomes the one that the shop goes by, if it still holds at this moment.

use crate::app::App;
use crate::caller::Caller;
use crate::plan_question::{Scope, WORTH, question};
use crate::writing::write;
use crate::{day, words};
use coilwright_planner::{Assigned as Planned, check};
use coilwright_proto::error::RpcError;
use coilwright_proto::plan::{PlanAccept, PlanAccepted, PlanRisk};
use coilwright_shop::decide::{AcceptPlan, accept_plan};
use coilwright_shop::fact::Assigned;
use serde_json::Value;
use std::sync::Arc;

pub fn answer(app: &App, caller: &Caller, asked: PlanAccept) -> Result<Value, RpcError> {
    let published = app.store.state();
    let risk_pct = asked.risk_pct.unwrap_or(published.state.figures().plan_risk_pct.value);
    let at = |i: usize, member: &str| format!("/assign/{i}/{member}");
    let assign = asked.assign.iter().enumerate().map(|(i, a)| {
        Ok(Assigned {
            job: words::job_id_at(&a.job, &at(i, "job"))?,
            wire: a.wire.clone(),
            spool: words::spool_id_at(&a.spool, &at(i, "spool"))?,
            coils: a.coils,
        })
    });
    let assign: Vec<Assigned> = assign.collect::<Result<_, RpcError>>()?;
    let planned: Vec<Planned> = asked
        .assign
        .iter()
        .map(|a| Planned { job: a.job.clone(), wire: a.wire.clone(), spool: a.spool.clone(), coils: a.coils })
        .collect();
    let scope = Scope { as_of: day::today(&published.state), risk: risk_pct / 100.0, wires: None, until: None };
    let catalog = Arc::clone(&app.catalog);
    let seq = asked.seq;
    let (value, computed) = {
        let checked = check(&question(&catalog, &published.state, &scope), &planned);
        (checked.value as f64 / WORTH, 100.0 * checked.risk)
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| {
            // Against the state of this very moment, not of the one that the plan was made for.
            let checked = check(&question(&catalog, state, &scope), &planned);
            let ask = AcceptPlan {
                made_at_seq: seq,
                promised_risk_pct: risk_pct,
                computed_risk_pct: 100.0 * checked.risk,
                assign: assign.clone(),
                faults: checked.faults.iter().map(ToString::to_string).collect(),
            };
            accept_plan(state, &ask, at)
        },
        move |after| PlanAccepted {
            accepted: after.seq,
            value,
            risk_pct: PlanRisk { promised: risk_pct, computed },
            seq: after.seq,
            replaces: after.before.shop().plan.as_ref().map(|(by, _)| *by),
        },
    )
}
