//! `job.cancel`: a job will not be done.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::JobCancel;
use coilwright_shop::decide::{self, Cancel};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobCancel) -> Result<Value, RpcError> {
    let job = words::job_id(&asked.job)?;
    let ask = Cancel { job, reason: asked.reason.clone(), if_rev: asked.if_rev };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::cancel(state, &ask, at),
        move |after| after.job_ended(job),
    )
}
