//! The bench, a design's uncertainties, inductance and a spool's length against a second computation by other hands:
//! tests/recompute/physics.py.

use crate::recompute::{python, seed};
use crate::shop::{Shop, root};
use serde_json::{Value, json};
use std::process::Command;

/// Seven families in turn.
const QUESTIONS: usize = 140;

#[test]
fn every_family_of_formulae_is_computed_alike_by_other_hands() {
    let Some(python) = python() else {
        println!(
            "SKIPPED: no Python, so bench, uncertainties and spools were NOT compared with the second computation"
        );
        return;
    };
    let script = root().join("tests/recompute/physics.py");
    let seed = seed();
    println!("COILWRIGHT_SEED={seed}");
    let run = |args: &[&str]| Command::new(&python).arg(&script).args(args).output().expect("python runs");
    let count = QUESTIONS.to_string();
    let made = run(&["--make", &count, "--seed", &seed.to_string()]);
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let shop = Shop::open();
    let token = shop.token();
    let mut lines = String::new();
    for line in String::from_utf8(made.stdout).expect("text").lines() {
        let mut case: Value = serde_json::from_str(line).expect("a question");
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
        lines.push_str(&format!("{case}\n"));
    }
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), lines).expect("written");
    let checked = run(&["--check", file.path().to_str().expect("a path"), "--at-least", &count]);
    let said = String::from_utf8_lossy(&checked.stdout);
    println!("{said}");
    assert!(
        checked.status.success() && said.contains(&format!("{QUESTIONS} passed, 0 failed")),
        "COILWRIGHT_SEED={seed}\n{said}{}",
        String::from_utf8_lossy(&checked.stderr)
    );
}
