//! Jobs: the list, one job, and what the gate says.

use super::How;
use super::number::figure;
use super::plain::ids;
use super::read::{items, text};
use super::spool::history;
use super::table::{tab_separated, table};
use serde_json::Value;

/// Jobs, one a row.
pub fn list(answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return ids("job.list", answer);
    }
    let rows: Vec<Vec<String>> = items(answer, "items")
        .map(|j| {
            let done = format!("{} of {}", j["good"], j["coils"]);
            let need = if how == How::Pipe { j["need_m"]["value"].to_string() } else { figure(&j["need_m"]) };
            vec![
                text(j, "job"),
                text(j, "title"),
                text(j, "status").replace('_', " "),
                done,
                text(j, "wire"),
                need,
                text(j, "due_on"),
                j["priority"].to_string(),
            ]
        })
        .collect();
    if how == How::Pipe {
        return tab_separated(rows);
    }
    if rows.is_empty() {
        return "no jobs: `coilwright job open --title … --coil.wire …` takes one\n".into();
    }
    let mut out = table(&["job", "title", "status", "good", "wire", "m a coil", "due", "priority"], rows, &[5, 7]);
    if let Some(cursor) = answer["next_cursor"].as_str() {
        out.push_str(&format!("more: add --cursor {cursor}\n"));
    }
    out
}

/// One job in full.
pub fn show(j: &Value) -> String {
    let due = j["due_on"].as_str().map_or_else(String::new, |d| format!(", due {d}"));
    let mut out = format!(
        "{} · {} · {}{due}, priority {}\n",
        text(j, "job"),
        text(j, "title"),
        text(j, "status").replace('_', " "),
        j["priority"]
    );
    out.push_str(&format!("  coils     {} of {} good, {} scrapped\n", j["good"], j["coils"], j["scrapped"]));
    out.push_str(&format!(
        "  a coil    {} m of {}, {} Ω at 20 °C\n",
        figure(&j["need_m"]),
        text(j, "wire"),
        figure(&j["dcr_ohm"])
    ));
    let before: Vec<String> = j["before"]
        .as_object()
        .into_iter()
        .flatten()
        .map(|(name, v)| {
            format!(
                "{} {}",
                name.replace('_', " "),
                v.as_str().map_or_else(|| v.to_string(), str::to_owned).replace('_', " ")
            )
        })
        .collect();
    out.push_str(&format!(
        "  before    {}\n",
        if before.is_empty() { "nothing noted before teardown".into() } else { before.join(", ") }
    ));
    for w in items(j, "works") {
        let steps: Vec<String> = items(w, "steps")
            .map(|s| format!("[{}] {}", if s["done"] == true { "x" } else { " " }, text(s, "step").replace('_', " ")))
            .collect();
        let dcr =
            if w["dcr_ohm"].is_null() { String::new() } else { format!(", {} Ω at 20 °C", figure(&w["dcr_ohm"])) };
        out.push_str(&format!(
            "  coil {}    from {}, {}{dcr}\n            {}\n",
            w["coil_no"],
            text(w, "spool"),
            text(w, "state"),
            steps.join("  ")
        ));
        if let Some(signed) = w["signed"].as_str() {
            out.push_str(&format!("            signed: {signed}\n"));
        }
    }
    let missing: Vec<&str> = items(j, "missing").filter_map(Value::as_str).collect();
    if !missing.is_empty() {
        out.push_str(&format!("  missing   {}\n", missing.join("; ")));
    }
    history(j, &mut out);
    out
}

/// What the gate says, the verdict first.
pub fn gate(g: &Value) -> String {
    let mut out = format!(
        "{}: {} coil {} from {}",
        text(g, "verdict").to_uppercase(),
        text(g, "job"),
        g["coil_no"],
        text(g, "spool")
    );
    if let Some(hold) = g["hold_m"].as_f64() {
        out.push_str(&format!(", started with {hold:.2} m promised as {}", text(g, "hold")));
    }
    out.push('\n');
    for c in items(g, "checks") {
        out.push_str(&format!(
            "  {:<5}{:<15} {}\n",
            if c["ok"] == true { "ok" } else { "STOP" },
            text(c, "code").replace('_', " "),
            text(c, "text")
        ));
    }
    out
}
