//! What requests about plans take and refuse: wires and days that are none, a bare `plan accept`, one word for what is safe.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};

const WIRE: &str = "cu-awg30-single";

fn spool(shop: &Shop, metres: f64, u: f64) -> String {
    let marked = json!({ "value": metres, "u": u });
    shop.done("spool.receive", &json!({ "wire": WIRE, "marked_m": marked }))["spool"].as_str().expect("an id").into()
}

/// A job of the sample's coils, 17.756 m each.
fn job(shop: &Shop, coils: u32, priority: u32) -> String {
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    let params = json!({ "title": "bass", "coil": sample(), "coils": coils, "priority": priority, "before": before });
    shop.done("job.open", &params)["job"].as_str().expect("an id").into()
}

#[test]
fn a_wire_that_is_nowhere_is_refused_with_those_written_nearly_so() {
    let shop = Shop::open();
    for method in ["plan.make", "plan.buy"] {
        let error = shop.error(method, &json!({ "wires": [WIRE, "cu-awg30-singel"] }));
        assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(1101), &json!("/wires/1")), "{error}");
        assert!(error["data"]["allowed"].as_array().expect("near ones").contains(&json!(WIRE)), "{error}");
        assert!(error["data"]["next_step"].as_str().expect("words").contains(WIRE), "{error}");
    }
    assert_eq!(shop.answer("plan.make", &json!({ "wires": [WIRE] }))["assign"], json!([]));
    // A wire that only stands written out on a spool is known too.
    let wire = json!({ "conductor": "copper", "bare_mm": 0.254, "overall_mm": 0.27686, "ohm_per_m": 0.34026, "g_per_m": 0.46312 });
    shop.done("spool.receive", &json!({ "wire": wire, "marked_m": { "value": 50, "u": 0.2 } }));
    let own = shop.answer("spool.list", &json!({}))["items"][0]["wire"].as_str().expect("its name").to_owned();
    shop.answer("plan.make", &json!({ "wires": [own] }));
}

#[test]
fn days_long_before_the_shop_or_far_ahead_are_refused_with_what_is_allowed() {
    let shop = Shop::open();
    let id = job(&shop, 1, 5);
    for (method, mut params) in [
        ("plan.make", json!({})),
        ("plan.outlook", json!({})),
        ("plan.buy", json!({})),
        ("plan.unlock", json!({ "job": id })),
        ("alert.list", json!({})),
    ] {
        for (day, said) in [("1800-01-01", "the oldest spool or job in use"), ("9999-12-01", "too far ahead")] {
            params["as_of"] = json!(day);
            let error = shop.error(method, &params);
            assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(-32602), &json!("/as_of")), "{error}");
            assert!(error["data"]["detail"].as_str().expect("words").contains(said), "{method}: {error}");
            assert!(error["data"]["allowed"].as_str().expect("a span").contains(" to "), "{method}: {error}");
        }
    }
}

#[test]
fn an_outlook_over_no_days_or_too_many_says_which() {
    let shop = Shop::open();
    let said = |days: u32| {
        shop.error("plan.outlook", &json!({ "days": days }))["data"]["detail"].as_str().expect("words").to_owned()
    };
    assert!(said(0).contains("nothing to see"), "{}", said(0));
    assert!(said(366).contains("too far"), "{}", said(366));
}

/// 60 m ± 3 m beside one coil of 17.756 m: 42.2 m are left in the middle, six coils of 7 m; safely, at 2 % of risk,
/// 60 − 2.05·3 − 17.8 = 36.1 m, five of them. Plan and outlook say five.
#[test]
fn plan_and_outlook_count_the_same_safe_coils() {
    let shop = Shop::open();
    let s = spool(&shop, 60.0, 3.0);
    job(&shop, 1, 5);
    let plan = shop.answer("plan.make", &json!({}));
    let row = &plan["spools"][0];
    assert!((row["end_m"].as_f64().expect("metres") / 7.0) > 6.0, "{row}");
    assert_eq!(row["usable_m"].as_f64(), Some(35.0), "{row}");
    assert!(row["end_text"].as_str().expect("words").contains("safely enough for 5 "), "{row}");
    let ahead = shop.answer("plan.outlook", &json!({ "spool": s }));
    let last = ahead["series"].as_array().and_then(|s| s.last()).cloned().expect("days");
    assert_eq!(last["usable_m"], row["usable_m"]);
    // 25 m ± 0.9 m less a coil: 7.2 m in the middle, 5.4 m safely, and no coil is safe.
    let shop = Shop::open();
    spool(&shop, 25.0, 0.9);
    job(&shop, 1, 5);
    let row = shop.answer("plan.make", &json!({}))["spools"][0].clone();
    assert!(row["end_text"].as_str().expect("words").contains("not safely enough for a usual coil"), "{row}");
}

