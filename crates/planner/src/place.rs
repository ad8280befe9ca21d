//! Placing one job: which spools give its coils, by one of a few rules.

use crate::dice::Dice;
use crate::layout::{Layout, Placed};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// In which order spools are asked for coils.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Rule {
    /// The spool whose rest would be least if all of it went into this coil.
    LeastResidue,
    /// The fullest spool first.
    LeastRoom,
    /// The emptiest spool first.
    MostRoom,
    /// The spool that leaves no useless end, already touched before untouched.
    Clean,
    /// Any.
    Random,
}

/// The fixed rules, in the order in which constructions try them.
pub(crate) const RULES: [Rule; 4] = [Rule::LeastResidue, Rule::LeastRoom, Rule::MostRoom, Rule::Clean];

/// What is known not to fit: by kind of coil the least number for which there was no room. It holds as long as coils are
/// put on and none is taken off.
#[derive(Debug, Clone, Default)]
pub(crate) struct Full(Vec<u32>);

impl Full {
    /// Nothing is known yet.
    pub fn forget(&mut self, kinds: usize) {
        self.0.clear();
        self.0.resize(kinds, u32::MAX);
    }

    fn knows(&self, kind: usize, coils: u32) -> bool {
        self.0.get(kind).is_some_and(|&least| coils >= least)
    }

    fn learn(&mut self, kind: usize, coils: u32) {
        if let Some(least) = self.0.get_mut(kind) {
            *least = coils.min(*least);
        }
    }
}

/// Puts a job into the plan by a rule, on the best of its wires that has room; false (and nothing changed) if none has.
pub(crate) fn place(layout: &mut Layout, job: usize, rule: Rule, dice: &mut Dice) -> bool {
    place_unless_full(layout, job, rule, dice, &mut Full::default())
}

/// The same without a look at spools that are known to have no room; what is found not to fit is added to that.
pub(crate) fn place_unless_full(layout: &mut Layout, job: usize, rule: Rule, dice: &mut Dice, full: &mut Full) -> bool {
    if !layout.has_time(job) {
        return false;
    }
    let item = &layout.shelf.jobs[job];
    for (choice, way) in item.choices.iter().enumerate() {
        if full.knows(way.kind, item.coils) {
            continue;
        }
        if let Some(coils) = find(layout, job, choice, rule, dice) {
            layout.put(job, Placed { choice, coils });
            return true;
        }
        // That a matched set finds no spool says nothing of loose coils.
        if !item.matched {
            full.learn(way.kind, item.coils);
        }
    }
    false
}

/// A spool that could give coils: its place in the order of the rule, itself, how many coils.
type Offer = ((i64, i64, i64), usize, i64);

/// Spools for all coils of a job on one wire; none if they have not the room.
fn find(layout: &Layout, job: usize, choice: usize, rule: Rule, dice: &mut Dice) -> Option<Vec<(usize, u32)>> {
    let item = &layout.shelf.jobs[job];
    let way = &item.choices[choice];
    let coils = i64::from(item.coils);
    if coils == 0 {
        return Some(Vec::new());
    }
    if layout.wire_room(way.wire) < coils * way.need {
        return None;
    }
    let least = if item.matched { coils } else { 1 };
    let mut fit = 0;
    let mut spools: Vec<Reverse<Offer>> = Vec::with_capacity(way.bins.len());
    let all = coils * way.need;
    for &i in way.bins.iter() {
        let room = layout.room(i);
        if room < way.need * least {
            continue;
        }
        let most = if room >= all { coils } else { room / way.need };
        fit += most;
        let residue = room - most * way.need;
        let bin = &layout.shelf.bins[i];
        let key = match rule {
            Rule::LeastResidue => (residue, room, bin.rank),
            Rule::LeastRoom => (room, residue, bin.rank),
            Rule::MostRoom => (-room, residue, bin.rank),
            Rule::Clean => {
                let left = layout.left(i) - most * way.need;
                let waste = if left < bin.usual { left.max(0) } else { 0 };
                (waste, i64::from(!layout.is_touched(i)), -bin.age)
            }
            Rule::Random => ((dice.bits() >> 2) as i64, 0, bin.rank),
        };
        spools.push(Reverse((key, i, most)));
    }
    if fit < coils {
        return None;
    }
    // A heap: few of many spools are taken.
    let mut spools = BinaryHeap::from(spools);
    let mut rest = coils;
    let mut taken: Vec<(usize, u32)> = Vec::new();
    while rest > 0
        && let Some(Reverse((key, i, most))) = spools.pop()
    {
        let (from, n) = if most > rest && rule != Rule::Random {
            let exact = |o: &&Reverse<Offer>| layout.room(o.0.1) == way.need * rest;
            let first = spools.iter().filter(exact).map(|o| o.0).min().unwrap_or((key, i, most));
            (if layout.room(i) == way.need * rest { i } else { first.1 }, rest)
        } else {
            (i, most.min(rest))
        };
        taken.push((from, n as u32));
        rest -= n;
    }
    taken.sort_unstable();
    Some(taken)
}
