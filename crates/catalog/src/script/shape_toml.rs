//! Shapes as a manifest writes them.

use super::shape::{Kind, Member, Shape};
use crate::fault::Fault;
use crate::manifest::{FILE, line_of};
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// How deep shapes may lie in each other.
const DEPTH: usize = 6;

/// A shape as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawShape {
    #[serde(rename = "type")]
    kind: Spanned<String>,
    #[serde(default)]
    description: String,
    #[serde(default)]
    required: bool,
    minimum: Option<f64>,
    maximum: Option<f64>,
    #[serde(default)]
    words: Vec<String>,
    of: Option<Box<RawShape>>,
    #[serde(default)]
    members: BTreeMap<String, RawShape>,
}

const KINDS: &str = "text, word, number, integer, yes_no, measured, money, coil, wire, former, job, list, group, any";

/// Members in the order of their names.
///
/// # Errors
/// A fault with the line of the manifest.
pub(crate) fn members(text: &str, raw: &BTreeMap<String, RawShape>) -> Result<Vec<Member>, Fault> {
    deep_members(text, raw, DEPTH)
}

fn deep_members(text: &str, raw: &BTreeMap<String, RawShape>, deeper: usize) -> Result<Vec<Member>, Fault> {
    let each = raw.iter().map(|(name, raw)| {
        if !is_name(name) {
            let message = format!("`{name}` is no name of a value");
            return Err(raw
                .fault(text, message)
                .next("use small letters, digits and underscores, the unit last: wall_mm"));
        }
        Ok(Member { name: name.clone(), required: raw.required, shape: deep_shape(text, raw, deeper)? })
    });
    each.collect()
}

fn deep_shape(text: &str, raw: &RawShape, deeper: usize) -> Result<Shape, Fault> {
    let Some(deeper) = deeper.checked_sub(1) else {
        return Err(raw.fault(text, format!("shapes lie more than {DEPTH} deep in each other")));
    };
    let word = raw.kind.get_ref().as_str();
    let kind = match word {
        "text" => Kind::Text,
        "word" if raw.words.is_empty() => {
            return Err(raw
                .fault(text, "the words are not given".into())
                .next("write them like words = [\"plus\", \"minus\"]"));
        }
        "word" => Kind::Word(raw.words.clone()),
        "number" => Kind::Number,
        "integer" => Kind::Integer,
        "yes_no" => Kind::YesNo,
        "measured" => Kind::Measured,
        "money" => Kind::Money,
        "coil" => Kind::Coil,
        "wire" => Kind::Wire,
        "former" => Kind::Former,
        "job" => Kind::Job,
        "any" => Kind::Any,
        "list" => match &raw.of {
            Some(of) => Kind::List(Box::new(deep_shape(text, of, deeper)?)),
            None => {
                let fault = raw.fault(text, "of what the list is, is not said".into());
                return Err(fault.next("write of = { type = \"number\" }"));
            }
        },
        "group" => Kind::Group(deep_members(text, &raw.members, deeper)?),
        other => {
            return Err(raw
                .fault(text, format!("`{other}` is no type of a value"))
                .next(format!("write one of {KINDS}")));
        }
    };
    for (given, is, name) in [
        (!raw.words.is_empty(), word == "word", "words"),
        (raw.of.is_some(), word == "list", "of"),
        (!raw.members.is_empty(), word == "group", "members"),
    ] {
        if given && !is {
            return Err(raw.fault(text, format!("a value of the type {word} has no `{name}`")));
        }
    }
    if raw.minimum.zip(raw.maximum).is_some_and(|(least, most)| least > most) {
        return Err(raw.fault(text, "the minimum is above the maximum".into()));
    }
    Ok(Shape { kind, description: raw.description.clone(), minimum: raw.minimum, maximum: raw.maximum })
}

impl RawShape {
    pub(crate) fn fault(&self, text: &str, message: String) -> Fault {
        Fault::new(message).file(FILE).line(line_of(text, self.kind.span().start)).column("type")
    }
}

/// Small letters, digits and underscores, a letter first.
pub(crate) fn is_name(name: &str) -> bool {
    name.len() <= 40
        && name.starts_with(|c: char| c.is_ascii_lowercase())
        && name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
}
