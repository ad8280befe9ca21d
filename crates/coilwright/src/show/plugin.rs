//! Plugins and what their methods answer, for people.

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
