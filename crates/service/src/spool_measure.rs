//! `spool.measure`: the wire on a spool measured from end to end.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolMeasure;
use coilwright_shop::decide::{self, Measure};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolMeasure) -> Result<Value, RpcError> {
    let spool = words::spool_id(&asked.spool)?;
    let published = app.store.state();
    let reading = words::ohm_reading(
        published.state.figures(),
        asked.ohm,
        asked.test_leads_ohm,
        asked.temperature_c,
        asked.meter_u_ohm,
    );
    let ask = Measure { spool, reading, if_rev: asked.if_rev };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::measure(state, &ask, at),
        move |after| after.spool_read(spool),
    )
}
