//! Scripts of plugins: what each kind is given and may answer, and that a bad one harms nobody.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_catalog::{Asking, CallError, Catalog, Fault, Loaded, Moment, Room, Unable};
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// A program whose every coil takes ten metres and knows one job.
struct Bench;

impl Room for Bench {
    fn coil(&self, _: &Catalog, coil: &Value) -> Result<Value, Unable> {
        if coil.is_object() { Ok(coil.clone()) } else { Err(Unable::because("no coil")) }
    }
    fn design(&self, _: &Catalog, coil: &Value) -> Result<Value, Unable> {
        match coil["wire"].as_str() {
            Some("cu-awg30-single") => Ok(json!({"draw_m": {"value": 10.0, "u": 0.1}, "turns": 15})),
            _ => Err(Unable { pointer: Some("/wire".into()), ..Unable::because("no such wire") }),
        }
    }
    fn job(&self, id: &str) -> Result<Value, Unable> {
        Err(Unable::because(format!("there is no job {id}")))
    }
    fn figures(&self) -> Value {
        json!({"currency": "EUR", "scrap_pct": 14})
    }
    fn settings(&self) -> Value {
        json!({})
    }
}

const HEAD: &str = "format = 1\nid = \"own\"\nversion = \"1.0.0\"\ntitle = \"Test\"\nlicence = \"own\"\n";
const METHOD: &str = "[[method]]\nname = \"ask\"\nsummary = \"Asks.\"\nscript = \"scripts/own.rhai\"\n\
    params = { x = { type = \"number\" }, n = { type = \"integer\" }, width_mm = { type = \"number\", minimum = 1 }, coil = { type = \"coil\" }, price = { type = \"money\" } }\n\
    result = { y = { type = \"any\" }, price = { type = \"money\" } }\n";

fn load(manifest: &str, script: &str, cases: &str) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    let plugin = folder.path().join("own");
    for (name, text) in [
        ("plugin.toml", format!("{HEAD}{manifest}")),
        ("SOURCES.md", "own".into()),
        ("scripts/own.rhai", script.into()),
        ("cases/own.json", cases.into()),
    ] {
        write(&plugin.join(name), &text);
    }
    let room: Arc<dyn Room> = Arc::new(Bench);
    Catalog::load_in(Some(folder.path()), &room)
}

fn write(path: &Path, text: &str) {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, text).unwrap();
}

fn own_faults(loaded: &Loaded) -> Vec<&Fault> {
    loaded.faults.iter().filter(|f| f.plugin == "own").collect()
}

#[track_caller]
fn asking(manifest: &str, script: &str) -> Asking {
    let loaded = load(manifest, script, "{\"cases\": []}");
    assert!(own_faults(&loaded).is_empty(), "{:?}", loaded.faults);
    Asking::new(Arc::new(loaded.catalog), Arc::new(Bench))
}

/// Asks the method of a script whose function `ask` has this body.
#[track_caller]
fn ask(body: &str, params: Value) -> Result<Value, CallError> {
    let asking = asking(METHOD, &format!("fn ask(about) {{\n{body}\n}}"));
    let method = asking.catalog().methods().iter().find(|m| m.name == "own.ask").expect("the method is there");
    asking.call(method, &params)
}

#[track_caller]
fn answers(body: &str, params: Value, expected: Value) {
    assert_eq!(ask(body, params).map(|answer| answer["y"].clone()), Ok(expected), "{body}");
}

/// The fault names plugin, file and line.
#[track_caller]
fn faulty(body: &str, line: Option<u64>, words: &str) {
    match ask(body, json!({})) {
        Err(CallError::Fault(fault)) => {
            assert_eq!((fault.plugin.as_str(), fault.file.as_deref()), ("own", Some("scripts/own.rhai")), "{fault}");
            assert!(fault.line == line && fault.to_string().contains(words), "{fault}");
        }
        other => panic!("{body}: {other:?}"),
    }
}

