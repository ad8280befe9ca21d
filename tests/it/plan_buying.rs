//! What to buy and by when: dates by the supplier's days, spools by what waits, demand by what was drawn.

#[cfg(target_os = "linux")]
use crate::cli::on_a_terminal;
use crate::shop::{Shop, sample};
use serde_json::{Value, json};

const WIRE: &str = "cu-awg30-single";
const TODAY: &str = "2026-06-01";

fn spool(shop: &Shop, wire: &str, metres: f64) -> String {
    let marked = json!({ "value": metres, "u": 0.2 });
    shop.done("spool.receive", &json!({ "wire": wire, "marked_m": marked }))["spool"].as_str().expect("an id").into()
}

/// A job of the sample's coils, 17.756 m each.
fn job(shop: &Shop, coils: u32, due_on: Option<&str>) -> String {
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    let mut params = json!({ "title": "bass", "coil": sample(), "coils": coils, "before": before });
    if let Some(due) = due_on {
        params["due_on"] = json!(due);
    }
    shop.done("job.open", &params)["job"].as_str().expect("an id").into()
}

#[track_caller]
fn item(answer: &Value, wire: &str) -> Value {
    let items = answer["items"].as_array().expect("a list");
    items.iter().find(|i| i["wire"] == wire).cloned().unwrap_or_else(|| panic!("no {wire}: {answer}"))
}

fn metres(item: &Value, name: &str) -> f64 {
    item[name].as_f64().unwrap_or_else(|| panic!("{name} of {item}"))
}

#[test]
fn an_empty_shop_needs_nothing_and_nonsense_is_refused() {
    let shop = Shop::open();
    assert_eq!(shop.answer("plan.buy", &json!({}))["items"], json!([]));
    for (params, pointer) in [
        (json!({ "service_pct": 20 }), "/service_pct"),
        (json!({ "service_pct": 100 }), "/service_pct"),
        (json!({ "history_days": 0 }), "/history_days"),
        (json!({ "as_of": "soon" }), "/as_of"),
        (json!({ "wires": [WIRE, "string-of-pearls"] }), "/wires/1"),
    ] {
        let error = shop.error("plan.buy", &params);
        assert_eq!(error["data"]["pointer"], pointer, "{error}");
    }
    assert_eq!(shop.error("plan.buy", &json!({ "wires": ["string-of-pearls"] }))["code"], 1101);
    let asked = shop.answer("plan.buy", &json!({ "wires": [WIRE] }));
    assert_eq!(
        (item(&asked, WIRE)["order"].clone(), asked["sentence"].clone()),
        (Value::Null, json!("Nothing needs to be ordered."))
    );
}

/// The plugin `supply`: 125 g of AWG 30 cost 9.00 EUR, and nine of ten orders are here in four days.
#[test]
fn the_latest_day_is_the_due_day_less_the_days_of_nine_orders_in_ten() {
    let shop = Shop::open();
    spool(&shop, "cu-0.250-grade1", 500.0);
    let id = job(&shop, 1, Some("2026-06-20"));
    let told = shop.answer("plan.buy", &json!({ "as_of": TODAY }));
    let wires: Vec<&Value> = told["items"].as_array().expect("a list").iter().map(|i| &i["wire"]).collect();
    assert_eq!(wires, [WIRE, "cu-0.250-grade1"], "what has to be ordered comes first");
    let first = item(&told, WIRE);
    assert_eq!((&first["latest_order_on"], &first["lead_days_p90"]), (&json!("2026-06-16"), &json!(4)), "{first}");
    let line = &first["order"]["lines"][0];
    assert_eq!((&line["offer"], &line["count"]), (&json!("tarn-awg30-single-125g"), &json!(1)));
    assert_eq!(first["order"]["cost"], json!({ "amount": "9.00", "currency": "EUR" }));
    assert_eq!(first["order"]["jobs"], json!([id]));
    assert_eq!((&first["slow_mover"], &first["demand"]["draws"]), (&json!(true), &json!(0)));
    assert!((metres(&first, "waiting_m") - 17.756).abs() < 0.01, "{first}");
    let idle = item(&told, "cu-0.250-grade1");
    assert_eq!((&idle["order"], &idle["latest_order_on"]), (&Value::Null, &Value::Null), "{idle}");
    // Due tomorrow, four days to deliver: three days late by the evening of today's order.
    shop.done("job.change", &json!({ "job": id, "due_on": "2026-06-02" }));
    let late = item(&shop.answer("plan.buy", &json!({ "as_of": TODAY })), WIRE);
    assert_eq!(late["latest_order_on"], TODAY);
    assert!(late["why"].as_str().expect("words").contains("late by 3 days"), "{late}");
}

