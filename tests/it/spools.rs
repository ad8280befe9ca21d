//! Readings and promises of spools, and all that a nervous, a hurried or a mistaken hand does with them: taken once, told,
//! or refused with the next step, and then nothing is written.

use crate::shop::{Shop, with};
use crate::stock::{
    No, everything, finding, full, head, job, no, opened, part_used, received, refuses, text, value, winding, wire,
    wrong,
};
use serde_json::{Value, json};

fn left(shop: &Shop, spool: &str) -> Value {
    shop.answer("spool.show", &json!({ "spool": spool }))["left_m"].take()
}

#[test]
fn a_weighing_repeated_by_a_nervous_hand_counts_once() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let weigh = json!({ "spool": spool, "gross_g": 209.8, "scale_u_g": 0.06 });
    let first = shop.done("spool.weigh", &weigh);
    let second = shop.done("spool.weigh", &weigh);
    let note = finding(&second, "weighed_twice");
    assert_eq!(note["level"], "note");
    assert!(text(note, "text").contains(&format!("entry {}", first["seq"])), "{note}");
    assert_eq!((&second["left_m"], value(&second, "/changed_m")), (&first["left_m"], 0.0), "the knowledge is the same");
    assert_eq!(head(&shop), 3, "it is written down all the same");
    let shown = shop.answer("spool.show", &json!({ "spool": spool }));
    let said: Vec<String> = shown["history"].as_array().unwrap().iter().map(|h| text(h, "text")).collect();
    assert!(said[2].contains("a repeat of entry 2"), "{said:?}");
}

#[test]
fn a_scale_ten_times_off_is_refused_and_named() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let weigh = |gross: Value| json!({ "spool": spool, "gross_g": gross });
    refuses(
        &shop,
        "spool.weigh",
        &weigh(json!(2104.0)),
        &no("too_heavy", "/gross_g", &["ten times", "2104.00 g"], "check the reading"),
    );
    // A tenth is lighter than the bare reel, whose tenth it is not: the reel is what it is held against.
    refuses(
        &shop,
        "spool.weigh",
        &weigh(json!(9.7)),
        &no("below_tare", "/gross_g", &["lighter than the bare reel", "a tenth"], "check the reading"),
    );
    refuses(
        &shop,
        "spool.weigh",
        &weigh(json!(21.04)),
        &no("below_tare", "/gross_g", &["lighter than the bare reel"], "check the reading"),
    );
    refuses(
        &shop,
        "spool.receive",
        &with(full(), "/gross_g", json!(9.7)),
        &no("below_tare", "/gross_g", &["a tenth"], "the reel"),
    );
    // Ounces read as grams.
    refuses(
        &shop,
        "spool.weigh",
        &weigh(json!(3.42)),
        &no("below_tare", "/gross_g", &["ounces taken for grams"], "check the reading"),
    );
}

#[test]
fn the_wrong_spool_on_the_scale_is_named() {
    let shop = Shop::open();
    let (heavy, light) = (received(&shop, &full()), received(&shop, &part_used(150.0)));
    let swapped = json!({ "spool": light, "gross_g": 210.4 });
    let says = [format!("spool {heavy} should show"), "the wrong spool".into()];
    refuses(&shop, "spool.weigh", &swapped, &no("too_heavy", "/gross_g", &[&says[0], &says[1]], "which spool"));
    // The other way round it could be wire that went: it is taken, doubted aloud, and can be taken back.
    let before = left(&shop, &heavy);
    let weighed = shop.done("spool.weigh", &json!({ "spool": heavy, "gross_g": 150.0 }));
    let doubt = finding(&weighed, "weighing_disagrees");
    assert_eq!(doubt["level"], "watch");
    assert!(text(doubt, "text").contains(&format!("spool {light} should show")), "{doubt}");
    assert!((value(&weighed, "/left_m") - 53.0 / 0.36698).abs() < 3.0, "{weighed}");
    shop.done("journal.undo", &json!({ "seq": weighed["seq"], "reason": "that was the other spool" }));
    assert_eq!(left(&shop, &heavy), before);
}

