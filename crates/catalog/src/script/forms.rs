//! What the kinds of script answer: findings, costs, lines, proposals, each read from the script's own values.

use super::value::{out_of_script, with_whole_numbers};
use coilwright_core::finding::Level;
use rhai::{Dynamic, Map};
use rust_decimal::Decimal;
use serde_json::Value;

/// Most things that one call may answer.
const MOST: usize = 20;
/// Most characters of a text in them.
const LONGEST: usize = 400;

/// What a check of a plugin noticed.
#[derive(Debug, Clone, PartialEq)]
pub struct PluginFinding {
    /// Id of the plugin.
    pub plugin: String,
    /// A stable word for it.
    pub code: String,
    /// How serious it is.
    pub level: Level,
    /// What a person is told.
    pub text: String,
    /// The figure that was looked at.
    pub figure: Option<f64>,
    /// What it was held against.
    pub limit: Option<f64>,
}

/// What a cost is counted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Per {
    /// Each good coil.
    Coil,
    /// The batch, whatever its size.
    Batch,
}

/// What a costing rule adds.
#[derive(Debug, Clone, PartialEq)]
pub struct ExtraCost {
    /// Id of the plugin.
    pub plugin: String,
    /// A stable word for it.
    pub code: String,
    /// What it is, for people.
    pub text: String,
    /// How much, in the shop's currency; negative for a rebate.
    pub amount: Decimal,
    /// What it is counted for.
    pub per: Per,
}

/// What a reaction proposes. Nothing happens by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Id of the plugin.
    pub plugin: String,
    /// A stable word for it.
    pub code: String,
    /// What is proposed, for people.
    pub text: String,
    /// The method that would do it.
    pub method: Option<String>,
    /// Its params.
    pub params: Option<Value>,
}

impl ExtraCost {
    pub(crate) fn for_script(&self) -> Dynamic {
        let mut map = Map::new();
        map.insert("plugin".into(), self.plugin.clone().into());
        map.insert("code".into(), self.code.clone().into());
        map.insert("text".into(), self.text.clone().into());
        map.insert("amount".into(), Dynamic::from_decimal(self.amount));
        map.insert("per".into(), (if self.per == Per::Coil { "coil" } else { "batch" }).into());
        Dynamic::from_map(map)
    }
}

/// Reads the findings that a check answered.
///
/// # Errors
/// In words, what of the answer is no finding.
pub(crate) fn findings(plugin: &str, answer: &Dynamic) -> Result<Vec<PluginFinding>, String> {
    each(answer, &["code", "level", "text", "figure", "limit"], |map| {
        Ok(PluginFinding {
            plugin: plugin.into(),
            code: word(map, "code")?,
            level: match text(map, "level")?.as_str() {
                "stop" => Level::Stop,
                "watch" => Level::Watch,
                "note" => Level::Note,
                other => return Err(format!("`{other}` is no level: stop, watch or note")),
            },
            text: text(map, "text")?,
            figure: number(map, "figure")?,
            limit: number(map, "limit")?,
        })
    })
}

/// Reads the costs that a rule answered.
///
/// # Errors
/// In words, what of the answer is no cost.
pub(crate) fn costs(plugin: &str, answer: &Dynamic) -> Result<Vec<ExtraCost>, String> {
    each(answer, &["code", "text", "amount", "per"], |map| {
        Ok(ExtraCost {
            plugin: plugin.into(),
            code: word(map, "code")?,
            text: text(map, "text")?,
            amount: map
                .get("amount")
                .and_then(|amount| amount.as_decimal().ok())
                .ok_or("`amount` must be a decimal: decimal(\"0.60\")")?,
            per: match text(map, "per")?.as_str() {
                "coil" => Per::Coil,
                "batch" => Per::Batch,
                other => return Err(format!("`{other}` is nothing a cost is counted for: coil or batch")),
            },
        })
    })
}

/// Reads the lines that an enrichment of a sheet answered.
///
/// # Errors
/// In words, what of the answer is no line.
pub(crate) fn lines(answer: &Dynamic) -> Result<Vec<String>, String> {
    let items = list(answer)?;
    items.iter().map(|item| item.clone().into_string().map_err(str::to_owned).and_then(short)).collect()
}

/// Reads the proposals that a reaction answered.
///
/// # Errors
/// In words, what of the answer is no proposal.
pub(crate) fn proposals(plugin: &str, answer: &Dynamic) -> Result<Vec<Proposal>, String> {
    each(answer, &["code", "text", "method", "params"], |map| {
        Ok(Proposal {
            plugin: plugin.into(),
            code: word(map, "code")?,
            text: text(map, "text")?,
            method: map.contains_key("method").then(|| text(map, "method")).transpose()?,
            params: map.get("params").map(out_of_script).transpose()?.map(with_whole_numbers),
        })
    })
}

fn list(answer: &Dynamic) -> Result<Vec<Dynamic>, String> {
    let items = answer.clone().into_array().map_err(|is| format!("a list was promised, a {is} came"))?;
    if items.len() > MOST { Err(format!("{} things where {MOST} are allowed", items.len())) } else { Ok(items) }
}

fn each<T>(answer: &Dynamic, known: &[&str], read: impl Fn(&Map) -> Result<T, String>) -> Result<Vec<T>, String> {
    let one = |(i, item): (usize, Dynamic)| {
        let map = item.try_cast::<Map>().ok_or_else(|| format!("at /{i}: an object map was promised"))?;
        if let Some(stray) = map.keys().find(|name| !known.contains(&name.as_str())) {
            return Err(format!("at /{i}/{stray}: only {} are known here", known.join(", ")));
        }
        read(&map).map_err(|why| format!("at /{i}: {why}"))
    };
    list(answer)?.into_iter().enumerate().map(one).collect()
}

fn text(map: &Map, name: &str) -> Result<String, String> {
    let found = map.get(name).ok_or_else(|| format!("`{name}` is missing"))?;
    let text = found.clone().into_string().map_err(|is| format!("`{name}` must be text, a {is} came"))?;
    short(text)
}

fn word(map: &Map, name: &str) -> Result<String, String> {
    let word = text(map, name)?;
    let plain = !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    if plain {
        Ok(word)
    } else {
        Err(format!("`{name}` must be small letters, digits and underscores, like `too_warm`"))
    }
}

fn number(map: &Map, name: &str) -> Result<Option<f64>, String> {
    let Some(found) = map.get(name).filter(|v| !v.is_unit()) else { return Ok(None) };
    match found.as_float().ok().or_else(|| found.as_int().ok().map(|i| i as f64)) {
        Some(number) if number.is_finite() => Ok(Some(number)),
        _ => Err(format!("`{name}` must be a number")),
    }
}

fn short(text: String) -> Result<String, String> {
    if text.chars().count() > LONGEST || text.contains(['\n', '\r', '\t', '\0']) {
        return Err(format!("a text must be one line of at most {LONGEST} characters"));
    }
    Ok(text)
}
