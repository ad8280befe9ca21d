//! `spool.receive`: a spool is taken into stock.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::{SpoolReceive, SpoolReceived};
use coilwright_shop::decide::{self, Receive};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolReceive) -> Result<Value, RpcError> {
    let published = app.store.state();
    let figures = published.state.figures();
    let ask = Receive {
        wire: words::shop_wire(&app.catalog, &asked.wire, figures)?,
        gross_g: asked.gross_g.map(|s| s.value),
        scale_u_g: asked.gross_g.and_then(|g| g.u).or(asked.scale_u_g.map(|s| s.value)),
        tare_g: asked.tare_g.map(|t| words::uncertain(t, |_| figures.tare_u_g.value)),
        marked_m: asked.marked_m.map(|m| words::uncertain(m, |v| figures.marked(v).u)),
        marked_is_wrong: asked.marked_is_wrong.unwrap_or(false),
        label: asked.label.clone().unwrap_or_default(),
        supplier: asked.supplier.clone().unwrap_or_default(),
        lot: asked.lot.clone().unwrap_or_default(),
        cost_per_kg: asked.cost_per_kg.as_ref().map(|m| words::money(m, "/cost_per_kg")).transpose()?,
        place: asked.place.clone().unwrap_or_default(),
        note: asked.note.clone().unwrap_or_default(),
    };
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
