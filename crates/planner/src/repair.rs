//! Repairing the plan in force after a fact: few changes, at once.
//!
//! A spool that has become too short gives coils of that job away which needs fewest other spools for them; if none can
//! go, that job is dropped without which the plan, its gaps filled again, is worth most.
//!
//! # Sources
//! Few changes rather than a new plan: H. El Sakkout, M. Wallace, Constraints 5 (2000) 359, the idea only.

use crate::construct::{density, sorted};
use crate::dice::Dice;
use crate::door::Shelf;
use crate::layout::{AllGoals, Assignment, Layout, Placed};
use crate::place::{Full, Rule, place_unless_full};
use crate::question::Question;
use std::collections::BTreeMap;

/// Most jobs on a spool times jobs in all for which it is tried what dropping each of them would come to.
const MOST_TRIED: usize = 200_000;

/// The plan in force as it stands, as far as it still names jobs, wires and spools that allow it.
pub(crate) fn incumbent(question: &Question, shelf: &Shelf) -> Assignment {
    let mut by_job: BTreeMap<usize, BTreeMap<usize, u32>> = BTreeMap::new();
    for (&(job, spool), &coils) in shelf.incumbent.iter() {
        by_job.entry(job).or_default().insert(spool, coils);
    }
    let mut assignment: Assignment = vec![None; question.jobs.len()];
    for (job, mut spools) in by_job {
        let item = &shelf.jobs[job];
        for (spool, started) in &item.started {
            if let Some(coils) = spools.get_mut(spool) {
                *coils = coils.saturating_sub(*started);
            }
        }
        spools.retain(|_, coils| *coils > 0);
        let total: u64 = spools.values().map(|&n| u64::from(n)).sum();
        let one = !item.matched || spools.len() <= 1;
        let whole = total == u64::from(item.coils) && one;
        let choice = item.choices.iter().position(|c| spools.keys().all(|s| c.bins.contains(s)));
        if let (true, Some(choice)) = (whole, choice) {
            assignment[job] = Some(Placed { choice, coils: spools.into_iter().collect() });
        }
    }
    assignment
}

/// The plan in force made to fit the shelf; gaps are left open.
pub(crate) fn repair<'a>(question: &Question, shelf: &'a Shelf) -> Layout<'a> {
    let mut layout = Layout::new(shelf);
    for (job, placed) in incumbent(question, shelf).into_iter().enumerate() {
        if let Some(placed) = placed {
            layout.put(job, placed);
        }
    }
    while let Some(spool) = (0..shelf.bins.len()).find(|&i| layout.room(i) < 0 && layout.used[i] > 0) {
        if !relieve(&mut layout, spool) {
            drop_one(&mut layout, spool);
        }
    }
    while let Some(day) = layout.overtime() {
        drop_least(&mut layout, |l, j| l.shelf.jobs[j].day.is_some_and(|d| d <= day));
    }
    layout
}

/// Puts jobs in that are not in the plan, started ones first, then by worth for their wire.
pub(crate) fn fill(layout: &mut Layout) {
    let mut dice = Dice::new(0);
    let mut full = Full::default();
    full.forget(layout.shelf.kinds);
    for job in by_density(layout) {
        place_unless_full(layout, job, Rule::Clean, &mut dice, &mut full);
    }
}

/// Jobs not in the plan, started ones first, then by worth for their wire, then by due day.
pub(crate) fn by_density(layout: &Layout) -> Vec<usize> {
    let shelf = layout.shelf;
    let missing = shelf.by_due.iter().copied().filter(|&j| layout.placed[j].is_none());
    sorted(shelf, missing, &|j| density(shelf, j, 0.8))
}

