//! The index: lost, damaged, behind, ahead, of another journal: replaced, with the same answers afterwards.

use crate::support::*;
use coilwright_store::{KeyKeeping, NotDone, OpenReport};
use std::fs;
use std::path::{Path, PathBuf};

fn written(dir: &Path, from: u64, to: u64) {
    let (store, _) = open(dir);
    for n in from..=to {
        say(&store, Some(&format!("key {n}")), &format!("{} entry {n}", if n % 3 == 0 { "fizz" } else { "plain" }))
            .unwrap();
    }
    store.stop().unwrap();
}

/// Everything the index answers is right, whatever happened to it.
#[track_caller]
fn check(dir: &Path, count: u64) -> OpenReport {
    let (store, report) = open(dir);
    for n in 1..=count {
        let text = format!("{} entry {n}", if n % 3 == 0 { "fizz" } else { "plain" });
        assert_eq!(say(&store, Some(&format!("key {n}")), &text).map(|d| (d.seq, d.replayed)), Ok((n, true)));
    }
    let seqs = |before, limit| -> Vec<u64> {
        store.history("fizz", before, limit).unwrap().iter().map(|line| line.head.seq).collect()
    };
    let all: Vec<u64> = (1..=count).rev().filter(|n| n % 3 == 0).collect();
    assert_eq!(seqs(None, 1000), all);
    assert_eq!(seqs(None, 2), all[..2]);
    assert_eq!(seqs(Some(all[1]), 2), all[2..4]);
    assert_eq!(store.history("buzz", None, 10).unwrap(), []);
    check_fold(&store);
    assert_eq!(entries(&store).len() as u64, count);
    store.stop().unwrap();
    report
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for item in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(item.file_name());
        if item.path().is_dir() {
            copy(&item.path(), &target);
        } else {
            fs::copy(item.path(), target).unwrap();
        }
    }
}

#[test]
fn an_index_that_agrees_is_used_and_nothing_is_folded_anew() {
    let dir = folder();
    written(dir.path(), 1, 20);
    let report = check(dir.path(), 20);
    assert_eq!((report.index.rebuilt, report.index.added, report.folded), (None, 0, 0));
}

#[test]
fn a_deleted_index_is_made_anew() {
    let dir = folder();
    written(dir.path(), 1, 20);
    fs::remove_dir_all(dir.path().join("index")).unwrap();
    let report = check(dir.path(), 20);
    assert_eq!((report.index.set_aside, report.index.added, report.folded), (None, 20, 20));
}

#[test]
fn an_older_index_is_read_up() {
    let dir = folder();
    written(dir.path(), 1, 12);
    let kept = dir.path().join("kept");
    copy(&dir.path().join("index"), &kept);
    written(dir.path(), 13, 20);
    fs::remove_dir_all(dir.path().join("index")).unwrap();
    fs::rename(&kept, dir.path().join("index")).unwrap();
    let report = check(dir.path(), 20);
    assert_eq!((report.index.rebuilt, report.index.added, report.folded), (None, 8, 8));
}

#[test]
fn an_index_ahead_of_the_journal_is_set_aside_and_told() {
    let dir = folder();
    written(dir.path(), 1, 12);
    let kept = dir.path().join("kept");
    copy(&dir.path().join("journal"), &kept);
    written(dir.path(), 13, 20);
    fs::remove_dir_all(dir.path().join("journal")).unwrap();
    fs::rename(&kept, dir.path().join("journal")).unwrap();
    let report = check(dir.path(), 12);
    assert_eq!(report.index.set_aside, Some(dir.path().join("index-1")));
    assert_eq!((report.journal.findings[0].code, report.journal.findings[0].grave), ("witness_ahead", true));
}

#[test]
fn an_index_of_another_journal_is_set_aside() {
    let (dir, other) = (folder(), folder());
    written(dir.path(), 1, 12);
    written(other.path(), 1, 30);
    fs::remove_dir_all(dir.path().join("index")).unwrap();
    copy(&other.path().join("index"), &dir.path().join("index"));
    let report = check(dir.path(), 12);
    assert_eq!(report.index.rebuilt.as_deref(), Some("it belongs to another journal"));
    assert_eq!(report.journal.findings, []);
}

#[test]
fn an_index_whose_last_open_did_not_end_is_not_opened_again() {
    let dir = folder();
    written(dir.path(), 1, 12);
    fs::write(dir.path().join("index.opening"), b"").unwrap();
    let report = check(dir.path(), 12);
    assert!(report.index.rebuilt.is_some() && report.index.set_aside.is_some());
    assert_eq!(check(dir.path(), 12).index.rebuilt, None);
}

#[test]
fn a_left_over_snapshot_of_sled_does_no_harm() {
    let dir = folder();
    written(dir.path(), 1, 12);
    fs::write(dir.path().join("index/snap.0000000000000200.generating"), b"half").unwrap();
    assert_eq!(check(dir.path(), 12).index.rebuilt, None);
}

#[test]
fn a_damaged_index_is_set_aside_and_only_two_such_are_kept() {
    let dir = folder();
    written(dir.path(), 1, 12);
    for round in 1..=4 {
        let db = dir.path().join("index/db");
        let mut bytes = fs::read(&db).unwrap();
        // Wherever the records are: every hundredth byte.
        bytes.iter_mut().step_by(100).for_each(|byte| *byte ^= 0x10);
        fs::write(&db, bytes).unwrap();
        let report = check(dir.path(), 12);
        assert_eq!(report.index.set_aside, Some(dir.path().join(format!("index-{round}"))), "{report:?}");
    }
    let mut kept: Vec<PathBuf> = fs::read_dir(dir.path()).unwrap().map(|item| item.unwrap().path()).collect();
    kept.retain(|path| path.file_name().unwrap().to_str().unwrap().starts_with("index-"));
    kept.sort();
    assert_eq!(kept, [dir.path().join("index-3"), dir.path().join("index-4")]);
}

