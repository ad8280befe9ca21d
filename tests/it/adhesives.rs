//! `adhesive.list` and `adhesive.mix` over the wire, and what the density of a named adhesive does to a coil's mass.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};

fn mix(shop: &Shop, more: Value) -> Value {
    let mut params =
        json!({ "adhesive": "epoxy-slow-equal", "coil": sample(), "winding_min": 40, "temperature_c": 23 });
    for (name, value) in more.as_object().expect("members") {
        match value {
            Value::Null => drop(params.as_object_mut().expect("params").remove(name)),
            value => params[name] = value.clone(),
        }
    }
    shop.call("adhesive.mix", &params)
}

#[track_caller]
fn number(answer: &Value, pointer: &str) -> f64 {
    answer.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("no {pointer} in {answer}"))
}

#[track_caller]
fn refused(reply: &Value, pointer: &str, words: &str) {
    let data = &reply["error"]["data"];
    assert!(data["pointer"] == pointer && reply["error"].to_string().contains(words), "{reply}");
}

/// The parts sum up to the coil's own mass; the mix is that and half as much again, common practice, no source.
#[test]
fn a_mix_fills_void_film_and_skin() {
    let shop = Shop::with(&[], &[]);
    let reply = mix(&shop, json!({ "scale_resolution_g": 0.01 }));
    let m = &reply["result"];
    let parts = ["void_g", "film_g", "skin_g"].map(|p| number(m, &format!("/goes_to/{p}/value")));
    let cured = number(m, "/cured_g/value");
    assert!((parts.iter().sum::<f64>() / cured - 1.0).abs() < 1e-9, "{m}");
    assert!((number(m, "/needed_g") - 1.5 * cured).abs() < 1e-9);
    assert!(number(m, "/mix_g") >= number(m, "/needed_g") - 0.01);
    assert!((number(m, "/resin_g") - number(m, "/hardener_g")).abs() < 1e-9);
    assert!((number(m, "/spare_min") - 20.0).abs() < 1e-9);
    let cautions = m["cautions"].to_string();
    for words in ["sensitises", "never near a turning mandrel", "oven for food", "safety data sheet"] {
        assert!(cautions.contains(words), "{words}: {cautions}");
    }
    let marks: Vec<&str> = m["origins"].as_array().unwrap().iter().filter_map(|o| o["mark"].as_str()).collect();
    assert!(marks.contains(&"memory") && marks.contains(&"common_practice"));
}

#[test]
fn the_shops_own_scale_sets_the_least_mix() {
    let shop = Shop::with(&[], &[]);
    let guessed = mix(&shop, json!({}));
    assert!((number(&guessed["result"], "/least_mix_g") - 5.657).abs() < 0.001, "{guessed}");
    assert!(guessed.to_string().contains("mix_set_by_scale") && guessed.to_string().contains("set yours"));
    shop.call_as(&shop.token(), "shop.set", &json!({ "scale": { "u_g": 0.01, "resolution_g": 0.01 } }));
    let fine = mix(&shop, json!({}));
    assert!((number(&fine["result"], "/least_mix_g") - 0.5657).abs() < 0.0001, "{fine}");
}

#[test]
fn winding_longer_than_the_pot_life_is_told_with_a_way_out() {
    let shop = Shop::with(&[], &[]);
    let long = mix(&shop, json!({ "winding_min": 90 }));
    let finding = &long["result"]["findings"][0];
    assert!(finding["code"] == "pot_life_short" && finding["level"] == "stop", "{long}");
    assert!(finding["text"].as_str().unwrap().contains("slower adhesive"));
    // 60 min at 23 °C are 30 min at 33 °C: common practice, no source.
    let warm = mix(&shop, json!({ "temperature_c": 33 }));
    assert!((number(&warm["result"], "/pot_life_min") - 30.0).abs() < 1e-9);
    assert!((number(&warm["result"], "/spare_min") + 10.0).abs() < 1e-9);
}

