//! `spool.hold`: wire on a spool is promised.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolHold;
use coilwright_shop::decide::{self, HoldWire};
use coilwright_shop::fact::Fact;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolHold) -> Result<Value, RpcError> {
    let spool = words::spool_id(&asked.spool)?;
    let ask = HoldWire {
        spool,
        hold_m: asked.hold_m.value,
        reason: asked.reason.clone().unwrap_or_default(),
        job: asked.job.as_deref().map(words::job_id).transpose()?,
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::hold(state, &ask, at),
        move |after| {
            let made = after.decision.facts.iter().find_map(|f| match f {
                Fact::SpoolHeld(f) => Some(f.hold),
                _ => None,
            });
            after.spool_held(spool, made)
        },
    )
}