#[test]
fn a_bare_accept_takes_the_first_plan_then_what_is_proposed_and_nothing_else() {
    let shop = Shop::open();
    let nothing = shop.refused("plan.accept", &json!({}));
    assert_eq!((&nothing["code"], &nothing["data"]["reason"]), (&json!(1100), &json!("nothing_proposed")), "{nothing}");
    let s = spool(&shop, 58.0, 0.2);
    let low = job(&shop, 2, 2);
    let ran = shop.command(&["plan", "accept"]).env("COILWRIGHT_TOKEN", shop.token()).output().expect("it runs");
    let told = String::from_utf8_lossy(&ran.stdout).into_owned();
    assert!(ran.status.success() && told.contains("The first plan was taken"), "{ran:?}");
    let shown = shop.answer("plan.show", &json!({}));
    assert_eq!(shown["assign"], json!([{ "job": low, "wire": WIRE, "spool": s, "coils": 2 }]));
    assert_eq!(shop.refused("plan.accept", &json!({}))["data"]["reason"], "nothing_proposed", "it stands as it is");

    // Two of the better job beside one of the other cannot be; a repair keeps what is accepted, a new plan does not.
    let high = job(&shop, 3, 9);
    let shown = shop.answer("plan.show", &json!({}));
    let proposal = &shown["proposal"];
    assert_eq!(proposal["assign"][0]["job"], json!(high), "{shown}");
    assert!(proposal["text"].as_str().expect("words").contains("`plan accept` takes it"));
    let seen = shown["seq"].clone();
    let params = json!({ "idempotency_key": "morning", "seq": seen });
    let taken = shop.done("plan.accept", &params);
    assert!(taken["taken"].as_str().expect("words").contains("worth 7 more"), "{taken}");
    assert_eq!(shop.answer("plan.show", &json!({}))["assign"], proposal["assign"]);
    assert_eq!(
        shop.done("plan.accept", &params),
        taken,
        "the same key has the same answer, though nothing is proposed now"
    );
}

#[test]
fn a_proposal_seen_before_the_shop_moved_on_is_not_taken() {
    let shop = Shop::open();
    let s = spool(&shop, 58.0, 0.2);
    job(&shop, 2, 2);
    shop.done("plan.accept", &json!({}));
    job(&shop, 3, 9);
    let seen = shop.answer("plan.show", &json!({}))["seq"].clone();
    shop.done("spool.hold", &json!({ "spool": s, "hold_m": 10.0, "reason": "promised" }));
    let head = shop.answer("shop.status", &json!({}))["journal"]["head"].clone();
    let error = shop.refused("plan.accept", &json!({ "seq": seen }));
    assert_eq!(
        (&error["data"]["reason"], &error["data"]["pointer"]),
        (&json!("plan_moved_on"), &json!("/seq")),
        "{error}"
    );
    assert_eq!(error["data"]["met"], seen);
    assert_eq!(shop.answer("shop.status", &json!({}))["journal"]["head"], head, "a refusal writes nothing");
    // Of what a plan is made of, coils and entry belong together; a risk is the plan's own.
    let error =
        shop.refused("plan.accept", &json!({ "assign": [{ "job": "j-1", "wire": WIRE, "spool": s, "coils": 2 }] }));
    assert_eq!(error["data"]["pointer"], "/seq", "{error}");
    assert_eq!(shop.refused("plan.accept", &json!({ "risk_pct": 5 }))["data"]["pointer"], "/risk_pct");
}

