//! Jobs: the list, one job, and what the gate says.

use super::How;
use super::number::figure;
use super::plain::ids;
use super::read::{items, text};
use super::spool::history;
use super::table::{tab_separated, table};
use serde_json::Value;

/// Jobs, one a row.
pub fn list(answer: &Value, how: How) -> String {
    if how == How::Quiet {
        return ids("job.list", answer);
    }
    let rows: Vec<Vec<String>> = items(answer, "items")
        .map(|j| {
            let done = format!("{} of {}", j["good"], j["coils"]);
            let need = if how == How::Pipe { j["need_m"]["value"].to_string() } else { figure(&j["need_m"]) };
            vec![
                text(j, "job"),
                text(j, "title"),
                text(j, "status").replace('_', " "),
                done,
                text(j, "wire"),
                need,
                text(j, "due_on"),
                j["priority"].to_string(),
            ]
        })
        .collect();
    if how == How::Pipe {
        return tab_separated(rows);
    }
    if rows.is_empty() {
        return "no jobs: `coilwright job open --title … --coil.wire …` takes one\n".into();
    }
    let mut out = table(&["job", "title", "status", "good", "wire", "m a coil", "due", "priority"], rows, &[5, 7]);
    if let Some(cursor) = answer["next_cursor"].as_str() {
        out.push_str(&format!("more: add --cursor {cursor}\n"));
    }
    out
}

/// One job in full.
pub fn show(j: &Value) -> String {
    let due = j["due_on"].as_str().map_or_else(String::new, |d| format!(", due {d}"));
    let mut out = format!(
        "{} · {} · {}{due}, priority {}\n",
        text(j, "job"),
        text(j, "title"),
        text(j, "status").replace('_', " "),
        j["priority"]
    );
    let off = items(j, "works").filter(|w| w["off_target"].is_string()).count();
    let off = if off == 0 { String::new() } else { format!(" as wound, {off} of them not within tolerance") };
    out.push_str(&format!("  coils     {} of {} good{off}, {} scrapped\n", j["good"], j["coils"], j["scrapped"]));
    out.push_str(&format!(
        "  a coil    {} m of {}, {} Ω at 20 °C\n",
        figure(&j["need_m"]),
        text(j, "wire"),
        figure(&j["dcr_ohm"])
    ));
    let before: Vec<String> = j["before"]
        .as_object()
        .into_iter()
        .flatten()
        .map(|(name, v)| {
            format!(
                "{} {}",
                name.replace('_', " "),
                v.as_str().map_or_else(|| v.to_string(), str::to_owned).replace('_', " ")
            )
        })
        .collect();
    out.push_str(&format!(
        "  before    {}\n",
        if before.is_empty() { "nothing noted before teardown".into() } else { before.join(", ") }
    ));
    let motor: Vec<String> = items(j, "motor")
        .map(|m| {
            let name = text(m, "name").trim_end_matches("_mm").replace('_', " ");
            format!("{name} {} mm ({} ×)", figure(&m["mm"]), m["times"])
        })
        .collect();
    if !motor.is_empty() {
        out.push_str(&format!("  motor     {}\n", motor.join(", ")));
    }
    items(j, "works").for_each(|w| out.push_str(&work(w)));
    let missing: Vec<&str> = items(j, "missing").filter_map(Value::as_str).collect();
    if !missing.is_empty() {
        out.push_str(&format!("  missing   {}\n", missing.join("; ")));
    }
    if let Some(ended) = j["ended"].as_str() {
        out.push_str(&format!("  ended     {ended}\n"));
    }
    history(j, &mut out);
    out
}

