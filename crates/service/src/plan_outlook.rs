//! `plan.outlook`: what is left by day if the plan is wound.

use crate::app::App;
use crate::day;
use crate::plan_question::{Scope, question};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Assigned, Depletion, Effort, Plan, Question, plan, repair};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::plan::{AfterJob, OutlookDay, OutlookItem, OutlookShort, PlanOutlook, PlanOutlookAnswer};
use coilwright_proto::quantity::bare;
use jiff::civil::Date;

const USUAL_DAYS: u32 = 30;
const MOST_DAYS: u32 = 365;

pub fn answer(app: &App, asked: PlanOutlook) -> Result<PlanOutlookAnswer, RpcError> {
    let days = asked.days.unwrap_or(USUAL_DAYS);
    if !(1..=MOST_DAYS).contains(&days) {
        return Err(RpcError::params("/days", "that is too far to see")
            .met(days)
            .allowed(format!("1 to {MOST_DAYS}"))
            .next(format!("ask for 1 to {MOST_DAYS} days")));
    }
    let published = app.store.state();
    let state = &published.state;
    let accepted = state.shop().plan.as_ref();
    let risk_pct = accepted.map_or(state.figures().plan_risk_pct.value, |(_, p)| p.promised_risk_pct);
    let scope = Scope {
        as_of: day::as_of(state, asked.as_of.as_deref(), "/as_of")?,
        risk: risk_pct / 100.0,
        wires: None,
        until: None,
    };
    let q = question(&app.catalog, state, &scope);
    let go_on = || !app.stopping();
    let made =
        if accepted.is_some() { repair(&q, Effort::default(), &go_on) } else { plan(&q, Effort::default(), &go_on) };
    let made = made.map_err(|e| RpcError::new(code::INTERNAL, ErrorKind::Failed, e.to_string()))?;
    let seen = made.outlook(&q, days);
    let series = |d: &Depletion| by_day(d, scope.as_of);
    let named = |all: &[Depletion], name: &str| all.iter().find(|d| d.name == name).map(series);
    let one = match (&asked.spool, &asked.wire) {
        (Some(_), Some(_)) => {
            return Err(
                RpcError::params("/wire", "ask for a spool or for a wire, not for both").next("leave one of them out")
            );
        }
        (Some(s), None) => Some(named(&seen.spools, s).ok_or_else(|| {
            RpcError::not_found("/spool", format!("there is no spool {s} in use"))
                .met(s.as_str())
                .next("see `spool list`")
        })?),
        (None, Some(w)) => Some(named(&seen.wires, w).ok_or_else(|| {
            RpcError::not_found("/wire", format!("no spool holds {w}")).met(w.as_str()).next("see `spool list`")
        })?),
        (None, None) => None,
    };
    let items = match &one {
        Some(series) => vec![OutlookItem {
            name: asked.spool.clone().or(asked.wire.clone()).unwrap_or_default(),
            series: series.clone(),
        }],
        None => seen.wires.iter().map(|d| OutlookItem { name: d.name.clone(), series: series(d) }).collect(),
    };
    Ok(PlanOutlookAnswer {
        sentence: seen.sentence,
        items,
        after_jobs: after_jobs(&q, &made),
        as_of: scope.as_of.to_string(),
        seq: published.head.seq,
        series: one,
        first_short: seen.first_short.map(|f| OutlookShort {
            job: f.job,
            on: day::days_after(scope.as_of, f.day - 1).to_string(),
            probability: f.probability,
        }),
    })
}

/// Day 0 is before today's work, day 1 the evening of today. Days on which nothing changes are left out but the last.
fn by_day(d: &Depletion, as_of: Date) -> Vec<OutlookDay> {
    let last = d.days.len().saturating_sub(1);
    let changes = |i: usize| {
        i == 0 || i == last || d.days[i].left != d.days[i - 1].left || d.days[i].usable != d.days[i - 1].usable
    };
    d.days
        .iter()
        .enumerate()
        .filter(|(i, _)| changes(*i))
        .map(|(_, l)| OutlookDay {
            on: day::days_after(as_of, (l.day - 1).max(0)).to_string(),
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
