//! `learn.reset`: what coils taught so far is forgotten.

use crate::app::App;
use crate::caller::Caller;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::learn::LearnReset;
use coilwright_shop::decide::{self, Forget};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: LearnReset) -> Result<Value, RpcError> {
    let ask = Forget {
        wire: asked.wire.clone(),
        mandrel_mm: asked.mandrel_mm.map(|m| m.value),
        winder: asked.winder.clone(),
        reason: asked.reason.clone(),
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::forget(state, &ask, at),
        move |after| after.learning(),
    )
}
