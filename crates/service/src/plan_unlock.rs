//! `plan.unlock`: the ways out of one refusal, each tried on the plan to see which other jobs it lets in. Writes nothing.

use crate::app::App;
use crate::caller::Caller;
use crate::patience::Patience;
use crate::plan_question::{self, Scope, no_plan, question};
use crate::plan_ways::{day_of, not_asked, purchase, refused, way};
use crate::{day, words};
use coilwright_catalog::Catalog;
use coilwright_core::quantity::{Length, Quantity};
use coilwright_planner::{
    Alternate, Assigned, Effort, Plan, Purchase, Question, Reason, Refused, Spool, Tell, Unlock, plan, repair,
};
use coilwright_proto::error::RpcError;
use coilwright_proto::plan::{PlanWay, WayFit};
use coilwright_proto::quantity::Setting;
use coilwright_proto::unlock::{PlanUnlock, PlanUnlocked, UnlockStanding};
use coilwright_shop::job::Job;
use coilwright_shop::state::State;
use std::collections::BTreeSet;

/// What a job is worth more while a way out of its refusal is tried: the way is for it, not for one that pays better.
const TRIED_FIRST: u32 = 1_000_000;

pub fn answer(app: &App, caller: &Caller, asked: PlanUnlock) -> Result<PlanUnlocked, RpcError> {
    let id = words::job_id(&asked.job)?;
    // The job may have ended, so that it is at rest.
    let (published, job) = app.look(|published| {
        let job = published.state.job(id).ok_or_else(|| words::no_such("job", &asked.job))?;
        Ok((published.head.seq, job.clone()))
    })?;
    let now = app.store.state();
    let state = &now.state;
    let as_of = day::as_of(state, asked.as_of.as_deref(), "/as_of")?;
    let told = |standing, reason: Option<String>, sentence: String, ways| PlanUnlocked {
        job: asked.job.clone(),
        standing,
        sentence,
        ways,
        as_of: as_of.to_string(),
        seq: now.head.seq.max(published),
        reason,
    };
    if job.ended.is_some() || plan_question::coils(&job) == 0 {
        let sentence = format!("{id}: nothing of it is left to be wound.");
        return Ok(told(UnlockStanding::Done, None, sentence, Vec::new()));
    }
    let scope = Scope { as_of, risk: state.figures().plan_risk_pct.value / 100.0, wires: None, until: None };
    if let Some(apart) = plan_question::left_out(state, &scope).into_iter().find(|l| l.job == asked.job) {
        let standing = if apart.by_design { UnlockStanding::Design } else { UnlockStanding::Refused };
        let r = not_asked(apart);
        return Ok(told(standing, Some(r.reason), format!("{}.", r.detail), r.unlock));
    }
    let q = question(&app.catalog, state, &scope);
    let patience = Patience::of(app, caller);
    let go_on = || patience.go_on();
    let made = plan(&q, Effort::default(), &go_on).map_err(no_plan)?;
    let Some(r) = made.refused.iter().find(|r| r.job == asked.job) else {
        return Ok(told(UnlockStanding::Planned, None, planned(state, &made.assign, &asked.job), Vec::new()));
    };
    let r = worked_out(&q, &made, r, &go_on)?;
    let at = Stuck { catalog: &app.catalog, state, q: &q, made: &made, job: &job, id: &asked.job };
    let words = refused(&app.catalog, &r, Tell { day: &day_of(as_of), one: plan_question::WORTH });
    let ways = at.ways(&r, words.unlock, &go_on);
    let cheapest = match ways.first() {
        Some(first) => format!("{}. The cheapest way: {}.", words.detail, first.text),
        None => format!("{}. No way out is known.", words.detail),
    };
    Ok(told(UnlockStanding::Refused, Some(words.reason), cheapest, ways))
}

/// Where a job lies that is not refused.
fn planned(state: &State, assign: &[Assigned], job: &str) -> String {
    let coils = |n: u32| if n == 1 { "1 coil".to_owned() } else { format!("{n} coils") };
    let lies = assign.iter().filter(|a| a.job == job).map(|a| format!("{} from {}", coils(a.coils), a.spool));
    let lies = lies.collect::<Vec<_>>().join(", ");
    let in_force =
        |(_, p): &(_, coilwright_shop::fact::PlanAccepted)| p.assign.iter().any(|a| a.job.to_string() == job);
    match &state.shop().plan {
        Some(plan) if !in_force(plan) => format!(
            "{job} can be wound as things are: {lies}. The accepted plan leaves it out: see `plan make`, then `plan accept`."
        ),
        _ => format!("{job} can be wound as things are: {lies}."),
    }
}

