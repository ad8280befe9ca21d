//! Last touches: single jobs and whole loads moved between spools wherever that serves a goal and harms no earlier one.
//!
//! The search looks at value, ends and spools touched; this is where changes to the plan in force, sealed spools, age
//! and names are looked at too. Every move is tried on all goals in their order.

use crate::dice::Dice;
use crate::layout::{AllGoals, Layout, Placed};
use crate::place::{Rule, place};
use crate::promise::Promise;
use crate::repair::incumbent;
use std::collections::BTreeMap;

/// Most passes over all moves; plans rarely need a third.
const PASSES: u32 = 4;

/// Improves the plan by single moves until none helps.
pub(crate) fn polish(promise: &Promise, layout: &mut Layout, go_on: &dyn Fn() -> bool) {
    let goals = layout.all_goals();
    let mut cloth = Cloth { promise, layout, goals };
    for _ in 0..PASSES {
        let mut moved = cloth.as_before();
        for job in 0..cloth.layout.placed.len() {
            if !go_on() {
                return;
            }
            moved |= cloth.one_job(job);
        }
        for spool in 0..cloth.layout.used.len() {
            if !go_on() {
                return;
            }
            moved |= cloth.clear(spool) || cloth.whole_load(spool);
        }
        if !moved {
            return;
        }
    }
}

/// A plan with all its goals, which cost more to find than to keep.
struct Cloth<'p, 's, 'l> {
    promise: &'p Promise<'p>,
    layout: &'l mut Layout<'s>,
    goals: AllGoals,
}

impl Cloth<'_, '_, '_> {
    /// Jobs put back where the plan in force has them.
    fn as_before(&mut self) -> bool {
        if self.layout.shelf.incumbent.is_empty() {
            return false;
        }
        let mut moved = false;
        for (job, before) in incumbent(self.promise.question, self.layout.shelf).into_iter().enumerate() {
            if let Some(before) = before
                && self.layout.placed[job].as_ref().is_some_and(|now| *now != before)
            {
                moved |= self.try_moves(vec![(job, before)]);
            }
        }
        moved
    }

    /// Coils that a job has on one spool moved to another: all of them, or one.
    fn one_job(&mut self, job: usize) -> bool {
        let mut moved = false;
        let Some(start) = self.layout.placed[job].clone() else { return false };
        let choice = &self.layout.shelf.jobs[job].choices[start.choice];
        for &(from, _) in &start.coils {
            for &to in choice.bins.iter() {
                let Some(now) = &self.layout.placed[job] else { return moved };
                let here = now.coils.iter().find(|c| c.0 == from).map_or(0, |c| c.1);
                let fit = self.layout.room(to) / choice.need;
                if to == from || here == 0 || fit <= 0 {
                    continue;
                }
                let matched = self.layout.shelf.jobs[job].matched;
                let all = (fit >= i64::from(here)).then(|| shifted(now, from, to, here));
                let one = (here > 1 && !matched).then(|| shifted(now, from, to, 1));
                moved |= all.is_some_and(|all| self.try_moves(vec![(job, all)]))
                    || one.is_some_and(|one| self.try_moves(vec![(job, one)]));
            }
        }
        moved
    }

    /// Everything on one spool moved to an untouched one.
    fn whole_load(&mut self, from: usize) -> bool {
        let bins = &self.layout.shelf.bins;
        let load = self.layout.used[from];
        if load == 0 {
            return false;
        }
        let jobs = self.on(from);
        for to in (0..bins.len()).filter(|&to| bins[to].wire == bins[from].wire) {
            if to == from || self.layout.is_touched(to) || self.layout.room(to) < load {
                continue;
            }
            let allowed = |(j, p): &(usize, Placed)| self.layout.shelf.jobs[*j].choices[p.choice].bins.contains(&to);
            if jobs.iter().all(allowed) {
                let all = |p: &Placed| p.coils.iter().find(|c| c.0 == from).map_or(0, |c| c.1);
                let moves = jobs.iter().map(|(j, p)| (*j, shifted(p, from, to, all(p)))).collect();
                if self.try_moves(moves) {
                    return true;
                }
            }
        }
        false
    }

    /// The jobs of one spool placed anew, so that it need not be touched, or ends well.
    fn clear(&mut self, spool: usize) -> bool {
        let jobs = self.on(spool);
        if jobs.is_empty() {
            return false;
        }
        let mut dice = Dice::new(spool as u64);
        for rule in [Rule::Clean, Rule::LeastRoom, Rule::LeastResidue] {
            jobs.iter().for_each(|(job, _)| drop(self.layout.take(*job)));
            let placed = jobs.iter().all(|(job, _)| place(self.layout, *job, rule, &mut dice));
            if placed && self.keep() {
                return true;
            }
            self.restore(&jobs);
        }
        false
    }

    /// Jobs with coils on a spool, and where all their coils lie.
    fn on(&self, spool: usize) -> Vec<(usize, Placed)> {
        let placed = self.layout.placed.iter().enumerate();
        let here =
            placed.filter_map(|(j, p)| Some((j, p.as_ref()?))).filter(|(_, p)| p.coils.iter().any(|c| c.0 == spool));
        here.map(|(j, p)| (j, p.clone())).collect()
    }

    /// Makes the moves if they fit, serve the goals and keep the promise; tells whether they were made.
    fn try_moves(&mut self, moves: Vec<(usize, Placed)>) -> bool {
        let take = |(job, _): &(usize, Placed)| Some((*job, self.layout.take(*job)?));
        let old: Vec<(usize, Placed)> = moves.iter().filter_map(take).collect();
        let fits = moves.into_iter().all(|(job, next)| {
            let fits = self.layout.fits(job, &next);
            if fits {
                self.layout.put(job, next);
            }
            fits
        });
        if fits && self.keep() {
            return true;
        }
        self.restore(&old);
        false
    }

    /// Whether the plan as it is now is better than before and keeps the promise.
    fn keep(&mut self) -> bool {
        if self.layout.goals() < self.goals.0 {
            return false;
        }
        let goals = self.layout.all_goals();
        let better = goals > self.goals && self.promise.kept(self.layout);
        if better {
            self.goals = goals;
        }
        better
    }

    fn restore(&mut self, old: &[(usize, Placed)]) {
        for (job, _) in old {
            self.layout.take(*job);
        }
        for (job, placed) in old {
            self.layout.put(*job, placed.clone());
        }
    }
}

/// Some coils of one spool on another instead.
fn shifted(placed: &Placed, from: usize, to: usize, coils: u32) -> Placed {
    let mut lies: BTreeMap<usize, u32> = placed.coils.iter().copied().collect();
    if let Some(here) = lies.get_mut(&from) {
        *here = here.saturating_sub(coils);
        *lies.entry(to).or_default() += coils;
    }
    lies.retain(|_, n| *n > 0);
    Placed { choice: placed.choice, coils: lies.into_iter().collect() }
}
