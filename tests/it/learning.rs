//! What a shop learns from its own coils, through the port: the worked figures, the next design, frozen, forgotten, undone.
//!
//! The ratios are the worked case of this project (regression values: arithmetic by hand and by another script).

use crate::shop::{Shop, sample, with};
use serde_json::{Value, json};

const RATIOS: [f64; 8] = [1.021, 1.034, 1.015, 1.029, 1.041, 1.018, 1.026, 1.024];

/// The coil of the sample, with nothing assumed that could be learned.
fn coil() -> Value {
    let mut coil = sample();
    coil.as_object_mut().expect("params").remove("assume");
    coil.as_object_mut().expect("params").remove("threading_m");
    coil
}

/// A shop with a full spool and a job of many coils.
fn shop_with_work() -> Shop {
    let shop = Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "marked_m": { "value": 900, "u": 1 } }));
    open(&shop);
    shop
}

fn open(shop: &Shop) -> String {
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    let params = json!({ "title": "Ossipan B12", "coil": coil(), "coils": 20, "before": before });
    shop.done("job.open", &params)["job"].as_str().expect("an id").to_owned()
}

/// A coil that measures so much of what a plan by first values says.
fn wind(shop: &Shop, job: &str, ratio: f64, more: &Value) -> Value {
    shop.done("job.start", &json!({ "job": job, "spool": "s-1" }));
    let mut params = json!({ "job": job, "outcome": "good", "winder": "ada", "reading_ohm": ratio * FIRST.get(shop),
        "temperature_c": 20, "meter_u_ohm": 0.02 });
    for (name, value) in more.as_object().expect("members") {
        params[name] = value.clone();
    }
    shop.done("job.record", &params)
}

/// The coil's resistance by first values alone: with the assumptions spelt out, nothing learned goes in.
struct First;
const FIRST: First = First;
impl First {
    fn get(&self, shop: &Shop) -> f64 {
        let assume =
            json!({ "pitch_factor": 1.02, "nesting": 0.90, "resistance_excess_pct": 1.0, "elongation_pct": 0.2 });
        dcr(&shop.answer("coil.design", &with(coil(), "/assume", assume)))
    }
}

fn dcr(design: &Value) -> f64 {
    design["dcr_ohm"]["value"].as_f64().expect("a number")
}

fn origin<'a>(design: &'a Value, param: &str) -> &'a Value {
    design["origins"].as_array().expect("a list").iter().find(|o| o["param"] == param).unwrap_or(&Value::Null)
}

#[track_caller]
fn near(met: &Value, wanted: f64, half_a_digit: f64) {
    let met = met.as_f64().unwrap_or_else(|| panic!("no number: {met}"));
    assert!((met - wanted).abs() <= half_a_digit, "{met}, expected {wanted}");
}

#[test]
fn eight_coils_teach_what_was_worked_by_hand() {
    let shop = shop_with_work();
    for (n, ratio) in RATIOS.into_iter().enumerate() {
        wind(&shop, "j-1", ratio, &json!({}));
        if n == 0 {
            let told = shop.answer("learn.show", &json!({}));
            near(&told["ratios"][0]["weight"], 0.76, 0.005);
        }
    }
    let told = shop.answer("learn.show", &json!({ "wire": "cu-awg30-single" }));
    let r = &told["ratios"][0];
    assert_eq!((&r["coils"], &r["winder"], &r["mandrel_mm"]), (&json!(8), &json!("ada"), &json!(50.9)));
    near(&r["mean"], 1.026, 0.0005);
    // The case prints 0.0085; the eight ratios have 0.00855.
    near(&r["deviation"], 0.0085, 0.0001);
    near(&r["next_alone"], 0.021, 0.0005);
    near(&r["weight"], 0.96, 0.005);
    assert_eq!(told["outliers"], json!([]));
    near(&told["scrap"]["first_pct"], 100.0 / 7.0, 1e-9);
    near(&told["scrap"]["rate_pct"], 100.0 / 15.0, 1e-9);
    assert_eq!(shop.answer("learn.show", &json!({ "wire": "cu-awg31-single" }))["ratios"], json!([]));
}

