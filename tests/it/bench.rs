//! `coil.reading`, `coil.trim` and `coil.heat` through the port: the worked trim to its print, the meter that cannot decide,
//! and what no meter and no bench can show.

use crate::shop::{Shop, sample, with};
use serde_json::{Value, json};

/// A 25.7 mm coil of 37 + 36 turns of AWG 34, written out as the worked case prints the wire.
fn brellin() -> Value {
    json!({
        "wire": { "conductor": "copper", "bare_mm": 0.16002, "overall_mm": 0.17653, "overall_min_mm": 0.1702,
                  "overall_max_mm": 0.1829, "ohm_per_m": 0.85730, "g_per_m": 0.18498 },
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 25.70, "wall_mm": 0.08, "slit_mm": 1 },
        "winding": { "width_mm": 7.0, "turns_per_layer": [37, 36] },
        "leads_m": 0.10,
    })
}

/// It reads 5.81 Ω at 26 °C, the shorted test leads 0.21; 5.30 ± 0.05 Ω is wanted.
pub fn trim() -> Value {
    json!({
        "coil": brellin(), "reading_ohm": 5.81, "test_leads_ohm": 0.21, "temperature_c": 26,
        "target_ohm": 5.30, "tolerance_ohm": 0.05, "meter": { "pct": 0.8, "digits": 3, "resolution_ohm": 0.01 },
    })
}

/// The 51 mm coil on a bench of 23 °C, by a meter of two decimals held against a resistor.
pub fn reading() -> Value {
    json!({
        "coil": sample(), "temperature_c": { "value": 23, "u": 0.5 }, "test_leads_ohm": 0.21,
        "meter": { "reference_ohm": 5.6, "reference_pct": 1, "resolution_ohm": 0.01 },
    })
}

/// Half as much again, hot.
pub fn heat() -> Value {
    json!({ "cold_ohm": 6.00, "cold_c": { "value": 20, "u": 0.5 }, "hot_ohm": "9.00 ohm", "conductor": "copper", "limits_c": [155, 180] })
}

fn number(v: &Value) -> f64 {
    v["value"].as_f64().or(v.as_f64()).unwrap_or_else(|| panic!("{v} is no number"))
}

fn has(answer: &Value, code: &str) -> bool {
    answer["findings"].as_array().is_some_and(|all| all.iter().any(|f| f["code"] == code))
}

#[track_caller]
fn prints(v: &Value, printed: &str) {
    let half_a_digit = 0.5 * 10f64.powi(-(printed.split_once('.').map_or(0, |(_, d)| d.len()) as i32));
    let wanted: f64 = printed.parse().expect("a printed number");
    assert!((number(v) - wanted).abs() <= half_a_digit * (1.0 + 1e-9), "{v}, printed {printed}");
}

fn step(answer: &Value, turns: f64) -> &Value {
    let steps = answer["steps"].as_array().expect("steps");
    steps.iter().find(|s| s["turns"].as_f64() == Some(turns)).unwrap_or_else(|| panic!("no step of {turns}: {answer}"))
}

/// Case S6 (regression values, worked by hand and by another script): every printed figure to half a unit of its last digit.
#[test]
fn the_trimmed_coil_prints_as_worked_by_hand() {
    let shop = Shop::open();
    let design = shop.answer("coil.design", &brellin());
    prints(&design["length_m"], "6.012");
    prints(&design["dcr_ohm"], "5.291");
    prints(&design["turn_ohm"], "0.0717");
    // The count that 7.0 mm hold is the one that was wound.
    let by_width = with(brellin(), "/winding", json!({ "layers": 2, "width_mm": 7.0 }));
    assert_eq!(shop.answer("coil.design", &by_width)["turns_per_layer"], json!([37, 36]));
    for coil in [brellin(), by_width] {
        let t = shop.answer("coil.trim", &with(trim(), "/coil", coil));
        prints(&t["dcr_ohm"], "5.471");
        prints(&t["ratio"], "1.0346");
        prints(&t["turn_ohm"], "0.0742");
        prints(&t["exact_turns"], "2.30");
        assert_eq!(t["unwind_turns"], json!(2.0), "{t}");
        prints(&step(&t, 2.0)["dcr_ohm"], "5.323");
        prints(&step(&t, 2.0)["reading_ohm"], "5.658");
        prints(&step(&t, 2.5)["dcr_ohm"], "5.285");
        prints(&step(&t, 3.0)["dcr_ohm"], "5.248");
        assert_eq!((&step(&t, 2.0)["exit"], &step(&t, 2.5)["exit"]), (&json!("same"), &json!("opposite")));
        prints(&t["meter_u_ohm"], "0.044");
        prints(&t["meter_u_turns"], "0.6");
        assert!(!has(&t, "meter_cannot_decide"), "{t}");
    }
    assert!(has(
        &shop.answer("coil.trim", &with(trim(), "/coil/winding", json!({ "layers": 2, "width_mm": 7.0 }))),
        "turns_not_counted"
    ));
}

