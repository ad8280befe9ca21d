//! `wire.list`: the catalog's wires, page by page.

use crate::app::App;
use crate::view;
use coilwright_catalog::WireFilter;
use coilwright_core::wire::Standing;
use coilwright_proto::error::RpcError;
use coilwright_proto::wire::{WireList, WireListAnswer, WireStanding};

const DEFAULT_LIMIT: u32 = 100;
const MOST: u32 = 1000;

pub fn answer(app: &App, asked: WireList) -> Result<WireListAnswer, RpcError> {
    let limit = asked.limit.unwrap_or(DEFAULT_LIMIT);
    if !(1..=MOST).contains(&limit) {
        return Err(RpcError::params("/limit", format!("a page holds 1 to {MOST} wires"))
            .met(limit)
            .allowed(format!("1 to {MOST}"))
            .next("ask for less, and go on with `cursor`"));
    }
    let filter = WireFilter {
        conductor: asked.conductor.map(Into::into),
        bare_min: asked.bare_min_mm.map(|s| s.quantity()),
        bare_max: asked.bare_max_mm.map(|s| s.quantity()),
        standing: Some(match asked.standing {
            None | Some(WireStanding::Listed) => Standing::Listed,
            Some(WireStanding::Computed) => Standing::Computed,
        }),
        ..WireFilter::default()
    };
    let text = asked.text.as_deref().map(str::to_lowercase);
    let mut wanted = app.catalog.wires(filter).filter(|w| {
        text.as_deref().is_none_or(|t| w.id.to_lowercase().contains(t) || w.label.to_lowercase().contains(t))
    });
    if let Some(cursor) = &asked.cursor {
        let Some(_) = wanted.find(|w| w.id == *cursor) else {
            return Err(RpcError::params("/cursor", "this cursor belongs to another question or catalog")
                .met(cursor.as_str())
                .next("ask again without `cursor`"));
        };
    }
    let mut items = Vec::new();
    let mut next_cursor = None;
    for record in wanted {
        if items.len() == limit as usize {
            next_cursor = items.last().map(|w: &coilwright_proto::wire::WireAnswer| w.wire.clone());
            break;
        }
        items.push(view::wire_in_words(record));
    }
    Ok(WireListAnswer { items, next_cursor })
}
