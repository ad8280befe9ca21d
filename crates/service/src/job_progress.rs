//! `job.progress`: a layer of the coil on the winder is full.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobProgress, JobProgressed};
use coilwright_shop::decide::{self, Progress};
use coilwright_shop::fact::Fact;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobProgress) -> Result<Value, RpcError> {
    let job = words::job_id(&asked.job)?;
    let ask = Progress {
        job,
        coil_no: asked.coil_no,
        layer: asked.layer,
        lease: asked.lease.clone().unwrap_or_default(),
        take_over: asked.take_over.unwrap_or(false),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::progress(state, &ask, at),
        move |after| {
            let reached = after.decision.facts.iter().find_map(|f| match f {
                Fact::LayerReached(f) => Some((f.coil_no, f.layer)),
                _ => None,
            });
            let (coil_no, layer) = reached.unwrap_or((0, 0));
            JobProgressed { job: job.to_string(), coil_no, layer, rev: after.job_rev(job), seq: after.seq }
        },
    )
}
