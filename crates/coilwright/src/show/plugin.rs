//! Plugins and what their methods answer, for people.

use super::How;
use super::number::figure;
use super::plain;
use super::table::table;
use serde_json::Value;

/// Every plugin in a line, its settings and faults below.
pub fn list(answer: &Value) -> String {
    let mut out = String::new();
    for p in answer["items"].as_array().into_iter().flatten() {
        let text = |name: &str| p[name].as_str().unwrap_or_default();
        let cases = p["cases"].as_array().map_or(0, Vec::len);
        out.push_str(&format!("{} {} {}: {}\n", text("plugin"), text("version"), text("state"), text("title")));
        if text("state") == "loaded" {
            let held = if cases == 1 { "1 example held".into() } else { format!("{cases} examples held") };
            out.push_str(&format!("  {}, {}; {held}\n", text("origin"), text("licence")));
        }
        for offer in p["offers"].as_array().into_iter().flatten() {
            out.push_str(&format!("  offers {}\n", offer.as_str().unwrap_or_default()));
        }
        for s in p["settings"].as_array().into_iter().flatten() {
            let set = if s["set"] == true { ", set by the shop" } else { "" };
            let text = |name: &str| s[name].as_str().unwrap_or_default();
            out.push_str(&format!(
                "  setting {} = {}{set}: {}\n",
                text("name"),
                plain::text(&s["value"]),
                text("description")
            ));
        }
        for fault in p["faults"].as_array().into_iter().flatten() {
            out.push_str(&format!("  fault: {}\n", fault.as_str().unwrap_or_default()));
        }
    }
    out
}

/// What a command on a plugin's files came to.
pub fn on_files(method: &str, answer: &Value, how: How) -> String {
    let text = |name: &str| answer[name].as_str().unwrap_or_default();
    let mut out = match method {
        "plugin.new" => begun(text("plugin"), text("folder"), how),
        "plugin.pack" if how == How::Quiet => format!("{}\n", text("file")),
        "plugin.pack" => {
            let files = answer["files"].as_array().map_or(0, Vec::len);
            format!(
                "{} {} packed into {}: {files} files\nsha256 {}\n",
                text("plugin"),
                text("version"),
                text("file"),
                text("sha256")
            )
        }
        "plugin.switch" => switched(text("plugin"), text("state"), answer, how),
        _ if how == How::Quiet => format!("{}\n", text("plugin")),
        _ => looked(method, answer),
    };
    if how != How::Quiet {
        for one in answer["left_out"].as_array().into_iter().flatten() {
            out.push_str(&format!("  left out, no file of a plugin: {}\n", one.as_str().unwrap_or_default()));
        }
    }
    out
}

fn begun(plugin: &str, folder: &str, how: How) -> String {
    if how == How::Quiet {
        return format!("{folder}\n");
    }
    format!(
        "{plugin} begun in {folder}: plugin.toml says what is what, SOURCES.md where the figures come from\n\
         change the files with a text editor, then: coilwright plugin check {folder}\n"
    )
}

fn switched(plugin: &str, state: &str, answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return format!("{plugin}\n");
    }
    let mut out = match answer["changed"] == true {
        true => format!("{plugin} is {state} now\n"),
        false => format!("{plugin} was {state} already\n"),
    };
    for fault in answer["faults"].as_array().into_iter().flatten() {
        out.push_str(&format!("  because of it: {}\n", fault.as_str().unwrap_or_default()));
    }
    out
}