/// One coil: what it measures, its steps, and what was noted of it.
fn work(w: &Value) -> String {
    let indent = " ".repeat(12);
    let steps: Vec<String> = items(w, "steps")
        .map(|s| format!("[{}] {}", if s["done"] == true { "x" } else { " " }, text(s, "step").replace('_', " ")))
        .collect();
    let state = if w["off_target"].is_string() { "wound".to_owned() } else { text(w, "state") };
    let dcr = match (w["last_dcr_ohm"].is_null(), w["last_dcr_ohm"] == w["dcr_ohm"]) {
        (true, _) => String::new(),
        (false, true) => format!(", {} Ω at 20 °C", figure(&w["dcr_ohm"])),
        (false, false) => {
            let wound =
                if w["dcr_ohm"].is_null() { String::new() } else { format!(" ({} as wound)", figure(&w["dcr_ohm"])) };
            format!(", {} Ω at 20 °C{wound}", figure(&w["last_dcr_ohm"]))
        }
    };
    let ratio =
        w["ratio"].as_f64().map_or_else(String::new, |r| format!(", {:+.1} % of plan as wound", 100.0 * (r - 1.0)));
    let (no, spool) = (&w["coil_no"], text(w, "spool"));
    let mut out = format!("  coil {no}    from {spool}, {state}{dcr}{ratio}\n{indent}{}\n", steps.join("  "));
    let mut line = |name: &str, said: &str| out.push_str(&format!("{indent}{name}: {said}\n"));
    for (name, member) in [("NOT RIGHT", "off_target"), ("signed", "signed"), ("scrapped", "reason")] {
        if let Some(said) = w[member].as_str() {
            line(name, &if member == "off_target" { format!("coil {no} {said}") } else { said.to_owned() });
        }
    }
    let noted = as_wound(w);
    if !noted.is_empty() {
        line("wound", &noted.join(", "));
    }
    for s in items(w, "steps") {
        let said = at_step(s);
        if !said.is_empty() {
            line(&text(s, "step"), &said.join(", "));
        }
    }
    out
}

fn as_wound(w: &Value) -> Vec<String> {
    let number = |name: &str| (!w[name].is_null()).then(|| figure(&w[name]));
    let turns: Vec<String> = items(w, "turns_per_layer").map(Value::to_string).collect();
    let all = [
        w["winder"].as_str().map(|who| format!("by {who}")),
        number("mandrel_mm").map(|mm| format!("mandrel {mm} mm")),
        number("minutes").map(|min| format!("{min} min")),
        (!turns.is_empty()).then(|| format!("{} turns", turns.join(" + "))),
        number("width_mm").map(|mm| format!("{mm} mm wide")),
        number("outside_mm").map(|mm| format!("{mm} mm over the winding")),
        w["adhesive"].as_str().map(str::to_owned),
        w["adhesive_batch"].as_str().map(|batch| format!("adhesive batch {batch}")),
    ];
    all.into_iter().flatten().collect()
}

fn at_step(s: &Value) -> Vec<String> {
    let mut said: Vec<String> = (s["not_needed"] == true).then(|| "not needed".to_owned()).into_iter().collect();
    if !s["dcr_ohm"].is_null() {
        said.push(format!("{} Ω at 20 °C", figure(&s["dcr_ohm"])));
    }
    for (name, value) in s["figures"].as_object().into_iter().flatten() {
        let value = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        said.push(format!("{} {value}", name.replace('_', " ")));
    }
    said.extend(s["note"].as_str().map(str::to_owned));
    said
}

/// What the gate says, the verdict first.
pub fn gate(g: &Value) -> String {
    let mut out = format!(
        "{}: {} coil {} from {}",
        text(g, "verdict").to_uppercase(),
        text(g, "job"),
        g["coil_no"],
        text(g, "spool")
    );
    if let Some(hold) = g["hold_m"].as_f64() {
        out.push_str(&format!(", started with {hold:.2} m promised as {}", text(g, "hold")));
    }
    out.push('\n');
    for c in items(g, "checks") {
        out.push_str(&format!(
            "  {:<5}{:<15} {}\n",
            if c["ok"] == true { "ok" } else { "STOP" },
            text(c, "code").replace('_', " "),
            text(c, "text")
        ));
    }
    out
}