#[test]
fn a_decimal_comma_is_a_decimal_comma_and_never_a_guess() {
    let shop = Shop::open();
    let point = received(&shop, &part_used(412.6));
    let comma = received(&shop, &with(part_used(0.0), "/gross_g", json!("412,6 g")));
    assert_eq!(left(&shop, &point), left(&shop, &comma));
    let weighed = shop.done("spool.weigh", &json!({ "spool": point, "gross_g": "412,6 g" }));
    assert!(value(&weighed, "/changed_m").abs() < 0.01, "{weighed}");
    // One comma and three digits may be thousands.
    for (gross, says) in [
        (json!("1,234 g"), "1,234 g"),
        (json!("412.6"), "no unit"),
        (json!("412,6"), "no unit"),
        (json!("412,6 m"), "a length"),
    ] {
        let weigh = json!({ "spool": point, "gross_g": gross });
        refuses(&shop, "spool.weigh", &weigh, &wrong(None, "/gross_g", &[says], "write a number in g"));
    }
}

#[test]
fn readings_that_cannot_be_are_refused() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let weigh = |gross: f64| json!({ "spool": spool, "gross_g": gross });
    for gross in [0.0, -5.0, 1e7, 1e300] {
        refuses(
            &shop,
            "spool.weigh",
            &weigh(gross),
            &wrong(Some("out_of_range"), "/gross_g", &["is not between"], "unit"),
        );
    }
    let unsure = with(weigh(210.4), "/scale_u_g", json!(-0.1));
    refuses(
        &shop,
        "spool.weigh",
        &unsure,
        &wrong(Some("impossible_uncertainty"), "/scale_u_g", &["-0.1"], "0 or more"),
    );
    let measure = json!({ "spool": spool, "ohm": 0.19, "test_leads_ohm": 0.20, "temperature_c": 20 });
    refuses(&shop, "spool.measure", &measure, &no("only_leads", "/ohm", &["no more than the test leads"], "both ends"));
    let far = with(measure.clone(), "/ohm", json!(1400.0));
    let error = shop.refused("spool.measure", &far);
    assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(1100), &json!("/ohm")), "{error}");
    let hot = with(with(measure, "/ohm", json!(132.0)), "/temperature_c", json!(2000));
    refuses(&shop, "spool.measure", &hot, &wrong(Some("out_of_range"), "/temperature_c", &["2000"], "unit"));
    assert_eq!(head(&shop), 1);
}

