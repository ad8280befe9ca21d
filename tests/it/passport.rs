//! The end of a job's life: a coil out of its tolerance is not handed over unsigned, and what is known of it stays.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};

/// A coil wound, of the sample's 5.8 Ω ± 3 % (5.626 to 5.974 Ω), that measures so much.
pub fn wound(ohm: f64) -> Shop {
    let shop = Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "marked_m": { "value": 300, "u": 1 } }));
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north", "dcr_ohm": 5.7,
        "pole_mm": [50.50, 50.52, 50.51], "bore_mm": [53.0] });
    shop.done("job.open", &json!({ "title": "Ossipan B12", "coil": sample(), "before": before }));
    shop.done("job.start", &json!({ "job": "j-1", "spool": "s-1" }));
    let recorded = json!({ "job": "j-1", "outcome": "good", "winder": "ada", "mandrel_mm": 50.9, "minutes": 21,
        "adhesive_batch": "b-7", "turns_per_layer": [52, 51], "reading_ohm": ohm, "temperature_c": 20,
        "width_mm": 15.0, "outside_mm": 52.3 });
    shop.done("job.record", &recorded);
    shop
}

pub fn step(shop: &Shop, step: &str, more: &Value) -> Value {
    let mut params = json!({ "job": "j-1", "coil_no": 1, "step": step });
    more.as_object().expect("members").iter().for_each(|(name, value)| params[name] = value.clone());
    shop.done("job.step", &params)
}

#[test]
fn a_coil_out_of_its_tolerance_is_handed_over_only_with_a_signature_that_stays() {
    let shop = wound(6.2);
    ["trimmed", "cured", "tested"].iter().for_each(|s| drop(step(&shop, s, &json!({}))));
    assert_eq!(shop.answer("job.show", &json!({ "job": "j-1" }))["status"], "in_work");
    let error = shop.refused("job.close", &json!({ "job": "j-1" }));
    assert_eq!(error["data"]["reason"], "steps_missing", "{error}");
    let detail = error["message"].to_string() + &error["data"]["detail"].to_string();
    assert!(detail.contains("6.200 Ω") && detail.contains("5.626 to 5.974 Ω"), "{error}");
    shop.done("job.close", &json!({ "job": "j-1", "override": { "reason": "the customer wants it so" } }));
    let ended = shop.answer("job.show", &json!({ "job": "j-1" }))["ended"].to_string();
    assert!(ended.contains("6.200 Ω") && ended.contains("the customer wants it so"), "{ended}");
}

#[test]
fn the_reading_after_trimming_is_the_one_that_counts() {
    let shop = wound(6.2);
    let lonely = json!({ "job": "j-1", "coil_no": 1, "step": "trimmed", "reading_ohm": 6.0 });
    assert_eq!(shop.refused("job.step", &lonely)["data"]["pointer"], "/temperature_c");
    step(
        &shop,
        "trimmed",
        &json!({ "figures": { "unwound_turns": 6 }, "reading_ohm": 6.0, "test_leads_ohm": 0.2,
        "temperature_c": 20 }),
    );
    step(&shop, "cured", &json!({}));
    let told = step(&shop, "tested", &json!({ "figures": { "isolation": "> 10 MΩ", "polarity": "outward" } }));
    let lacking = told["findings"][0]["text"].as_str().expect("text");
    assert!(lacking.contains("shorted turn, clearance") && !lacking.contains("isolation,"), "{lacking}");
    assert_eq!(told["status"], "ready", "{told}");
    shop.done("job.close", &json!({ "job": "j-1" }));
}

/// Arithmetic: the mean of three, and u = max(1.32·0.01/√3, 0.01/√12, 0.03/√3) mm.
#[test]
fn the_passport_of_a_closed_job_has_everything_that_was_noted() {
    let shop = wound(5.8);
    step(&shop, "trimmed", &json!({ "not_needed": true }));
    step(&shop, "cured", &json!({ "figures": { "hours": 24 }, "note": "room temperature" }));
    let tests = json!({ "isolation": "> 10 MΩ", "shorted_turn": "none", "polarity": "outward", "clearance": "free", "fs_hz": 38 });
    step(&shop, "tested", &json!({ "figures": tests }));
    shop.done("job.close", &json!({ "job": "j-1", "note": "collected" }));
    let j = shop.answer("job.show", &json!({ "job": "j-1" }));
    let pole = j["motor"].as_array().expect("a list").iter().find(|m| m["name"] == "pole_mm").expect("measured");
    assert_eq!(pole["times"], 3);
    assert!((pole["mm"]["value"].as_f64().unwrap() - 50.51).abs() < 1e-9);
    assert!((pole["mm"]["u"].as_f64().unwrap() - 0.03 / 3f64.sqrt()).abs() < 1e-9);
    assert_eq!(j["before"]["pole_mm"], json!([50.5, 50.52, 50.51]));
    assert_eq!(j["before"]["dcr_ohm"]["value"], 5.7);
    let coil = &j["works"][0];
    for (name, noted) in [
        ("winder", json!("ada")),
        ("mandrel_mm", json!(50.9)),
        ("minutes", json!(21.0)),
        ("adhesive_batch", json!("b-7")),
        ("turns_per_layer", json!([52, 51])),
        ("width_mm", json!(15.0)),
        ("outside_mm", json!(52.3)),
    ] {
        assert_eq!(coil[name], noted, "{name}");
    }
    assert_eq!(coil["last_dcr_ohm"]["value"], 5.8);
    let of =
        |step: &str| coil["steps"].as_array().expect("steps").iter().find(|s| s["step"] == step).expect("told").clone();
    assert_eq!(of("trimmed")["not_needed"], true);
    assert_eq!(of("cured")["note"], "room temperature");
    assert_eq!(of("tested")["figures"]["fs_hz"], 38);
    assert!(j["ended"].as_str().expect("text").starts_with("closed "), "{}", j["ended"]);
}

#[test]
fn a_dimension_that_is_none_is_refused_where_it_stands() {
    let shop = Shop::open();
    let params = json!({ "title": "x", "coil": sample(), "before": { "plate_mm": [8.0, -8.0, 8.0] } });
    assert_eq!(shop.refused("job.open", &params)["data"]["pointer"], "/before/plate_mm/1");
}
