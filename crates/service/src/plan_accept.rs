//! `plan.accept`: a plan becomes the one that the shop goes by, if it still holds at this moment.

use crate::app::App;
use crate::caller::Caller;
use crate::patience::Patience;
use crate::plan_proposal::proposed;
use crate::plan_question::{Scope, WORTH, no_plan, question};
use crate::writing::write;
use crate::{day, plan_words, words};
use coilwright_planner::{Assigned as Planned, Question, check};
use coilwright_proto::error::RpcError;
use coilwright_proto::plan::{PlanAccept, PlanAccepted, PlanAssign, PlanRisk};
use coilwright_shop::decide::{AcceptPlan, accept_plan};
use coilwright_shop::fact::Assigned;
use coilwright_shop::refusal::{Kind, Refusal, Told};
use coilwright_shop::state::State;
use serde_json::Value;
use std::sync::Arc;

pub fn answer(app: &App, caller: &Caller, asked: PlanAccept) -> Result<Value, RpcError> {
    let published = app.store.state();
    let meant = match &asked.assign {
        Some(assign) => given(&published.state, &asked, assign)?,
        None => looked_up(app, caller, &asked)?,
    };
    let (catalog, scope) = (Arc::clone(&app.catalog), meant.scope.clone());
    let (value, computed) = {
        let checked = match &meant.raised {
            Some(raised) => check(raised, &meant.planned),
            None => check(&question(&catalog, &published.state, &scope), &meant.planned),
        };
        (checked.value as f64 / WORTH, 100.0 * checked.risk)
    };
    let (promised, taken) = (100.0 * scope.risk, meant.taken.clone());
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| {
            // Against the state of this very moment, not of the one that the plan was made for.
            let now = question(&catalog, state, &scope);
            if let Some(moved) = meant.moved(state, &now) {
                return Err(moved);
            }
            let checked = check(&now, &meant.planned);
            let ask = AcceptPlan {
                made_at_seq: meant.seq,
                promised_risk_pct: promised,
                computed_risk_pct: 100.0 * checked.risk,
                assign: meant.assign.clone(),
                faults: checked.faults.iter().map(ToString::to_string).collect(),
            };
            accept_plan(state, &ask, at)
        },
        move |after| PlanAccepted {
            accepted: after.seq,
            value,
            risk_pct: PlanRisk { promised, computed },
            seq: after.seq,
            replaces: after.before.shop().plan.as_ref().map(|(by, _)| *by),
            taken: taken.clone(),
        },
    )
}

/// The plan that is meant.
struct Meant {
    scope: Scope,
    planned: Vec<Planned>,
    assign: Vec<Assigned>,
    /// The entry that it looked up to.
    seq: u64,
    /// Only of one that is looked up here: what it answers, which must stand as it did; and what was taken.
    raised: Option<Question>,
    taken: Option<String>,
    /// The caller saw it at this entry, and means no later one.
    seen: Option<u64>,
}

fn given(state: &State, asked: &PlanAccept, assign: &[PlanAssign]) -> Result<Meant, RpcError> {
    let seq = asked.seq.ok_or_else(|| {
        RpcError::params("/seq", "it is not said up to which entry the plan looked")
            .next("give `seq` as it was answered with the plan; or leave `assign` out to take what is proposed")
    })?;
    let risk = asked.risk_pct.unwrap_or(state.figures().plan_risk_pct.value) / 100.0;
    Ok(Meant {
        scope: Scope { as_of: day::today(state), risk, wires: None, until: None },
        planned: assign.iter().cloned().map(plan_words::planned).collect(),
        assign: in_the_shop(assign)?,
        seq,
        raised: None,
        taken: None,
        seen: None,
    })
}

/// What is proposed now. That nothing is comes out in the decision: a key used before is answered as it was then.
fn looked_up(app: &App, caller: &Caller, asked: &PlanAccept) -> Result<Meant, RpcError> {
    if let Some(pct) = asked.risk_pct {
        return Err(RpcError::params("/risk_pct", "what is proposed has the risk that the shop allows")
            .met(pct)
            .next("leave it out; or make a plan with that risk and give its `assign` and `seq`"));
    }
    let published = app.store.state();
    let state = &published.state;
    let in_force = state.shop().plan.as_ref();
    let risk_pct = in_force.map_or(state.figures().plan_risk_pct.value, |(_, p)| p.promised_risk_pct);
    let scope = Scope { as_of: day::today(state), risk: risk_pct / 100.0, wires: None, until: None };
    let raised = question(&app.catalog, state, &scope);
    let patience = Patience::of(app, caller);
    let found = proposed(&raised, in_force.is_some(), &|| patience.go_on()).map_err(no_plan)?;
    let (planned, taken) = found.map_or((Vec::new(), None), |(assign, taken)| (assign, Some(taken)));
    let assign: Vec<PlanAssign> = planned.iter().cloned().map(plan_words::assign).collect();
    Ok(Meant {
        scope,
        planned,
        assign: in_the_shop(&assign)?,
        seq: published.head.seq,
        raised: Some(raised),
        taken,
        seen: asked.seq,
    })
}

impl Meant {
    /// Why a plan that was looked up here is not the one any more that the caller means, or never was one.
    fn moved(&self, state: &State, now: &Question) -> Option<Refusal> {
        let raised = self.raised.as_ref()?;
        let came = self.seen.filter(|&seen| seen != state.seq());
        let (code, message, detail) = if let Some(seen) = came {
            let detail = format!("that was proposed at entry {seen}; the journal is at entry {} now", state.seq());
            ("plan_moved_on", "the shop has moved on", detail)
        } else if raised != now {
            let detail = "shelf or jobs changed while it was looked up what is proposed".to_owned();
            ("plan_moved_on", "the shop has moved on", detail)
        } else if self.taken.is_none() {
            let detail = match state.shop().plan {
                Some((by, _)) => format!("the plan accepted by entry {by} stands as it is, and none better is known"),
                None => "there is no plan yet: no waiting job can be wound".to_owned(),
            };
            ("nothing_proposed", "nothing is proposed", detail)
        } else {
            return None;
        };
        Some(Refusal::from(Told {
            kind: Kind::Refused,
            code: code.to_owned(),
            message: message.to_owned(),
            detail,
            pointer: came.map(|_| "/seq".to_owned()),
            met: came.map_or(Value::Null, Value::from),
            allowed: Value::Null,
            next_step: "see `plan show` for what stands and what is proposed, and `plan make` for why".to_owned(),
        }))
    }
}

fn in_the_shop(assign: &[PlanAssign]) -> Result<Vec<Assigned>, RpcError> {
    let at = |i: usize, member: &str| format!("/assign/{i}/{member}");
    let one = |(i, a): (usize, &PlanAssign)| {
        Ok(Assigned {
            job: words::job_id_at(&a.job, &at(i, "job"))?,
            wire: a.wire.clone(),
            spool: words::spool_id_at(&a.spool, &at(i, "spool"))?,
            coils: a.coils,
        })
    };
    assign.iter().enumerate().map(one).collect()
}
