//! What can be made of a spool, what a batch takes, and what somebody should look at.

use super::How;
use super::number::figure;
use super::plain::{findings, ids};
use super::read::{items, text};
use super::table::{tab_separated, table};
use serde_json::Value;

/// A spool and the coils in it.
pub fn yields(answer: &Value) -> String {
    let rows = items(answer, "items").map(|i| {
        let what = i["job"].as_str().map_or_else(|| text(i, "title"), |job| format!("{job} · {}", text(i, "title")));
        let due = i["due_on"].as_str().unwrap_or("–").to_owned();
        vec![
            what,
            metres(&i["need_m"]),
            count(&i["coils_safe"]),
            count(&i["coils_expected"]),
            format!("{}, P {}", text(i, "word"), probability(&i["probability"])),
            i["wanted"]
                .as_u64()
                .map_or_else(|| "–".into(), |n| format!("{n}, all P {}", probability(&i["probability_all"]))),
            due,
        ]
    });
    let rows: Vec<_> = rows.collect();
    let mut out = format!("{}\n", text(answer, "sentence"));
    if !rows.is_empty() {
        let head = ["coil", "needs m", "sure", "likely", "one of them", "wanted", "due"];
        out.push_str(&table(&head, rows, &[1, 2, 3]));
    }
    for i in items(answer, "items").filter(|i| i["stopped_by"].is_string()) {
        out.push_str(&format!("{} would be stopped at the gate: {}\n", text(i, "job"), text(i, "stopped_by")));
    }
    out
}

/// What a batch takes: the sentence, the spools, how likely so many starts are enough, what to buy.
pub fn batch(answer: &Value) -> String {
    let mut out = format!("{}\n{}", text(answer, "sentence"), findings(answer));
    out.push_str(&format!(
        "one coil: {} m of wire, {} g of adhesive\n",
        figure(&answer["each_m"]),
        figure(&answer["adhesive_g"])
    ));
    let spools = items(answer, "spools").map(|s| {
        vec![
            text(s, "spool"),
            figure(&s["left_m"]),
            count(&s["starts_safe"]),
            count(&s["starts_expected"]),
            metres(&s["end_m"]),
        ]
    });
    let spools: Vec<_> = spools.collect();
    if spools.is_empty() {
        out.push_str("no spool of this wire is in stock\n");
    } else {
        out.push_str(&table(&["spool", "free m", "sure starts", "likely", "end m"], spools, &[1, 2, 3, 4]));
        out.push_str(&format!(
            "P({} starts or more) {}, P({} good from these spools) {}; {} m would be left as ends\n",
            answer["good"],
            probability(&answer["p_starts"]),
            answer["good"],
            probability(&answer["p_good"]),
            metres(&answer["ends_m"])
        ));
    }
    let starts = items(answer, "by_starts").map(|s| vec![count(&s["starts"]), probability(&s["p_good"])]);
    out.push_str(&table(&["starts", "P(enough good)"], starts.collect(), &[0, 1]));
    if answer["buy"].is_object() {
        let offers = items(&answer["buy"], "offers").map(|o| {
            vec![
                text(o, "offer"),
                text(o, "supplier"),
                count(&o["spools"]),
                count(&o["starts"]),
                format!("{} {}", text(&o["price"], "amount"), text(&o["price"], "currency")),
                format!("{} days", o["lead_days"]),
            ]
        });
        let offers: Vec<_> = offers.collect();
        if offers.is_empty() {
            out.push_str("no supplier in the catalog offers this wire\n");
        } else {
            out.push_str(&table(&["offer", "supplier", "spools", "starts", "price", "there in"], offers, &[2, 3, 4]));
        }
    }
    out
}

/// Alerts, one a line, with what to do.
pub fn alerts(answer: &Value, how: How) -> String {
    match how {
        How::Quiet => ids("alert.list", answer),
        How::Pipe => tab_separated(
            items(answer, "items")
                .map(|a| vec![text(a, "alert"), text(a, "kind"), a["seen"].to_string(), text(a, "text")])
                .collect(),
        ),
        _ => {
            let mut out = String::new();
            for a in items(answer, "items") {
                let seen = if a["seen"] == true { " (seen)" } else { "" };
                out.push_str(&format!(
                    "{}{seen}\n  {}\n  do: {}\n",
                    text(a, "alert"),
                    text(a, "text"),
                    text(a, "next_step")
                ));
            }
            let shown = items(answer, "items").count() as u64;
            match answer["all"].as_u64() {
                Some(0) => out.push_str("nothing needs a look\n"),
                Some(all) if all > shown => out.push_str(&format!("{shown} of {all} shown: add --limit {all}\n")),
                _ => {}
            }
            out
        }
    }
}

fn count(v: &Value) -> String {
    v.as_u64().map_or_else(|| "–".into(), |n| n.to_string())
}

fn metres(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |x| format!("{x:.2}"))
}

fn probability(v: &Value) -> String {
    v.as_f64().map_or_else(|| "–".into(), |p| format!("{p:.3}"))
}