fn looked(method: &str, answer: &Value) -> String {
    let text = |name: &str| answer[name].as_str().unwrap_or_default();
    let cases = answer["cases"].as_array().map(Vec::as_slice).unwrap_or_default();
    let mut out = String::new();
    if method == "plugin.test" {
        out.push_str(&examples(cases));
    }
    if answer["right"] != true {
        return out + "not right: a daemon refuses this plugin\n";
    }
    let held = if cases.len() == 1 { "1 example holds".into() } else { format!("{} examples hold", cases.len()) };
    out.push_str(&format!("{} {}: right, {held}\n", text("plugin"), text("version")));
    if method == "plugin.test" {
        return out;
    }
    for offer in answer["offers"].as_array().into_iter().flatten() {
        out.push_str(&format!("  offers {}\n", offer.as_str().unwrap_or_default()));
    }
    if cases.is_empty() {
        out.push_str("  it has no examples: put one in cases/, so that a slip of the pen is noticed\n");
    }
    if !text("folder").is_empty() {
        out.push_str(&format!("added to {}\n", text("folder")));
    }
    if !text("set_aside").is_empty() {
        out.push_str(&format!("the one before is set aside in {}\n", text("set_aside")));
    }
    if answer["off"] == true {
        out.push_str(&format!("it is switched off: coilwright plugin on {}\n", text("plugin")));
    }
    out
}

/// Every figure of every example.
fn examples(cases: &[Value]) -> String {
    let mut rows = Vec::new();
    for case in cases {
        for (at, one) in case["figures"].as_array().into_iter().flatten().enumerate() {
            let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
            let title = if at == 0 { text(&case["title"]) } else { String::new() };
            let held = if one["held"] == true { "holds" } else { "FAILS" };
            let figure = Some(text(&one["figure"])).filter(|f| !f.is_empty()).unwrap_or_else(|| "(the answer)".into());
            rows.push(vec![title, figure, text(&one["met"]), text(&one["promised"]), held.into()]);
        }
    }
    if rows.is_empty() { String::new() } else { table(&["example", "figure", "met", "promised", ""], rows, &[2]) }
}

/// Any answer: names and values first, then each list of like things as a table.
pub fn answer(answer: &Value) -> String {
    let (mut plain_ones, mut tables) = (serde_json::Map::new(), String::new());
    for (name, value) in answer.as_object().into_iter().flatten() {
        gather(name, value, &mut plain_ones, &mut tables);
    }
    let mut out = plain::indented(&Value::Object(plain_ones));
    out.push_str(&tables);
    out
}

fn gather(name: &str, value: &Value, plain_ones: &mut serde_json::Map<String, Value>, tables: &mut String) {
    match value.as_array() {
        Some(rows) if rows.first().is_some_and(Value::is_object) => {
            tables.push_str(&format!("\n{name}\n"));
            tables.push_str(&rows_of(rows));
        }
        Some(rows) if !rows.is_empty() && rows.iter().all(Value::is_string) => {
            tables.push_str(&format!("\n{name}\n"));
            for row in rows {
                tables.push_str(&format!("  {}\n", plain::text(row)));
            }
        }
        _ => match value.as_object() {
            Some(group) if group.values().any(Value::is_array) => {
                for (below, value) in group {
                    gather(&format!("{name}.{below}"), value, plain_ones, tables);
                }
            }
            _ => drop(plain_ones.insert(name.to_owned(), value.clone())),
        },
    }
}

/// The members of the first row are the columns; numbers and amounts stand to the right.
fn rows_of(rows: &[Value]) -> String {
    let mut columns: Vec<&str> = Vec::new();
    for row in rows {
        for name in row.as_object().into_iter().flatten().map(|(name, _)| name.as_str()) {
            if !columns.contains(&name) {
                columns.push(name);
            }
        }
    }
    let right = |v: &Value| v.is_number() || v["u"].is_number() || v["amount"].is_string();
    let to_the_right: Vec<usize> = columns
        .iter()
        .enumerate()
        .filter(|(_, name)| rows.iter().any(|row| right(&row[**name])))
        .map(|(at, _)| at)
        .collect();
    let cell = |v: &Value| match v {
        Value::Null => String::new(),
        v if v.is_number() || v["u"].is_number() => figure(v),
        v => plain::text(v),
    };
    let body = rows.iter().map(|row| columns.iter().map(|name| cell(&row[*name])).collect()).collect();
    table(&columns, body, &to_the_right)
}
