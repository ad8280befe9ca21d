//! The document that the daemon gives of itself: complete, well formed, and valid in other people's eyes. That its examples
//! are true is shown beside, in `examples`.

use crate::shop::{Shop, root};
use serde_json::{Value, json};
use std::process::Command;

fn document() -> Value {
    Shop::open().answer("rpc.discover", &json!({}))
}

fn methods(document: &Value) -> &Vec<Value> {
    document["methods"].as_array().expect("methods")
}

#[test]
fn every_method_is_documented_with_summary_result_errors_and_example() {
    let document = document();
    for method in methods(&document) {
        let name = method["name"].as_str().expect("a name");
        assert!(name.contains('.') && method["summary"].as_str().is_some_and(|s| s.ends_with('.')), "{name}");
        assert_eq!(method["paramStructure"], "by-name", "{name}");
        assert!(method["result"]["schema"].is_object(), "{name}");
        assert!(method["errors"].as_array().is_some_and(|e| e.iter().any(|e| e["code"] == -32602)), "{name}");
        let example = &method["examples"][0];
        assert!(example["result"]["value"].as_object().is_some_and(|r| !r.is_empty()), "{name} has an empty example");
        let required: Vec<&Value> =
            method["params"].as_array().expect("params").iter().filter(|p| p["required"] == true).collect();
        for param in required {
            let given = example["params"].as_array().expect("params").iter().any(|p| p["name"] == param["name"]);
            assert!(given, "the example of {name} lacks {}", param["name"]);
        }
    }
}

/// Both ways: what is documented is answered, and what the daemon offers when asked for a method that is not there is
/// documented.
#[test]
fn every_documented_method_is_there_and_every_method_is_documented() {
    let shop = Shop::open();
    let document = shop.answer("rpc.discover", &json!({}));
    let names: Vec<&str> = methods(&document).iter().map(|m| m["name"].as_str().expect("a name")).collect();
    for name in &names {
        let error = shop.call(name, &json!({ "no_such_param": 1 }))["error"].take();
        assert_eq!(error["code"], -32602, "{name}: {error}");
    }
    let files = std::fs::read_dir(root().join("crates/proto/examples")).expect("examples");
    for file in files.map(|f| f.expect("a file").path()) {
        let name = file.file_stem().expect("a name").to_string_lossy().into_owned();
        assert!(names.contains(&name.as_str()), "there is an example of {name}, but no such method is documented");
    }
}

#[test]
fn every_schema_has_a_title_and_every_reference_a_target() {
    let document = document();
    let parts = document["components"]["schemas"].as_object().expect("schemas");
    assert!(!parts.is_empty());
    for (name, schema) in parts {
        assert!(schema["title"].is_string(), "{name} has no title");
    }
    for method in methods(&document) {
        let schemas = method["params"].as_array().expect("params").iter().chain([&method["result"]]);
        for descriptor in schemas {
            assert!(descriptor["schema"]["title"].is_string(), "{}: {descriptor}", method["name"]);
        }
    }
    let mut references = 0;
    walk(&document, &mut |v| {
        if let Some(target) = v.get("$ref") {
            let target = target.as_str().expect("text");
            let name = target.strip_prefix("#/components/schemas/").unwrap_or_else(|| panic!("{target}"));
            assert!(parts.contains_key(name), "{target} leads nowhere");
            references += 1;
        }
    });
    assert!(references > 50, "{references}");
}

#[test]
fn a_number_with_a_dimension_says_its_unit_in_name_and_schema() {
    let document = document();
    let mut units = std::collections::BTreeSet::new();
    walk(&document, &mut |v| {
        units.extend(v.get("x-ucum").map(|u| u.as_str().expect("text").to_owned()));
    });
    for unit in ["mm", "m", "g", "Ohm", "Cel", "%"] {
        assert!(units.contains(unit), "{unit} is in no schema: {units:?}");
    }
}

fn walk(v: &Value, look: &mut impl FnMut(&Value)) {
    look(v);
    match v {
        Value::Object(o) => o.values().for_each(|v| walk(v, look)),
        Value::Array(a) => a.iter().for_each(|v| walk(v, look)),
        _ => {}
    }
}

#[test]
fn the_document_carries_a_digest_of_itself() {
    let (one, other) = (document(), document());
    let digest = one["info"]["x-digest"].as_str().expect("a digest");
    assert_eq!(digest.len(), 16);
    assert_eq!(one, other, "two daemons of one program give one document");
}

/// Judged by other people's code: tests/node/validate.cjs.
#[test]
fn the_document_and_its_examples_are_valid_openrpc() {
    let folder = root().join("tests/node");
    assert!(
        folder.join("node_modules").is_dir(),
        "the validator is not installed: run tests/run, or `npm ci` in tests/node"
    );
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), document().to_string()).expect("written");
    let out =
        Command::new("node").arg("validate.cjs").arg(file.path()).current_dir(folder).output().expect("node runs");
    let said = String::from_utf8_lossy(&out.stdout);
    assert!(out.status.success(), "{said}{}", String::from_utf8_lossy(&out.stderr));
    assert!(said.contains("refused as it should be"), "{said}");
}
