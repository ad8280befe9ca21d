//! Spools: the shelf as a table, one spool with the reasoning behind its length.

use super::How;
use super::number::figure;
use super::plain::ids;
use super::read::{items, text};
use super::table::{tab_separated, table};
use serde_json::Value;

/// Spools, one a row.
pub fn list(answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return ids("spool.list", answer);
    }
    let rows: Vec<Vec<String>> =
        items(answer, "items").map(|s| if how == How::Pipe { raw(s) } else { row(s) }).collect();
    if how == How::Pipe {
        return tab_separated(rows);
    }
    if rows.is_empty() {
        return "no spools yet: `coilwright spool receive WIRE --gross-g … --tare-g …` takes one in\n".into();
    }
    let mut out = table(
        &["spool", "wire", "left m", "promised m", "free m", "shortest usual coil", "place", "label"],
        rows,
        &[2, 3, 4],
    );
    if let Some(cursor) = answer["next_cursor"].as_str() {
        out.push_str(&format!("more: add --cursor {cursor}\n"));
    }
    out
}

fn row(s: &Value) -> Vec<String> {
    let retired = if s["retired"] == true { " (retired)" } else { "" };
    vec![
        text(s, "spool") + retired,
        text(s, "wire_label"),
        figure(&s["left_m"]),
        metres(&s["held_m"]),
        metres(&s["free_m"]),
        usual(&s["usual"]),
        text(s, "place"),
        text(s, "label"),
    ]
}

/// Names of the columns: spool, wire, left, its u, promised, free, word, probability, place, label.
fn raw(s: &Value) -> Vec<String> {
    let number = |v: &Value| v.as_f64().map_or_else(String::new, |x| x.to_string());
    vec![
        text(s, "spool"),
        text(s, "wire"),
        number(&s["left_m"]["value"]),
        number(&s["left_m"]["u"]),
        number(&s["held_m"]),
        number(&s["free_m"]),
        text(&s["usual"], "word"),
        number(&s["usual"]["probability"]),
        text(s, "place"),
        text(s, "label"),
    ]
}

fn usual(u: &Value) -> String {
    match (u["word"].as_str(), u["probability"].as_f64()) {
        (Some(word), Some(p)) => format!("{word}, P {p:.3} for {} m", metres(&u["need_m"])),
        _ => "–".into(),
    }
}

/// One spool in full.
pub fn show(s: &Value) -> String {
    let mut out = format!("{} · {} · {}\n", text(s, "spool"), text(s, "wire_label"), text(s, "label"));
    if s["length_known"] == false {
        out.push_str("nothing tells its length: weigh it or measure its resistance\n");
    }
    let e = &s["estimate"];
    out.push_str(&format!("  left      {} m\n", figure(&s["left_m"])));
    let near = &s["near_empty"];
    if near.is_object() {
        out.push_str(&format!(
            "            near empty, and less than nothing cannot be: {} m, below {} m with 95 %\n",
            figure(&near["left_m"]),
            metres(&near["at_most_m"])
        ));
    }
    out.push_str(&format!(
        "  promised  {} m, free {} m with the shop's confidence\n",
        metres(&s["held_m"]),
        metres(&s["free_m"])
    ));
    out.push_str(&format!(
        "  wire      {} g/m, {} Ω/m at 20 °C · reel {} g\n",
        figure(&e["g_per_m"]),
        figure(&e["ohm_per_m"]),
        figure(&e["tare_g"])
    ));
    if let Some(n) = e["lot_spools"].as_u64() {
        let spools = if n == 1 { "1 other spool".to_owned() } else { format!("{n} other spools") };
        out.push_str(&format!("            g/m and Ω/m also by {spools} of lot {}\n", text(s, "lot")));
    }
    out.push_str(&format!("  next      {}\n", text(&s["next_best"], "text")));
    let readings = items(s, "readings").map(|r| {
        let number = |name: &str| r[name].as_f64().unwrap_or(0.0);
        vec![
            r["seq"].to_string(),
            text(r, "kind"),
            format!("{:.0} %", 100.0 * number("weight")),
            format!("{:+.3} {}", number("residual"), text(r, "unit")),
            format!("{:+.1} u", number("residual_in_u")),
            lost(r),
        ]
    });
    section(
        "Readings, their share in the length and what they are off by",
        table(
            &["entry", "kind", "share", "off by", "", "a try unwritten before it"],
            readings.collect(),
            &[0, 2, 3, 4, 5],
        ),
        items(s, "readings").next().is_some(),
        &mut out,
    );
    let holds =
        items(s, "holds").map(|h| vec![text(h, "hold"), metres(&h["hold_m"]), text(h, "job"), text(h, "reason")]);
    section(
        "Promised",
        table(&["hold", "m", "job", "for"], holds.collect(), &[1]),
        items(s, "holds").next().is_some(),
        &mut out,
    );
    history(s, &mut out);
    out
}

/// What happened, in order.
pub fn history(thing: &Value, out: &mut String) {
    let rows = items(thing, "history").map(|h| {
        let undone = if h["counts"] == false { "undone: " } else { "" };
        vec![h["seq"].to_string(), text(h, "at"), format!("{undone}{}", text(h, "text"))]
    });
    section("History", table(&["entry", "at", ""], rows.collect(), &[0]), true, out);
}

fn section(title: &str, body: String, there: bool, out: &mut String) {
    if there {
        out.push_str(&format!("{title}\n"));
        body.lines().for_each(|line| out.push_str(&format!("  {line}\n")));
    }
}

fn metres(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| if x == 0.0 { "0".into() } else { format!("{x:.2}") })
}

/// How likely wire went unwritten before a reading; nothing where that would be no news.
fn lost(reading: &Value) -> String {
    reading["unwritten_pct"].as_f64().filter(|pct| *pct >= 5.0).map_or_else(String::new, |pct| format!("{pct:.0} %"))
}
