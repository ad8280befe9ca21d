//! Two coils side by side, and a coil on the bridge, for a person who listens or measures.

use super::number::figure;
use super::plain::findings;
use super::table::table;
use super::{items, text};
use serde_json::Value;

/// Names of the figures of a driver, with their units, in the order in which they are read.
const FIGURES: [(&str, &str); 9] = [
    ("re_ohm", "Re, Ω"),
    ("bl_tm", "Bl, T·m"),
    ("mms_g", "Mms, g"),
    ("fs_hz", "fs, Hz"),
    ("qes", "Qes"),
    ("qms", "Qms"),
    ("qts", "Qts"),
    ("db_1w", "1 W, dB"),
    ("db_2v83", "2.83 V, dB"),
];

/// The answer of `coil.sound`.
pub fn sound(d: &Value) -> String {
    let mut out = format!("{}\n", text(d, "sentence"));
    out.push_str(&findings(d));
    out.push('\n');
    let rows = FIGURES
        .into_iter()
        .filter(|(name, _)| !d["substitute"][name].is_null() || !d["change"][name].is_null())
        .map(|(name, label)| {
            vec![
                label.to_owned(),
                figure(&d["original"][name]),
                figure(&d["substitute"][name]),
                figure(&d["change"][name]),
            ]
        })
        .chain(
            [("bl_pct", "Bl, %"), ("qts_pct", "Qts, %"), ("coil_g", "coil, g")]
                .into_iter()
                .filter(|(name, _)| !d["change"][name].is_null())
                .map(|(name, label)| vec![label.to_owned(), String::new(), String::new(), figure(&d["change"][name])]),
        )
        .collect();
    out + table(&["", "original", "substitute", "change"], rows, &[1, 2, 3]).as_str()
}

/// The answer of `coil.pair`.
pub fn pair(d: &Value) -> String {
    let mut out = format!("{}\n", text(d, "sentence"));
    out.push_str(&findings(d));
    out.push('\n');
    let both = [
        ("turns", "turns"),
        ("dcr_ohm", "Ω at 20 °C"),
        ("length_m", "wire, m"),
        ("coil_g", "coil, g"),
        ("outside_crossover_mm", "outside, mm"),
    ];
    let mut rows: Vec<Vec<String>> = both
        .into_iter()
        .map(|(name, label)| {
            vec![
                label.to_owned(),
                figure(&d["first"][name]),
                figure(&d["second"][name]),
                figure(&d["difference"][name]),
            ]
        })
        .collect();
    let only = [
        ("dcr_pct", "Ω, %"),
        ("reading_pct", "read, %"),
        ("bl_pct", "Bl, %"),
        ("db_1w", "1 W, dB"),
        ("fs_hz", "fs, Hz"),
        ("qts_pct", "Qts, %"),
    ];
    rows.extend(
        only.into_iter()
            .filter(|(name, _)| !d["difference"][name].is_null())
            .map(|(name, label)| vec![label.to_owned(), String::new(), String::new(), figure(&d["difference"][name])]),
    );
    out + table(&["", "first", "second", "difference"], rows, &[1, 2, 3]).as_str()
}

/// The answer of `coil.inductance`.
pub fn inductance(d: &Value) -> String {
    let mut out = format!("{}\n", text(d, "sentence"));
    out.push_str(&findings(d));
    out.push_str(&format!(
        "\n  {:<34}{} µH\n  {:<34}{:.1} µH, {:+.2} %: an estimate\n",
        "in air, exact",
        figure(&d["exact_uh"]),
        "Wheeler's formula",
        d["wheeler_estimate_uh"].as_f64().unwrap_or(0.0),
        d["wheeler_over_pct"].as_f64().unwrap_or(0.0)
    ));
    for (name, label) in [("former", "former, closed"), ("shorted", "shorted turns")] {
        let r = &d[name];
        if r.is_object() {
            out.push_str(&format!(
                "  {label:<34}{:.3} mΩ, {:.4} µH, k {:.3}, corner {:.2} kHz\n",
                1e3 * r["ring_ohm"].as_f64().unwrap_or(0.0),
                r["ring_uh"].as_f64().unwrap_or(0.0),
                r["coupling"].as_f64().unwrap_or(0.0),
                1e-3 * r["corner_hz"].as_f64().unwrap_or(0.0)
            ));
        }
    }
    if d["damping"].is_object() {
        let r = &d["damping"];
        let in_field = if r["closed_n_s_per_m"].is_null() {
            format!("closed {}, slit {} N·s/m per T²", figure(&r["closed_per_t2"]), figure(&r["slit_per_t2"]))
        } else {
            format!(
                "closed {}, slit {} N·s/m in {} T",
                figure(&r["closed_n_s_per_m"]),
                figure(&r["slit_n_s_per_m"]),
                figure(&r["field_t"])
            )
        };
        out.push_str(&format!("  {:<34}{in_field}\n", "damping by the former"));
    }
    let number = |v: &Value| v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.2}"));
    let rows = items(d, "at")
        .map(|a| {
            vec![
                format!("{:.0}", a["frequency_hz"].as_f64().unwrap_or(0.0)),
                number(&a["closed_uh"]),
                number(&a["closed_added_ohm"]),
                number(&a["shorted_uh"]),
                number(&a["shorted_added_ohm"]),
            ]
        })
        .collect();
    out.push_str("\nInductance in µH and resistance added in Ω, with the former closed and with turns shorted\n");
    out + table(&["Hz", "closed", "adds", "shorted", "adds"], rows, &[0, 1, 2, 3, 4]).as_str()
}
