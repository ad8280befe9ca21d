//! Who may know whom: the arrows of the ground plan and the list of what never imports what, read from the sources.

use crate::shop::root;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Crates of ours, and which of ours each may depend on. A crate that is not in this list has no place in the house.
const ARROWS: [(&str, &[&str]); 9] = [
    ("core", &[]),
    ("shop", &["core"]),
    ("planner", &["core"]),
    ("catalog", &["core"]),
    ("sheets", &["core"]),
    ("store", &["shop"]),
    // Only its quantities and `Measured`: see `MODULES_OF_CORE`.
    ("proto", &["core"]),
    ("service", &["core", "shop", "planner", "catalog", "sheets", "store", "proto"]),
    ("coilwright", &["service", "proto"]),
];

/// Crates that are the same on every machine and day: no file, socket, clock, environment, randomness, thread, log.
const PURE: [&str; 4] = ["core", "shop", "planner", "sheets"];

/// What no source of a pure crate may name, outside its tests. Time and seeds come in as values.
const IMPURE_WORDS: [&str; 15] = [
    "std::fs",
    "std::net",
    "std::env",
    "std::thread",
    "std::process",
    "std::io",
    "SystemTime",
    "Instant",
    "HashMap",
    "HashSet",
    "RandomState",
    "Timestamp::now",
    "Zoned::now",
    "println!",
    "eprintln!",
];

/// What no pure crate may depend on.
const IMPURE_CRATES: [&str; 12] =
    ["tokio", "tracing", "log", "rand", "getrandom", "chrono", "time", "reqwest", "ureq", "axum", "rayon", "sled"];

/// What of core proto may use: how numbers are written, and what a number is. No coil, no wire table.
const MODULES_OF_CORE: [&str; 5] = ["quantity", "measured", "typed", "conductor", "origin"];

/// What no request file of the service may use of its own crate, besides other request files: the road that requests come
/// by. A request that knows HTTP cannot be asked over a socket or by a test alone.
const ROAD: [&str; 8] = ["http", "serve", "guard", "door", "envelope", "rpc", "registry", "discover"];

/// A crate as its folder shows it.
struct Crate {
    name: String,
    /// Names of its dependencies, those for its tests left out.
    needs: BTreeSet<String>,
    /// Path from the crate's folder, text with tests and comments taken out.
    sources: Vec<(PathBuf, String)>,
}

#[test]
fn every_crate_knows_only_whom_the_ground_plan_lets_it() {
    let complaints: Vec<String> = crates().iter().flat_map(arrows).collect();
    assert!(complaints.is_empty(), "{complaints:#?}");
}

#[test]
fn pure_crates_have_no_file_socket_clock_thread_or_log() {
    let complaints: Vec<String> = crates().iter().flat_map(purity).collect();
    assert!(complaints.is_empty(), "{complaints:#?}");
}

#[test]
fn words_on_the_wire_hide_no_unknown_member_and_know_only_quantities_of_core() {
    let complaints: Vec<String> = crates().iter().flat_map(words).collect();
    assert!(complaints.is_empty(), "{complaints:#?}");
}

#[test]
fn request_files_never_import_each_other() {
    let crates = crates();
    let files = request_files(&crates);
    assert!(files.len() >= 30, "{files:?}");
    let complaints: Vec<String> = crates.iter().flat_map(|c| requests(c, &files)).collect();
    assert!(complaints.is_empty(), "{complaints:#?}");
}

#[test]
fn every_built_in_method_has_its_file() {
    let crates = crates();
    let service = crates.iter().find(|c| c.name == "service").expect("a service");
    let files: BTreeSet<String> = service.sources.iter().map(|(path, _)| stem(path)).collect();
    let shop = crate::shop::Shop::open();
    let document = shop.answer("rpc.discover", &serde_json::json!({}));
    for method in document["methods"].as_array().expect("methods").iter().filter(|m| m["x-plugin"].is_null()) {
        let file = method["name"].as_str().expect("a name").replace('.', "_");
        assert!(files.contains(&file), "no crates/service/src/{file}.rs");
    }
}

