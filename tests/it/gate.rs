//! The spool that is short though the book says enough, through the port: by weight, by resistance, together, at the
//! gate; and a full one beside it. Regression values: worked by hand and by another script, nobody published them. Every
//! printed figure is met within half a unit of its last digit.

use crate::shop::{Shop, with};
use crate::stock::{finding, full, head, is, job, no, opened, part_used, prints, received, refuses, text, value, wire};
use serde_json::{Value, json};

/// 101.6 g on the scale, and a book that rests on a table of bare copper and left tries out.
fn short() -> Value {
    let with_book = with(part_used(101.6), "/marked_m", json!(23.9));
    with(with_book, "/marked_is_wrong", json!(true))
}

/// Both ends reachable at 20 °C.
fn ends_out(spool: &str) -> Value {
    json!({ "spool": spool, "ohm": 5.62, "test_leads_ohm": 0.20, "temperature_c": 20, "meter_u_ohm": 0.09 })
}

#[test]
fn by_weight_alone_it_is_12_53_give_or_take_2_73() {
    let shop = Shop::open();
    let answer = shop.done("spool.receive", &short());
    prints(&answer, "/left_m", "12.53");
    prints(&answer, "/left_m/u", "2.73");
    let book = finding(&answer, "book_disagrees");
    assert_eq!((&book["level"], &book["figure"]), (&json!("watch"), &json!(23.9)));
    assert!(text(book, "text").contains("the book does not count"), "{book}");
    // The same without any book: it weighs nothing in the answer.
    let without = shop.done("spool.receive", &part_used(101.6));
    assert_eq!(without["left_m"], answer["left_m"]);
}

/// A book that nobody believes, ± 10 km, and nothing on the scale: the meter alone tells the length.
#[test]
fn by_resistance_alone_it_is_12_617_give_or_take_0_21() {
    let shop = Shop::open();
    let unread = json!({ "wire": wire(), "marked_m": { "value": 23.9, "u": 1e4 } });
    let spool = received(&shop, &unread);
    let answer = shop.done("spool.measure", &ends_out(&spool));
    prints(&answer, "/left_m", "12.617");
    prints(&answer, "/left_m/u", "0.21");
    // A reel whose tare nobody knows says next to nothing: the same to the two decimals of the whole.
    let untared = received(&shop, &json!({ "wire": wire(), "gross_g": 101.6, "scale_u_g": 0.06 }));
    let answer = shop.done("spool.measure", &ends_out(&untared));
    prints(&answer, "/left_m", "12.62");
    prints(&answer, "/left_m/u", "0.21");
}

#[test]
fn a_spool_with_nothing_but_a_book_known_wrong_is_not_taken_in() {
    let shop = Shop::open();
    let only_book = json!({ "wire": wire(), "marked_m": 23.9, "marked_is_wrong": true });
    let wanted = crate::stock::wrong(Some("nothing_to_go_by"), "/gross_g", &["neither a weighing"], "weigh it");
    refuses(&shop, "spool.receive", &only_book, &wanted);
}

#[test]
fn together_it_is_12_62_give_or_take_0_21_and_the_gate_stops_in_figures() {
    let shop = Shop::open();
    let spool = received(&shop, &short());
    let together = shop.done("spool.measure", &ends_out(&spool));
    prints(&together, "/left_m", "12.62");
    prints(&together, "/left_m/u", "0.21");
    let job = opened(&shop, &job(1));
    let written = head(&shop);

    let gate = shop.answer("job.gate", &json!({ "job": job, "spool": spool }));
    assert_eq!((&gate["verdict"], &gate["word"], &gate["coil_no"]), (&json!("stop"), &json!("short"), &json!(1)));
    assert!(value(&gate, "/p_enough") < 1e-9, "{gate}");
    let checks = gate["checks"].as_array().unwrap();
    let stops: Vec<&Value> = checks.iter().filter(|c| c["ok"] == false).collect();
    let [wire] = stops[..] else { panic!("one check stops: {gate}") };
    assert_eq!(wire["code"], "enough_wire");
    prints(wire, "/limit", "14.595");
    // What is there with the shop's confidence of 98 %: 2.05 standard uncertainties below the middle.
    assert!((12.0..12.3).contains(&value(wire, "/figure")), "{wire}");
    let said = text(wire, "text");
    for figure in
        ["12.62 ± 0.21 m left", "14.60 m needed", "short by 1.98 m", "turn 41 of 55 of layer 2", "P(enough) 0.0000"]
    {
        assert!(said.contains(figure), "no {figure:?} in {said}");
    }
    assert_eq!(head(&shop), written, "the gate writes nothing");

    let start = json!({ "job": job, "spool": spool });
    refuses(
        &shop,
        "job.start",
        &start,
        &no("gate_stops", "/spool", &["short by 1.98 m", "turn 41 of 55"], "another spool"),
    );
}

