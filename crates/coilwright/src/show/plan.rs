//! Plans: what goes where, what is left, and what stands in the way of the rest.

use super::number::figure;
use super::read::{items, text};
use super::table::table;
use serde_json::Value;

/// A plan, its sentence first.
pub fn plan(p: &Value) -> String {
    let mut out = format!("{}\n", text(p, "sentence"));
    let number = |v: &Value| v.as_f64().unwrap_or(0.0);
    out.push_str(&format!(
        "value {} of at most {} ({}), risk {:.3} % of {} % promised, made for {} at entry {}\n",
        p["value"],
        p["bound"],
        text(p, "proof").replace('_', " "),
        number(&p["risk_pct"]["computed"]),
        p["risk_pct"]["promised"],
        text(p, "as_of"),
        p["seq"],
    ));
    if let Some(changes) = p["changes"].as_u64() {
        out.push_str(&format!("accepted by entry {}, {changes} changes since\n", p["accepted_by"]));
    }
    let assign: Vec<Vec<String>> = items(p, "assign")
        .map(|a| vec![text(a, "job"), text(a, "spool"), a["coils"].to_string(), text(a, "wire")])
        .collect();
    section("Wind", &["job", "from", "coils", "wire"], assign, &[2], &mut out);
    let spools = items(p, "spools").filter(|s| number(&s["used_m"]) > 0.0).map(|s| {
        let end = if s["useless_end"] == true { " (too short for a usual coil)" } else { "" };
        let word = format!("{}, P {:.4}", text(s, "word"), number(&s["probability"]));
        vec![
            text(s, "spool"),
            text(s, "wire"),
            metres(&s["used_m"]),
            metres(&s["safe_m"]),
            metres(&s["end_m"]) + end,
            word,
        ]
    });
    section("Spools", &["spool", "wire", "draws m", "safe m", "left then m", ""], spools.collect(), &[2, 3], &mut out);
    for r in items(p, "refused") {
        out.push_str(&format!(
            "not {}: {} ({})\n",
            text(r, "job"),
            text(r, "detail"),
            text(r, "reason").replace('_', " ")
        ));
        for u in items(r, "unlock") {
            out.push_str(&format!("    or: {}\n", text(u, "text")));
        }
    }
    if let Some(cost) = p["purchase"]["cost"]["amount"].as_str() {
        let lines: Vec<String> = items(&p["purchase"], "lines")
            .map(|l| {
                format!("{} × {} ({} m of {})", l["count"], text(l, "offer"), figure(&l["left_m"]), text(l, "wire"))
            })
            .collect();
        let jobs: Vec<&str> = items(&p["purchase"], "jobs").filter_map(Value::as_str).collect();
        out.push_str(&format!(
            "to buy for {}: {}, {cost} {}, here in {} days\n",
            jobs.join(", "),
            lines.join(" and "),
            text(&p["purchase"]["cost"], "currency"),
            p["purchase"]["lead_days"]
        ));
    }
    out
}

/// What is left by day.
pub fn outlook(o: &Value) -> String {
    let mut out = format!("{}\n", text(o, "sentence"));
    for item in items(o, "items") {
        let rows = items(item, "series").map(|d| vec![text(d, "on"), figure(&d["left_m"]), metres(&d["usable_m"])]);
        section(&text(item, "name"), &["on", "left m", "usable m"], rows.collect(), &[1, 2], &mut out);
    }
    let after = items(o, "after_jobs")
        .map(|a| vec![text(a, "spool"), text(a, "job"), a["coils"].to_string(), figure(&a["left_m"])]);
    section("After each job", &["spool", "job", "coils", "left m"], after.collect(), &[2, 3], &mut out);
    out
}

fn section(title: &str, head: &[&str], rows: Vec<Vec<String>>, right: &[usize], out: &mut String) {
    if !rows.is_empty() {
        out.push_str(&format!("{title}\n"));
        table(head, rows, right).lines().for_each(|line| out.push_str(&format!("  {line}\n")));
    }
}

fn metres(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.2}"))
}
