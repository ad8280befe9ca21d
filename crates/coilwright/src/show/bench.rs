//! A coil on the bench for a person with a meter in his hand: the sentence first, what to look out for, then the figures.

use super::number::figure;
use super::plain::findings;
use super::table::table;
use super::{items, text};
use serde_json::Value;

/// The answer of `coil.reading`.
pub fn reading(d: &Value) -> String {
    let accept = &d["accept_ohm"];
    let band = if accept.is_object() {
        format!("{} to {} Ω", ohm(&accept["min"]), ohm(&accept["max"]))
    } else {
        "no reading".into()
    };
    head(d)
        + lines(&[
            ("should show", format!("{} Ω", figure(&d["expect_ohm"]))),
            ("accept", band),
            ("u of one reading", format!("{} Ω", ohm(&d["reading_u_ohm"]))),
            ("wrong verdicts", format!("{} of 100 coils", tenths(&d["wrong_verdict_pct"]))),
            ("  taken though bad", tenths(&d["bad_taken_pct"])),
            ("  refused though good", tenths(&d["good_refused_pct"])),
            ("wanted at 20 °C", format!("{} Ω ± {} %", figure(&d["target_ohm"]), figure(&d["tolerance_pct"]))),
            ("meter", text(d, "meter")),
        ])
        .as_str()
}

/// The answer of `coil.trim`.
pub fn trim(d: &Value) -> String {
    let unwind = &d["unwind_turns"];
    let rows = items(d, "steps")
        .map(|s| {
            vec![
                if s["turns"] == *unwind { ">".into() } else { String::new() },
                figure(&s["turns"]),
                ohm(&s["dcr_ohm"]["value"]),
                ohm(&s["reading_ohm"]["value"]),
                if s["exit"] == "same" { "same side".into() } else { "across".into() },
                if s["within"] == true { "yes".into() } else { "no".into() },
                format!("{} of layer {}", figure(&s["left_on_layer"]), s["layer"]),
                format!("{:.2}", s["width_lost_mm"].as_f64().unwrap_or(0.0)),
            ]
        })
        .collect();
    let columns = ["", "unwind", "Ω at 20 °C", "meter, Ω", "lead", "within", "turns left", "mm less"];
    head(d)
        + lines(&[
            ("now at 20 °C", format!("{} Ω", figure(&d["dcr_ohm"]))),
            ("measured over planned", figure(&d["ratio"])),
            ("one outer turn", format!("{} Ω", figure(&d["turn_ohm"]))),
            ("u of the meter", format!("{} Ω, {} turns", ohm(&d["meter_u_ohm"]), tenths(&d["meter_u_turns"]))),
            ("stop above", format!("{} Ω on the meter", ohm(&d["stop_ohm"]))),
            ("meter", text(d, "meter")),
        ])
        .as_str()
        + "\n"
        + table(&columns, rows, &[1, 2, 3, 7]).as_str()
}

/// The answer of `coil.heat`.
pub fn heat(d: &Value) -> String {
    let mut out = head(d);
    if !d["temperature_c"].is_null() {
        out += &lines(&[
            ("winding, in the mean", format!("{} °C", figure(&d["temperature_c"]))),
            ("level lost", format!("{} dB", figure(&d["db_lost"]))),
        ]);
    }
    let rows: Vec<Vec<String>> = items(d, "margins")
        .map(|m| {
            vec![
                figure(&m["limit_c"]),
                figure(&m["stop_ohm"]),
                figure(&m["left_c"]),
                if m["exceeded_pct"].is_null() { "–".into() } else { tenths(&m["exceeded_pct"]) },
            ]
        })
        .collect();
    if !rows.is_empty() {
        out += "\n";
        out += &table(&["limit °C", "stop at Ω", "left K", "exceeded %"], rows, &[0, 1, 2, 3]);
    }
    out
}

fn head(d: &Value) -> String {
    format!("{}\n{}\n", text(d, "sentence"), findings(d))
}

fn lines(all: &[(&str, String)]) -> String {
    all.iter().map(|(name, value)| format!("  {name:<24}{value}\n")).collect()
}

fn ohm(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.3}"))
}

fn tenths(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.1}"))
}
