//! `shop.status`: how the shop and its daemon are.

use crate::app::App;
use crate::proposals;
use crate::{alert_words, day};
use coilwright_catalog::{PluginOrigin, WireFilter};
use coilwright_proto::error::RpcError;
use coilwright_proto::shop::{Counts, Health, JournalHead, PluginAnswer, ShopStatus, ShopStatusAnswer};
use coilwright_shop::alert::alerts;

pub fn answer(app: &App, _: ShopStatus) -> Result<ShopStatusAnswer, RpcError> {
    let health = app.store.health();
    let published = app.store.state();
    let state = &published.state;
    let mut faults = app.faults.clone();
    faults.extend(app.refused.iter().map(ToString::to_string));
    faults.extend(health.degraded.clone().map(|why| format!("nothing is written any more: {why}; restart the daemon")));
    faults.extend(health.full.then(|| "the disk is full: nothing is written until there is room".to_owned()));
    faults.extend(
        health
            .index_in_memory
            .clone()
            .map(|why| format!("the index is kept in memory: {why}; nothing is lost by that")),
    );
    let backup = app.backups.as_ref().and_then(|backups| backups.fault());
    faults.extend(backup.map(|why| format!("the last backup failed: {why}")));
    let c = &app.catalog;
    let plugins = c.plugins().iter().map(|p| PluginAnswer {
        plugin: p.id.clone(),
        version: p.version.clone(),
        title: p.title.clone(),
        origin: match &p.origin {
            PluginOrigin::BuiltIn => "built-in".into(),
            PluginOrigin::Folder { path, .. } => path.display().to_string(),
        },
    });
    Ok(ShopStatusAnswer {
        version: app.version.into(),
        health: if faults.is_empty() { Health::Good } else { Health::Degraded },
        faults,
        journal: JournalHead { head: published.head.seq, hash: published.head.hash.to_string() },
        counts: Counts {
            wires: c.wires(WireFilter::default()).count(),
            formers: c.formers().len(),
            spools: state.spools().filter(|s| s.retired.is_none()).count(),
            jobs: state.jobs().filter(|j| j.ended.is_none()).count(),
            winding: state.jobs().flat_map(|j| j.works.values()).filter(|w| w.is_winding()).count(),
        },
        plugins: plugins.collect(),
        alerts: alerts(state, day::today(state)).iter().filter(|a| a.seen.is_none()).map(alert_words::item).collect(),
        proposals: proposals::now(app, &published),
        catalog_digest: c.digest().into(),
    })
}
