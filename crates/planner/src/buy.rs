//! The cheapest purchase for several refused jobs together: sizes and numbers in the order of their cost, the first one
//! whose plan does all the jobs.

use crate::answer::{Purchase, PurchaseLine};
use crate::dice::Dice;
use crate::improve::{Aim, Limits, improve};
use crate::layout::Layout;
use crate::place::{RULES, place};
use crate::plan::assigned;
use crate::promise::Promise;
use crate::question::{Offer, Question, Spool};
use crate::repair::{by_density, repair};
use crate::risk::plan_risk;
use std::collections::BTreeSet;

/// Most sizes of one wire looked at, cheapest first, and most spools bought of one wire.
const MOST_SIZES: usize = 6;
const MOST_SPOOLS: u32 = 4;
/// Rounds of improvement for one combination that plain orders do not solve.
const ROUNDS: u32 = 60;

/// The cheapest purchase that lets all jobs be done which are refused and could be bought for; `layout` is the plan.
/// Wires for which no purchase within the limits does all its jobs are left out.
pub(crate) fn purchase(promise: &Promise, layout: &Layout, go_on: &dyn Fn() -> bool) -> Option<Purchase> {
    let question = promise.question;
    let wires: BTreeSet<&str> = question.supply.iter().map(|o| o.wire.as_str()).collect();
    let mut booked = layout.clone();
    let mut all: Option<Purchase> = None;
    for wire in wires {
        let mut targets = Vec::new();
        for job in by_density(layout) {
            let asked = &question.jobs[job];
            let elsewhere = layout.shelf.jobs[job].started.iter().any(|&(i, _)| question.spools[i].wire != wire);
            if asked.wire == wire && !elsewhere && asked.only_from.is_none() && booked.has_time(job) {
                booked.book_time(job);
                targets.push(job);
            }
        }
        targets.sort_unstable();
        if targets.is_empty() {
            continue;
        }
        let Some(found) = for_wire(promise, layout, wire, &targets, go_on) else { continue };
        all = Some(match all.take() {
            None => found,
            Some(mut sum) => {
                sum.lines.extend(found.lines);
                sum.cost = sum.cost.saturating_add(found.cost);
                sum.lead_days = sum.lead_days.max(found.lead_days);
                sum.jobs.extend(found.jobs);
                sum
            }
        });
    }
    all
}

fn for_wire(
    promise: &Promise,
    layout: &Layout,
    wire: &str,
    targets: &[usize],
    go_on: &dyn Fn() -> bool,
) -> Option<Purchase> {
    let question = promise.question;
    let mut offers: Vec<&Offer> = question.supply.iter().filter(|o| o.wire == wire).collect();
    offers.sort_by_key(|o| o.price);
    offers.truncate(MOST_SIZES);
    let base = only_wire(promise, layout, wire, targets);
    for counts in combinations(&offers) {
        if !go_on() {
            return None;
        }
        if !does_all(&base, &offers, &counts, go_on) {
            continue;
        }
        let bought = || offers.iter().zip(&counts).filter(|(_, n)| **n > 0);
        return Some(Purchase {
            lines: bought().map(|(o, &count)| PurchaseLine { offer: o.id.clone(), count }).collect(),
            cost: cost(&offers, &counts),
            lead_days: bought().map(|(o, _)| o.lead_days).max().unwrap_or(0),
            jobs: targets.iter().map(|&j| question.jobs[j].id.clone()).collect(),
        });
    }
    None
}

/// The question of one wire: its spools, the jobs planned on it, the jobs to buy for, what is left of the risk. Time is
/// booked already.
fn only_wire(promise: &Promise, layout: &Layout, wire: &str, targets: &[usize]) -> Question {
    let question = promise.question;
    let here = |i: usize| question.spools[i].wire == wire;
    let on_wire = |j: usize| {
        let item = &layout.shelf.jobs[j];
        let coils = layout.placed[j].as_ref().map(|p| &p.coils);
        targets.contains(&j) || item.started.iter().chain(coils.into_iter().flatten()).any(|&(i, _)| here(i))
    };
    let elsewhere: Vec<_> = promise.loads(layout, false).into_iter().filter(|l| !here(l.0)).collect();
    let risk = question.risk.map(|risk| {
        let rest = 1.0 - (1.0 - risk) / (1.0 - plan_risk(question, &elsewhere));
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
fn does_all(base: &Question, offers: &[&Offer], counts: &[u32], go_on: &dyn Fn() -> bool) -> bool {
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
    let need: i64 =
        promise.loosest.jobs.iter().filter_map(|j| Some(j.choices.first()?.need * i64::from(j.coils))).sum();
    if need > promise.loosest.bins.iter().map(|b| b.room).sum() {
        return false;
    }
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

/// All numbers of spools by offer, cheapest first, then fewest spools.
fn combinations(offers: &[&Offer]) -> Vec<Vec<u32>> {
    let mut all = vec![vec![0; offers.len()]];
    for at in 0..offers.len() {
        let mut more = Vec::new();
        for counts in &all {
            let have: u32 = counts.iter().sum();
            for n in 1..=MOST_SPOOLS.saturating_sub(have) {
                let mut next = counts.clone();
                next[at] = n;
                more.push(next);
            }
        }
        all.extend(more);
    }
    all.retain(|counts| counts.iter().sum::<u32>() > 0);
    all.sort_by_key(|counts| (cost(offers, counts), counts.iter().sum::<u32>()));
    all
}
