//! `wire.show`: one wire with its limits and where they come from.

use crate::app::App;
use crate::view;
use coilwright_proto::error::RpcError;
use coilwright_proto::wire::{WireAnswer, WireShow};

pub fn answer(app: &App, asked: WireShow) -> Result<WireAnswer, RpcError> {
    let c = &app.catalog;
    let record = c
        .wire(&asked.wire)
        .ok_or_else(|| view::unknown(c, "wire", &asked.wire, &c.nearest_wire(&asked.wire), "wire.list", "/wire"))?;
    Ok(view::wire_in_words(record))
}