#[test]
fn a_control_job_on_a_full_spool_goes() {
    let shop = Shop::open();
    let (spool, job) = (received(&shop, &full()), opened(&shop, &job(1)));
    let shown = shop.answer("spool.show", &json!({ "spool": spool }));
    prints(&shown, "/left_m", "309.0");
    let gate = shop.answer("job.gate", &json!({ "job": job, "spool": spool }));
    assert_eq!((&gate["verdict"], &gate["word"]), (&json!("go"), &json!("enough")));
    assert!(gate["hold"].is_null() && gate["hold_m"].is_null(), "a look promises nothing: {gate}");
    let started = shop.done("job.start", &json!({ "job": job, "spool": spool }));
    assert_eq!(started["verdict"], "go");
    assert_eq!(started["checks"], gate["checks"], "a start goes through the gate that was shown");
    prints(&started, "/hold_m", "14.595");
    let held = shop.answer("spool.show", &json!({ "spool": spool }));
    assert_eq!(held["held_m"], started["hold_m"]);
    assert_eq!(held["holds"][0]["coil_no"], 1);
    let less = value(&shown, "/free_m") - value(&held, "/free_m");
    assert!((less - value(&started, "/hold_m")).abs() < 1e-9, "{less}");
}

/// Signed against the gate: it goes on, and the signature stays where everybody sees it.
#[test]
fn a_signed_override_starts_and_stays_visible() {
    let shop = Shop::open();
    let (spool, job) = (received(&shop, &part_used(102.5)), opened(&shop, &job(1)));
    let start =
        json!({ "job": job, "spool": spool, "override": { "reason": "the customer waits, a joint is agreed" } });
    refuses(
        &shop,
        "job.start",
        &with(start.clone(), "/override/reason", json!(" ")),
        &crate::stock::wrong(Some("empty_text"), "/override/reason", &["reason"], "few words"),
    );
    let started = shop.done("job.start", &start);
    assert_eq!(started["verdict"], "stop", "the gate still says what it says");
    let shown = shop.answer("job.show", &json!({ "job": job }));
    let signed = text(&shown["works"][0], "signed");
    for word in ["admin", "enough_wire", "a joint is agreed"] {
        assert!(signed.contains(word), "{signed}");
    }
    let told =
        shown["history"].as_array().unwrap().iter().any(|h| text(h, "text").contains("signed against enough_wire"));
    assert!(told, "{}", shown["history"]);
}