#[test]
fn a_meter_of_a_tenth_of_an_ohm_cannot_decide() {
    let shop = Shop::open();
    let coarse = json!({ "pct": 0.8, "digits": 3, "resolution_ohm": 0.1 });
    let t = shop.answer("coil.trim", &with(trim(), "/meter", coarse.clone()));
    prints(&t["meter_u_turns"], "2.7");
    assert!(t["unwind_turns"].is_null() && has(&t, "meter_cannot_decide"), "{t}");
    assert!(t["sentence"].as_str().unwrap().contains("nobody can say"), "{t}");
    let r = shop.answer("coil.reading", &with(reading(), "/meter", coarse));
    assert_eq!((&r["can_decide"], &r["accept_ohm"]), (&json!(false), &Value::Null), "{r}");
    let told = r["findings"].as_array().unwrap().iter().find(|f| f["code"] == "meter_cannot_decide").expect("told");
    assert!(told["text"].as_str().unwrap().contains("use a meter of 0.8 % + 3 digits at 0.01 Ω a digit"), "{told}");
}

/// Handbook's figures for 6 Ω: ± 0.35 Ω at 0.1 Ω a digit (u 0.20), ± 0.08 Ω at 0.01 Ω, as limits; a 1 % resistor about 0.6 %.
/// The leads are none and the temperature certain, so that the meter's own doubt is left.
#[test]
fn the_meters_own_doubt_is_that_of_its_papers() {
    let shop = Shop::open();
    let of = |meter: Value| {
        let asked = json!({ "dcr_ohm": { "value": 6, "u": 0.1 }, "temperature_c": { "value": 20, "u": 0 }, "test_leads_ohm": 0, "conductor": "copper", "tolerance_pct": 10, "meter": meter });
        number(&shop.answer("coil.reading", &asked)["reading_u_ohm"])
    };
    let limit = |u: f64| u * 3f64.sqrt();
    let by_papers = |step: f64| of(json!({ "pct": 0.8, "digits": 3, "resolution_ohm": step }));
    assert!((limit(by_papers(0.1)) - 0.35).abs() <= 0.005 && (by_papers(0.1) - 0.20).abs() <= 0.005);
    assert!((limit(by_papers(0.01)) - 0.08).abs() <= 0.005);
    let compared = of(json!({ "reference_ohm": 6, "reference_pct": 1, "resolution_ohm": 0.01 }));
    assert!((compared / 6.0 - 0.006).abs() <= 0.0005, "{compared}");
}

/// The definition: limits of the tolerance as the meter shows them, narrowed by 1.64 u on either side.
#[test]
fn the_band_of_acceptance_is_the_tolerance_less_the_doubt() {
    let shop = Shop::open();
    let r = shop.answer("coil.reading", &reading());
    let (warm, leads, u) = (1.0 + 0.00393 * 3.0, 0.21, number(&r["reading_u_ohm"]));
    let near = |met: &Value, wanted: f64| assert!((number(met) - wanted).abs() < 1e-9, "{met}, not {wanted}");
    near(&r["accept_ohm"]["min"], 5.8 * 0.97 * warm + leads + 1.64 * u);
    near(&r["accept_ohm"]["max"], 5.8 * 1.03 * warm + leads - 1.64 * u);
    near(&r["expect_ohm"], number(&r["dcr_ohm"]) * warm + leads);
    assert_eq!(r["can_decide"], true);
    near(&r["wrong_verdict_pct"], number(&r["bad_taken_pct"]) + number(&r["good_refused_pct"]));
    // Beside a coil, its resistance alone: the same coil, the same reading.
    let dcr = json!({ "dcr_ohm": r["dcr_ohm"], "conductor": "copper", "target_ohm": 5.8, "tolerance_pct": 3,
                      "temperature_c": { "value": 23, "u": 0.5 }, "test_leads_ohm": 0.21, "meter": reading()["meter"] });
    let alone = shop.answer("coil.reading", &dcr);
    for member in ["expect_ohm", "accept_ohm", "wrong_verdict_pct", "reading_u_ohm"] {
        assert_eq!(alone[member], r[member], "{member}");
    }
}

