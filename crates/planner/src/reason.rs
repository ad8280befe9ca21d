//! Why a job is left out: a fixed ladder of conditions, each harder than the last; the first at which the job stops
//! fitting is the reason.
//!
//! Mean lengths, safe lengths, holds, started coils, other jobs, the winder's time, the plan's risk. A job that may be
//! made of several wires is explained by the wire on which it gets furthest.
//!
//! # Sources
//! Deletion filter in a fixed order: J. W. Chinneck, Feasibility and Infeasibility in Optimization (2008), the idea.

use crate::answer::Reason;
use crate::dice::Dice;
use crate::door::{Shelf, length, mm_down, mm_up};
use crate::improve::{Aim, Limits, improve};
use crate::layout::{Assignment, Layout};
use crate::place::{RULES, place};
use crate::promise::Promise;
use crate::question::{Job, Need, Spool};
use crate::repair::{by_density, fill};
use crate::risk::{plan_risk, spool_risk};
use coilwright_core::quantity::Length;
use std::rc::Rc;

/// What explaining a job came to.
pub(crate) enum Explained {
    /// The reason.
    Because(Reason),
    /// None: a plan was found that does the job too.
    Fits(Assignment),
}

/// Why `job` is not in the plan, with a number of rounds to look for a plan that does it.
pub(crate) fn explain(
    promise: &Promise,
    layout: &Layout,
    job: usize,
    rounds: u32,
    go_on: &dyn Fn() -> bool,
) -> Explained {
    match alone(promise, job) {
        Some(reason) => Explained::Because(reason),
        None => among_others(promise, layout, job, rounds, go_on),
    }
}

/// The same without a look for other plans: what the job meets alone, else time, else what the plan leaves.
pub(crate) fn taken(promise: &Promise, layout: &Layout, job: usize) -> Reason {
    if let Some(reason) = alone(promise, job) {
        return reason;
    }
    if let Some(late) = no_time(promise, layout, job) {
        return late;
    }
    let item = &layout.shelf.jobs[job];
    let free = |c: &crate::door::Choice| c.bins.iter().map(|&i| layout.room(i).max(0)).collect::<Vec<i64>>();
    let fit = |c: &crate::door::Choice| free(c).iter().map(|room| room / c.need).sum::<i64>();
    let best = item.choices.iter().max_by_key(|c| fit(c));
    Reason::Taken {
        fit: best.map_or(0, |c| u32::try_from(fit(c)).unwrap_or(u32::MAX)),
        needed: item.coils,
        longest: length(best.and_then(|c| free(c).into_iter().max()).unwrap_or(0)),
    }
}

/// What stands in the way of a job that has the shop to itself; none if nothing does.
fn alone(promise: &Promise, job: usize) -> Option<Reason> {
    let asked = &promise.question.jobs[job];
    let accepted = std::iter::once(&asked.wire).chain(asked.alternates.iter().map(|a| &a.wire));
    let mut furthest: Option<(u8, Reason)> = None;
    for wire in accepted.filter(|w| asked.worth_on(w).is_some_and(|worth| worth > 0) || asked.started_coils() > 0) {
        let (rung, reason) = on_wire(promise, job, wire)?;
        if furthest.as_ref().is_none_or(|f| rung > f.0) {
            furthest = Some((rung, reason));
        }
    }
    let nothing =
        Reason::NoContinuousLength { longest: Length::ZERO, needed: asked.need.total(), shortfall: asked.need.total() };
    Some(furthest.map_or(nothing, |f| f.1))
}

/// What the winder's time says to a job beside the plan.
fn no_time(promise: &Promise, layout: &Layout, job: usize) -> Option<Reason> {
    let (day, time) = layout.late_day(job)?;
    let limit = promise.loosest.days[day];
    let free = (limit.limit - time).max(0) as f64 / 1000.0;
    Some(Reason::NoTime { day: limit.day, minutes: promise.question.jobs[job].minutes, free })
}

