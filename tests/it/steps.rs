//! What is noted of a coil after it is wound, and how it is told: nothing far off passes in silence, nothing that was
//! noted is left out.

use crate::passport::{step, wound};
use serde_json::{Value, json};

fn history(shop: &crate::shop::Shop) -> String {
    shop.answer("job.show", &json!({ "job": "j-1" }))["history"].to_string()
}

fn finding(answer: &Value, code: &str) -> String {
    let all = answer["findings"].as_array().expect("findings");
    all.iter().find(|f| f["code"] == code).map_or_else(String::new, |f| f["text"].as_str().unwrap_or_default().into())
}

/// The sample's 5.8 Ω ± 3 %: 5.626 to 5.974 Ω.
#[test]
fn a_reading_far_off_is_noted_with_a_word_of_warning() {
    let shop = wound(6.2);
    let params = json!({ "reading_ohm": 0.5, "temperature_c": 20 });
    let said = finding(&step(&shop, "trimmed", &params), "dcr_off_target");
    assert!(said.contains("0.500 Ω") && said.contains("5.626 to 5.974 Ω") && said.contains("wrong reading"), "{said}");
    shop.done("journal.undo", &json!({ "seq": 5, "reason": "misread" }));
    let tenfold = step(&shop, "trimmed", &json!({ "reading_ohm": 58.2, "temperature_c": 20 }));
    assert!(finding(&tenfold, "dcr_off_target").contains("ten times"), "{tenfold}");
    shop.done("journal.undo", &json!({ "seq": 7, "reason": "misread" }));
    let near = step(&shop, "trimmed", &json!({ "reading_ohm": 5.63, "temperature_c": 20 }));
    assert_eq!(finding(&near, "dcr_off_target"), "", "{near}");
}

#[test]
fn the_history_tells_what_was_read_and_noted_at_each_step() {
    let shop = wound(6.2);
    let trimmed = json!({ "figures": { "unwound_turns": 6 }, "reading_ohm": 5.8, "temperature_c": 20, "minutes": 4 });
    step(&shop, "trimmed", &trimmed);
    step(&shop, "cured", &json!({ "not_needed": true, "note": "hot melt" }));
    let told = history(&shop);
    for said in ["coil 1 trimmed: 5.80", "Ω at 20 °C, 4 min, unwound turns 6", "coil 1 cured: not needed (hot melt)"]
    {
        assert!(told.contains(said), "{said}: {told}");
    }
}

#[test]
fn a_step_noted_twice_is_refused_with_the_entry_to_undo() {
    let shop = wound(5.8);
    let first = step(&shop, "trimmed", &json!({ "not_needed": true }));
    let again = json!({ "job": "j-1", "coil_no": 1, "step": "trimmed" });
    let error = shop.refused("job.step", &again);
    let next = error["data"]["next_step"].as_str().expect("a next step");
    assert!(next.contains(&format!("journal undo {}", first["seq"])), "{error}");
    shop.done("journal.undo", &json!({ "seq": first["seq"], "reason": "it was trimmed after all" }));
    shop.done("job.step", &again);
}

/// A flag that is false is written out: `--not-needed=false`; without a value it is yes.
#[test]
fn a_yes_or_no_on_the_command_line_is_what_it_says() {
    let shop = wound(5.8);
    for (word, wanted) in
        [("--not-needed=false", Value::Null), ("--not-needed=true", json!(true)), ("--not-needed", json!(true))]
    {
        let args = ["job", "step", "j-1", "1", "trimmed", word, "--json"];
        let ran = shop.command(&args).env("COILWRIGHT_TOKEN", shop.token()).output().expect("it runs");
        assert!(ran.status.success(), "{word}: {}", String::from_utf8_lossy(&ran.stderr));
        let stepped: Value = serde_json::from_slice(&ran.stdout).expect("JSON");
        let steps = shop.answer("job.show", &json!({ "job": "j-1" }))["works"][0]["steps"].clone();
        let trimmed = steps.as_array().expect("steps").iter().find(|s| s["step"] == "trimmed").expect("it is there");
        assert_eq!((&trimmed["done"], &trimmed["not_needed"]), (&json!(true), &wanted), "{word}");
        shop.done("journal.undo", &json!({ "seq": stepped["seq"], "reason": "tried" }));
    }
    let args = ["job", "step", "j-1", "1", "trimmed", "--not-needed=perhaps"];
    let ran = shop.command(&args).output().expect("it runs");
    assert_eq!(ran.status.code(), Some(2), "{}", String::from_utf8_lossy(&ran.stderr));
}

#[test]
fn a_step_without_its_coil_says_in_which_order_they_come() {
    let shop = wound(5.8);
    let ran = shop.command(&["job", "step", "j-1", "tested"]).output().expect("it runs");
    let said = String::from_utf8_lossy(&ran.stderr);
    assert!(!ran.status.success() && said.contains("coilwright job step JOB COIL_NO STEP"), "{said}");
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_terminal_a_coil_out_of_tolerance_is_not_called_good_and_its_passport_is_there() {
    let shop = wound(6.2);
    ["trimmed", "cured"].iter().for_each(|s| drop(step(&shop, s, &json!({}))));
    step(&shop, "tested", &json!({ "figures": { "isolation": "> 10 MΩ" } }));
    let told = crate::cli::on_a_terminal(&shop, "job show j-1");
    let coil = told.lines().find(|l| l.trim_start().starts_with("coil 1")).expect("its line");
    assert!(coil.contains("from s-1, wound, 6.2") && !coil.contains("good"), "{told}");
    for said in [
        "NOT RIGHT: coil 1 is out of tolerance: 6.200 Ω at 20 °C, 5.626 to 5.974 Ω are wanted",
        "1 of 1 good as wound, 1 of them not within tolerance",
        "wound: by ada, mandrel 50.9 mm, 21 min, 52 + 51 turns, 15 mm wide, 52.3 mm over the winding, adhesive batch b-7",
        "tested: isolation > 10 MΩ",
        "motor     bore 53.000 ± 0.017 mm (1 ×), pole 50.510 ± 0.017 mm (3 ×)",
    ] {
        assert!(told.contains(said), "{said}\n{told}");
    }
}
