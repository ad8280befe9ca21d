//! What the tests about spools and jobs begin with: a wire, spools of it, a coil, a job; and how a refusal is looked at.

use crate::shop::{Shop, with};
use serde_json::{Value, json};

/// AWG 31 of the worked cases. Its resistance per metre was measured on the very spool, to 0.3 %.
pub fn wire() -> Value {
    json!({ "conductor": "copper", "bare_mm": 0.22606, "overall_mm": 0.24638, "overall_min_mm": 0.2388, "overall_max_mm": 0.2540,
            "ohm_per_m": { "value": 0.42957, "u": 0.003 * 0.42957 }, "g_per_m": 0.36698 })
}

/// The 38 mm coil of the worked cases in that wire: 56 + 55 turns, 14.595 m with tails and threading.
pub fn coil() -> Value {
    json!({
        "wire": wire(),
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 38.30, "wall_mm": 0.10, "slit_mm": 1 },
        "winding": { "layers": 2, "width_mm": 14.5 },
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 38.00, "bore_mm": 39.95, "plate_mm": 6, "min_outer_mm": 0.20 },
    })
}

/// A spool weighing so much, on a reel of 97 ± 1 g.
pub fn part_used(gross_g: f64) -> Value {
    json!({ "wire": wire(), "gross_g": gross_g, "tare_g": { "value": 97.0, "u": 1.0 }, "scale_u_g": 0.06 })
}

/// A full spool: 113.4 g of wire, 309 m.
pub fn full() -> Value {
    part_used(210.4)
}

/// Takes a spool in and tells its id.
#[track_caller]
pub fn received(shop: &Shop, params: &Value) -> String {
    text(&shop.done("spool.receive", params), "spool")
}

/// A job for so many of those coils, polarity noted.
pub fn job(coils: u32) -> Value {
    json!({ "title": "Quillmere 10", "coil": coil(), "coils": coils,
            "before": { "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" } })
}

/// Opens a job and tells its id.
#[track_caller]
pub fn opened(shop: &Shop, params: &Value) -> String {
    text(&shop.done("job.open", params), "job")
}

/// A job of two coils with its first one on the winder: the spool, the job.
#[track_caller]
pub fn winding(shop: &Shop) -> (String, String) {
    let (spool, job) = (received(shop, &full()), opened(shop, &job(2)));
    shop.done("job.start", &json!({ "job": job, "spool": spool }));
    (spool, job)
}

/// The same with that coil wound and good.
#[track_caller]
pub fn wound(shop: &Shop) -> (String, String) {
    let (spool, job) = winding(shop);
    shop.done("job.record", &json!({ "job": job, "outcome": "good" }));
    (spool, job)
}

/// A member that is text.
#[track_caller]
pub fn text(answer: &Value, name: &str) -> String {
    answer[name].as_str().unwrap_or_else(|| panic!("no {name} in {answer}")).to_owned()
}

/// The value of a member, measured or bare.
#[track_caller]
pub fn value(answer: &Value, pointer: &str) -> f64 {
    let met = answer.pointer(pointer).unwrap_or_else(|| panic!("no {pointer} in {answer}"));
    met["value"].as_f64().or(met.as_f64()).unwrap_or_else(|| panic!("{pointer}: {met}"))
}

/// A member, rounded to as many decimals as `printed` has, is what is printed.
#[track_caller]
pub fn prints(answer: &Value, pointer: &str, printed: &str) {
    let met = value(answer, pointer);
    let wanted: f64 = printed.parse().expect("a printed number");
    let half_a_digit = 0.5 * 10f64.powi(-(printed.split_once('.').map_or(0, |(_, d)| d.len()) as i32));
    assert!((met - wanted).abs() <= half_a_digit * (1.0 + 1e-9), "{pointer}: {met}, printed {printed}");
}