/// What the shop set is what is taken, and only what nobody set is named among the origins.
#[test]
fn the_shops_meter_is_taken_where_none_is_given() {
    let shop = Shop::open();
    let asked = json!({ "dcr_ohm": 6, "temperature_c": 20, "test_leads_ohm": 0.2 });
    let took = |a: &Value, param: &str| a["origins"].as_array().unwrap().iter().any(|o| o["param"] == param);
    let before = shop.answer("coil.reading", &asked);
    assert!(before["meter"].as_str().unwrap().contains("0.01 Ω a digit") && took(&before, "meter.pct"), "{before}");
    assert!(took(&before, "temperature_c") && took(&before, "tolerance_pct") && took(&before, "conductor"));
    shop.done(
        "shop.set",
        &json!({ "meter": { "pct": 0.1, "digits": 2, "resolution_ohm": 0.001 }, "temperature_u_c": 0.3 }),
    );
    let after = shop.answer("coil.reading", &asked);
    assert_eq!(after["meter"], "a meter of 0.1 % + 2 digits at 0.001 Ω a digit");
    assert!(!took(&after, "meter.pct") && !took(&after, "temperature_c"), "{after}");
    assert_eq!((after["temperature_c"]["u"].as_f64(), after["seq"].as_u64()), (Some(0.3), Some(1)));
    assert!(number(&after["wrong_verdict_pct"]) < number(&before["wrong_verdict_pct"]));
}

/// Arithmetic by the published linear law: half as much again is 127.2 K and 3.52 dB; the stop is 6·(1 + 0.00393·135).
#[test]
fn a_hot_coil_tells_its_temperature_its_loss_and_its_stop() {
    let shop = Shop::open();
    let h = shop.answer("coil.heat", &heat());
    prints(&h["temperature_c"], "147.2");
    prints(&h["db_lost"], "3.52");
    prints(&h["stop_ohm"], "9.183");
    assert_eq!(h["margins"][0]["limit_c"], 155.0);
    prints(&h["margins"][0]["left_c"], "7.8");
    prints(&h["margins"][1]["stop_ohm"], "9.773");
    // Three digits of 0.01 Ω as a limit, at either reading; the meter's scale is in both and falls out.
    let u = 0.03 / 3f64.sqrt() / 6.0 * 1.5f64.hypot(1.0) / 0.00393;
    let by_readings = (h["temperature_c"]["u"].as_f64().unwrap().powi(2) - (1.5 * 0.5f64).powi(2)).sqrt();
    assert!((by_readings / u - 1.0).abs() < 1e-3, "{by_readings} {u}");
    let stop_only =
        shop.answer("coil.heat", &json!({ "cold_ohm": 6.2, "test_leads_ohm": 0.2, "cold_c": 20, "limits_c": [155] }));
    prints(&stop_only["stop_ohm"], "9.383");
    assert!(stop_only["temperature_c"].is_null(), "{stop_only}");
}