/// Moves coils of one job off an overfull spool; the job that needs fewest other spools, the least worthy of equals.
fn relieve(layout: &mut Layout, spool: usize) -> bool {
    let over = -layout.room(spool);
    let mut best: Option<(usize, i64, usize, Placed)> = None;
    for job in 0..layout.placed.len() {
        let Some(placed) = &layout.placed[job] else { continue };
        let Some(&(_, here)) = placed.coils.iter().find(|c| c.0 == spool) else { continue };
        let item = &layout.shelf.jobs[job];
        let choice = &item.choices[placed.choice];
        let coils = ((over + choice.need - 1) / choice.need).min(i64::from(here)) as u32;
        let coils = if item.matched { here } else { coils };
        let Some((moved, targets)) = elsewhere(layout, job, placed, spool, coils) else { continue };
        if best.as_ref().is_none_or(|b| (targets, choice.worth, job) < (b.0, b.1, b.2)) {
            best = Some((targets, choice.worth, job, moved));
        }
    }
    let Some((_, _, job, moved)) = best else { return false };
    layout.take(job);
    layout.put(job, moved);
    true
}

/// The job with some coils moved from one spool to others, and to how many; emptiest spools first, for fewest of them.
fn elsewhere(layout: &Layout, job: usize, placed: &Placed, from: usize, coils: u32) -> Option<(Placed, usize)> {
    let item = &layout.shelf.jobs[job];
    let choice = &item.choices[placed.choice];
    let mut rest = i64::from(coils);
    let mut lies: BTreeMap<usize, u32> = placed.coils.iter().copied().collect();
    let mut others: Vec<usize> = choice.bins.iter().copied().filter(|&i| i != from).collect();
    others.sort_by_key(|&i| (-layout.room(i), i));
    let mut targets = 0;
    for i in others {
        let fit = (layout.room(i) / choice.need).min(rest);
        if rest == 0 || fit <= 0 || (item.matched && fit < rest) {
            continue;
        }
        *lies.entry(i).or_default() += fit as u32;
        rest -= fit;
        targets += 1;
    }
    if rest > 0 {
        return None;
    }
    let here = lies.get_mut(&from)?;
    *here -= coils;
    lies.retain(|_, n| *n > 0);
    Some((Placed { choice: placed.choice, coils: lies.into_iter().collect() }, targets))
}

/// Drops one job from an overfull spool: the one without which the plan, its gaps filled again, is best.
fn drop_one(layout: &mut Layout, spool: usize) {
    let on = |l: &Layout, j: usize| l.placed[j].as_ref().is_some_and(|p| p.coils.iter().any(|c| c.0 == spool));
    let mut best: Option<(AllGoals, usize)> = None;
    let candidates = (0..layout.placed.len()).filter(|&j| on(layout, j)).count();
    if candidates * layout.placed.len() > MOST_TRIED {
        return drop_least(layout, on);
    }
    for job in (0..layout.placed.len()).filter(|&j| on(layout, j)) {
        let mut without = layout.clone();
        without.take(job);
        while without.room(spool) < 0 && relieve(&mut without, spool) {}
        if without.room(spool) < 0 {
            continue;
        }
        fill(&mut without);
        let goals = without.all_goals();
        if best.as_ref().is_none_or(|b| goals > b.0) {
            best = Some((goals, job));
        }
    }
    match best {
        Some((_, job)) => drop(layout.take(job)),
        // No single job is enough: the least worthy goes first.
        None => drop_least(layout, on),
    }
}

/// Drops the least worthy of some jobs, one with started coils only if there is no other; later due first among equals.
fn drop_least(layout: &mut Layout, among: impl Fn(&Layout, usize) -> bool) {
    let least = layout
        .shelf
        .by_due
        .iter()
        .rev()
        .copied()
        .filter(|&j| layout.placed[j].is_some() && among(layout, j))
        .min_by_key(|&j| {
            let worth = layout.placed[j].as_ref().map(|p| layout.shelf.jobs[j].choices[p.choice].worth);
            (layout.shelf.jobs[j].must, worth)
        });
    if let Some(job) = least {
        layout.take(job);
    }
}
