//! Params that do not fit: each is named by its pointer, with what was met and what is allowed.

use super::{Wanted, is};
use crate::shop::{Shop, sample, with};
use serde_json::{Value, json};

const WRONG: &str = "wrong_request";

/// Sets `pointer` of the sample coil and tells what must come back about that same member.
#[track_caller]
fn refused(shop: &Shop, pointer: &str, value: Value, says: &[&str], next: &[&str]) {
    refused_at(shop, pointer, value, pointer, says, next);
}

#[track_caller]
fn refused_at(shop: &Shop, pointer: &str, value: Value, at: &str, says: &[&str], next: &[&str]) {
    let error = shop.error("coil.design", &with(sample(), pointer, value));
    is(&error, &Wanted { code: -32602, kind: WRONG, pointer: Some(at), says, next });
    assert!(error["message"] == "params do not fit", "{error}");
}

pub fn all(shop: &Shop) {
    outside_its_range(shop);
    not_a_number(shop);
    text_that_is_not_understood(shop);
    unknown_names(shop);
    wrong_shapes(shop);
    inline_things(shop);
}

#[test]
fn figures_that_no_coil_has_are_refused_by_name_and_range() {
    let shop = Shop::open();
    outside_its_range(&shop);
    shop.goes_on();
}

fn outside_its_range(shop: &Shop) {
    for (pointer, value, says) in [
        ("/former/inside_diameter_mm", json!("40 m"), &["40000 mm", "3 to 500 mm"][..]),
        ("/former/inside_diameter_mm", json!(-51), &["-51 mm", "3 to 500 mm"]),
        ("/former/inside_diameter_mm", json!(0), &["0 mm", "3 to 500 mm"]),
        ("/former/wall_mm", json!(0), &["0 mm is outside"]),
        ("/former/wall_mm", json!(-0.12), &["-0.12 mm is outside"]),
        ("/former/height_mm", json!(-38), &["-38 mm is outside"]),
        ("/former/slit_mm", json!(-1), &["-1 mm is outside"]),
        ("/former/slit_mm", json!(500), &["500 mm is outside"]),
        ("/former/shims_mm", json!([-0.05]), &["-0.05 mm is outside"]),
        ("/winding/width_mm", json!(0), &["0 mm is outside"]),
        ("/winding/width_mm", json!(-15), &["-15 mm is outside"]),
        ("/winding/width_mm", json!("15 km"), &["is outside", "500 mm"]),
        ("/winding/layers", json!(0), &["0 layers", "1 to 12"]),
        ("/winding/layers", json!(13), &["13 layers", "1 to 12"]),
        ("/winding/layers", json!(4_000_000_000_u32), &["4000000000 layers", "1 to 12"]),
        ("/leads_m", json!(-0.12), &["-0.12 m is outside"]),
        ("/tails_m", json!(-0.4), &["-0.4 m is outside"]),
        ("/threading_m", json!(1e9), &["is outside", "50 m"]),
        ("/leads_m", json!(1e300), &["is outside", "50 m"]),
        ("/gap/pole_mm", json!(-50.5), &["-50.5 mm is outside"]),
        ("/gap/bore_mm", json!(40), &["40 mm is outside"]),
        ("/gap/plate_mm", json!(0), &["0 mm is outside"]),
        ("/gap/min_outer_mm", json!(-0.25), &["-0.25 mm is outside"]),
        ("/target/dcr_ohm", json!(0), &["0 Ω is outside"]),
        ("/target/dcr_ohm", json!(-5.8), &["-5.8 Ω is outside"]),
        ("/target/tolerance_pct", json!(-3), &["-3 % is outside"]),
        ("/target/rated_ohm", json!(0), &["0 Ω is outside"]),
        ("/bench_c", json!(-300), &["-300 °C is outside"]),
        ("/hot_c", json!(1e5), &["100000 °C is outside"]),
        ("/offset_mm", json!(1e6), &["1000000 mm is outside"]),
        ("/assume/pitch_factor", json!(0.5), &["0.5 is outside 0.9 to 3"]),
        ("/assume/nesting", json!(-1), &["-1 is outside"]),
        ("/assume/glue_mm", json!(-0.01), &["-0.01 mm is outside"]),
    ] {
        refused(shop, pointer, value, says, &["check"]);
    }
}

