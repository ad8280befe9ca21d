//! Formers side by side under one coil: one table, then one sentence each.

use super::number::figure;
use super::plain::findings;
use super::table::table;
use super::{items, text};
use serde_json::Value;

/// The answer of `former.compare`.
pub fn compared(d: &Value) -> String {
    let all: Vec<&Value> = items(d, "items").collect();
    let mut head = vec![""];
    let names: Vec<String> = all.iter().map(|f| text(f, "label")).collect();
    head.extend(names.iter().map(String::as_str));
    let fixed = |v: &Value, decimals: usize| v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.decimals$}"));
    let money = |f: &Value| match f["price"]["amount"].as_str() {
        Some(amount) => format!("{amount} {}", text(&f["price"], "currency")),
        None => "–".into(),
    };
    let damping = if all.iter().any(|f| !f["closed_n_s_per_m"].is_null()) { "n_s_per_m" } else { "per_t2" };
    let unit = if damping == "per_t2" { "N·s/m per T²" } else { "N·s/m" };
    let at = |f: &Value, which: &str| figure(&f[format!("{which}_{damping}")]);
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row = |label: String, cell: &dyn Fn(&Value) -> String| {
        let cells: Vec<String> = all.iter().map(|f| cell(f)).collect();
        if cells.iter().any(|c| c != "–") {
            rows.push([vec![label], cells].concat());
        }
    };
    row("wall, mm".into(), &|f| figure(&f["wall_mm"]));
    row("former, g".into(), &|f| figure(&f["former_g"]));
    row("whole coil, g".into(), &|f| figure(&f["coil_g"]));
    row("blank around, mm".into(), &|f| fixed(&f["blank"]["length_mm"], 2));
    row("blank along, mm".into(), &|f| fixed(&f["blank"]["width_mm"], 2));
    row("slit, mm".into(), &|f| figure(&f["slit_mm"]));
    row("Ω at 20 °C".into(), &|f| figure(&f["dcr_ohm"]));
    row("room outside, mm".into(), &|f| figure(&f["clearance_outer_mm"]));
    row("it costs of that, mm".into(), &|f| fixed(&f["clearance_cost_mm"], 3));
    row("bears, °C".into(), &|f| figure(&f["heat_limit_c"]));
    row(format!("damping closed, {unit}"), &|f| at(f, "closed"));
    row(format!("damping slit, {unit}"), &|f| at(f, "slit"));
    row("grows hot, mm".into(), &|f| fixed(&f["growth_hot_mm"], 3));
    row("the winding grows, mm".into(), &|f| fixed(&f["winding_growth_hot_mm"], 3));
    row("sheet of one blank".into(), &money);
    let right: Vec<usize> = (1..head.len()).collect();
    let mut out = table(&head, rows, &right);
    for f in &all {
        out.push_str(&format!("\n{}\n{}", text(f, "sentence"), findings(f)));
    }
    out
}

/// The answer of `former.mandrel`.
pub fn mandrel(d: &Value) -> String {
    let mut out = format!("{}\n{}", text(d, "sentence"), findings(d));
    for c in items(d, "choices") {
        let fits = if c["fits"] == true { "fits  " } else { "      " };
        out.push_str(&format!("{fits}{}\n", text(c, "sentence")));
    }
    for t in items(d, "to_turn") {
        out.push_str(&format!("turn  {} mm for the shim of {} mm\n", figure(&t["mandrel_mm"]), figure(&t["shim_mm"])));
    }
    if d["oven"].is_object() {
        out.push_str(&format!("oven  {}\n", text(&d["oven"], "sentence")));
    }
    for caution in d["cautions"].as_array().into_iter().flatten() {
        out.push_str(&format!("CAUTION {}\n", caution.as_str().unwrap_or_default()));
    }
    out
}
