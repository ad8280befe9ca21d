//! The answer put together: search, proof, reasons, unlocks, purchase, and the check that every answer passes.

use crate::answer::{Plan, Reason, Refused, Risk, SpoolUse};
use crate::bound::bound;
use crate::checker::{Fault, check};
use crate::door::{length, mm_down};
use crate::layout::Layout;
use crate::outlook::usable;
use crate::promise::Promise;
use crate::prove::{ahead, claim, prove};
use crate::question::{Assigned, Question, WrongQuestion};
use crate::reason::{Explained, explain, taken};
use crate::risk::plan_risk;
use crate::search::{Found, repaired, search};
use crate::sharing::purchase;
use crate::unlock::unlocks;
use crate::why::chosen;
use coilwright_core::enough::Word;

/// How much work a plan is worth. Counted, not timed: the same effort gives the same plan everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Rounds of improvement.
    pub rounds: u32,
    /// Where the dice start.
    pub seed: u64,
    /// How hard to look for a proof.
    pub proof: Depth,
    /// Whether refused jobs get reasons and ways out; without, `refused` is empty.
    pub explain: bool,
}

/// How hard to look for a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// The quick bound.
    Quick,
    /// Also the linear program and, if the question is small, every plan there is.
    Full,
}

impl Default for Effort {
    /// For a plan that someone waits for.
    fn default() -> Effort {
        Effort { rounds: 2000, seed: 1, proof: Depth::Quick, explain: true }
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoPlan {
    /// The question makes no sense.
    #[error(transparent)]
    Wrong(#[from] WrongQuestion),
    /// The plan that was found did not pass the check: a fault of this program.
    #[error("the plan did not pass its own check: {0}")]
    Unsound(Fault),
}

/// Rounds spent on all refusals together, and on one at most and at least.
const EXPLAINING: u32 = 4000;
const ON_ONE: (u32, u32) = (10, 150);
/// Most refusals for which it is worked out what they would push out and what would let them in, where there are few jobs;
/// most refused jobs times jobs otherwise: each costs a plan of its own.
const MOST_EXPLAINED: usize = 400;
const MOST_PLANNED: usize = 400_000;

/// Plans the jobs of a question. `go_on` is asked now and then; once it says no, the best plan so far is answered.
///
/// # Errors
/// A question that makes no sense. `Unsound` is never met unless this program is wrong.
pub fn plan(question: &Question, effort: Effort, go_on: &dyn Fn() -> bool) -> Result<Plan, NoPlan> {
    let promise = Promise::new(question)?;
    let ahead = ahead(&promise, effort, go_on);
    let found = search(&promise, effort, &ahead, go_on);
    let (found, most) = prove(&promise, found, ahead.most, effort, go_on);
    finish(&promise, found, most, effort, false, go_on)
}

/// Repairs the plan in force: few changes, no search. What no longer fits is moved or dropped, then gaps are filled.
///
/// # Errors
/// As [`plan`].
pub fn repair(question: &Question, effort: Effort, go_on: &dyn Fn() -> bool) -> Result<Plan, NoPlan> {
    let promise = Promise::new(question)?;
    let found = Found { assignment: repaired(&promise), factor: None, rounds: 0, stopped: false };
    let most = bound(&promise.loosest);
    finish(&promise, found, most, effort, true, go_on)
}

fn finish(
    promise: &Promise,
    found: Found,
    most: i64,
    effort: Effort,
    kept: bool,
    go_on: &dyn Fn() -> bool,
) -> Result<Plan, NoPlan> {
    let question = promise.question;
    let mut layout = Layout::from(&promise.loosest, &found.assignment);
    let mut factor = found.factor;
    let refused = if effort.explain { refusals(promise, &mut layout, &mut factor, kept, go_on) } else { Vec::new() };
    let value = layout.value();
    let (bound, proof) = claim(promise, value, most, factor);
    let assign = assigned(question, &layout);
    let chosen = if effort.explain { chosen(promise, &mut layout) } else { Vec::new() };
    let checked = check(question, &assign);
    if let Some(fault) = checked.faults.into_iter().next() {
        return Err(NoPlan::Unsound(fault));
    }
    let names = |i: usize| question.spools[i].id.clone();
    Ok(Plan {
        value,
        bound,
        gap: if bound > 0 { (bound - value) as f64 / bound as f64 } else { 0.0 },
        proof,
        risk: Risk {
            promised: question.risk,
            computed: plan_risk(question, &promise.loads(&layout, true)),
            beyond_help: (0..promise.aside.len()).filter(|&i| promise.aside[i]).map(names).collect(),
        },
        assign,
        chosen,
        refused,
        spools: (0..question.spools.len()).map(|i| spool_use(promise, &layout, i, factor)).collect(),
        stranded: checked.stranded,
        touched: checked.touched,
        changes: layout.changes(),
        purchase: if effort.explain { purchase(promise, &layout, go_on) } else { None },
        rounds: found.rounds,
        stopped_early: found.stopped || !go_on(),
    })
}

/// Reasons for all jobs left out. If explaining one finds a plan that does it, that plan is taken and all is explained
/// again, unless the plan is `kept` as it is.
fn refusals(
    promise: &Promise,
    layout: &mut Layout,
    factor: &mut Option<f64>,
    kept: bool,
    go_on: &dyn Fn() -> bool,
) -> Vec<Refused> {
    let missing = u32::try_from(layout.missing().count()).unwrap_or(u32::MAX);
    let rounds = (EXPLAINING / missing.max(1)).clamp(ON_ONE.0, ON_ONE.1);
    let most = MOST_EXPLAINED.min(MOST_PLANNED / layout.placed.len().max(1)).max(1);
    'again: loop {
        let mut refused = Vec::new();
        for job in layout.missing().collect::<Vec<_>>() {
            let (id, wire) = (promise.question.jobs[job].id.clone(), promise.question.jobs[job].wire.clone());
            if refused.len() >= most || !go_on() {
                let reason = taken(promise, layout, job);
                refused.push(Refused { job: id, wire, reason, unlock: Vec::new() });
                continue;
            }
            let reason = match explain(promise, layout, job, rounds, go_on) {
                Explained::Because(reason) => reason,
                Explained::Fits(better) => {
                    let better = Layout::from(layout.shelf, &better);
                    if !kept && better.goals() > layout.goals() {
                        // Each turn lifts the goals, so the loop ends.
                        *layout = better;
                        *factor = None;
                        continue 'again;
                    }
                    Reason::NewPlan { gain: better.value() - layout.value(), changes: better.changes() }
                }
            };
            refused.push(Refused { job: id, wire, reason, unlock: unlocks(promise, layout, job) });
        }
        return refused;
    }
}

/// The plan as it is written, started coils of finished jobs included.
pub(crate) fn assigned(question: &Question, layout: &Layout) -> Vec<Assigned> {
    let mut assign = Vec::new();
    for j in 0..layout.placed.len() {
        let mut lies = layout.lies(j);
        lies.sort_unstable();
        for (i, coils) in lies.into_iter().filter(|(_, n)| *n > 0) {
            let spool = &question.spools[i];
            let job = question.jobs[j].id.clone();
            assign.push(Assigned { job, wire: spool.wire.clone(), spool: spool.id.clone(), coils });
        }
    }
    assign
}

fn spool_use(promise: &Promise, layout: &Layout, i: usize, factor: Option<f64>) -> SpoolUse {
    let question = promise.question;
    let spool = &question.spools[i];
    let bin = &layout.shelf.bins[i];
    let confidence = match (factor, question.risk) {
        (Some(z), _) => Some(coilwright_core::enough::normal_probability(z)),
        (None, risk) => risk.map(|risk| 1.0 - risk),
    };
    let safe = mm_down(spool.safe_length(confidence));
    let total = length(bin.fixed + layout.used[i]);
    let (word, probability) = match (spool.safe, question.risk) {
        (None, Some(risk)) => spool.remaining().judge(total, 1.0 - risk),
        _ => {
            let there = total <= length(safe);
            (if there { Word::Enough } else { Word::Short }, f64::from(u8::from(there)))
        }
    };
    let left = layout.left(i);
    SpoolUse {
        spool: spool.id.clone(),
        wire: spool.wire.clone(),
        safe: length(safe),
        used: total - spool.promised,
        end: length(left),
        usable: usable(question, spool, (total - spool.promised).m()),
        useless_end: layout.is_touched(i) && left < bin.usual,
        word,
        probability,
    }
}
