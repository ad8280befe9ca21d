//! Care from the command line: backup, verify, damage, repair, restore, rehearsal, and what a newer folder is told.

use crate::shop::{Shop, command, root};
use crate::stock::{full, received, wound};
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

/// What the binary says and how it ends.
#[track_caller]
fn run(args: &[&str]) -> (i32, String) {
    let Output { status, stdout, stderr } = command(args).output().expect("the binary starts");
    let said = String::from_utf8_lossy(&stdout).into_owned() + &String::from_utf8_lossy(&stderr);
    (status.code().expect("it ends by itself"), said)
}

#[track_caller]
fn ends(args: &[&str], code: i32, words: &[&str]) -> String {
    let (met, said) = run(args);
    assert_eq!(met, code, "{args:?}: {said}");
    for word in words {
        assert!(said.contains(word), "{args:?} does not say {word:?}: {said}");
    }
    said
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path of text")
}

fn copied(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for item in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let place = to.join(item.file_name());
        if item.path().is_dir() {
            copied(&item.path(), &place);
        } else {
            fs::copy(item.path(), place).unwrap();
        }
    }
}

/// The journal of a shop that wound a coil, its daemon killed; in a folder that goes away.
fn at_rest() -> (tempfile::TempDir, PathBuf) {
    let place = tempfile::tempdir().unwrap();
    let data = place.path().join("shop");
    let mut shop = Shop::open();
    wound(&shop);
    shop.killed_and_opened(|dir| copied(dir, &data));
    (place, data)
}

fn segment(data: &Path) -> PathBuf {
    data.join("journal/00000000000000000001.jsonl")
}

#[test]
fn a_damaged_shop_is_found_repaired_from_its_backup_and_verified() {
    let (place, data) = at_rest();
    let backup = place.path().join("backup");
    ends(&["journal", "verify", "--data", text(&data), "--deep"], 0, &["true"]);
    ends(&["backup", text(&backup), "--data", text(&data)], 0, &["added"]);
    ends(&["backup", text(&backup), "--data", text(&data), "--json"], 0, &["\"added\": 0"]);
    ends(&["journal", "verify", "--data", text(&backup)], 0, &["true"]);
    let good = fs::read(segment(&data)).unwrap();
    let mut bad = good.clone();
    bad[200] ^= 1;
    fs::write(segment(&data), &bad).unwrap();
    ends(&["journal", "verify", "--data", text(&data)], 6, &["damaged at entry 1"]);
    ends(
        &["serve", "--data", text(&data), "--listen", "127.0.0.1:0"],
        6,
        &["damaged at entry 1", "repair --from-backup"],
    );
    ends(
        &["doctor", "--data", text(&data), "--backup", text(&backup)],
        6,
        &["STOP", "coilwright repair --from-backup"],
    );
    ends(&["repair", "--from-backup", text(&backup), "--data", text(&data)], 0, &["from_backup"]);
    ends(&["journal", "verify", "--data", text(&data), "--deep"], 0, &[]);
    let used = good.iter().rposition(|c| *c != b'\n').unwrap();
    assert_eq!(fs::read(segment(&data)).unwrap()[..=used], good[..=used]);
    let kept = data.join("journal/damaged-00000000000000000001.bin");
    assert_eq!(fs::read(kept).unwrap(), bad, "what was there is kept");
}

#[test]
fn an_export_is_the_journal_line_for_line_or_no_file_at_all() {
    let (place, data) = at_rest();
    let (file, other) = (place.path().join("all.jsonl"), place.path().join("other.jsonl"));
    let journal = fs::read_to_string(segment(&data)).unwrap();
    let journal: Vec<&str> = journal.lines().filter(|line| !line.is_empty()).collect();
    let count = format!("\"entries\": {}", journal.len());
    ends(&["export", "--data", text(&data), "-o", text(&file), "--json"], 0, &[&count]);
    let exported = fs::read_to_string(&file).unwrap();
    assert_eq!(exported.lines().collect::<Vec<_>>(), journal);
    for (i, line) in exported.lines().enumerate() {
        assert_eq!(serde_json::from_str::<Value>(line).unwrap()["seq"], json!(i + 1));
    }
    assert_eq!(ends(&["export", "--data", text(&data)], 0, &[]), exported, "standard output has the same bytes");
    ends(&["export", "--data", text(&data), "-o", text(&file)], 2, &["is there already", "-o"]);
    assert_eq!(fs::read_to_string(&file).unwrap(), exported, "what was there is left alone");
    ends(&["export", "--data", text(&place.path().join("none")), "-o", text(&other)], 3, &["holds no journal"]);
    let mut bad = fs::read(segment(&data)).unwrap();
    bad[200] ^= 1;
    fs::write(segment(&data), bad).unwrap();
    ends(&["export", "--data", text(&data), "-o", text(&other)], 6, &["damaged at entry 1"]);
    let left: Vec<_> = fs::read_dir(place.path()).unwrap().map(|f| f.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "only the shop and the first export: {left:?}");
}

