//! `job.open`: a job is taken, its coil designed and kept with it.

use crate::app::App;
use crate::caller::Caller;
use crate::day;
use crate::job_words;
use crate::teardown;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobOpen, JobOpened};
use coilwright_shop::decide::{self, Open};
use coilwright_shop::fact::Before;
use serde_json::Value;

const USUAL_PRIORITY: u8 = 5;

pub fn answer(app: &App, caller: &Caller, asked: JobOpen) -> Result<Value, RpcError> {
    let planned =
        job_words::planned(app, &app.store.state().state, &asked.coil, asked.pot_life_min, asked.winding_min)?;
    let (noticed, need) = (planned.findings, planned.plan.need_m);
    let ask = Open {
        title: asked.title.clone(),
        coil: planned.coil,
        plan: planned.plan,
        coils: asked.coils.unwrap_or(1),
        due_on: asked.due_on.as_deref().map(|d| day::date(d, "/due_on")).transpose()?,
        priority: asked.priority.unwrap_or(USUAL_PRIORITY),
        other_wires: job_words::other_wires(&app.catalog, asked.other_wires.as_deref().unwrap_or_default())?,
        before: match &asked.before {
            Some(before) => teardown::noted(app.store.state().state.figures(), before)?,
            None => Before::default(),
        },
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::open(state, &ask, at),
        move |after| JobOpened {
            // The newest id is the one just given.
            job: after.state.jobs().last().map_or_else(String::new, |j| j.id.to_string()),
            need_m: words::figure(need),
            rev: after.seq,
            seq: after.seq,
            findings: noticed.iter().cloned().chain(words::findings(&after.decision.findings)).collect(),
        },
    )
}
