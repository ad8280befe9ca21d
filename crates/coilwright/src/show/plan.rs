//! Plans: what goes where, what is left, and what stands in the way of the rest.

use super::number::figure;
use super::read::{items, text};
use super::table::table;
use serde_json::Value;

/// A plan, what to do first: what is wound from what, what is not and why, what to buy; last how sure it is.
pub fn plan(p: &Value) -> String {
    let mut out = String::new();
    let number = |v: &Value| v.as_f64().unwrap_or(0.0);
    let why = |a: &Value| {
        let same = |r: &&Value| r["job"] == a["job"] && r["spool"] == a["spool"];
        items(p, "reasons").find(same).map_or_else(String::new, |r| text(r, "text"))
    };
    let assign: Vec<Vec<String>> = items(p, "assign")
        .map(|a| vec![text(a, "job"), text(a, "spool"), a["coils"].to_string(), text(a, "wire"), why(a)])
        .collect();
    if assign.is_empty() {
        out.push_str(&format!("{}\n", text(p, "sentence")));
    }
    section("Wind", &["job", "from", "coils", "wire", "why from there"], assign, &[2], &mut out);
    let spools = items(p, "spools").filter(|s| number(&s["used_m"]) > 0.0).map(|s| {
        let word = format!("{}, P {:.4}", text(s, "word"), number(&s["probability"]));
        vec![text(s, "spool"), metres(&s["used_m"]), metres(&s["safe_m"]), word, text(s, "end_text")]
    });
    section("On the spools", &["spool", "draws m", "safe m", "", "then"], spools.collect(), &[1, 2], &mut out);
    if items(p, "refused").next().is_some() {
        out.push_str("Not wound\n");
    }
    for r in items(p, "refused") {
        out.push_str(&format!("  {}\n", text(r, "detail")));
        ways(r, "unlock", &mut out);
    }
    let jobs: Vec<&str> = items(&p["purchase"], "jobs").filter_map(Value::as_str).collect();
    if !jobs.is_empty() {
        out.push_str(&format!("Buy\n  for {}: {}\n", jobs.join(", "), text(&p["purchase"], "text")));
    }
    if let Some(text) = p["proposal"]["text"].as_str() {
        out.push_str(&format!("Better\n  {text}\n"));
    }
    out.push_str(&format!(
        "{} A spool runs short with a probability of {:.2} %; {} % is allowed.\n",
        text(p, "sure"),
        number(&p["risk_pct"]["computed"]),
        p["risk_pct"]["promised"],
    ));
    if let Some(changes) = p["changes"].as_u64() {
        let changes = if changes == 1 { "1 change".to_owned() } else { format!("{changes} changes") };
        out.push_str(&format!("Accepted by entry {}, {changes} since.\n", p["accepted_by"]));
    }
    out.push_str(&format!("Made for {} at entry {}.\n", text(p, "as_of"), p["seq"]));
    out
}

/// Ways out of a refusal, one a line.
fn ways(v: &Value, list: &str, out: &mut String) {
    for u in items(v, list) {
        out.push_str(&format!("      or {}\n", text(u, "text")));
    }
}

/// The ways out of one refusal, cheapest first, and whom each lets in too.
pub fn unlock(u: &Value) -> String {
    let mut out = format!("{}\n", text(u, "sentence"));
    for (n, way) in items(u, "ways").enumerate() {
        out.push_str(&format!("  {}. {}\n", n + 1, text(way, "text")));
        let also: Vec<&str> = items(way, "also_unlocks").filter_map(Value::as_str).collect();
        if !also.is_empty() {
            out.push_str(&format!("     lets in {} too\n", also.join(", ")));
        }
    }
    out.push_str(&format!("Asked for {} at entry {}.\n", text(u, "as_of"), u["seq"]));
    out
}

/// What to order by when, then the wires that need nothing.
pub fn buy(b: &Value) -> String {
    let mut out = format!("{}\n", text(b, "sentence"));
    let (due, idle): (Vec<&Value>, Vec<&Value>) = items(b, "items").partition(|i| i["latest_order_on"].is_string());
    for i in due {
        let what = i["order"]["text"].as_str().unwrap_or("nothing on file");
        out.push_str(&format!("Order by {}: {}\n", text(i, "latest_order_on"), text(i, "wire")));
        out.push_str(&format!("  {what}\n  {}\n", text(i, "why")));
    }
    for i in idle {
        out.push_str(&format!("{}\n  {}\n", text(i, "wire"), text(i, "why")));
    }
    let rows = items(b, "items")
        .map(|i| {
            let metres = ["usable_m", "promised_m", "waiting_m", "reorder_point_m"].map(|name| metres(&i[name]));
            std::iter::once(text(i, "wire")).chain(metres).collect()
        })
        .collect();
    let head = ["wire", "of use m", "promised m", "waiting m", "order at m"];
    section("By wire", &head, rows, &[1, 2, 3, 4], &mut out);
    out.push_str(&format!(
        "Reckoned so that in {} of 100 cases a wire lasts until its order is here. Made for {}.\n",
        b["service_pct"],
        text(b, "as_of")
    ));
    out
}

/// What is left by day.
pub fn outlook(o: &Value) -> String {
    let mut out = format!("{}\n", text(o, "sentence"));
    for item in items(o, "items") {
        out.push_str(&format!("{}\n", text(item, "sentence")));
        let now = vec!["now".into(), figure(&item["left_m"]), metres(&item["usable_m"])];
        let days = items(item, "series").map(|d| vec![text(d, "on"), figure(&d["left_m"]), metres(&d["usable_m"])]);
        let rows = std::iter::once(now).chain(days).collect();
        section(&text(item, "name"), &["evening of", "left m", "of use m"], rows, &[1, 2], &mut out);
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
