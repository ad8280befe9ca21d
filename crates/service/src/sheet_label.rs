//! `sheet.label`: the label of a spool.

use crate::app::App;
use crate::{day, words};
use coilwright_core::measured::Measured;
use coilwright_proto::error::RpcError;
use coilwright_proto::sheet::{SheetLabel, SheetLabelAnswer};
use coilwright_sheets::Figure;
use coilwright_sheets::label::{Label, label};
use coilwright_shop::state::State;
use coilwright_store::Published;

pub fn answer(app: &App, asked: SheetLabel) -> Result<SheetLabelAnswer, RpcError> {
    app.look(|published| printed(&asked, published))
}

fn printed(asked: &SheetLabel, published: &Published<State>) -> Result<SheetLabelAnswer, RpcError> {
    let id = words::spool_id(&asked.spool)?;
    let state = &published.state;
    let spool = state.spool(id).ok_or_else(|| words::no_such("spool", &asked.spool))?;
    let estimate = spool.estimate();
    let svg = label(&Label {
        spool: id.to_string(),
        wire: spool.wire().label.clone(),
        tare_g: estimate.tare.map(|t| Figure { value: t.value.g(), u: t.u.g() }),
        left_m: figure(estimate.left),
        left_on: day::as_of(state, asked.as_of.as_deref(), "/as_of")?.to_string(),
        width_mm: asked.width_mm.map_or(62.0, |s| s.value),
        height_mm: asked.height_mm.map_or(29.0, |s| s.value),
    });
    let svg =
        svg.map_err(|e| RpcError::params("", e.to_string()).next("give the label's width and height in millimetres"))?;
    Ok(SheetLabelAnswer { svg, seq: published.head.seq })
}

fn figure(m: Measured<coilwright_core::quantity::Length>) -> Figure {
    Figure { value: m.value.m(), u: m.u.m() }
}
