//! Calling scripts: what each kind is given, and what is made of its answer.

use super::engine::{Bounds, Failed, Script, within};
use super::forms::{self, ExtraCost, Per, PluginFinding, Proposal};
use super::offers::{MethodOffer, Moment, ScriptOffer, SettingOffer};
use super::room::{Asking, Unable};
use super::shape::Misfit;
use super::value::into_script;
use super::words::Tag;
use crate::fault::Fault;
use coilwright_core::finding::Level;
use rhai::{Dynamic, Map};
use rust_decimal::Decimal;
use serde_json::Value;
use std::time::Duration;

/// Why a method of a plugin gave no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum CallError {
    /// The params do not have the declared shape.
    Params(Box<Misfit>),
    /// The script will not do it, and says why.
    Refused(Unable),
    /// The plugin is at fault.
    Fault(Box<Fault>),
}

/// Longest time that all scripts which go along with one request take together.
const ALONG_TOGETHER: Duration = Duration::from_millis(100);

/// Code of the finding that tells a plugin's own fault.
const PLUGIN_FAILED: &str = "plugin_failed";

impl Asking {
    /// Calls a method of a plugin.
    ///
    /// # Errors
    /// [`CallError`]; the catalog and the shop are as before in any case.
    pub fn call(&self, method: &MethodOffer, params: &Value) -> Result<Value, CallError> {
        let params = method
            .params
            .take("params", params, "", Some(self))
            .map_err(|misfit| CallError::Params(Box::new(misfit)))?;
        let blame = |failed| match failed {
            Failed::Refused(unable) => CallError::Refused(unable),
            Failed::Fault(fault) => CallError::Fault(named(&method.plugin, *fault)),
        };
        let mut about = self.about(&method.plugin).map_err(blame)?;
        about.insert("params".into(), params);
        let tag = Tag { asking: self.clone(), may_ask_rules: true };
        let answer =
            method.script.call(&method.function, Dynamic::from_map(about), tag, Bounds::METHOD).map_err(blame)?;
        let result = method.result.give(&answer, "", &self.currency());
        result.map_err(|why| blame(method.script.wrong_answer(&method.function, why)))
    }

    /// What all checks of this moment notice. A check that fails is itself a finding: a silent one would be taken for a
    /// check that is content.
    pub fn check(&self, moment: &Moment, about: &Value) -> Vec<PluginFinding> {
        self.along(
            moment,
            about,
            |offer, answer| forms::findings(&offer.plugin, answer),
            |fault| PluginFinding {
                plugin: fault.plugin.clone(),
                code: PLUGIN_FAILED.into(),
                level: Level::Watch,
                text: fault.to_string(),
                figure: None,
                limit: None,
            },
        )
    }

    /// Lines for the traveller; those of a script that fails say so.
    pub fn lines(&self, about: &Value) -> Vec<String> {
        self.along(&Moment::Traveller, about, |_, answer| forms::lines(answer), |fault| fault.to_string())
    }

    /// What is proposed upon a fact.
    pub fn react(&self, fact: &str, about: &Value) -> Vec<Proposal> {
        let heard =
            |offer: &ScriptOffer| matches!(&offer.moment, Moment::Facts(facts) if facts.iter().any(|f| f == fact));
        self.some(
            heard,
            about,
            |offer, answer| forms::proposals(&offer.plugin, answer),
            |fault| Proposal {
                plugin: fault.plugin.clone(),
                code: PLUGIN_FAILED.into(),
                text: fault.to_string(),
                method: None,
                params: None,
            },
        )
    }

    /// Whether any script listens to facts at all.
    pub fn reacts(&self) -> bool {
        self.catalog().along().iter().any(|offer| matches!(offer.moment, Moment::Facts(_)))
    }

    fn along<T>(
        &self,
        moment: &Moment,
        about: &Value,
        read: impl Fn(&ScriptOffer, &Dynamic) -> Result<Vec<T>, String>,
        faulty: impl Fn(&Fault) -> T,
    ) -> Vec<T> {
        self.some(|offer| offer.moment == *moment, about, read, faulty)
    }

    fn some<T>(
        &self,
        wanted: impl Fn(&ScriptOffer) -> bool,
        about: &Value,
        read: impl Fn(&ScriptOffer, &Dynamic) -> Result<Vec<T>, String>,
        faulty: impl Fn(&Fault) -> T,
    ) -> Vec<T> {
        let mut told = Vec::new();
        let mut offers = self.catalog().along().iter().filter(|offer| wanted(offer)).peekable();
        if offers.peek().is_none() {
            return told;
        }
        let about = into_script(about);
        within(ALONG_TOGETHER, || {
            for offer in offers {
                match self.one(offer, &about, &read) {
                    Ok(found) => told.extend(found),
                    Err(Failed::Fault(fault)) => told.push(faulty(&named(&offer.plugin, *fault))),
                    Err(Failed::Refused(unable)) => {
                        told.push(faulty(&named(&offer.plugin, offer.script.refusal(unable))));
                    }
                }
            }
        });
        told
    }