#[test]
fn the_next_design_takes_what_was_learned_and_says_so() {
    let shop = shop_with_work();
    let (before, first) = (shop.answer("coil.design", &coil()), FIRST.get(&shop));
    assert_eq!(dcr(&before), first);
    RATIOS.iter().for_each(|r| drop(wind(&shop, "j-1", *r, &json!({}))));
    let after = shop.answer("coil.design", &coil());
    let origin = origin(&after, "assume.resistance_excess_pct");
    assert_eq!(origin["mark"], "learned", "{origin}");
    assert!(origin["source"].as_str().expect("text").starts_with("8 coils of this shop"), "{origin}");
    // The learned figure 1.0250 (core's test) on all but the leads: they are 0.7 % of the wire.
    assert!((dcr(&after) / first - 1.0250).abs() < 0.0004, "{} over {first}", dcr(&after));
    let u = |d: &Value| d["dcr_ohm"]["u"].as_f64().expect("a number") / dcr(d);
    assert!(u(&after) < u(&before) && u(&after) > 0.0085, "{} after, {} before", u(&after), u(&before));
    // The same question in the same state has the same answer; another mandrel leans on the wire alone.
    assert_eq!(shop.answer("coil.design", &coil()), after);
    let other = shop.answer("coil.design", &with(coil(), "/former/inside_diameter_mm", json!(38.3)));
    assert!(origin_value(&other) > 1.0 && origin_value(&other) < origin_value(&after));
}

fn origin_value(design: &Value) -> f64 {
    origin(design, "assume.resistance_excess_pct")["value"].as_f64().expect("a number")
}

/// A plan that was learned is not what is learned from: or the ratio would drift to 1 and the lesson be forgotten.
#[test]
fn a_learned_plan_does_not_teach_that_it_was_right() {
    let shop = shop_with_work();
    RATIOS.iter().for_each(|r| drop(wind(&shop, "j-1", *r, &json!({}))));
    let job = open(&shop);
    let recorded = wind(&shop, &job, 1.026, &json!({}));
    // Over the plan of that job, which already expects 1.025.
    near(&recorded["ratio"], 1.026 / 1.025, 0.0005);
    let told = shop.answer("learn.show", &json!({}));
    near(&told["ratios"][0]["mean"], 1.026, 1e-5);
    assert_eq!(told["ratios"][0]["coils"], json!(9));
}

#[test]
fn frozen_coils_teach_nothing_until_thawed_and_a_reset_forgets_until_undone() {
    let shop = shop_with_work();
    RATIOS[..4].iter().for_each(|r| drop(wind(&shop, "j-1", *r, &json!({}))));
    let four = shop.answer("coil.design", &coil());
    let frozen = shop.done("learn.freeze", &json!({ "reason": "new glue on trial" }));
    assert_eq!((&frozen["frozen"], &frozen["coils"]), (&json!(true), &json!(4)));
    let again = shop.refused("learn.freeze", &json!({}));
    assert_eq!(again["data"]["reason"], "as_it_is", "{again}");
    RATIOS[4..].iter().for_each(|r| drop(wind(&shop, "j-1", *r, &json!({}))));
    assert_eq!(shop.answer("coil.design", &coil()), four);
    assert_eq!(shop.answer("learn.show", &json!({}))["frozen"], true);
    assert_eq!(shop.done("learn.freeze", &json!({ "frozen": false }))["coils"], json!(8));
    let eight = shop.answer("coil.design", &coil());
    assert_ne!(eight, four);

    let first = shop.refused("learn.reset", &json!({ "reason": "typing", "winder": "bob" }));
    assert_eq!(first["data"]["reason"], "nothing_learned", "{first}");
    let reset = shop.done("learn.reset", &json!({ "reason": "another wire maker", "wire": "cu-awg30-single" }));
    assert_eq!(reset["coils"], json!(0));
    assert_eq!(dcr(&shop.answer("coil.design", &coil())), FIRST.get(&shop));
    shop.done("journal.undo", &json!({ "seq": reset["seq"], "reason": "the same maker after all" }));
    assert_eq!(shop.answer("coil.design", &coil()), eight);
}

#[test]
fn an_undone_coil_leaves_no_trace_in_what_was_learned() {
    let mut shop = shop_with_work();
    let more = json!({ "drawn_m": { "value": 17.9, "u": 0.05 }, "width_mm": 15.1, "outside_mm": 52.33, "minutes": 21 });
    RATIOS[..3].iter().for_each(|r| drop(wind(&shop, "j-1", *r, &more)));
    let three = shop.answer("coil.design", &coil());
    let told = |shop: &Shop| {
        let mut told = shop.answer("learn.show", &json!({}));
        told["seq"] = Value::Null;
        told
    };
    let before = told(&shop);
    let seq = wind(&shop, "j-1", 1.05, &more)["seq"].clone();
    assert_ne!(shop.answer("coil.design", &coil()), three);
    shop.done("journal.undo", &json!({ "seq": seq, "reason": "typed for another coil" }));
    assert_eq!(shop.answer("coil.design", &coil()), three);
    assert_eq!(told(&shop), before);
    shop.killed_and_opened(|_| ());
    assert_eq!(told(&shop), before);
}

