//! The examples of the document are true: they are a day in a shop, played in this order and compared with its answers.
//!
//! `COILWRIGHT_REWRITE_EXAMPLES=1` writes them anew from what the daemon answers: look at the difference before it is
//! committed, and build again, since the binary carries them.

use crate::shop::{Shop, root, sample};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Members that differ from shop to shop and from second to second: compared by their kind only.
const PASSING: [&str; 9] = ["at", "read_at", "boot", "mono_ms", "asked", "prev", "hash", "digest", "catalog_digest"];

/// The day that the dated questions are asked for.
const TODAY: &str = "2026-03-02";

/// A call of the day; whether it is the example of its method, or only brings the shop to where the next one can be asked.
struct Call {
    method: &'static str,
    params: Value,
    example: bool,
}

fn shown(method: &'static str, params: Value) -> Call {
    Call { method, params, example: true }
}

fn played(method: &'static str, params: Value) -> Call {
    Call { method, params, example: false }
}

/// The coil of the day: 38 mm, two layers of AWG 31.
fn coil() -> Value {
    json!({
        "wire": "cu-awg31-single",
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 38.30, "wall_mm": 0.10, "height_mm": 32, "shims_mm": [0.05] },
        "winding": { "layers": 2, "width_mm": 14.5 },
        "gap": { "pole_mm": 38.00, "bore_mm": 39.95, "plate_mm": 6.0, "min_outer_mm": 0.20 },
        "target": { "dcr_ohm": 5.95, "tolerance_pct": 2.5, "rated_ohm": 8 },
        "bench_c": 22,
    })
}

