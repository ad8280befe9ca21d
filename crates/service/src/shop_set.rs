//! `shop.set`: what the shop decides by is changed.

use crate::app::App;
use crate::caller::Caller;
use crate::writing::write;
use crate::{scripts, words};
use coilwright_proto::error::RpcError;
use coilwright_proto::error::{ErrorKind, code};
use coilwright_proto::shop::ShopSet;
use coilwright_shop::decide::{self, SetFigures};
use coilwright_shop::figures::FiguresSet;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: ShopSet) -> Result<Value, RpcError> {
    if let Some(r) = &asked.rates {
        words::money(&r.hour, "/rates/hour")?;
    }
    if let Some(zone) = asked.time_zone.as_deref().filter(|z| jiff::tz::TimeZone::get(z).is_err()) {
        return Err(RpcError::params("/time_zone", format!("there is no time zone `{zone}`"))
            .met(zone)
            .allowed("an IANA name like Europe/Lisbon")
            .next("look the name up in the IANA list of time zones"));
    }
    for (plugin, settings) in asked.plugin_settings.iter().flatten() {
        for (name, value) in settings.iter().filter(|(_, value)| !value.is_null()) {
            plugin_setting(app, plugin, name, value)?;
        }
    }
    // The members bear the same names on the wire and in the journal; the schema on the wire is the stricter one.
    let set = serde_json::to_value(&asked).and_then(serde_json::from_value::<FiguresSet>);
    let set = set.map_err(|e| {
        RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the figures could not be taken over: {e}"))
    })?;
    let ask = SetFigures { set, if_rev: asked.if_rev };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::set_figures(state, &ask, at),
        |after| words::figures(after.state, after.seq),
    )
}

/// A setting of a plugin must be one that it has, and fit.
fn plugin_setting(app: &App, plugin: &str, name: &str, value: &Value) -> Result<(), RpcError> {
    let at = format!("/plugin_settings/{plugin}/{name}");
    let of_plugin: Vec<_> = app.catalog.settings().iter().filter(|s| s.plugin == plugin).collect();
    let Some(setting) = of_plugin.iter().find(|s| s.name == name) else {
        let known: Vec<&str> = of_plugin.iter().map(|s| s.name.as_str()).collect();
        return Err(RpcError::params(at, format!("the plugin `{plugin}` has no setting `{name}`"))
            .met(name)
            .allowed(known.join(", "))
            .next("`plugin.list` tells the settings of every plugin"));
    };
    setting.fits(value, &scripts::asking(app)).map_err(|misfit| {
        let e = RpcError::params(at, misfit.message).met(misfit.met);
        match misfit.allowed {
            Some(allowed) => e.allowed(allowed),
            None => e,
        }
    })
}
