//! `plan.make`: the waiting jobs onto the spools. Looks, and writes nothing.

use crate::app::App;
use crate::caller::Caller;
use crate::day;
use crate::patience::{Patience, turn};
use crate::plan_question::{Scope, left_out, no_plan, question, risk, wires};
use crate::plan_words::{self, Ground};
use coilwright_planner::{Depth, Effort, plan};
use coilwright_proto::error::RpcError;
use coilwright_proto::plan::{PlanAnswer, PlanMake, ProofDepth};
use coilwright_shop::state::State;

/// Rounds that one request may ask for.
const MOST_ROUNDS: u32 = 1_000_000;
/// Rounds from which a plan is a heavy one, whatever its proof.
const MANY_ROUNDS: u32 = 20_000;

pub fn answer(app: &App, caller: &Caller, asked: PlanMake) -> Result<PlanAnswer, RpcError> {
    let published = app.store.state();
    let scope = scope(app, &published.state, &asked)?;
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
    let _turn = (proof == Depth::Full || rounds > MANY_ROUNDS).then(|| turn(app)).transpose()?;
    let patience = Patience::of(app, caller);
    let asked = question(&app.catalog, &published.state, &scope);
    let made = plan(&asked, Effort { rounds, proof, ..usual }, &|| patience.go_on()).map_err(no_plan)?;
    let ground = Ground { catalog: &app.catalog, state: &published.state, as_of: scope.as_of, seq: published.head.seq };
    Ok(plan_words::answer(ground, made, left_out(&published.state, &scope)))
}

fn scope(app: &App, state: &State, asked: &PlanMake) -> Result<Scope, RpcError> {
    Ok(Scope {
        as_of: day::as_of(state, asked.as_of.as_deref(), "/as_of")?,
        risk: risk(state, asked.risk_pct)?,
        wires: asked.wires.as_ref().map(|w| wires(&app.catalog, state, w)).transpose()?,
        until: asked.until_on.as_deref().map(|d| day::date(d, "/until_on")).transpose()?,
    })
}