#[test]
fn unknown_ids_and_ids_of_another_kind_are_told_apart() {
    let shop = Shop::open();
    let (spool, job) = winding(&shop);
    let unknown = |pointer: &'static str, says: &'static str, next: &'static str| No {
        code: 1101,
        kind: "refused",
        reason: Some("not_found"),
        pointer,
        says: Box::leak(Box::new([says])),
        next,
    };
    for (method, params, pointer, says, next) in [
        ("spool.weigh", json!({ "spool": "s-99", "gross_g": 100 }), "/spool", "no spool s-99", "spool list"),
        (
            "spool.measure",
            json!({ "spool": "s-99", "ohm": 5, "temperature_c": 20 }),
            "/spool",
            "no spool s-99",
            "spool list",
        ),
        ("spool.move", json!({ "spool": "s-99", "place": "x" }), "/spool", "no spool s-99", "spool list"),
        ("spool.hold", json!({ "spool": "s-99", "hold_m": 1 }), "/spool", "no spool s-99", "spool list"),
        ("spool.hold", json!({ "spool": spool, "hold_m": 1, "job": "j-99" }), "/job", "no job j-99", "job list"),
        ("spool.release", json!({ "spool": spool, "hold": "h-99" }), "/hold", "no hold h-99", "spool show"),
        ("spool.retire", json!({ "spool": "s-99" }), "/spool", "no spool s-99", "spool list"),
        ("job.change", json!({ "job": "j-99", "coils": 2 }), "/job", "no job j-99", "job list"),
        ("job.cancel", json!({ "job": "j-99", "reason": "x" }), "/job", "no job j-99", "job list"),
        ("job.start", json!({ "job": "j-99", "spool": spool }), "/job", "no job j-99", "job list"),
        ("job.start", json!({ "job": job, "spool": "s-99" }), "/spool", "no spool s-99", "spool list"),
        ("job.progress", json!({ "job": "j-99", "layer": 1 }), "/job", "no job j-99", "job list"),
        ("job.record", json!({ "job": "j-99", "outcome": "good" }), "/job", "no job j-99", "job list"),
        ("job.step", json!({ "job": "j-99", "coil_no": 1, "step": "cured" }), "/job", "no job j-99", "job list"),
        ("job.close", json!({ "job": "j-99" }), "/job", "no job j-99", "job list"),
        ("journal.undo", json!({ "seq": 99, "reason": "x" }), "/seq", "no entry 99", "journal read"),
    ] {
        refuses(&shop, method, &params, &unknown(pointer, says, next));
    }
    for (method, params, pointer, says, next) in [
        ("spool.show", json!({ "spool": "s-99" }), "/spool", "no spool s-99", "spool list"),
        ("job.show", json!({ "job": "j-99" }), "/job", "no job j-99", "job list"),
        ("job.gate", json!({ "job": "j-99", "spool": spool }), "/job", "no job j-99", "job list"),
        ("job.gate", json!({ "job": job, "spool": "s-99" }), "/spool", "no spool s-99", "spool list"),
    ] {
        crate::stock::is(&shop.error(method, &params), &unknown(pointer, says, next));
    }
    for (method, params, pointer, says) in [
        ("spool.weigh", json!({ "spool": job, "gross_g": 100 }), "/spool", "no spool id"),
        ("spool.weigh", json!({ "spool": "1", "gross_g": 100 }), "/spool", "no spool id"),
        ("spool.hold", json!({ "spool": spool, "hold_m": 1, "job": spool }), "/job", "no job id"),
        ("spool.release", json!({ "spool": spool, "hold": job }), "/hold", "no hold id"),
        ("job.start", json!({ "job": spool, "spool": job }), "/job", "no job id"),
        ("job.record", json!({ "job": job, "outcome": "good", "spool": job }), "/spool", "no spool id"),
        ("job.cancel", json!({ "job": "j-01", "reason": "x" }), "/job", "no job id"),
    ] {
        refuses(&shop, method, &params, &wrong(None, pointer, &[says, "they look like"], "see `"));
    }
}

#[test]
fn what_was_looked_at_before_it_changed_is_a_conflict() {
    let shop = Shop::open();
    let (spool, job) = winding(&shop);
    for (method, params) in [
        ("spool.weigh", json!({ "spool": spool, "gross_g": 210.3 })),
        ("spool.measure", json!({ "spool": spool, "ohm": 132.7, "temperature_c": 20 })),
        ("spool.move", json!({ "spool": spool, "place": "window" })),
        ("spool.hold", json!({ "spool": spool, "hold_m": 1 })),
        ("spool.release", json!({ "spool": spool, "hold": "h-1" })),
        ("spool.retire", json!({ "spool": spool })),
        ("job.change", json!({ "job": job, "coils": 3 })),
        ("job.cancel", json!({ "job": job, "reason": "x" })),
        ("job.start", json!({ "job": job, "spool": spool })),
        ("job.progress", json!({ "job": job, "layer": 1 })),
        ("job.record", json!({ "job": job, "outcome": "good" })),
        ("job.step", json!({ "job": job, "coil_no": 1, "step": "cured" })),
        ("job.close", json!({ "job": job })),
        ("shop.set", json!({ "confidence": 0.95 })),
    ] {
        let stale = with(params, "/if_rev", json!(77));
        let wanted = No {
            code: 1102,
            kind: "refused",
            reason: Some("stale_rev"),
            pointer: "/if_rev",
            says: &["revision 77"],
            next: "look at",
        };
        refuses(&shop, method, &stale, &wanted);
    }
    let rev = shop.answer("spool.show", &json!({ "spool": spool }))["rev"].clone();
    let moved = shop.done("spool.move", &json!({ "spool": spool, "place": "window", "if_rev": rev }));
    assert_ne!(moved["rev"], rev);
}

