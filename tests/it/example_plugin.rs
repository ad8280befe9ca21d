//! The example of PLUGINS.md in a running daemon: copied in and read anew, its wire, former and costing rule show where they are asked for.

use crate::costing::{by_decimals, case, cents};
use crate::formers;
use crate::matching;
use crate::recompute::python;
use crate::shop::{Shop, root, with};
use serde_json::{Value, json};
use std::path::Path;

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let (entry, name) = entry.map(|e| (e.path(), e.file_name())).unwrap();
        if entry.is_dir() {
            copy(&entry, &to.join(name));
        } else {
            std::fs::copy(&entry, to.join(name)).unwrap();
        }
    }
}

/// A daemon that ran before the plugin was there, and has it now.
fn shop_with_the_example(folder: &Path) -> Shop {
    let shop = Shop::with(&[], &[("COILWRIGHT__PLUGINS__FOLDER", folder.to_str().unwrap())]);
    assert_eq!(shop.error("wire.show", &json!({ "wire": "cu-brackwater-0.225" }))["code"], 1101);
    copy(&root().join("docs/example-plugin/brackwater"), &folder.join("brackwater"));
    let done = shop.done("plugin.reload", &json!({}));
    assert_eq!((&done["swapped"], &done["faults"]), (&json!(true), &json!([])), "{done}");
    shop
}

fn line<'a>(quote: &'a Value, code: &str) -> Option<&'a Value> {
    quote["lines"].as_array().unwrap().iter().find(|l| l["code"] == code)
}

#[test]
fn wire_former_and_rule_of_the_example_show_without_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let shop = shop_with_the_example(folder.path());
    let list = shop.answer("plugin.list", &json!({}));
    let own = list["items"].as_array().unwrap().iter().find(|p| p["plugin"] == "brackwater").unwrap();
    assert_eq!((&own["state"], &own["licence"]), (&json!("loaded"), &json!("MIT")), "{own}");
    assert_eq!(own["offers"], json!(["3 wires", "1 former material", "costing_rule batch_size"]));
    assert_eq!(own["cases"].as_array().map(Vec::len), Some(5));
    assert!(own["origin"].as_str().is_some_and(|o| o.ends_with("brackwater")), "{own}");

    let asked = with(with(matching::question(), "/from", json!("catalog")), "/limit", json!(50));
    let found = shop.answer("coil.match", &asked);
    let feasible = found["feasible"].as_array().unwrap();
    assert!(feasible.iter().any(|f| f["wire"] == "cu-brackwater-0.225"), "{found}");

    let compared =
        shop.answer("former.compare", &with(formers::question(), "/formers", json!([{ "material": "fish-paper" }])));
    let paper = &compared["items"][1];
    assert_eq!(paper["wall_mm"].as_f64(), Some(0.13), "the usual wall nearest to the coil's own: {paper}");
    let grams = 1.20e-3 * std::f64::consts::PI * (51.0 + 0.13) * 0.13 * 38.0;
    assert!((paper["former_g"]["value"].as_f64().unwrap() - grams).abs() < 1e-9, "{paper}");

    let quote = shop.answer("costing.quote", &json!({ "coil": case(), "coils": 2 }));
    let small = line(&quote, "small_batch").unwrap_or_else(|| panic!("{quote}"));
    // 7.00 shared by two.
    assert_eq!((cents(&small["amount"]), &small["from"]), (350, &json!("costing rule of the plugin brackwater")));
    let sum: i64 = quote["lines"].as_array().unwrap().iter().map(|l| cents(&l["amount"])).sum();
    assert_eq!(sum, cents(&quote["unit_price"]));
}

/// The prices at five quantities with the rule's amounts, a second time with Python's decimals (`tests/recompute/costing.py`).
#[test]
fn a_quote_with_the_rule_is_computed_alike_by_other_hands() {
    let Some(python) = python() else {
        println!("SKIPPED: no Python, so the costing rule was NOT compared with the second computation");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let shop = shop_with_the_example(folder.path());
    let asked = json!({ "coil": case(), "scrap_pct": 15, "margin_pct": 22, "wire_per_kg": "62.00", "breaks": [1, 2, 3, 10, 24] });
    let quote = shop.answer("costing.quote", &asked);
    let grams = shop.answer("coil.design", &case())["need_m"]["value"].as_f64().unwrap() * 0.36698;
    let mut questions = String::new();
    for (n, batch, coil) in [(1, "7.00", "0"), (2, "7.00", "0"), (3, "0", "0"), (10, "0", "-1.50"), (24, "0", "-1.50")]
    {
        let question = json!({
            "n": n, "grams": grams.to_string(), "set_up_min": 55, "run_min": 47, "rest_min": 0, "hour": "48", "overhead_pct": 18,
            "scrap_pct": 15, "wire_per_kg": "62", "former": "0.60", "adhesive": "0.45", "consumables": "2.20", "other_parts": 0,
            "margin_pct": 22, "rules_batch": batch, "rules_coil": coil,
        });
        questions.push_str(&format!("{question}\n"));
    }
    let breaks = quote["breaks"].as_array().unwrap();
    let ours: Vec<&str> = breaks.iter().map(|b| b["unit_price"]["amount"].as_str().unwrap()).collect();
    assert_eq!(ours, by_decimals(&python, &questions));
}

#[test]
fn a_rule_that_fails_has_a_line_that_says_so_and_the_quote_is_given() {
    let folder = tempfile::tempdir().unwrap();
    let shop = shop_with_the_example(folder.path());
    std::fs::write(
        folder.path().join("brackwater/scripts/batch.rhai"),
        "fn batch_size(about) {\n  about.no_such_figure\n}",
    )
    .unwrap();
    let kept = shop.done("plugin.reload", &json!({}));
    assert_eq!(kept["swapped"], json!(false), "its own examples fail: {kept}");
    std::fs::remove_file(folder.path().join("brackwater/cases/brackwater.json")).unwrap();
    shop.done("plugin.reload", &json!({}));
    let quote = shop.answer("costing.quote", &json!({ "coil": case(), "scrap_pct": 15, "margin_pct": 22 }));
    assert_eq!(quote["unit_price"]["amount"], "138.39", "the price without the rule");
    let told = line(&quote, "plugin_failed").unwrap_or_else(|| panic!("{quote}"));
    let text = told["text"].as_str().unwrap();
    assert!(text.starts_with("not in the price: plugin brackwater, scripts/batch.rhai, line 2"), "{text}");
    assert_eq!(cents(&told["amount"]), 0);
    assert!(quote["notes"].to_string().contains("NOT IN THE PRICE: costing rule of the plugin brackwater"), "{quote}");
}