#[test]
fn what_no_meter_and_no_bench_shows_is_refused_in_the_trades_words() {
    let shop = Shop::open();
    let wrong = |method: &str, asked: Value, pointer: &str, words: &str| {
        let error = shop.error(method, &asked);
        assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(-32602), &json!(pointer)), "{error}");
        let detail = error["data"]["detail"].as_str().unwrap();
        assert!(detail.contains(words) && error["data"]["next_step"].is_string(), "{error}");
    };
    wrong(
        "coil.trim",
        with(trim(), "/coil/winding/turns_per_layer", json!([37, 36.5])),
        "/coil/winding/turns_per_layer/1",
        "whole turns",
    );
    wrong("coil.trim", with(trim(), "/reading_ohm", json!(0)), "/reading_ohm", "shorted");
    wrong("coil.trim", with(trim(), "/reading_ohm", json!(-5.8)), "/reading_ohm", "shorted");
    wrong("coil.trim", with(trim(), "/reading_ohm", json!("5.8 Mohm")), "/reading_ohm", "broken wire");
    wrong("coil.trim", with(trim(), "/reading_ohm", json!(0.22)), "/reading_ohm", "leaves nothing");
    wrong("coil.trim", with(trim(), "/test_leads_ohm", json!(-0.1)), "/test_leads_ohm", "no test leads");
    wrong("coil.trim", with(trim(), "/temperature_c", json!(-300)), "/temperature_c", "no bench");
    wrong("coil.trim", with(trim(), "/tolerance_ohm", json!(0)), "/tolerance_ohm", "outside");
    wrong("coil.trim", with(trim(), "/target_ohm", Value::Null), "/target_ohm", "");
    wrong("coil.reading", json!({ "temperature_c": 20 }), "", "no coil");
    wrong("coil.reading", with(reading(), "/dcr_ohm", json!(6)), "/dcr_ohm", "one of them");
    wrong("coil.reading", with(reading(), "/conductor", json!("copper")), "/conductor", "of what metal");
    wrong("coil.reading", json!({ "dcr_ohm": 0, "temperature_c": 20 }), "/dcr_ohm", "shorted");
    wrong("coil.reading", with(reading(), "/meter", json!({ "pct": -1 })), "/meter/pct", "no meter");
    wrong(
        "coil.reading",
        with(reading(), "/meter", json!({ "resolution_ohm": 0 })),
        "/meter/resolution_ohm",
        "no meter",
    );
    wrong("coil.reading", with(reading(), "/meter", json!({ "pct": 1, "reference_ohm": 5.6 })), "/meter", "both");
    wrong("coil.reading", with(reading(), "/meter", json!({ "reference_pct": 1 })), "/meter/reference_ohm", "no value");
    wrong(
        "coil.reading",
        with(reading(), "/meter", json!({ "reference_ohm": 5.6, "reference_reading_ohm": 56 })),
        "/meter/reference_reading_ohm",
        "no meter",
    );
    wrong("coil.heat", with(heat(), "/cold_ohm", json!(0)), "/cold_ohm", "shorted");
    wrong("coil.heat", with(heat(), "/hot_ohm", json!(0)), "/hot_ohm", "shorted");
    wrong("coil.heat", with(heat(), "/test_leads_ohm", json!(6)), "/cold_ohm", "leaves nothing");
    wrong("coil.heat", with(heat(), "/cold_c", json!(-274)), "/cold_c", "no bench");
    wrong("coil.heat", with(heat(), "/limits_c", json!([155, 1000])), "/limits_c/1", "nothing in a coil");
    wrong("coil.heat", with(heat(), "/limits_c", json!([10])), "/limits_c/0", "warmer");
    wrong("coil.heat", json!({ "cold_ohm": 6, "cold_c": 20 }), "", "tells nothing");
    shop.goes_on();
}

#[test]
fn a_coil_that_is_low_or_another_is_refused() {
    let shop = Shop::open();
    let refused = |asked: Value, reason: &str, words: &str| {
        let error = shop.error("coil.trim", &asked);
        assert_eq!((&error["code"], &error["data"]["kind"]), (&json!(1100), &json!("refused")), "{error}");
        assert_eq!(error["data"]["reason"], reason, "{error}");
        assert!(error["data"]["detail"].as_str().unwrap().contains(words), "{error}");
    };
    refused(with(trim(), "/reading_ohm", json!(5.5)), "already_low", "nothing can be put back");
    refused(with(trim(), "/target_ohm", json!(0.1)), "not_this_coil", "wind it anew");
}

