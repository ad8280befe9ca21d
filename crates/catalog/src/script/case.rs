//! Worked examples of scripts: what is asked, and what must be answered.

use super::engine::Failed;
use super::forms;
use super::offers::{MethodOffer, ScriptOffer};
use super::room::{Asking, Room, Unable};
use super::run::CallError;
use super::value::{into_script, out_of_script};
use crate::cases::{CaseFile, CaseResult, Compared, figure, json_fault, line_within};
use crate::catalog::Catalog;
use crate::fault::Fault;
use rhai::Dynamic;
use serde::Deserialize;
use serde_json::value::RawValue;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;

/// An example that was replayed.
pub(crate) struct Replayed {
    pub(crate) plugin: String,
    pub(crate) result: CaseResult,
    /// Method, params and answer.
    pub(crate) example: Option<(String, Value, Value)>,
}

/// What is called: one of the kinds, by its name.
#[derive(Deserialize)]
struct Which {
    method: Option<String>,
    check: Option<String>,
    sheet_lines: Option<String>,
    costing_rule: Option<String>,
    reaction: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScriptCase<'a> {
    title: String,
    source: String,
    #[serde(rename = "method")]
    _method: Option<String>,
    #[serde(rename = "check")]
    _check: Option<String>,
    #[serde(rename = "sheet_lines")]
    _sheet_lines: Option<String>,
    #[serde(rename = "costing_rule")]
    _costing_rule: Option<String>,
    #[serde(rename = "reaction")]
    _reaction: Option<String>,
    /// Params of a method.
    params: Option<Value>,
    /// What another script is given.
    about: Option<Value>,
    /// A coil to be designed: another script is given it as `design`.
    coil: Option<Value>,
    /// Figures of the shop that differ from the first ones.
    figures: Option<Value>,
    /// Settings that the shop sets.
    settings: Option<Value>,
    /// Jobs by id, as `job()` tells them.
    #[serde(default)]
    jobs: BTreeMap<String, Value>,
    /// The refusal that must come, or a part of its words.
    refused: Option<String>,
    /// What is expected at which JSON pointer of the answer.
    #[serde(borrow, default)]
    expect: BTreeMap<String, &'a RawValue>,
}

/// Whether an example is about a script.
pub(crate) fn is_of_script(raw: &RawValue) -> bool {
    serde_json::from_str::<Which>(raw.get()).is_ok_and(|which| which.one().is_some())
}

impl Which {
    fn one(&self) -> Option<(&'static str, &str)> {
        let kinds = [
            ("method", &self.method),
            ("check", &self.check),
            ("sheet_lines", &self.sheet_lines),
            ("costing_rule", &self.costing_rule),
            ("reaction", &self.reaction),
        ];
        kinds.into_iter().find_map(|(kind, name)| Some((kind, name.as_deref()?)))
    }
}

/// Replays the examples of scripts in one file of a plugin. Answers those that could be replayed, and every fault met: an
/// unknown name, a script that fails, an answer that is not what is promised.
pub(crate) fn replay(file: &str, text: &str, plugin: &str, asking: &Asking) -> (Vec<Replayed>, Vec<Fault>) {
    let (mut tried, mut faults) = (Vec::new(), Vec::new());
    let parsed: CaseFile<'_> = match serde_json::from_str(text) {
        Ok(parsed) => parsed,
        Err(e) => return (tried, vec![json_fault(file, 0, &e)]),
    };
    for raw in parsed.cases.into_iter().filter(|raw| is_of_script(raw)) {
        match replay_one(file, text, raw, plugin, asking) {
            Ok((replayed, found)) => {
                tried.push(replayed);
                faults.extend(found);
            }
            Err(found) => faults.extend(found),
        }
    }
    (tried, faults)
}

