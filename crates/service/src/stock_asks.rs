//! A spool's arrival and its weighing, from the words of a request to what the shop decides on.

use crate::words;
use coilwright_catalog::Catalog;
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::{SpoolReceive, SpoolWeigh};
use coilwright_shop::decide::{Receive, Weigh};
use coilwright_shop::figures::Figures;

/// A spool that arrives.
///
/// # Errors
/// A wire that is not known or cannot be; money that is none.
pub fn receive(catalog: &Catalog, figures: &Figures, asked: &SpoolReceive) -> Result<Receive, RpcError> {
    Ok(Receive {
        wire: words::shop_wire(catalog, &asked.wire, figures)?,
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
    })
}

/// A spool on the scale.
///
/// # Errors
/// An id that is none.
pub fn weigh(asked: &SpoolWeigh) -> Result<Weigh, RpcError> {
    Ok(Weigh {
        spool: words::spool_id(&asked.spool)?,
        gross_g: asked.gross_g.value,
        scale_u_g: asked.gross_g.u.or(asked.scale_u_g.map(|s| s.value)),
        if_rev: asked.if_rev,
    })
}
