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

/// A job of one coil, handed over with everything noted, against the gate and out of its tolerance, both signed.
pub fn closed() -> Shop {
    closed_with(1, "the customer waits")
}

/// The same of some coils, with these words wherever words are taken.
pub fn closed_with(coils: u32, words: &str) -> Shop {
    let shop = Shop::open();
    let wire = json!({ "wire": "cu-awg30-single", "marked_m": { "value": 300, "u": 1 }, "lot": "w-23" });
    shop.done("spool.receive", &wire);
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "dcr_ohm": 5.7, "pole_mm": [50.50, 50.52, 50.51],
        "rest_height_mm": 11.5, "photo": words });
    let job = json!({ "title": "Ossipan B12 <rewound>", "coil": sample(), "coils": coils, "before": before });
    shop.done("job.open", &job);
    for coil_no in 1..=coils {
        let start =
            json!({ "job": "j-1", "spool": "s-1", "adhesive": "epoxy-slow-equal", "override": { "reason": words } });
        shop.done("job.start", &start);
        shop.done(
            "job.record",
            &json!({ "job": "j-1", "outcome": "good", "winder": "ada", "mandrel_mm": 50.9,
            "minutes": 21, "adhesive_batch": "b-7", "turns_per_layer": [52, 51], "reading_ohm": 6.2,
            "temperature_c": 20, "width_mm": 15.0, "outside_mm": 52.3 }),
        );
        for (step, figures) in [
            ("trimmed", json!({ "unwound_turns": 2 })),
            ("cured", json!({})),
            (
                "tested",
                json!({ "isolation": "> 10 MΩ", "shorted_turn": "none", "polarity": "outward", "clearance": words, "fs_hz": 38 }),
            ),
        ] {
            shop.done(
                "job.step",
                &json!({ "job": "j-1", "coil_no": coil_no, "step": step, "figures": figures, "note": words }),
            );
        }
    }
    shop.done(
        "job.close",
        &json!({ "job": "j-1", "note": words, "override": { "reason": "the customer wants it so" } }),
    );
    shop
}

#[test]
fn the_passport_says_what_was_measured_by_whom_when_and_who_signed() {
    let shop = closed();
    let page = shop.answer("sheet.passport", &json!({ "job": "j-1" }))["html"].as_str().expect("a page").to_owned();
    let today = shop.answer("job.show", &json!({ "job": "j-1" }))["works"][0]["started_at"].as_str().expect("a time")
        [..10]
        .to_owned();
    for said in [
        "Passport j-1: Ossipan B12 &lt;rewound&gt;",
        "AWG 30",
        "51 × 0.12 mm",
        "52 + 51",
        "5.626 to 5.974 Ω",
        "Coil 1: 6.200 ± 0.0",
        "OUT OF TOLERANCE",
        "wound by ada",
        &today,
        "from s-1, lot w-23",
        "slow two-part epoxy",
        "adhesive batch b-7",
        "unwound turns 2",
        "isolation &gt; 10 MΩ",
        "50.510 ± 0.017 mm, 3 times",
        "started coil 1, against polarity_noted: the customer waits",
        "handed it over, against coil 1 is out of tolerance: 6.200 Ω",
        "the customer wants it so",
        "its slit stays open",
        "isocyanates",
    ] {
        assert!(page.contains(said), "{said:?} is missing: {page}");
    }
    assert!(
        !page.contains("<script") && !page.contains("://")
            || page.matches("://").count() == page.matches("http://www.w3.org/2000/svg").count()
    );
}

#[test]
fn only_a_closed_job_has_a_passport_and_only_of_coils_that_are_in_it() {
    let shop = wound(5.8);
    let error = shop.error("sheet.passport", &json!({ "job": "j-1" }));
    assert_eq!(error["data"]["pointer"], "/job");
    assert!(error["data"]["detail"].as_str().expect("text").contains("coil 1: trimmed"), "{error}");
    let shop = closed();
    assert_eq!(shop.error("sheet.passport", &json!({ "job": "j-1", "coil_no": 7 }))["data"]["pointer"], "/coil_no");
}