/// The finding of this code.
#[track_caller]
pub fn finding<'a>(answer: &'a Value, code: &str) -> &'a Value {
    let all = answer["findings"].as_array().unwrap_or_else(|| panic!("no findings in {answer}"));
    all.iter().find(|f| f["code"] == code).unwrap_or_else(|| panic!("no {code} in {answer}"))
}

/// Last entry of the journal.
#[track_caller]
pub fn head(shop: &Shop) -> u64 {
    shop.answer("shop.status", &json!({}))["journal"]["head"].as_u64().expect("a sequence")
}

/// All that can be asked of spools, jobs, figures and the journal's head.
#[track_caller]
pub fn everything(shop: &Shop) -> Vec<Value> {
    let spools = shop.answer("spool.list", &json!({ "retired": true, "limit": 1000 }));
    let jobs = shop.answer("job.list", &json!({ "ended": true, "limit": 1000 }));
    let mut all = vec![
        shop.answer("shop.status", &json!({}))["journal"].take(),
        shop.answer("shop.figures", &json!({})),
        shop.answer("spool.list", &json!({})),
        shop.answer("job.list", &json!({})),
    ];
    for (list, noun) in [(&spools, "spool"), (&jobs, "job")] {
        for item in list["items"].as_array().expect("items") {
            all.push(shop.answer(&format!("{noun}.show"), &json!({ (noun): item[noun] })));
        }
    }
    all.extend([spools, jobs]);
    all
}

/// What a refusal must be.
pub struct No<'a> {
    /// Code on the wire.
    pub code: i64,
    /// `wrong_request` or `refused`.
    pub kind: &'a str,
    /// Stable word for programs, where the shop's rules object.
    pub reason: Option<&'a str>,
    /// JSON pointer into the params.
    pub pointer: &'a str,
    /// Words that the detail says.
    pub says: &'a [&'a str],
    /// A word that the next step says.
    pub next: &'a str,
}

/// A refusal by the shop's rules.
pub fn no<'a>(reason: &'a str, pointer: &'a str, says: &'a [&'a str], next: &'a str) -> No<'a> {
    No { code: 1100, kind: "refused", reason: Some(reason), pointer, says, next }
}

/// A request that cannot be meant.
pub fn wrong<'a>(reason: Option<&'a str>, pointer: &'a str, says: &'a [&'a str], next: &'a str) -> No<'a> {
    No { code: -32602, kind: "wrong_request", reason, pointer, says, next }
}

/// The admin is refused, as wanted, and nothing is different afterwards: no entry, no length, no promise.
#[track_caller]
pub fn refuses(shop: &Shop, method: &str, params: &Value, wanted: &No) {
    let before = everything(shop);
    let error = shop.refused(method, params);
    is(&error, wanted);
    assert_eq!(everything(shop), before, "{method} {params} was refused but changed something");
    // With a key of its own it is refused once more: a refusal takes no key.
    let keyed = with(params.clone(), "/idempotency_key", json!("a key of a refusal"));
    if params.get("idempotency_key").is_none() {
        assert_eq!(shop.refused(method, &keyed), error, "{method} with a key");
    }
}

/// An error is as wanted.
#[track_caller]
pub fn is(error: &Value, wanted: &No) {
    let data = &error["data"];
    assert_eq!(error["code"], wanted.code, "{error}");
    assert_eq!(data["kind"], wanted.kind, "{error}");
    assert_eq!(data["reason"].as_str(), wanted.reason, "{error}");
    assert_eq!(data["pointer"], wanted.pointer, "{error}");
    assert!(!error["message"].as_str().unwrap_or_default().is_empty(), "no message in {error}");
    let detail = text(data, "detail");
    for word in wanted.says {
        assert!(detail.contains(word), "it does not say {word:?}: {error}");
    }
    let next = text(data, "next_step");
    assert!(!next.trim().is_empty() && next.contains(wanted.next), "the next step is not {:?}: {error}", wanted.next);
}
