//! Coils on the winder that contradict the rest of their job: every request about plans still answers.

use crate::shop::{Shop, sample, with};
use serde_json::{Value, json};

const OLD: &str = "cu-awg30-single";
const NEW: &str = "cu-0.250-grade1";

fn spool(shop: &Shop, wire: &str, metres: f64) -> String {
    let marked = json!({ "value": metres, "u": 0.2 });
    shop.done("spool.receive", &json!({ "wire": wire, "marked_m": marked }))["spool"].as_str().expect("an id").into()
}

/// A job of the sample's coils, 17.756 m each.
fn job(shop: &Shop, coils: u32) -> String {
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    let params = json!({ "title": "bass", "coil": sample(), "coils": coils, "before": before });
    shop.done("job.open", &params)["job"].as_str().expect("an id").into()
}

#[track_caller]
fn refused(plan: &Value, job: &str) -> Value {
    let all = plan["refused"].as_array().expect("a list");
    all.iter().find(|r| r["job"] == job).cloned().unwrap_or_else(|| panic!("{job} is not refused: {plan}"))
}

/// Everything that plans, asked once; each answers.
#[track_caller]
fn all_answer(shop: &Shop, job: &str) -> Value {
    for method in ["plan.outlook", "plan.buy", "alert.list"] {
        shop.answer(method, &json!({}));
    }
    shop.answer("plan.unlock", &json!({ "job": job }));
    shop.answer("plan.make", &json!({}))
}

#[test]
fn a_coil_changed_to_another_wire_while_one_is_wound_stops_no_plan() {
    let shop = Shop::open();
    let (old, new) = (spool(&shop, OLD, 60.0), spool(&shop, NEW, 80.0));
    let torn = job(&shop, 2);
    shop.done("job.start", &json!({ "job": torn, "spool": old }));
    shop.done("job.change", &json!({ "job": torn, "coil": with(sample(), "/wire", json!(NEW)) }));
    // 60 m hold three coils; the one on the winder takes one of them, so two of another job fit and three do not.
    let two = job(&shop, 2);
    let plan = all_answer(&shop, &torn);
    let r = refused(&plan, &torn);
    assert_eq!((&r["reason"], &r["unlock"][0]["remedy"]), (&json!("wire_changed"), &json!("record_coil")), "{r}");
    assert!(r["detail"].as_str().expect("words").contains(OLD) && r["detail"].as_str().expect("words").contains(NEW));
    assert_eq!(plan["assign"], json!([{ "job": two, "wire": OLD, "spool": old, "coils": 2 }]));
    shop.done("plan.accept", &json!({ "assign": plan["assign"], "seq": plan["seq"] }));
    assert_eq!(shop.answer("plan.show", &json!({}))["assign"], plan["assign"]);
    shop.done("job.change", &json!({ "job": two, "coils": 3 }));
    assert_eq!(all_answer(&shop, &torn)["assign"], json!([]), "three coils beside the one on the winder do not fit");

    shop.done("job.record", &json!({ "job": torn, "outcome": "good" }));
    let plan = all_answer(&shop, &torn);
    assert!(
        plan["assign"]
            .as_array()
            .expect("a list")
            .contains(&json!({ "job": torn, "wire": NEW, "spool": new, "coils": 1 })),
        "{plan}"
    );
}

#[test]
fn coils_of_one_job_on_the_winder_in_two_wires_stop_no_plan() {
    let shop = Shop::open();
    let (old, new) = (spool(&shop, OLD, 60.0), spool(&shop, NEW, 80.0));
    let torn = job(&shop, 3);
    shop.done("job.start", &json!({ "job": torn, "spool": old }));
    shop.done("job.change", &json!({ "job": torn, "coil": with(sample(), "/wire", json!(NEW)) }));
    shop.done("job.start", &json!({ "job": torn, "spool": new }));
    let r = refused(&all_answer(&shop, &torn), &torn);
    assert_eq!(r["reason"], "wire_changed");
    assert!(r["detail"].as_str().expect("words").contains(&format!("{NEW} and {OLD}")), "{r}");
}

#[test]
fn promises_beyond_what_is_there_leave_a_plan_with_reasons() {
    let shop = Shop::open();
    let s = spool(&shop, OLD, 60.0);
    let id = job(&shop, 1);
    shop.done("spool.hold", &json!({ "spool": s, "hold_m": 55, "reason": "a repair" }));
    // Found to hold less than is promised: its slack is negative.
    shop.done("spool.weigh", &json!({ "spool": s, "gross_g": 60 }));
    let plan = all_answer(&shop, &id);
    assert_eq!((&plan["assign"], plan["refused"].as_array().map(Vec::len)), (&json!([]), Some(1)), "{plan}");
}
