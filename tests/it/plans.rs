//! Plans over the wire: what goes where, what is refused and why, what an accepted plan is worth later.

use crate::shop::{Shop, sample};
use serde_json::{Value, json};

/// A spool of AWG 30 with this much wire on it, known to 0.3 %; its id.
fn spool(shop: &Shop, metres: f64) -> String {
    let marked = json!({ "value": metres, "u": 0.003 * metres });
    let received = shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "marked_m": marked }));
    received["spool"].as_str().expect("an id").into()
}

/// A job of so many of the sample's coils, 17.756 m each; its id.
fn job(shop: &Shop, coils: u32, more: Value) -> String {
    let mut params = json!({
        "title": "bass", "coil": sample(), "coils": coils,
        "before": { "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" },
    });
    for (name, value) in more.as_object().into_iter().flatten() {
        params[name] = value.clone();
    }
    shop.done("job.open", &params)["job"].as_str().expect("an id").into()
}

/// Re-checks a plan by arithmetic of its own: coils whole and complete, no spool drawn beyond what is safe or even there.
#[track_caller]
fn holds(shop: &Shop, plan: &Value) {
    let jobs = shop.answer("job.list", &json!({}));
    let spools = shop.answer("spool.list", &json!({}));
    let find = |list: &Value, key: &str, id: &Value| {
        list["items"]
            .as_array()
            .expect("a list")
            .iter()
            .find(|x| x[key] == *id)
            .cloned()
            .unwrap_or_else(|| panic!("{id} is not there"))
    };
    let assign = plan["assign"].as_array().expect("a list");
    let mut drawn: std::collections::BTreeMap<String, f64> = Default::default();
    for a in assign {
        let job = find(&jobs, "job", &a["job"]);
        let of_job: u64 =
            assign.iter().filter(|b| b["job"] == a["job"]).map(|b| b["coils"].as_u64().expect("a count")).sum();
        assert_eq!(
            Some(of_job),
            job["coils"].as_u64().zip(job["good"].as_u64()).map(|(all, good)| all - good),
            "all coils of {} or none",
            a["job"]
        );
        let spool = find(&spools, "spool", &a["spool"]);
        assert_eq!(spool["wire"], a["wire"]);
        *drawn.entry(a["spool"].as_str().expect("an id").into()).or_default() +=
            a["coils"].as_f64().expect("a count") * job["need_m"]["value"].as_f64().expect("metres");
    }
    for (id, metres) in drawn {
        let left = find(&spools, "spool", &json!(id))["left_m"]["value"].as_f64().expect("metres");
        assert!(metres <= left, "{id} holds {left} m, {metres} m are drawn");
        let row =
            plan["spools"].as_array().expect("a list").iter().find(|s| s["spool"] == *id).expect("every spool is told");
        assert!((row["used_m"].as_f64().expect("metres") - metres).abs() < 0.02 * metres, "{row} against {metres}");
        assert!(row["used_m"].as_f64() <= row["safe_m"].as_f64(), "{row}");
    }
    let (promised, computed) = (&plan["risk_pct"]["promised"], &plan["risk_pct"]["computed"]);
    assert!(computed.as_f64() <= promised.as_f64(), "{computed} % of {promised} %");
    assert!(plan["value"].as_f64() <= plan["bound"].as_f64(), "{plan}");
}

#[test]
fn nothing_to_plan_is_an_answer() {
    let shop = Shop::open();
    let plan = shop.answer("plan.make", &json!({}));
    assert_eq!((&plan["value"], &plan["assign"], &plan["refused"]), (&json!(0.0), &json!([]), &json!([])));
    spool(&shop, 100.0);
    assert_eq!(shop.answer("plan.make", &json!({}))["assign"], json!([]));
    assert_eq!(shop.answer("plan.outlook", &json!({}))["first_short"], Value::Null);
}

#[test]
fn a_job_without_a_spool_is_refused_with_what_to_buy() {
    let shop = Shop::open();
    let id = job(&shop, 2, json!({}));
    let plan = shop.answer("plan.make", &json!({}));
    let refused = &plan["refused"][0];
    assert_eq!((&refused["job"], &refused["reason"]), (&json!(id), &json!("no_continuous_length")));
    let buy = refused["unlock"]
        .as_array()
        .expect("remedies")
        .iter()
        .find(|u| u["remedy"] == "buy")
        .expect("wire can be bought");
    assert!(buy["text"].as_str().expect("words").contains("EUR"), "{buy}");
    assert_eq!(plan["purchase"]["jobs"], json!([id]));
}

