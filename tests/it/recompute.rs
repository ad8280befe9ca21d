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

/// Has a script of tests/recompute ask `count` random questions, a line each; has each line answered, which gives the line
/// that goes back; and has the script hold the answers against its own computation. `what` is compared.
#[track_caller]
pub fn by_other_hands(script: &str, count: usize, what: &str, mut answered: impl FnMut(Value) -> Value) {
    let Some(python) = python() else {
        println!("SKIPPED: no Python, so {what} NOT compared with the second computation");
        return;
    };
    let script = root().join("tests/recompute").join(script);
    let seed = seed();
    println!("COILWRIGHT_SEED={seed}");
    let run = |args: &[&str]| Command::new(&python).arg(&script).args(args).output().expect("python runs");
    let count = count.to_string();
    let made = run(&["--make", &count, "--seed", &seed.to_string()]);
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let mut lines = String::new();
    for line in String::from_utf8(made.stdout).expect("text").lines() {
        let question = serde_json::from_str(line).expect("a question");
        lines.push_str(&format!("{}\n", answered(question)));
    }
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), lines).expect("written");
    let checked = run(&["--check", file.path().to_str().expect("a path"), "--at-least", &count]);
    let said = String::from_utf8_lossy(&checked.stdout);
    println!("{said}");
    assert!(
        checked.status.success() && said.contains(&format!("{count} passed, 0 failed")),
        "COILWRIGHT_SEED={seed}\n{said}{}",
        String::from_utf8_lossy(&checked.stderr)
    );
}

#[test]
fn two_hundred_random_coils_are_computed_alike_by_other_hands() {
    let shop = Shop::open();
    by_other_hands("coil_design.py", COILS, "coil.design was", |params| {
        let answer = shop.answer("coil.design", &params);
        json!({ "params": params, "answer": answer })
    });
}
