//! The shop's memory as the planner asks for it: snapshot, catalog, figures and day in, a question out.

use crate::{day, view};
use coilwright_catalog::Catalog;
use coilwright_core::coil::Design;
use coilwright_core::coil::findings::Level;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::{Length, Mass, Quantity};
use coilwright_planner::{Alternate, Assigned, Job, Need, NoPlan, Offer, Question, Spool};
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::reference::Ref;
use coilwright_shop::fact::CoilPlan;
use coilwright_shop::figures::Origin;
use coilwright_shop::id::JobId;
use coilwright_shop::job;
use coilwright_shop::spool::{self, What};
use coilwright_shop::state::State;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Priorities and penalties in hundredths: the planner counts in whole numbers.
pub const WORTH: f64 = 100.0;

/// Relative standard uncertainty of the wire on a new spool where the supplier states none: common practice, no source.
const UNSTATED_NET_U: f64 = 0.01;

/// What a plan is asked for.
#[derive(Debug, Clone)]
pub struct Scope {
    /// The day it is made for.
    pub as_of: Date,
    /// Risk shared by the whole plan, 0 to 1.
    pub risk: f64,
    /// Only jobs planned in these wires.
    pub wires: Option<BTreeSet<String>>,
    /// Only jobs due up to this day.
    pub until: Option<Date>,
}

/// The risk to plan with, 0 to 1: as asked for in per cent, or the shop's own.
///
/// # Errors
/// A risk that makes no plan.
pub fn risk(state: &State, asked_pct: Option<f64>) -> Result<f64, RpcError> {
    let risk = asked_pct.unwrap_or(state.figures().plan_risk_pct.value);
    if !(0.0001..=50.0).contains(&risk) {
        return Err(RpcError::params("/risk_pct", format!("a risk of {risk} % makes no plan"))
            .met(risk)
            .allowed("0.0001 to 50")
            .next("give a risk in per cent from 0.0001 to 50; 2 is usual"));
    }
    Ok(risk / 100.0)
}

/// Wires that a request names, each in the catalog, on the shelf or in a waiting job.
///
/// # Errors
/// A wire that is nowhere, with those that are written nearly so.
pub fn wires(catalog: &Catalog, state: &State, asked: &[String]) -> Result<BTreeSet<String>, RpcError> {
    let there = |w: &str| {
        let on_shelf = state.spools().any(|s| s.retired.is_none() && s.wire().key() == w);
        catalog.wire(w).is_some() || on_shelf || state.jobs().any(|j| j.plan.wire == w)
    };
    if let Some((i, wire)) = asked.iter().enumerate().find(|(_, w)| !there(w)) {
        let near = catalog.nearest_wire(wire);
        let e = RpcError::not_found(format!("/wires/{i}"), format!("there is no wire {wire}")).met(wire.as_str());
        return Err(match near.first() {
            Some(first) => e
                .allowed(serde_json::json!(near))
                .next(format!("write {first} if that is what was meant, or see `wire list` for those there are")),
            None => e.next("see `wire list` for those there are"),
        });
    }
    Ok(asked.iter().cloned().collect())
}

/// A question that could not be answered: only a fault of the program makes one.
pub fn no_plan(e: NoPlan) -> RpcError {
    RpcError::new(code::INTERNAL, ErrorKind::Failed, e.to_string())
        .next("this is a fault of the program; `journal verify` tells whether the shop's memory is sound")
}

/// The question that the state raises.
///
/// Promises to jobs that have not started a coil count as promised away, for the job they are for too: a plan that needs
/// that wire says `held` and names the spool, and releasing the promise is one of its remedies.
pub fn question(catalog: &Catalog, state: &State, scope: &Scope) -> Question {
    let figures = state.figures();
    let torn: BTreeSet<JobId> = state.jobs().filter(|j| torn(state, j).is_some()).map(|j| j.id).collect();
    let jobs: Vec<&job::Job> = state.jobs().filter(|j| is_asked(j, scope) && !torn.contains(&j.id)).collect();
    let on_shelf: BTreeSet<&str> = state.spools().filter(|s| s.retired.is_none()).map(|s| s.wire().key()).collect();
    let wires = on_shelf.iter().copied().chain(jobs.iter().map(|j| j.plan.wire.as_str()));
    let smallest = wires.filter_map(|w| Some((w.to_owned(), Length::from_m(figures.shortest_usual_m(w)?))));
    // Hours that nobody set are a guess: no job is refused for them.
    let hours = &figures.winder_hours;
    let minutes_per_day = (hours.origin == Origin::Set).then(|| 60.0 * hours.value.iter().sum::<f64>() / 7.0);
    Question {
        spools: state.spools().filter(|s| s.retired.is_none()).map(|s| on_the_shelf(s, scope.as_of, &torn)).collect(),
        jobs: jobs.iter().map(|j| to_be_done((catalog, state), j, &on_shelf, scope.as_of)).collect(),
        smallest_coil: smallest.collect(),
        risk: Some(scope.risk),
        common_share: 0.0,
        minutes_per_day,
        incumbent: in_force(state),
        supply: catalog.offers().iter().filter_map(|o| offer(catalog, o)).collect(),
    }
}

