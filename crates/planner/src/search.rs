//! The whole search: first plans, improvement, and the sharing out of the risk over the spools.
//!
//! The promise is about the whole plan, not about each spool, so no fixed set of safe lengths says it. The search looks
//! at one safety factor after another between the loosest (each spool alone may take the whole risk) and the tightest
//! (each takes an equal part), and on each keeps only plans whose joint risk is within the promise; spools with slack
//! leave their part of the risk to tight ones. Last, jobs are added one by one as long as the joint risk allows.
//!
//! # Sources
//! Risk allocation in its simplest form: M. Ono, B. C. Williams, IEEE Conference on Decision and Control 2008.

use crate::bound::bound;
use crate::construct::{in_order, orders};
use crate::dice::Dice;
use crate::door::Shelf;
use crate::improve::{Aim, Limits, improve};
use crate::layout::{Assignment, Goals, Layout};
use crate::place::{RULES, place};
use crate::plan::Effort;
use crate::polish::polish;
use crate::promise::Promise;
use crate::repair::{by_density, repair};
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// Safety factors tried between the loosest and the tightest.
const FACTORS: u32 = 6;

/// Constructions that are made again on every shelf after the first, the best there.
const GOOD: usize = 6;

/// What a search found.
pub(crate) struct Found {
    pub assignment: Assignment,
    /// Safety factor of the shelf on which the plan was found, if all its spools keep it.
    pub factor: Option<f64>,
    pub rounds: u32,
    pub stopped: bool,
}

/// What is known before a search.
pub(crate) struct Ahead {
    /// No plan is worth more.
    pub most: i64,
    /// Jobs that could all be done if coils could be split; empty if that was not looked at.
    pub wanted: Vec<usize>,
}

/// Searches with the rounds of an effort.
pub(crate) fn search(promise: &Promise, effort: Effort, ahead: &Ahead, go_on: &dyn Fn() -> bool) -> Found {
    let rounds = effort.rounds;
    let most = ahead.most;
    let mut run =
        Run { promise, dice: Dice::new(effort.seed), good: Vec::new(), rounds: 0, stopped: false, ahead, go_on };
    let Some((loose, tight)) = promise.factors() else {
        let mut layout = run.first(&promise.loosest);
        run.deepen(&mut layout, rounds);
        polish(promise, &mut layout, go_on);
        return Found { assignment: layout.placed, factor: None, rounds: run.rounds, stopped: run.stopped };
    };
    let mut best = run.first(&promise.loosest).placed;
    if !promise.question.incumbent.is_empty() {
        let mended = Layout::from(&promise.loosest, &repaired(promise));
        if mended.all_goals() > Layout::from(&promise.loosest, &best).all_goals() {
            best = mended.placed;
        }
    }
    let mut factor = None;
    let (mut low, mut high) = (loose, tight);
    for step in 0..=FACTORS {
        let at = if step == 0 { tight } else { 0.5 * (low + high) };
        let shelf = promise.shelf(at);
        let mut layout = Layout::from(&shelf, &best);
        let first = run.first(&shelf);
        if first.all_goals() > layout.all_goals() {
            layout = first;
        }
        // A third for the first shelf, a third for all others, the rest for the best of them.
        let part = if step == 0 { rounds / 3 } else { rounds / (3 * FACTORS) };
        run.value(&mut layout, part, bound(&shelf));
        let before = Layout::from(&promise.loosest, &best);
        let gained = layout.goals()[..2] > before.goals()[..2];
        if Layout::from(&promise.loosest, &layout.placed).all_goals() > before.all_goals() {
            best = layout.placed;
            factor = Some(at);
        }
        // Worth gained on this shelf: look on a looser one; none: its plans break the joint promise, look on a tighter.
        match (step, gained) {
            (0, _) => {}
            (_, true) => high = at,
            (_, false) => low = at,
        }
        let done = Layout::from(&promise.loosest, &best).value() >= most;
        if run.stopped || done || low >= high {
            break;
        }
    }
    let shelf = promise.shelf(factor.unwrap_or(loose));
    let mut layout = Layout::from(&shelf, &best);
    run.deepen(&mut layout, rounds.saturating_sub(run.rounds));
    let mut last = Layout::from(&promise.loosest, &layout.placed);
    if add(promise, &mut last) {
        factor = None;
    }
    let before = last.placed.clone();
    polish(promise, &mut last, go_on);
    if last.placed != before {
        factor = factor.filter(|&z| Layout::from(&promise.shelf(z), &last.placed).placed == last.placed);
    }
    Found { assignment: last.placed, factor, rounds: run.rounds, stopped: run.stopped }
}

/// Improves the later goals of a plan, its value kept.
pub(crate) fn tidy(promise: &Promise, found: Found, effort: Effort, go_on: &dyn Fn() -> bool) -> Found {
    let Found { assignment, factor, rounds, stopped } = found;
    let ahead = Ahead { most: 0, wanted: Vec::new() };
    let mut run =
        Run { promise, dice: Dice::new(effort.seed), good: Vec::new(), rounds, stopped, ahead: &ahead, go_on };
    let mut layout = Layout::from(&promise.loosest, &assignment);
    run.improve(&mut layout, Aim::Ends, effort.rounds, i64::MAX);
    if !run.stopped {
        polish(promise, &mut layout, go_on);
    }
    let factor = factor.filter(|_| layout.placed == assignment);
    Found { assignment: layout.placed, factor, rounds: run.rounds, stopped: run.stopped }
}

