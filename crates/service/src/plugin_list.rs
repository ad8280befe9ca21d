//! `plugin.list`: every plugin with what it offers, and why others were refused.

use crate::app::App;
use coilwright_catalog::{Fault, OffPlugin, PluginInfo, PluginOrigin};
use coilwright_proto::error::RpcError;
use coilwright_proto::plugin::{PluginCase, PluginItem, PluginList, PluginListAnswer, PluginSetting};
use serde_json::Value;
use std::collections::BTreeMap;

pub fn answer(app: &App, _: PluginList) -> Result<PluginListAnswer, RpcError> {
    let mut items: Vec<PluginItem> = app.catalog.plugins().iter().map(|info| loaded(app, info)).collect();
    let mut refused: BTreeMap<&str, Vec<&Fault>> = BTreeMap::new();
    for fault in &app.refused {
        refused.entry(&fault.plugin).or_default().push(fault);
    }
    items.extend(refused.into_iter().map(|(plugin, faults)| PluginItem {
        plugin: plugin.to_owned(),
        state: "refused".into(),
        offers: Vec::new(),
        cases: Vec::new(),
        settings: Vec::new(),
        faults: faults.into_iter().map(ToString::to_string).collect(),
        title: None,
        version: None,
        licence: None,
        origin: None,
        overrides: None,
        digest: None,
    }));
    items.extend(app.catalog.off().iter().map(off));
    Ok(PluginListAnswer { items, catalog_digest: app.catalog.digest().into() })
}

/// What is switched off is told with what it would offer.
fn off(plugin: &OffPlugin) -> PluginItem {
    let info = plugin.info.as_ref();
    PluginItem {
        plugin: plugin.id.clone(),
        state: "off".into(),
        offers: info.map(offers).unwrap_or_default(),
        cases: Vec::new(),
        settings: Vec::new(),
        faults: Vec::new(),
        title: info.map(|info| info.title.clone()),
        version: info.map(|info| info.version.clone()),
        licence: info.map(|info| info.licence.clone()),
        origin: info.map(|info| place(&info.origin).0),
        overrides: None,
        digest: info.map(|info| info.digest.clone()),
    }
}

fn place(origin: &PluginOrigin) -> (String, Option<bool>) {
    match origin {
        PluginOrigin::BuiltIn => ("built-in".to_owned(), None),
        PluginOrigin::Folder { path, overrides } => (path.display().to_string(), Some(*overrides)),
    }
}

fn loaded(app: &App, info: &PluginInfo) -> PluginItem {
    let (origin, overrides) = place(&info.origin);
    let off: Vec<String> =
        app.catalog.along().iter().filter(|o| o.plugin == info.id).filter_map(|o| o.switched_off()).collect();
    PluginItem {
        plugin: info.id.clone(),
        state: if off.is_empty() { "loaded" } else { "switched_off" }.into(),
        offers: offers(info),
        cases: info
            .cases
            .iter()
            .map(|c| PluginCase { file: c.file.clone(), title: c.title.clone(), figures: c.figures })
            .collect(),
        settings: settings(app, &info.id),
        faults: off,
        title: Some(info.title.clone()),
        version: Some(info.version.clone()),
        licence: Some(info.licence.clone()),
        origin: Some(origin),
        overrides,
        digest: Some(info.digest.clone()),
    }
}

/// What a plugin offers, in few words.
pub fn offers(info: &PluginInfo) -> Vec<String> {
    let counted = [
        (info.listed_wires, "wire"),
        (info.computed_wires, "computed wire"),
        (info.formers, "former material"),
        (info.offers, "offer"),
        (info.adhesives, "adhesive"),
    ];
    let tables = counted.into_iter().filter(|(count, _)| *count > 0);
    let tables = tables.map(|(count, what)| format!("{count} {what}{}", if count == 1 { "" } else { "s" }));
    tables.chain(info.scripts.iter().cloned()).collect()
}

fn settings(app: &App, plugin: &str) -> Vec<PluginSetting> {
    let published = app.store.state();
    let set = published.state.figures().plugin_settings.value.0.get(plugin);
    let all = app.catalog.settings().iter().filter(|s| s.plugin == plugin);
    all.map(|s| {
        let own: Option<&Value> = set.and_then(|set| set.get(&s.name));
        PluginSetting {
            name: s.name.clone(),
            description: s.shape.description.clone(),
            value: own.unwrap_or(&s.default).clone(),
            default: s.default.clone(),
            set: own.is_some(),
        }
    })
    .collect()
}
