//! `job.gate`: may this coil be started from this spool? Looks, and writes nothing.

use crate::app::App;
use crate::writing::refused;
use crate::{job_words, scripts, words};
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{JobGate, JobGated};
use coilwright_shop::decide::at_gate;
use coilwright_shop::state::State;
use coilwright_store::Published;

pub fn answer(app: &App, asked: JobGate) -> Result<JobGated, RpcError> {
    app.look(|published| at_the_gate(app, &asked, published))
}

fn at_the_gate(app: &App, asked: &JobGate, published: &Published<State>) -> Result<JobGated, RpcError> {
    let (job_id, spool_id) = (words::job_id(&asked.job)?, words::spool_id(&asked.spool)?);
    let wet = job_words::wet(app, published.state.job(job_id), asked.adhesive.as_ref())?;
    let found = at_gate(&published.state, job_id, asked.coil_no, spool_id, wet.as_ref());
    let (coil_no, gate) = found.map_err(refused)?;
    let also = published.state.job(job_id).map(|job| scripts::of_start(app, job, coil_no, &asked.spool, &gate));
    let gate = gate.and(&also.unwrap_or_default());
    Ok(job_words::gated(job_id, coil_no, spool_id, gate, published.head.seq))
}
