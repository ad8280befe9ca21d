//! `job.step`: a good coil was trimmed, cured or tested.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobStatus, JobStep, JobStepped, LaterStep};
use coilwright_shop::decide::{self, DoStep};
use coilwright_shop::fact::Step;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobStep) -> Result<Value, RpcError> {
    let job = words::job_id(&asked.job)?;
    let coil_no = asked.coil_no;
    let reading = match (asked.reading_ohm, asked.temperature_c) {
        (None, _) => None,
        (Some(_), None) => {
            return Err(RpcError::params("/temperature_c", "a resistance without its temperature says nothing")
                .next("add `temperature_c`"));
        }
        (Some(ohm), Some(t)) => {
            let published = app.store.state();
            Some(words::ohm_reading(published.state.figures(), ohm, asked.test_leads_ohm, t, asked.meter_u_ohm))
        }
    };
    let ask = DoStep {
        job,
        coil_no,
        step: match asked.step {
            LaterStep::Trimmed => Step::Trimmed,
            LaterStep::Cured => Step::Cured,
            LaterStep::Tested => Step::Tested,
        },
        not_needed: asked.not_needed.unwrap_or(false),
        figures: asked.figures.clone().map_or(Value::Null, Value::Object),
        minutes: asked.minutes.map(|m| m.value),
        reading,
        note: asked.note.clone().unwrap_or_default(),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::step(state, &ask, at),
        move |after| {
            let j = after.state.job(job);
            JobStepped {
                job: job.to_string(),
                coil_no,
                missing: j.map(|j| j.missing()).unwrap_or_default(),
                status: j.map_or(JobStatus::InWork, |j| words::status(j.status())),
                rev: after.job_rev(job),
                seq: after.seq,
                findings: words::findings(&after.decision.findings),
            }
        },
    )
}
