//! A plan becomes what the shop goes by. Whether it holds was checked by the planner, against the same state.

use super::{Decision, Ruling};
use crate::entry::{Moment, Seq};
use crate::fact::{Assigned, Fact, PlanAccepted};
use crate::refusal::Refusal;
use crate::state::State;

/// A plan to accept, as checked against the state that it is decided on.
#[derive(Debug, Clone, PartialEq)]
pub struct AcceptPlan {
    /// The entry that it looked up to when it was made.
    pub made_at_seq: Seq,
    /// Risk that was promised.
    pub promised_risk_pct: f64,
    /// Risk that it has now.
    pub computed_risk_pct: f64,
    /// Which coils come from which spool.
    pub assign: Vec<Assigned>,
    /// What is wrong with it now, in sentences; empty if it holds.
    pub faults: Vec<String>,
}

/// Accepts a plan; the one accepted before no longer counts.
///
/// # Errors
/// It does not hold any more; it was made for a state that never was; it says nothing.
pub fn accept_plan(state: &State, ask: &AcceptPlan, _at: &Moment) -> Ruling {
    if ask.made_at_seq > state.seq() {
        let detail = format!("the journal goes up to entry {}, the plan looked up to {}", state.seq(), ask.made_at_seq);
        return Err(Refusal::wrong(
            "plan_of_the_future",
            "/seq",
            detail,
            "make a plan and accept it with the `seq` it answered",
        ));
    }
    if ask.assign.is_empty() {
        return Err(Refusal::wrong(
            "empty_plan",
            "/assign",
            "a plan without coils is none".to_owned(),
            "make a plan first",
        ));
    }
    if let Some(first) = ask.faults.first() {
        let more = match ask.faults.len() {
            1 => String::new(),
            n => format!(" (and {} more)", n - 1),
        };
        let detail = format!("the plan does not hold any more: {first}{more}");
        return Err(Refusal::refused(
            "plan_broken",
            "the plan does not hold",
            detail,
            "make the plan anew: the shelf or the jobs have changed",
        )
        .at("/assign"));
    }
    Ok(Decision::of(vec![Fact::PlanAccepted(PlanAccepted {
        made_at_seq: ask.made_at_seq,
        promised_risk_pct: ask.promised_risk_pct,
        computed_risk_pct: ask.computed_risk_pct,
        assign: ask.assign.clone(),
    })]))
}