/// The same where the engine does not say at which step it stopped: then the line is the function's.
#[track_caller]
fn stopped(body: &str, words: &str) {
    match ask(body, json!({})) {
        Err(CallError::Fault(fault)) => {
            assert_eq!((fault.plugin.as_str(), fault.file.as_deref()), ("own", Some("scripts/own.rhai")), "{fault}");
            assert!(fault.line.is_some() && fault.to_string().contains(words), "{fault}");
        }
        other => panic!("{body}: {other:?}"),
    }
}

#[test]
fn numbers_are_floats_unless_declared_whole_and_money_is_decimal() {
    answers("#{ y: about.params.x / 2 }", json!({"x": 15}), json!(7.5));
    answers("#{ y: about.params.n / 2 }", json!({"n": 15}), json!(7));
    answers("#{ y: about.params.width_mm }", json!({"width_mm": "2 in"}), json!(50.8));
    answers("#{ y: about.figures.scrap_pct / 4 }", json!({}), json!(3.5));
    let tenth = ask("#{ price: about.params.price * 3 }", json!({"price": {"amount": "0.10", "currency": "EUR"}}));
    assert_eq!(tenth.unwrap()["price"], json!({"amount": "0.30", "currency": "EUR"}));
    // Commercial rounding: half a cent goes up.
    answers("#{ y: cents(decimal(\"1.005\")).to_string() }", json!({}), json!("1.01"));
    faulty("#{ price: decimal(\"1.005\") }", Some(1), "more than two decimals");
    faulty("#{ price: 1.5 }", Some(1), "a decimal amount was promised");
}

#[test]
fn params_that_do_not_fit_are_told_with_their_pointer() {
    for (params, pointer, words) in [
        (json!({"xx": 1}), "/xx", "no param `xx`"),
        (json!({"x": "1"}), "/x", "a number is wanted"),
        (json!({"n": 1.5}), "/n", "a whole number"),
        (json!({"width_mm": 0.5}), "/width_mm", "0.5 is outside 1 and above"),
        (json!({"width_mm": "3 g"}), "/width_mm", "mass"),
        (json!({"coil": 7}), "/coil", "no coil"),
        (json!({"price": {"amount": "1.00", "currency": "USD"}}), "/price", "the shop counts in EUR"),
    ] {
        match ask("#{}", params.clone()) {
            Err(CallError::Params(misfit)) => {
                assert!(misfit.pointer == pointer && misfit.message.contains(words), "{params}: {misfit:?}");
            }
            other => panic!("{params}: {other:?}"),
        }
    }
}

#[test]
fn a_script_asks_the_program_and_refuses_in_its_own_words() {
    let coil = json!({"coil": {"wire": "cu-awg30-single"}});
    answers("#{ y: design(about.params.coil).draw_m.value }", coil, json!(10.0));
    answers("#{ y: wire(\"cu-awg30-single\").bare_mm }", json!({}), json!(0.254));
    answers("#{ y: former(\"aluminium-foil\").metal }", json!({}), json!(true));
    answers("#{ y: offers(\"cu-awg30-single\").len() > 0 }", json!({}), json!(true));
    answers(
        "try { design(#{wire: \"x\"}) } catch (e) { return #{ y: e.to_string() } }",
        json!({}),
        json!("no such wire"),
    );
    let refused = |body: &str| match ask(body, json!({})) {
        Err(CallError::Refused(unable)) => unable,
        other => panic!("{body}: {other:?}"),
    };
    assert_eq!(refused("design(#{wire: \"x\"})").message, "no such wire");
    let own = refused("refuse(\"not on Sundays\", \"/x\")");
    assert_eq!((own.message.as_str(), own.pointer.as_deref()), ("not on Sundays", Some("/x")));
    assert!(refused("wire(\"cu-awg30-singel\")").next_step.unwrap().contains("cu-awg30-single"));
}

#[test]
fn an_answer_that_was_not_declared_is_the_plugins_fault() {
    faulty("#{ z: 1 }", Some(1), "declares no `z`");
    faulty("1", Some(1), "an object map was promised");
    faulty("#{ y: 1.0 / 0.0 }", Some(1), "no number that JSON has");
    faulty("#{ y: |x| x }", Some(1), "is no value that can be answered");
}

