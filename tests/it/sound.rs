//! `coil.sound`, `coil.pair` and `coil.inductance` through the port: laws that hold for any coil, published inductances, and
//! driver data that no driver has.

use crate::recompute::by_other_hands;
use crate::shop::{Shop, sample, with};
use serde_json::{Value, json};

fn driver() -> Value {
    json!({ "re_ohm": { "value": 5.8, "u": 0.03 }, "bl_tm": { "value": 7.9, "u": 0.1 }, "mms_g": 28.5, "fs_hz": "31 Hz", "qms": 3.2, "sd_cm2": 214, "rated_ohm": 8 })
}

fn thinner() -> Value {
    with(with(sample(), "/wire", json!("cu-awg31-single")), "/winding/width_mm", json!(12.5))
}

/// A substitute of thinner wire in a narrower winding.
pub fn question() -> Value {
    json!({ "driver": driver(), "original": sample(), "substitute": thinner() })
}

/// Two coils of one spool, one turn apart.
pub fn pair() -> Value {
    let counted = |turns: [u32; 2]| with(sample(), "/winding", json!({ "turns_per_layer": turns }));
    json!({ "first": counted([52, 51]), "second": counted([52, 50]), "driver": driver(),
            "first_reading_ohm": { "value": 5.85, "u": 0.01 }, "second_reading_ohm": { "value": 5.79, "u": 0.01 } })
}

/// A coil on a slit aluminium former, as a bridge showed it.
pub fn inductance() -> Value {
    json!({ "coil": sample(), "frequencies_hz": [1000, 10000], "measured_uh": { "value": 737, "u": 4 }, "measured_at_hz": 1000, "bl_tm": 7.9 })
}

fn number(v: &Value) -> f64 {
    v["value"].as_f64().or(v.as_f64()).unwrap_or_else(|| panic!("{v} is no number"))
}

#[track_caller]
fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() <= relative, "{got}, not {wanted}");
}

fn has(answer: &Value, code: &str) -> bool {
    answer["findings"].as_array().is_some_and(|all| all.iter().any(|f| f["code"] == code))
}

#[test]
fn a_substitute_follows_the_formulas_of_the_trade() {
    let shop = Shop::open();
    let answer = shop.answer("coil.sound", &question());
    let (o, s) = (&answer["original"], &answer["substitute"]);
    let [before, after] = [sample(), thinner()].map(|c| shop.answer("coil.design", &c));
    // Ratios and differences of the two designs upon the driver's own data.
    let ratio = number(&after["dcr_ohm"]) / number(&before["dcr_ohm"]);
    near(number(&s["re_ohm"]), 5.8 * ratio, 1e-12);
    let middle = |d: &Value| (number(&d["layer_diameters_mm"][0]) + number(&d["layer_diameters_mm"][1])) / 2.0;
    let by_rule = number(&before["pitch_mm"]) / number(&after["pitch_mm"]) * middle(&after) / middle(&before);
    near(number(&s["bl_tm"]), 7.9 * by_rule, 1e-12);
    let mass = |d: &Value| ["wire_g", "former_g", "adhesive_g"].iter().map(|m| number(&d["mass"][m])).sum::<f64>();
    let mms = 28.5 + mass(&after) - mass(&before);
    near(number(&s["mms_g"]), mms, 1e-12);
    near(number(&s["fs_hz"]), 31.0 * (28.5 / mms).sqrt(), 1e-12);
    let qes = 2.0 * std::f64::consts::PI * number(&s["fs_hz"]) * 1e-3 * mms * number(&s["re_ohm"])
        / number(&s["bl_tm"]).powi(2);
    near(number(&s["qes"]), qes, 1e-12);
    near(number(&s["qms"]), 3.2 * (mms / 28.5).sqrt(), 1e-12);
    near(1.0 / number(&s["qts"]), 1.0 / qes + 1.0 / number(&s["qms"]), 1e-12);
    near(number(&answer["change"]["db_1w"]), number(&s["db_1w"]) - number(&o["db_1w"]), 1e-9);
    // What both share falls out: the change is known better than the level with the substitute.
    assert!(answer["change"]["db_1w"]["u"].as_f64() < s["db_1w"]["u"].as_f64(), "{answer}");
    assert!(answer["sentence"].as_str().unwrap().contains("leaner bass"), "{}", answer["sentence"]);
    assert!(answer["origins"].as_array().unwrap().iter().any(|o| o["param"] == "field_over_plate"), "{answer}");
}