#[test]
fn a_count_that_no_winding_has_is_refused() {
    let shop = Shop::open();
    let counted = |turns: Value| json!({ "turns_per_layer": turns });
    for (turns, at, says) in [
        (json!([0, 0]), "/winding/turns_per_layer", "0 turns"),
        (json!([4_294_967_295_u32, 1]), "/winding/turns_per_layer", "4294967295 turns"),
        (json!(vec![52; 100_000]), "/winding/layers", "100000 layers"),
        (json!([]), "/winding/layers", "0 layers"),
    ] {
        refused_at(&shop, "/winding", counted(turns), at, &[says], &["check"]);
    }
    let disagree = json!({ "layers": 4, "turns_per_layer": [52, 51] });
    refused_at(&shop, "/winding", disagree, "/winding/turns_per_layer", &["2 layers", "4 layers"], &["list"]);
    refused_at(&shop, "/winding", json!({ "layers": 2 }), "/winding", &["neither"], &["width_mm", "turns_per_layer"]);
    refused_at(&shop, "/winding", json!({ "width_mm": 15 }), "/winding/layers", &["`layers`"], &["layers"]);
    shop.goes_on();
}

#[test]
fn what_is_no_number_is_refused_in_every_disguise() {
    let shop = Shop::open();
    not_a_number(&shop);
    shop.goes_on();
}

fn not_a_number(shop: &Shop) {
    for text in ["nan mm", "NaN", "inf mm", "-inf mm", "infinity mm"] {
        refused(shop, "/former/inside_diameter_mm", json!(text), &[text, "no number"], &["0.25 mm"]);
    }
    // A number that no double holds: JSON, but not a number here.
    let body = request(&with(sample(), "/leads_m", json!("HERE"))).replace("\"HERE\"", "1e999");
    let reply = shop.post(body);
    assert_eq!(reply.status, 200);
    let wanted = Wanted { code: -32602, kind: WRONG, pointer: Some("/leads_m"), says: &["out of range"], next: &[] };
    is(&reply.json()["error"], &wanted);
    // Bare NaN is no JSON at all.
    for bare in ["NaN", "Infinity", "-Infinity"] {
        let reply = shop.post(request(&with(sample(), "/leads_m", json!("HERE"))).replace("\"HERE\"", bare));
        assert_eq!(reply.status, 400, "{bare}: {}", reply.body);
        is(&reply.json()["error"], &Wanted { code: -32700, kind: WRONG, pointer: None, says: &["no JSON"], next: &[] });
    }
}

fn request(params: &Value) -> String {
    json!({ "jsonrpc": "2.0", "id": 1, "method": "coil.design", "params": params }).to_string()
}

#[test]
fn text_without_the_right_unit_is_refused_with_the_units_that_are() {
    let shop = Shop::open();
    text_that_is_not_understood(&shop);
    shop.goes_on();
}

fn text_that_is_not_understood(shop: &Shop) {
    let inside = "/former/inside_diameter_mm";
    refused(shop, inside, json!("51"), &["`51` has no unit", "mm"], &["0.25 mm"]);
    refused(shop, inside, json!("3 g"), &["3 g is a mass", "a length is wanted"], &["0.25 mm"]);
    refused(shop, inside, json!("5.8 ohm"), &["a resistance", "a length is wanted"], &["0.25 mm"]);
    refused(shop, inside, json!("51 parsec"), &["parsec"], &["0.25 mm"]);
    refused(shop, inside, json!(""), &["no"], &["0.25 mm"]);
    refused(shop, "/target/dcr_ohm", json!("5.8 mm"), &["a length", "a resistance is wanted"], &["ohm"]);
    // Both readings are said, and neither is taken.
    refused(shop, inside, json!("1,234 mm"), &["1.234 mm", "1234 mm"], &[]);
}

#[test]
fn a_decimal_comma_is_taken() {
    let shop = Shop::open();
    let answer = shop.answer("coil.design", &with(sample(), "/former/inside_diameter_mm", json!("51,0 mm")));
    assert_eq!(answer["understood"]["former"]["inside_diameter_mm"], 51.0);
    let answer = shop.answer("coil.design", &with(sample(), "/former/wall_mm", json!("0,12 mm")));
    assert_eq!(answer["understood"]["former"]["wall_mm"], 0.12);
}