/// The comparison itself, on a house where everything is wrong.
#[test]
fn a_house_that_breaks_the_rules_is_caught() {
    let made = |name: &str, needs: &[&str], file: &str, text: &str| Crate {
        name: name.into(),
        needs: needs.iter().map(|n| n.to_string()).collect(),
        sources: vec![(PathBuf::from(file), stripped(text))],
    };
    let caught =
        |complaints: Vec<String>, word: &str| assert!(complaints.iter().any(|c| c.contains(word)), "{complaints:?}");
    caught(arrows(&made("core", &["coilwright-proto"], "src/lib.rs", "")), "coilwright-proto");
    caught(arrows(&made("core", &[], "src/lib.rs", "use coilwright_shop::state::State;")), "coilwright_shop");
    caught(
        arrows(&made("coilwright", &[], "src/show.rs", "let w = coilwright_core::wire::Wire::new();")),
        "coilwright_core",
    );
    caught(arrows(&made("store", &["coilwright-catalog"], "src/lib.rs", "")), "coilwright-catalog");
    caught(arrows(&made("attic", &[], "src/lib.rs", "")), "attic");
    for word in IMPURE_WORDS {
        caught(purity(&made("planner", &[], "src/plan.rs", &format!("let x = {word}();"))), word);
    }
    caught(purity(&made("core", &["tracing"], "src/lib.rs", "")), "tracing");
    caught(purity(&made("shop", &[], "src/lib.rs", "use std::{fmt, fs};")), "std::fs");
    caught(words(&made("proto", &[], "src/coil.rs", "#[serde(untagged)]\nenum A {}")), "untagged");
    caught(words(&made("proto", &[], "src/coil.rs", "#[serde(default, flatten)]\na: B,")), "flatten");
    caught(words(&made("proto", &[], "src/coil.rs", "use coilwright_core::coil::design;")), "coil");
    let files: BTreeSet<String> = ["wire_list", "wire_show"].map(String::from).into();
    let declared = made(
        "proto",
        &[],
        "src/method.rs",
        "method_list! {\n    WireList => \"wire.list\",\n}\nconst NAME: &str = \"Mm\";",
    );
    assert_eq!(request_files(&[declared]), ["wire_list".to_owned()].into());
    for request in [
        "use crate::app::App;\nuse crate::wire_list;",
        "use crate::{app::App, wire_list::MOST};",
        "pub fn answer() { crate::wire_list::answer() }",
    ] {
        caught(requests(&made("service", &[], "src/wire_show.rs", request), &files), "wire_list");
    }
    caught(requests(&made("service", &[], "src/wire_show.rs", "use crate::http::Port;"), &files), "http");
    // And one that keeps them is not.
    let good = made(
        "service",
        &["coilwright-core"],
        "src/wire_show.rs",
        "use crate::app::App;\n// crate::wire_list\npub fn answer(",
    );
    assert!(
        arrows(&good).is_empty()
            && purity(&good).is_empty()
            && words(&good).is_empty()
            && requests(&good, &files).is_empty()
    );
}

fn arrows(c: &Crate) -> Vec<String> {
    let Some((_, allowed)) = ARROWS.iter().find(|(name, _)| *name == c.name) else {
        return vec![format!("crate {} is not in the ground plan", c.name)];
    };
    let mut complaints = Vec::new();
    for need in c.needs.iter().filter(|n| n.starts_with("coilwright")) {
        if !allowed.contains(&need.trim_start_matches("coilwright-")) {
            complaints.push(format!("{} depends on {need}", c.name));
        }
    }
    for (path, text) in &c.sources {
        for other in ARROWS.iter().map(|(name, _)| *name).filter(|name| !allowed.contains(name) && *name != c.name) {
            if has_word(text, &format!("coilwright_{other}")) {
                complaints.push(format!("{}/{}: coilwright_{other}", c.name, path.display()));
            }
        }
    }
    complaints
}

fn purity(c: &Crate) -> Vec<String> {
    if !PURE.contains(&c.name.as_str()) {
        return Vec::new();
    }
    let mut complaints: Vec<String> =
        IMPURE_CRATES.iter().filter(|n| c.needs.contains(**n)).map(|n| format!("{} depends on {n}", c.name)).collect();
    for (path, text) in &c.sources {
        let paths = unfolded(text);
        for word in IMPURE_WORDS {
            if has_word(text, word) || paths.iter().any(|p| p == word || p.starts_with(&format!("{word}::"))) {
                complaints.push(format!("{}/{}: {word}", c.name, path.display()));
            }
        }
    }
    complaints
}

fn words(c: &Crate) -> Vec<String> {
    if c.name != "proto" {
        return Vec::new();
    }
    let mut complaints = Vec::new();
    for (path, text) in &c.sources {
        for attribute in text.split("#[serde(").skip(1).filter_map(|rest| rest.split(")]").next()) {
            for word in ["untagged", "flatten"].iter().filter(|w| has_word(attribute, w)) {
                complaints.push(format!("proto/{}: serde({word})", path.display()));
            }
        }
        for used in modules(text, "coilwright_core") {
            if !MODULES_OF_CORE.contains(&used.as_str()) {
                complaints.push(format!("proto/{}: coilwright_core::{used}", path.display()));
            }
        }
    }
    complaints
}

