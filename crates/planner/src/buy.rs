//! The cheapest purchase of one wire for several refused jobs together: sizes and numbers in the order of their cost, the first one
//! whose plan does all the jobs.
//!
//! Combinations are drawn one by one, cheapest first; most fall at once because their wire is too little in all, or in
//! pieces too short. Where thousands were drawn in vain, one size alone is taken, as many spools of it as it needs, and
//! the purchase says that cheaper ones were not all tried.

use crate::answer::{Purchase, PurchaseLine};
use crate::dice::Dice;
use crate::door::{Shelf, mm_down, mm_up};
use crate::improve::{Aim, Limits, improve};
use crate::layout::Layout;
use crate::place::{RULES, place};
use crate::plan::assigned;
use crate::promise::Promise;
use crate::question::{Offer, Question, Spool};
use crate::repair::{by_density, repair};
use crate::risk::plan_risk;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Most combinations drawn for one wire, and most of them planned with.
const MOST_DRAWN: usize = 20_000;
const MOST_PLANNED: usize = 250;
/// Most spools of one size.
const MOST_SPOOLS: u32 = 1000;
/// Rounds of improvement for one combination that plain orders do not solve.
const ROUNDS: u32 = 60;
/// Lengths of coils by whose steps a combination is looked at before it is planned with.
const MOST_STEPS: usize = 12;

/// The cheapest purchase of one wire that lets all `targets` be done on it, if it costs less than `below`. The wire is one
/// of `wires` that share what is left of the risk; 1 leaves it all of that.
pub(crate) fn for_wire(
    promise: &Promise,
    layout: &Layout,
    (wire, wires): (&str, usize),
    targets: &[usize],
    below: Option<u64>,
    go_on: &dyn Fn() -> bool,
) -> Option<Purchase> {
    let question = promise.question;
    let base = only_wire(promise, layout, (wire, wires), targets);
    let shelf = Promise::new(&base).ok()?.loosest;
    let shortest = coils(&base).map(|c| c.0).min().unwrap_or(0);
    let holds_one = |o: &&Offer| o.wire == wire && mm_down(o.left.value) >= shortest;
    let mut offers: Vec<&Offer> = question.supply.iter().filter(holds_one).collect();
    offers.sort_by_key(|o| o.price);
    let rulers = rulers(&base, &shelf, &offers);
    let (mut drawn, mut planned) = (0, 0);
    let mut heap = BinaryHeap::from([Reverse((0, 0, vec![0; offers.len()]))]);
    let mut found: Option<(Vec<u32>, bool)> = None;
    while let Some(Reverse((price, _, counts))) = heap.pop() {
        if below.is_some_and(|below| price >= below) {
            return None;
        }
        drawn += 1;
        if drawn > MOST_DRAWN || planned >= MOST_PLANNED || !go_on() {
            break;
        }
        let some = counts.iter().any(|&n| n > 0);
        if some && rulers.iter().all(|r| r.holds(&counts)) {
            planned += 1;
            if does_all(&base, &offers, &counts, go_on) {
                found = Some((counts, true));
                break;
            }
        }
        // Each combination is reached by one way only: spools are added from the last size in it on.
        for at in counts.iter().rposition(|&n| n > 0).unwrap_or(0)..offers.len() {
            let mut next = counts.clone();
            next[at] += 1;
            heap.push(Reverse((cost(&offers, &next), next.iter().sum::<u32>(), next)));
        }
    }
    let (counts, all_cheaper_tried) = found.or_else(|| Some((one_size(&base, &offers, &rulers, go_on)?, false)))?;
    let bought = || offers.iter().zip(&counts).filter(|(_, n)| **n > 0);
    Some(Purchase {
        lines: bought().map(|(o, &count)| PurchaseLine { offer: o.id.clone(), count }).collect(),
        cost: cost(&offers, &counts),
        lead_days: bought().map(|(o, _)| o.lead_days).max().unwrap_or(0),
        all_cheaper_tried,
        jobs: targets.iter().map(|&j| question.jobs[j].id.clone()).collect(),
        made_of: vec![wire.to_owned(); targets.len()],
    })
}

/// As many spools of one size as it needs, of the size with which that is cheapest.
fn one_size(base: &Question, offers: &[&Offer], rulers: &[Ruler], go_on: &dyn Fn() -> bool) -> Option<Vec<u32>> {
    let mut best: Option<(u64, Vec<u32>)> = None;
    for at in 0..offers.len() {
        let counts = |n: u32| (0..offers.len()).map(|i| if i == at { n } else { 0 }).collect::<Vec<u32>>();
        let enough = |n: u32| rulers.iter().all(|r| r.holds(&counts(n))) && does_all(base, offers, &counts(n), go_on);
        let mut high = 1;
        while high < MOST_SPOOLS && !rulers.iter().all(|r| r.holds(&counts(high))) {
            high *= 2;
        }
        while high < MOST_SPOOLS && go_on() && !enough(high) {
            high *= 2;
        }
        if high >= MOST_SPOOLS || !go_on() {
            continue;
        }
        let mut low = high / 2;
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if enough(middle) { high = middle } else { low = middle }
        }
        let price = cost(offers, &counts(high));
        if go_on() && best.as_ref().is_none_or(|b| price < b.0) {
            best = Some((price, counts(high)));
        }
    }
    best.map(|b| b.1)
}

/// What all coils take in whole steps of a length, and what the spools that are there and those that are sold give.
struct Ruler {
    takes: i64,
    there: i64,
    sold: Vec<i64>,
}