#[test]
fn unknown_names_are_answered_with_the_nearest_right_one() {
    let shop = Shop::open();
    unknown_names(&shop);
    shop.goes_on();
}

fn unknown_names(shop: &Shop) {
    // A typo of one letter inside an inline wire.
    let typo = shop.error("coil.design", &json!({ "wire": { "conductor": "copper", "bare_mn": 0.2 } }));
    let wanted =
        Wanted { code: -32602, kind: WRONG, pointer: Some("/wire/bare_mn"), says: &["bare_mn"], next: &["`bare_mm`"] };
    is(&typo, &wanted);
    assert!(typo["data"]["allowed"].as_array().unwrap().contains(&json!("bare_mm")), "{typo}");
    for (pointer, near) in [
        ("/wyre", "`wire`"),
        ("/gap/poll_mm", "`pole_mm`"),
        ("/former/inside_diametre_mm", "`inside_diameter_mm`"),
        ("/winding/layer", "`layers`"),
        ("/assume/skin", "`skin_mm`"),
        ("/target/dcr_ohms", "`dcr_ohm`"),
    ] {
        let name = pointer.rsplit('/').next().unwrap();
        refused(shop, pointer, json!(1), &[name], &[near]);
    }
    refused_at(
        shop,
        "/former/wall_mm",
        json!({ "value": 0.12, "sigma": 0.01 }),
        "/former/wall_mm/sigma",
        &["`sigma`"],
        &["known here: value, u"],
    );
    refused(shop, "/assume/alternate_layer_turns", json!("one_fewer"), &["one_fewer"], &["`one_less`"]);
    for (method, params, pointer, id, near, list) in [
        (
            "coil.design",
            with(sample(), "/wire", json!("cu-awg30-singel")),
            "/wire",
            "cu-awg30-singel",
            "`cu-awg30-single`",
            "wire.list",
        ),
        (
            "coil.design",
            with(sample(), "/former/material", json!("aluminum-foil")),
            "/former/material",
            "aluminum-foil",
            "`aluminium-foil`",
            "former.list",
        ),
        ("wire.show", json!({ "wire": "cu-0.25-grade1" }), "/wire", "cu-0.25-grade1", "`cu-0.250-grade1`", "wire.list"),
        (
            "sheet.section",
            json!({ "coil": with(sample(), "/wire", json!("cu-awg30-singel")) }),
            "/coil/wire",
            "cu-awg30-singel",
            "`cu-awg30-single`",
            "wire.list",
        ),
    ] {
        let error = shop.error(method, &params);
        let wanted = Wanted { code: 1101, kind: "refused", pointer: Some(pointer), says: &[id], next: &[near, list] };
        is(&error, &wanted);
    }
    // A long name is not compared with all there are: that takes minutes.
    let began = std::time::Instant::now();
    let long = "x".repeat(900_000);
    let error = shop.error("wire.show", &json!({ "wire": long }));
    is(&error, &Wanted { code: 1101, kind: "refused", pointer: Some("/wire"), says: &["xxx"], next: &["wire.list"] });
    let error = shop.error("wire.show", &json!({ &long: 1 }));
    assert!(error["code"] == -32602 && error.to_string().len() < 4000, "{} bytes of error", error.to_string().len());
    let error = shop.error(&long, &json!({}));
    is(&error, &Wanted { code: -32601, kind: WRONG, pointer: None, says: &["xxx"], next: &["rpc.discover"] });
    assert!(began.elapsed() < std::time::Duration::from_secs(10), "{:?}", began.elapsed());
    // Nothing is near: then the list is named, and nothing is made up.
    for id in ["кабель-☃", "", "\u{0}\u{7f}", "../../etc/passwd", &"x".repeat(100_000)] {
        let error = shop.error("wire.show", &json!({ "wire": id }));
        is(&error, &Wanted { code: 1101, kind: "refused", pointer: Some("/wire"), says: &[], next: &["wire.list"] });
        assert!(error.to_string().len() < 2000, "{} bytes of error", error.to_string().len());
    }
}