#[test]
fn width_outside_metres_and_minutes_teach_their_own_figures() {
    let shop = shop_with_work();
    for drawn in [17.85, 17.80, 17.90] {
        wind(
            &shop,
            "j-1",
            1.0,
            &json!({ "drawn_m": { "value": drawn, "u": 0.02 }, "width_mm": 15.15,
            "outside_mm": 52.30, "minutes": 20 }),
        );
    }
    let design = shop.answer("coil.design", &coil());
    for param in ["assume.pitch_factor", "assume.nesting", "assume.elongation_pct", "threading_m"] {
        assert_eq!(origin(&design, param)["mark"], "learned", "{param}");
    }
    // (15.15 − 0.2769)/(52·0.2769) = 1.033; drawn towards 1.02 ± 0.01. Arithmetic.
    let told = shop.answer("learn.show", &json!({}));
    let figure = |name: &str| {
        told["figures"].as_array().expect("a list").iter().find(|f| f["name"] == name).expect("told").clone()
    };
    near(&figure("pitch_factor")["mean"], 1.0330, 0.0005);
    let learned = figure("pitch_factor")["learned"]["value"].as_f64().expect("a number");
    assert!(learned > 1.025 && learned < 1.033, "{learned}");
    // (52.30 − 51.26)/(2·0.2769) − 1 = 0.878.
    near(&figure("nesting")["mean"], 0.878, 0.001);
    assert_eq!(figure("metres_ratio")["coils"], json!(3));
    assert!(figure("threading_m")["learned"]["value"].as_f64() > Some(0.65), "{}", figure("threading_m"));
    near(&told["minutes"][0]["usual_min"], 20.0, 1e-4);
    assert_eq!(told["minutes"][0]["step"], "wound");
}

#[test]
fn a_coil_far_off_is_named_with_its_cause_and_not_learned_from() {
    let shop = shop_with_work();
    RATIOS.iter().for_each(|r| drop(wind(&shop, "j-1", *r, &json!({}))));
    let recorded = wind(&shop, "j-1", 1.11, &json!({}));
    let finding = &recorded["findings"][0];
    assert_eq!(finding["code"], "dcr_off_plan", "{recorded}");
    let text = finding["text"].as_str().expect("text");
    assert!(
        text.contains("stretched") && text.contains("miscounted by 9 turns") && text.contains("nothing is learned"),
        "{text}"
    );
    let told = shop.answer("learn.show", &json!({}));
    assert_eq!(told["ratios"][0]["coils"], json!(8));
    let outlier = &told["outliers"][0];
    assert_eq!((&outlier["coil_no"], &outlier["learned_from"]), (&json!(9), &json!(false)), "{outlier}");
}

#[test]
fn switched_off_learning_plans_by_first_values() {
    let shop = shop_with_work();
    RATIOS.iter().for_each(|r| drop(wind(&shop, "j-1", *r, &json!({}))));
    shop.done("shop.set", &json!({ "learning": false }));
    assert_eq!(dcr(&shop.answer("coil.design", &coil())), FIRST.get(&shop));
    assert_eq!(shop.answer("learn.show", &json!({}))["on"], false);
}

