//! The bench, a design's uncertainties, inductance and a spool's length against a second computation by other hands:
//! tests/recompute/physics.py.

use crate::recompute::by_other_hands;
use crate::shop::Shop;
use serde_json::{Value, json};

/// Seven families in turn.
const QUESTIONS: usize = 140;

#[test]
fn every_family_of_formulae_is_computed_alike_by_other_hands() {
    let shop = Shop::open();
    let token = shop.token();
    by_other_hands("physics.py", QUESTIONS, "bench, uncertainties and spools were", |mut case| {
        let (mut spool, mut answer) = (Value::Null, Value::Null);
        for call in case["calls"].as_array().expect("calls") {
            let mut params = call["params"].clone();
            if params.get("spool").is_some_and(Value::is_null) {
                params["spool"] = spool.clone();
            }
            let mut reply = shop.call_as(&token, call["method"].as_str().expect("a method"), &params);
            answer = if reply["error"].is_null() { reply["result"].take() } else { json!(reply["error"].to_string()) };
            if !answer["spool"].is_null() {
                spool = answer["spool"].clone();
            }
        }
        case["answer"] = answer;
        case
    });
}
