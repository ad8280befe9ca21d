//! What would let a refused job be done, the rest of the plan staying as it is, cheapest first.
//!
//! Weighing again costs a minute, releasing a hold a talk, another wire a decision, a purchase money and days.

use crate::answer::{Purchase, PurchaseLine, Unlock};
use crate::door::{length, mm_down, mm_up};
use crate::layout::Layout;
use crate::promise::Promise;
use crate::question::{Job, Offer, Spool};
use crate::risk::{Load, plan_risk};
use coilwright_core::enough::Remaining;

/// Most spools named for weighing again.
const MOST_WEIGHINGS: usize = 3;

/// The ways to let `job` be done.
pub(crate) fn unlocks(promise: &Promise, layout: &Layout, job: usize) -> Vec<Unlock> {
    if !layout.has_time(job) {
        return Vec::new();
    }
    let at = Stuck { promise, layout, asked: &promise.question.jobs[job], coils: promise.loosest.jobs[job].coils };
    let mut ways = at.weigh_again();
    ways.extend(at.release());
    ways.extend(at.other_wire());
    ways.extend(at.buy().map(Unlock::Buy));
    ways
}

struct Stuck<'a> {
    promise: &'a Promise<'a>,
    layout: &'a Layout<'a>,
    asked: &'a Job,
    /// Coils that still need a place.
    coils: u32,
}

