//! Plugins by command: begun, checked, tested, packed, added to a shop whose daemon runs, switched off and on.

use crate::shop::{Shop, command, sample, with};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

const KINDS: [&str; 9] =
    ["adhesive", "check", "costing", "former", "method", "reaction", "sheet-lines", "supply", "wire-table"];

struct Told {
    code: Option<i32>,
    out: String,
    err: String,
}

fn run(args: &[&str]) -> Told {
    let out = command(args).output().expect("it runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Told { code: out.status.code(), out: text(&out.stdout), err: text(&out.stderr) }
}

#[track_caller]
fn done(args: &[&str]) -> String {
    let told = run(args);
    assert_eq!(told.code, Some(0), "{args:?}: {}{}", told.out, told.err);
    told.out
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).display().to_string()
}

/// A plugin of this kind, begun in a folder.
#[track_caller]
fn begun(folder: &Path, name: &str, kind: &str) -> PathBuf {
    done(&["plugin", "new", name, "--kind", kind, "--dir", &folder.display().to_string()]);
    folder.join(name)
}

fn change(file: PathBuf, from: &str, to: &str) {
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains(from), "{}: {text}", file.display());
    std::fs::write(&file, text.replacen(from, to, 1)).unwrap();
}

fn item(shop: &Shop, id: &str) -> Value {
    let list = shop.answer("plugin.list", &json!({}));
    let found = list["items"].as_array().unwrap().iter().find(|p| p["plugin"] == id);
    found.unwrap_or_else(|| panic!("{id}: {list}")).clone()
}

#[test]
fn every_kind_goes_from_its_beginning_into_a_running_daemon() {
    let place = tempfile::tempdir().unwrap();
    let shop = Shop::open();
    let data = shop.data().display().to_string();
    for kind in KINDS {
        let name = format!("tarn-{kind}");
        let folder = begun(place.path(), &name, kind).display().to_string();
        done(&["plugin", "check", &folder]);
        let tested = done(&["plugin", "test", &folder]);
        assert!(tested.contains("holds") && !tested.contains("FAILS"), "{tested}");
        let archive = path(place.path(), &format!("{name}.tar.gz"));
        done(&["plugin", "pack", &folder, "-o", &archive]);
        done(&["plugin", "add", &archive, "--data", &data]);
    }
    let reloaded = shop.done("plugin.reload", &json!({}));
    assert_eq!((&reloaded["swapped"], &reloaded["faults"]), (&json!(true), &json!([])), "{reloaded}");
    for kind in KINDS {
        let one = item(&shop, &format!("tarn-{kind}"));
        assert!(one["state"] == "loaded" && !one["cases"].as_array().unwrap().is_empty(), "{one}");
    }
    let length = shop.answer("tarn-method.length", &json!({ "net_g": 250, "g_per_m": 0.46312 }));
    assert!((length["length_m"].as_f64().unwrap() - 539.8169).abs() < 1e-3, "250/0.46312: {length}");
    let length_for_mass = shop.error("tarn-method.length", &json!({ "net_g": 250, "g_per_m": "0.46312 m" }));
    assert_eq!(length_for_mass["data"]["pointer"], "/g_per_m", "g_per_m is no length: {length_for_mass}");
    assert_eq!(shop.answer("wire.show", &json!({ "wire": "cu-0.280-grade1-tarn-wire-table" }))["size"], "0.280 mm");
    // The shop's own costing rule is in the price, and the built-in examples still hold.
    let quote = shop.answer("costing.quote", &json!({ "coil": with(sample(), "/former/slit_mm", json!(0)) }));
    assert!(quote["lines"].as_array().unwrap().iter().any(|l| l["code"] == "packing"), "{quote}");
}

#[test]
fn a_former_is_priced_from_its_plugins_table_unless_the_shop_says_otherwise() {
    let place = tempfile::tempdir().unwrap();
    let shop = Shop::open();
    let data = shop.data().display().to_string();
    let folder = begun(place.path(), "tarn", "former");
    let added = shop.command(&["plugin", "add", &folder.display().to_string(), "--data", &data, "--reload"]);
    let told = { added }.env("COILWRIGHT_TOKEN", shop.token()).output().unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let coil = with(sample(), "/former/material", json!("tarn-card"));
    let line = |shop: &Shop| {
        let quote = shop.answer("costing.quote", &json!({ "coil": coil }));
        let found = quote["lines"].as_array().unwrap().iter().find(|l| l["code"] == "former").cloned();
        found.unwrap_or_else(|| panic!("{quote}"))
    };
    let priced = line(&shop);
    assert_eq!((&priced["amount"]["amount"], &priced["from"]), (&json!("0.40"), &json!("table of the plugin tarn")));
    // A price in another currency is told and not taken for the shop's own.
    change(shop.data().join("plugins/tarn/tables/formers.csv"), ",EUR", ",CHF");
    shop.done("plugin.reload", &json!({}));
    let other = line(&shop);
    assert_eq!(other["from"], "setting former_price; the plugin tarn has a price in CHF");
    let side_by_side = json!({ "coil": coil, "formers": ["aluminium-foil", "polyimide-film"] });
    let formers = shop.answer("costing.quote", &side_by_side)["formers"].clone();
    assert_eq!(formers[1]["former_price"]["amount"], "1.45", "the setting of a material without a price: {formers}");
}