#[test]
fn a_script_that_takes_too_much_is_stopped_with_its_line_and_soon() {
    let began = Instant::now();
    stopped("loop { }", "the script ");
    stopped("let i = 0;\nloop { i += 1; }", "the script ");
    stopped("let s = \"x\";\nloop { s += s; }", "the script ");
    stopped("let a = [];\nloop { a.push(\"0123456789abcdef\"); }", "the script ");
    stopped("let a = [0];\nloop { a = [a, a]; }", "the script ");
    stopped("let a = [0];\nloop { a = [a]; }", "the script ");
    stopped("let m = #{};\nloop { m = #{ m: m }; }", "the script ");
    stopped("let m = #{};\nfor i in 0..1000000000 { m[`${i}`] = i; }", "the script ");
    stopped("[].pad(1000000000, 0)", "the script ");
    stopped("let s = \"\"; s.pad(2000000000, 'x')", "the script ");
    stopped("ask(about)", "nest deeper");
    // Debug builds on a busy machine: a bound against minutes, not a timing.
    assert!(began.elapsed() < Duration::from_secs(60), "{:?}", began.elapsed());
}

#[test]
fn the_clock_stops_a_script_that_counts_few_steps() {
    let began = Instant::now();
    let slow = "let a = []; for i in 0..900 { a.push(900 - i); }\nloop { let b = a; b.sort(|x, y| if x < y { -1 } else { 1 }); }";
    stopped(slow, "");
    assert!(began.elapsed() < Duration::from_secs(30), "{:?}", began.elapsed());
}

#[test]
fn there_is_no_eval_import_sleep_file_clock_or_print() {
    let at_compile = |body: &str| {
        let loaded = load(METHOD, &format!("fn ask(about) {{\n{body}\n}}"), "{\"cases\": []}");
        let faults = own_faults(&loaded);
        assert!(!faults.is_empty() && faults[0].line == Some(2), "{body}: {faults:?}");
    };
    at_compile("eval(\"1\")");
    at_compile("import \"x\" as y;");
    at_compile("print(\"x\")");
    at_compile("unknown_variable");
    at_compile("(".repeat(200).as_str());
    for body in ["sleep(10)", "timestamp()", "open_file(\"/etc/passwd\")", "parse_json(\"{}\")", "rand()", "exit()"] {
        faulty(body, Some(2), "unction not found");
    }
    faulty("9223372036854775807 + 1", Some(2), "overflow");
    faulty("1 / 0", Some(2), "zero");
    faulty("about.params.nowhere", Some(2), "nowhere");
    faulty("throw \"x\";", Some(2), "threw: x");
}

#[test]
fn a_script_that_would_run_by_itself_is_refused() {
    let loaded = load(METHOD, "let x = 1;\nfn ask(about) { #{} }", "{\"cases\": []}");
    assert!(own_faults(&loaded)[0].message.contains("more than functions"), "{:?}", loaded.faults);
    let loaded = load(METHOD, "fn other(about) { #{} }", "{\"cases\": []}");
    let told = own_faults(&loaded)[0].to_string();
    assert!(told.contains("no function `ask`") && told.contains("other(about)"), "{told}");
}

#[test]
fn a_comparison_without_order_does_no_harm() {
    let body = "let a = []; for i in 0..900 { a.push((i * 7919) % 101); }\na.sort(|x, y| 1); a.sort(|x, y| -1); #{ y: a.len() }";
    match ask(body, json!({})) {
        Ok(answer) => assert_eq!(answer["y"], json!(900)),
        Err(CallError::Fault(fault)) => assert_eq!(fault.plugin, "own"),
        other => panic!("{other:?}"),
    }
}

const CHECK: &str = "[[check]]\nname = \"look\"\non = \"design\"\nscript = \"scripts/own.rhai\"\n";

