//! A plan as it is answered: the planner's figures in words, shared by the requests about plans.

use crate::plan_question::{LeftOut, WORTH};
use crate::plan_ways::{self, day_of};
use crate::words;
use coilwright_catalog::Catalog;
use coilwright_planner::{Assigned, Chosen, Plan, Proof, SpoolUse, Tell};
use coilwright_proto::plan::{PlanAnswer, PlanAssign, PlanChoice, PlanRefused, PlanRisk, PlanSpool};
use coilwright_shop::state::State;
use jiff::civil::Date;

/// What the words need beside the plan.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// Wires and what is sold.
    pub catalog: &'a Catalog,
    /// The state that was asked.
    pub state: &'a State,
    /// The day it was asked for.
    pub as_of: Date,
    /// The entry up to which it looks.
    pub seq: u64,
}

/// A plan on the wire. `left_out` are the jobs that it was not asked about.
pub fn answer(ground: Ground, plan: Plan, left_out: Vec<LeftOut>) -> PlanAnswer {
    let stopped: Vec<PlanRefused> = left_out.into_iter().map(plan_ways::not_asked).collect();
    let day = day_of(ground.as_of);
    let tell = Tell { day: &day, one: WORTH };
    PlanAnswer {
        sentence: sentence(&plan, &stopped),
        sure: sure(&plan),
        value: plan.value as f64 / WORTH,
        bound: plan.bound as f64 / WORTH,
        gap_pct: 100.0 * plan.gap,
        proof: plan.proof.as_str().into(),
        risk_pct: PlanRisk {
            promised: 100.0 * plan.risk.promised.unwrap_or(0.0),
            computed: 100.0 * plan.risk.computed,
        },
        assign: plan.assign.into_iter().map(assign).collect(),
        reasons: plan.chosen.iter().map(reason).collect(),
        refused: plan.refused.iter().map(|r| plan_ways::refused(ground.catalog, r, tell)).chain(stopped).collect(),
        spools: plan.spools.into_iter().map(|s| spool(ground.state, s)).collect(),
        stranded_m: words::metres(plan.stranded),
        rounds: plan.rounds,
        stopped_early: plan.stopped_early,
        as_of: ground.as_of.to_string(),
        seq: ground.seq,
        purchase: plan.purchase.map(|p| plan_ways::purchase(ground.catalog, p)),
        accepted_by: None,
        changes: None,
        proposal: None,
    }
}

fn sentence(plan: &Plan, stopped: &[PlanRefused]) -> String {
    let mut done: Vec<&str> = plan.assign.iter().map(|a| a.job.as_str()).collect();
    done.dedup();
    let left_out = plan.refused.iter().map(|r| r.job.as_str());
    let left_out: Vec<&str> = left_out.chain(stopped.iter().map(|r| r.job.as_str())).collect();
    let of_jobs = match (done.is_empty(), left_out.is_empty()) {
        (true, true) => return "No job waits, so there is nothing to plan.".into(),
        (false, true) if done.len() == 1 => "The one waiting job can be wound".into(),
        (false, true) => format!("All {} waiting jobs can be wound", done.len()),
        (true, false) => format!("None of the waiting jobs can be wound ({})", some(&left_out)),
        (false, false) => format!(
            "{} of {} waiting jobs can be wound, not {}",
            done.len(),
            done.len() + left_out.len(),
            some(&left_out)
        ),
    };
    let on = match plan.touched {
        0 => String::new(),
        1 => ", on one spool".into(),
        n => format!(", on {n} spools"),
    };
    format!("{of_jobs}{on}; a spool runs short with a probability of {:.2} %.", 100.0 * plan.risk.computed)
}

/// Names, the first few of many.
fn some(names: &[&str]) -> String {
    const MOST: usize = 8;
    match names.get(..MOST) {
        Some(first) if names.len() > MOST => format!("{} and {} more", first.join(", "), names.len() - MOST),
        _ => names.join(", "),
    }
}

/// How sure it is that no plan is better. Only the worth of the jobs is ever proved.
pub fn sure(plan: &Plan) -> String {
    let more = match (plan.value, plan.bound) {
        (value, bound) if value > 0 => {
            let pct = 100.0 * (bound - value) as f64 / value as f64;
            format!(
                "at most {} % better is possible",
                if pct < 10.0 { format!("{pct:.1}") } else { format!("{pct:.0}") }
            )
        }
        (_, bound) => format!("at most a worth of {} is possible", bound as f64 / WORTH),
    };
    let text = match plan.proof {
        _ if plan.assign.is_empty() && plan.refused.is_empty() => "There is nothing to do better.".to_owned(),
        Proof::Optimal => "No better plan exists.".to_owned(),
        Proof::OptimalAtFactor { .. } => {
            format!("No better plan exists with the same safety on every spool; with it shared out otherwise {more}.")
        }
        Proof::Gap => format!("It is not known whether a better plan exists; {more}."),
    };
    let early = if plan.stopped_early { " The search was stopped early." } else { "" };
    text + early
}

/// Coils on a spool, on the wire.
pub fn assign(a: Assigned) -> PlanAssign {
    PlanAssign { job: a.job, wire: a.wire, spool: a.spool, coils: a.coils }
}

/// The same as the planner has it.
pub fn planned(a: PlanAssign) -> Assigned {
    Assigned { job: a.job, wire: a.wire, spool: a.spool, coils: a.coils }
}

fn reason(c: &Chosen) -> PlanChoice {
    PlanChoice { job: c.job.clone(), spool: c.spool.clone(), coils: c.coils, text: c.sentence() }
}

fn spool(state: &State, s: SpoolUse) -> PlanSpool {
    let usual = state.figures().shortest_usual_m(&s.wire);
    let end_text = match usual {
        _ if s.end.m() <= 0.0 => "nothing is left".to_owned(),
        Some(usual) if s.end.m() < usual && s.useless_end => {
            format!("{:.2} m is left, stranded: the shortest usual coil takes {usual:.2} m", s.end.m())
        }
        Some(usual) if s.end.m() < usual => {
            format!("{:.2} m, too short for a usual coil ({usual:.2} m) already", s.end.m())
        }
        Some(usual) => match (s.usable.m() / usual).round() {
            n if n >= 1.0 => {
                format!(
                    "{:.2} m is left, safely enough for {n:.0} of the shortest usual coil ({usual:.2} m)",
                    s.end.m()
                )
            }
            _ => format!("{:.2} m is left, not safely enough for a usual coil ({usual:.2} m)", s.end.m()),
        },
        None => format!("{:.2} m is left, {:.2} m of it safely", s.end.m(), s.usable.m()),
    };
    PlanSpool {
        end_text,
        spool: s.spool,
        wire: s.wire,
        safe_m: words::metres(s.safe),
        used_m: words::metres(s.used),
        end_m: words::metres(s.end),
        usable_m: words::metres(s.usable),
        useless_end: s.useless_end,
        word: words::enough(s.word),
        probability: s.probability,
    }
}
