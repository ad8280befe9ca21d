//! The story: an invented workshop, one burnt coil, eight part-used spools, five jobs.

use super::Told;
use super::teller::Teller;
use crate::exit::End;
use crate::show::{figure, items, text};
use serde_json::{Value, json};
use std::path::Path;

/// Tells it to its end.
///
/// # Errors
/// A refusal of the daemon that the story did not expect, or a file that cannot be written.
pub fn tell(t: &Teller, dir: &Path) -> Told<()> {
    t.say("An invented workshop. A Quillmere 10 midrange, 8 Ω, came in with its coil burnt open; nobody sells that coil any more.\n");
    measured(t)?;
    chosen(t)?;
    drawn(t, dir)?;
    shelf(t)?;
    jobs(t)?;
    gate(t)?;
    wound(t)?;
    planned(t)?;
    sheets(t, dir)?;
    t.say(format!(
        "{} calls to the daemon; every figure above was answered by it. The shop's memory is in {}.",
        t.calls(),
        dir.join("data").display()
    ));
    t.say("Solvents, epoxy, hot ovens, powered winders: safety data sheets, local codes and licensed practice come first.");
    Ok(())
}

/// The 38 mm midrange whose motor was measured on the bench; wire and winding differ from try to try.
fn midrange(wire: &str, winding: Value) -> Value {
    json!({
        "wire": wire,
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 38.30, "wall_mm": 0.10, "height_mm": 32, "slit_mm": 1.0, "shims_mm": [0.05] },
        "winding": winding,
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 38.00, "bore_mm": 39.95, "plate_mm": 6.0, "min_inner_mm": 0.15, "min_outer_mm": 0.20 },
        "target": { "dcr_ohm": 5.95, "tolerance_pct": 2.5, "rated_ohm": 8 },
        "bench_c": 22, "hot_c": 180,
    })
}

fn midrange_31() -> Value {
    midrange("cu-awg31-single", json!({ "layers": 2, "width_mm": 14.5 }))
}

/// A 51 mm bass coil.
fn bass() -> Value {
    json!({
        "wire": "cu-awg30-single",
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 51.0, "wall_mm": 0.12, "height_mm": 38, "slit_mm": 1.0, "shims_mm": [0.05] },
        "winding": { "layers": 2, "width_mm": 15.0 },
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 50.50, "bore_mm": 53.00, "plate_mm": 8.0 },
        "target": { "dcr_ohm": 5.8, "tolerance_pct": 3, "rated_ohm": 8 }, "bench_c": 22, "hot_c": 180,
    })
}

/// A 25 mm coil on polyimide film.
fn small(wire: &str, width_mm: f64) -> Value {
    json!({
        "wire": wire,
        "former": { "material": "polyimide-film", "inside_diameter_mm": 25.70, "wall_mm": 0.08, "height_mm": 18 },
        "winding": { "layers": 2, "width_mm": width_mm },
        "leads_m": 0.10, "tails_m": 0.40, "threading_m": 0.60, "bench_c": 22,
    })
}

fn measured(t: &Teller) -> Told<()> {
    t.say("1. The burnt coil is measured");
    t.say("   gap: pole 38.00, bore 39.95, plate 6.0 mm · former 38.30 mm inside, 0.10 mm aluminium, slit");
    t.say("   winding 14.5 mm wide, 2 layers, 56 + 55 turns counted · wire 0.246 mm over what is left of its enamel");
    let near = t.ask(
        "wire.list",
        json!({ "conductor": "copper", "text": "awg", "bare_min_mm": 0.20, "bare_max_mm": 0.30, "limit": 50 }),
    )?;
    let candidates: Vec<String> = items(&near, "items").filter(|w| holds(w, 0.246)).map(|w| text(w, "wire")).collect();
    t.say(format!("   wires whose overall diameter may be 0.246 mm: {}", candidates.join(", ")));
    let copy =
        t.ask("coil.design", midrange("cu-awg31-single", json!({ "turns_per_layer": [56, 55], "width_mm": 14.5 })))?;
    t.say(format!(
        "   with that count, AWG 31 single would have measured {} Ω at 20 °C before it burnt\n",
        figure(&copy["dcr_ohm"])
    ));
    Ok(())
}

fn chosen(t: &Teller) -> Told<()> {
    t.say("2. \"There is AWG 29 on the shelf, use that\"");
    let fat = t.ask("coil.design", midrange("cu-awg29-single", json!({ "layers": 2, "width_mm": 14.5 })))?;
    design(t, &fat);
    t.say("\n3. AWG 31 in the same width");
    let fits = t.ask("coil.design", midrange_31())?;
    design(t, &fits);
    t.say(format!(
        "   blank {} mm long, mandrel {} mm, tension {} g hanging by layer",
        figure(&fits["blank"]["length_mm"]),
        figure(&fits["mandrel_mm"]),
        fits["tension_g"].as_array().map_or(String::new(), |g| g
            .iter()
            .map(|g| format!("{:.0}", number(g)))
            .collect::<Vec<_>>()
            .join(" / ")),
    ));
    t.say(format!(
        "   one spool must hold {} m in one piece; the meter should show {} Ω at 22 °C\n",
        figure(&fits["need_m"]),
        figure(&fits["dcr_bench_ohm"])
    ));
    Ok(())
}

