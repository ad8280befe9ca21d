//! Loading: every plugin is read and checked by itself.

use crate::catalog::{Loaded, PluginInfo, PluginOrigin};
use crate::fault::{Fault, Faults};
use crate::folder::{CASES_BYTES, Folder, SOURCES_BYTES, TABLE_BYTES};
use crate::former_table;
use crate::script::{Room, offers as script_offers};
use crate::together::{Plugin, Taken, hexadecimal, put_together};
use crate::{adhesive_table, manifest, supply_table, wire_derived, wire_table};
use coilwright_core::wire::Standing;
use include_dir::{Dir, include_dir};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

static BUILT_IN: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/../../plugins");

/// Most plugins in one folder.
const PLUGINS: usize = 500;

pub(crate) fn load(extra: Option<&Path>, room: Option<&Arc<dyn Room>>) -> Loaded {
    let mut faults = Vec::new();
    let mut built_in = BTreeMap::new();
    for folder in BUILT_IN.dirs() {
        let name = folder.path().file_name().and_then(|n| n.to_str()).unwrap_or_default();
        match read_plugin(Folder::embedded(&BUILT_IN, name), name, PluginOrigin::BuiltIn) {
            Ok(plugin) => drop(built_in.insert(plugin.info.id.clone(), plugin)),
            Err(found) => faults.extend(found),
        }
    }
    let own = extra.map(|path| read_all(path, &mut faults)).unwrap_or_default();
    put_together(built_in, own, faults, room)
}

/// Reads the plugin folders within `path`, in the order of their names. Files and hidden folders beside them do not matter.
fn read_all(path: &Path, faults: &mut Vec<Fault>) -> BTreeMap<String, Plugin> {
    let mut plugins = BTreeMap::new();
    let mut whole = Faults::of("folder");
    let unreadable = |e: std::io::Error| {
        Fault::new(format!("{} cannot be read: {e}", path.display()))
            .next("name a folder that holds plugin folders, or none")
    };
    let listed = path.canonicalize().and_then(|root| {
        let mut names: Vec<String> = Vec::new();
        for entry in root.read_dir()? {
            let entry = entry?;
            let name = entry.file_name().to_string_lossy().into_owned();
            if entry.path().is_dir() && !name.starts_with('.') {
                names.push(name);
            }
        }
        names.sort_unstable();
        Ok((root, names))
    });
    let Some((root, names)) = whole.take(listed.map_err(unreadable)) else {
        faults.extend(whole.into_list());
        return plugins;
    };
    if names.len() > PLUGINS {
        whole.push(Fault::new(format!("{} plugins where {PLUGINS} are allowed: only the first are read", names.len())));
    }
    faults.extend(whole.into_list());
    for name in names.iter().take(PLUGINS) {
        let origin = PluginOrigin::Folder { path: path.join(name), overrides: false };
        let folder = Folder::on_disk(&root.join(name), &root).map_err(|fault| {
            let mut list = Faults::of(name);
            list.push(fault);
            list.into_list()
        });
        match folder.and_then(|folder| read_plugin(folder, name, origin)) {
            Ok(plugin) => drop(plugins.insert(plugin.info.id.clone(), plugin)),
            Err(found) => faults.extend(found),
        }
    }
    plugins
}

/// Reads one plugin and checks what can be told of it alone: manifest, sources, tables, ids.
fn read_plugin(mut folder: Folder, name: &str, origin: PluginOrigin) -> Result<Plugin, Vec<Fault>> {
    let mut faults = Faults::of(name);
    let Some(manifest) = manifest::read(&mut folder, name, &mut faults) else { return Err(faults.into_list()) };
    match folder.text("SOURCES.md", SOURCES_BYTES) {
        Ok(text) if text.trim().is_empty() => faults.push(Fault::new("the file is empty").file("SOURCES.md")),
        Ok(_) => {}
        Err(fault) => faults.push(fault.next("write where the numbers come from, and under which licence")),
    }
    let mut wires = Vec::new();
    for offer in &manifest.wire_tables {
        if let Some(text) = faults.take(folder.text(&offer.file, TABLE_BYTES)) {
            wires.extend(wire_table::read(offer, &text, &manifest.id, &mut faults));
        }
    }
    let mut derived = Vec::new();
    for rule in &manifest.wires_derived {
        derived.extend(wire_derived::derive(rule, &wires, &mut faults));
    }
    wires.extend(derived);
    let mut formers = Vec::new();
    for offer in &manifest.former_tables {
        let read = |file: &str| folder.text(file, TABLE_BYTES);
        formers.extend(former_table::read(offer, read, &manifest.id, &mut faults));
    }
    let mut offers = Vec::new();
    for table in &manifest.supply_tables {
        if let Some(text) = faults.take(folder.text(&table.file, TABLE_BYTES)) {
            offers.extend(supply_table::read(table, &text, &manifest.id, &mut faults));
        }
    }
    let mut adhesives = Vec::new();
    for table in &manifest.adhesive_tables {
        let read = |file: &str| folder.text(file, TABLE_BYTES);
        adhesives.extend(adhesive_table::read(table, read, &manifest.id, &mut faults));
    }
    let scripts = script_offers::read(&manifest.scripts, &manifest.text, &manifest.id, &mut folder, &mut faults);
    let mut examples = Vec::new();
    for file in faults.take(folder.list("cases", "json")).unwrap_or_default() {
        if let Some(text) = faults.take(folder.text(&file, CASES_BYTES)) {
            examples.push((file, text));
        }
    }
    let listed = wires.iter().filter(|w| w.standing == Standing::Listed).count();
    let info = PluginInfo {
        id: manifest.id,
        version: manifest.version,
        title: manifest.title,
        licence: manifest.licence,
        origin,
        listed_wires: listed,
        computed_wires: wires.len() - listed,
        formers: formers.len(),
        offers: offers.len(),
        adhesives: adhesives.len(),
        scripts: scripts.names(),
        cases: Vec::new(),
        digest: hexadecimal(&folder.digest()),
    };
    let plugin = Plugin { info, wires, formers, offers, adhesives, scripts, examples };
    Taken::default().clashes(&plugin, &mut faults);
    if faults.none() { Ok(plugin) } else { Err(faults.into_list()) }
}