fn is_asked(j: &job::Job, scope: &Scope) -> bool {
    let waits = j.ended.is_none() && coils(j) > 0;
    let in_wires = scope.wires.as_ref().is_none_or(|wires| wires.contains(&j.plan.wire));
    let in_time = scope.until.is_none_or(|until| j.due_on.is_some_and(|due| due <= until));
    // A coil on the winder is on its spool, whatever was asked for.
    waits && (on_winder(j) > 0 || (in_wires && in_time && j.plan.obstacles().is_empty()))
}

/// A job that waits and that no plan is asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The job.
    pub job: String,
    /// Why, in words.
    pub why: String,
    /// Whether its coil's design says stop; otherwise a coil on the winder is of a wire that it no longer accepts.
    pub by_design: bool,
}

/// Jobs that the question leaves out: the gate would refuse them, or no plan could hold their coils together.
pub fn left_out(state: &State, scope: &Scope) -> Vec<LeftOut> {
    let in_wires = |j: &job::Job| scope.wires.as_ref().is_none_or(|wires| wires.contains(&j.plan.wire));
    let in_time = |j: &job::Job| scope.until.is_none_or(|until| j.due_on.is_some_and(|due| due <= until));
    let why = |j: &job::Job| {
        let told = |why, by_design| Some(LeftOut { job: j.id.to_string(), why, by_design });
        match torn(state, j) {
            Some(why) => told(why, false),
            None if j.plan.obstacles().is_empty() || on_winder(j) > 0 => None,
            None => told(j.plan.obstacles().join("; "), true),
        }
    };
    let waiting = state.jobs().filter(|j| j.ended.is_none() && coils(j) > 0 && in_wires(j) && in_time(j));
    waiting.filter_map(why).collect()
}

/// Why the coils of a job cannot be of one wire, as all coils of a job are: its coil was changed while one was wound.
fn torn(state: &State, j: &job::Job) -> Option<String> {
    let winding = j.works.values().filter(|w| w.is_winding());
    let wires: BTreeSet<&str> = winding.filter_map(|w| Some(state.spool(w.started.spool)?.wire().key())).collect();
    if wires.len() <= 1 && wires.iter().all(|w| j.accepts(w).is_some()) {
        return None;
    }
    let on = wires.into_iter().collect::<Vec<_>>().join(" and ");
    Some(format!("its coil on the winder is of {on}, and its coils are to be of {} now", j.plan.wire))
}

fn on_winder(j: &job::Job) -> u32 {
    u32::try_from(j.works.values().filter(|w| w.is_winding()).count()).unwrap_or(u32::MAX)
}

/// Coils still to be made, those on the winder among them.
pub fn coils(j: &job::Job) -> u32 {
    j.to_start().saturating_add(on_winder(j))
}

/// A coil on the winder of a job that is not asked about takes its wire all the same.
fn on_the_shelf(s: &spool::Spool, as_of: Date, torn: &BTreeSet<JobId>) -> Spool {
    let there = s.remaining();
    let apart = |h: &&spool::Hold| h.coil_no.is_none() || h.job.is_some_and(|job| torn.contains(&job));
    let promised = s.holds.values().filter(apart).map(|h| h.hold_m).sum();
    let arrived = s.received_at.to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    Spool {
        draw_doubt: there.draw_doubt,
        half_digit: there.half_digit,
        promised: Length::from_m(promised),
        opened: s.past.iter().any(|p| matches!(p.what, What::Drawn { .. })),
        age_days: u32::try_from(day::days_between(arrived, as_of)).unwrap_or(0),
        ..Spool::new(&s.id().to_string(), s.wire().key(), there.left)
    }
}