#[test]
fn each_known_set_of_driver_data_leads_as_far_as_it_can_and_says_what_it_took() {
    let shop = Shop::open();
    let told = |driver: Value| shop.answer("coil.sound", &with(question(), "/driver", driver));
    let took = |a: &Value, param: &str| a["origins"].as_array().unwrap().iter().any(|o| o["param"] == param);
    let whole = told(driver());
    let (qes, qts) = (number(&whole["original"]["qes"]), number(&whole["original"]["qts"]));
    let by_q = told(json!({ "re_ohm": 5.8, "mms_g": 28.5, "fs_hz": 31, "qes": qes, "qms": 3.2, "sd_cm2": 214 }));
    near(number(&by_q["original"]["bl_tm"]), 7.9, 1e-12);
    near(number(&by_q["substitute"]["qts"]), number(&whole["substitute"]["qts"]), 1e-12);
    assert!(took(&by_q, "driver.bl_tm"));
    let by_qts = told(json!({ "mms_g": 28.5, "fs_hz": 31, "qts": qts }));
    assert!(took(&by_qts, "driver.qms") && took(&by_qts, "driver.re_ohm"), "{by_qts}");
    near(number(&by_qts["original"]["qms"]), 5.0, 1e-12);
    let bare = told(json!({ "re_ohm": 5.8 }));
    assert!(bare["substitute"]["qts"].is_null() && has(&bare, "not_computed"));
    near(number(&bare["change"]["bl_pct"]), number(&whole["change"]["bl_pct"]), 1e-12);
}

#[test]
fn impossible_driver_data_are_refused_with_the_figure_and_its_bound() {
    let shop = Shop::open();
    let refused = |driver: Value, pointer: &str, words: &str| {
        let error = shop.error("coil.sound", &with(question(), "/driver", driver));
        assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(-32602), &json!(pointer)), "{error}");
        assert!(
            error["data"]["detail"].as_str().unwrap().contains(words) && error["data"]["allowed"].is_string(),
            "{error}"
        );
    };
    refused(json!({ "qts": 0.5, "qes": 0.4 }), "/driver/qts", "below both");
    refused(json!({ "qts": 0.5, "qes": 0.5 }), "/driver/qts", "below both");
    refused(json!({ "qts": 6.0, "mms_g": 28.5, "fs_hz": 31 }), "/driver/qts", "which was assumed");
    refused(json!({ "mms_g": -3 }), "/driver/mms_g", "outside what a driver can have");
    refused(json!({ "fs_hz": 0 }), "/driver/fs_hz", "outside");
    refused(json!({ "mms_g": 3.0 }), "/driver/mms_g", "too little");
}

#[test]
fn another_former_moves_the_damping_and_without_bl_only_its_direction_is_told() {
    let shop = Shop::open();
    let film = with(sample(), "/former/material", json!("polyimide-film"));
    let asked = with(with(question(), "/substitute", film), "/driver/bl_tm", json!(2.2));
    let exchanged = shop.answer("coil.sound", &asked);
    assert!(has(&exchanged, "former_damping_exchanged"), "{exchanged}");
    assert!(number(&exchanged["change"]["qms"]) > 0.0);
    let u = exchanged["change"]["qms"]["u"].as_f64().unwrap() / number(&exchanged["change"]["qms"]);
    assert!(u > 0.3, "the label of 40 % shows: {}", exchanged["change"]["qms"]);
    let mut silent = asked;
    silent["driver"] = json!({ "re_ohm": 5.8, "mms_g": 28.5, "fs_hz": 31, "qms": 3.2 });
    assert!(has(&shop.answer("coil.sound", &silent), "former_damping_direction"));
}

#[test]
fn a_pair_of_one_spool_differs_by_its_turn_and_little_else() {
    let shop = Shop::open();
    let answer = shop.answer("coil.pair", &pair());
    let d = &answer["difference"];
    let turn = number(&shop.answer("coil.design", &pair()["first"])["turn_ohm"]);
    assert!((number(&d["dcr_ohm"]) + turn).abs() < 0.01 * turn, "{d}: one outer turn is {turn}");
    assert!(d["dcr_pct"]["u"].as_f64().unwrap() < 0.32, "0.3 % between two coils of one spool: {d}");
    assert!(d["dcr_ohm"]["u"].as_f64().unwrap() < 0.5 * d["dcr_u_if_apart_ohm"].as_f64().unwrap(), "{d}");
    assert_eq!((&answer["same_spool"], has(&answer, "pair_apart")), (&json!(true), false), "{answer}");
    let off = shop.answer("coil.pair", &with(pair(), "/second_reading_ohm", json!(5.5)));
    assert!(has(&off, "pair_apart"), "{off}");
    let error = shop.error("coil.pair", &with(pair(), "/second_reading_ohm", json!(-1)));
    assert_eq!(error["data"]["pointer"], json!("/second_reading_ohm"));
}