#[test]
fn a_plugin_that_is_off_is_told_as_off_and_so_is_what_it_had() {
    let shop = Shop::open();
    let data = shop.data().display().to_string();
    let quote = json!({ "coil": sample() });
    shop.answer("costing.quote", &quote);
    for id in ["costing", "formers"] {
        done(&["plugin", "off", id, "--data", &data]);
    }
    assert_eq!(shop.answer("costing.quote", &quote)["coils"], 1, "nothing changes before the reload");
    let reloaded = shop.done("plugin.reload", &json!({}));
    assert_eq!((&reloaded["swapped"], &reloaded["faults"]), (&json!(true), &json!([])), "{reloaded}");
    let off = item(&shop, "costing");
    assert_eq!((&off["state"], &off["offers"]), (&json!("off"), &json!(["method costing.quote"])), "{off}");
    let error = shop.error("costing.quote", &quote);
    assert_eq!(error["code"], -32601);
    assert!(error["data"]["next_step"].as_str().unwrap().contains("plugin `costing` is switched off"), "{error}");
    let error = shop.error("coil.design", &sample());
    assert_eq!((&error["code"], &error["data"]["pointer"]), (&json!(1101), &json!("/former/material")));
    assert!(error["data"]["next_step"].as_str().unwrap().contains("plugin on formers"), "{error}");
    let again = run(&["plugin", "off", "costing", "--data", &data]);
    assert!(again.code == Some(0) && again.out.contains("was off already"), "{}", again.out);
    for id in ["costing", "formers"] {
        done(&["plugin", "on", id, "--data", &data]);
    }
    shop.done("plugin.reload", &json!({}));
    assert_eq!(shop.answer("costing.quote", &quote)["coils"], 1);
    let last = run(&["plugin", "off", "wire-tables", "--data", &data]);
    assert!(last.code == Some(1) && last.err.contains("no wire left"), "{}", last.err);
    let unknown = run(&["plugin", "off", "costings", "--data", &data]);
    assert!(unknown.code == Some(3) && unknown.err.contains("there are adhesives"), "{}", unknown.err);
    assert_eq!(std::fs::read_dir(shop.data().join("plugins")).unwrap().count(), 0, "no mark stays");
}

#[test]
fn names_and_places_that_cannot_be_are_refused_and_say_what_can() {
    let place = tempfile::tempdir().unwrap();
    let dir = place.path().display().to_string();
    for (name, words) in [
        ("Tarn", "small letters, digits and hyphens"),
        ("../tarn", "small letters, digits and hyphens"),
        ("spool", "first word of the program's own methods"),
        ("doctor", "a command of the program's own"),
    ] {
        let told = run(&["plugin", "new", name, "--kind", "former", "--dir", &dir]);
        assert!(told.code == Some(2) && told.err.contains(words), "{name}: {}", told.err);
    }
    assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 0);
    begun(place.path(), "tarn", "former");
    let there = run(&["plugin", "new", "tarn", "--kind", "check", "--dir", &dir]);
    assert!(there.code == Some(2) && there.err.contains("is there already"), "{}", there.err);
    let kind = run(&["plugin", "new", "tern", "--kind", "formers", "--dir", &dir]);
    assert!(kind.code == Some(2) && kind.err.contains("wire-table"), "{}", kind.err);
    for args in [["plugin", "check", "no-such"], ["plugin", "test", "no-such"], ["plugin", "pack", "no-such"]] {
        let told = run(&args);
        assert!(told.code == Some(3) && told.err.contains("plugin.toml"), "{args:?}: {}", told.err);
    }
    let shop = run(&["plugin", "add", &path(place.path(), "tarn"), "--data", &path(place.path(), "no-shop")]);
    assert!(shop.code == Some(3) && shop.err.contains("the shop's folder"), "{}", shop.err);
}

