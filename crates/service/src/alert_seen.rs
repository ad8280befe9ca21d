//! `alert.seen`: somebody looked at an alert.

use crate::app::App;
use crate::caller::Caller;
use crate::day;
use crate::writing::write;
use coilwright_proto::alert::{AlertSeen, AlertSeenAnswer};
use coilwright_proto::error::RpcError;
use coilwright_shop::alert::alerts;
use coilwright_shop::decide::{self, Seen};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: AlertSeen) -> Result<Value, RpcError> {
    let published = app.store.state();
    let today = day::as_of(&published.state, asked.as_of.as_deref(), "/as_of")?;
    let ask = Seen { alert: asked.alert.clone(), today };
    let alert = asked.alert.clone();
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::seen(state, &ask, at),
        move |after| AlertSeenAnswer {
            alert: alert.clone(),
            unseen: alerts(after.state, today).iter().filter(|a| a.seen.is_none()).count(),
            seq: after.seq,
        },
    )
}