/// The refusal with its ways; where so many jobs are refused that this one's were not looked for, it comes first now.
fn worked_out(q: &Question, made: &Plan, r: &Refused, go_on: &dyn Fn() -> bool) -> Result<Refused, RpcError> {
    if !matches!(r.reason, Reason::Taken { .. }) {
        return Ok(r.clone());
    }
    let mut first = Question { incumbent: made.assign.clone(), ..q.clone() };
    first.jobs.sort_by_key(|j| j.id != r.job);
    let again = repair(&first, Effort::default(), go_on).map_err(no_plan)?;
    Ok(again.refused.into_iter().find(|other| other.job == r.job).unwrap_or_else(|| r.clone()))
}

struct Stuck<'a> {
    catalog: &'a Catalog,
    state: &'a State,
    q: &'a Question,
    made: &'a Plan,
    job: &'a Job,
    id: &'a str,
}

impl Stuck<'_> {
    /// The ways in words, each with what it lets in beside the job, and what is not the planner's to know.
    fn ways(&self, r: &Refused, told: Vec<PlanWay>, go_on: &dyn Fn() -> bool) -> Vec<PlanWay> {
        let mut ways: Vec<PlanWay> = Vec::new();
        let mut told = told.into_iter();
        for (u, mut w) in r.unlock.iter().zip(told.by_ref()) {
            let mut q = Question { incumbent: self.made.assign.clone(), ..self.q.clone() };
            match u {
                Unlock::Reweigh { spool, u_needed, u_now } => self.weigh(&mut q, &mut w, (spool, *u_needed, *u_now)),
                Unlock::Release { spools } => {
                    for s in q.spools.iter_mut().filter(|s| spools.contains(&s.id)) {
                        (s.held, s.promised) = (false, Length::ZERO);
                    }
                    w.text += &self.promises(spools);
                }
                Unlock::OtherWire { wire } => self.other(&mut q, &mut w, wire),
                Unlock::Buy(p) => add_bought(&mut q, p),
            }
            w.also_unlocks = self.also(q, go_on);
            ways.push(w);
        }
        if let Some(p) = self.together(&ways) {
            let others: Vec<String> = p.jobs.iter().filter(|j| *j != self.id).cloned().collect();
            let told = purchase(self.catalog, p);
            let text = format!("buy {}: that is enough for {} too", told.text, others.join(", "));
            ways.push(PlanWay { purchase: Some(told), also_unlocks: Some(others), ..way("buy", text) });
        }
        let decision = match &r.reason {
            Reason::NoTime { .. } => Some(way(
                "more_time",
                "give it a later date with `job change`, or the winder more hours with `shop set`".into(),
            )),
            Reason::Displaced { by, .. } if !by.is_empty() => Some(way(
                "more_worth",
                format!("give it a higher priority with `job change`; {} would wait for wire instead", by.join(", ")),
            )),
            _ => None,
        };
        // A decision costs no money, but somebody has to wait: before a purchase, after all else.
        let at = ways.iter().position(|w| w.remedy == "buy").unwrap_or(ways.len());
        ways.splice(at..at, decision);
        ways.extend(told);
        ways
    }

    /// What a weighing has to reach, on the scale too.
    fn weigh(&self, q: &mut Question, w: &mut PlanWay, (spool, needed, now): (&str, Length, Length)) {
        q.spools.iter_mut().filter(|s| s.id == spool).for_each(|s| s.left.u = needed);
        let known = words::spool_id(spool).ok().and_then(|id| self.state.spool(id));
        let Some(g_per_m) = known.map(|s| s.estimate().g_per_m.value.si() * 1000.0) else { return };
        let grams = needed.m() * g_per_m;
        w.u_needed_g = Some(Setting::of(grams));
        w.text = format!(
            "weigh or measure {spool} again, so that its wire is known to ± {:.2} m (± {} g of wire); it is known to ± {:.2} m now",
            needed.m(),
            if grams < 1.0 { format!("{grams:.2}") } else { format!("{grams:.1}") },
            now.m()
        );
    }

    /// What is promised on these spools, to whom.
    fn promises(&self, spools: &[String]) -> String {
        let mut said = Vec::new();
        for spool in spools.iter().filter_map(|s| self.state.spool(words::spool_id(s).ok()?)) {
            for (hold, h) in spool.holds.iter().filter(|(_, h)| h.coil_no.is_none()) {
                let whom = match h.job {
                    Some(job) if job == self.job.id => "this job itself".to_owned(),
                    Some(job) => job.to_string(),
                    None => h.reason.clone(),
                };
                said.push(format!("{hold} on {}, {:.2} m for {whom}", spool.id(), h.hold_m));
            }
        }
        if said.is_empty() { String::new() } else { format!(" ({})", said.join("; ")) }
    }

    /// How the coil comes out in the other wire.
    fn other(&self, q: &mut Question, w: &mut PlanWay, wire: &str) {
        let need = plan_question::in_other_wire((self.catalog, self.state), self.job, wire).map(|(need, _)| need);
        let alternate = Alternate { wire: wire.to_owned(), penalty: 0, need };
        q.jobs.iter_mut().filter(|j| j.id == self.id).for_each(|j| j.alternates.push(alternate.clone()));
        let Some(d) = plan_question::other_design((self.catalog, self.state), self.job, wire) else { return };
        let play = d.clearance_outer.map_or_else(String::new, |c| format!(", {:.2} mm play to the bore", c.value.mm()));
        w.text = format!(
            "accept {wire} with `job change`: it is on the shelf and fits by its design, {:.2} Ω{play}",
            d.dcr.value.ohm()
        );
        w.fit = Some(WayFit { dcr_ohm: d.dcr.into(), clearance_outer_mm: d.clearance_outer.map(Into::into) });
    }

    /// Other refused jobs that a plan does once the question is changed, all planned ones and this one kept in it.
    fn also(&self, mut q: Question, go_on: &dyn Fn() -> bool) -> Option<Vec<String>> {
        for j in q.jobs.iter_mut().filter(|j| j.id == self.id) {
            j.priority = j.priority.saturating_add(TRIED_FIRST);
        }
        let after = repair(&q, Effort { explain: false, ..Effort::default() }, go_on).ok()?;
        let done = |of: &Plan| of.assign.iter().map(|a| a.job.clone()).collect::<BTreeSet<String>>();
        let (before, after) = (done(self.made), done(&after));
        let others: Vec<String> = after.difference(&before).filter(|j| *j != self.id).cloned().collect();
        (before.is_subset(&after) && after.contains(self.id) && !others.is_empty()).then_some(others)
    }

    /// Of the cheapest purchase for all refused jobs what is of the wire that it buys for this one, if it lets in more than
    /// the ways do already.
    fn together(&self, ways: &[PlanWay]) -> Option<Purchase> {
        let all = self.made.purchase.as_ref()?;
        let made_of = || all.jobs.iter().zip(&all.made_of);
        let (_, wire) = made_of().find(|(job, _)| *job == self.id)?;
        let jobs: Vec<String> = made_of().filter(|(_, of)| *of == wire).map(|(job, _)| job.clone()).collect();
        let bought = || {
            let offer = |id: &str| self.q.supply.iter().find(|o| o.id == id && o.wire == *wire);
            all.lines.iter().filter_map(move |l| Some((l, offer(&l.offer)?)))
        };
        let covered = |w: &PlanWay| {
            let also = w.also_unlocks.as_deref().unwrap_or_default();
            w.remedy == "buy" && jobs.iter().all(|j| j == self.id || also.contains(j))
        };
        if jobs.len() < 2 || !jobs.iter().any(|j| j == self.id) || ways.iter().any(covered) {
            return None;
        }
        Some(Purchase {
            lines: bought().map(|(l, _)| l.clone()).collect(),
            cost: bought().fold(0, |sum, (l, o)| sum.saturating_add(o.price.saturating_mul(u64::from(l.count)))),
            lead_days: bought().map(|(_, o)| o.lead_days).max().unwrap_or(0),
            all_cheaper_tried: all.all_cheaper_tried,
            made_of: vec![wire.clone(); jobs.len()],
            jobs,
        })
    }
}

/// The bought spools on the shelf.
fn add_bought(q: &mut Question, p: &Purchase) {
    for line in &p.lines {
        let Some(offer) = q.supply.iter().find(|o| o.id == line.offer).cloned() else { continue };
        for n in 0..line.count {
            let id = format!("{}#{n}", offer.id);
            let new = Spool { draw_doubt: offer.draw_doubt, opened: false, ..Spool::new(&id, &offer.wire, offer.left) };
            q.spools.push(new);
        }
    }
}