#[test]
fn a_check_is_heard_and_a_failing_one_is_a_finding() {
    let good = asking(
        CHECK,
        "fn look(about) { [#{ code: \"many\", level: \"watch\", text: `${about.design.turns} turns`, figure: about.design.turns, limit: 10 }] }",
    );
    let found = good.check(&Moment::Design, &json!({"design": {"turns": 15}}));
    let own: Vec<_> = found.iter().filter(|f| f.plugin == "own").collect();
    assert_eq!((own[0].code.as_str(), own[0].text.as_str(), own[0].figure), ("many", "15.0 turns", Some(15.0)));
    assert!(good.check(&Moment::Start, &json!({})).iter().all(|f| f.plugin != "own"));
    for script in ["fn look(about) { loop { } }", "fn look(about) { [#{ code: \"Many!\" }] }", "fn look(about) { 7 }"] {
        let found = asking(CHECK, script).check(&Moment::Design, &json!({"design": {}}));
        assert!(
            found.iter().any(|f| f.plugin == "own" && f.code == "plugin_failed" && f.text.contains("scripts/own.rhai")),
            "{found:?}"
        );
    }
}

#[test]
fn a_check_that_takes_too_much_three_times_running_is_switched_off_and_named() {
    let slow = asking(CHECK, "fn look(about) {\n  loop { }\n}");
    let look = || {
        let found = slow.check(&Moment::Design, &json!({"design": {}}));
        found.into_iter().find(|f| f.plugin == "own").map(|f| f.text).unwrap_or_default()
    };
    for _ in 0..3 {
        assert!(slow.catalog().along().iter().all(|offer| offer.switched_off().is_none()));
        let told = look();
        assert!(told.starts_with("plugin own, scripts/own.rhai, line ") && told.contains("the script took "), "{told}");
    }
    let told = look();
    assert!(told.contains("the check `look` is switched off") && told.contains("plugin reload"), "{told}");
    assert_eq!(slow.catalog().along().iter().filter(|offer| offer.switched_off().is_some()).count(), 1);
}

#[test]
fn a_costing_rule_is_asked_by_a_method_and_by_no_other_rule() {
    let rule = "[[costing_rule]]\nname = \"packing\"\nscript = \"scripts/own.rhai\"\n";
    let script = "fn packing(about) { [#{ code: \"packing\", text: \"Packing\", amount: decimal(\"1.20\") * about.n.to_int(), per: \"batch\" }] }\n\
        fn ask(about) { #{ y: costing_rules(#{ n: 3 })[0].amount.to_string() } }";
    let both = asking(&format!("{METHOD}{rule}"), script);
    let method = both.catalog().methods().iter().find(|m| m.name == "own.ask").unwrap();
    assert_eq!(both.call(method, &json!({})).unwrap()["y"], json!("3.60"));
    let again = asking(
        &format!("{METHOD}{rule}"),
        "fn packing(about) { costing_rules(about) }\nfn ask(about) { #{ y: costing_rules(#{})[0].text } }",
    );
    let method = again.catalog().methods().iter().find(|m| m.name == "own.ask").unwrap();
    let told = again.call(method, &json!({})).unwrap()["y"].to_string();
    assert!(
        told.contains("only a method may ask") && told.contains("not in the price: plugin own, scripts/own.rhai"),
        "{told}"
    );
}

#[test]
fn lines_and_proposals_come_from_their_scripts() {
    let manifest = "[[sheet_lines]]\nname = \"extra\"\non = \"traveller\"\nscript = \"scripts/own.rhai\"\n\
        [[reaction]]\nname = \"low\"\nto = [\"spool_weighed\"]\nscript = \"scripts/own.rhai\"\n";
    let script = "fn extra(about) { [`for ${about.job}`] }\n\
        fn low(about) { [#{ code: \"reorder\", text: `order for ${about.spool}`, method: \"spool.receive\", params: #{ wire: \"x\" } }] }";
    let own = asking(manifest, script);
    assert!(own.lines(&json!({"job": "J1"})).contains(&"for J1".to_owned()));
    let proposals = own.react("spool_weighed", &json!({"spool": "S1"}));
    assert_eq!((proposals[0].text.as_str(), proposals[0].params.clone()), ("order for S1", Some(json!({"wire": "x"}))));
    assert!(own.react("wire_drawn", &json!({"spool": "S1"})).is_empty());
}

