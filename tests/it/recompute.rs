//! `coil.design` against a second computation of the same coils by other hands: tests/recompute, in Python.

use crate::shop::{Shop, root};
use serde_json::{Value, json};
use std::path::PathBuf;
use std::process::Command;
use std::time::{SystemTime, UNIX_EPOCH};

const COILS: usize = 200;

/// The Python of tests/.venv; `None` if it is left out on purpose.
pub fn python() -> Option<PathBuf> {
    let python = root().join("tests/.venv/bin/python");
    if python.exists() {
        return Some(python);
    }
    let in_ci = std::env::var_os("CI").is_some();
    assert!(
        !in_ci && std::env::var_os("COILWRIGHT_WITHOUT_PYTHON").is_some(),
        "{} is not there: run tests/run once, which makes it (or, outside CI, set COILWRIGHT_WITHOUT_PYTHON=1)",
        python.display()
    );
    None
}

/// Another seed each time, or that of `COILWRIGHT_SEED`.
pub fn seed() -> u64 {
    let given = std::env::var("COILWRIGHT_SEED").ok().map(|s| s.parse().expect("COILWRIGHT_SEED is a whole number"));
    given.unwrap_or_else(|| SystemTime::now().duration_since(UNIX_EPOCH).expect("after 1970").as_secs())
}

#[test]
fn two_hundred_random_coils_are_computed_alike_by_other_hands() {
    let Some(python) = python() else {
        println!("SKIPPED: no Python, so coil.design was NOT compared with the second computation");
        return;
    };
    let script = root().join("tests/recompute/coil_design.py");
    let seed = seed();
    println!("COILWRIGHT_SEED={seed}");
    let made = Command::new(&python)
        .arg(&script)
        .args(["--make", &COILS.to_string(), "--seed", &seed.to_string()])
        .output()
        .expect("python runs");
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));

    let shop = Shop::open();
    let mut lines = String::new();
    for params in String::from_utf8(made.stdout).expect("text").lines() {
        let params: Value = serde_json::from_str(params).expect("params");
        let answer = shop.answer("coil.design", &params);
        lines.push_str(&json!({ "params": params, "answer": answer }).to_string());
        lines.push('\n');
    }
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), lines).expect("written");
    let checked = Command::new(&python)
        .arg(&script)
        .arg("--check")
        .arg(file.path())
        .args(["--at-least", &COILS.to_string()])
        .output()
        .expect("python runs");
    let said = String::from_utf8_lossy(&checked.stdout);
    assert!(
        checked.status.success() && said.contains(&format!("{COILS} passed, 0 failed")),
        "COILWRIGHT_SEED={seed}\n{said}{}",
        String::from_utf8_lossy(&checked.stderr)
    );
}
