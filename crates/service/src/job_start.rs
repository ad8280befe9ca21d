//! `job.start`: a coil goes through the gate and its wire is promised.

use crate::app::App;
use crate::caller::Caller;
use crate::job_words;
use crate::scripts;
use crate::words;
use crate::writing::try_write;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::JobStart;
use coilwright_proto::quantity::Setting;
use coilwright_shop::decide::{self, Start, at_gate};
use coilwright_shop::fact::Fact;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobStart) -> Result<Value, RpcError> {
    let (job, spool) = (words::job_id(&asked.job)?, words::spool_id(&asked.spool)?);
    // Scripts are asked before the decision, which must be quick and the same when it is made again.
    let published = app.store.state();
    let wet = job_words::wet(app, published.state.job(job), asked.adhesive.as_ref())?;
    let also = at_gate(&published.state, job, asked.coil_no, spool, wet.as_ref()).ok().zip(published.state.job(job));
    let also = also.map(|((coil_no, gate), job)| scripts::of_start(app, job, coil_no, &asked.spool, &gate));
    let also = also.unwrap_or_default();
    let ask = Start {
        wet: wet.clone(),
        also: also.clone(),
        job,
        coil_no: asked.coil_no,
        spool,
        override_reason: asked.r#override.as_ref().map(|o| o.reason.clone()),
        if_rev: asked.if_rev,
    };
    let asked_no = asked.coil_no;
    try_write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::start(state, &ask, at),
        move |after| {
            // The checks as they stood when the decision was made, a signed stop among them.
            let (coil_no, gate) = at_gate(after.before, job, asked_no, spool, wet.as_ref())?;
            let gate = gate.and(&also);
            let mut answer = job_words::gated(job, coil_no, spool, gate, after.seq);
            let started = after.decision.facts.iter().find_map(|f| match f {
                Fact::CoilStarted(f) => Some(f),
                _ => None,
            });
            answer.hold_m = started.map(|f| Setting::of(f.hold_m));
            answer.hold = started.map(|f| f.hold.to_string());
            answer.rev = Some(after.job_rev(job));
            Ok(answer)
        },
    )
}
