//! Plugins that are switched off: by an empty file `ID.off` beside the plugins' folders.

use crate::catalog::PluginInfo;
use crate::together::Plugin;
use std::collections::BTreeSet;

/// End of the name of the file that switches a plugin off.
pub const OFF: &str = ".off";

/// A plugin that is there and not used.
#[derive(Debug, Clone)]
pub struct OffPlugin {
    /// Its id.
    pub id: String,
    /// Who it is, where it can be read.
    pub info: Option<PluginInfo>,
    /// Ids of the wires, formers and adhesives that it would have.
    ids: BTreeSet<String>,
}

impl OffPlugin {
    pub(crate) fn unread(id: String) -> OffPlugin {
        OffPlugin { id, info: None, ids: BTreeSet::new() }
    }

    pub(crate) fn of(plugin: Plugin) -> OffPlugin {
        let wires = plugin.wires.iter().map(|w| &w.id);
        let formers = plugin.formers.iter().map(|f| &f.id);
        let ids = wires.chain(formers).chain(plugin.adhesives.iter().map(|a| &a.id)).cloned().collect();
        OffPlugin { id: plugin.info.id.clone(), info: Some(plugin.info), ids }
    }

    pub(crate) fn has(&self, id: &str) -> bool {
        self.ids.contains(id)
    }
}