#[test]
fn values_of_the_wrong_shape_are_refused_with_the_shape_that_is_taken() {
    let shop = Shop::open();
    wrong_shapes(&shop);
    shop.goes_on();
}

fn wrong_shapes(shop: &Shop) {
    refused(shop, "/wire", json!(30), &["30", "cu-awg30-single"], &[]);
    refused(shop, "/wire", json!(["cu-awg30-single"]), &["cu-awg30-single"], &[]);
    refused(shop, "/former/wall_mm", Value::Null, &["null", "0.25 mm"], &[]);
    refused(shop, "/former/wall_mm", json!([0.12]), &["0.25 mm"], &[]);
    refused(shop, "/former/wall_mm", json!(true), &["0.25 mm"], &[]);
    refused(shop, "/former/wall_mm", json!({ "value": 0.12, "u": -1 }), &["negative"], &[]);
    refused_at(shop, "/former/wall_mm", json!({ "value": 0.12 }), "/former/wall_mm/u", &["`u`"], &["`u`"]);
    refused(shop, "/winding/layers", json!(1.5), &["1.5", "whole"], &[]);
    refused(shop, "/winding/layers", json!(-1), &["-1", "whole"], &[]);
    refused(shop, "/winding/layers", json!("two"), &["two", "whole"], &[]);
    refused(shop, "/winding/turns_per_layer", json!("52"), &["whole"], &[]);
    refused(shop, "/former", json!("aluminium-foil"), &["aluminium-foil"], &[]);
    let missing = shop.error("coil.design", &json!({ "wire": "cu-awg30-single" }));
    is(
        &missing,
        &Wanted { code: -32602, kind: WRONG, pointer: Some("/former"), says: &["required"], next: &["`former`"] },
    );
    let limit = shop.error("wire.list", &json!({ "limit": 0 }));
    is(&limit, &Wanted { code: -32602, kind: WRONG, pointer: Some("/limit"), says: &["1 to 1000"], next: &[] });
    let cursor = shop.error("wire.list", &json!({ "cursor": "nowhere" }));
    is(&cursor, &Wanted { code: -32602, kind: WRONG, pointer: Some("/cursor"), says: &["cursor"], next: &["cursor"] });
    let title = shop.error("sheet.section", &json!({ "coil": sample(), "title": "T".repeat(61) }));
    is(&title, &Wanted { code: -32602, kind: WRONG, pointer: Some("/title"), says: &["60"], next: &["shorten"] });
}

#[test]
fn an_inline_wire_or_former_that_cannot_be_is_refused() {
    let shop = Shop::open();
    inline_things(&shop);
    shop.goes_on();
}

fn inline_things(shop: &Shop) {
    let wire = json!({ "conductor": "copper", "bare_mm": 0.254, "overall_mm": 0.27686 });
    for (member, value, at, says) in [
        ("/bare_mm", json!(-0.254), "/wire/bare_mm", "-0.254"),
        ("/bare_mm", json!(0), "/wire/bare_mm", "0"),
        ("/overall_mm", json!("0 mm"), "/wire/overall_mm", "0"),
        ("/ohm_per_m", json!(-1), "/wire/ohm_per_m", "-1"),
        ("/g_per_m", json!(0), "/wire/g_per_m", "0"),
        ("/overall_mm", json!(0.2), "/wire", "below the bare diameter"),
        ("/ohm_per_m", json!(3.4), "/wire", "25 % apart"),
        ("/bare_mm", json!("5 m"), "/wire", "below the bare diameter"),
    ] {
        refused_at(shop, "/wire", with(wire.clone(), member, value), at, &[says], &["check"]);
    }
    refused_at(shop, "/wire", with(wire, "/conductor", json!("coper")), "/wire/conductor", &["coper"], &["`copper`"]);
    let material = |density: Value| json!({ "density_g_per_cm3": density });
    for density in [json!(-1), json!(0), json!(1e6)] {
        let at = "/former/material/density_g_per_cm3";
        refused_at(shop, "/former/material", material(density), at, &["density"], &[]);
    }
    let metal = json!({ "density_g_per_cm3": 2.7, "resistivity_ohm_m": 1.0 });
    refused_at(shop, "/former/material", metal, "/former/material/resistivity_ohm_m", &["resistivity"], &[]);
}
