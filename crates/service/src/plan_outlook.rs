//! `plan.outlook`: what is left by day if the plan is wound, and the first job to run short.

use crate::app::App;
use crate::caller::Caller;
use crate::patience::Patience;
use crate::plan_question::{Scope, no_plan, question};
use crate::{day, outlook_words};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Assigned, Depletion, Effort, Plan, Question, plan, repair};
use coilwright_proto::error::RpcError;
use coilwright_proto::outlook::{
    AfterJob, OutlookBy, OutlookChart, OutlookDay, OutlookItem, PlanOutlook, PlanOutlookAnswer,
};
use coilwright_proto::quantity::bare;
use jiff::civil::Date;

const USUAL_DAYS: u32 = 30;
const MOST_DAYS: u32 = 365;

pub fn answer(app: &App, caller: &Caller, asked: PlanOutlook) -> Result<PlanOutlookAnswer, RpcError> {
    let days = asked.days.unwrap_or(USUAL_DAYS);
    if !(1..=MOST_DAYS).contains(&days) {
        let why =
            if days == 0 { "no days, nothing to see: today's evening is day 1" } else { "that is too far to see" };
        return Err(RpcError::params("/days", why)
            .met(days)
            .allowed(format!("1 to {MOST_DAYS}"))
            .next(format!("ask for 1 to {MOST_DAYS} days")));
    }
    if asked.spool.is_some() && asked.wire.is_some() {
        return Err(
            RpcError::params("/wire", "ask for a spool or for a wire, not for both").next("leave one of them out")
        );
    }
    let published = app.store.state();
    let state = &published.state;
    let accepted = state.shop().plan.as_ref();
    let risk_pct = accepted.map_or(state.figures().plan_risk_pct.value, |(_, p)| p.promised_risk_pct);
    let as_of = day::as_of(state, asked.as_of.as_deref(), "/as_of")?;
    let scope = Scope { as_of, risk: risk_pct / 100.0, wires: None, until: None };
    let q = question(&app.catalog, state, &scope);
    let patience = Patience::of(app, caller);
    let go_on = || patience.go_on();
    let made =
        if accepted.is_some() { repair(&q, Effort::default(), &go_on) } else { plan(&q, Effort::default(), &go_on) };
    let made = made.map_err(no_plan)?;
    let seen = made.outlook(&q, days);

    let one = asked.spool.as_ref().or(asked.wire.as_ref().filter(|_| asked.by != Some(OutlookBy::Spool)));
    let by_spool = asked.spool.is_some() || asked.by == Some(OutlookBy::Spool);
    let wire_of = |d: &Depletion| {
        let spool = q.spools.iter().find(|s| by_spool && s.id == d.name);
        spool.map_or_else(|| d.name.clone(), |s| s.wire.clone())
    };
    let meant = |d: &&Depletion| match (&asked.spool, &asked.wire) {
        (Some(spool), _) => d.name == *spool,
        (_, Some(wire)) => wire_of(d) == *wire,
        _ => true,
    };
    let chart = asked.chart.unwrap_or(if one.is_some() { OutlookChart::Svg } else { OutlookChart::None });
    let look = outlook_words::Look { as_of, days, state, short: &seen.short, by_spool, chart };
    let items = if by_spool { &seen.spools } else { &seen.wires };
    let items: Vec<OutlookItem> =
        items.iter().filter(meant).map(|d| look.item(d, wire_of(d), by_day(d, as_of))).collect();
    if items.is_empty() {
        if let Some(spool) = &asked.spool {
            return Err(RpcError::not_found("/spool", format!("there is no spool {spool} in use"))
                .met(spool.as_str())
                .next("see `spool list`"));
        }
        if let Some(wire) = &asked.wire {
            return Err(RpcError::not_found("/wire", format!("no spool holds {wire}"))
                .met(wire.as_str())
                .next("see `spool list`"));
        }
    }
    let alone = one.and(items.first());
    Ok(PlanOutlookAnswer {
        sentence: look.sentence(),
        series: alone.map(|item| item.series.clone()),
        chart: alone.and_then(|item| item.chart.clone()),
        after_jobs: after_jobs(&q, &made),
        undated: seen.short.iter().filter(|s| s.day.is_none()).map(|s| s.job.clone()).collect(),
        as_of: as_of.to_string(),
        seq: published.head.seq,
        first_short: look.first(|_| true),
        items,
    })
}

/// The evenings of a series: day 1 is today's. Days on which nothing changes are left out but the last.
fn by_day(d: &Depletion, as_of: Date) -> Vec<OutlookDay> {
    let evenings = d.days.iter().filter(|l| l.day > 0);
    let before = d.days.iter();
    let last = d.days.last().map(|l| l.day);
    before
        .zip(evenings)
        .filter(|(b, l)| l.day == 1 || Some(l.day) == last || l.left != b.left || l.usable != b.usable)
        .map(|(_, l)| OutlookDay {
            on: day::days_after(as_of, l.day - 1).to_string(),
            left_m: l.left.into(),
            usable_m: bare(l.usable),
        })
        .collect()
}

/// What is left of each spool after each of its jobs, in winding order: started first, then by due day and priority.
fn after_jobs(q: &Question, plan: &Plan) -> Vec<AfterJob> {
    let mut out = Vec::new();
    for s in &q.spools {
        let mut on_it: Vec<(&Assigned, &coilwright_planner::Job)> = plan
            .assign
            .iter()
            .filter(|a| a.spool == s.id)
            .filter_map(|a| Some((a, q.jobs.iter().find(|j| j.id == a.job)?)))
            .collect();
        on_it.sort_by_key(|(_, j)| {
            (j.started_coils() == 0, j.due_by().unwrap_or(i32::MAX), std::cmp::Reverse(j.priority))
        });
        let mut drawn = Length::ZERO;
        for (a, j) in on_it {
            let Some(need) = j.need_on(&a.wire) else { continue };
            drawn = drawn + need.total() * f64::from(a.coils);
            let u = Length::from_m(s.left.u.m().hypot(s.draw_doubt * drawn.m()));
            out.push(AfterJob {
                spool: s.id.clone(),
                job: a.job.clone(),
                coils: a.coils,
                left_m: Measured::new(s.left.value - drawn, u).into(),
            });
        }
    }
    out
}