    /// One script with one value, its answer read.
    pub(crate) fn one<T>(
        &self,
        offer: &ScriptOffer,
        about: &Dynamic,
        read: impl Fn(&ScriptOffer, &Dynamic) -> Result<Vec<T>, String>,
    ) -> Result<Vec<T>, Failed> {
        let mut whole = self.about(&offer.plugin)?;
        if let Ok(about) = about.as_map_ref() {
            whole.extend(about.iter().map(|(name, value)| (name.clone(), value.clone())));
        }
        if let Some(why) = offer.switched_off() {
            return Err(offer.script.fault(offer.script.begins(&offer.function), why));
        }
        let tag = Tag { asking: self.clone(), may_ask_rules: false };
        let called = offer.script.call(&offer.function, Dynamic::from_map(whole), tag, Bounds::ALONG);
        match &called {
            Err(failed) if failed.took_too_much() => offer.strikes.took_too_much(),
            _ => offer.strikes.kept_within(),
        }
        let answer = called?;
        read(offer, &answer).map_err(|why| offer.script.wrong_answer(&offer.function, why))
    }

    /// What every script of a plugin is given: the shop's figures, the plugin's settings, and which of those the shop set.
    fn about(&self, plugin: &str) -> Result<Map, Failed> {
        let set = self.settings_of(plugin);
        let mut settings = Map::new();
        for offer in self.catalog().settings().iter().filter(|s| s.plugin == plugin) {
            let value = set.get(&offer.name).unwrap_or(&offer.default);
            let taken = offer.shape.take(&offer.name, value, "", Some(self)).map_err(|misfit| {
                let message = format!("the shop's setting `{}` does not fit any more: {}", offer.name, misfit.message);
                Failed::Fault(Box::new(Fault::new(message).next("set it anew with shop.set, or take it back")))
            })?;
            settings.insert(offer.name.as_str().into(), taken);
        }
        let own = self.catalog().settings().iter().filter(|s| s.plugin == plugin && set.get(&s.name).is_some());
        let own: Map = own.map(|s| (s.name.as_str().into(), Dynamic::from_bool(true))).collect();
        let mut about = Map::new();
        about.insert("settings".into(), Dynamic::from_map(settings));
        about.insert("shop_set".into(), Dynamic::from_map(own));
        about.insert("figures".into(), into_script(self.figures()));
        Ok(about)
    }
}

impl SettingOffer {
    /// Whether the shop may set this value.
    ///
    /// # Errors
    /// What does not fit.
    pub fn fits(&self, value: &Value, asking: &Asking) -> Result<(), Misfit> {
        self.shape.take(&self.name, value, "", Some(asking)).map(drop)
    }
}

/// What all costing rules add to one coil's price, by plugin. One that fails adds a line of nothing that says so: the quote is
/// still given, and never too low in silence.
pub(crate) fn costs(asking: &Asking, about: &Value) -> Vec<ExtraCost> {
    let about = into_script(about);
    let mut all = Vec::new();
    let heard = |o: &&ScriptOffer| o.moment == Moment::Costing && asking.hears(&o.plugin);
    for offer in asking.catalog().along().iter().filter(heard) {
        let fault = match asking.one(offer, &about, |offer, answer| forms::costs(&offer.plugin, answer)) {
            Ok(found) => {
                all.extend(found);
                continue;
            }
            Err(Failed::Fault(fault)) => *fault,
            Err(Failed::Refused(unable)) => offer.script.refusal(unable),
        };
        all.push(ExtraCost {
            plugin: offer.plugin.clone(),
            code: PLUGIN_FAILED.into(),
            text: format!("not in the price: {}", named(&offer.plugin, fault)),
            amount: Decimal::ZERO,
            per: Per::Coil,
        });
    }
    all
}

fn named(plugin: &str, fault: Fault) -> Box<Fault> {
    Box::new(Fault { plugin: plugin.to_owned(), ..fault })
}

impl Script {
    /// The fault of an answer that is not what was promised.
    pub(crate) fn wrong_answer(&self, function: &str, why: String) -> Failed {
        self.fault(self.begins(function), format!("the answer of `{function}` is not what was promised: {why}"))
    }

    /// A refusal where there is nobody to refuse: a fault.
    fn refusal(&self, unable: Unable) -> Fault {
        match self.fault(None, unable.message) {
            Failed::Fault(fault) => *fault,
            Failed::Refused(unable) => Fault::new(unable.message),
        }
    }
}
