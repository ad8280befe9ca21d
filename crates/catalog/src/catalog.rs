//! The catalog: every wire, former, offer and adhesive of the plugins that loaded, looked up by id.

use crate::adhesive_table::AdhesiveRecord;
use crate::cases::CaseResult;
use crate::fault::Fault;
use crate::folder::Files;
use crate::former_table::FormerRecord;
use crate::load;
use crate::nearest::nearest;
use crate::off::OffPlugin;
use crate::script::case::Replayed;
use crate::script::offers::Scripts;
use crate::script::{MethodOffer, Room, ScriptOffer, SettingOffer};
use crate::supply_table::OfferRecord;
use crate::wire_table::WireRecord;
use coilwright_core::conductor::Conductor;
use coilwright_core::quantity::Length;
use coilwright_core::wire::Standing;
use std::cmp::Ordering;
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How many names are suggested for one that is unknown.
const SUGGESTIONS: usize = 3;

/// Wires, formers, offers, adhesives and the plugins they come from. Never changed: a reload makes another.
#[derive(Debug, Clone)]
pub struct Catalog {
    plugins: Vec<PluginInfo>,
    wires: Vec<WireRecord>,
    wire_at: HashMap<String, usize>,
    formers: Vec<FormerRecord>,
    offers: Vec<OfferRecord>,
    adhesives: Vec<AdhesiveRecord>,
    scripts: Scripts,
    off: Vec<OffPlugin>,
    digest: String,
}

/// What [`Catalog::load`] made of the folders: a catalog of all that is right, and what is wrong with the rest.
#[derive(Debug)]
pub struct Loaded {
    /// Everything that loaded.
    pub catalog: Catalog,
    /// Why the others did not; empty when all did.
    pub faults: Vec<Fault>,
    /// The examples of those that failed at their examples, by plugin: those that held and those that did not.
    pub tried: BTreeMap<String, Vec<CaseResult>>,
}

/// A plugin that loaded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PluginInfo {
    /// Its id, which is the name of its folder.
    pub id: String,
    /// Its version.
    pub version: String,
    /// Its title.
    pub title: String,
    /// Its licence.
    pub licence: String,
    /// Where it comes from.
    pub origin: PluginOrigin,
    /// How many wires it lists.
    pub listed_wires: usize,
    /// How many wires it computes from those.
    pub computed_wires: usize,
    /// How many former materials it has.
    pub formers: usize,
    /// How many offers of suppliers it has.
    pub offers: usize,
    /// How many adhesives it has.
    pub adhesives: usize,
    /// What it offers by script: `method quote`, `check closed_former` and so on.
    pub scripts: Vec<String>,
    /// Its worked examples; all of them held, or it would not be here.
    pub cases: Vec<CaseResult>,
    /// Digest of its files (SHA-256, hexadecimal).
    pub digest: String,
}

/// Where a plugin comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PluginOrigin {
    /// It is part of the program.
    BuiltIn,
    /// A folder of the user's.
    Folder {
        /// The folder.
        path: PathBuf,
        /// Whether it stands in the place of a built-in plugin of the same id.
        overrides: bool,
    },
}

/// A plugin that is tried out before it is put with the others.
#[derive(Debug)]
pub enum Trial<'a> {
    /// A folder, which has the plugin's name.
    Folder(&'a Path),
    /// Files out of an archive.
    Files {
        /// What its folder will be called.
        name: &'a str,
        /// Contents by name.
        files: &'a Files,
    },
}

/// Which wires are wanted; what is `None` does not matter.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct WireFilter<'a> {
    /// The metal.
    pub conductor: Option<Conductor>,
    /// The series, e.g. `awg`.
    pub series: Option<&'a str>,
    /// Build or grade, e.g. `single`.
    pub build: Option<&'a str>,
    /// Listed or computed.
    pub standing: Option<Standing>,
    /// Least bare diameter.
    pub bare_min: Option<Length>,
    /// Greatest bare diameter.
    pub bare_max: Option<Length>,
    /// Id of the plugin.
    pub plugin: Option<&'a str>,
}