#[test]
fn a_shop_restored_up_to_an_entry_answers_as_it_did_then() {
    let (place, data) = at_rest();
    let new = place.path().join("new");
    ends(&["restore", text(&data), "--data", text(&new), "--at", "1", "--json"], 0, &["\"head\": 1"]);
    ends(&["restore", text(&data), "--data", text(&new)], 2, &["is there already"]);
    ends(&["restore", text(&data), "--data", text(&place.path().join("x")), "--at", "9999"], 3, &["not in it"]);
    ends(&["restore", text(&data), "--data", text(&place.path().join("x")), "--at", "soon"], 2, &["--at"]);
    ends(&["journal", "verify", "--data", text(&new)], 0, &[]);
}

#[test]
fn a_daemon_backs_up_when_asked_and_says_where_to_set_the_folder() {
    let place = tempfile::tempdir().unwrap();
    let backup = place.path().join("backup");
    let shop = Shop::with(&[], &[("COILWRIGHT__STORE__BACKUP", text(&backup))]);
    received(&shop, &full());
    assert_eq!(shop.error("care.backup", &json!({}))["code"], 1000);
    let done = shop.done("care.backup", &json!({}));
    assert_eq!((&done["head"], &done["added"]), (&json!(1), &json!(1)));
    assert_eq!(done["hash"], shop.answer("shop.status", &json!({}))["journal"]["hash"]);
    assert_eq!(shop.done("care.backup", &json!({}))["added"], 0);
    ends(&["backup", text(&backup), "--data", text(shop.data())], 5, &["in use", "coilwright care backup"]);
    ends(&["doctor", "--data", text(shop.data()), "--backup", text(&backup)], 1, &["a daemon is at work", "same disk"]);
    let none = Shop::open();
    let refused = none.refused("care.backup", &json!({}));
    assert!(refused["data"]["next_step"].as_str().is_some_and(|s| s.contains("store.backup")), "{refused}");
}