impl Stuck<'_> {
    fn spool(&self, i: usize) -> &Spool {
        &self.promise.question.spools[i]
    }

    /// Accepted wires, best first, with the length of a coil.
    fn wires(&self) -> Vec<(&str, i64)> {
        let started = self.asked.started.keys().next();
        let on = started.and_then(|id| self.promise.question.spools.iter().find(|s| s.id == *id)).map(|s| &s.wire);
        let accepted = std::iter::once(&self.asked.wire).chain(self.asked.alternates.iter().map(|a| &a.wire));
        accepted
            .filter(|w| on.is_none_or(|on| on == *w) && (on.is_some() || self.asked.worth_on(w).unwrap_or(0) > 0))
            .filter_map(|w| Some((w.as_str(), mm_up(self.asked.need_on(w)?.total()).max(1))))
            .collect()
    }

    fn of_wire(&self, wire: &str) -> Vec<usize> {
        let only = |s: &Spool| self.asked.only_from.as_ref().is_none_or(|id| *id == s.id);
        (0..self.layout.used.len()).filter(|&i| self.spool(i).wire == wire && only(self.spool(i))).collect()
    }

    /// Coils that fit a spool now beside the rest of the plan.
    fn fit(&self, i: usize, coil: i64) -> i64 {
        if self.spool(i).held { 0 } else { self.layout.room(i).max(0) / coil }
    }

    /// Coils still lacking if `without` gives none; what the other spools would give; none if they alone are enough.
    fn lacking(&self, spools: &[usize], without: Option<usize>, coil: i64) -> (i64, Vec<(usize, i64)>) {
        let mut rest = i64::from(self.coils);
        let mut given = Vec::new();
        if self.asked.matched_set {
            return (rest, given);
        }
        for &i in spools.iter().filter(|&&i| Some(i) != without) {
            let n = self.fit(i, coil).min(rest);
            if n > 0 {
                given.push((i, n * coil));
                rest -= n;
            }
        }
        (rest, given)
    }

    /// Loads of the plan with some lengths added.
    fn loads_with(&self, added: &[(usize, i64)]) -> Vec<Load> {
        let mut loads = self.promise.loads(self.layout, false);
        for &(i, mm) in added {
            match loads.iter_mut().find(|l| l.0 == i) {
                Some(load) => load.1 += mm,
                None => loads.push((i, self.layout.shelf.bins[i].fixed + self.layout.used[i] + mm)),
            }
        }
        loads
    }

    /// The risk left for one more spool beside these loads.
    fn risk_left(&self, loads: &[Load]) -> Option<f64> {
        let risk = self.promise.question.risk?;
        let rest = 1.0 - (1.0 - risk) / (1.0 - plan_risk(self.promise.question, loads));
        (rest > 0.0).then_some(rest)
    }

    fn weigh_again(&self) -> Vec<Unlock> {
        let mut ways: Vec<(f64, &Spool)> = Vec::new();
        for (wire, coil) in self.wires() {
            let spools = self.of_wire(wire);
            for &i in spools.iter().filter(|&&i| !self.spool(i).held && self.spool(i).left.u.m() > 0.0) {
                let (lacking, given) = self.lacking(&spools, Some(i), coil);
                // If the others could give all of it, only the joint risk is in the way: then this one gives all.
                let (coils, given) = if lacking == 0 { (i64::from(self.coils), Vec::new()) } else { (lacking, given) };
                if let Some(u) = self.u_needed(i, coils * coil, &given) {
                    ways.push((u, self.spool(i)));
                }
            }
        }
        ways.sort_by(|a, b| b.0.total_cmp(&a.0));
        let say = |(u, s): &(f64, &Spool)| Unlock::Reweigh {
            spool: s.id.clone(),
            u_needed: coilwright_core::quantity::Length::from_m(*u),
            u_now: s.left.u,
        };
        ways.iter().take(MOST_WEIGHINGS).map(say).collect()
    }

    /// Uncertainty in metres at which a spool may give `mm` more while others give `given`.
    fn u_needed(&self, i: usize, mm: i64, given: &[(usize, i64)]) -> Option<f64> {
        if self.spool(i).safe.is_some() || self.promise.aside[i] {
            return None;
        }
        let others: Vec<Load> = self.loads_with(given).into_iter().filter(|l| l.0 != i).collect();
        let risk = self.risk_left(&others)?;
        let total = self.layout.shelf.bins[i].fixed + self.layout.used[i] + mm;
        let needed = self.spool(i).remaining().uncertainty_needed(length(total), 1.0 - risk)?;
        (needed.m() > 0.0 && needed < self.spool(i).left.u).then_some(needed.m())
    }

    fn release(&self) -> Option<Unlock> {
        let alone = self.promise.question.risk.map(|risk| 1.0 - risk);
        for (wire, coil) in self.wires() {
            let spools = self.of_wire(wire);
            let (lacking, given) = self.lacking(&spools, None, coil);
            let gain = |i: usize| {
                let spool = self.spool(i);
                let bin = &self.layout.shelf.bins[i];
                let begun = bin.fixed - mm_up(spool.promised);
                let room = mm_down(spool.safe_length(alone)) - begun - self.layout.used[i];
                let all = room.max(0) / coil;
                if self.asked.matched_set { all } else { all - self.fit(i, coil) }
            };
            let held =
                |i: &usize| (self.spool(*i).held || self.spool(*i).promised.m() > 0.0) && !self.promise.aside[*i];
            let mut freed: Vec<(i64, usize)> = spools.iter().copied().filter(held).map(|i| (gain(i), i)).collect();
            freed.retain(|f| f.0 > 0);
            freed.sort_by_key(|&(n, i)| (n, i));
            let single = freed.iter().find(|f| f.0 >= lacking).map(|f| vec![*f]);
            let chosen = single.or_else(|| (!self.asked.matched_set).then(|| most_first(&freed, lacking)).flatten());
            let Some(chosen) = chosen.filter(|_| lacking > 0) else { continue };
            let mut added = given;
            let mut rest = lacking;
            for &(n, i) in &chosen {
                let here = n.min(rest);
                rest -= here;
                // The promised length is free then; what is counted for it is taken off again.
                added.push((i, here * coil - mm_up(self.spool(i).promised)));
            }
            if self.question_allows(&added) {
                let spools = chosen.iter().map(|&(_, i)| self.spool(i).id.clone()).collect();
                return Some(Unlock::Release { spools });
            }
        }
        None
    }

    fn question_allows(&self, added: &[(usize, i64)]) -> bool {
        let question = self.promise.question;
        question.risk.is_none_or(|risk| plan_risk(question, &self.loads_with(added)) <= risk)
    }

    fn other_wire(&self) -> Vec<Unlock> {
        let coil = mm_up(self.asked.need.total()).max(1);
        let there = |wire: &&String| {
            let accepted = self.asked.need_on(wire).is_some();
            let spools = self.of_wire(wire);
            let most = spools.iter().map(|&i| self.fit(i, coil)).max().unwrap_or(0);
            let (lacking, given) = self.lacking(&spools, None, coil);
            let fits = if self.asked.matched_set { most >= i64::from(self.coils) } else { lacking == 0 };
            !accepted && fits && self.question_allows(&given)
        };
        let possible = if self.asked.started_coils() > 0 { &[][..] } else { &self.asked.possible_wires[..] };
        possible.iter().filter(there).map(|wire| Unlock::OtherWire { wire: wire.clone() }).collect()
    }

    /// The cheapest number of one size that gives the coils lacking.
    fn buy(&self) -> Option<Purchase> {
        if self.asked.only_from.is_some() || (self.asked.matched_set && self.asked.started_coils() > 0) {
            return None;
        }
        let mut best: Option<Purchase> = None;
        for (wire, coil) in self.wires() {
            let spools = self.of_wire(wire);
            let (lacking, given) = self.lacking(&spools, None, coil);
            let (lacking, given) = if lacking == 0 { (i64::from(self.coils), Vec::new()) } else { (lacking, given) };
            let Some(left) = self.risk_left(&self.loads_with(&given)).or(self.promise.question.risk.map(|_| 0.0))
            else {
                best = self.cheaper(best, wire, coil, lacking, None);
                continue;
            };
            best = self.cheaper(best, wire, coil, lacking, Some(left));
        }
        best
    }

    /// `risk`: what is left of the promise for the new spools together.
    fn cheaper(
        &self,
        best: Option<Purchase>,
        wire: &str,
        coil: i64,
        coils: i64,
        risk: Option<f64>,
    ) -> Option<Purchase> {
        let mut best = best;
        for offer in self.promise.question.supply.iter().filter(|o| o.wire == wire) {
            let Some(count) = spools_needed(offer, coil, coils, risk, self.asked.matched_set) else { continue };
            let found = Purchase {
                lines: vec![PurchaseLine { offer: offer.id.clone(), count }],
                cost: offer.price.saturating_mul(u64::from(count)),
                lead_days: offer.lead_days,
                // One size only was looked at.
                all_cheaper_tried: false,
                jobs: vec![self.asked.id.clone()],
                made_of: vec![wire.to_owned()],
            };
            if best.as_ref().is_none_or(|b| (found.cost, count, found.lead_days) < (b.cost, spools(b), b.lead_days)) {
                best = Some(found);
            }
        }
        best
    }
}

