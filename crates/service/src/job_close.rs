//! `job.close`: a job is handed over.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::JobClose;
use coilwright_shop::decide::{self, Close};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobClose) -> Result<Value, RpcError> {
    let job = words::job_id(&asked.job)?;
    let ask = Close {
        job,
        note: asked.note.clone().unwrap_or_default(),
        override_reason: asked.r#override.as_ref().map(|o| o.reason.clone()),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::close(state, &ask, at),
        move |after| after.job_ended(job),
    )
}
