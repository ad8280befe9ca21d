//! Loading: every plugin is read and checked by itself.

use crate::catalog::{Catalog, Loaded, PluginInfo, PluginOrigin, Trial};
use crate::fault::{Fault, Faults};
use crate::folder::{CASES_BYTES, Folder, SOURCES_BYTES, TABLE_BYTES, folder_name};
use crate::former_table;
use crate::off::{OFF, OffPlugin};
use crate::script::{Room, offers as script_offers};
use crate::together::{Plugin, Taken, hexadecimal, put_together};
use crate::{adhesive_table, manifest, supply_table, wire_derived, wire_table};
use coilwright_core::wire::Standing;
use include_dir::{Dir, include_dir};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::{Arc, OnceLock};

static BUILT_IN: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/../../plugins");

/// Most plugins in one folder.
const PLUGINS: usize = 500;

pub(crate) fn load(extra: Option<&Path>, trial: Option<&Trial<'_>>, room: Option<&Arc<dyn Room>>) -> Loaded {
    let mut faults = Vec::new();
    let mut built_in = BTreeMap::new();
    for folder in BUILT_IN.dirs() {
        let name = folder.path().file_name().and_then(|n| n.to_str()).unwrap_or_default();
        match read_plugin(Folder::embedded(&BUILT_IN, name), name, PluginOrigin::BuiltIn) {
            Ok(plugin) => drop(built_in.insert(plugin.info.id.clone(), plugin)),
            Err(found) => faults.extend(found),
        }
    }
    let trial = trial.map(|trial| (trial.name(), trial.read()));
    let trial_name = trial.as_ref().map(|(name, _)| name.as_str());
    let mut lying = extra.map(|path| read_all(path, trial_name)).unwrap_or_default();
    let marked = std::mem::take(&mut lying.off);
    let off = switched_off(&marked, trial_name, &mut built_in, &mut lying);
    faults.extend(lying.faults);
    match trial {
        Some((_, Ok(plugin))) => drop(lying.plugins.insert(plugin.info.id.clone(), plugin)),
        Some((_, Err(found))) => faults.extend(found),
        None => {}
    }
    put_together(built_in, lying.plugins, faults, room, off)
}

/// The built-in plugins by themselves, made once: they never change.
pub(crate) fn built_in() -> Arc<Catalog> {
    static CATALOG: OnceLock<Arc<Catalog>> = OnceLock::new();
    CATALOG.get_or_init(|| Arc::new(load(None, None, None).catalog)).clone()
}

impl Trial<'_> {
    fn name(&self) -> String {
        match self {
            Trial::Folder(path) => folder_name(path),
            Trial::Files { name, .. } => (*name).to_owned(),
        }
    }

    fn read(&self) -> Result<Plugin, Vec<Fault>> {
        let name = self.name();
        match self {
            Trial::Folder(path) => {
                let origin = PluginOrigin::Folder { path: path.to_path_buf(), overrides: false };
                read_folder(path, path.canonicalize().ok().as_deref().unwrap_or(path), &name, origin)
            }
            Trial::Files { files, .. } => {
                let origin = PluginOrigin::Folder { path: name.clone().into(), overrides: false };
                read_plugin(Folder::in_memory(files), &name, origin)
            }
        }
    }
}

/// What lies in a folder of plugins.
#[derive(Default)]
struct Lying {
    plugins: BTreeMap<String, Plugin>,
    faults: Vec<Fault>,
    /// Ids that are switched off.
    off: BTreeSet<String>,
    /// Names of all folders, readable or not.
    names: Vec<String>,
}

/// Takes the plugins out that are off. Their faults are nobody's business until they are switched on.
fn switched_off(
    off: &BTreeSet<String>,
    trial: Option<&str>,
    built_in: &mut BTreeMap<String, Plugin>,
    lying: &mut Lying,
) -> Vec<OffPlugin> {
    let mut all = Vec::new();
    for id in off.iter().filter(|id| Some(id.as_str()) != trial) {
        let there = built_in.remove(id);
        // The shop's own stands in the place of the built-in one, off as on.
        match lying.plugins.remove(id).or(there) {
            Some(plugin) => all.push(OffPlugin::of(plugin)),
            None if lying.names.contains(id) => all.push(OffPlugin::unread(id.clone())),
            None => {}
        }
        lying.faults.retain(|fault| fault.plugin != *id);
    }
    all
}

/// Reads the plugin folders within `path`, in the order of their names, but for the one that is `left_out`. Files and hidden
/// folders beside them do not matter, except for the marks of those that are off.
fn read_all(path: &Path, left_out: Option<&str>) -> Lying {
    let mut lying = Lying::default();
    let mut whole = Faults::of("folder");
    let unreadable = |e: std::io::Error| {
        Fault::new(format!("{} cannot be read: {e}", path.display()))
            .next("name a folder that holds plugin folders, or none")
    };
    let listed = path.canonicalize().and_then(|root| {
        let (mut names, mut off) = (Vec::new(), BTreeSet::new());
        for entry in root.read_dir()? {
            let entry = entry?;
            let name = entry.file_name().to_string_lossy().into_owned();
            if name.starts_with('.') {
            } else if entry.path().is_dir() {
                names.push(name);
            } else if let Some(id) = name.strip_suffix(OFF) {
                off.insert(id.to_owned());
            }
        }
        names.sort_unstable();
        Ok((root, names, off))
    });
    let Some((root, names, off)) = whole.take(listed.map_err(unreadable)) else {
        lying.faults = whole.into_list();
        return lying;
    };
    if names.len() > PLUGINS {
        whole.push(Fault::new(format!("{} plugins where {PLUGINS} are allowed: only the first are read", names.len())));
    }
    lying.faults = whole.into_list();
    for name in names.iter().take(PLUGINS).filter(|name| Some(name.as_str()) != left_out) {
        let origin = PluginOrigin::Folder { path: path.join(name), overrides: false };
        match read_folder(&root.join(name), &root, name, origin) {
            Ok(plugin) => drop(lying.plugins.insert(plugin.info.id.clone(), plugin)),
            Err(found) => lying.faults.extend(found),
        }
    }
    Lying { off, names, ..lying }
}

fn read_folder(path: &Path, within: &Path, name: &str, origin: PluginOrigin) -> Result<Plugin, Vec<Fault>> {
    let folder = Folder::on_disk(path, within).map_err(|fault| {
        let mut list = Faults::of(name);
        list.push(fault);
        list.into_list()
    });
    read_plugin(folder?, name, origin)
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
