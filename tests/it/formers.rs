//! `former.compare` over the wire: formers side by side under one coil.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};
use std::f64::consts::PI;

/// The example: the sample's aluminium against film, with a price and a field.
pub fn question() -> Value {
    json!({
        "coil": sample(),
        "formers": [
            { "material": "polyimide-film", "wall_mm": 0.125, "price_per_m2": { "amount": "62.50", "currency": "EUR" } },
            { "material": "kraft-paper" },
        ],
        "price_per_m2": { "amount": "9.20", "currency": "EUR" },
        "field_t": { "value": 0.9, "u": 0.05 },
    })
}

#[track_caller]
fn number(answer: &Value, pointer: &str) -> f64 {
    answer.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("no {pointer} in {answer}"))
}

#[track_caller]
fn refused(shop: &Shop, change: impl FnOnce(&mut Value), pointer: &str, words: &str) {
    let mut params = question();
    change(&mut params);
    let reply = shop.call("former.compare", &params);
    assert!(reply["error"]["data"]["pointer"] == pointer && reply["error"].to_string().contains(words), "{reply}");
}

/// Each figure against the formula written out here: clearance falls by the wall's excess, mass is density times blank,
/// damping πD·t·h_g/ρ closed and that times 1 − h_g/h slit, growth α·D·ΔT, price by the blank's area.
#[test]
fn formers_stand_side_by_side() {
    let shop = Shop::with(&[], &[]);
    let reply = shop.call("former.compare", &question());
    let (own, film) = (&reply["result"]["items"][0], &reply["result"]["items"][1]);
    let coil = sample();
    let (id, wall) = (number(&coil, "/former/inside_diameter_mm"), number(&coil, "/former/wall_mm"));
    let (height, plate) = (number(&coil, "/former/height_mm"), number(&coil, "/gap/plate_mm"));
    assert!((number(film, "/clearance_cost_mm") - (0.125 - wall)).abs() < 1e-9, "{film}");
    assert_eq!(number(own, "/clearance_cost_mm"), 0.0);
    let blank = PI * (id + 0.125);
    assert!((number(film, "/blank/length_mm") - blank).abs() < 1e-9);
    assert!((number(film, "/former_g/value") - 1.42e-3 * blank * 0.125 * height).abs() < 1e-9);
    let closed = PI * (id + wall) * 1e-3 * wall * 1e-3 * plate * 1e-3 / 2.83e-8;
    assert!((number(own, "/closed_per_t2/value") / closed - 1.0).abs() < 1e-9, "{own}");
    assert!((number(own, "/slit_per_t2/value") / (closed * (1.0 - plate / height)) - 1.0).abs() < 1e-9);
    assert!((number(own, "/closed_n_s_per_m/value") / (0.81 * closed) - 1.0).abs() < 1e-9);
    assert!(film["closed_per_t2"].is_null());
    let rise = number(&coil, "/hot_c") - number(&coil, "/bench_c");
    assert!((number(film, "/growth_hot_mm") - 2e-5 * (id + 0.125) * rise).abs() < 1e-9);
    let cents = (62.50 * 100.0 * (blank * height).ceil() / 1e6).ceil();
    assert_eq!(film["price"]["amount"], format!("{:.2}", cents / 100.0));
    assert!(film["sentence"].as_str().unwrap().contains("adds no damping"), "{film}");
    // Paper's expansion is not known, so it is absent and never zero; its wall is the usual one nearest to the coil's own.
    let paper = &reply["result"]["items"][2];
    assert!(paper["growth_hot_mm"].is_null() && number(paper, "/wall_mm") == 0.13, "{paper}");
    assert!(paper["sentence"].as_str().unwrap().contains("not for this coil"), "{paper}");
}

/// A former that is used again has diameters of its own: no new former stands beside those.
#[test]
fn a_former_that_is_used_again_is_not_set_beside_new_ones() {
    let shop = Shop::with(&[], &[]);
    let six = json!([51.24, 51.25, 51.23, 51.24, 51.26, 51.24]);
    let used = |p: &mut Value| p["coil"]["former"]["outside_diameters_mm"] = six.clone();
    refused(&shop, used, "/coil/former/outside_diameters_mm", "leave them out and give the wall");
    let mut without = question();
    used(&mut without);
    without["coil"]["former"].as_object_mut().expect("params").remove("outside_diameters_mm");
    assert_eq!(shop.call("former.compare", &without)["result"]["items"].as_array().map(Vec::len), Some(3));
}