/// The plan in force repaired on the loosest shelf on which its joint risk is within the promise, then filled up.
pub(crate) fn repaired(promise: &Promise) -> Assignment {
    const STEPS: u32 = 12;
    let (loose, tight) = promise.factors().unwrap_or((0.0, 0.0));
    let mut layout = Layout::new(&promise.loosest);
    // Steps of tightness: `low` breaks the joint promise, `high` is the loosest met so far that keeps it.
    let (mut low, mut high, mut step) = (0, STEPS + 1, 0);
    loop {
        let shelf = match step {
            0 => promise.loosest.clone(),
            _ => promise.shelf(loose + (tight - loose) * f64::from(step) / f64::from(STEPS)),
        };
        let mended = repair(promise.question, &shelf);
        if promise.kept(&mended) {
            layout = Layout::from(&promise.loosest, &mended.placed);
            high = step;
        } else {
            low = step;
        }
        if high <= low + 1 {
            break;
        }
        step = low.midpoint(high);
    }
    add(promise, &mut layout);
    layout.placed
}

struct Run<'a> {
    promise: &'a Promise<'a>,
    dice: Dice,
    /// The constructions that came out best on the first shelf, by number.
    good: Vec<usize>,
    rounds: u32,
    stopped: bool,
    ahead: &'a Ahead,
    go_on: &'a dyn Fn() -> bool,
}

impl Run<'_> {
    /// The best plan that keeps the promise of: the plan in force repaired, all constructions, nothing.
    fn first<'s>(&mut self, shelf: &'s Shelf) -> Layout<'s> {
        let mut best = Layout::new(shelf);
        let mut take = |layout: Layout<'s>| {
            if layout.all_goals() > best.all_goals() && self.promise.kept(&layout) {
                best = layout;
            }
        };
        if !shelf.incumbent.is_empty() {
            let mut mended = repair(self.promise.question, shelf);
            add(self.promise, &mut mended);
            take(mended);
        }
        let orders: Vec<Vec<usize>> = orders(shelf).into_iter().chain(self.wanted(shelf)).collect();
        let all: Vec<usize> = (0..orders.len() * RULES.len()).collect();
        let mut made: Vec<(Reverse<Goals>, usize)> = Vec::new();
        for &number in if self.good.is_empty() { &all } else { &self.good } {
            let (order, rule) = (&orders[number / RULES.len()], RULES[number % RULES.len()]);
            let layout = in_order(shelf, order, rule, &mut self.dice);
            made.push((Reverse(layout.goals()), number));
            take(layout);
        }
        made.sort_unstable();
        self.good = made.into_iter().map(|m| m.1).take(GOOD).collect();
        best
    }

    /// The jobs that the linear program would do, longest coil first, then the others by worth for their wire.
    fn wanted(&self, shelf: &Shelf) -> Option<Vec<usize>> {
        let mut jobs = self.ahead.wanted.clone();
        let first: BTreeSet<usize> = jobs.iter().copied().collect();
        let need = |j: usize| shelf.jobs[j].choices.first().map_or(0, |c| c.need);
        jobs.sort_by_key(|&j| (!shelf.jobs[j].must, -need(j)));
        jobs.extend(by_density(&Layout::new(shelf)).into_iter().filter(|j| !first.contains(j)));
        (!first.is_empty()).then_some(jobs)
    }

    fn value(&mut self, layout: &mut Layout, rounds: u32, enough: i64) {
        self.improve(layout, Aim::Value, rounds, enough);
    }

    /// Value first, then the later goals.
    fn deepen(&mut self, layout: &mut Layout, rounds: u32) {
        let before = self.rounds;
        self.value(layout, rounds - rounds / 3, self.ahead.most);
        let rest = rounds.saturating_sub(self.rounds - before);
        self.improve(layout, Aim::Ends, rest, i64::MAX);
    }

    fn improve(&mut self, layout: &mut Layout, aim: Aim, rounds: u32, enough: i64) {
        if self.stopped {
            return;
        }
        let promise = self.promise;
        let allowed = |l: &Layout| promise.kept(l);
        let limits = Limits { rounds, enough, allowed: &allowed, go_on: self.go_on };
        let ended = improve(layout, aim, &limits, &mut self.dice);
        self.rounds += ended.rounds;
        self.stopped |= ended.stopped;
    }
}

/// Adds jobs one by one while the joint risk allows it; tells whether any was added.
pub(crate) fn add(promise: &Promise, layout: &mut Layout) -> bool {
    let mut dice = Dice::new(0);
    let mut added = false;
    for job in by_density(layout) {
        for rule in RULES {
            if !place(layout, job, rule, &mut dice) {
                break;
            }
            if promise.kept(layout) {
                added = true;
                break;
            }
            layout.take(job);
        }
    }
    added
}
