//! `spool.move`: a spool put elsewhere, or its wire on another reel.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::SpoolMove;
use coilwright_shop::decide::{self, MoveSpool};
use coilwright_shop::fact::Reel;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: SpoolMove) -> Result<Value, RpcError> {
    let spool = words::spool_id(&asked.spool)?;
    let published = app.store.state();
    let figures = published.state.figures();
    let tare_g = asked.tare_g.map(|t| words::uncertain(t, |_| figures.tare_u_g.value));
    if tare_g.is_some() && asked.rewound == Some(false) {
        return Err(RpcError::params("/tare_g", "a new tare belongs to a new reel, but `rewound` says there is none")
            .next("leave `tare_g` out, or say that the wire was rewound"));
    }
    let ask = MoveSpool {
        spool,
        place: asked.place.clone(),
        reel: (asked.rewound.unwrap_or(false) || tare_g.is_some()).then_some(Reel { tare_g }),
        // Wire cut away is measured with a rule: a centimetre either way.
        lost_m: asked.lost_m.map(|m| words::uncertain(m, |_| 0.01)),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::move_spool(state, &ask, at),
        move |after| after.spool_read(spool),
    )
}
