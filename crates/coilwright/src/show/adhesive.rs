//! Adhesives as a table, and a mix for a person with a cup and a scale.

use super::How;
use super::number::figure;
use super::plain::{findings, ids};
use super::table::{tab_separated, table};
use super::{items, text};
use serde_json::Value;

/// Adhesives, one a row.
pub fn list(answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return ids("adhesive.list", answer);
    }
    let rows: Vec<Vec<String>> = items(answer, "items")
        .map(|a| {
            let cures: Vec<String> = items(a, "cures").map(cure).collect();
            vec![
                text(a, "adhesive"),
                text(a, "label"),
                a["hardener_per_100_resin"].as_f64().map_or_else(|| "one part".into(), |h| format!("100 : {h}")),
                figure(&a["pot_life_min"]),
                figure(&a["pot_life_at_c"]),
                figure(&a["heat_limit_c"]),
                cures.join(", "),
            ]
        })
        .collect();
    if how == How::Pipe {
        return tab_separated(rows);
    }
    let head = ["adhesive", "", "by mass", "workable min", "at °C", "bears °C", "cures"];
    table(&head, rows, &[3, 4, 5])
}

/// The answer of `adhesive.mix`.
pub fn mix(d: &Value) -> String {
    let mut out = format!("{}\n", text(d, "sentence"));
    out.push_str(&findings(d));
    let number = |v: &Value, unit: &str| v.as_f64().map(|x| format!("{x:.2} {unit}"));
    let parts = &d["goes_to"];
    let rows = [
        ("resin, or the one part", number(&d["resin_g"], "g")),
        ("hardener", number(&d["hardener_g"], "g")),
        ("together", number(&d["mix_g"], "g")),
        ("what the coils and the cup take", number(&d["needed_g"], "g")),
        ("least that this scale can mix", number(&d["least_mix_g"], "g")),
        ("ratio, u by the scale's steps", number(&d["ratio_u_pct"], "%")),
        ("cured in one coil", Some(format!("{} g", figure(&d["cured_g"])))),
        ("  between the turns", parts.is_object().then(|| format!("{} g", figure(&parts["void_g"])))),
        ("  film under the first layer", parts.is_object().then(|| format!("{} g", figure(&parts["film_g"])))),
        ("  skin over the winding", parts.is_object().then(|| format!("{} g", figure(&parts["skin_g"])))),
        ("workable", d["pot_life_min"].as_f64().map(|m| format!("{m:.0} min at {} °C", figure(&d["temperature_c"])))),
        ("winding takes", d["winding_min"].as_f64().map(|m| format!("{m:.0} min"))),
    ];
    out.push('\n');
    for (label, value) in rows {
        if let Some(value) = value {
            out.push_str(&format!("  {label:<34}{value}\n"));
        }
    }
    for (i, c) in items(d, "cures").enumerate() {
        out.push_str(&format!("  {:<34}{}\n", if i == 0 { "cure, the work itself at" } else { "or" }, cure(c)));
    }
    out.push('\n');
    for caution in items(d, "cautions").filter_map(Value::as_str) {
        out.push_str(&format!("CAUTION {caution}\n"));
    }
    out
}

/// `60 °C 2 h, softens at 75 °C`.
fn cure(c: &Value) -> String {
    let minutes = c["time_min"].as_f64().unwrap_or(0.0);
    let time =
        if minutes < 120.0 { format!("{minutes:.0} min") } else { format!("{} h", (minutes / 6.0).round() / 10.0) };
    let glass = c["glass_c"].as_f64().map(|g| format!(" (softens at {g:.0} °C)")).unwrap_or_default();
    format!("{} °C {time}{glass}", figure(&c["at_c"]))
}
