//! What a manifest offers by script: methods, checks, lines of sheets, costing rules, reactions; and the plugin's settings.

use super::engine::Script;
use super::shape::{Kind, Member, Shape};
use super::shape_toml::{self, RawShape, is_name};
use super::strikes::{MOST, Strikes};
use crate::fault::{Fault, Faults};
use crate::folder::{Folder, SCRIPT_BYTES};
use crate::manifest::{FILE, line_of};
use crate::nearest::nearest;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;
use toml::Spanned;

/// What a script is called for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Moment {
    /// A coil was designed.
    Design,
    /// A coil is about to be started.
    Start,
    /// The traveller of a coil is printed.
    Traveller,
    /// Something is priced.
    Costing,
    /// One of these facts happened.
    Facts(Vec<String>),
}

/// A script that goes along with what the program does itself.
#[derive(Debug, Clone)]
pub struct ScriptOffer {
    /// Id of the plugin.
    pub plugin: String,
    /// Its name within the plugin.
    pub name: String,
    /// When it is called.
    pub moment: Moment,
    pub(crate) function: String,
    pub(crate) script: Arc<Script>,
    pub(crate) strikes: Arc<Strikes>,
}

/// A method that a plugin adds.
#[derive(Debug, Clone)]
pub struct MethodOffer {
    /// Id of the plugin.
    pub plugin: String,
    /// Its whole name: the plugin's id, a dot, its own.
    pub name: String,
    /// What it does, in a sentence.
    pub summary: String,
    /// Params that a command takes without their name, in this order.
    pub leading: Vec<String>,
    /// Its params: a group.
    pub params: Shape,
    /// What it answers: a group.
    pub result: Shape,
    /// Params and answer of its first worked example, once that was replayed.
    pub example: Option<(Value, Value)>,
    pub(crate) function: String,
    pub(crate) script: Arc<Script>,
}

/// A setting of a plugin.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingOffer {
    /// Id of the plugin.
    pub plugin: String,
    /// Its name; a number with a dimension ends in its unit.
    pub name: String,
    /// What it is.
    pub shape: Shape,
    /// Its value where the shop sets none.
    pub default: Value,
}

/// Facts that a reaction may name, as the journal calls them.
pub(crate) const FACTS: [&str; 17] = [
    "spool_received",
    "spool_weighed",
    "spool_measured",
    "spool_moved",
    "spool_held",
    "spool_released",
    "wire_drawn",
    "spool_retired",
    "job_opened",
    "job_changed",
    "job_cancelled",
    "coil_started",
    "layer_reached",
    "coil_finished",
    "coil_scrapped",
    "step_done",
    "job_closed",
];

