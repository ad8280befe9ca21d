//! `spool.receive`: a spool is taken into stock.

use crate::app::App;
use crate::caller::Caller;
use crate::writing::write;
use crate::{stock_asks, words};
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::{SpoolReceive, SpoolReceived};
use coilwright_shop::decide;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolReceive) -> Result<Value, RpcError> {
    let ask = stock_asks::receive(&app.catalog, app.store.state().state.figures(), &asked)?;
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::receive(state, &ask, at),
        |after| {
            // The newest id is the one just given.
            let spool = after.state.spools().last();
            SpoolReceived {
                spool: spool.map_or_else(String::new, |s| s.id().to_string()),
                left_m: spool.map_or(words::figure(coilwright_shop::uncertain::Uncertain::new(0.0, 0.0)), words::left),
                findings: words::findings(&after.decision.findings),
                rev: after.seq,
                seq: after.seq,
            }
        },
    )
}
