//! One round of the search: some jobs taken out, what fits put back in another order, and the way back from there.

use crate::construct::density;
use crate::dice::Dice;
use crate::improve::Aim;
use crate::layout::{Layout, Placed};
use crate::place::{Full, RULES, Rule, place_unless_full};

/// How often the jobs taken out are all of one wire.
const SAME_WIRE: f64 = 0.7;
/// How often spools are taken in any order instead of by rule.
const ANY_SPOOL: f64 = 0.03;
const ANY_SPOOL_FOR_ENDS: f64 = 0.2;
/// How often, with ends as the aim, all jobs of one or two spools are taken out instead.
const BY_SPOOL: f64 = 0.5;
/// Most jobs taken out in a round.
const TAKEN_OUT: usize = 12;
/// Power on the wire in the density by which jobs are put back, and the width of its noise.
const POWER: f64 = 0.65;
const NOISE: f64 = 0.8;

/// What the rounds of a search share.
pub(crate) struct Mill {
    aim: Aim,
    /// Jobs that some wire could carry and that are not all started.
    pub movable: Vec<usize>,
    /// Those that could be made of each wire.
    by_wire: Vec<Vec<usize>>,
    /// Worth for the wire, by job.
    density: Vec<f64>,
    full: Full,
    /// Where the jobs of the last round lay before it.
    old: Vec<(usize, Option<Placed>)>,
    /// Jobs to be put in, in the order of it.
    order: Vec<(bool, f64, usize)>,
}

impl Mill {
    pub fn new(layout: &Layout, aim: Aim) -> Mill {
        let shelf = layout.shelf;
        let movable: Vec<usize> = (0..shelf.jobs.len()).filter(|&j| can_move(layout, j)).collect();
        let mut by_wire = vec![Vec::new(); shelf.wires];
        for &j in &movable {
            shelf.jobs[j].choices.iter().for_each(|c| by_wire[c.wire].push(j));
        }
        let density = (0..shelf.jobs.len()).map(|j| density(shelf, j, POWER)).collect();
        Mill { aim, movable, by_wire, density, full: Full::default(), old: Vec::new(), order: Vec::new() }
    }

    /// One round.
    pub fn turn(&mut self, layout: &mut Layout, dice: &mut Dice) {
        self.old.clear();
        self.order.clear();
        for &job in self.movable.iter().filter(|&&j| layout.placed[j].is_none()) {
            self.order.push((layout.shelf.jobs[job].must, self.noisy_density(job, dice), job));
        }
        match self.aim {
            Aim::Ends if dice.chance(BY_SPOOL) => self.ruin_spools(layout, dice),
            _ => self.ruin(layout, dice),
        }
        for at in 0..self.old.len() {
            let job = self.old[at].0;
            self.order.push((layout.shelf.jobs[job].must, self.noisy_density(job, dice), job));
        }
        self.order.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)).then(a.2.cmp(&b.2)));
        let (rule, any) = match self.aim {
            Aim::Ends if dice.chance(0.5) => (Rule::Clean, ANY_SPOOL_FOR_ENDS),
            Aim::Ends => (RULES[dice.below(RULES.len())], ANY_SPOOL_FOR_ENDS),
            Aim::Value => (RULES[dice.below(RULES.len())], ANY_SPOOL),
        };
        self.full.forget(layout.shelf.kinds);
        let out = self.old.len();
        for &(_, _, job) in &self.order {
            let rule = if dice.chance(any) { Rule::Random } else { rule };
            if place_unless_full(layout, job, rule, dice, &mut self.full)
                && !self.old[..out].iter().any(|(j, _)| *j == job)
            {
                self.old.push((job, None));
            }
        }
    }

    /// Undoes the last round.
    pub fn turn_back(&mut self, layout: &mut Layout) {
        for (job, _) in &self.old {
            layout.take(*job);
        }
        for (job, placed) in self.old.drain(..) {
            if let Some(placed) = placed {
                layout.put(job, placed);
            }
        }
    }

    /// Takes a few jobs out, mostly of one wire.
    fn ruin(&mut self, layout: &mut Layout, dice: &mut Dice) {
        let start = dice.below(self.movable.len());
        let (later, earlier) = (&self.movable[start..], &self.movable[..start]);
        let first = later.iter().chain(earlier).copied().find(|&j| layout.placed[j].is_some());
        let Some(first) = first else { return };
        let wire = layout.placed[first].as_ref().map_or(0, |p| layout.shelf.jobs[first].choices[p.choice].wire);
        let same = dice.chance(SAME_WIRE);
        let pool = if same { &self.by_wire[wire] } else { &self.movable };
        let on_it = |layout: &Layout, j: usize| {
            layout.placed[j].as_ref().is_some_and(|p| !same || layout.shelf.jobs[j].choices[p.choice].wire == wire)
        };
        self.old.push((first, layout.take(first)));
        for _ in 0..dice.below(TAKEN_OUT) {
            let job = pool[dice.below(pool.len())];
            if on_it(layout, job) {
                self.old.push((job, layout.take(job)));
            }
        }
    }

    /// Takes all jobs out that have coils on one or two spools.
    fn ruin_spools(&mut self, layout: &mut Layout, dice: &mut Dice) {
        let touched: Vec<usize> = (0..layout.used.len()).filter(|&i| layout.used[i] > 0).collect();
        if touched.is_empty() {
            return;
        }
        let spools = [touched[dice.below(touched.len())], touched[dice.below(touched.len())]];
        for &job in &self.movable {
            if layout.placed[job].as_ref().is_some_and(|p| p.coils.iter().any(|c| spools.contains(&c.0))) {
                self.old.push((job, layout.take(job)));
            }
        }
    }

    fn noisy_density(&self, job: usize, dice: &mut Dice) -> f64 {
        self.density[job] * (1.0 + NOISE * (dice.unit() - 0.5))
    }
}

/// A job can move if some wire could carry it and it is not all started.
fn can_move(layout: &Layout, job: usize) -> bool {
    let item = &layout.shelf.jobs[job];
    item.coils > 0
        && item.choices.iter().any(|c| {
            let fit: i64 = c.bins.iter().map(|&i| layout.shelf.bins[i].room / c.need).sum();
            fit >= i64::from(item.coils)
        })
}
