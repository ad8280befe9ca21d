//! What the shop's own coils have taught, for people.

use super::number::figure;
use super::read::{items, text};
use super::table::table;
use serde_json::Value;

/// Everything learned, the resistances first.
pub fn learned(l: &Value) -> String {
    let mut out = String::new();
    if l["on"] != true {
        out.push_str("learning is off: planned figures are first values (`coilwright shop set --learning true`)\n");
    }
    if let Some(since) = l["frozen_since"].as_u64() {
        out.push_str(&format!("frozen since entry {since}: coils recorded later do not count\n"));
    }
    let rows: Vec<Vec<String>> = items(l, "ratios").map(ratio).collect();
    if rows.is_empty() {
        out.push_str("no coil has taught its resistance yet: `coilwright job record` with --reading-ohm does\n");
    } else {
        out.push_str("measured over planned resistance, the plan by first values\n");
        let head = ["wire", "mandrel mm", "winder", "coils", "mean", "learned", "own share", "next 95 %"];
        out.push_str(&table(&head, rows, &[1, 3, 4, 6]));
    }
    for f in items(l, "figures").filter(|f| f["coils"].as_u64().unwrap_or(0) > 0) {
        out.push_str(&format!(
            "  {:<16}{} (first value {}), by {}, own share {}\n",
            text(f, "name").replace('_', " "),
            figure(&f["learned"]),
            figure(&f["first"]),
            coils(&f["coils"]),
            share(&f["weight"])
        ));
    }
    let s = &l["scrap"];
    out.push_str(&format!(
        "  scrap           {} % ({} to {} %), {} of {} scrapped\n",
        decimal(&s["rate_pct"], 1),
        decimal(&s["min_pct"], 1),
        decimal(&s["max_pct"], 1),
        s["scrapped"],
        coils(&s["recorded"])
    ));
    for m in items(l, "minutes") {
        out.push_str(&format!(
            "  {:<16}{} min, the next one {} to {} min, by {}\n",
            text(m, "step"),
            decimal(&m["usual_min"], 0),
            decimal(&m["next"]["min"], 0),
            decimal(&m["next"]["max"], 0),
            coils(&m["coils"])
        ));
    }
    for o in items(l, "outliers") {
        out.push_str(&format!(
            "  off: {} coil {}, {} of the plan where {} was expected: {}{}\n",
            text(o, "job"),
            o["coil_no"],
            decimal(&o["ratio"], 3),
            decimal(&o["expected"]["value"], 3),
            text(o, "cause"),
            if o["learned_from"] == true { "" } else { "; not learned from" }
        ));
    }
    out
}

fn ratio(r: &Value) -> Vec<String> {
    vec![
        text(r, "wire"),
        r["mandrel_mm"].as_f64().map_or_else(|| "–".into(), |m| format!("{m:.2}")),
        text(r, "winder"),
        r["coils"].to_string(),
        decimal(&r["mean"], 3),
        figure(&r["learned"]),
        share(&r["weight"]),
        format!("{} to {}", decimal(&r["next"]["min"], 3), decimal(&r["next"]["max"], 3)),
    ]
}

fn coils(n: &Value) -> String {
    if n == 1 { "1 coil".into() } else { format!("{n} coils") }
}

fn share(v: &Value) -> String {
    format!("{:.0} %", 100.0 * v.as_f64().unwrap_or(0.0))
}

fn decimal(v: &Value, places: usize) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.places$}"))
}
