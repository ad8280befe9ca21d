//! The plugins put together: which stands in another's place, whose ids clash, and whether what each needs of the others
//! is there.

use crate::adhesive_table::AdhesiveRecord;
use crate::cases::{self, CaseResult};
use crate::catalog::{Catalog, Loaded, PluginInfo, PluginOrigin};
use crate::fault::{Fault, Faults};
use crate::former_table::FormerRecord;
use crate::load;
use crate::nearest::nearest;
use crate::off::OffPlugin;
use crate::script::case::{self, Replayed};
use crate::script::offers::Scripts;
use crate::script::{Asking, Room};
use crate::supply_table::OfferRecord;
use crate::wire_table::{Place, WireRecord};
use coilwright_core::wire::Standing;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A plugin that is right in itself; its worked examples are not replayed yet.
pub(crate) struct Plugin {
    pub(crate) info: PluginInfo,
    pub(crate) wires: Vec<WireRecord>,
    pub(crate) formers: Vec<FormerRecord>,
    pub(crate) offers: Vec<OfferRecord>,
    pub(crate) adhesives: Vec<AdhesiveRecord>,
    pub(crate) scripts: Scripts,
    /// Files of worked examples: name and text.
    pub(crate) examples: Vec<(String, String)>,
}

/// Puts the user's plugins before the built-in ones of the same id. An id of a wire, former, offer or adhesive that two plugins have
/// refuses the later of them: the built-in ones come first, then the user's by name.
///
/// A plugin that fails its last gate may have had wires that others need, or kept others out. So the rest are put together
/// anew without it, until all that are there pass.
pub(crate) fn put_together(
    built_in: BTreeMap<String, Plugin>,
    own: BTreeMap<String, Plugin>,
    mut faults: Vec<Fault>,
    room: Option<&Arc<dyn Room>>,
    off: Vec<OffPlugin>,
) -> Loaded {
    let plugins = in_order(built_in, own);
    let mut refused = BTreeSet::new();
    let mut tried: BTreeMap<String, Vec<CaseResult>> = BTreeMap::new();
    loop {
        let (admitted, clashes) = admit(&plugins, &refused);
        let wires: BTreeMap<&str, &WireRecord> =
            admitted.iter().flat_map(|(_, p)| &p.wires).map(|w| (w.id.as_str(), w)).collect();
        let (before, mut passed) = (refused.len(), BTreeMap::new());
        for (at, plugin) in admitted {
            let (cases, found) = last_gate(plugin, &wires);
            if found.is_empty() {
                passed.insert(at, cases);
            } else {
                refused.insert(at);
                faults.extend(found);
                tried.insert(plugin.info.id.clone(), cases);
            }
        }
        if refused.len() > before {
            continue;
        }
        // Only now the tables are what they will be: what scripts ask of them has its answer.
        let catalog = Arc::new(catalog_of(&plugins, &passed));
        let replayed = room.map(|room| {
            let built_in = Asking::new(load::built_in(), room.clone());
            script_gate(&plugins, &passed, &Asking::new(catalog.clone(), room.clone()), &built_in)
        });
        let mut catalog = Arc::unwrap_or_clone(catalog);
        if let Some((cases, found)) = replayed {
            catalog.keep(cases);
            if !found.is_empty() {
                for info in found.keys().filter_map(|at| Some(&plugins.get(*at)?.info)) {
                    let cases = catalog.plugins().iter().find(|p| p.id == info.id).map(|p| p.cases.clone());
                    tried.insert(info.id.clone(), cases.unwrap_or_default());
                }
                refused.extend(found.keys());
                faults.extend(found.into_values().flatten());
                continue;
            }
        }
        faults.extend(clashes);
        catalog.are_off(off);
        return Loaded { catalog, faults, tried };
    }
}

/// The order in which plugins are admitted. A replaced one waits at the end: it serves after all if its replacement is
/// refused.
fn in_order(mut built_in: BTreeMap<String, Plugin>, own: BTreeMap<String, Plugin>) -> Vec<Plugin> {
    let (mut order, mut replaced) = (Vec::new(), Vec::new());
    for (id, mut plugin) in own {
        if let Some(other) = built_in.remove(&id) {
            replaced.push(other);
            if let PluginOrigin::Folder { overrides, .. } = &mut plugin.info.origin {
                *overrides = true;
            }
        }
        order.push(plugin);
    }
    built_in.into_values().chain(order).chain(replaced).collect()
}

