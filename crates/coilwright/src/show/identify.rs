//! What a sample may be, for a person with a burnt coil in hand.

use super::number::figure;
use super::plain::findings;
use super::table::{tab_separated, table};
use super::{How, items, text};
use serde_json::Value;

/// The answer of `wire.identify`.
pub fn identified(d: &Value, how: How) -> String {
    if how == How::Quiet {
        return items(d, "candidates").take(1).map(|c| format!("{}\n", wire(c))).collect();
    }
    let people = how == How::People;
    let off = |c: &Value, name: &str, unit: f64, places: usize| {
        c["if_other"][name].as_f64().map_or_else(String::new, |x| format!("{:+.places$}", unit * x))
    };
    // Table heads are in capitals, where µm cannot be told from mm: people get millimetres.
    let (um, digits) = if people { (1e-3, 4) } else { (1.0, 1) };
    let rows: Vec<Vec<String>> = items(d, "candidates")
        .enumerate()
        .map(|(i, c)| {
            let probability = c["probability"].as_f64().unwrap_or(0.0);
            // For people the first row stays free: what it costs to be wrong stands in the rows of the others.
            let shown =
                |name: &str, unit, places| if people && i == 0 { String::new() } else { off(c, name, unit, places) };
            vec![
                if people { format!("{probability:.3}") } else { probability.to_string() },
                wire(c),
                if people && wire(c) == text(c, "label") { String::new() } else { text(c, "label") },
                shown("dcr_pct", 1.0, 1),
                shown("overall_um", um, digits),
                c["shop_had"].to_string(),
            ]
        })
        .collect();
    if how == How::Pipe {
        return tab_separated(rows);
    }
    let mut out = format!("{}\n{}\n", text(d, "sentence"), findings(d));
    let head = ["probability", "wire", "", "if it is: Ω %", "mm over", "had here"];
    out.push_str(&table(&head, rows, &[0, 3, 4, 5]));
    let left = &d["left_out"];
    if left["candidates"].as_u64().is_some_and(|n| n > 0) {
        out.push_str(&format!(
            "{:.3} for {} more candidates; --limit shows more\n",
            left["probability"].as_f64().unwrap_or(0.0),
            left["candidates"]
        ));
    }
    out.push_str(&format!("{:.3} for none of them\n", d["none_probability"].as_f64().unwrap_or(0.0)));
    let next: Vec<String> = items(d, "next")
        .map(|n| format!("  {:.2} bit  {}\n", n["bits"].as_f64().unwrap_or(0.0), text(n, "text")))
        .collect();
    if !next.is_empty() {
        out.push_str(&format!("\nWhat a further measurement would tell\n{}", next.concat()));
    }
    out
}

/// A wire's id, or its diameters where it was written out.
fn wire(c: &Value) -> String {
    let w = &c["wire"];
    w.as_str().map_or_else(
        || format!("{} {}/{} mm", text(w, "conductor"), figure(&w["bare_mm"]), figure(&w["overall_mm"])),
        str::to_owned,
    )
}
