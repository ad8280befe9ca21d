//! `spool.release`: a promise of wire is given back.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolRelease;
use coilwright_shop::decide::{self, ReleaseHold};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolRelease) -> Result<Value, RpcError> {
    let (spool, hold) = (words::spool_id(&asked.spool)?, words::hold_id(&asked.hold)?);
    let ask = ReleaseHold { spool, hold, reason: asked.reason.clone().unwrap_or_default(), if_rev: asked.if_rev };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::release(state, &ask, at),
        move |after| after.spool_held(spool, Some(hold)),
    )
}
