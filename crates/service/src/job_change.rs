//! `job.change`: what is given replaces what was.

use crate::app::App;
use crate::caller::Caller;
use crate::day;
use crate::job_words;
use crate::teardown;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobChange, JobOpened};
use coilwright_shop::decide::{self, Change};
use coilwright_shop::uncertain::Uncertain;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobChange) -> Result<Value, RpcError> {
    let job = words::job_id(&asked.job)?;
    if asked.coil.is_none() && (asked.pot_life_min.is_some() || asked.winding_min.is_some()) {
        let at = if asked.pot_life_min.is_some() { "/pot_life_min" } else { "/winding_min" };
        return Err(RpcError::params(at, "times of the wet part belong to a coil").next("give `coil` with them"));
    }
    let planned = asked
        .coil
        .as_ref()
        .map(|c| job_words::planned(app, &app.store.state().state, c, asked.pot_life_min, asked.winding_min))
        .transpose()?;
    let (noticed, coil) = planned.map_or((Vec::new(), None), |p| (p.findings, Some((p.coil, p.plan))));
    let ask = Change {
        job,
        title: asked.title.clone(),
        coil,
        coils: asked.coils,
        due_on: asked.due_on.as_deref().map(|d| day::date(d, "/due_on")).transpose()?,
        priority: asked.priority,
        other_wires: asked.other_wires.as_deref().map(|o| job_words::other_wires(&app.catalog, o)).transpose()?,
        before: match &asked.before {
            Some(before) => Some(teardown::noted(app.store.state().state.figures(), before)?),
            None => None,
        },
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::change(state, &ask, at),
        move |after| JobOpened {
            job: job.to_string(),
            need_m: words::figure(after.state.job(job).map_or(Uncertain::new(0.0, 0.0), |j| j.plan.need_m)),
            rev: after.job_rev(job),
            seq: after.seq,
            findings: noticed.iter().cloned().chain(words::findings(&after.decision.findings)).collect(),
        },
    )
}
