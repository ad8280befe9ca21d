//! From the text of the params to their type, with every error named by its place.

use crate::error::{Explained, RpcError};
use serde::de::DeserializeOwned;
use serde_path_to_error::{Path, Segment};

/// Reads params by name.
///
/// # Errors
/// -32602 with the JSON pointer of what does not fit, what was met, what is allowed, and for a name that is not known the
/// nearest right one.
pub fn read<P: DeserializeOwned>(text: &str) -> Result<P, RpcError> {
    if !text.trim_start().starts_with('{') {
        return Err(RpcError::params("", "params are taken by name only, as a JSON object")
            .met(text.trim_start().chars().take(60).collect::<String>())
            .allowed("an object like {\"wire\": …}")
            .next("name each parameter; `rpc.discover` lists them"));
    }
    let mut json = serde_json::Deserializer::from_str(text);
    let read = serde_path_to_error::deserialize::<_, P>(&mut json);
    read.map_err(|e| explain(&pointer(e.path()), &e.inner().to_string()))
}

/// RFC 6901 pointer of a path.
fn pointer(path: &Path) -> String {
    let mut out = String::new();
    for segment in path.iter() {
        match segment {
            Segment::Seq { index } => out.push_str(&format!("/{index}")),
            Segment::Map { key } => out.push_str(&format!("/{}", escaped(key))),
            Segment::Enum { variant } => out.push_str(&format!("/{}", escaped(variant))),
            Segment::Unknown => {}
        }
    }
    out
}

fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// Turns serde's sentence into an error that names met, allowed and next step.
fn explain(pointer: &str, message: &str) -> RpcError {
    if let Some(e) = Explained::decode(message) {
        return RpcError::params(pointer, e.detail).met(e.met).allowed(e.allowed).next(e.next_step);
    }
    let message = message.split(" at line ").next().unwrap_or(message);
    let quoted = quoted_names(message);
    if let Some(rest) = message.strip_prefix("unknown field `") {
        let met = rest.split('`').next().unwrap_or(rest);
        let known = &quoted[1.min(quoted.len())..];
        return unknown("parameter", pointer, met, known);
    }
    if let Some(rest) = message.strip_prefix("unknown variant `") {
        let met = rest.split('`').next().unwrap_or(rest);
        let known = &quoted[1.min(quoted.len())..];
        return unknown("word", pointer, met, known);
    }
    if let Some(rest) = message.strip_prefix("missing field `") {
        let name = rest.split('`').next().unwrap_or(rest);
        return RpcError::params(format!("{pointer}/{}", escaped(name)), format!("`{name}` is required and missing"))
            .next(format!("add `{name}`; `rpc.discover` shows an example"));
    }
    if let Some(rest) = message.strip_prefix("duplicate field `") {
        let name = rest.split('`').next().unwrap_or(rest);
        return RpcError::params(pointer, format!("`{name}` stands twice")).next("keep the one that is meant");
    }
    if let Some((met, expected)) = mismatch(message) {
        return RpcError::params(pointer, format!("{met} is not taken here; {expected} is"))
            .met(met)
            .allowed(expected)
            .next("see the schema and the example of this method in `rpc.discover`");
    }
    RpcError::params(pointer, message).next("see the schema and the example of this method in `rpc.discover`")
}

fn unknown(what: &str, pointer: &str, met: &str, known: &[&str]) -> RpcError {
    let e = RpcError::params(pointer, format!("there is no {what} `{met}` here")).met(met).allowed(known.to_vec());
    match nearest(met, known) {
        Some(near) => e.next(format!("write `{near}` if that is what was meant")),
        None => e.next(format!("known here: {}", known.join(", "))),
    }
}

/// Longest name that is compared with others, in bytes: a sender may write one of a megabyte.
const LONGEST: usize = 100;

/// The nearest of `known` to `met`, if it is near enough to be what was meant.
pub fn nearest<'a>(met: &str, known: &[&'a str]) -> Option<&'a str> {
    if met.len() > LONGEST {
        return None;
    }
    known
        .iter()
        .map(|k| (strsim::jaro_winkler(met, k), *k))
        .filter(|(near, _)| *near > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, k)| k)
}

fn mismatch(message: &str) -> Option<(&str, &str)> {
    let rest = message.strip_prefix("invalid type: ").or_else(|| message.strip_prefix("invalid value: "))?;
    let (met, expected) = rest.split_once(", expected ")?;
    // serde names some of its own types.
    let expected = match expected {
        "u32" | "u64" | "usize" => "a whole number, 0 or more",
        "i32" | "i64" => "a whole number",
        "f64" => "a number",
        e if e.starts_with("struct ") => "an object",
        e => e,
    };
    Some((met, expected))
}

fn quoted_names(message: &str) -> Vec<&str> {
    message.split('`').skip(1).step_by(2).collect()
}
