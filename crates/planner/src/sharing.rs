//! The cheapest purchase for all refused jobs: in which of the wires that it accepts each of them is bought for.
//!
//! A wire costs whole spools, so that where two jobs share one may be cheaper than the cheapest for each. Few sharings are
//! all tried; of many, those that turn all jobs to one wire and then one job after the other, and the purchase says that
//! cheaper ones were not all tried.

use crate::answer::Purchase;
use crate::buy::{does_all, for_wire};
use crate::layout::Layout;
use crate::plan::assigned;
use crate::promise::Promise;
use crate::question::{Offer, Question};
use crate::repair::by_density;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// Most ways of sharing the jobs out over the wires that they accept for which all are tried.
const MOST_SHARINGS: usize = 16;
/// Where there are more: most jobs that are turned to another wire one by one, and most jobs for which that is done at all.
const MOST_TURNED: usize = 8;
const MOST_JOBS: usize = 40;

/// The cheapest purchase that lets all jobs be done which are refused and could be bought for; `layout` is the plan. A job may be bought for in any wire that it accepts, its own where that costs no
/// more. Wires for which no purchase does all its jobs are left out.
pub(crate) fn purchase(promise: &Promise, layout: &Layout, go_on: &dyn Fn() -> bool) -> Option<Purchase> {
    let mut booked = layout.clone();
    let mut jobs: Vec<(usize, Vec<&str>)> = Vec::new();
    for job in by_density(layout) {
        let ways = sold(promise, layout, job);
        let any_spool = promise.question.jobs[job].only_from.is_none();
        if any_spool && !ways.is_empty() && booked.has_time(job) {
            booked.book_time(job);
            jobs.push((job, ways));
        }
    }
    jobs.sort_unstable();
    let sharings = jobs.iter().try_fold(1_usize, |n, (_, ways)| n.checked_mul(ways.len())).unwrap_or(usize::MAX);
    let all = sharings <= MOST_SHARINGS;
    let mut counter = Counter { promise, layout, jobs: &jobs, known: BTreeMap::new(), sharers: 1, go_on };
    let own = vec![0; jobs.len()];
    let parts = counter.parts(&own, None).unwrap_or_default();
    let mut best = (own, parts);
    // Every sharing where they are few; else all that can to one wire, then one job after the other.
    let tried: Vec<Sharing> = if all {
        (1..sharings).map(|n| nth(&jobs, n)).collect()
    } else if jobs.len() > MOST_JOBS {
        Vec::new()
    } else {
        let wires: BTreeSet<&str> = jobs.iter().flat_map(|(_, ways)| ways.iter().copied()).collect();
        let at = |ways: &[&str], wire: &str| ways.iter().position(|w| *w == wire).unwrap_or(0);
        wires.into_iter().map(|wire| jobs.iter().map(|(_, ways)| at(ways, wire)).collect()).collect()
    };
    for sharing in tried {
        counter.take_better(&mut best, sharing);
    }
    let turned = jobs
        .iter()
        .enumerate()
        .filter(|(_, (_, ways))| !all && jobs.len() <= MOST_JOBS && ways.len() > 1)
        .take(MOST_TURNED);
    for (i, (_, ways)) in turned {
        for way in 0..ways.len() {
            let mut sharing = best.0.clone();
            sharing[i] = way;
            counter.take_better(&mut best, sharing);
        }
    }
    // Each wire was left all of the risk that the plan leaves. Where that is too much for all of them, they share it.
    let shared = best.1.len() > 1 && !together(promise, layout, &best.1, go_on);
    if shared {
        counter.known.clear();
        counter.sharers = best.1.len();
        best.1 = counter.parts(&best.0, None).unwrap_or_default();
    }
    let mut sum: Option<Purchase> = None;
    for found in best.1 {
        sum = Some(match sum.take() {
            None => found,
            Some(mut sum) => {
                sum.lines.extend(found.lines);
                sum.cost = sum.cost.saturating_add(found.cost);
                sum.lead_days = sum.lead_days.max(found.lead_days);
                sum.all_cheaper_tried &= found.all_cheaper_tried;
                sum.jobs.extend(found.jobs);
                sum.made_of.extend(found.made_of);
                sum
            }
        });
    }
    sum.map(|p| Purchase { all_cheaper_tried: p.all_cheaper_tried && all && !shared && go_on(), ..p })
}