/// The rungs that look at one job alone on one wire; none if it passes them all.
fn on_wire(promise: &Promise, job: usize, wire: &str) -> Option<(u8, Reason)> {
    let question = promise.question;
    let asked = &question.jobs[job];
    let need = asked.need_on(wire)?;
    let only = |s: &Spool| asked.only_from.as_ref().is_none_or(|id| *id == s.id);
    let spools: Vec<usize> =
        (0..question.spools.len()).filter(|&i| question.spools[i].wire == wire && only(&question.spools[i])).collect();
    let coil = mm_up(need.total()).max(1);
    let mean = |i: usize| mm_down(question.spools[i].left.value);
    let alone = promise.question.risk.map(|risk| 1.0 - risk);
    let safe = |i: usize| mm_down(question.spools[i].safe_length(alone));
    let free = |i: usize| {
        let spool = &question.spools[i];
        if spool.held { own_started(asked, spool, coil) } else { (safe(i) - mm_up(spool.promised)).max(0) }
    };
    let coils = i64::from(asked.coils);
    if count(asked, &spools, coil, mean) < coils {
        return Some(too_short(asked, &spools, need, mean));
    }
    if count(asked, &spools, coil, safe) < coils {
        return Some((2, risky(promise, asked, &spools, coil, safe)));
    }
    let fit = count(asked, &spools, coil, free);
    if fit < coils {
        let helps = |i: &usize| free(*i) / coil < safe(*i) / coil;
        let names = spools.iter().filter(|i| helps(i)).map(|&i| question.spools[i].id.clone()).collect();
        return Some((3, Reason::Held { spools: names, fit: whole(fit), needed: asked.coils }));
    }
    let bins = &promise.loosest.bins;
    let item = &promise.loosest.jobs[job];
    let eligible: Vec<usize> =
        item.choices.iter().find(|c| c.need == coil && c.bins.iter().any(|b| spools.contains(b)))?.bins.to_vec();
    let fit = count(asked, &eligible, coil, |i| bins[i].room);
    if fit < i64::from(item.coils) {
        let here = |j: &Job| j.id != asked.id && spools.iter().any(|&i| j.started.contains_key(&question.spools[i].id));
        let by = question.jobs.iter().filter(|j| here(j)).map(|j| j.id.clone()).collect();
        return Some((4, Reason::DisplacedByFrozen { by, fit: whole(fit), needed: item.coils }));
    }
    None
}

fn whole(coils: i64) -> u32 {
    u32::try_from(coils.max(0)).unwrap_or(u32::MAX)
}

/// Coils that fit; of a matched set only what one spool can give.
fn count(job: &Job, spools: &[usize], coil: i64, room: impl Fn(usize) -> i64) -> i64 {
    let each = spools.iter().map(|&i| room(i).max(0) / coil);
    if job.matched_set { each.max().unwrap_or(0) } else { each.sum() }
}

/// Millimetres of a held spool that the job's own started coils have.
fn own_started(job: &Job, spool: &Spool, coil: i64) -> i64 {
    i64::from(job.started.get(&spool.id).copied().unwrap_or(0)) * coil
}

fn too_short(job: &Job, spools: &[usize], need: Need, mean: impl Fn(usize) -> i64) -> (u8, Reason) {
    let coil = mm_up(need.total()).max(1);
    let net = mm_up(need.net).max(1);
    let longest = spools.iter().map(|&i| mean(i)).max().unwrap_or(0);
    let coils = i64::from(job.coils);
    if longest < coil {
        let (longest, needed) = (length(longest), length(coil));
        let reason = if longest >= need.net && longest.m() > 0.0 {
            Reason::Tails { longest, needed, net: need.net }
        } else {
            Reason::NoContinuousLength { longest, needed, shortfall: needed - longest }
        };
        return (0, reason);
    }
    let possible = count(job, spools, coil, &mean);
    let lacking = |i: usize| {
        let here = mean(i) / coil;
        let wanted = if job.matched_set { coils } else { here + coils - possible };
        wanted * coil - mean(i)
    };
    let reason = Reason::NotEnoughCoils {
        possible: u32::try_from(possible).unwrap_or(u32::MAX),
        needed: job.coils,
        shortfall: length(spools.iter().map(|&i| lacking(i)).min().unwrap_or(0)),
        piece: length((if job.matched_set { coils } else { coils - possible }) * coil),
        tails_tip_it: count(job, spools, net, &mean) >= coils,
    };
    (1, reason)
}