#[test]
fn an_index_that_cannot_be_made_is_kept_in_memory() {
    let dir = folder();
    written(dir.path(), 1, 12);
    fs::remove_dir_all(dir.path().join("index")).unwrap();
    // A folder in the place of the marker file: neither an old index nor a new one may be opened without it.
    fs::create_dir(dir.path().join("index.opening")).unwrap();
    let report = check(dir.path(), 12);
    assert!(report.index.in_memory.is_some());
}

#[test]
fn keys_are_forgotten_only_when_both_old_and_many() {
    let dir = folder();
    let with = |days| {
        let mut options = options();
        options.keys = KeyKeeping { days, count: 10 };
        options
    };
    let (store, _) = Shop::open(dir.path(), with(1)).unwrap();
    for n in 1..=25 {
        say(&store, Some(&format!("key {n}")), "x").unwrap();
    }
    store.stop().unwrap();
    drop(store);
    // None of them is a day old.
    let (store, _) = Shop::open(dir.path(), with(1)).unwrap();
    assert_eq!(say(&store, Some("key 1"), "x").unwrap().seq, 1);
    drop(store);
    std::thread::sleep(std::time::Duration::from_millis(5));
    let (store, _) = Shop::open(dir.path(), with(0)).unwrap();
    say(&store, Some("key 26"), "x").unwrap();
    while store.health().indexed_to < 26 {
        std::thread::yield_now();
    }
    // Of 26 keys the newest ten are remembered; a forgotten one can be used again and is then remembered anew.
    assert_eq!(say(&store, Some("key 17"), "other"), Err(NotDone::KeyReused { first_seq: 17 }));
    assert_eq!(say(&store, Some("key 16"), "other").unwrap().seq, 27);
    assert_eq!(say(&store, Some("key 16"), "x"), Err(NotDone::KeyReused { first_seq: 27 }));
    drop(store);
    let (store, report) = Shop::open(dir.path(), with(0)).unwrap();
    assert_eq!(report.index.rebuilt, None);
    assert_eq!(say(&store, Some("key 16"), "x"), Err(NotDone::KeyReused { first_seq: 27 }));
}

#[test]
fn the_state_of_the_shop_comes_back_from_the_frozen_one() {
    use coilwright_shop::entry::Decided;
    use coilwright_shop::state::State;
    use coilwright_store::{Request, Store};
    let dir = folder();
    for round in 0..3u64 {
        let (store, report) = Store::<State, String>::open(dir.path(), options()).unwrap();
        assert_eq!((report.folded, report.journal.head.seq), (0, 10 * round));
        assert!(store.fold_agrees().unwrap());
        for n in 0..10 {
            let outcome = store.ask(Request {
                method: "alert.seen".to_owned(),
                who: "tester".to_owned(),
                key: None,
                asked: String::new(),
                decide: Box::new(move |_, _| Ok(Decided { facts: vec![said(&format!("a-{n}"))], answer: ().into() })),
                reply: Box::new(|_| {}),
            });
            assert_eq!(outcome.map(|done| done.seq), Ok(10 * round + n + 1));
        }
        assert!(store.fold_agrees().unwrap());
    }
}

#[test]
fn a_frozen_fold_larger_than_a_piece_comes_back_whole() {
    use coilwright_shop::entry::{Decided, Entry};
    use coilwright_store::{Archive, Fold, Request, Store, Unreadable};
    #[derive(Clone, Default, PartialEq, Debug)]
    struct Log(Vec<String>);
    impl Fold for Log {
        fn apply(&mut self, entry: &Entry, _: &dyn Archive) -> Result<(), Unreadable> {
            self.0.extend(texts(entry).map(str::to_owned));
            Ok(())
        }
        fn freeze(&self) -> Option<Vec<u8>> {
            Some(self.0.join("\n").into_bytes())
        }
        fn thaw(bytes: &[u8]) -> Option<Self> {
            Some(Self(std::str::from_utf8(bytes).ok()?.lines().map(str::to_owned).collect()))
        }
    }
    let dir = folder();
    for round in 0..3u64 {
        let mut with = options();
        with.freeze_every = 5;
        let (store, report) = Store::<Log, String>::open(dir.path(), with).unwrap();
        assert_eq!((report.folded, store.state().state.0.len() as u64), (0, 12 * round));
        for n in 0..12 {
            let text = format!("{round} {n} {}", "y".repeat(4000));
            let outcome = store.ask(Request {
                method: "m".to_owned(),
                who: "w".to_owned(),
                key: None,
                asked: String::new(),
                decide: Box::new(move |_, _| Ok(Decided { facts: vec![said(&text)], answer: ().into() })),
                reply: Box::new(|_| {}),
            });
            assert!(outcome.is_ok());
        }
    }
}

#[test]
fn a_long_way_folded_anew_is_not_walked_again_even_after_a_kill() {
    let dir = folder();
    written(dir.path(), 1, 60);
    std::fs::remove_dir_all(dir.path().join("index")).unwrap();
    let often = || {
        let mut options = options();
        options.freeze_every = 50;
        options
    };
    let (store, report) = Shop::open(dir.path(), often()).unwrap();
    assert_eq!(report.folded, 60);
    // As a kill leaves the files: copied while the store is open.
    let killed = folder();
    copy(dir.path(), killed.path());
    let (again, report) = Shop::open(killed.path(), often()).unwrap();
    assert_eq!((report.index.rebuilt, report.folded), (None, 0));
    assert_eq!(again.state().state, store.state().state);
}