impl Ruler {
    fn holds(&self, counts: &[u32]) -> bool {
        let bought = self.sold.iter().zip(counts).map(|(one, &n)| one.saturating_mul(i64::from(n)));
        bought.fold(self.there, i64::saturating_add) >= self.takes
    }
}

/// Length and number of the coils that still need a place, by job.
fn coils(base: &Question) -> impl Iterator<Item = (i64, i64)> + '_ {
    let rest = |j: &crate::question::Job| i64::from(j.coils.saturating_sub(j.started_coils()));
    base.jobs.iter().map(move |j| (mm_up(j.need.total()).max(1), rest(j))).filter(|c| c.1 > 0)
}

/// Rulers in steps of a millimetre and of the longest coils.
fn rulers(base: &Question, shelf: &Shelf, offers: &[&Offer]) -> Vec<Ruler> {
    let mut steps: Vec<i64> = coils(base).map(|c| c.0).collect();
    steps.sort_unstable_by_key(|&s| Reverse(s));
    steps.dedup();
    steps.truncate(MOST_STEPS);
    let in_steps = |step: i64| Ruler {
        takes: coils(base).map(|(need, coils)| need / step * coils).sum(),
        there: shelf.bins.iter().map(|b| b.room / step).sum(),
        sold: offers.iter().map(|o| mm_down(o.left.value) / step).collect(),
    };
    std::iter::once(1).chain(steps).map(in_steps).collect()
}

/// The question of one wire: its spools, the jobs planned on it, the jobs to buy for, what is left of the risk. Time is
/// booked already.
fn only_wire(promise: &Promise, layout: &Layout, (wire, wires): (&str, usize), targets: &[usize]) -> Question {
    let question = promise.question;
    let here = |i: usize| question.spools[i].wire == wire;
    let on_wire = |j: usize| {
        let item = &layout.shelf.jobs[j];
        let coils = layout.placed[j].as_ref().map(|p| &p.coils);
        targets.contains(&j) || item.started.iter().chain(coils.into_iter().flatten()).any(|&(i, _)| here(i))
    };
    let elsewhere: Vec<_> = promise.loads(layout, false).into_iter().filter(|l| !here(l.0)).collect();
    let risk = question.risk.map(|risk| {
        let kept = (1.0 - risk) / (1.0 - plan_risk(question, &elsewhere));
        let rest = 1.0 - libm::pow(kept, 1.0 / wires.max(1) as f64);
        rest.max(1e-9)
    });
    let stays = |j: usize| {
        let mut job = question.jobs[j].clone();
        // A job that the plan makes of this wire as a substitute stays on it.
        job.need = job.need_on(wire).unwrap_or(job.need);
        job.wire = wire.to_owned();
        job.alternates.clear();
        job.minutes = 0.0;
        job.priority = job.priority.max(1);
        if !targets.contains(&j) && layout.placed[j].is_none() {
            // Left out for want of time: of it only the started coils are there.
            job.coils = job.started_coils();
        }
        job
    };
    let jobs = (0..question.jobs.len()).filter(|&j| on_wire(j)).map(stays).collect();
    Question {
        spools: question.spools.iter().filter(|s| s.wire == wire).cloned().collect(),
        jobs,
        risk,
        minutes_per_day: None,
        incumbent: assigned(question, layout).into_iter().filter(|a| a.wire == wire).collect(),
        supply: Vec::new(),
        ..question.clone()
    }
}

/// Whether all jobs of the question can be done once these spools are there.
pub(crate) fn does_all(base: &Question, offers: &[&Offer], counts: &[u32], go_on: &dyn Fn() -> bool) -> bool {
    let mut question = base.clone();
    for (offer, &count) in offers.iter().zip(counts) {
        for n in 0..count {
            let id = format!("{}#{n}", offer.id);
            question.spools.push(Spool {
                draw_doubt: offer.draw_doubt,
                opened: false,
                ..Spool::new(&id, &offer.wire, offer.left)
            });
        }
    }
    let Ok(promise) = Promise::new(&question) else { return false };
    let whole = |l: &Layout| l.missing().next().is_none() && promise.kept(l);
    let mut dice = Dice::new(1);
    // The plan as it is with the new jobs beside it.
    let mut best = repair(&question, &promise.loosest);
    for job in by_density(&best) {
        let _ = RULES.iter().any(|&rule| place(&mut best, job, rule, &mut dice));
    }
    if whole(&best) {
        return true;
    }
    let mut shelves = vec![promise.loosest.clone()];
    if let Some((_, tight)) = promise.factors() {
        shelves.push(promise.shelf(tight));
    }
    for shelf in &shelves {
        for order in crate::construct::orders(shelf) {
            if !go_on() {
                return false;
            }
            for rule in RULES {
                let mut layout = Layout::new(shelf);
                for &job in &order {
                    place(&mut layout, job, rule, &mut dice);
                }
                if whole(&layout) {
                    return true;
                }
                if layout.value() > best.value() {
                    best = Layout::from(&promise.loosest, &layout.placed);
                }
            }
        }
    }
    let enough = best.shelf.jobs.iter().filter_map(|j| Some(j.choices.first()?.worth)).sum();
    let limits = Limits { rounds: ROUNDS, enough, allowed: &|l| promise.kept(l), go_on };
    improve(&mut best, Aim::Value, &limits, &mut dice);
    whole(&best)
}

fn cost(offers: &[&Offer], counts: &[u32]) -> u64 {
    offers.iter().zip(counts).fold(0, |sum, (o, &n)| sum.saturating_add(o.price.saturating_mul(u64::from(n))))
}
