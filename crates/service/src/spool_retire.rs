//! `spool.retire`: a spool is used no more.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolRetire;
use coilwright_shop::decide::{self, Retire};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolRetire) -> Result<Value, RpcError> {
    let spool = words::spool_id(&asked.spool)?;
    let ask = Retire {
        spool,
        empty: asked.empty.unwrap_or(true),
        gross_g: asked.gross_g.map(|s| s.value),
        scale_u_g: asked.gross_g.and_then(|g| g.u).or(asked.scale_u_g.map(|s| s.value)),
        reason: asked.reason.clone().unwrap_or_default(),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::retire(state, &ask, at),
        move |after| after.spool_read(spool),
    )
}