#[test]
fn no_more_is_promised_than_is_free_and_what_is_given_back_is_free_again() {
    let shop = Shop::open();
    let spool = received(&shop, &part_used(133.698));
    let shown = shop.answer("spool.show", &json!({ "spool": spool }));
    let free = value(&shown, "/free_m");
    assert!(free > 80.0 && free < 100.0 && value(&shown, "/held_m") == 0.0, "{shown}");
    assert_eq!(shown["held_m"].to_string(), "0.0", "nothing is promised, not minus nothing");
    let hold = |metres: f64| json!({ "spool": spool, "hold_m": metres, "reason": "a batch" });
    refuses(&shop, "spool.hold", &hold(free + 0.01), &no("not_free", "/hold_m", &["are free"], "release a hold"));
    let held = shop.done("spool.hold", &hold(60.0));
    assert_eq!((value(&held, "/held_m"), value(&held, "/free_m")), (60.0, free - 60.0));
    refuses(
        &shop,
        "spool.hold",
        &hold(free - 59.0),
        &no("not_free", "/hold_m", &["60.00 m of it promised"], "release a hold"),
    );
    for metres in [0.0, -1.0] {
        refuses(
            &shop,
            "spool.hold",
            &hold(metres),
            &wrong(Some("out_of_range"), "/hold_m", &["is not between"], "unit"),
        );
    }
    refuses(
        &shop,
        "spool.retire",
        &json!({ "spool": spool }),
        &no("still_held", "/spool", &["60.00 m"], "release h-1"),
    );
    let back = shop.done("spool.release", &json!({ "spool": spool, "hold": held["hold"] }));
    assert_eq!((value(&back, "/held_m"), value(&back, "/free_m")), (0.0, free));
    let again = No {
        code: 1101,
        kind: "refused",
        reason: Some("not_found"),
        pointer: "/hold",
        says: &["no hold h-1"],
        next: "spool show",
    };
    refuses(&shop, "spool.release", &json!({ "spool": spool, "hold": held["hold"] }), &again);
}

/// A weighing finds less than was promised: it is taken, for wire that is gone is gone, and says so.
#[test]
fn a_reading_below_what_is_promised_is_taken_and_told() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    shop.done("spool.hold", &json!({ "spool": spool, "hold_m": 250 }));
    let weighed = shop.done("spool.weigh", &json!({ "spool": spool, "gross_g": 150.0 }));
    let watch = finding(&weighed, "promises_uncovered");
    assert!(text(watch, "text").contains("250.00 m of spool s-1 are promised"), "{watch}");
    let shown = shop.answer("spool.show", &json!({ "spool": spool }));
    assert_eq!((value(&shown, "/free_m"), value(&shown, "/held_m")), (0.0, 250.0));
    let list = shop.answer("spool.list", &json!({}));
    assert_eq!(list["items"][0]["left_m"], shown["left_m"]);
}

#[test]
fn an_empty_reel_fixes_its_tare_and_is_used_no_more() {
    let shop = Shop::open();
    let spool = received(&shop, &part_used(97.9));
    let heavy = json!({ "spool": spool, "gross_g": 120.0 });
    refuses(
        &shop,
        "spool.retire",
        &heavy,
        &no("not_empty", "/gross_g", &["heavier than the bare reel"], "spool weigh"),
    );
    let retired = shop.done("spool.retire", &json!({ "spool": spool, "gross_g": 97.6, "scale_u_g": 0.06 }));
    assert!(value(&retired, "/left_m").abs() < 0.001, "{retired}");
    let shown = shop.answer("spool.show", &json!({ "spool": spool }));
    assert!((value(&shown, "/estimate/tare_g") - 97.6).abs() < 0.02 && shown["retired"] == true, "{shown}");
    assert_eq!((value(&shown, "/free_m"), &shown["next_best"]["measure"]), (0.0, &json!("none")));
    assert_eq!(shop.answer("spool.list", &json!({}))["items"], json!([]));
    assert_eq!(shop.answer("spool.list", &json!({ "retired": true }))["items"][0]["spool"], json!(spool));
    let job = opened(&shop, &job(1));
    for (method, params) in [
        ("spool.weigh", json!({ "spool": spool, "gross_g": 97.6 })),
        ("spool.hold", json!({ "spool": spool, "hold_m": 0.1 })),
        ("spool.retire", json!({ "spool": spool })),
        ("job.start", json!({ "job": job, "spool": spool })),
    ] {
        refuses(&shop, method, &params, &no("spool_retired", "/spool", &["was retired in entry 2"], "undo entry 2"));
    }
}