#[test]
fn on_a_terminal_the_sentence_comes_first() {
    let shop = Shop::open();
    for (words, asked, first) in [
        (["coil", "reading"], reading(), "The meter should show"),
        (["coil", "trim"], trim(), "The coil has 5.471 Ω"),
        (["coil", "heat"], heat(), "The winding is at"),
    ] {
        let mut command = shop.command(&words);
        let done = command.args(["--params", &asked.to_string()]).output().expect("it runs");
        assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
        let said = String::from_utf8(done.stdout).expect("text");
        assert!(said.contains(&format!("sentence\t{first}")), "{said}");
    }
}

/// Beside the counted coil, by trial: 14.96 mm hold 51.99 turns of this wire, so the count stands on an edge; 15.1 mm hold
/// 52.5. The shares are those of the doubtful pitch and wire: between them the half turn of the floor.
#[test]
fn a_count_on_an_edge_shows_what_a_filled_width_comes_to() {
    let shop = Shop::open();
    let at = |width: f64| shop.answer("coil.design", &with(sample(), "/winding/width_mm", json!(width)));
    let d = at(14.96);
    assert_eq!(d["turns_per_layer"], json!([51, 50]));
    let f = &d["if_filled"];
    assert!((number(&f["holds_turns"]) - 51.99).abs() < 0.01, "{f}");
    assert!((number(&f["turns"]) - (2.0 * 51.5 - 1.0)).abs() < 0.3, "{f}");
    let shares: f64 = f["first_layer"].as_array().unwrap().iter().map(|c| number(&c["share_pct"])).sum();
    assert!((shares - 100.0).abs() < 1e-9, "{f}");
    let (low, mean, high) = (number(&f["dcr_low_ohm"]), number(&f["dcr_ohm"]), number(&f["dcr_high_ohm"]));
    assert!(low < mean && mean < high && f["dcr_ohm"]["u"].as_f64() > d["dcr_ohm"]["u"].as_f64(), "{f}");
    assert!(has(&d, "count_on_an_edge") && d == at(14.96), "the same question has the same answer");
    for coil in [
        at(15.1),
        shop.answer(
            "coil.design",
            &with(sample(), "/winding", json!({ "turns_per_layer": [51, 50], "width_mm": 14.96 })),
        ),
    ] {
        assert!(coil["if_filled"].is_null() && !has(&coil, "count_on_an_edge"), "{coil}");
    }
}

/// A spool at the end of its wire: 97.3 g gross on a reel of 97 ± 1 g. The estimate reaches below nothing; what can be left
/// is more in the mean, and less doubtful.
#[test]
fn a_spool_near_empty_shows_what_can_be_left() {
    let shop = Shop::open();
    let received = |gross: f64| {
        let spool = shop.done(
            "spool.receive",
            &json!({ "wire": "cu-awg31-single", "gross_g": gross, "tare_g": { "value": 97.0, "u": 1.0 }, "scale_u_g": 0.06 }),
        );
        shop.answer("spool.show", &json!({ "spool": spool["spool"] }))
    };
    let empty = received(97.3);
    let (left, near) = (&empty["left_m"], &empty["near_empty"]);
    assert!(number(&near["left_m"]) > number(left), "{empty}");
    assert!(
        near["left_m"]["u"].as_f64() < left["u"].as_f64() && number(&near["at_most_m"]) > number(&near["left_m"]),
        "{near}"
    );
    assert!(received(149.3)["near_empty"].is_null());
}

/// One calculation stands behind the sheet on the bench and the answer on the screen.
#[test]
fn the_traveller_prints_the_limits_of_coil_reading() {
    let shop = Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "gross_g": 300, "tare_g": 97 }));
    shop.done("job.open", &json!({ "title": "Ossipan B12", "coil": sample() }));
    let sheet = shop.answer("sheet.traveller", &json!({ "job": "j-1", "spool": "s-1", "as_of": "2026-03-02" }));
    let asked = json!({ "coil": sample(), "temperature_c": 23, "test_leads_ohm": 0.2 });
    let accept = &shop.answer("coil.reading", &asked)["accept_ohm"];
    let printed = format!("{:.2} to {:.2} Ω", number(&accept["min"]), number(&accept["max"]));
    assert!(sheet["html"].as_str().unwrap().contains(&printed), "{printed}");
}
