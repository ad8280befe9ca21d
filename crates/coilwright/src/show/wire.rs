//! Wires and former materials as tables.

use super::How;
use super::number::figure;
use super::plain::ids;
use super::read::{items, text};
use super::table::{tab_separated, table};
use serde_json::Value;

/// Wires, one a row.
pub fn list(answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return ids("wire.list", answer);
    }
    let rows: Vec<Vec<String>> = items(answer, "items")
        .map(|w| {
            let number = |name: &str| if how == How::Pipe { w[name]["value"].to_string() } else { figure(&w[name]) };
            vec![
                text(w, "wire"),
                text(w, "label"),
                number("bare_mm"),
                number("overall_mm"),
                number("ohm_per_m"),
                number("g_per_m"),
                text(w, "standing"),
            ]
        })
        .collect();
    if how == How::Pipe {
        return tab_separated(rows);
    }
    let mut out = table(&["wire", "", "bare mm", "overall mm", "Ω/m at 20 °C", "g/m", ""], rows, &[2, 3, 4, 5]);
    if let Some(cursor) = answer["next_cursor"].as_str() {
        out.push_str(&format!("more: add --cursor {cursor}\n"));
    }
    out
}

/// Former materials, one a row.
pub fn formers(answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return ids("former.list", answer);
    }
    let rows: Vec<Vec<String>> = items(answer, "items")
        .map(|f| {
            let number = |v: &Value| {
                if how == How::Pipe {
                    v["value"].as_f64().or(v.as_f64()).map_or(String::new(), |x| x.to_string())
                } else {
                    figure(v)
                }
            };
            let walls: Vec<String> = f["thicknesses_mm"].as_array().into_iter().flatten().map(figure).collect();
            vec![
                text(f, "former"),
                text(f, "label"),
                number(&f["density_g_per_cm3"]),
                number(&f["heat_limit_c"]),
                number(&f["slit_mm"]),
                walls.join(" "),
            ]
        })
        .collect();
    if how == How::Pipe {
        tab_separated(rows)
    } else {
        table(&["former", "", "g/cm³", "bears °C", "slit mm", "usual walls mm"], rows, &[2, 3, 4])
    }
}