fn to_be_done(shop: Known, j: &job::Job, on_shelf: &BTreeSet<&str>, as_of: Date) -> Job {
    let coils = coils(j);
    let mut started: BTreeMap<String, u32> = BTreeMap::new();
    for w in j.works.values().filter(|w| w.is_winding()) {
        *started.entry(w.started.spool.to_string()).or_default() += 1;
    }
    let accepted = |wire: &str| j.accepts(wire).is_some();
    let alternates = j.other_wires.iter().map(|o| Alternate {
        wire: o.wire.clone(),
        penalty: hundredths(o.penalty),
        need: in_other_wire(shop, j, &o.wire).map(|(need, _)| need),
    });
    // Another wire that fits this coil's gap, winding and target, though nobody accepted it yet.
    let possible =
        on_shelf.iter().filter(|w| !accepted(w)).filter(|w| in_other_wire(shop, j, w).is_some_and(|(_, fits)| fits));
    Job {
        due_day: j.due_on.map(|due| day::days_between(as_of, due).saturating_add(1)),
        alternates: alternates.collect(),
        possible_wires: possible.map(|w| (*w).to_owned()).collect(),
        started,
        minutes: j.plan.winding_min.unwrap_or(0.0) * f64::from(coils),
        ..Job::new(&j.id.to_string(), &j.plan.wire, coils, need(&j.plan), hundredths(f64::from(j.priority)))
    }
}

fn hundredths(worth: f64) -> u32 {
    (WORTH * worth).round().clamp(0.0, f64::from(u32::MAX)) as u32
}

fn need(plan: &CoilPlan) -> Need {
    let pieces = f64::from(plan.pieces);
    let (tails, scrap) = (2.0 * pieces * plan.start_tail_m, pieces * plan.threading_m);
    Need {
        net: Length::from_m(plan.need_m.value - tails - scrap),
        tails: Length::from_m(tails),
        scrap: Length::from_m(scrap),
    }
}

/// Wire that a coil of the job takes in another wire, and whether its design meets gap and target.
pub fn in_other_wire(shop: Known, j: &job::Job, wire: &str) -> Option<(Need, bool)> {
    let d = other_design(shop, j, wire)?;
    let (tails, scrap) =
        (d.assumed.tails.value * f64::from(d.laid.pieces()), d.assumed.threading.value * f64::from(d.laid.pieces()));
    let fits = d.findings.iter().all(|f| f.level != Level::Stop);
    Some((Need { net: d.need.value - tails - scrap, tails, scrap }, fits))
}

/// What another wire is designed from: the catalog, and the shop with what its coils taught.
type Known<'a> = (&'a Catalog, &'a State);

/// The design of a job's coil in another wire, as this shop winds it.
pub fn other_design((catalog, state): Known, j: &job::Job, wire: &str) -> Option<Design> {
    catalog.wire(wire)?;
    let mut coil: CoilDesign = serde_json::from_value((*j.coil).clone()).ok()?;
    coil.wire = Ref::Id(wire.to_owned());
    Some(view::designed_here(catalog, state, &coil, "").ok()?.1)
}

/// The accepted plan without the coils that were finished since: those are no longer to be made, which is no change.
fn in_force(state: &State) -> Vec<Assigned> {
    let Some((accepted, plan)) = &state.shop().plan else { return Vec::new() };
    let mut assign: Vec<Assigned> = plan
        .assign
        .iter()
        .map(|a| Assigned { job: a.job.to_string(), wire: a.wire.clone(), spool: a.spool.to_string(), coils: a.coils })
        .collect();
    let jobs: BTreeSet<_> = plan.assign.iter().map(|a| a.job).collect();
    for job in jobs.into_iter().filter_map(|id| state.job(id)) {
        let id = job.id.to_string();
        let since = |w: &&job::CoilWork| w.outcome.as_ref().is_some_and(|o| o.good && o.seq > *accepted);
        for work in job.works.values().filter(since) {
            let spool = work.started.spool.to_string();
            let of_job = || assign.iter().enumerate().filter(|(_, a)| a.job == id && a.coils > 0);
            // Wound from another spool than planned: the last of its coils in the plan is the one that is not needed.
            let at = of_job().find(|(_, a)| a.spool == spool).or_else(|| of_job().next_back()).map(|(i, _)| i);
            if let Some(a) = at.and_then(|i| assign.get_mut(i)) {
                a.coils -= 1;
            }
        }
    }
    assign.retain(|a| a.coils > 0);
    assign
}

fn offer(catalog: &Catalog, o: &coilwright_catalog::OfferRecord) -> Option<Offer> {
    Some(Offer {
        id: o.id.clone(),
        wire: o.wire.clone(),
        left: offered_length(catalog, o)?,
        draw_doubt: spool::DRAW_DOUBT,
        price: o.price_minor,
        lead_days: o.lead_days,
    })
}

/// Length on a new spool: its wire by weight, the doubt of both in quadrature.
pub fn offered_length(catalog: &Catalog, o: &coilwright_catalog::OfferRecord) -> Option<Measured<Length>> {
    let g = catalog.wire(&o.wire)?.wire.g_per_m();
    let length = o.net.value / g.value;
    let net_u = if o.net.u > Mass::ZERO { o.net.u / o.net.value } else { UNSTATED_NET_U };
    let relative = net_u.hypot(g.u / g.value);
    Some(Measured::new(length, Length::from_si(length.si() * relative)))
}