#[test]
fn coils_are_never_joined_and_the_plan_holds() {
    let shop = Shop::open();
    // Two ends of 16 m hold 32 m and no coil of 17.8 m; the third holds three.
    for metres in [16.0, 16.0, 58.0] {
        spool(&shop, metres);
    }
    let (large, small) = (job(&shop, 3, json!({ "priority": 9 })), job(&shop, 1, json!({ "priority": 1 })));
    let plan = shop.answer("plan.make", &json!({ "proof": "full" }));
    holds(&shop, &plan);
    assert_eq!(plan["assign"], json!([{ "job": large, "wire": "cu-awg30-single", "spool": "s-3", "coils": 3 }]));
    let refused = &plan["refused"][0];
    assert_eq!(refused["job"], json!(small));
    assert!(
        ["displaced", "not_enough_coils", "no_continuous_length"]
            .contains(&refused["reason"].as_str().expect("a word")),
        "{refused}"
    );
    assert_eq!((plan["value"].as_f64(), plan["bound"].as_f64()), (Some(9.0), Some(9.0)));
    assert_eq!(plan["sure"], "No better plan exists.");
    // Of the two ends only a spool of 58 m has room for three coils of 17.756 m.
    let why = plan["reasons"][0]["text"].as_str().expect("words");
    assert!(why.contains("only s-3 has 53.27 m safely free for 3 coils"), "{why}");
    // 58 − 3 × 17.756 = 4.73 m, less than the shortest usual coil of 7 m.
    let end = plan["spools"][2]["end_text"].as_str().expect("words");
    assert!(end.starts_with("4.73 m is left, stranded"), "{end}");
}

#[test]
fn a_job_larger_than_any_spool_sold_says_so() {
    let shop = Shop::open();
    spool(&shop, 100.0);
    let id = job(&shop, 900, json!({}));
    let plan = shop.answer("plan.make", &json!({}));
    assert_eq!(plan["refused"][0]["job"], json!(id));
    assert!(plan["refused"][0]["detail"].as_str().expect("words").contains("900"), "{}", plan["refused"][0]);
}

#[test]
fn held_wire_is_not_planned_and_releasing_it_is_a_remedy() {
    let shop = Shop::open();
    let s = spool(&shop, 60.0);
    let hold =
        shop.done("spool.hold", &json!({ "spool": s, "hold_m": 50.0, "reason": "promised to a friend" }))["hold"]
            .clone();
    let id = job(&shop, 2, json!({}));
    let plan = shop.answer("plan.make", &json!({}));
    let refused = &plan["refused"][0];
    assert_eq!((&refused["job"], &refused["reason"]), (&json!(id), &json!("held")), "{refused}");
    assert!(
        refused["unlock"]
            .as_array()
            .expect("remedies")
            .iter()
            .any(|u| u["remedy"] == "release" && u["spools"] == json!([s])),
        "{refused}"
    );
    shop.done("spool.release", &json!({ "spool": s, "hold": hold }));
    assert_eq!(shop.answer("plan.make", &json!({}))["refused"], json!([]));
}

#[test]
fn dates_that_are_past_are_planned_as_due_today() {
    let shop = Shop::open();
    spool(&shop, 100.0);
    job(&shop, 1, json!({ "due_on": "2001-01-01" }));
    job(&shop, 1, json!({ "due_on": "9999-12-31" }));
    let plan = shop.answer("plan.make", &json!({ "as_of": "2026-06-01" }));
    holds(&shop, &plan);
    assert_eq!((&plan["refused"], &plan["as_of"]), (&json!([]), &json!("2026-06-01")));
    let only_old = shop.answer("plan.make", &json!({ "as_of": "2026-06-01", "until_on": "2026-01-01" }));
    assert_eq!(only_old["assign"].as_array().map(Vec::len), Some(1));
    for bad in [
        json!({ "as_of": "yesterday" }),
        json!({ "until_on": "2026-13-01" }),
        json!({ "risk_pct": 0 }),
        json!({ "risk_pct": 90 }),
        json!({ "rounds": 4_000_000_000u32 }),
    ] {
        let pointer = format!("/{}", bad.as_object().expect("params").keys().next().expect("one"));
        let error = shop.error("plan.make", &bad);
        assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(-32602), &json!(pointer)), "{error}");
    }
}

#[test]
fn the_same_question_has_the_same_plan() {
    let shop = Shop::open();
    for metres in [30.0, 41.0, 55.0, 73.0, 90.0] {
        spool(&shop, metres);
    }
    for coils in [1, 2, 3, 1, 4, 2] {
        job(&shop, coils, json!({ "priority": coils + 2 }));
    }
    let first = shop.answer("plan.make", &json!({ "as_of": "2026-06-01" }));
    holds(&shop, &first);
    assert_eq!(first, shop.answer("plan.make", &json!({ "as_of": "2026-06-01" })));
}