/// The spool that comes nearest to giving the coils which the safe lengths lack.
fn risky(promise: &Promise, job: &Job, spools: &[usize], coil: i64, safe: impl Fn(usize) -> i64) -> Reason {
    let question = promise.question;
    let possible = count(job, spools, coil, &safe);
    let short = |i: usize| {
        let here = if job.matched_set { 0 } else { safe(i) / coil };
        let wanted = i64::from(job.coils) - if job.matched_set { 0 } else { possible };
        spool_risk(&question.spools[i], (here + wanted) * coil)
    };
    let nearest = spools.iter().map(|&i| (short(i), i)).min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let (p_short, spool) = nearest.map_or((1.0, String::new()), |(p, i)| (p, question.spools[i].id.clone()));
    Reason::Risk { spool, p_short, allowed: question.risk.unwrap_or(0.0) }
}

/// The rungs that look at the rest of the plan: other jobs, time, risk.
fn among_others(promise: &Promise, layout: &Layout, job: usize, rounds: u32, go_on: &dyn Fn() -> bool) -> Explained {
    let mut timeless = promise.loosest.without_time();
    Rc::make_mut(&mut timeless.jobs)[job].must = true;
    let forced = force(&timeless, layout, job, rounds, go_on);
    let by: Vec<usize> =
        (0..layout.placed.len()).filter(|&j| layout.placed[j].is_some() && forced.placed[j].is_none()).collect();
    let value_lost = layout.value() - forced.value();
    let names = || by.iter().map(|&j| promise.question.jobs[j].id.clone()).collect();
    if forced.placed[job].is_none() || value_lost >= 0 {
        return Explained::Because(Reason::Displaced { by: names(), value_lost });
    }
    let whole = unforced(&promise.loosest, &forced);
    if whole.is_none()
        && let Some(late) = no_time(promise, layout, job)
    {
        return Explained::Because(late);
    }
    let with_it = plan_risk(promise.question, &promise.loads(&forced, false));
    match (promise.question.risk, whole) {
        (Some(allowed), _) if with_it > allowed => Explained::Because(Reason::PlanRisk { with_it, allowed }),
        (_, Some(whole)) => Explained::Fits(whole.placed),
        _ => Explained::Because(Reason::Displaced { by: names(), value_lost: value_lost.max(0) }),
    }
}

/// The forced plan on the shelf with its times; none if it breaks them.
fn unforced<'a>(shelf: &'a Shelf, forced: &Layout) -> Option<Layout<'a>> {
    let layout = Layout::from(shelf, &forced.placed);
    (layout.placed == forced.placed).then_some(layout)
}

/// The plan with `job` in it whatever that costs, time and joint risk left aside.
fn force<'a>(shelf: &'a Shelf, layout: &Layout, job: usize, rounds: u32, go_on: &dyn Fn() -> bool) -> Layout<'a> {
    let mut dice = Dice::new(job as u64);
    let mut forced = Layout::from(shelf, &layout.placed);
    if !RULES.iter().any(|&rule| place(&mut forced, job, rule, &mut dice)) {
        make_room(&mut forced, job, &mut dice);
        fill(&mut forced);
        let limits = Limits { rounds, enough: layout.value() + 1, allowed: &|_| true, go_on };
        improve(&mut forced, Aim::Value, &limits, &mut dice);
    }
    forced
}

/// Takes jobs off the wires of `job`, least worth for their wire first, until it fits.
fn make_room(layout: &mut Layout, job: usize, dice: &mut Dice) {
    let wires: Vec<usize> = layout.shelf.jobs[job].choices.iter().map(|c| c.wire).collect();
    let mut order: Vec<usize> = by_density(&Layout::new(layout.shelf));
    order.reverse();
    for other in order {
        let wire = layout.placed[other].as_ref().map(|p| layout.shelf.jobs[other].choices[p.choice].wire);
        let started = layout.shelf.jobs[other].must;
        if other == job || started || wire.is_none_or(|w| !wires.contains(&w)) {
            continue;
        }
        layout.take(other);
        if RULES.iter().any(|&rule| place(layout, job, rule, dice)) {
            return;
        }
    }
}