/// The wires of a job that are sold, its own first; begun coils hold it to theirs.
fn sold<'a>(promise: &Promise<'a>, layout: &Layout, job: usize) -> Vec<&'a str> {
    let question = promise.question;
    let asked = &question.jobs[job];
    let begun: BTreeSet<&str> =
        layout.shelf.jobs[job].started.iter().map(|&(i, _)| question.spools[i].wire.as_str()).collect();
    let accepted = std::iter::once(&asked.wire).chain(asked.alternates.iter().map(|a| &a.wire));
    let mut ways: Vec<&str> = Vec::new();
    for wire in accepted.map(String::as_str) {
        let worth_it = wire == asked.wire || asked.worth_on(wire).unwrap_or(0) > 0;
        let holds = begun.iter().all(|on| *on == wire);
        if worth_it && holds && !ways.contains(&wire) && question.supply.iter().any(|o| o.wire == wire) {
            ways.push(wire);
        }
    }
    ways
}

/// By job, which of its wires it is bought for in.
type Sharing = Vec<usize>;

fn nth(jobs: &[(usize, Vec<&str>)], mut n: usize) -> Sharing {
    let mut digit = |ways: usize| {
        let d = n % ways;
        n /= ways;
        d
    };
    jobs.iter().map(|(_, ways)| digit(ways.len())).collect()
}

/// What sharings of the jobs over the wires cost; each wire with the same jobs is looked at once.
struct Counter<'a> {
    promise: &'a Promise<'a>,
    layout: &'a Layout<'a>,
    jobs: &'a [(usize, Vec<&'a str>)],
    known: BTreeMap<(&'a str, Vec<usize>), Option<Purchase>>,
    /// Wires that share what is left of the risk.
    sharers: usize,
    go_on: &'a dyn Fn() -> bool,
}

impl<'a> Counter<'a> {
    /// The purchases of a sharing; none as soon as it is no better than `than` (jobs done, cost).
    fn parts(&mut self, sharing: &Sharing, than: Option<Worth>) -> Option<Vec<Purchase>> {
        let mut by_wire: BTreeMap<&'a str, Vec<usize>> = BTreeMap::new();
        for ((job, ways), &way) in self.jobs.iter().zip(sharing) {
            by_wire.entry(ways[way]).or_default().push(*job);
        }
        let mut parts = Vec::new();
        let mut most: Worth = (self.jobs.len(), Reverse(0));
        for (wire, targets) in by_wire {
            let (promise, layout, go_on) = (self.promise, self.layout, self.go_on);
            let key = (wire, targets);
            // With as many jobs done, only what costs less is of use.
            let below = than.filter(|than| most.0 == than.0).map(|than| than.1.0.saturating_sub(most.1.0));
            let found = match self.known.get(&key) {
                Some(known) => known.clone(),
                None => for_wire(promise, layout, (wire, self.sharers), &key.1, below, go_on),
            };
            match &found {
                Some(part) => {
                    most.1 = Reverse(most.1.0.saturating_add(part.cost));
                    parts.push(part.clone());
                }
                None if below.is_some() => return None,
                None => most.0 -= key.1.len(),
            }
            self.known.insert(key, found);
            if than.is_some_and(|than| most <= than) {
                return None;
            }
        }
        Some(parts)
    }

    fn take_better(&mut self, best: &mut (Sharing, Vec<Purchase>), sharing: Sharing) {
        if !(self.go_on)() {
            return;
        }
        if let Some(parts) = self.parts(&sharing, Some(worth(&best.1))) {
            *best = (sharing, parts);
        }
    }
}

/// Whether the plan keeps its promise with all that is bought.
fn together(promise: &Promise, layout: &Layout, parts: &[Purchase], go_on: &dyn Fn() -> bool) -> bool {
    let question = promise.question;
    let mut base = Question { minutes_per_day: None, incumbent: assigned(question, layout), ..question.clone() };
    let bought: BTreeMap<&String, &String> = parts.iter().flat_map(|p| p.jobs.iter().zip(&p.made_of)).collect();
    let planned: BTreeSet<&String> =
        question.jobs.iter().zip(&layout.placed).filter(|(_, at)| at.is_some()).map(|(j, _)| &j.id).collect();
    base.jobs.retain_mut(|job| {
        if let Some(&wire) = bought.get(&job.id) {
            job.need = job.need_on(wire).unwrap_or(job.need);
            job.wire.clone_from(wire);
            job.alternates.clear();
        } else if !planned.contains(&job.id) {
            job.coils = job.started_coils();
        }
        job.priority = job.priority.max(1);
        job.coils > 0
    });
    let lines = || parts.iter().flat_map(|p| &p.lines);
    let offers: Vec<&Offer> =
        lines().filter_map(|l| question.supply.iter().find(|offer| offer.id == l.offer)).collect();
    let counts: Vec<u32> = lines().map(|l| l.count).collect();
    does_all(&base, &offers, &counts, go_on)
}

/// Jobs done, and what that costs; greater is better.
type Worth = (usize, Reverse<u64>);

fn worth(parts: &[Purchase]) -> Worth {
    let cost = parts.iter().fold(0_u64, |sum, p| sum.saturating_add(p.cost));
    (parts.iter().map(|p| p.jobs.len()).sum(), Reverse(cost))
}