#[test]
fn every_other_check_stops_for_its_own_reason() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    #[track_caller]
    fn stopped(shop: &Shop, job: &Value, spool: &str, code: &str, says: &str) {
        let job = opened(shop, job);
        let gate = shop.answer("job.gate", &json!({ "job": job, "spool": spool }));
        let checks = gate["checks"].as_array().unwrap();
        let stops: Vec<&str> = checks.iter().filter(|c| c["ok"] == false).filter_map(|c| c["code"].as_str()).collect();
        assert_eq!(stops, [code], "{gate}");
        let check = checks.iter().find(|c| c["code"] == code).unwrap();
        assert!(text(check, "text").contains(says), "{check}");
        let error = shop.refused("job.start", &json!({ "job": job, "spool": spool }));
        is(&error, &no("gate_stops", "/spool", &[], ""));
    }
    let unnoted = with(job(1), "/before", json!({ "start_lead": "plus" }));
    stopped(&shop, &unnoted, &spool, "polarity_noted", "not noted before teardown");
    let hasty = with(with(job(1), "/pot_life_min", json!(20)), "/winding_min", json!(45));
    stopped(&shop, &hasty, &spool, "pot_life", "45 min of wet winding in a pot life of 20 min");
    // The adhesive that the coil names brings its own: 60 min at 23 °C are 30 min at 33 °C (common practice, no source).
    let glued = with(with(job(1), "/coil/adhesive", json!("epoxy-slow-equal")), "/coil/bench_c", json!(33));
    let warm = with(glued.clone(), "/winding_min", json!(45));
    stopped(&shop, &warm, &spool, "pot_life", "45 min of wet winding in a pot life of 30 min (slow two-part epoxy");
    let stated = with(with(glued, "/pot_life_min", json!(40)), "/winding_min", json!(45));
    stopped(&shop, &stated, &spool, "pot_life", "in a pot life of 40 min");
    // Where the coil names none the start does; what the job states for itself goes before it.
    let start_with = |job: &Value, adhesive: &str| {
        let job = opened(&shop, job);
        let asked = json!({ "job": job, "spool": spool, "adhesive": adhesive });
        (shop.answer("job.gate", &asked), shop.call_as(&shop.token(), "job.start", &asked))
    };
    let unnamed = with(with(job(1), "/coil/bench_c", json!(33)), "/winding_min", json!(45));
    let (gate, start) = start_with(&unnamed, "epoxy-slow-equal");
    assert!(gate.to_string().contains("45 min of wet winding in a pot life of 30 min (slow two-part epoxy"), "{gate}");
    assert_eq!(start["error"]["data"]["reason"], "gate_stops", "{start}");
    let (gate, _) = start_with(&with(unnamed.clone(), "/pot_life_min", json!(40)), "epoxy-slow-equal");
    assert!(gate.to_string().contains("in a pot life of 40 min\""), "{gate}");
    let asked = json!({ "job": opened(&shop, &unnamed), "spool": spool, "adhesive": "epoxy-slo-equal" });
    assert_eq!(shop.error("job.gate", &asked)["data"]["pointer"], "/adhesive");
    let quick = opened(&shop, &with(unnamed, "/winding_min", json!(25)));
    let started = shop.done("job.start", &json!({ "job": quick, "spool": spool, "adhesive": "epoxy-slow-equal" }));
    assert_eq!(started["verdict"], "go");
    let told = shop.answer("job.show", &json!({ "job": quick }));
    assert!(told["works"][0]["adhesive"].as_str().expect("text").starts_with("slow two-part epoxy"), "{told}");
    shop.done("journal.undo", &json!({ "seq": started["seq"], "reason": "only started for its adhesive" }));
    let fat = with(job(1), "/coil/gap/bore_mm", json!(39.80));
    stopped(&shop, &fat, &spool, "fits_gap", "it would rub");
    let other = with(job(1), "/coil/wire", json!("cu-awg31-single"));
    stopped(&shop, &other, &spool, "right_wire", "cu-awg31-single");
    shop.done("spool.hold", &json!({ "spool": spool, "hold_m": 290, "reason": "a batch of the autumn" }));
    stopped(&shop, &job(1), &spool, "spool_free", "290.00 m are promised to others");
}

/// Found by a tester: a coil whose design says stop was let through the gate and put into the plan.
#[test]
fn a_coil_whose_design_says_stop_passes_neither_gate_nor_plan() {
    use serde_json::json;
    let shop = crate::shop::Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "marked_m": { "value": 300, "u": 1 } }));
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    for (pointer, value) in [
        ("/target/dcr_ohm", json!(12)),
        ("/former/height_mm", json!(3)),
        ("/offset_mm", json!(30)),
        ("/gap/bore_mm", json!(52.0)),
    ] {
        let mut coil = crate::shop::sample();
        *coil.pointer_mut(pointer).expect("a member of the sample") = value;
        let job = shop.done("job.open", &json!({ "title": pointer, "coil": coil, "before": before }))["job"].clone();
        let gate = shop.answer("job.gate", &json!({ "job": job, "spool": "s-1" }));
        let stops = gate["checks"].as_array().expect("checks").iter().filter(|c| c["ok"] == false).count();
        assert_eq!((&gate["verdict"], stops), (&json!("stop"), 1), "{pointer}: {gate}");
        let error = shop.refused("job.start", &json!({ "job": job, "spool": "s-1" }));
        assert_eq!(error["code"], 1100, "{error}");
        let plan = shop.answer("plan.make", &json!({}));
        assert_eq!(plan["assign"], json!([]), "{pointer}");
        let refused =
            plan["refused"].as_array().expect("refusals").iter().find(|r| r["job"] == job).expect("it is told");
        assert_eq!(refused["reason"], "design", "{refused}");
        let ended = shop.command(&["job", "gate", job.as_str().expect("an id"), "s-1"]).output().expect("it runs");
        assert_eq!(ended.status.code(), Some(1), "a stop ends a script");
    }
}