fn drawn(t: &Teller, dir: &Path) -> Told<()> {
    t.say("4. The coil in its gap, drawn to scale");
    let sheet = t.ask("sheet.section", json!({ "coil": midrange_31(), "title": "Quillmere 10, rewound" }))?;
    t.say(format!("   {}", text(&sheet, "sentence")));
    write(t, dir, "section.svg", &text(&sheet, "svg"))?;
    t.say("");
    Ok(())
}

/// Wire, label, gross and tare in grams: what stands on the shelf, weighed on a scale good to 0.06 g.
const SHELF: [(&str, &str, f64, f64); 8] = [
    ("cu-awg31-single", "quarter pound, grey reel", 101.6, 97.0),
    ("cu-awg31-single", "part used, blue reel", 149.3, 97.0),
    ("cu-awg30-single", "part used", 131.2, 96.5),
    ("cu-awg32-single", "part used", 118.4, 97.2),
    ("cu-awg34-single", "fine, part used", 104.9, 88.0),
    ("cu-0.250-grade1", "metric, part used", 139.7, 112.0),
    ("cu-awg29-single", "nearly full", 320.5, 120.0),
    ("cu-awg33-single", "end of a reel", 99.1, 97.0),
];

fn shelf(t: &Teller) -> Told<()> {
    t.say("5. Eight part-used spools are weighed and taken in");
    for (i, (wire, label, gross, tare)) in SHELF.iter().enumerate() {
        let mut params = json!({
            "wire": wire, "label": label, "gross_g": gross, "tare_g": { "value": tare, "u": 1.0 }, "scale_u_g": 0.06, "place": format!("shelf {}", i + 1),
        });
        if i == 0 {
            // The shop's old book: the label's length by a table of bare copper, less the coils written down.
            params["marked_m"] = json!({ "value": 23.9, "u": 1.0 });
        }
        let received = t.ask("spool.receive", params)?;
        t.say(format!(
            "   {} {:<16} {:<26} {} m left",
            text(&received, "spool"),
            wire,
            label,
            figure(&received["left_m"])
        ));
        for f in items(&received, "findings") {
            t.say(format!("       {}: {}", text(f, "level").to_uppercase(), text(f, "text")));
        }
    }
    t.say("");
    Ok(())
}

fn jobs(t: &Teller) -> Told<()> {
    t.say("6. Five jobs are open");
    let noted = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north", "free_fall": true, "rest_height_mm": 11.2 });
    let open = [
        json!({ "title": "Quillmere 10 midrange", "coil": midrange_31(), "coils": 1, "priority": 8, "before": noted }),
        json!({ "title": "Ossipan B12 bass pair", "coil": bass(), "coils": 2, "priority": 6, "before": noted }),
        json!({ "title": "Brellin M8 small pair", "coil": small("cu-awg34-single", 7.0), "coils": 2, "priority": 5, "before": noted }),
        json!({ "title": "Kestermoor 6", "coil": small("cu-awg32-single", 8.0), "coils": 1, "priority": 5, "other_wires": [{ "wire": "cu-awg33-single", "penalty": 0.5 }] }),
        json!({ "title": "Hollin stage monitors", "coil": midrange_31(), "coils": 12, "priority": 3, "before": noted }),
    ];
    // Promised 10, 20, 30 … days from now.
    let today = jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
    for (i, mut job) in open.into_iter().enumerate() {
        let due = today.checked_add(jiff::Span::new().days(10 * (i as i64 + 1))).unwrap_or(today);
        job["due_on"] = due.to_string().into();
        let (title, coils) = (text(&job, "title"), job["coils"].clone());
        let opened = t.ask("job.open", job)?;
        t.say(format!(
            "   {} {title}: {coils} of {} m each, due {due}",
            text(&opened, "job"),
            figure(&opened["need_m"])
        ));
    }
    t.say("");
    Ok(())
}

fn gate(t: &Teller) -> Told<()> {
    t.say("7. Before epoxy is mixed for the Quillmere: may it be wound from s-1?");
    let by_weight = t.ask("job.gate", json!({ "job": "j-1", "spool": "s-1" }))?;
    checks(t, &by_weight);
    t.say("   both ends of s-1 are free, so it is measured: 5.62 Ω with 0.20 Ω of test leads at 20 °C");
    let read = t.ask(
        "spool.measure",
        json!({ "spool": "s-1", "ohm": 5.62, "test_leads_ohm": 0.20, "temperature_c": 20, "meter_u_ohm": 0.09 }),
    )?;
    t.say(format!("   s-1 holds {} m", figure(&read["left_m"])));
    let measured = t.ask("job.gate", json!({ "job": "j-1", "spool": "s-1" }))?;
    checks(t, &measured);
    t.say("   and from s-2?");
    let other = t.ask("job.gate", json!({ "job": "j-1", "spool": "s-2" }))?;
    checks(t, &other);
    t.say("");
    Ok(())
}