impl Catalog {
    /// The catalog of the built-in plugins alone.
    ///
    /// # Errors
    /// The faults of built-in plugins that do not pass their own gate: a program built wrongly.
    pub fn builtin() -> Result<Catalog, Vec<Fault>> {
        let Loaded { catalog, faults, .. } = load::load(None, None, None);
        if faults.is_empty() { Ok(catalog) } else { Err(faults) }
    }

    /// The built-in plugins, and those in the folders within `extra`: these add to the built-in ones, or stand in their
    /// place where they have the same id. A plugin with a fault is refused as a whole; all others load.
    ///
    /// The worked examples of scripts are not replayed: they need a program to ask, see [`Catalog::load_in`].
    pub fn load(extra: Option<&Path>) -> Loaded {
        load::load(extra, None, None)
    }

    /// The same, and the scripts' worked examples are replayed as well: they ask in this room.
    pub fn load_in(extra: Option<&Path>, room: &Arc<dyn Room>) -> Loaded {
        load::load(extra, None, Some(room))
    }

    /// The same with one plugin more, which stands in the place of another of its id and is never off: to try it out. Without
    /// a room its scripts are read, but their examples not replayed.
    pub fn load_trying(extra: Option<&Path>, tried: &Trial<'_>, room: Option<&Arc<dyn Room>>) -> Loaded {
        load::load(extra, Some(tried), room)
    }

    pub(crate) fn of(
        plugins: Vec<PluginInfo>,
        mut wires: Vec<WireRecord>,
        mut formers: Vec<FormerRecord>,
        mut offers: Vec<OfferRecord>,
        mut adhesives: Vec<AdhesiveRecord>,
        scripts: Scripts,
        digest: String,
    ) -> Catalog {
        wires.sort_by(in_order);
        formers.sort_by(|a, b| a.id.cmp(&b.id));
        offers.sort_by(small_to_large);
        adhesives.sort_by(|a, b| a.id.cmp(&b.id));
        let wire_at = wires.iter().enumerate().map(|(at, wire)| (wire.id.clone(), at)).collect();
        Catalog { plugins, wires, wire_at, formers, offers, adhesives, scripts, off: Vec::new(), digest }
    }

    pub(crate) fn are_off(&mut self, off: Vec<OffPlugin>) {
        self.off = off;
    }

    /// The plugins that are switched off, by id.
    pub fn off(&self) -> &[OffPlugin] {
        &self.off
    }

    /// The plugin that would have this wire, former material or adhesive if it were not switched off.
    pub fn off_with(&self, id: &str) -> Option<&OffPlugin> {
        self.off.iter().find(|plugin| plugin.has(id))
    }

    /// Puts down which examples of scripts held; the first of a method is the example of its documentation.
    pub(crate) fn keep(&mut self, replayed: Vec<Replayed>) {
        for one in replayed {
            if let Some((method, params, answer)) = one.example
                && let Some(offer) = self.scripts.methods.iter_mut().find(|m| m.name == method && m.example.is_none())
            {
                offer.example = Some((params, answer));
            }
            if let Some(info) = self.plugins.iter_mut().find(|info| info.id == one.plugin) {
                info.cases.push(one.result);
            }
        }
    }

    /// The methods that plugins add, by plugin.
    pub fn methods(&self) -> &[MethodOffer] {
        &self.scripts.methods
    }

    /// The scripts that go along with what the program does itself, by plugin.
    pub fn along(&self) -> &[ScriptOffer] {
        &self.scripts.along
    }

    /// The plugins' settings, by plugin.
    pub fn settings(&self) -> &[SettingOffer] {
        &self.scripts.settings
    }

    /// The wire of this id.
    pub fn wire(&self, id: &str) -> Option<&WireRecord> {
        self.wire_at.get(id).and_then(|at| self.wires.get(*at))
    }

    /// Ids of wires that are most like `id`, best first: for the answer to an unknown one.
    pub fn nearest_wire(&self, id: &str) -> Vec<&str> {
        nearest(id, self.wires.iter().map(|w| w.id.as_str()), SUGGESTIONS)
    }

