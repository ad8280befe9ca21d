//! `spool.weigh`: a spool on the scale.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolWeigh;
use coilwright_shop::decide::{self, Weigh};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolWeigh) -> Result<Value, RpcError> {
    let spool = words::spool_id(&asked.spool)?;
    let ask = Weigh {
        spool,
        gross_g: asked.gross_g.value,
        scale_u_g: asked.gross_g.u.or(asked.scale_u_g.map(|s| s.value)),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::weigh(state, &ask, at),
        move |after| after.spool_read(spool),
    )
}