#[test]
fn settings_have_defaults_that_fit_and_reach_the_script() {
    let setting = "[settings.lid_price]\ntype = \"money\"\nvalue = \"0.60\"\ndescription = \"A lid.\"\n";
    let own = asking(&format!("{METHOD}{setting}"), "fn ask(about) { #{ price: about.settings.lid_price * 2 } }");
    let method = own.catalog().methods().iter().find(|m| m.name == "own.ask").unwrap();
    assert_eq!(own.call(method, &json!({})).unwrap()["price"]["amount"], json!("1.20"));
    let loaded = load(
        &format!("{METHOD}{}", setting.replace("\"0.60\"", "\"0,60\"")),
        "fn ask(about) { #{} }",
        "{\"cases\": []}",
    );
    assert!(own_faults(&loaded)[0].to_string().contains("does not fit"), "{:?}", loaded.faults);
}

#[test]
fn a_plugin_that_fails_its_own_example_is_refused_with_both_figures() {
    let case = |expect: &str| {
        format!(
            "{{\"cases\": [{{\"title\": \"double\", \"source\": \"by hand\", \"method\": \"ask\", \"params\": {{\"x\": 4}}, \"expect\": {expect}}}]}}"
        )
    };
    let script = "fn ask(about) { #{ y: about.params.x * 2 } }";
    let good =
        load(METHOD, script, &case("{\"/y\": {\"value\": 8, \"tolerance\": 0.1}, \"/price\": {\"absent\": true}}"));
    assert!(own_faults(&good).is_empty(), "{:?}", good.faults);
    let info = good.catalog.plugins().iter().find(|p| p.id == "own").unwrap();
    assert_eq!((info.cases.len(), info.scripts.as_slice()), (1, ["method own.ask".to_owned()].as_slice()));
    assert_eq!(good.catalog.methods()[0].example, Some((json!({"x": 4}), json!({"y": 8.0}))));
    let bad = load(METHOD, script, &case("{\"/y\": {\"value\": 9, \"tolerance\": 0.1}}"));
    assert!(own_faults(&bad)[0].to_string().contains("/y is 8.0, promised 9 ± 0.1"), "{:?}", bad.faults);
    assert!(bad.catalog.methods().iter().all(|m| m.plugin != "own") && bad.catalog.wire("cu-awg30-single").is_some());
    let broken = load(METHOD, "fn ask(about) {\n about.params.z\n}", &case("{\"/y\": 8}"));
    let fault = own_faults(&broken)[0];
    assert_eq!((fault.file.as_deref(), fault.line), (Some("scripts/own.rhai"), Some(2)), "{fault}");
}

#[test]
fn a_manifest_that_declares_nonsense_is_refused_by_line() {
    for (manifest, words) in [
        (METHOD.replace("type = \"number\" }", "type = \"numbr\" }"), "is no type of a value"),
        (METHOD.replace("\"ask\"", "\"Ask it\""), "is no name of a method"),
        (METHOD.replace("scripts/own.rhai", "../own.rhai"), "does not lie in the plugin's folder"),
        (CHECK.replace("\"design\"", "\"desing\""), "is nothing that a check can be on"),
        (
            "[[reaction]]\nname = \"low\"\nto = [\"spool_wieghed\"]\nscript = \"scripts/own.rhai\"\n".into(),
            "did you mean `spool_weighed`",
        ),
        (format!("{METHOD}{METHOD}"), "a method is already called `ask`"),
    ] {
        let loaded =
            load(&manifest, "fn ask(about) { #{} }\nfn look(about) { [] }\nfn low(about) { [] }", "{\"cases\": []}");
        let faults = own_faults(&loaded);
        assert!(faults.iter().any(|f| f.to_string().contains(words)), "{words}: {faults:?}");
    }
}