    /// The wires that are wanted, always in the same order: listed before computed, then by conductor, series, thick to
    /// thin, thin insulation first.
    pub fn wires<'a>(&'a self, wanted: WireFilter<'a>) -> impl Iterator<Item = &'a WireRecord> {
        self.wires.iter().filter(move |wire| wanted.takes(wire))
    }

    /// The former material of this id.
    pub fn former(&self, id: &str) -> Option<&FormerRecord> {
        let at = self.formers.binary_search_by(|f| f.id.as_str().cmp(id)).ok()?;
        self.formers.get(at)
    }

    /// Ids of former materials that are most like `id`, best first.
    pub fn nearest_former(&self, id: &str) -> Vec<&str> {
        nearest(id, self.formers.iter().map(|f| f.id.as_str()), SUGGESTIONS)
    }

    /// All former materials, by id.
    pub fn formers(&self) -> &[FormerRecord] {
        &self.formers
    }

    /// All offers of suppliers, always in the same order: by id of the wire, small spools before large, then by id.
    pub fn offers(&self) -> &[OfferRecord] {
        &self.offers
    }

    /// The offers of one wire, small spools before large; empty where nobody offers it.
    pub fn offers_for(&self, wire: &str) -> &[OfferRecord] {
        let first = self.offers.partition_point(|o| o.wire.as_str() < wire);
        let offers = self.offers.get(first..).unwrap_or_default();
        offers.get(..offers.partition_point(|o| o.wire == wire)).unwrap_or_default()
    }

    /// The adhesive of this id.
    pub fn adhesive(&self, id: &str) -> Option<&AdhesiveRecord> {
        let at = self.adhesives.binary_search_by(|a| a.id.as_str().cmp(id)).ok()?;
        self.adhesives.get(at)
    }

    /// Ids of adhesives that are most like `id`, best first.
    pub fn nearest_adhesive(&self, id: &str) -> Vec<&str> {
        nearest(id, self.adhesives.iter().map(|a| a.id.as_str()), SUGGESTIONS)
    }

    /// All adhesives, by id.
    pub fn adhesives(&self) -> &[AdhesiveRecord] {
        &self.adhesives
    }

    /// The plugins that loaded, by id.
    pub fn plugins(&self) -> &[PluginInfo] {
        &self.plugins
    }

    /// Digest of the contents of all plugins that loaded (SHA-256, hexadecimal): the same plugins give the same digest,
    /// wherever they lie and in whatever order they were found.
    pub fn digest(&self) -> &str {
        &self.digest
    }
}

impl WireFilter<'_> {
    fn takes(&self, record: &WireRecord) -> bool {
        let bare = record.wire.bare.value;
        self.conductor.is_none_or(|c| c == record.wire.conductor)
            && self.series.is_none_or(|s| s == record.series)
            && self.build.is_none_or(|b| b == record.build)
            && self.standing.is_none_or(|s| s == record.standing)
            && self.bare_min.is_none_or(|least| bare >= least)
            && self.bare_max.is_none_or(|most| bare <= most)
            && self.plugin.is_none_or(|p| p == record.at.plugin)
    }
}

fn in_order(a: &WireRecord, b: &WireRecord) -> Ordering {
    let computed = |w: &WireRecord| w.standing != Standing::Listed;
    computed(a)
        .cmp(&computed(b))
        .then_with(|| a.wire.conductor.cmp(&b.wire.conductor))
        .then_with(|| a.series.cmp(&b.series))
        .then_with(|| b.wire.bare.value.m().total_cmp(&a.wire.bare.value.m()))
        .then_with(|| a.wire.overall.value.m().total_cmp(&b.wire.overall.value.m()))
        .then_with(|| a.id.cmp(&b.id))
}

fn small_to_large(a: &OfferRecord, b: &OfferRecord) -> Ordering {
    a.wire.cmp(&b.wire).then_with(|| a.net.value.g().total_cmp(&b.net.value.g())).then_with(|| a.id.cmp(&b.id))
}
