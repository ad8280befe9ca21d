//! `alert.list`: what somebody should look at.

use crate::app::App;
use crate::{alert_words, day};
use coilwright_proto::alert::{AlertList, AlertListAnswer};
use coilwright_proto::error::RpcError;
use coilwright_shop::alert::{Kind, alerts};

const USUAL: u32 = 100;
const MOST: u32 = 1000;

pub fn answer(app: &App, asked: AlertList) -> Result<AlertListAnswer, RpcError> {
    let published = app.store.state();
    let state = &published.state;
    let words = Kind::ALL.map(Kind::word);
    if let Some(kind) = asked.kind.as_deref().filter(|k| !words.contains(k)) {
        return Err(RpcError::params("/kind", format!("there is no kind of alert `{kind}`"))
            .met(kind)
            .allowed(words.join(", "))
            .next("take one of those, or leave it out"));
    }
    let limit = asked.limit.unwrap_or(USUAL);
    if !(1..=MOST).contains(&limit) {
        return Err(RpcError::params("/limit", format!("a page holds 1 to {MOST} items"))
            .met(limit)
            .allowed(format!("1 to {MOST}"))
            .next("ask for fewer"));
    }
    let today = day::as_of(state, asked.as_of.as_deref(), "/as_of")?;
    let mut all = alerts(state, today);
    all.retain(|a| asked.kind.as_deref().is_none_or(|k| k == a.kind.word()));
    all.retain(|a| !asked.unseen.unwrap_or(false) || a.seen.is_none());
    Ok(AlertListAnswer {
        items: all.iter().take(limit as usize).map(alert_words::item).collect(),
        all: all.len(),
        unseen: all.iter().filter(|a| a.seen.is_none()).count(),
        as_of: today.to_string(),
        seq: published.head.seq,
    })
}