/// Source: a well-known finite-element tutorial, from memory: 1000 turns of AWG 18, inside 1 in, outside 3 in, 2 in long,
/// 22.9 mH and 3.34 Ω. The turns fill the section evenly there: the pitch and the radial step are chosen so here, and 20
/// layers of 50 turns exceed what the request allows, so that the section is met with thick turns: 10 layers of 100.
/// Tolerance 0.3 % as argued from the print; the resistance follows from the tutorial's wire and is not repeated here.
#[test]
fn a_printed_coil_has_its_printed_inductance() {
    let shop = Shop::open();
    let coil = json!({
        "wire": { "conductor": "copper", "bare_mm": 0.45, "overall_mm": 2.54 },
        "former": { "material": "kraft-paper", "inside_diameter_mm": 25.38, "wall_mm": 0.01 },
        "winding": { "layers": 10, "width_mm": 53.34, "turns_per_layer": [100, 100, 100, 100, 100, 100, 100, 100, 100, 100] },
        "assume": { "nesting": 1.0, "glue_mm": 0, "skin_mm": 0 },
    });
    let answer = shop.answer("coil.inductance", &json!({ "coil": coil }));
    near(number(&answer["exact_uh"]), 22_900.0, 0.003);
    let wheeler = number(&answer["wheeler_estimate_uh"]);
    near(wheeler / number(&answer["exact_uh"]) - 1.0, number(&answer["wheeler_over_pct"]) / 100.0, 1e-9);
}

#[test]
fn the_bridge_tells_a_closed_former_from_a_slit_one() {
    let shop = Shop::open();
    let answer = shop.answer("coil.inductance", &inductance());
    let exact = number(&answer["exact_uh"]);
    near(exact, number(&shop.answer("coil.design", &sample())["inductance_air_uh"]), 1e-5);
    let k = number(&answer["former"]["coupling"]);
    assert!((0.5..1.0).contains(&k), "{k}");
    // L falls by k²x²/(1+x²) at each frequency.
    for at in answer["at"].as_array().unwrap() {
        let x = number(&at["frequency_hz"]) / number(&answer["former"]["corner_hz"]);
        near(number(&at["closed_uh"]), exact * (1.0 - k * k * x * x / (1.0 + x * x)), 1e-12);
        assert!(number(&at["shorted_uh"]) < exact && number(&at["closed_added_ohm"]) > 0.0);
    }
    let closed = number(&answer["at"][0]["closed_uh"]);
    let state = |measured: f64| {
        let asked = with(inductance(), "/measured_uh", json!({ "value": measured, "u": 0.004 * measured }));
        let answer = shop.answer("coil.inductance", &asked);
        let agrees = |name: &str| {
            answer["diagnosis"].as_array().unwrap().iter().any(|d| d["state"] == name && d["agrees"] == true)
        };
        (agrees("sound"), agrees("former_closed"))
    };
    assert_eq!((state(exact), state(closed)), ((true, false), (false, true)));
    let damping = &answer["damping"];
    near(number(&damping["slit_n_s_per_m"]) / number(&damping["closed_n_s_per_m"]), 1.0 - 8.0 / 38.0, 1e-12);
    assert_eq!(damping["slit"], json!(true));
}

#[test]
fn what_cannot_be_measured_is_refused() {
    let shop = Shop::open();
    for (pointer, value) in [
        ("/measured_at_hz", json!(0)),
        ("/frequencies_hz", json!([])),
        ("/shorted_turns", json!(0)),
        ("/measured_uh", json!(-700)),
        ("/bl_tm", json!(0)),
        ("/former_edge_mm", json!(-1)),
        ("/shorted_turns", json!(500)),
    ] {
        let error = shop.error("coil.inductance", &with(inductance(), pointer, value));
        assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(-32602), &json!(pointer)), "{error}");
    }
}

/// 120 random questions, another seed each time: three in four of `coil.sound`, the others of `coil.inductance`.
#[test]
fn random_coils_sound_and_couple_as_other_hands_compute_them() {
    const QUESTIONS: usize = 120;
    let shop = Shop::open();
    by_other_hands("sound.py", QUESTIONS, "coil.sound and coil.inductance were", |mut question| {
        question["answer"] = shop.answer(question["method"].as_str().expect("a method"), &question["params"]);
        question
    });
}