fn replay_one(
    file: &str,
    text: &str,
    raw: &RawValue,
    plugin: &str,
    asking: &Asking,
) -> Result<(Replayed, Vec<Fault>), Vec<Fault>> {
    let line = line_within(text, raw.get());
    let at = |message: String| Fault::new(message).file(file).line(line);
    let which: Which = serde_json::from_str(raw.get()).map_err(|e| vec![json_fault(file, line - 1, &e)])?;
    let case: ScriptCase<'_> = serde_json::from_str(raw.get()).map_err(|e| vec![json_fault(file, line - 1, &e)])?;
    let Some((kind, name)) = which.one() else { return Err(vec![at("the example names no script".into())]) };
    if case.source.trim().is_empty() {
        return Err(vec![at(format!("{}: the source is empty", case.title)).column("source")]);
    }
    if case.expect.is_empty() && case.refused.is_none() {
        let fault = at(format!("{}: nothing is expected", case.title)).column("expect");
        return Err(vec![fault.next("name a JSON pointer into the answer, and what stands there")]);
    }
    let room = CaseRoom {
        room: asking.shared_room(),
        figures: case.figures.clone(),
        settings: json!({ plugin: case.settings.clone().unwrap_or_else(|| json!({})) }),
        jobs: case.jobs.clone(),
    };
    // Another plugin's rule must not make this one's prices wrong.
    let asking = asking.alone_with(room, plugin);
    let unknown = || vec![at(format!("{}: this plugin has no {kind} `{name}`", case.title)).column(kind)];
    let (answer, example) = if kind == "method" {
        let whole = if name.contains('.') { name.to_owned() } else { format!("{plugin}.{name}") };
        let method = asking.catalog().methods().iter().find(|m| m.plugin == plugin && m.name == whole);
        let method = method.ok_or_else(unknown)?;
        let params = case.params.clone().unwrap_or_else(|| json!({}));
        let answer = of_method(&asking, method, &params);
        let example = answer.as_ref().ok().map(|answer| (method.name.clone(), params, answer.clone()));
        (answer, example)
    } else {
        let offers = asking.catalog().along();
        let offer = offers.iter().find(|o| o.plugin == plugin && o.name == name && o.moment.kind() == kind);
        (of_other(&asking, offer.ok_or_else(unknown)?, &case), None)
    };
    let (mut faults, mut compared) = (Vec::new(), Vec::new());
    if let Some(promised) = &case.refused {
        let met = match &answer {
            Ok(_) => "answered".to_owned(),
            Err(Told::Refused(unable)) => unable.message.clone(),
            Err(Told::Fault(fault)) => fault.message.clone(),
        };
        let held = matches!(&answer, Err(Told::Refused(unable)) if unable.message.contains(promised.as_str()));
        compared.push(Compared { figure: "refused".into(), met, promised: promised.clone(), held });
    }
    match (answer, &case.refused) {
        (Ok(answer), None) => {
            for (pointer, raw) in &case.expect {
                let held = holds(&answer, pointer, raw.get());
                compared.push(Compared {
                    figure: pointer.clone(),
                    met: answer.pointer(pointer).map_or("nothing".to_owned(), |met| brief(met, raw.get())),
                    promised: promised(raw.get()),
                    held: held.is_ok(),
                });
                if let Err(why) = held {
                    let fault = at(format!("{}: {why}", case.title)).line(line_within(text, raw.get()));
                    faults.push(fault.column(pointer).next("correct the script or the example, whichever is wrong"));
                }
            }
        }
        (Err(Told::Refused(unable)), Some(promised)) if unable.message.contains(promised.as_str()) => {}
        (Err(Told::Refused(unable)), Some(promised)) => {
            faults.push(at(format!("{}: refused with `{}`, promised `{promised}`", case.title, unable.message)));
        }
        (Ok(_), Some(promised)) => faults.push(at(format!("{}: answered, promised a refusal: {promised}", case.title))),
        (Err(Told::Refused(unable)), None) => {
            faults.push(at(format!("{}: refused: {}", case.title, unable.message)));
        }
        // The script's own file and line say more than the example's.
        (Err(Told::Fault(fault)), _) => {
            faults.push(Fault { message: format!("{}: {}", case.title, fault.message), ..*fault })
        }
    }
    let result = CaseResult { file: file.to_owned(), title: case.title, figures: case.expect.len(), compared };
    Ok((Replayed { plugin: plugin.to_owned(), result, example }, faults))
}

/// What came instead of an answer.
enum Told {
    Refused(Unable),
    Fault(Box<Fault>),
}

impl From<Failed> for Told {
    fn from(failed: Failed) -> Told {
        match failed {
            Failed::Refused(unable) => Told::Refused(unable),
            Failed::Fault(fault) => Told::Fault(fault),
        }
    }
}

fn of_method(asking: &Asking, method: &MethodOffer, params: &Value) -> Result<Value, Told> {
    asking.call(method, params).map_err(|error| match error {
        CallError::Params(misfit) => {
            Told::Refused(Unable { pointer: Some(misfit.pointer.clone()), ..Unable::because(misfit.message.clone()) })
        }
        CallError::Refused(unable) => Told::Refused(unable),
        CallError::Fault(fault) => Told::Fault(fault),
    })
}

/// Any other script: its answer is read as the program would, then told as it stands.
fn of_other(asking: &Asking, offer: &ScriptOffer, case: &ScriptCase<'_>) -> Result<Value, Told> {
    let mut about = case.about.clone().unwrap_or_else(|| json!({}));
    if let Some(coil) = &case.coil {
        about["coil"] = asking.room().coil(asking.catalog(), coil).map_err(Told::Refused)?;
        about["design"] = asking.room().design(asking.catalog(), coil).map_err(Told::Refused)?;
    }
    let read = |offer: &ScriptOffer, answer: &Dynamic| -> Result<Vec<Value>, String> {
        match offer.moment.kind() {
            "check" => forms::findings(&offer.plugin, answer).map(drop),
            "costing_rule" => forms::costs(&offer.plugin, answer).map(drop),
            "reaction" => forms::proposals(&offer.plugin, answer).map(drop),
            _ => forms::lines(answer).map(drop),
        }?;
        Ok(vec![out_of_script(answer)?])
    };
    let answer = asking.one(offer, &into_script(&about), read)?;
    Ok(answer.into_iter().next().unwrap_or_default())
}

