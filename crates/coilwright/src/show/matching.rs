//! What meets a target, and what nearly does, for a person with a gap in front of him.

use super::number::figure;
use super::plain::findings;
use super::table::table;
use super::{How, items, text};
use serde_json::Value;

/// The answer of `coil.match`.
pub fn matched(d: &Value, how: How) -> String {
    if how == How::Quiet {
        return items(d, "feasible").map(|c| format!("{}\n", wire(c))).collect();
    }
    let rows = items(d, "feasible")
        .map(|c| {
            vec![
                c["spool"].as_str().unwrap_or("to buy").to_owned(),
                text(c, "label"),
                text_or_inline(&c["material"]),
                turns(c),
                mm(&c["width_mm"]),
                figure(&c["dcr_ohm"]),
                signed(&c["off_pct"], 1),
                figure(&c["clearance_outer_mm"]),
                figure(&c["need_m"]),
                signed(&c["sound"]["db_1w"]["value"], 2),
                signed(&c["sound"]["qts_pct"]["value"], 1),
            ]
        })
        .collect::<Vec<_>>();
    if how == How::Pipe {
        return super::table::tab_separated(rows);
    }
    let mut out = findings(d);
    if !rows.is_empty() {
        let head = ["spool", "wire", "former", "turns", "mm", "Ω", "off %", "free mm", "need m", "dB", "Qts %"];
        out.push_str(&table(&head, rows, &[4, 5, 6, 7, 8, 9, 10]));
    }
    let near: Vec<String> =
        items(d, "near").map(|m| format!("  {} × {}: {}\n", m["layers"], text(m, "label"), text(m, "text"))).collect();
    if !near.is_empty() {
        out.push_str(&format!("\nNearly\n{}", near.concat()));
    }
    let s = &d["searched"];
    out.push_str(&format!(
        "\n{} of {} coils meet the target ({} wires, {} spools; {} combinations too fat whatever their width)\n",
        s["feasible"], s["candidates"], s["wires"], s["spools"], s["too_fat"]
    ));
    out
}

/// The answer of `coil.fit`.
pub fn fitted(d: &Value) -> String {
    let mut out = findings(d);
    let thickest: Vec<Vec<String>> = items(d, "thickest")
        .map(|t| {
            vec![
                t["layers"].to_string(),
                mm(&t["overall_mm"]),
                text(t, "label"),
                mm(&t["spare_mm"]),
                text(t, "surely_label"),
            ]
        })
        .collect();
    if !thickest.is_empty() {
        out.push_str(&table(
            &["layers", "overall mm", "thickest wire", "to spare mm", "sure even at its thickest"],
            thickest,
            &[0, 1, 3],
        ));
    }
    let widths: Vec<Vec<String>> = items(d, "widths")
        .map(|w| {
            let within = if w["within"] == true { "" } else { "outside the tolerance" };
            vec![
                turns(w),
                mm(&w["width_mm"]),
                mm(&w["width_most_mm"]),
                figure(&w["dcr_ohm"]),
                signed(&w["off_pct"], 2),
                figure(&w["clearance_outer_mm"]),
                within.into(),
            ]
        })
        .collect();
    if !widths.is_empty() {
        if out.contains('\n') {
            out.push('\n');
        }
        out.push_str(&table(&["turns", "mm from", "to below", "Ω", "off %", "free mm", ""], widths, &[1, 2, 3, 4, 5]));
    }
    out
}

fn wire(c: &Value) -> String {
    c["wire"].as_str().map_or_else(|| c["wire"].to_string(), str::to_owned)
}

fn text_or_inline(v: &Value) -> String {
    v.as_str().unwrap_or("as described").to_owned()
}

fn turns(c: &Value) -> String {
    let each: Vec<String> = items(c, "turns_per_layer").map(Value::to_string).collect();
    each.join(" + ")
}

fn mm(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.3}"))
}

fn signed(v: &Value, decimals: usize) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:+.decimals$}"))
}
