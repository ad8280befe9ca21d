//! Loading: every plugin is read and gated by itself, then they are put together.

use crate::catalog::{Catalog, Loaded, PluginInfo, PluginOrigin};
use crate::fault::{Fault, Faults};
use crate::folder::{CASES_BYTES, Folder, SOURCES_BYTES, TABLE_BYTES};
use crate::former_table::{self, FormerRecord};
use crate::wire_table::{self, Place, WireRecord};
use crate::{cases, manifest, wire_derived};
use coilwright_core::wire::Standing;
use include_dir::{Dir, include_dir};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

static BUILT_IN: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/../../plugins");

/// Most plugins in one folder.
const PLUGINS: usize = 500;

/// A plugin that passed its own gate.
struct Plugin {
    info: PluginInfo,
    wires: Vec<WireRecord>,
    formers: Vec<FormerRecord>,
}

pub(crate) fn load(extra: Option<&Path>) -> Loaded {
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
    put_together(built_in, own, faults)
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

/// Reads one plugin and passes it through its gate: manifest, sources, tables, ids, worked examples.
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
    twice("wire", wires.iter().map(|w| (w.id.as_str(), &w.at)), &BTreeMap::new(), &mut faults);
    twice("former", formers.iter().map(|f| (f.id.as_str(), &f.at)), &BTreeMap::new(), &mut faults);
    // Examples of tables that are wrong already would only say the same again.
    let mut held = Vec::new();
    if faults.none() {
        for file in faults.take(folder.list("cases", "json")).unwrap_or_default() {
            let Some(text) = faults.take(folder.text(&file, CASES_BYTES)) else { continue };
            match cases::replay(&file, &text, &wires, &formers) {
                Ok(results) => held.extend(results),
                Err(found) => found.into_iter().for_each(|fault| faults.push(fault)),
            }
        }
    }
    if !faults.none() {
        return Err(faults.into_list());
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
        cases: held,
        digest: hexadecimal(&folder.digest()),
    };
    Ok(Plugin { info, wires, formers })
}

/// Puts the user's plugins before the built-in ones of the same id. An id of a wire or former that two plugins have refuses
/// the later of them: the built-in ones come first, then the user's by name.
fn put_together(
    mut built_in: BTreeMap<String, Plugin>,
    own: BTreeMap<String, Plugin>,
    mut faults: Vec<Fault>,
) -> Loaded {
    let mut order = Vec::new();
    let mut replaced = Vec::new();
    for (id, mut plugin) in own {
        if let Some(other) = built_in.remove(&id) {
            replaced.push(other);
            if let PluginOrigin::Folder { overrides, .. } = &mut plugin.info.origin {
                *overrides = true;
            }
        }
        order.push(plugin);
    }
    // A replaced one waits at the end: it serves after all if its replacement is refused.
    let order = built_in.into_values().chain(order).chain(replaced);
    let (mut infos, mut wires, mut formers) = (BTreeMap::new(), Vec::new(), Vec::new());
    let (mut wire_ids, mut former_ids) = (BTreeMap::new(), BTreeMap::new());
    for plugin in order {
        if infos.contains_key(&plugin.info.id) {
            continue;
        }
        let mut clashes = Faults::of(&plugin.info.id);
        twice("wire", plugin.wires.iter().map(|w| (w.id.as_str(), &w.at)), &wire_ids, &mut clashes);
        twice("former", plugin.formers.iter().map(|f| (f.id.as_str(), &f.at)), &former_ids, &mut clashes);
        if !clashes.none() {
            faults.extend(clashes.into_list());
            continue;
        }
        wire_ids.extend(plugin.wires.iter().map(|w| (w.id.clone(), w.at.clone())));
        former_ids.extend(plugin.formers.iter().map(|f| (f.id.clone(), f.at.clone())));
        wires.extend(plugin.wires);
        formers.extend(plugin.formers);
        infos.insert(plugin.info.id.clone(), plugin.info);
    }
    let mut sum = Sha256::new();
    for (id, info) in &infos {
        sum.update((id.len() as u64).to_be_bytes());
        sum.update(id);
        sum.update(&info.digest);
    }
    let digest = hexadecimal(&sum.finalize());
    Loaded { catalog: Catalog::of(infos.into_values().collect(), wires, formers, digest), faults }
}

/// Puts down every id that was met before, among `taken` or among `ids` themselves.
fn twice<'a>(
    what: &str,
    ids: impl Iterator<Item = (&'a str, &'a Place)>,
    taken: &'a BTreeMap<String, Place>,
    faults: &mut Faults,
) {
    let mut met: BTreeMap<&str, &Place> = BTreeMap::new();
    for (id, at) in ids {
        if let Some(first) = taken.get(id).or_else(|| met.get(id).copied()) {
            let place = if first.plugin == at.plugin {
                format!("{}, line {}", first.file, first.line)
            } else {
                format!("plugin {}, {}, line {}", first.plugin, first.file, first.line)
            };
            let fault = Fault::new(format!("the {what} `{id}` is already in {place}")).file(&at.file).line(at.line);
            faults.push(fault.column("id").next("give one of the two another id"));
        } else {
            met.insert(id, at);
        }
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