/// The point against the textbook's d·L + z·√(L·σd² + d²·σL²), recomputed here, with σd² = v·E[X²] and σL = (4 − 2) / 1.2816.
#[test]
fn demand_is_what_was_drawn_from_spools_that_are_gone_too() {
    let shop = Shop::open();
    let s = spool(&shop, WIRE, 200.0);
    for (coils, drawn) in [(1, 18.0), (2, 17.5), (1, 20.0)] {
        let id = job(&shop, coils, None);
        for _ in 0..coils {
            shop.done("job.start", &json!({ "job": id, "spool": s }));
            let drawn = json!({ "value": drawn, "u": 0.1 });
            shop.done("job.record", &json!({ "job": id, "outcome": "good", "drawn_m": drawn }));
        }
    }
    let told = item(&shop.answer("plan.buy", &json!({})), WIRE);
    let demand = &told["demand"];
    assert_eq!((&demand["draws"], &demand["jobs"], &demand["days"]), (&json!(4), &json!(3), &json!(1)), "{told}");
    assert!((metres(demand, "drawn_m") - 73.0).abs() < 1e-9);
    assert_eq!(told["slow_mover"], false);
    let sizes = [18.0, 35.0, 20.0];
    let mean = 73.0 / 3.0;
    let sd2 = sizes.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 2.0;
    let (d, squares) = (73.0, mean * mean + sd2);
    let lead_sd: f64 = 2.0 / 1.2816;
    let spread = (2.0 * 3.0 * squares + (d * lead_sd).powi(2)).sqrt();
    // The law is a gamma, of skewness 2/√k with k = mean²/variance: its point by the third-order expansion of E. A. Cornish
    // and R. A. Fisher (1938), from memory, exact to some hundredths of the spread at skewness 1.8. The undershoot on top.
    let (z, g): (f64, f64) = (1.6449, 2.0 * spread / (2.0 * d));
    let skewed = z + g / 6.0 * (z * z - 1.0) + 1.5 * g * g / 24.0 * (z.powi(3) - 3.0 * z)
        - g * g / 36.0 * (2.0 * z.powi(3) - 5.0 * z);
    let expected = 2.0 * d + skewed * spread + squares / (2.0 * mean);
    let point = metres(&told, "reorder_point_m");
    assert!((point - expected).abs() < 0.05 * spread, "{point} m against {expected} m, spread {spread} m");
    // 127 m are left, less than that: as many spools as bring it up to the point, 15 coils of 17.756 m on each.
    assert!(metres(&told, "usable_m") < point && told["order"]["lines"][0]["count"].as_u64() >= Some(1), "{told}");

    let surer = item(&shop.answer("plan.buy", &json!({ "service_pct": 99 })), WIRE);
    let bolder = item(&shop.answer("plan.buy", &json!({ "service_pct": 80 })), WIRE);
    assert!(metres(&surer, "reorder_point_m") > point && point > metres(&bolder, "reorder_point_m"));

    shop.done("spool.retire", &json!({ "spool": s, "empty": true, "reason": "the rest is too short" }));
    let gone = item(&shop.answer("plan.buy", &json!({ "wires": [WIRE] })), WIRE);
    assert_eq!((&gone["demand"], metres(&gone, "usable_m")), (demand, 0.0), "{gone}");
}

#[cfg(target_os = "linux")]
#[test]
fn the_terminal_says_first_what_to_order_by_when() {
    let shop = Shop::open();
    job(&shop, 1, Some("2026-06-20"));
    let said = on_a_terminal(&shop, &format!("plan buy --as-of {TODAY}"));
    let mut lines = said.lines();
    assert_eq!(lines.next(), Some("Order 1 wire; the first is cu-awg30-single, by 2026-06-16."));
    assert_eq!(lines.next(), Some("Order by 2026-06-16: cu-awg30-single"));
    assert!(lines.next().is_some_and(|l| l.contains("1 spool of") && l.contains("9.00 EUR")), "{said}");
    let said = on_a_terminal(&shop, &format!("plan unlock j-1 --as-of {TODAY}"));
    assert!(said.starts_with("j-1: ") && said.contains("\n  1. buy 1 spool of"), "{said}");
}
