//! The owner's plugins in a running daemon: heard everywhere, swapped whole, and harmless when they fail.

use crate::shop::{Shop, sample, with};
use crate::stock::{full, job, opened, received, text};
use serde_json::{Value, json};
use std::path::Path;

const HEAD: &str = "format = 1\nversion = \"1.0.0\"\ntitle = \"Own rules\"\nlicence = \"own\"\n";

/// Writes a plugin of one manifest and one script.
fn plugin(folder: &Path, id: &str, manifest: &str, script: &str) {
    let place = folder.join(id);
    for sub in ["scripts", "cases"] {
        std::fs::create_dir_all(place.join(sub)).unwrap();
    }
    std::fs::write(place.join("plugin.toml"), format!("id = \"{id}\"\n{HEAD}{manifest}")).unwrap();
    std::fs::write(place.join("SOURCES.md"), "own").unwrap();
    std::fs::write(place.join("scripts/own.rhai"), script).unwrap();
}

fn shop(folder: &Path) -> Shop {
    Shop::with(&[], &[("COILWRIGHT__PLUGINS__FOLDER", folder.to_str().unwrap())])
}

const METHOD: &str = "[[method]]\nname = \"ask\"\nsummary = \"Asks.\"\nscript = \"scripts/own.rhai\"\nparams = { wall_mm = { type = \"number\", required = true } }\nresult = { y = { type = \"number\" } }\n";

#[test]
fn a_method_comes_and_goes_with_a_reload_and_a_fault_keeps_the_old_set() {
    let folder = tempfile::tempdir().unwrap();
    let shop = shop(folder.path());
    let asked = json!({ "wall_mm": "0.1 in" });
    assert_eq!(shop.error("own.ask", &asked)["code"], -32601);
    let digest = shop.answer("rpc.discover", &json!({}))["info"]["x-digest"].clone();

    plugin(folder.path(), "own", METHOD, "fn ask(about) { #{ y: about.params.wall_mm * 2 } }");
    assert_eq!(shop.error("plugin.reload", &json!({}))["code"], 1000, "reading anew needs a token");
    let done = shop.done("plugin.reload", &json!({}));
    assert_eq!((&done["swapped"], &done["faults"]), (&json!(true), &json!([])), "{done}");
    assert_eq!(shop.answer("own.ask", &asked)["y"], json!(5.08));
    let document = shop.answer("rpc.discover", &json!({}));
    assert_ne!(document["info"]["x-digest"], digest, "the document tells that it changed");
    assert!(document["methods"].as_array().unwrap().iter().any(|m| m["name"] == "own.ask" && m["x-plugin"] == "own"));
    assert_eq!(shop.answer("shop.status", &json!({}))["catalog_digest"], done["catalog_digest"]);

    plugin(folder.path(), "own", METHOD, "fn ask(about) {\n  #{ y: about.params.wall_mm * }\n}");
    plugin(folder.path(), "other", METHOD, "fn ask(about) { #{ y: 1.0 } }");
    let kept = shop.done("plugin.reload", &json!({}));
    assert_eq!(kept["swapped"], json!(false));
    let fault = kept["faults"][0].as_str().unwrap();
    assert!(fault.starts_with("plugin own, scripts/own.rhai, line 2:"), "{fault}");
    assert_eq!(shop.answer("own.ask", &asked)["y"], json!(5.08), "the old set is in use");
    assert_eq!(shop.error("other.ask", &asked)["code"], -32601);

    let partly = shop.done("plugin.reload", &json!({ "without_faulty": true }));
    assert_eq!(partly["swapped"], json!(true));
    assert_eq!(shop.error("own.ask", &asked)["code"], -32601);
    assert_eq!(shop.answer("other.ask", &asked)["y"], json!(1.0));
    let list = shop.answer("plugin.list", &json!({}));
    let item = |id: &str, state: &str| {
        let found = list["items"].as_array().unwrap().iter().find(|p| p["plugin"] == id && p["state"] == state);
        found.unwrap_or_else(|| panic!("{id} {state}: {list}")).clone()
    };
    assert!(item("own", "refused")["faults"][0].as_str().unwrap().contains("line 2"));
    assert_eq!(item("other", "loaded")["offers"], json!(["method other.ask"]));
    assert_eq!(item("other", "loaded")["licence"], "own");
    assert!(item("costing", "loaded")["cases"].as_array().unwrap().len() >= 3);
    assert!(shop.answer("shop.status", &json!({}))["faults"][0].as_str().unwrap().contains("plugin own"));
}