#[test]
fn nonsense_is_refused_in_its_place() {
    let shop = Shop::with(&[], &[]);
    refused(&mix(&shop, json!({ "adhesive": "epoxy-slow-equals" })), "/adhesive", "epoxy-slow-equal");
    refused(&mix(&shop, json!({ "coil": null, "cured_g": 0 })), "/cured_g", "0 g is outside");
    refused(&mix(&shop, json!({ "cured_g": 1 })), "/cured_g", "either");
    refused(&mix(&shop, json!({ "coil": null })), "/coil", "nothing says how much");
    refused(&mix(&shop, json!({ "temperature_c": -5 })), "/temperature_c", "outside 0 °C to 60 °C");
    refused(&mix(&shop, json!({ "winding_min": 0 })), "/winding_min", "outside");
    refused(&mix(&shop, json!({ "coils": 0 })), "/coils", "outside");
    let cold = json!({ "density_g_per_cm3": 1.2, "heat_limit_c": -20 });
    refused(&mix(&shop, json!({ "adhesive": cold })), "/adhesive/heat_limit_c", "-20 °C");
    let mut coil = sample();
    coil["adhesive"] = json!("epoxy-slo-equal");
    refused(&shop.call("coil.design", &coil), "/adhesive", "epoxy-slow-equal");
}

/// 6 h at 80 °C and 2 h at 120 °C are in the built-in table (from memory); an oven brings its own cautions, a cold cure not.
#[test]
fn a_cure_in_the_oven_is_told_with_its_cautions() {
    let shop = Shop::with(&[], &[]);
    let hot = mix(&shop, json!({ "adhesive": "epoxy-hot-100-30", "cure_c": 120 }));
    let m = &hot["result"];
    assert!(m["cautions"].to_string().contains("never an oven for food"), "{hot}");
    let cures = m["cures"].as_array().unwrap();
    assert_eq!(cures.len(), 1, "{hot}");
    assert!((number(&cures[0], "/time_min") - 120.0).abs() < 1e-9, "{hot}");
    // 30 parts of hardener on 100 by mass.
    assert!((number(m, "/hardener_g") / number(m, "/resin_g") - 0.30).abs() < 0.02, "{hot}");
    let cold = mix(&shop, json!({ "cure_c": 23 }));
    assert!(!cold["result"]["cautions"].to_string().contains("oven"), "{cold}");
    let beyond = mix(&shop, json!({ "adhesive": "epoxy-hot-100-30", "cure_c": 900 }));
    assert_eq!(beyond["error"]["data"]["pointer"], "/cure_c", "{beyond}");
}

/// A gap smaller than the former: no adhesive is mixed for a coil that does not go over its pole.
#[test]
fn what_stops_the_coil_stops_the_mix() {
    let shop = Shop::with(&[], &[]);
    let mut coil = sample();
    coil["gap"]["pole_mm"] = json!(51.4);
    let reply = mix(&shop, json!({ "coil": coil }));
    assert!(reply["result"]["findings"].to_string().contains("does not go over the pole"), "{reply}");
}

/// 1.15 g/cm³ by default, 1.20 of this adhesive: all three parts are volumes, so the masses are in that ratio.
#[test]
fn a_named_adhesive_weighs_by_its_own_density() {
    let shop = Shop::with(&[], &[]);
    let plain = shop.call("coil.design", &sample());
    let mut coil = sample();
    coil["adhesive"] = json!("epoxy-slow-equal");
    let named = shop.call("coil.design", &coil);
    let mass = |reply: &Value| number(&reply["result"], "/mass/adhesive_g/value");
    assert!((mass(&named) / mass(&plain) - 1.20 / 1.15).abs() < 1e-9);
    assert!(named["result"]["origins"].to_string().contains("adhesive.density_g_per_cm3"), "{named}");
}

/// A published winding-tension chart: 233 g on AWG 30 at 45 N/mm²; 34 to 55 advised, 68.9 the cap (masses in proportion).
#[test]
fn tension_is_told_by_layer_with_what_is_advised_and_the_cap() {
    let shop = Shop::with(&[], &[]);
    let reply = shop.call("coil.design", &sample());
    let d = &reply["result"];
    for (pointer, grams) in [
        ("/tension_g/0", 233.0),
        ("/tension_advised_g/min", 233.0 * 34.0 / 45.0),
        ("/tension_advised_g/max", 233.0 * 55.0 / 45.0),
        ("/tension_cap_g", 233.0 * 68.9 / 45.0),
    ] {
        assert!((number(d, pointer) - grams).abs() < 0.8, "{pointer}: {d}");
    }
    let later = number(d, "/tension_g/1") / number(d, "/tension_g/0");
    assert!((0.6..=0.8).contains(&later));
}
