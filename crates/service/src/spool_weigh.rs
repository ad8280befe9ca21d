//! `spool.weigh`: a spool on the scale.

use crate::app::App;
use crate::caller::Caller;
use crate::stock_asks;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolWeigh;
use coilwright_shop::decide;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolWeigh) -> Result<Value, RpcError> {
    let ask = stock_asks::weigh(&asked)?;
    let spool = ask.spool;
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::weigh(state, &ask, at),
        move |after| after.spool_read(spool),
    )
}