#[test]
fn an_accepted_plan_is_checked_against_the_moment() {
    let shop = Shop::open();
    let s = spool(&shop, 60.0);
    job(&shop, 3, json!({}));
    let plan = shop.answer("plan.make", &json!({}));
    holds(&shop, &plan);
    assert_eq!(shop.error("plan.show", &json!({}))["code"], 1101);
    let accepted = shop.done("plan.accept", &json!({ "assign": plan["assign"], "seq": plan["seq"] }));
    assert_eq!(accepted["value"], plan["value"]);
    let shown = shop.answer("plan.show", &json!({}));
    assert_eq!(
        (&shown["assign"], &shown["accepted_by"], &shown["changes"]),
        (&plan["assign"], &accepted["accepted"], &json!(0))
    );

    // Wire goes from the spool: the plan as it was is refused, the one shown is repaired to what is left.
    shop.done("spool.move", &json!({ "spool": s, "rewound": true, "lost_m": 30.0 }));
    let head = shop.answer("shop.status", &json!({}))["journal"]["head"].clone();
    let error = shop.refused("plan.accept", &json!({ "assign": plan["assign"], "seq": plan["seq"] }));
    assert_eq!((&error["code"], &error["data"]["reason"]), (&json!(1100), &json!("plan_broken")), "{error}");
    assert!(error["data"]["detail"].as_str().expect("words").contains(&s), "{error}");
    assert_eq!(shop.answer("shop.status", &json!({}))["journal"]["head"], head, "a refusal writes nothing");
    let shown = shop.answer("plan.show", &json!({}));
    holds(&shop, &shown);
    assert_eq!(shown["assign"], json!([]));
    assert!(shown["changes"].as_u64() > Some(0), "{shown}");
}

/// A coil finished as planned is no change to the plan; a better plan that the repair cannot reach is proposed.
#[test]
fn work_done_is_no_change_and_a_better_plan_is_a_proposal() {
    let shop = Shop::open();
    let s = spool(&shop, 76.0);
    let first = job(&shop, 3, json!({ "priority": 2 }));
    let plan = shop.answer("plan.make", &json!({}));
    shop.done("plan.accept", &json!({ "assign": plan["assign"], "seq": plan["seq"] }));
    let step = json!({ "job": first, "spool": s });
    shop.done("job.start", &step);
    let reading =
        json!({ "job": first, "outcome": "good", "reading_ohm": 6.02, "test_leads_ohm": 0.20, "temperature_c": 23 });
    shop.done("job.record", &reading);
    let shown = shop.answer("plan.show", &json!({}));
    assert_eq!((&shown["changes"], &shown["assign"][0]["coils"]), (&json!(0), &json!(2)), "{shown}");
    assert_eq!(shown["proposal"], Value::Null);

    // Some 58 m are left. Two jobs of nine come in place of the two coils: a repair keeps what is accepted.
    let (second, third) = (job(&shop, 1, json!({ "priority": 9 })), job(&shop, 2, json!({ "priority": 9 })));
    let shown = shop.answer("plan.show", &json!({}));
    holds(&shop, &shown);
    let proposal = &shown["proposal"];
    assert!(proposal["gain"].as_f64() > Some(0.0), "{shown}");
    assert!(proposal["text"].as_str().expect("words").contains("moves"), "{proposal}");
    let taken = shop.done("plan.accept", &json!({ "assign": proposal["assign"], "seq": shown["seq"] }));
    assert_eq!(
        taken["value"].as_f64(),
        shown["value"].as_f64().map(|v| v + proposal["gain"].as_f64().expect("a gain"))
    );
    let jobs: Vec<&Value> = proposal["assign"].as_array().expect("a list").iter().map(|a| &a["job"]).collect();
    assert_eq!(jobs, [&json!(second), &json!(third)]);
}

#[test]
fn nonsense_is_no_plan() {
    let shop = Shop::open();
    spool(&shop, 60.0);
    job(&shop, 1, json!({}));
    let good = json!({ "job": "j-1", "wire": "cu-awg30-single", "spool": "s-1", "coils": 1 });
    for (member, value, code) in [
        ("job", json!("j-9"), 1100),
        ("spool", json!("s-9"), 1100),
        ("wire", json!("cu-awg31-single"), 1100),
        ("coils", json!(2), 1100),
        ("coils", json!(0), 1100),
        ("job", json!("s-1"), -32602),
        ("spool", json!("x"), -32602),
    ] {
        let mut bad = good.clone();
        bad[member] = value;
        let error = shop.refused("plan.accept", &json!({ "assign": [bad], "seq": 2 }));
        assert_eq!(error["code"], code, "{error}");
    }
    assert_eq!(shop.refused("plan.accept", &json!({ "assign": [], "seq": 2 }))["code"], -32602);
    assert_eq!(shop.refused("plan.accept", &json!({ "assign": [good], "seq": 99 }))["data"]["pointer"], "/seq");
    assert_eq!(shop.error("plan.accept", &json!({ "assign": [], "seq": 0 }))["code"], 1000, "writing needs a token");
}