/// What a manifest says of scripts.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct RawScripts {
    pub(crate) settings: BTreeMap<String, RawSetting>,
    pub(crate) method: Vec<RawMethod>,
    pub(crate) check: Vec<RawCheck>,
    pub(crate) sheet_lines: Vec<RawCheck>,
    pub(crate) costing_rule: Vec<RawRule>,
    pub(crate) reaction: Vec<RawReaction>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawSetting {
    #[serde(rename = "type")]
    kind: Spanned<String>,
    value: toml::Value,
    description: Spanned<String>,
    minimum: Option<f64>,
    maximum: Option<f64>,
    #[serde(default)]
    words: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawMethod {
    name: Spanned<String>,
    summary: String,
    script: String,
    function: Option<String>,
    #[serde(default)]
    leading: Vec<String>,
    #[serde(default)]
    params: BTreeMap<String, RawShape>,
    result: BTreeMap<String, RawShape>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawCheck {
    name: Spanned<String>,
    on: String,
    script: String,
    function: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawRule {
    name: Spanned<String>,
    script: String,
    function: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawReaction {
    name: Spanned<String>,
    to: Vec<String>,
    script: String,
    function: Option<String>,
}

/// Everything that a plugin offers by script.
#[derive(Debug, Clone, Default)]
pub(crate) struct Scripts {
    pub(crate) methods: Vec<MethodOffer>,
    pub(crate) along: Vec<ScriptOffer>,
    pub(crate) settings: Vec<SettingOffer>,
}

/// Reads and checks what a manifest, whose text this is, says of scripts; the scripts themselves are read here.
pub(crate) fn read(raw: &RawScripts, text: &str, plugin: &str, folder: &mut Folder, faults: &mut Faults) -> Scripts {
    let mut reading = Reading { text, plugin, folder, faults, read: BTreeMap::new(), names: BTreeMap::new() };
    let settings = raw.settings.iter().filter_map(|(name, raw)| reading.setting(name, raw)).collect();
    let methods = raw.method.iter().filter_map(|raw| reading.method(raw)).collect();
    let mut along = Vec::new();
    for check in &raw.check {
        let on = [("design", Moment::Design), ("start", Moment::Start)];
        along.extend(reading.on("check", check, &on));
    }
    for lines in &raw.sheet_lines {
        along.extend(reading.on("sheet_lines", lines, &[("traveller", Moment::Traveller)]));
    }
    for rule in &raw.costing_rule {
        along.extend(reading.along(
            "costing_rule",
            &rule.name,
            &rule.script,
            rule.function.as_deref(),
            Moment::Costing,
        ));
    }
    for r in &raw.reaction {
        if reading.facts(r) {
            let moment = Moment::Facts(r.to.clone());
            along.extend(reading.along("reaction", &r.name, &r.script, r.function.as_deref(), moment));
        }
    }
    Scripts { methods, along, settings }
}

struct Reading<'a> {
    text: &'a str,
    plugin: &'a str,
    folder: &'a mut Folder,
    faults: &'a mut Faults,
    /// Scripts by file; nothing where the file is at fault, which is told once.
    read: BTreeMap<String, Option<Arc<Script>>>,
    /// Names that are taken, with the kind.
    names: BTreeMap<String, &'static str>,
}

impl Reading<'_> {
    fn key(&self, spanned: &Spanned<String>, key: &str, message: String) -> Fault {
        Fault::new(message).file(FILE).line(line_of(self.text, spanned.span().start)).column(key)
    }

    fn script(&mut self, file: &str, function: &str) -> Option<Arc<Script>> {
        if !self.read.contains_key(file) {
            let read = self.folder.text(file, SCRIPT_BYTES).and_then(|text| Script::read(file, &text));
            let read = self.faults.take(read).map(Arc::new);
            self.read.insert(file.to_owned(), read);
        }
        let script = self.read.get(file)?.clone()?;
        self.faults.take(script.has(function))?;
        Some(script)
    }

    fn name(&mut self, name: &Spanned<String>, kind: &'static str) -> Option<String> {
        let word = name.get_ref();
        if !is_name(word) {
            let fault = self.key(name, "name", format!("`{word}` is no name of a {kind}"));
            self.faults.push(fault.next("use small letters, digits and underscores, a letter first"));
            return None;
        }
        if let Some(other) = self.names.insert(word.clone(), kind) {
            let fault = self.key(name, "name", format!("a {other} is already called `{word}`"));
            self.faults.push(fault.next("give one of the two another name"));
            return None;
        }
        Some(word.clone())
    }

    fn on(&mut self, kind: &'static str, raw: &RawCheck, moments: &[(&str, Moment)]) -> Option<ScriptOffer> {
        let Some((_, moment)) = moments.iter().find(|(word, _)| *word == raw.on) else {
            let known = moments.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(" or ");
            let fault = self.key(&raw.name, "on", format!("`{}` is nothing that a {kind} can be on", raw.on));
            self.faults.push(fault.next(format!("write {known}")));
            return None;
        };
        self.along(kind, &raw.name, &raw.script, raw.function.as_deref(), moment.clone())
    }

    fn along(
        &mut self,
        kind: &'static str,
        name: &Spanned<String>,
        script: &str,
        function: Option<&str>,
        moment: Moment,
    ) -> Option<ScriptOffer> {
        let name = self.name(name, kind)?;
        let function = function.unwrap_or(&name).to_owned();
        let script = self.script(script, &function)?;
        Some(ScriptOffer { plugin: self.plugin.to_owned(), name, moment, function, script, strikes: Arc::default() })
    }

    fn facts(&mut self, raw: &RawReaction) -> bool {
        let unknown = raw.to.iter().find(|fact| !FACTS.contains(&fact.as_str()));
        let message = match unknown {
            None if !raw.to.is_empty() => return true,
            None => "to which facts it reacts, is not said".to_owned(),
            Some(fact) => format!("there is no fact `{fact}`"),
        };
        let near = unknown.and_then(|fact| nearest(fact, FACTS.into_iter(), 1).first().copied());
        let fault = self.key(&raw.name, "to", message);
        self.faults.push(match near {
            Some(near) => fault.next(format!("did you mean `{near}`?")),
            None => fault.next(format!("write some of {}", FACTS.join(", "))),
        });
        false
    }

    fn method(&mut self, raw: &RawMethod) -> Option<MethodOffer> {
        let name = self.name(&raw.name, "method")?;
        let function = raw.function.as_deref().unwrap_or(&name).to_owned();
        let script = self.script(&raw.script, &function)?;
        let params = self.faults.take(shape_toml::members(self.text, &raw.params))?;
        let result = self.faults.take(shape_toml::members(self.text, &raw.result))?;
        if raw.summary.trim().is_empty() {
            let fault = self.key(&raw.name, "summary", "the summary is empty".into());
            self.faults.push(fault.next("say in a sentence what the method does"));
        }
        if let Some(stray) = raw.leading.iter().find(|l| !params.iter().any(|p| p.name == **l)) {
            let fault = self.key(&raw.name, "leading", format!("no param is called `{stray}`"));
            self.faults.push(fault);
        }
        Some(MethodOffer {
            plugin: self.plugin.to_owned(),
            name: format!("{}.{name}", self.plugin),
            summary: raw.summary.clone(),
            leading: raw.leading.clone(),
            params: group(params),
            result: group(result),
            example: None,
            function,
            script,
        })
    }

    fn setting(&mut self, name: &str, raw: &RawSetting) -> Option<SettingOffer> {
        let fault = |message: String| {
            Fault::new(message).file(FILE).line(line_of(self.text, raw.kind.span().start)).column(name)
        };
        let kind = match raw.kind.get_ref().as_str() {
            "text" => Kind::Text,
            "word" => Kind::Word(raw.words.clone()),
            "number" => Kind::Number,
            "integer" => Kind::Integer,
            "yes_no" => Kind::YesNo,
            "money" => Kind::Money,
            other => {
                let fault = fault(format!("`{other}` is no type of a setting"));
                self.faults.push(fault.next("write text, word, number, integer, yes_no or money"));
                return None;
            }
        };
        if !is_name(name) || raw.description.get_ref().trim().is_empty() {
            let fault = fault(format!("the setting `{name}` needs a plain name and a description"));
            self.faults.push(fault.next("use small letters, digits and underscores, the unit last: set_up_min"));
            return None;
        }
        let description = raw.description.get_ref().clone();
        let shape = Shape { kind, description, minimum: raw.minimum, maximum: raw.maximum };
        let default = serde_json::to_value(&raw.value).unwrap_or_default();
        if let Err(misfit) = shape.take(name, &default, "", None) {
            self.faults.push(fault(format!("its own value does not fit: {}", misfit.message)));
            return None;
        }
        Some(SettingOffer { plugin: self.plugin.to_owned(), name: name.to_owned(), shape, default })
    }
}

fn group(members: Vec<Member>) -> Shape {
    Shape { kind: Kind::Group(members), description: String::new(), minimum: None, maximum: None }
}

impl Scripts {
    /// Those of several plugins in one.
    pub(crate) fn together(all: impl Iterator<Item = Scripts>) -> Scripts {
        let mut whole = Scripts::default();
        for one in all {
            whole.methods.extend(one.methods);
            whole.along.extend(one.along);
            whole.settings.extend(one.settings);
        }
        whole
    }

    /// What is offered, kind and name.
    pub(crate) fn names(&self) -> Vec<String> {
        let methods = self.methods.iter().map(|m| format!("method {}", m.name));
        methods.chain(self.along.iter().map(|offer| format!("{} {}", offer.moment.kind(), offer.name))).collect()
    }
}

impl ScriptOffer {
    /// Why it is not called any more, if so.
    pub fn switched_off(&self) -> Option<String> {
        self.strikes.out().then(|| {
            let (kind, name) = (self.moment.kind(), &self.name);
            format!(
                "the {kind} `{name}` is switched off: it took too much in {MOST} calls running; correct the script, then `coilwright plugin reload`"
            )
        })
    }
}

impl Moment {
    /// The word of the manifest for a script of this moment.
    pub fn kind(&self) -> &'static str {
        match self {
            Moment::Design | Moment::Start => "check",
            Moment::Traveller => "sheet_lines",
            Moment::Costing => "costing_rule",
            Moment::Facts(_) => "reaction",
        }
    }
}
