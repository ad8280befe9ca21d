//! `plugin.reload`: all plugins are read anew, and swapped whole or not at all.

use crate::app::App;
use crate::caller::Caller;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::plugin::{PluginReload, PluginReloaded};
use serde_json::Value;

pub fn answer(app: &App, _: &Caller, asked: PluginReload) -> Result<Value, RpcError> {
    let done = app.plugins.reload(app, asked.without_faulty.unwrap_or(false));
    let answer = PluginReloaded {
        swapped: done.swapped,
        plugins: done.catalog.plugins().len(),
        catalog_digest: done.catalog.digest().into(),
        faults: done.faults.iter().map(ToString::to_string).collect(),
    };
    serde_json::to_value(answer)
        .map_err(|e| RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the answer could not be written: {e}")))
}