/// The day, from an empty shelf on. A method that is not in it has no example.
fn day() -> Vec<Call> {
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    vec![
        shown("shop.status", json!({})),
        shown("wire.list", json!({ "conductor": "copper", "text": "awg", "bare_max_mm": "0.26 mm", "limit": 2 })),
        shown("wire.show", json!({ "wire": "cu-awg30-single" })),
        shown("wire.identify", crate::identify::question()),
        shown("former.list", json!({})),
        shown("former.compare", crate::formers::question()),
        shown(
            "former.mandrel",
            json!({ "inside_diameter_mm": 51.0, "mandrels_mm": [50.0, 50.9, 25.7], "shims_mm": [0.05, 0.10], "cure_c": 120 }),
        ),
        shown("adhesive.list", json!({})),
        shown("adhesive.mix", json!({ "adhesive": "epoxy-hot-100-30", "coil": coil(), "coils": 2, "winding_min": 95 })),
        shown("coil.design", sample()),
        shown("coil.fit", crate::matching::fit()),
        shown("coil.sound", crate::sound::question()),
        shown("coil.pair", crate::sound::pair()),
        shown("coil.inductance", crate::sound::inductance()),
        shown("coil.reading", crate::bench::reading()),
        shown("coil.trim", crate::bench::trim()),
        shown("coil.heat", crate::bench::heat()),
        shown("sheet.section", json!({ "coil": sample(), "title": "Ossipan B12, rewound" })),
        shown("shop.set", json!({ "confidence": 0.98, "plan_risk_pct": 2 })),
        shown("shop.figures", json!({})),
        shown(
            "spool.receive",
            json!({ "wire": "cu-awg31-single", "gross_g": "149,3 g", "tare_g": { "value": 97.0, "u": 1.0 }, "scale_u_g": 0.06, "label": "blue reel" }),
        ),
        shown("spool.weigh", json!({ "spool": "s-1", "gross_g": 149.2, "scale_u_g": 0.06 })),
        shown(
            "spool.measure",
            json!({ "spool": "s-1", "ohm": 61.1, "test_leads_ohm": 0.20, "temperature_c": 20, "meter_u_ohm": 0.3 }),
        ),
        shown("spool.move", json!({ "spool": "s-1", "place": "drawer 3" })),
        shown("spool.hold", json!({ "spool": "s-1", "hold_m": 20, "reason": "a repair that may come" })),
        shown("spool.release", json!({ "spool": "s-1", "hold": "h-1" })),
        shown("spool.list", json!({})),
        shown("coil.match", crate::matching::question()),
        shown("spool.show", json!({ "spool": "s-1" })),
        shown("spool.yields", json!({ "spool": "s-1" })),
        shown("sheet.label", json!({ "spool": "s-1", "as_of": TODAY })),
        shown("job.open", json!({ "title": "Quillmere 10", "coil": coil(), "before": before })),
        shown("job.change", json!({ "job": "j-1", "priority": 7 })),
        shown("job.list", json!({})),
        shown("job.show", json!({ "job": "j-1" })),
        shown("job.batch", json!({ "job": "j-1", "good": 8, "scrap_pct": 10, "matched": true })),
        shown("plan.make", json!({ "as_of": TODAY })),
        shown(
            "plan.accept",
            json!({ "assign": [{ "job": "j-1", "wire": "cu-awg31-single", "spool": "s-1", "coils": 1 }], "seq": 9 }),
        ),
        shown("plan.show", json!({ "as_of": TODAY })),
        shown("plan.outlook", json!({ "days": 30, "as_of": TODAY })),
        shown("sheet.traveller", json!({ "job": "j-1", "spool": "s-1", "as_of": TODAY })),
        shown("job.gate", json!({ "job": "j-1", "spool": "s-1" })),
        shown("job.start", json!({ "job": "j-1", "spool": "s-1" })),
        shown("job.progress", json!({ "job": "j-1", "layer": 1 })),
        shown(
            "job.record",
            json!({ "job": "j-1", "outcome": "good", "reading_ohm": 6.19, "test_leads_ohm": 0.20, "temperature_c": 22 }),
        ),
        shown("job.step", json!({ "job": "j-1", "coil_no": 1, "step": "trimmed" })),
        played("job.step", json!({ "job": "j-1", "coil_no": 1, "step": "cured" })),
        played("job.step", json!({ "job": "j-1", "coil_no": 1, "step": "tested" })),
        shown("job.close", json!({ "job": "j-1" })),
        shown("sheet.passport", json!({ "job": "j-1" })),
        played("job.open", json!({ "title": "Brellin M8", "coil": coil() })),
        shown("job.cancel", json!({ "job": "j-2", "reason": "the customer found another" })),
        shown("journal.undo", json!({ "seq": 19, "reason": "the customer came back" })),
        shown("spool.retire", json!({ "spool": "s-1", "empty": false, "reason": "corroded" })),
        played(
            "spool.receive",
            json!({ "wire": "cu-awg31-single", "gross_g": 103.2, "label": "a reel of nobody knows what mass" }),
        ),
        shown("plan.unlock", json!({ "job": "j-2", "as_of": TODAY })),
        shown("plan.buy", json!({ "as_of": TODAY })),
        shown("alert.list", json!({ "as_of": TODAY })),
        shown("alert.seen", json!({ "alert": "tare_doubtful:s-2:22", "as_of": TODAY })),
        shown("learn.show", json!({})),
        shown("learn.freeze", json!({ "reason": "a new adhesive on trial" })),
        shown("learn.reset", json!({ "reason": "wire of another maker", "wire": "cu-awg31-single" })),
        shown("journal.read", json!({ "limit": 1 })),
        shown("journal.verify", json!({})),
        shown("care.backup", json!({})),
        shown(
            "care.import",
            json!({ "csv": "wire,label,gross_g,tare_g\ncu-awg31-single,green reel,\"210,4\",97.0±1.0\ncu-awg30-single,bench end,142.1,96.2\n" }),
        ),
        shown("care.export", json!({ "what": "spools" })),
        shown("plugin.list", json!({})),
        shown("plugin.reload", json!({})),
    ]
}

fn file(method: &str) -> PathBuf {
    root().join("crates/proto/examples").join(format!("{method}.json"))
}