/// Spools bought in all.
pub(crate) fn spools(purchase: &Purchase) -> u32 {
    purchase.lines.iter().map(|l| l.count).sum()
}

/// How many spools of an offer give a number of coils; each may take an equal part of the risk.
fn spools_needed(offer: &Offer, coil: i64, coils: i64, risk: Option<f64>, matched: bool) -> Option<u32> {
    let certain = offer.left.u.m() == 0.0 && offer.draw_doubt == 0.0;
    let each = |count: i64| {
        let safe = match risk {
            Some(risk) if !certain => {
                Remaining::new(offer.left, offer.draw_doubt).safe_length(1.0 - risk / count as f64)
            }
            _ => offer.left.value,
        };
        mm_down(safe) / coil
    };
    if matched {
        return (each(1) >= coils).then_some(1);
    }
    // More spools leave each a smaller part of the risk, so the number is met from below.
    let mut count = 1;
    while count <= coils {
        let one = each(count);
        if one <= 0 {
            return None;
        }
        if one * count >= coils {
            return u32::try_from(count).ok();
        }
        count = ((coils + one - 1) / one).max(count + 1);
    }
    None
}

fn most_first(freed: &[(i64, usize)], lacking: i64) -> Option<Vec<(i64, usize)>> {
    let mut chosen = Vec::new();
    let mut rest = lacking;
    for &f in freed.iter().rev() {
        if rest <= 0 {
            break;
        }
        chosen.push(f);
        rest -= f.0;
    }
    (rest <= 0).then_some(chosen)
}