/// A gap smaller than the former is a stop in the sentence of the former that does not go in.
#[test]
fn a_former_too_thick_for_the_gap_is_told() {
    let shop = Shop::with(&[], &[]);
    let mut params = question();
    params["formers"] = json!([{ "material": "presspahn", "wall_mm": 1.2 }]);
    let reply = shop.call("former.compare", &params);
    let thick = &reply["result"]["items"][1];
    assert!(thick["sentence"].as_str().unwrap().contains("STOP: rubs"), "{thick}");
    assert_eq!(thick["findings"][0]["code"], "too_fat_for_gap");
}

#[test]
fn nonsense_is_refused_in_its_place() {
    let shop = Shop::with(&[], &[]);
    refused(&shop, |p| p["formers"] = json!([]), "/formers", "1 to 20");
    refused(&shop, |p| p["formers"][0]["material"] = json!("polyimide-fim"), "/formers/0/material", "polyimide-film");
    refused(&shop, |p| p["formers"][0]["wall_mm"] = json!(-1), "/formers/0/wall_mm", "no wall");
    refused(&shop, |p| p["field_t"] = json!(12), "/field_t", "12 T");
    refused(
        &shop,
        |p| p["formers"][0]["price_per_m2"]["amount"] = json!("-3"),
        "/formers/0/price_per_m2/amount",
        "no price",
    );
    let cold = json!({ "density_g_per_cm3": 1.4, "heat_limit_c": -40 });
    refused(&shop, |p| p["formers"][0]["material"] = cold, "/formers/0/material/heat_limit_c", "-40 °C");
}

/// The worked case of a 51 mm coil, arithmetic by hand: mandrel = inside diameter − 2 × shim = 50.90 mm. Growth: expansions
/// of the Industrial Power Engineering and Applications Handbook, p. 969–970.
#[test]
fn the_mandrel_comes_from_the_shops_own_drawer() {
    let shop = Shop::open();
    let empty = shop.answer("former.mandrel", &json!({ "inside_diameter_mm": 51.0 }));
    assert_eq!(empty["findings"][0]["code"], "no_mandrels");
    assert_eq!(
        (empty["to_turn"][0]["mandrel_mm"].as_f64(), empty["to_turn"][0]["shim_mm"].as_f64()),
        (Some(50.9), Some(0.05))
    );
    shop.done("shop.set", &json!({ "mandrels_mm": [25.5, 50.9, 50.5], "shims_mm": [0.05, 0.1] }));
    let own = shop.answer("former.mandrel", &json!({ "inside_diameter_mm": "51 mm", "cure_c": 120 }));
    let best = &own["choices"][0];
    assert_eq!((best["mandrel_mm"].as_f64(), best["fits"].as_bool()), (Some(50.9), Some(true)), "{own:#}");
    assert_eq!(best["shims_mm"], json!([0.05]));
    let larger = own["oven"]["larger_mm"].as_f64().expect("a figure");
    assert!((larger - 51.0 * (23e-6 - 17.3e-6) * 97.0).abs() < 1e-9, "{own:#}");
    assert_eq!(own["findings"][0]["code"], "oven_stretches");
    let steel = shop
        .answer("former.mandrel", &json!({ "inside_diameter_mm": 51.0, "cure_c": 120, "mandrel_material": "steel" }));
    assert_eq!((steel["oven"]["larger_mm"].as_f64(), steel["findings"].as_array().map(Vec::len)), (Some(0.0), Some(0)));
    // Built up with film where no mandrel is near: 50.5 + 2·(0.1 + 5·0.025).
    let film =
        shop.answer("former.mandrel", &json!({ "inside_diameter_mm": 50.95, "film_mm": 0.025, "mandrels_mm": [50.5] }));
    assert!(film["choices"][0]["off_mm"].as_f64().is_some_and(|off| off.abs() < 0.02), "{film:#}");
    let none = shop.answer("former.mandrel", &json!({ "inside_diameter_mm": 70 }));
    assert_eq!(none["findings"][0]["code"], "none_fits");
    for (params, pointer) in [
        (json!({ "inside_diameter_mm": 0 }), "/inside_diameter_mm"),
        (json!({ "inside_diameter_mm": 51, "shims_mm": [-0.05] }), "/shims_mm/0"),
        (json!({ "inside_diameter_mm": 51, "film_mm": 0 }), "/film_mm"),
        (json!({ "inside_diameter_mm": 51, "cure_c": 900 }), "/cure_c"),
        (
            json!({ "inside_diameter_mm": 51, "cure_c": 120, "mandrel_material": "steel", "mandrel_expansion_per_k": 1e-5 }),
            "/mandrel_material",
        ),
    ] {
        assert_eq!(shop.error("former.mandrel", &params)["data"]["pointer"], pointer, "{params}");
    }
}
