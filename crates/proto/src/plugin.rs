//! `plugin.*`: which plugins there are, what each offers, and reading them anew.

use crate::shape::{asks, method, tells};
use serde_json::Value;

asks! {
    /// Asks for all plugins, those that were refused too.
    PluginList {} may {}
}
method!(PluginList => PluginListAnswer, "plugin.list", "Lists the plugins: what each offers, where it comes from, which of its worked examples held, why it was refused, whether it is off.");

tells! {
    /// All plugins.
    PluginListAnswer {
        /// Those that are in use by their ids, then those that were refused, then those that are switched off.
        items: Vec<PluginItem>,
        /// Digest of everything the catalog holds.
        catalog_digest: String,
    } may {}
}

tells! {
    /// A plugin.
    PluginItem {
        /// Its id, or the name of its folder.
        plugin: String,
        /// `loaded`, `refused`, `off`, or `switched_off` where one of its scripts took too much three times running.
        state: String,
        /// What it offers, e.g. `12 wires`, `method costing.quote`.
        offers: Vec<String>,
        /// Its worked examples, all of which held.
        cases: Vec<PluginCase>,
        /// What the shop can set of it with `shop.set`.
        settings: Vec<PluginSetting>,
        /// Why it was refused, with file, line and column.
        faults: Vec<String>,
    } may {
        /// What it is.
        title: String,
        /// Its version.
        version: String,
        /// Its licence.
        licence: String,
        /// `built-in`, or the folder it was read from.
        origin: String,
        /// Whether it stands in the place of a built-in one.
        overrides: bool,
        /// Digest of its files (SHA-256, hexadecimal).
        digest: String,
    }
}

tells! {
    /// A worked example that held.
    PluginCase {
        /// Its file.
        file: String,
        /// What it is about.
        title: String,
        /// How many figures were compared.
        figures: usize,
    } may {}
}

tells! {
    /// A setting of a plugin.
    PluginSetting {
        /// Its name; a number with a dimension ends in its unit.
        name: String,
        /// What it is.
        description: String,
        /// Its value now.
        value: Value,
        /// Its value where the shop sets none.
        default: Value,
        /// Whether the shop set it.
        set: bool,
    } may {}
}

asks! {
    /// Reads all plugins anew.
    PluginReload {} may {
        /// Take what is right even if a plugin is not; without it one fault keeps the old set.
        without_faulty: bool,
    }
}
method!(PluginReload => PluginReloaded, "plugin.reload", "Reads all plugins anew: the whole set is swapped at once, or the old one kept.", writes: true);

tells! {
    /// What became of it.
    PluginReloaded {
        /// Whether the new set is in use.
        swapped: bool,
        /// How many plugins are in use now.
        plugins: usize,
        /// Digest of everything the catalog holds now.
        catalog_digest: String,
        /// What is wrong with the plugins as they lie there, in sentences.
        faults: Vec<String>,
    } may {}
}