/// What a shop owner does with a text editor, and what is said to it.
#[test]
fn slips_of_the_pen_are_told_with_file_line_and_what_is_allowed() {
    let slips: [(&str, &str, &str, &str, &[&str]); 12] = [
        (
            "wire-table",
            "tables/wires.csv",
            "0.250,0.274",
            "0,250,0,274",
            &["tables/wires.csv, line 4", "decimal points"],
        ),
        (
            "wire-table",
            "tables/wires.csv",
            "0.250,0.274",
            "\"0,250\",0.274",
            &["line 4, column bare_mm", "write 0.250"],
        ),
        ("wire-table", "tables/wires.csv", "bare_mm,", "bare,", &["line 3, column bare", "bare_mm"]),
        (
            "wire-table",
            "tables/wires.csv",
            "0.250,0.274",
            "0.250 mm,0.274",
            &["line 4, column bare_mm", "the unit is in the header"],
        ),
        ("wire-table", "tables/wires.csv", "0.250,0.274", "0.274,0.250", &["line 4", "overall"]),
        ("wire-table", "tables/wires.csv", "0.250,0.274", "-0.250,0.274", &["line 4, column bare_mm", "above zero"]),
        (
            "wire-table",
            "plugin.toml",
            "conductor =",
            "conducter =",
            &["plugin.toml, line 10", "did you mean `conductor`?"],
        ),
        ("wire-table", "plugin.toml", "\"copper\"", "copper", &["plugin.toml, line 10", "quotation marks"]),
        (
            "wire-table",
            "cases/wires.json",
            "\"value\": 0.3512",
            "\"value\": 0.3521",
            &["cases/wires.json, line 5", "promised 0.3521"],
        ),
        ("wire-table", "cases/wires.json", "0.3512,", "0.3512", &["cases/wires.json, line 5", "comma"]),
        ("former", "tables/formers.csv", "0.40,EUR", "0.40,", &["line 3, column currency", "EUR"]),
        ("supply", "tables/offers.csv", "16.00,EUR", "16.00 EUR,EUR", &["column price", "18.50"]),
    ];
    let place = tempfile::tempdir().unwrap();
    for (n, (kind, file, from, to, words)) in slips.into_iter().enumerate() {
        let folder = begun(place.path(), &format!("slip-{n}"), kind);
        change(folder.join(file), from, to);
        said(&folder, words);
    }
    let tabs = begun(place.path(), "tabs", "wire-table");
    let table = tabs.join("tables/wires.csv");
    std::fs::write(&table, std::fs::read_to_string(&table).unwrap().replace(',', "\t")).unwrap();
    said(&tabs, &["tables/wires.csv, line", "with commas between the columns"]);
    let other = begun(place.path(), "latin", "wire-table");
    let mut bytes = std::fs::read(other.join("tables/wires.csv")).unwrap();
    bytes.extend_from_slice(b"# 0.1 \xb5m\n");
    std::fs::write(other.join("tables/wires.csv"), bytes).unwrap();
    said(&other, &["tables/wires.csv, line 6", "UTF-8"]);
    let script = begun(place.path(), "script", "check");
    change(script.join("scripts/checks.rhai"), "if width >=", "if width >= >=");
    said(&script, &["scripts/checks.rhai, line 5"]);
}

#[track_caller]
fn said(folder: &Path, words: &[&str]) {
    let told = run(&["plugin", "check", &folder.display().to_string()]);
    assert_eq!(told.code, Some(1), "{}: {}{}", folder.display(), told.out, told.err);
    for word in words {
        assert!(told.err.contains(word), "{}, `{word}`: {}", folder.display(), told.err);
    }
    let pack = run(&["plugin", "pack", &folder.display().to_string(), "-o", "/dev/null/x"]);
    assert!(pack.code == Some(1), "pack refuses what check refuses: {}", pack.err);
}

/// A link that leads out is refused by check, at load, and in the shop's folder; one that nobody reads too.
#[cfg(unix)]
#[test]
fn a_link_that_leads_out_of_a_plugin_is_refused_by_check_and_at_load() {
    let place = tempfile::tempdir().unwrap();
    let shop = Shop::open();
    let data = shop.data().display().to_string();
    for (name, link) in [("linked", "tables/more.csv"), ("linked-folder", "scripts")] {
        let folder = begun(place.path(), name, "former");
        done(&["plugin", "add", &folder.display().to_string(), "--data", &data]);
        for root in [folder.clone(), shop.data().join("plugins").join(name)] {
            std::os::unix::fs::symlink("/etc", root.join(link)).unwrap();
        }
        let told = run(&["plugin", "check", &folder.display().to_string()]);
        assert!(told.code == Some(1) && told.err.contains("leads out"), "{}", told.err);
        assert!(told.err.contains(link), "the link is named: {}", told.err);
        let pack = run(&["plugin", "pack", &folder.display().to_string(), "-o", &path(place.path(), "x.tar.gz")]);
        assert!(pack.code == Some(1) && pack.err.contains("leads out"), "{}", pack.err);
    }
    let reloaded = shop.done("plugin.reload", &json!({}));
    assert_eq!(reloaded["swapped"], false);
    let faults = reloaded["faults"].as_array().unwrap();
    assert!(faults.len() == 2 && faults.iter().all(|f| f.as_str().unwrap().contains("leads out")), "{reloaded}");
}