/// Those of the plugins, with their places, whose ids are still free, and the faults of the others.
fn admit<'a>(plugins: &'a [Plugin], refused: &BTreeSet<usize>) -> (Vec<(usize, &'a Plugin)>, Vec<Fault>) {
    let (mut admitted, mut faults) = (Vec::new(), Vec::new());
    let (mut ids, mut taken) = (BTreeSet::new(), Taken::default());
    for (at, plugin) in plugins.iter().enumerate().filter(|(at, _)| !refused.contains(at)) {
        if ids.contains(&plugin.info.id) {
            continue;
        }
        let mut clashes = Faults::of(&plugin.info.id);
        taken.clashes(plugin, &mut clashes);
        if clashes.none() {
            taken.take(plugin);
            ids.insert(&plugin.info.id);
            admitted.push((at, plugin));
        } else {
            faults.extend(clashes.into_list());
        }
    }
    (admitted, faults)
}

/// What can be told of a plugin only beside the others: the wires of its offers are there, and its worked examples hold.
/// Answers the examples that were replayed, and the faults: none if it may be put with the others.
fn last_gate(plugin: &Plugin, wires: &BTreeMap<&str, &WireRecord>) -> (Vec<CaseResult>, Vec<Fault>) {
    let mut faults = Faults::of(&plugin.info.id);
    // Listed wires are suggested before computed ones that are as like.
    let stands = |computed: bool| {
        let wires = wires.values().filter(move |w| (w.standing != Standing::Listed) == computed);
        wires.map(|w| w.id.as_str())
    };
    let (listed, computed) = (stands(false), stands(true));
    for offer in plugin.offers.iter().filter(|o| !wires.contains_key(o.wire.as_str())) {
        faults.push_made(|| {
            let fault = Fault::new(format!("no plugin that loaded has a wire `{}`", offer.wire));
            let next = match nearest(&offer.wire, listed.clone().chain(computed.clone()), 1).first() {
                // Nobody can correct a row of a built-in table.
                _ if plugin.info.origin == PluginOrigin::BuiltIn => {
                    format!(
                        "bring offers of your own in a folder `{}`, in the place of the built-in one",
                        offer.at.plugin
                    )
                }
                Some(near) => format!("did you mean `{near}`?"),
                None => "add a plugin that has it, or take the row out".into(),
            };
            fault.file(&offer.at.file).line(offer.at.line).column("wire").next(next)
        });
    }
    let mut tried = Vec::new();
    // Examples of offers that are wrong already would only say the same again.
    if faults.none() {
        for (file, text) in &plugin.examples {
            let (cases, found) = cases::replay(file, text, plugin, wires);
            tried.extend(cases);
            found.into_iter().for_each(|fault| faults.push(fault));
        }
    }
    (tried, faults.into_list())
}

/// Replays the examples of all scripts. Answers them, and the faults by the places of their plugins.
fn script_gate(
    plugins: &[Plugin],
    passed: &BTreeMap<usize, Vec<CaseResult>>,
    asking: &Asking,
    built_in: &Asking,
) -> (Vec<Replayed>, BTreeMap<usize, Vec<Fault>>) {
    let (mut tried, mut refused) = (Vec::new(), BTreeMap::new());
    for (at, plugin) in plugins.iter().enumerate().filter(|(at, _)| passed.contains_key(at)) {
        let mut faults = Faults::of(&plugin.info.id);
        // A built-in plugin's examples hold among the built-in ones, whatever the shop's own put in their place.
        let asking = if plugin.info.origin == PluginOrigin::BuiltIn { built_in } else { asking };
        for (file, text) in &plugin.examples {
            let (cases, found) = case::replay(file, text, &plugin.info.id, asking);
            tried.extend(cases);
            found.into_iter().for_each(|fault| faults.push(fault));
        }
        if !faults.none() {
            refused.insert(at, faults.into_list());
        }
    }
    (tried, refused)
}

/// The catalog of the plugins whose places are in `passed`, each with its examples that held.
fn catalog_of(plugins: &[Plugin], passed: &BTreeMap<usize, Vec<CaseResult>>) -> Catalog {
    let (mut infos, mut wires) = (BTreeMap::new(), Vec::new());
    let (mut formers, mut offers, mut adhesives) = (Vec::new(), Vec::new(), Vec::new());
    let mut scripts = BTreeMap::new();
    for (at, plugin) in plugins.iter().enumerate() {
        let Some(cases) = passed.get(&at) else { continue };
        wires.extend_from_slice(&plugin.wires);
        formers.extend_from_slice(&plugin.formers);
        offers.extend_from_slice(&plugin.offers);
        adhesives.extend_from_slice(&plugin.adhesives);
        scripts.insert(plugin.info.id.clone(), plugin.scripts.clone());
        infos.insert(plugin.info.id.clone(), PluginInfo { cases: cases.clone(), ..plugin.info.clone() });
    }
    let mut sum = Sha256::new();
    for (id, info) in &infos {
        sum.update((id.len() as u64).to_be_bytes());
        sum.update(id);
        sum.update(&info.digest);
    }
    let digest = hexadecimal(&sum.finalize());
    let scripts = Scripts::together(scripts.into_values());
    Catalog::of(infos.into_values().collect(), wires, formers, offers, adhesives, scripts, digest)
}

/// The ids that are taken, and where.
#[derive(Default)]
pub(crate) struct Taken {
    wires: BTreeMap<String, Place>,
    formers: BTreeMap<String, Place>,
    offers: BTreeMap<String, Place>,
    adhesives: BTreeMap<String, Place>,
}

impl Taken {
    /// Puts down every id of a plugin that is taken, or that the plugin itself has twice.
    pub(crate) fn clashes(&self, plugin: &Plugin, faults: &mut Faults) {
        twice("wire", "id", plugin.wires.iter().map(|w| (w.id.as_str(), &w.at)), &self.wires, faults);
        twice("former", "id", plugin.formers.iter().map(|f| (f.id.as_str(), &f.at)), &self.formers, faults);
        twice("offer", "offer", plugin.offers.iter().map(|o| (o.id.as_str(), &o.at)), &self.offers, faults);
        twice("adhesive", "id", plugin.adhesives.iter().map(|a| (a.id.as_str(), &a.at)), &self.adhesives, faults);
    }

    fn take(&mut self, plugin: &Plugin) {
        self.wires.extend(plugin.wires.iter().map(|w| (w.id.clone(), w.at.clone())));
        self.formers.extend(plugin.formers.iter().map(|f| (f.id.clone(), f.at.clone())));
        self.offers.extend(plugin.offers.iter().map(|o| (o.id.clone(), o.at.clone())));
        self.adhesives.extend(plugin.adhesives.iter().map(|a| (a.id.clone(), a.at.clone())));
    }
}

fn twice<'a>(
    what: &str,
    column: &str,
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
            faults.push(fault.column(column).next("give one of the two another id"));
        } else {
            met.insert(id, at);
        }
    }
}

pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
