//! `journal.undo`: a counter-entry.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_proto::error::RpcError;
use coilwright_proto::journal::{JournalUndo, JournalUndone};
use coilwright_shop::decide::{self, Undo};
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JournalUndo) -> Result<Value, RpcError> {
    let ask = Undo { seq: asked.seq, reason: asked.reason.clone() };
    let undone = asked.seq;
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::undo(state, &ask, at),
        move |after| JournalUndone { undone, seq: after.seq, findings: words::findings(&after.decision.findings) },
    )
}
