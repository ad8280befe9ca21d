//! `plan.make`: the waiting jobs onto the spools. Looks, and writes nothing.

use crate::app::App;
use crate::plan_question::{Scope, question, unsound};
use crate::{day, plan_words};
use coilwright_planner::{Depth, Effort, NoPlan, plan};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::plan::{PlanAnswer, PlanMake, ProofDepth};
use coilwright_shop::state::State;

/// Rounds that one request may ask for: half a minute on a small machine with a full shelf.
const MOST_ROUNDS: u32 = 1_000_000;

pub fn answer(app: &App, asked: PlanMake) -> Result<PlanAnswer, RpcError> {
    let published = app.store.state();
    let scope = scope(&published.state, &asked)?;
    let usual = Effort::default();
    let rounds = asked.rounds.unwrap_or(usual.rounds);
    if rounds > MOST_ROUNDS {
        return Err(RpcError::params("/rounds", "that many rounds would keep the daemon busy for too long")
            .met(rounds)
            .allowed(format!("at most {MOST_ROUNDS}"))
            .next(format!("ask for at most {MOST_ROUNDS} rounds; the usual 2000 serve a workshop")));
    }
    let proof = match asked.proof {
        Some(ProofDepth::Full) => Depth::Full,
        _ => Depth::Quick,
    };
    // A full plan keeps a core busy: one at a time, so that a small machine goes on answering.
    let _turn = match proof {
        Depth::Full => Some(app.full_plans.try_lock().map_err(|_| {
            RpcError::new(code::BUSY, ErrorKind::Failed, "another full plan is being made")
                .next("ask again in a moment, or ask with `proof` quick")
        })?),
        Depth::Quick => None,
    };
    let asked = question(&app.catalog, &published.state, &scope);
    let made = plan(&asked, Effort { rounds, proof, ..usual }, &|| !app.stopping()).map_err(no_plan)?;
    Ok(plan_words::answer(&app.catalog, made, unsound(&published.state, &scope), scope.as_of, published.head.seq))
}

fn scope(state: &State, asked: &PlanMake) -> Result<Scope, RpcError> {
    let risk = asked.risk_pct.unwrap_or(state.figures().plan_risk_pct.value);
    if !(0.0001..=50.0).contains(&risk) {
        return Err(RpcError::params("/risk_pct", format!("a risk of {risk} % makes no plan"))
            .met(risk)
            .allowed("0.0001 to 50")
            .next("give a risk in per cent from 0.0001 to 50; 2 is usual"));
    }
    Ok(Scope {
        as_of: day::as_of(state, asked.as_of.as_deref(), "/as_of")?,
        risk: risk / 100.0,
        wires: asked.wires.as_ref().map(|w| w.iter().cloned().collect()),
        until: asked.until_on.as_deref().map(|d| day::date(d, "/until_on")).transpose()?,
    })
}

fn no_plan(e: NoPlan) -> RpcError {
    RpcError::new(code::INTERNAL, ErrorKind::Failed, e.to_string())
        .next("this is a fault of the program; `journal verify` tells whether the shop's memory is sound")
}
