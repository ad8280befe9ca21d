//! The bound by a linear program in which a job is whole but its coils may be split.
//!
//! Coils of one length on one wire are one kind t, whatever job they are of, so that the program grows with the kinds
//! and not with the jobs:
//!
//! ```text
//! max Σ v_jk·z_jk    Σ_i x_it = Σ_{jk of t} q_j·z_jk    Σ_k z_jk ≤ 1    Σ_t w_t·x_it ≤ c_i    Σ_{j due ≤ d} p_j·z_j ≤ H_d
//! z_jk ∈ {0, 1},   0 ≤ x_it ≤ ⌊c_i / w_t⌋
//! ```
//!
//! The whole bounds on x make it tight: coils are short beside most spools. They bind all jobs of a kind together, which
//! is tighter than a bound on each. Whole jobs cost a branch and bound of a few dozen nodes and close most of what is
//! left; whole coils were tried too and closed nothing more. Nodes are counted, not timed.

use crate::bound::fits_alone;
use crate::door::{Choice, Shelf};
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOptions, Variable};
use std::collections::BTreeMap;
use std::time::Duration;

/// Most unknowns tried, and most for which more than one turn is run.
const MOST_UNKNOWNS: usize = 60_000;
const MANY_UNKNOWNS: usize = 15_000;

/// Nodes between two questions whether to go on, and how often they are run.
const NODES: u64 = 50;
const TURNS: usize = 8;

/// Longest time spent on the program. Nodes bound it first on any shelf that a workshop has; this is for one that a single
/// node takes minutes of. It costs the proof, never the plan.
const LONGEST: Duration = Duration::from_secs(20);

/// Added before rounding down: the error that the solver leaves in the sum, relative to it.
const SLACK: f64 = 1e-6;

/// What the program came to.
pub(crate) struct Linear {
    /// No plan on this shelf is worth more.
    pub most: i64,
    /// Jobs that it would do if coils could be split; empty if it was stopped before it knew.
    pub jobs: Vec<usize>,
}

/// A kind of coil on the shelf; a matched set is one of its own, for a spool that cannot give all of it gives nothing.
type Kind = (usize, Option<usize>);
/// Variables with their factors in a sum.
type Sum = Vec<(Variable, f64)>;

/// Solves the program of a shelf; none if it is too large or the solver gives up.
pub(crate) fn linear(shelf: &Shelf, go_on: &dyn Fn() -> bool) -> Option<Linear> {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let mut on_bin: Vec<Sum> = vec![Vec::new(); shelf.bins.len()];
    let mut by_day: Vec<Sum> = vec![Vec::new(); shelf.days.len()];
    let mut whole: Vec<(usize, Variable)> = Vec::new();
    let mut kinds: BTreeMap<Kind, (&Choice, Sum)> = BTreeMap::new();
    for j in (0..shelf.jobs.len()).filter(|&j| fits_alone(shelf, j)) {
        let item = &shelf.jobs[j];
        let mut done = Vec::new();
        for choice in &item.choices {
            let z = problem.add_binary_var(choice.worth as f64);
            done.push((z, 1.0));
            whole.push((j, z));
            by_day
                .iter_mut()
                .skip(item.day.unwrap_or(usize::MAX))
                .for_each(|d| d.push((z, item.minutes as f64 / 1000.0)));
            let kind = (choice.kind, item.matched.then_some(j));
            kinds.entry(kind).or_insert((choice, Vec::new())).1.push((z, -f64::from(item.coils)));
        }
        if done.len() > 1 {
            problem.add_constraint(done, ComparisonOp::Le, 1.0);
        }
    }
    let mut unknowns = whole.len();
    for ((_, matched), (choice, mut coils)) in kinds {
        let least = matched.map_or(1, |j| i64::from(shelf.jobs[j].coils));
        for &i in choice.bins.iter() {
            let most = shelf.bins[i].room / choice.need;
            if most >= least {
                let x = problem.add_var(0.0, (0.0, most as f64));
                coils.push((x, 1.0));
                on_bin[i].push((x, choice.need as f64 / 1000.0));
                unknowns += 1;
            }
        }
        // Before more of it is built than is ever solved.
        if unknowns > MOST_UNKNOWNS {
            return None;
        }
        problem.add_constraint(coils, ComparisonOp::Eq, 0.0);
    }
    for (row, bin) in on_bin.into_iter().zip(&shelf.bins) {
        problem.add_constraint(row, ComparisonOp::Le, bin.room as f64 / 1000.0);
    }
    for (row, day) in by_day.into_iter().zip(&shelf.days) {
        problem.add_constraint(row, ComparisonOp::Le, day.limit as f64 / 1000.0);
    }
    problem.set_time_limit(LONGEST);
    let mut options = SolveOptions::default();
    options.node_limit = Some(NODES);
    let mut outcome = problem.solve_with(options).ok()?;
    let turns = if unknowns > MANY_UNKNOWNS { 1 } else { TURNS };
    for _ in 1..turns {
        if outcome.is_optimal() || !go_on() {
            break;
        }
        outcome = outcome.resume().ok()?;
    }
    let most = outcome.stats().best_bound?;
    let most = libm::floor(most + SLACK * (1.0 + most.abs()));
    let done = |z: Variable| outcome.solution().is_some_and(|s| s.var_value(z) > 0.5);
    let jobs = whole.into_iter().filter(|&(_, z)| done(z)).map(|(j, _)| j).collect();
    most.is_finite().then_some(Linear { most: most as i64, jobs })
}