#[test]
fn wire_moved_to_another_reel_keeps_its_length_and_takes_the_new_tare() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let before = left(&shop, &spool);
    let placed = shop.done("spool.move", &json!({ "spool": spool, "place": "window sill" }));
    assert_eq!(placed["left_m"], before);
    let rewound =
        shop.done("spool.move", &json!({ "spool": spool, "tare_g": { "value": 61.5, "u": 0.1 }, "lost_m": 0.5 }));
    assert!((value(&rewound, "/changed_m") + 0.5).abs() < 0.02, "{rewound}");
    let weighed =
        shop.done("spool.weigh", &json!({ "spool": spool, "gross_g": 61.5 + 113.4 - 0.18, "scale_u_g": 0.06 }));
    assert!((value(&weighed, "/left_m") - 308.5).abs() < 1.5 && weighed["findings"] == json!([]), "{weighed}");
    let shown = shop.answer("spool.show", &json!({ "spool": spool }));
    assert_eq!(shown["place"], "window sill");
    let still = json!({ "spool": spool, "rewound": false, "tare_g": 60 });
    refuses(&shop, "spool.move", &still, &wrong(None, "/tare_g", &["belongs to a new reel"], "leave `tare_g` out"));
}

#[test]
fn list_and_show_say_the_same_of_every_spool_and_the_list_goes_on_by_its_cursor() {
    let shop = Shop::open();
    for i in 0..7 {
        let wire = if i % 2 == 0 { wire() } else { json!("cu-awg30-single") };
        let params = with(part_used(120.0 + 10.0 * f64::from(i)), "/wire", wire);
        received(&shop, &with(params, "/label", json!(format!("reel {i}"))));
    }
    shop.done("spool.hold", &json!({ "spool": "s-5", "hold_m": 20 }));
    let mut seen = Vec::new();
    let mut cursor = Value::Null;
    loop {
        let mut params = json!({ "limit": 3 });
        if !cursor.is_null() {
            params["cursor"] = cursor;
        }
        let page = shop.answer("spool.list", &params);
        seen.extend(page["items"].as_array().unwrap().clone());
        cursor = page["next_cursor"].clone();
        if cursor.is_null() {
            break;
        }
    }
    let ids: Vec<String> = seen.iter().map(|s| text(s, "spool")).collect();
    assert_eq!(ids, ["s-1", "s-2", "s-3", "s-4", "s-5", "s-6", "s-7"]);
    for item in &seen {
        let shown = shop.answer("spool.show", &json!({ "spool": item["spool"] }));
        for member in ["wire", "wire_label", "left_m", "held_m", "free_m", "label", "place", "retired", "rev"] {
            assert_eq!(item[member], shown[member], "{member} of {}", item["spool"]);
        }
        let whole = value(&shown, "/safe_m") - value(&shown, "/held_m");
        assert!((whole - value(&shown, "/free_m")).abs() < 1e-9);
    }
    let only = shop.answer("spool.list", &json!({ "wire": "cu-awg30-single" }));
    assert_eq!(only["items"].as_array().unwrap().len(), 3);
    crate::stock::is(
        &shop.error("spool.list", &json!({ "cursor": "j-1" })),
        &wrong(None, "/cursor", &["no cursor"], "without `cursor`"),
    );
    crate::stock::is(&shop.error("spool.list", &json!({ "limit": 0 })), &wrong(None, "/limit", &["1 to 1000"], ""));
}