/// Names of the files that answer a request: those of the methods that proto declares, `wire.list` in `wire_list`.
/// The names of the methods, as the list in proto gives them: a file each.
fn request_files(crates: &[Crate]) -> BTreeSet<String> {
    let proto = crates.iter().find(|c| c.name == "proto").expect("a proto");
    let (_, list) = proto.sources.iter().find(|(path, _)| path.ends_with("method.rs")).expect("a list of methods");
    let names = list.split("=> \"").skip(1).filter_map(|rest| rest.split('"').next());
    names.filter(|name| name.contains('.')).map(|name| name.replace('.', "_")).collect()
}

fn requests(c: &Crate, files: &BTreeSet<String>) -> Vec<String> {
    if c.name != "service" {
        return Vec::new();
    }
    let mut complaints = Vec::new();
    for (path, text) in c.sources.iter().filter(|(path, _)| files.contains(&stem(path))) {
        for used in modules(text, "crate").into_iter().filter(|m| files.contains(m) || ROAD.contains(&m.as_str())) {
            complaints.push(format!("service/{}: crate::{used}", path.display()));
        }
    }
    complaints
}

/// The modules of `root` that a source names, by `use` or in passing.
fn modules(text: &str, root: &str) -> BTreeSet<String> {
    let prefix = format!("{root}::");
    let imported = unfolded(text).into_iter().filter_map(|path| path.strip_prefix(&prefix).map(str::to_owned));
    let in_passing = text.match_indices(&prefix).filter(|(at, _)| !is_name(text[..*at].chars().next_back()));
    let in_passing = in_passing.map(|(at, _)| text[at + prefix.len()..].to_owned());
    let first = |path: String| path.chars().take_while(|c| is_name(Some(*c))).collect::<String>();
    imported.chain(in_passing).map(first).filter(|m| !m.is_empty()).collect()
}

/// Every path of the `use` lines, braces opened: `use a::{b, c::d}` is `a::b` and `a::c::d`.
fn unfolded(text: &str) -> Vec<String> {
    let mut paths = Vec::new();
    for (at, _) in text.match_indices("use ").filter(|(at, _)| !is_name(text[..*at].chars().next_back())) {
        let statement: String = text[at + 4..].split(';').next().unwrap_or_default().split_whitespace().collect();
        open("", &statement, &mut paths);
    }
    paths
}

fn open(before: &str, tree: &str, paths: &mut Vec<String>) {
    let mut depth = 0;
    let mut start = 0;
    let mut branches = Vec::new();
    for (at, c) in tree.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                branches.push(&tree[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    branches.push(&tree[start..]);
    for branch in branches.into_iter().filter(|b| !b.is_empty()) {
        match branch.split_once('{') {
            Some((head, rest)) => open(&format!("{before}{head}"), rest.strip_suffix('}').unwrap_or(rest), paths),
            None => paths.push(format!("{before}{branch}")),
        }
    }
}

fn has_word(text: &str, word: &str) -> bool {
    text.match_indices(word)
        .any(|(at, _)| !is_name(text[..at].chars().next_back()) && !is_name(text[at + word.len()..].chars().next()))
}

fn is_name(c: Option<char>) -> bool {
    c.is_some_and(|c| c.is_alphanumeric() || c == '_')
}

/// A source without comments and without what is compiled for tests only: a module of tests stands last in its file.
fn stripped(text: &str) -> String {
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap_or(text);
    code.lines().map(|line| line.split("//").next().unwrap_or(line)).collect::<Vec<_>>().join("\n")
}

fn stem(path: &Path) -> String {
    path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default()
}

fn crates() -> Vec<Crate> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(root().join("crates")).expect("crates").map(|e| e.expect("an entry").path()) {
        let Ok(manifest) = std::fs::read_to_string(entry.join("Cargo.toml")) else { continue };
        let manifest: BTreeMap<String, toml::Value> = toml::from_str(&manifest).expect("a manifest");
        let package = manifest["package"]["name"].as_str().expect("a name");
        let tables = ["dependencies", "build-dependencies"].into_iter().filter_map(|t| manifest.get(t)?.as_table());
        let needs = tables.flat_map(|t| t.keys().cloned()).collect();
        let mut sources = Vec::new();
        read(&entry, Path::new("src"), &mut sources);
        assert!(!sources.is_empty(), "{} has nothing to say", entry.display());
        found.push(Crate { name: package.trim_start_matches("coilwright-").into(), needs, sources });
    }
    assert!(found.len() >= 7, "only {} crates were found", found.len());
    found
}

fn read(krate: &Path, folder: &Path, sources: &mut Vec<(PathBuf, String)>) {
    for entry in std::fs::read_dir(krate.join(folder)).expect("sources").map(|e| e.expect("an entry")) {
        let path = folder.join(entry.file_name());
        if entry.path().is_dir() {
            read(krate, &path, sources);
        } else if path.extension().is_some_and(|e| e == "rs") && stem(&path) != "tests" {
            sources.push((path, stripped(&std::fs::read_to_string(entry.path()).expect("a source"))));
        }
    }
}