/// A plan repaired since it was accepted is shown as it is now, and taken as it is shown.
#[test]
fn a_bare_accept_takes_a_repaired_plan_where_no_other_is_better() {
    let shop = Shop::open();
    let (a, b) = (spool(&shop, 40.0, 0.2), spool(&shop, 60.0, 0.2));
    let id = job(&shop, 2, 5);
    let assign = json!([{ "job": id, "wire": WIRE, "spool": a, "coils": 2 }]);
    let seq = shop.answer("plan.make", &json!({}))["seq"].clone();
    shop.done("plan.accept", &json!({ "assign": assign, "seq": seq }));
    shop.done("spool.move", &json!({ "spool": a, "rewound": true, "lost_m": 30.0 }));
    let shown = shop.answer("plan.show", &json!({}));
    assert_eq!(shown["assign"], json!([{ "job": id, "wire": WIRE, "spool": b, "coils": 2 }]), "{shown}");
    assert_eq!(shown["proposal"], Value::Null);
    let taken = shop.done("plan.accept", &json!({}));
    assert!(taken["taken"].as_str().expect("words").contains("as it was repaired"), "{taken}");
    assert_eq!(shop.answer("plan.show", &json!({}))["changes"], 0);
}

/// The longest spool of that wire on file has 500 g, some 860 m; one coil of eight layers takes more.
#[test]
fn one_coil_longer_than_any_spool_sold_sends_to_the_supplier_with_both_lengths() {
    let shop = Shop::open();
    let mut coil = sample();
    let whole = coil.as_object_mut().expect("params");
    whole.remove("gap");
    whole.remove("target");
    coil["wire"] = json!("cu-awg29-single");
    coil["former"]["height_mm"] = json!(320);
    coil["winding"] = json!({ "layers": 8, "width_mm": 300.0 });
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    let opened = shop.done("job.open", &json!({ "title": "giant", "coil": coil, "coils": 1, "before": before }));
    let need = opened["need_m"]["value"].as_f64().expect("metres");
    assert!(need > 900.0, "{opened}");
    let plan = shop.answer("plan.make", &json!({}));
    let refused = &plan["refused"][0];
    assert_eq!((&refused["reason"], &plan["purchase"]), (&json!("no_continuous_length"), &Value::Null), "{refused}");
    let ask = &refused["unlock"][0];
    assert_eq!((&ask["remedy"], refused["unlock"].as_array().map(Vec::len)), (&json!("ask_supplier"), Some(1)));
    let said = ask["text"].as_str().expect("words");
    assert!(said.contains(&format!("{need:.2} m")) && said.contains("the longest 8"), "{said}");
    for method in ["plan.outlook", "plan.buy", "alert.list"] {
        shop.answer(method, &json!({}));
    }
    assert_eq!(shop.answer("plan.unlock", &json!({ "job": opened["job"] }))["standing"], "refused");
}

/// Spools alike in all but their names, jobs alike in all but theirs: the earlier ones win, and every time the same.
#[test]
fn equal_spools_and_equal_jobs_are_planned_by_their_order() {
    let shop = Shop::open();
    let spools: Vec<String> = (0..5).map(|_| spool(&shop, 38.0, 0.2)).collect();
    let jobs: Vec<String> = (0..7).map(|_| job(&shop, 2, 5)).collect();
    let plan = shop.answer("plan.make", &json!({ "as_of": "2060-06-01" }));
    let of = |list: &str, name: &str| -> Vec<String> {
        plan[list].as_array().expect("a list").iter().map(|a| a[name].as_str().expect("an id").to_owned()).collect()
    };
    // 38 m hold two coils of 17.756 m: five jobs of two, one a spool.
    assert_eq!(of("assign", "job"), jobs[..5]);
    let mut used = of("assign", "spool");
    used.sort();
    assert_eq!((used, of("refused", "job")), (spools, jobs[5..].to_vec()));
    assert_eq!(shop.answer("plan.make", &json!({ "as_of": "2060-06-01" })), plan);
}