/// Money, figures and words of the shop itself.
#[test]
fn figures_of_the_shop_are_set_within_reason_and_keep_their_origin() {
    let shop = Shop::open();
    for (set, pointer, says) in [
        (json!({ "time_zone": "Middle/Earth" }), "/time_zone", "no time zone `Middle/Earth`"),
        (json!({ "time_zone": "" }), "/time_zone", "no time zone"),
        (json!({ "time_zone": "../etc/passwd" }), "/time_zone", "no time zone"),
        (json!({ "confidence": 2 }), "/confidence", "is not between"),
        (json!({ "confidence": 0.1 }), "/confidence", "is not between"),
        (json!({ "currency": "euro" }), "/currency", "euro"),
        (json!({ "winder_hours": [25, 0, 0, 0, 0, 0, 0] }), "/winder_hours/0", "is not between"),
        (json!({ "usual_coils": [{ "title": " ", "need_m": 3 }] }), "/usual_coils/0/title", "empty"),
        (
            json!({ "rates": { "hour": { "amount": "48,00", "currency": "EUR" }, "overhead_pct": 18, "margin_pct": 25 } }),
            "/rates/hour/amount",
            "48,00",
        ),
        (json!({}), "", "no figure"),
    ] {
        let before = everything(&shop);
        let error = shop.refused("shop.set", &set);
        assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(-32602), &json!(pointer)), "{error}");
        assert!(text(&error["data"], "detail").contains(says), "{error}");
        assert!(!text(&error["data"], "next_step").is_empty());
        assert_eq!(everything(&shop), before);
    }
    let of = |name: &str| {
        let all = shop.answer("shop.figures", &json!({}));
        all["figures"].as_array().unwrap().iter().find(|f| f["name"] == name).cloned().unwrap()
    };
    assert_eq!((&of("confidence")["value"], &of("confidence")["origin"]), (&json!(0.98), &json!("common_practice")));
    let spool = received(&shop, &part_used(133.698));
    let free = value(&shop.answer("spool.show", &json!({ "spool": spool })), "/free_m");
    let set = shop.done("shop.set", &json!({ "confidence": 0.999, "time_zone": "Europe/Lisbon" }));
    assert_eq!(set["rev"], 2);
    let now = of("confidence");
    assert_eq!((&now["value"], &now["origin"], &now["set_by"]), (&json!(0.999), &json!("set"), &json!(2)));
    assert_eq!(of("plan_risk_pct")["origin"], "common_practice");
    let freer = value(&shop.answer("spool.show", &json!({ "spool": spool })), "/free_m");
    assert!(freer < free - 1.0, "more confidence leaves less to promise: {freer} of {free}");
}

#[test]
fn a_weighing_brings_its_own_uncertainty() {
    let shop = Shop::open();
    let wire = json!({ "wire": "cu-awg30-single", "gross_g": { "value": 143.2, "u": 0.02 }, "tare_g": { "value": 97, "u": 0.02 } });
    let fine = shop.done("spool.receive", &wire)["left_m"]["u"].as_f64();
    let coarse = json!({ "wire": "cu-awg30-single", "gross_g": { "value": 143.2, "u": 2.0 }, "tare_g": { "value": 97, "u": 0.02 } });
    assert!(fine < shop.done("spool.receive", &coarse)["left_m"]["u"].as_f64());
    shop.done("spool.weigh", &json!({ "spool": "s-1", "gross_g": { "value": 143.2, "u": 0.02 } }));
}

#[test]
fn a_journal_taken_away_from_under_its_index_is_no_new_shop() {
    let mut shop = Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "gross_g": 143.2, "tare_g": 97 }));
    // A clean stop, so that the index has surely seen the entry.
    let asked = std::process::Command::new("kill").arg(shop.process().id().to_string()).status().expect("kill runs");
    assert!(asked.success() && shop.process().wait().expect("it ends").success());
    std::fs::remove_dir_all(shop.data().join("journal")).expect("it was there");
    let folder = shop.data().to_str().expect("text").to_owned();
    let started = crate::shop::command(&["serve", "--listen", "127.0.0.1:0", "--data", &folder]).output();
    let started = started.expect("it runs and ends");
    let said = String::from_utf8_lossy(&started.stderr).into_owned();
    assert!(!started.status.success() && said.contains("the journal is gone"), "{said}");
    assert!(!shop.data().join("journal").exists(), "nothing is made in its place");
}