#[test]
fn a_script_that_fails_is_told_by_plugin_file_and_line_and_the_daemon_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    plugin(folder.path(), "own", METHOD, "fn ask(about) {\n  let n = 0;\n  loop { n += 1; }\n}");
    let shop = shop(folder.path());
    let error = shop.error("own.ask", &json!({ "wall_mm": 1 }));
    assert_eq!(error["code"], 1300, "{error}");
    assert!(error["data"]["detail"].as_str().unwrap().starts_with("plugin own, scripts/own.rhai, line "), "{error}");
    let misfit = shop.error("own.ask", &json!({ "wall_mm": "1 g" }));
    assert_eq!((&misfit["code"], &misfit["data"]["pointer"]), (&json!(-32602), &json!("/wall_mm")));
    shop.goes_on();
}

const CHECKS: &str = "[[check]]\nname = \"narrow\"\non = \"design\"\nscript = \"scripts/own.rhai\"\n\
    [[check]]\nname = \"sunday\"\non = \"start\"\nscript = \"scripts/own.rhai\"\n\
    [[sheet_lines]]\nname = \"lines\"\non = \"traveller\"\nscript = \"scripts/own.rhai\"\n\
    [[reaction]]\nname = \"reorder\"\nto = [\"spool_received\", \"spool_weighed\"]\nscript = \"scripts/own.rhai\"\n\
    [settings.least_mm]\ntype = \"number\"\nvalue = 20\ndescription = \"Narrowest winding.\"\n";

