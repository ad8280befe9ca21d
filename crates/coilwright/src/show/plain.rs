//! Any answer, without knowing it: names and values.

use super::number::figure;
use serde_json::Value;

/// Ids, one a line: of a list its items', of a thing its own. A thing's id is the member called as the method's noun; where an
/// answer is about no thing with an id, the one figure or word that a script asks for.
pub fn ids(method: &str, answer: &Value) -> String {
    if let Some((_, pointer)) = ONE_FIGURE.iter().find(|(name, _)| *name == method) {
        let met = answer.pointer(pointer).filter(|v| !v.is_null());
        return met
            .map_or_else(String::new, |v| format!("{}\n", text(if v["u"].is_number() { &v["value"] } else { v })));
    }
    let noun = method.split('.').next().unwrap_or(method);
    let id = |v: &Value| v[noun].as_str().map(|s| format!("{s}\n"));
    match answer["items"].as_array() {
        Some(items) => items.iter().filter_map(id).collect(),
        None => id(answer).unwrap_or_default(),
    }
}

/// What is asked for where an answer is about no thing with an id, or about a newer one than its noun says.
const ONE_FIGURE: [(&str, &str); 17] = [
    ("coil.design", "/dcr_ohm"),
    ("coil.heat", "/temperature_c"),
    ("coil.inductance", "/exact_uh"),
    ("coil.reading", "/expect_ohm"),
    ("coil.trim", "/unwind_turns"),
    ("job.batch", "/starts"),
    ("job.gate", "/verdict"),
    ("plan.make", "/value"),
    ("plan.show", "/value"),
    ("plan.accept", "/accepted"),
    ("journal.verify", "/head"),
    ("journal.undo", "/seq"),
    ("care.backup", "/head"),
    ("learn.freeze", "/seq"),
    ("shop.set", "/seq"),
    ("shop.status", "/health"),
    ("spool.hold", "/hold"),
];

/// A line for every leaf: dotted name, value, and its uncertainty if it has one.
pub fn tab_separated(answer: &Value) -> String {
    let mut out = String::new();
    leaves("", answer, &mut |name, v| {
        let line = match v["u"].as_f64() {
            Some(u) => format!("{name}\t{}\t{u}\n", v["value"]),
            None => format!("{name}\t{}\n", text(v)),
        };
        out.push_str(&line);
    });
    out
}

/// The same for people, one leaf a line.
pub fn indented(answer: &Value) -> String {
    let mut rows = Vec::new();
    leaves("", answer, &mut |name, v| {
        rows.push((name.to_owned(), if v.is_number() || v["u"].is_number() { figure(v) } else { text(v) }))
    });
    let wide = rows.iter().map(|(n, _)| n.chars().count()).max().unwrap_or(0);
    rows.into_iter().map(|(name, value)| format!("{name:wide$}  {value}\n")).collect()
}

/// What a writing request answered: what was noticed first, then the rest.
pub fn done(answer: &Value) -> String {
    let mut out = findings(answer);
    let rest: Value = answer
        .as_object()
        .map(|o| o.iter().filter(|(name, _)| *name != "findings").map(|(n, v)| (n.clone(), v.clone())).collect())
        .unwrap_or_default();
    out.push_str(&indented(&rest));
    out
}

/// What was noticed, the level in capitals before it.
pub fn findings(answer: &Value) -> String {
    let one = |f: &Value| {
        format!(
            "{:<6} {}\n",
            f["level"].as_str().unwrap_or_default().to_uppercase(),
            f["text"].as_str().unwrap_or_default()
        )
    };
    answer["findings"].as_array().into_iter().flatten().map(one).collect()
}

fn leaves(name: &str, v: &Value, leaf: &mut impl FnMut(&str, &Value)) {
    let below = |key: &str| if name.is_empty() { key.to_owned() } else { format!("{name}.{key}") };
    match v {
        Value::Object(o) if o.contains_key("value") && o.contains_key("u") => leaf(name, v),
        Value::Object(o) if o.contains_key("amount") && o.contains_key("currency") => leaf(name, v),
        Value::Object(o) => o.iter().for_each(|(key, v)| leaves(&below(key), v, leaf)),
        Value::Array(a) => a.iter().enumerate().for_each(|(i, v)| leaves(&below(&i.to_string()), v, leaf)),
        _ => leaf(name, v),
    }
}

pub fn text(v: &Value) -> String {
    if let (Some(amount), Some(currency)) = (v["amount"].as_str(), v["currency"].as_str()) {
        return format!("{amount} {currency}");
    }
    // A tab or line end within a text would break the columns.
    v.as_str().map_or_else(|| v.to_string(), |s| s.replace(['\t', '\n', '\r'], " "))
}
