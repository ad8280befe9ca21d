//! `shop.status`: how the shop and its daemon are.

use crate::app::App;
use coilwright_catalog::{PluginOrigin, WireFilter};
use coilwright_proto::error::RpcError;
use coilwright_proto::shop::{Counts, Health, PluginAnswer, ShopStatus, ShopStatusAnswer};

pub fn answer(app: &App, _: ShopStatus) -> Result<ShopStatusAnswer, RpcError> {
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
        health: if app.faults.is_empty() { Health::Good } else { Health::Degraded },
        faults: app.faults.clone(),
        counts: Counts { wires: c.wires(WireFilter::default()).count(), formers: c.formers().len() },
        plugins: plugins.collect(),
        catalog_digest: c.digest().into(),
    })
}