const SCRIPT: &str = r#"
fn narrow(about) {
    let width = about.design.width_mm.value;
    if width >= about.settings.least_mm { return []; }
    [#{ code: "narrow", level: "watch", text: `${fixed(width, 1)} mm is narrow for us`, figure: width, limit: about.settings.least_mm }]
}
fn sunday(about) {
    if about.job.title != "Quillmere 10" { return []; }
    [#{ code: "house_rule", level: "stop", text: `not ${about.job.title} from ${about.spool} today`, figure: about.design.turns }]
}
fn lines(about) { [`Ask for ${about.job.title} <b>before</b> cutting.`] }
fn reorder(about) {
    let left = about.spool.left_m.value;
    [#{ code: "reorder", text: `${fixed(left, 0)} m left of ${about.spool.wire}`, method: "spool.receive", params: #{ marked_m: 250.0 } }]
}
"#;

#[test]
fn checks_lines_and_proposals_of_a_plugin_show_where_they_are_needed() {
    let folder = tempfile::tempdir().unwrap();
    plugin(folder.path(), "own", CHECKS, SCRIPT);
    let shop = shop(folder.path());
    let narrow =
        |answer: &Value| answer["findings"].as_array().unwrap().iter().find(|f| f["code"] == "own.narrow").cloned();
    let found = narrow(&shop.answer("coil.design", &sample())).expect("the check is heard");
    assert_eq!((&found["level"], &found["figure"], &found["limit"]), (&json!("watch"), &json!(15.0), &json!(20.0)));
    shop.done("shop.set", &json!({ "plugin_settings": { "own": { "least_mm": 10 } } }));
    assert_eq!(narrow(&shop.answer("coil.design", &sample())), None, "the shop's own setting holds at once");

    let spool = received(&shop, &full());
    let opened = opened(&shop, &job(1));
    let gate = shop.answer("job.gate", &json!({ "job": opened, "spool": spool }));
    let check = gate["checks"].as_array().unwrap().iter().find(|c| c["code"] == "own.house_rule").unwrap().clone();
    assert_eq!(
        (&gate["verdict"], &check["ok"], &check["figure"]),
        (&json!("stop"), &json!(false), &json!(111.0)),
        "{gate}"
    );
    let refused = shop.refused("job.start", &json!({ "job": opened, "spool": spool }));
    assert_eq!((&refused["code"], &refused["data"]["met"]), (&json!(1100), &json!(["own.house_rule"])), "{refused}");
    let sheet = text(&shop.answer("sheet.traveller", &json!({ "job": opened, "spool": spool })), "html");
    assert!(
        sheet.contains("Ask for Quillmere 10 &lt;b&gt;before&lt;/b&gt; cutting."),
        "a plugin's line is text, never markup"
    );
    let signed = json!({ "job": opened, "spool": spool, "override": { "reason": "the owner is away" } });
    assert_eq!(shop.done("job.start", &signed)["verdict"], "stop", "a signed stop stays visible");

    let status = shop.answer("shop.status", &json!({}));
    assert_eq!(status["proposals"], json!([]), "the newest fact of the spool is the promise to the coil");
    let other = received(&shop, &full());
    let head = shop.answer("shop.status", &json!({}))["journal"]["head"].clone();
    let proposals = shop.answer("shop.status", &json!({}))["proposals"].clone();
    assert_eq!(proposals[0]["code"], "own.reorder", "{proposals}");
    assert_eq!(
        (&proposals[0]["about"], &proposals[0]["seq"], &proposals[0]["method"]),
        (&json!(other), &head, &json!("spool.receive"))
    );
    assert!(proposals[0]["text"].as_str().unwrap().starts_with("309 m left of"), "{proposals}");
    assert_eq!(shop.answer("shop.status", &json!({}))["journal"]["head"], head, "to propose is not to write");
}

#[test]
fn a_plugin_stop_on_a_design_stops_the_job_at_the_gate() {
    let folder = tempfile::tempdir().unwrap();
    let check = "[[check]]\nname = \"no\"\non = \"design\"\nscript = \"scripts/own.rhai\"\n";
    plugin(
        folder.path(),
        "own",
        check,
        "fn no(about) { [#{ code: \"no\", level: \"stop\", text: \"this shop winds no such coil\" }] }",
    );
    let shop = shop(folder.path());
    let (spool, job) = (received(&shop, &full()), opened(&shop, &job(1)));
    let gate = shop.answer("job.gate", &json!({ "job": job, "spool": spool }));
    let sound = gate["checks"].as_array().unwrap().iter().find(|c| c["code"] == "design_sound").unwrap().clone();
    assert!(sound["ok"] == false && sound["text"].as_str().unwrap().contains("no such coil"), "{gate}");
}

#[test]
fn a_failing_check_is_a_finding_of_its_own_and_no_design_fails() {
    let folder = tempfile::tempdir().unwrap();
    let check = "[[check]]\nname = \"no\"\non = \"design\"\nscript = \"scripts/own.rhai\"\n";
    plugin(folder.path(), "own", check, "fn no(about) {\n  about.design.no_such_figure\n}");
    let shop = shop(folder.path());
    shop.goes_on();
    let answer = shop.answer("coil.design", &sample());
    let found =
        answer["findings"].as_array().unwrap().iter().find(|f| f["code"] == "own.plugin_failed").unwrap().clone();
    assert!(found["text"].as_str().unwrap().starts_with("plugin own, scripts/own.rhai, line 2:"), "{found}");
}

#[test]
fn the_built_in_checks_ask_about_a_closed_former_and_soften_aluminium() {
    let shop = Shop::open();
    let codes = |params: &Value| -> Vec<String> {
        let answer = shop.answer("coil.design", params);
        answer["findings"].as_array().unwrap().iter().map(|f| text(f, "code")).collect()
    };
    let closed = codes(&with(sample(), "/former/slit_mm", json!(0)));
    assert!(closed.contains(&"checks.closed_ring".to_owned()), "{closed:?}");
    let slit = codes(&sample());
    assert!(!slit.iter().any(|code| code.starts_with("checks.")), "{slit:?}");
    let aluminium = codes(&with(sample(), "/wire", json!("al-awg30-single")));
    assert!(aluminium.contains(&"checks.soft_upper_layers".to_owned()), "{aluminium:?}");
}