/// What may be expected of a place in the answer.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    value: Option<f64>,
    tolerance: Option<f64>,
    /// How many items or members there are.
    count: Option<usize>,
    /// Text that must be in it.
    has: Option<String>,
    /// That it is not there at all.
    absent: Option<bool>,
}

/// A value as it stands in a table of examples; of a long one only the beginning, of one that is counted the count.
fn brief(value: &Value, expected: &str) -> String {
    const CHARS: usize = 80;
    let counted = serde_json::from_str::<Expected>(expected).is_ok_and(|e| e.count.is_some());
    match value {
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), figure),
        Value::Array(items) if counted => format!("{} of them", items.len()),
        Value::Object(members) if counted => format!("{} of them", members.len()),
        other => {
            let text = other.as_str().map_or_else(|| other.to_string(), str::to_owned);
            match text.char_indices().nth(CHARS) {
                Some((at, _)) => format!("{}…", text.get(..at).unwrap_or_default()),
                None => text,
            }
        }
    }
}

/// A promise in few words.
fn promised(expected: &str) -> String {
    let Ok(e) = serde_json::from_str::<Expected>(expected) else {
        return serde_json::from_str::<String>(expected).unwrap_or_else(|_| expected.to_owned());
    };
    match (e.value, e.tolerance, e.count, e.has) {
        (Some(value), Some(tolerance), _, _) => format!("{value} ± {tolerance}"),
        (_, _, Some(count), _) => format!("{count} of them"),
        (_, _, _, Some(part)) => format!("text with `{part}`"),
        _ => "nothing there".into(),
    }
}

fn holds(answer: &Value, pointer: &str, expected: &str) -> Result<(), String> {
    let met = answer.pointer(pointer);
    let expected: Value = serde_json::from_str(expected).map_err(|e| e.to_string())?;
    let shown = met.map_or("nothing".to_owned(), Value::to_string);
    let wrong = |promised: String| Err(format!("{pointer} is {shown}, promised {promised}"));
    if !expected.is_object() {
        let same =
            met.is_some_and(|met| *met == expected || met.as_f64().zip(expected.as_f64()).is_some_and(|(a, b)| a == b));
        return if same { Ok(()) } else { wrong(expected.to_string()) };
    }
    let e: Expected = serde_json::from_value(expected).map_err(|e| format!("{pointer}: {e}"))?;
    match (e.value, e.tolerance, e.count, e.has, e.absent) {
        (Some(value), Some(tolerance), None, None, None) if tolerance > 0.0 => {
            let number = met.and_then(|met| met.as_f64().or_else(|| met.as_str()?.parse().ok()));
            let near = number.is_some_and(|met| (met - value).abs() <= tolerance);
            if near { Ok(()) } else { wrong(format!("{value} ± {tolerance}")) }
        }
        (None, None, Some(count), None, None) => {
            let there =
                met.map(|m| m.as_array().map(Vec::len).or(m.as_object().map(serde_json::Map::len)).unwrap_or(0));
            if there == Some(count) { Ok(()) } else { wrong(format!("{count} of them")) }
        }
        (None, None, None, Some(part), None) => {
            let there = met.and_then(Value::as_str).is_some_and(|text| text.contains(&part));
            if there { Ok(()) } else { wrong(format!("text with `{part}`")) }
        }
        (None, None, None, None, Some(true)) => {
            if met.is_none_or(Value::is_null) {
                Ok(())
            } else {
                wrong("nothing there".into())
            }
        }
        _ => Err(format!("{pointer}: write a value, {{value, tolerance}}, {{count}}, {{has}} or {{absent: true}}")),
    }
}

/// The room of an example: figures, settings and jobs of its own.
struct CaseRoom {
    room: Arc<dyn Room>,
    figures: Option<Value>,
    settings: Value,
    jobs: BTreeMap<String, Value>,
}

impl Room for CaseRoom {
    fn coil(&self, catalog: &Catalog, coil: &Value) -> Result<Value, Unable> {
        self.room.coil(catalog, coil)
    }
    fn design(&self, catalog: &Catalog, coil: &Value) -> Result<Value, Unable> {
        self.room.design(catalog, coil)
    }
    fn job(&self, id: &str) -> Result<Value, Unable> {
        self.jobs.get(id).cloned().ok_or_else(|| Unable::because(format!("the example has no job `{id}`")))
    }
    fn figures(&self) -> Value {
        let mut figures = self.room.figures();
        for (name, value) in self.figures.iter().filter_map(Value::as_object).flatten() {
            figures[name.as_str()] = value.clone();
        }
        figures
    }
    fn settings(&self) -> Value {
        self.settings.clone()
    }
}