#[test]
fn the_outlook_follows_the_plan_job_by_job() {
    let shop = Shop::open();
    let s = spool(&shop, 60.0);
    let first = job(&shop, 1, json!({ "due_on": "2026-06-05" }));
    let second = job(&shop, 2, json!({ "due_on": "2026-06-20" }));
    let ahead = shop.answer("plan.outlook", &json!({ "spool": s, "days": 30, "as_of": "2026-06-01" }));
    let after: Vec<(&Value, f64)> = ahead["after_jobs"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|a| (&a["job"], a["left_m"]["value"].as_f64().expect("metres")))
        .collect();
    assert_eq!(after.iter().map(|a| a.0).collect::<Vec<_>>(), [&json!(first), &json!(second)]);
    // Arithmetic: 60 m less 17.756 m, less two more of them.
    assert!((after[0].1 - 42.244).abs() < 0.01 && (after[1].1 - 6.732).abs() < 0.01, "{after:?}");
    let series = ahead["series"].as_array().expect("a series");
    assert!(
        series.windows(2).all(|w| w[0]["on"].as_str() <= w[1]["on"].as_str()
            && w[0]["left_m"]["value"].as_f64() >= w[1]["left_m"]["value"].as_f64()),
        "{series:?}"
    );
    assert!(
        series.iter().all(|d| d["usable_m"].as_f64() <= d["left_m"]["value"].as_f64()),
        "usable is part of what is left"
    );
    let dates: Vec<&Value> = series.iter().map(|d| &d["on"]).collect();
    assert_eq!(
        dates,
        [&json!("2026-06-01"), &json!("2026-06-05"), &json!("2026-06-20"), &json!("2026-06-30")],
        "today's evening, each change, the last day; no day twice"
    );
    assert_eq!(ahead["items"][0]["left_m"]["value"], json!(60.0));
    let chart = ahead["chart"].as_str().expect("a drawing");
    assert!(chart.starts_with("<svg") && chart.contains("2026-06-20"), "{chart}");
    let third = job(&shop, 1, json!({ "due_on": "2026-06-25", "priority": 1 }));
    let wires = shop.answer("plan.outlook", &json!({ "as_of": "2026-06-01", "chart": "figure" }));
    let figure = wires["items"][0]["chart"].as_str().expect("a figure");
    assert!(figure.contains("<svg") && figure.contains("<table") && figure.contains("2026-06-25"), "{figure}");
    let said = wires["sentence"].as_str().expect("words");
    assert!(said.contains(&third) && said.contains("2026-06-25") && !said.contains("day 2"), "{said}");
    let spools = shop.answer("plan.outlook", &json!({ "by": "spool", "as_of": "2026-06-01" }));
    assert_eq!((&spools["items"][0]["name"], &spools["chart"]), (&json!(s), &Value::Null));
    let short = &shop.answer("plan.outlook", &json!({ "as_of": "2026-06-01" }))["first_short"];
    assert_eq!((&short["job"], &short["on"]), (&json!(third), &json!("2026-06-25")), "{short}");
    assert_eq!(shop.error("plan.outlook", &json!({ "spool": "s-9" }))["code"], 1101);
    assert_eq!(shop.error("plan.outlook", &json!({ "days": 0 }))["data"]["pointer"], "/days");
}

#[test]
fn another_wire_that_fits_is_named_as_a_remedy() {
    let shop = Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-0.250-grade1", "marked_m": { "value": 80.0, "u": 0.3 } }));
    job(&shop, 1, json!({}));
    let refused = shop.answer("plan.make", &json!({}))["refused"][0].clone();
    let other = refused["unlock"]
        .as_array()
        .expect("remedies")
        .iter()
        .find(|u| u["remedy"] == "other_wire")
        .expect("0.250 grade 1 fits that gap");
    assert_eq!(other["wire"], "cu-0.250-grade1");
    shop.done("job.change", &json!({ "job": "j-1", "other_wires": [{ "wire": "cu-0.250-grade1", "penalty": 0.5 }] }));
    let plan = shop.answer("plan.make", &json!({}));
    assert_eq!((&plan["assign"][0]["wire"], &plan["value"]), (&json!("cu-0.250-grade1"), &json!(4.5)));
}