#[test]
fn a_rehearsal_is_a_copy_and_what_is_done_there_does_not_reach_the_shop() {
    let (_place, data) = at_rest();
    let before: Value = serde_json::from_str(&run(&["journal", "verify", "--data", text(&data), "--json"]).1).unwrap();
    let copy = data.with_file_name("shop-rehearsal");
    for _ in 0..2 {
        let mut daemon = command(&["serve", "--data", text(&data), "--rehearsal"]);
        let mut daemon = daemon.stdout(std::process::Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        let out = daemon.stdout.take().unwrap();
        std::io::BufRead::read_line(&mut std::io::BufReader::new(out), &mut line).unwrap();
        let url = line.trim().strip_prefix("coilwright answers at ").map(str::to_owned).unwrap();
        let token = copy.join("token");
        let args = [
            "--url",
            &url,
            "--token-file",
            text(&token),
            "spool",
            "receive",
            "cu-awg30-single",
            "--gross-g",
            "900",
            "--scale-u-g",
            "1",
        ];
        let (code, said) = run(&args);
        daemon.kill().unwrap();
        daemon.wait().unwrap();
        assert_eq!(code, 0, "{said}");
    }
    let after: Value = serde_json::from_str(&run(&["journal", "verify", "--data", text(&data), "--json"]).1).unwrap();
    assert_eq!(before, after);
}

#[test]
fn a_folder_of_a_newer_program_is_refused_with_its_own_exit_code_and_left_as_it_is() {
    let (_place, data) = at_rest();
    let manifest = data.join("journal/manifest.json");
    let newer = br#"{"format":2,"pages":[]}"#;
    fs::write(&manifest, newer).unwrap();
    ends(&["serve", "--data", text(&data), "--listen", "127.0.0.1:0"], 7, &["format 2", "install the newer program"]);
    ends(&["journal", "verify", "--data", text(&data)], 7, &["format 2"]);
    ends(&["doctor", "--data", text(&data)], 7, &["newer"]);
    assert_eq!(fs::read(&manifest).unwrap(), newer);
}

/// A folder as the first format left it. What it adds up to was read when it was made (regression values).
#[test]
fn a_folder_of_the_first_format_opens_and_adds_up_to_the_same() {
    let golden = root().join("tests/fixtures/data-v1");
    let place = tempfile::tempdir().unwrap();
    let data = place.path().join("shop");
    copied(&golden, &data);
    let promised: Value = serde_json::from_slice(&fs::read(golden.join("adds-up-to.json")).unwrap()).unwrap();
    let verified = run(&["journal", "verify", "--data", text(&data), "--json"]).1;
    let verified: Value = serde_json::from_str(&verified).unwrap();
    assert_eq!(
        (&verified["ok"], &verified["head"], &verified["hash"]),
        (&json!(true), &promised["head"], &promised["hash"])
    );
    let mut shop = Shop::open();
    shop.killed_and_opened(|dir| {
        fs::remove_dir_all(dir).unwrap();
        copied(&data, dir);
    });
    let status = shop.answer("shop.status", &json!({}));
    assert_eq!(status["journal"]["hash"], promised["hash"]);
    assert_eq!(status["counts"]["spools"], promised["spools"]);
    assert_eq!(status["counts"]["jobs"], promised["jobs"]);
    let list = shop.answer("spool.list", &json!({}));
    for (item, left) in list["items"].as_array().unwrap().iter().zip(promised["left_m"].as_array().unwrap()) {
        let (met, wanted) = (item["left_m"]["value"].as_f64().unwrap(), left.as_f64().unwrap());
        assert!((met - wanted).abs() < 1e-9 * wanted, "{item}");
    }
}

#[test]
fn another_version_takes_a_backup_first_and_the_way_back_is_open() {
    let mut shop = Shop::open();
    received(&shop, &full());
    let noted = fs::read_to_string(shop.data().join("program")).unwrap();
    assert_eq!(noted.trim(), env!("CARGO_PKG_VERSION"));
    let before = shop.answer("shop.status", &json!({}))["journal"].clone();
    assert!(!shop.data().join("upgrades").exists(), "the same version took one");

    shop.killed_and_opened(|dir| fs::write(dir.join("program"), "0.0.9\n").unwrap());
    let taken = shop.data().join(format!("upgrades/0.0.9-to-{}", noted.trim()));
    let record: Value = serde_json::from_slice(&fs::read(taken.join("backup.json")).unwrap()).unwrap();
    assert_eq!((&record["seq"], &record["hash"]), (&before["head"], &before["hash"]));
    received(&shop, &full());
    let since = fs::metadata(taken.join("backup.json")).unwrap().modified().unwrap();
    shop.killed_and_opened(|_| {});
    assert_eq!(fs::metadata(taken.join("backup.json")).unwrap().modified().unwrap(), since, "taken once more");

    let place = tempfile::tempdir().unwrap();
    let back = place.path().join("back");
    ends(&["restore", text(&taken), "--data", text(&back)], 0, &[]);
    let verified: Value =
        serde_json::from_str(&run(&["journal", "verify", "--data", text(&back), "--json"]).1).unwrap();
    assert_eq!((&verified["ok"], &verified["hash"]), (&json!(true), &before["hash"]));
}

#[test]
fn another_version_that_cannot_back_up_does_not_start() {
    let (_place, data) = at_rest();
    fs::write(data.join("program"), "0.0.9\n").unwrap();
    fs::write(data.join("upgrades"), b"no folder").unwrap();
    let index = fs::metadata(data.join("index/db")).unwrap().modified().unwrap();
    ends(&["serve", "--data", text(&data), "--listen", "127.0.0.1:0"], 5, &["another version", "store.backup"]);
    assert_eq!(fs::read_to_string(data.join("program")).unwrap(), "0.0.9\n");
    assert_eq!(fs::metadata(data.join("index/db")).unwrap().modified().unwrap(), index, "it was opened");
}