/// One shop, one hand: whatever is asked about a coil takes what was learned of it, so no two answers differ.
#[test]
fn after_teaching_match_fit_sound_pair_and_batch_plan_the_coil_that_design_plans() {
    let shop = shop_with_work();
    let measured = json!({ "width_mm": 15.2, "outside_mm": 52.33, "drawn_m": { "value": 17.3, "u": 0.02 } });
    RATIOS.iter().for_each(|r| drop(wind(&shop, "j-1", *r, &measured)));
    let design = shop.answer("coil.design", &coil());
    for param in ["assume.resistance_excess_pct", "assume.pitch_factor", "assume.nesting", "assume.elongation_pct"] {
        assert_eq!(origin(&design, param)["mark"], "learned", "{param}: {}", design["origins"]);
    }
    let (former, gap) = (coil()["former"].clone(), coil()["gap"].clone());
    let target = json!({ "dcr_ohm": design["dcr_ohm"]["value"], "tolerance_pct": 1.5 });

    let fit = json!({ "wire": "cu-awg30-single", "former": former, "gap": gap, "target": target,
        "leads_m": coil()["leads_m"], "layers": [2] });
    let fitted = shop.answer("coil.fit", &fit);
    let same = fitted["widths"].as_array().expect("a list").iter().find(|w| w["turns"] == design["turns"]);
    assert_eq!(same.expect("the coil itself")["dcr_ohm"], design["dcr_ohm"]);
    assert_eq!(origin(&fitted, "assume.pitch_factor")["mark"], "learned", "{}", fitted["origins"]);

    let width = design["width_mm"]["value"].as_f64().expect("a number");
    let matched = shop.answer(
        "coil.match",
        &json!({ "gap": gap, "target": target, "leads_m": coil()["leads_m"], "tails_m": coil()["tails_m"],
        "former": { "material": former["material"], "inside_diameter_mm": former["inside_diameter_mm"],
            "wall_mm": former["wall_mm"], "height_mm": former["height_mm"], "slit_mm": former["slit_mm"] },
        "width_mm": { "min": width - 1.0, "max": width + 1.0 }, "layers": [2], "wires": ["cu-awg30-single"] }),
    );
    // Without the shims of the design it is wound on another mandrel, so it is held against the design of just this coil.
    let one = matched["feasible"].as_array().expect("a list").first().expect("a coil");
    let mut shimless = coil();
    shimless["former"].as_object_mut().expect("params").remove("shims_mm");
    shimless["winding"]["width_mm"] = one["width_mm"].clone();
    let design_of_it = shop.answer("coil.design", &shimless);
    assert_eq!(one["dcr_ohm"], design_of_it["dcr_ohm"]);
    assert_eq!(one["need_m"], design_of_it["need_m"]);
    let excess = origin(&matched, "assume.resistance_excess_pct");
    assert_eq!(excess["mark"], "learned", "{}", matched["origins"]);
    assert!(excess["source"].as_str().expect("text").starts_with("cu-awg30-single: 8 coils"), "{excess}");

    let pair = shop.answer("coil.pair", &json!({ "first": coil(), "second": coil() }));
    assert_eq!(pair["first"]["dcr_ohm"], design["dcr_ohm"]);
    let driver = json!({ "re_ohm": 5.8, "fs_hz": 38, "mms_g": 40, "qms": 4.0, "qes": 0.4 });
    let sound = json!({ "driver": driver, "original": coil(), "substitute": coil() });
    assert_eq!(origin(&shop.answer("coil.sound", &sound), "assume.resistance_excess_pct")["mark"], "learned");
    let batch = shop.answer("job.batch", &json!({ "coil": coil(), "good": 2 }));
    assert_eq!(batch["each_m"], design["need_m"], "{batch}");
}

/// A job in a wire that is not there, with one that is accepted instead: the plan counts what a coil of that one takes here.
#[test]
fn a_plan_in_another_wire_takes_what_was_learned_too() {
    let shop = shop_with_work();
    let measured = json!({ "drawn_m": { "value": 17.3, "u": 0.02 } });
    RATIOS.iter().for_each(|r| drop(wind(&shop, "j-1", *r, &measured)));
    shop.done("job.cancel", &json!({ "job": "j-1", "reason": "enough was taught" }));
    let finer = with(coil(), "/wire", json!("cu-awg31-single"));
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    shop.done(
        "job.open",
        &json!({ "title": "Ossipan B12", "coil": with(finer, "/target", json!({})), "before": before,
        "other_wires": [{ "wire": "cu-awg30-single" }] }),
    );
    let plan = shop.answer("plan.make", &json!({}));
    let here = &shop.answer("coil.design", &coil())["need_m"]["value"];
    let by_first_values = json!({ "pitch_factor": 1.02, "nesting": 0.90, "elongation_pct": 0.2 });
    let first = with(with(coil(), "/assume", by_first_values), "/threading_m", json!(0.60));
    let first = &shop.answer("coil.design", &first)["need_m"]["value"];
    assert_eq!(plan["assign"][0]["wire"], "cu-awg30-single", "{plan}");
    // The plan reckons in whole millimetres.
    near(&plan["spools"][0]["used_m"], here.as_f64().expect("metres"), 0.002);
    assert!((here.as_f64().expect("metres") - first.as_f64().expect("metres")).abs() > 0.1, "{here} and {first}");
}