#[test]
fn every_example_is_answered_as_it_says() {
    let backup = tempfile::tempdir().expect("a folder");
    let place = backup.path().join("backup");
    let shop = Shop::with(&[], &[("COILWRIGHT__STORE__BACKUP", place.to_str().expect("a path of text"))]);
    let rewrite = std::env::var_os("COILWRIGHT_REWRITE_EXAMPLES").is_some();
    let mut faults = Vec::new();
    for Call { method, params, example } in day() {
        let mut reply = shop.call_as(&shop.token(), method, &params);
        let answer = match reply["error"].take() {
            Value::Null => reply["result"].take(),
            error => {
                faults.push(format!("{method} {params}: {error}"));
                continue;
            }
        };
        if !example {
            continue;
        }
        let written = json!({ "params": params, "result": answer });
        if rewrite {
            let old = std::fs::read_to_string(file(method)).ok().and_then(|t| serde_json::from_str::<Value>(&t).ok());
            // Another second is no reason to touch a file.
            if old.is_none_or(|old| first_difference("", &old, &written).is_some()) {
                std::fs::write(file(method), format!("{written:#}\n")).expect("written");
            }
            continue;
        }
        let text = std::fs::read_to_string(file(method)).unwrap_or_else(|e| panic!("{method}: {e}"));
        let promised: Value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{method}: {e}"));
        faults.extend(first_difference("", &promised, &written).map(|d| format!("{method}: {d}")));
    }
    assert!(faults.is_empty(), "{faults:#?}\n(COILWRIGHT_REWRITE_EXAMPLES=1 writes the examples anew)");
}

#[test]
fn every_method_has_an_example_in_the_day() {
    let document = Shop::open().answer("rpc.discover", &json!({}));
    let documented: BTreeSet<&str> = document["methods"]
        .as_array()
        .expect("methods")
        .iter()
        .filter(|m| m["x-plugin"].is_null())
        .map(|m| m["name"].as_str().expect("a name"))
        .collect();
    let day = day();
    let played: BTreeSet<&str> = day.iter().filter(|c| c.example).map(|c| c.method).collect();
    assert_eq!(documented, played);
}

/// Where two values part, for a message shorter than both. What passes is compared by its kind.
fn first_difference(at: &str, wanted: &Value, met: &Value) -> Option<String> {
    match (wanted, met) {
        (Value::Object(w), Value::Object(m)) => {
            let names: BTreeSet<&String> = w.keys().chain(m.keys()).collect();
            names.into_iter().find_map(|name| {
                let (w, m) = (w.get(name).unwrap_or(&Value::Null), m.get(name).unwrap_or(&Value::Null));
                let alike = PASSING.contains(&name.as_str()) && std::mem::discriminant(w) == std::mem::discriminant(m);
                if alike { None } else { first_difference(&format!("{at}/{name}"), w, m) }
            })
        }
        (Value::Array(w), Value::Array(m)) if w.len() == m.len() => {
            w.iter().zip(m).enumerate().find_map(|(i, (w, m))| first_difference(&format!("{at}/{i}"), w, m))
        }
        _ if wanted == met => None,
        _ => {
            let short = |v: &Value| v.to_string().chars().take(200).collect::<String>();
            Some(format!("at {at}: the example has {}, the answer {}", short(wanted), short(met)))
        }
    }
}

/// The comparison itself.
#[test]
fn one_digit_is_a_difference_and_another_second_is_none() {
    let example =
        json!({ "result": { "left_m": { "value": 12.5, "u": 0.2 }, "at": "2026-03-02T08:00:00Z", "holds": [1] } });
    let differs = |pointer: &str, value: Value| {
        let mut other = example.clone();
        *other.pointer_mut(pointer).expect("a member") = value;
        first_difference("", &example, &other).is_some()
    };
    assert!(differs("/result/left_m/value", json!(12.500000000000002)));
    assert!(differs("/result/holds", json!([1, 2])));
    assert!(differs("/result/at", Value::Null));
    assert!(!differs("/result/at", json!("2026-03-02T08:00:01Z")));
}
