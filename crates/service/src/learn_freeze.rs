//! `learn.freeze`: new coils no longer move planned figures, or do again.

use crate::app::App;
use crate::caller::Caller;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::learn::LearnFreeze;
use coilwright_shop::decide::{self, Freeze};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: LearnFreeze) -> Result<Value, RpcError> {
    let ask = Freeze { frozen: asked.frozen.unwrap_or(true), reason: asked.reason.clone().unwrap_or_default() };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::freeze(state, &ask, at),
        move |after| after.learning(),
    )
}
