//! `spool.list`: what is on the shelf, at one look.

use crate::app::App;
use crate::words;
use coilwright_core::enough::Remaining;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::Setting;
use coilwright_proto::spool::{SpoolItem, SpoolList, SpoolListAnswer, UsualWord};
use coilwright_shop::figures::Figures;
use coilwright_shop::id::SpoolId;
use coilwright_shop::spool::{Spool, What};
use coilwright_shop::state::State;
use coilwright_store::Published;

pub fn answer(app: &App, asked: SpoolList) -> Result<SpoolListAnswer, RpcError> {
    let published = app.store.state();
    let state = &published.state;
    let (limit, cursor) = (asked.limit, asked.cursor.as_deref());
    let of_wire = |s: &Spool| asked.wire.as_deref().is_none_or(|w| s.wire().key() == w);
    let (items, next_cursor) = if asked.retired.unwrap_or(false) {
        let find = |number| {
            let shown = |p: &Published<State>| {
                let spool = p.state.spool(SpoolId(number)).filter(|s| of_wire(s));
                Ok(spool.map(|s| item(s, state.figures())))
            };
            app.look_at(&published, shown)
        };
        words::page_of_all(state.last_spool().0, find, limit, cursor, words::spool_id_number)?
    } else {
        let wanted = state.spools().filter(|s| s.retired.is_none() && of_wire(s));
        let (page, next) = words::page(wanted, |s| s.id().0, limit, cursor, words::spool_id_number)?;
        (page.into_iter().map(|s| item(s, state.figures())).collect(), next)
    };
    Ok(SpoolListAnswer { items, seq: published.head.seq, next_cursor: next_cursor.map(|n| format!("s-{n}")) })
}

fn item(s: &Spool, figures: &Figures) -> SpoolItem {
    let confidence = figures.confidence.value;
    SpoolItem {
        spool: s.id().to_string(),
        wire: s.wire().key().into(),
        wire_label: s.wire().label.clone(),
        left_m: words::left(s),
        held_m: words::metres(s.held()),
        free_m: words::metres(s.free(confidence)),
        label: s.received.label.clone(),
        place: s.place.clone(),
        retired: s.retired.is_some(),
        rev: s.rev,
        usual: usual(s, figures),
        read_at: s
            .past
            .iter()
            .rfind(|p| matches!(p.what, What::Weighed { .. } | What::Measured { .. }))
            .map(|p| p.at.to_string()),
    }
}

/// Whether the shortest usual coil of this wire can still be wound beside what is promised.
fn usual(s: &Spool, figures: &Figures) -> Option<UsualWord> {
    let coils = figures.usual_coils.value.iter().filter(|c| c.wire.as_deref().is_none_or(|w| w == s.wire().key()));
    let coil = coils.min_by(|a, b| a.need_m.total_cmp(&b.need_m))?;
    let left = s.estimate().left;
    let beside = Measured::new((left.value - s.held()).max(Length::ZERO), left.u);
    let (word, probability) = Remaining::new(beside, 0.0).judge(Length::from_m(coil.need_m), figures.confidence.value);
    Some(UsualWord {
        word: words::enough(word),
        probability,
        coil: coil.title.clone(),
        need_m: Setting::of(coil.need_m),
    })
}