fn wound(t: &Teller) -> Told<()> {
    t.say("8. The coil is wound from s-2");
    let started = t.ask("job.start", json!({ "job": "j-1", "spool": "s-2", "idempotency_key": "demo-start-1" }))?;
    t.say(format!("   started: {} m of s-2 promised as {}", figure(&started["hold_m"]), text(&started, "hold")));
    let record = json!({
        "job": "j-1", "outcome": "good", "winder": "the demo", "turns_per_layer": [56, 55], "minutes": 42,
        "reading_ohm": 6.19, "test_leads_ohm": 0.20, "temperature_c": 22,
    });
    let recorded = t.ask("job.record", record)?;
    t.say(format!(
        "   recorded: {} m drawn, {} Ω at 20 °C, {:.4} of the plan; s-2 now holds {} m",
        figure(&recorded["drawn_m"]),
        figure(&recorded["dcr_ohm"]),
        number(&recorded["ratio"]),
        figure(&recorded["spool"]["left_m"])
    ));
    let chain = t.ask("journal.verify", json!({}))?;
    t.say(format!(
        "   {} entries in the journal; the chain {}\n",
        chain["head"],
        if chain["ok"] == true { "holds" } else { "does not hold" }
    ));
    Ok(())
}

fn planned(t: &Teller) -> Told<()> {
    t.say("9. Which spool for which coil");
    let plan = t.ask("plan.make", json!({ "proof": "full" }))?;
    t.say(format!("   {}", text(&plan, "sentence")));
    for a in items(&plan, "assign") {
        let spool = items(&plan, "spools").find(|s| s["spool"] == a["spool"]);
        let left = spool.map_or(f64::NAN, |s| number(&s["end_m"]));
        t.say(format!(
            "   {}: {} from {} ({}), {left:.2} m left on it when the plan is wound",
            text(a, "job"),
            coils(&a["coils"]),
            text(a, "spool"),
            text(a, "wire")
        ));
    }
    for r in items(&plan, "refused") {
        t.say(format!("   not {}", text(r, "detail")));
        for u in items(r, "unlock") {
            t.say(format!("       or {}", text(u, "text")));
        }
    }
    let accepted = t.ask("plan.accept", json!({ "assign": plan["assign"], "seq": plan["seq"] }))?;
    t.say(format!(
        "   accepted as entry {}, risk {:.3} % of {} % promised",
        accepted["accepted"],
        number(&accepted["risk_pct"]["computed"]),
        accepted["risk_pct"]["promised"]
    ));
    let ahead = t.ask("plan.outlook", json!({ "days": 30 }))?;
    t.say(format!("   {}\n", text(&ahead, "sentence")));
    Ok(())
}

fn sheets(t: &Teller, dir: &Path) -> Told<()> {
    t.say("10. The sheet that goes with the next job to the winder, and a label for its spool");
    let traveller = t.ask("sheet.traveller", json!({ "job": "j-2" }))?;
    write(t, dir, "traveller.html", &text(&traveller, "html"))?;
    let label = t.ask("sheet.label", json!({ "spool": text(&traveller, "spool") }))?;
    write(t, dir, "label.svg", &text(&label, "svg"))?;
    t.say("");
    Ok(())
}

fn write(t: &Teller, dir: &Path, name: &str, content: &str) -> Told<()> {
    let file = dir.join(name);
    std::fs::write(&file, content)
        .map_err(|e| (End::WrongUse, format!("{} cannot be written: {e}", file.display())))?;
    t.say(format!("   written: {}", file.display()));
    Ok(())
}

fn coils(n: &Value) -> String {
    if n == 1 { "1 coil".into() } else { format!("{n} coils") }
}

fn design(t: &Teller, d: &Value) {
    t.say(format!(
        "   {} turns, {} Ω at 20 °C, {} mm over the cross-over, {} mm free outside",
        d["turns_per_layer"].as_array().map_or(String::new(), |n| n
            .iter()
            .map(Value::to_string)
            .collect::<Vec<_>>()
            .join(" + ")),
        figure(&d["dcr_ohm"]),
        figure(&d["outside_crossover_mm"]),
        figure(&d["clearance_outer_mm"]),
    ));
    let told: Vec<&Value> = items(d, "findings").filter(|f| f["level"] != "note").collect();
    for f in &told {
        t.say(format!("   {}: {}", text(f, "level").to_uppercase(), text(f, "text")));
    }
    if !told.iter().any(|f| f["level"] == "stop") {
        t.say(if told.is_empty() { "   it fits" } else { "   it fits; mind what is to be watched" });
    }
}

fn checks(t: &Teller, gate: &Value) {
    t.say(format!("   {}", text(gate, "verdict").to_uppercase()));
    for c in items(gate, "checks").filter(|c| c["ok"] == false || c["code"] == "enough_wire") {
        t.say(format!("       {}: {}", text(c, "code").replace('_', " "), text(c, "text")));
    }
}

fn holds(wire: &Value, overall_mm: f64) -> bool {
    let limit = |name: &str| wire[name].as_f64();
    limit("overall_min_mm").zip(limit("overall_max_mm")).is_some_and(|(min, max)| (min..=max).contains(&overall_mm))
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap_or(f64::NAN)
}
