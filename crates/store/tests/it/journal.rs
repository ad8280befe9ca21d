//! The journal on disk: torn ends are cut, damage is refused, newer and foreign folders are told.

use crate::support::*;
use coilwright_store::{OpenError, RealDisk, Store, verify_folder};
use std::fs;
use std::path::Path;

/// A stopped store with entries 1 … `count`, each its own group, and no index.
fn written(dir: &Path, count: u64) {
    let (store, _) = open(dir);
    for n in 1..=count {
        say(&store, None, &format!("entry {n}")).unwrap();
    }
    store.stop().unwrap();
    // The index and the note are witnesses; these tests ask what the segments say by themselves.
    fs::remove_dir_all(dir.join("index")).unwrap();
    fs::remove_file(dir.join("journal/note.json")).unwrap();
}

/// Where the lines of the last segment end.
fn ends(bytes: &[u8]) -> Vec<usize> {
    let tail = bytes.iter().rposition(|c| *c != b'\n').unwrap() + 2;
    bytes[..tail].iter().enumerate().filter(|(_, c)| **c == b'\n').map(|(at, _)| at + 1).collect()
}

#[track_caller]
fn refused(dir: &Path) -> OpenError {
    let before = verify_folder(&RealDisk, dir);
    let error = Store::<Shelf, String>::open(dir, options()).err().expect("the folder was opened");
    assert_eq!(before, verify_folder(&RealDisk, dir), "the refused folder was changed");
    error
}

#[test]
fn a_torn_last_line_is_cut_on_open_and_kept_aside() {
    let dir = folder();
    written(dir.path(), 5);
    let (path, bytes) = last_segment(dir.path());
    let ends = ends(&bytes);
    let torn = bytes[ends[3]..ends[4] - 30].to_vec();
    let mut cut = bytes.clone();
    cut[ends[4] - 30..].fill(b'\n');
    fs::write(&path, &cut).unwrap();

    let (store, report) = open(dir.path());
    assert_eq!(report.journal.head.seq, 4);
    assert_eq!(report.journal.findings[0].code, "torn");
    assert_eq!(fs::read(dir.path().join("journal/torn-00000000000000000005.bin")).unwrap(), torn);
    assert_eq!(say(&store, None, "entry 5 again").unwrap().seq, 5);
    assert!(store.verify().ok);
    check_fold(&store);
    drop(store);
    assert_eq!(open(dir.path()).1.journal.findings, []);
}

#[test]
fn every_way_of_losing_the_end_of_the_last_line_is_cut() {
    let dir = folder();
    written(dir.path(), 3);
    let (path, bytes) = last_segment(dir.path());
    let ends = ends(&bytes);
    for at in (ends[1] + 1..ends[2] - 1).step_by(37) {
        for fill in [None, Some(0), Some(b'\n'), Some(b'x')] {
            let mut torn = bytes.clone();
            match fill {
                None => torn.truncate(at),
                Some(fill) => torn[at..ends[2] - 1].fill(fill),
            }
            fs::write(&path, &torn).unwrap();
            let (store, report) = open(dir.path());
            assert_eq!(report.journal.head.seq, 2, "at {at} with {fill:?}");
            store.stop().unwrap();
            fs::remove_file(dir.path().join("journal/note.json")).unwrap();
            fs::remove_dir_all(dir.path().join("index")).unwrap();
        }
    }
}

#[test]
fn a_flipped_bit_before_a_later_group_is_refused_and_never_cut() {
    let dir = folder();
    written(dir.path(), 5);
    let (path, bytes) = last_segment(dir.path());
    let mut bad = bytes.clone();
    bad[ends(&bytes)[1] + 40] ^= 4;
    fs::write(&path, &bad).unwrap();
    match refused(dir.path()) {
        OpenError::Corrupt { path: file, seq: 3, .. } => assert_eq!(file, path),
        other => panic!("{other}"),
    }
    assert_eq!(fs::read(&path).unwrap(), bad);
    let verified = verify_folder(&RealDisk, dir.path());
    assert!(!verified.ok);
    assert_eq!((verified.head.seq, verified.findings[0].seq), (2, Some(3)));
}

#[test]
fn a_bad_end_that_a_witness_has_seen_is_corrupt() {
    for witness in ["note", "index"] {
        let dir = folder();
        let (store, _) = open(dir.path());
        for n in 1..=5 {
            say(&store, None, &format!("entry {n}")).unwrap();
        }
        store.stop().unwrap();
        drop(store);
        if witness == "note" {
            fs::remove_dir_all(dir.path().join("index")).unwrap();
        } else {
            fs::remove_file(dir.path().join("journal/note.json")).unwrap();
        }
        let (path, mut bytes) = last_segment(dir.path());
        let end = ends(&bytes)[4];
        bytes[end - 20] ^= 1;
        fs::write(&path, &bytes).unwrap();
        match Store::<Shelf, String>::open(dir.path(), options()).err() {
            Some(OpenError::Corrupt { seq: 5, what, .. }) => assert!(what.contains(witness), "{what}"),
            other => panic!("{witness}: {other:?}"),
        }
    }
}

#[test]
fn a_clean_end_before_the_note_is_corrupt() {
    let dir = folder();
    let (store, _) = open(dir.path());
    for n in 1..=5 {
        say(&store, None, &format!("entry {n}")).unwrap();
    }
    drop(store);
    let (path, mut bytes) = last_segment(dir.path());
    let end = ends(&bytes)[3];
    bytes[end..].fill(b'\n');
    fs::write(&path, &bytes).unwrap();
    assert!(matches!(refused(dir.path()), OpenError::Corrupt { seq: 5, .. }));
    assert!(!verify_folder(&RealDisk, dir.path()).ok);
}

#[test]
fn anything_in_the_tail_of_newlines_is_reported() {
    let dir = folder();
    written(dir.path(), 2);
    let (path, mut bytes) = last_segment(dir.path());
    let last = bytes.len() - 1;
    bytes[last] = b' ';
    fs::write(&path, &bytes).unwrap();
    let (_, report) = open(dir.path());
    assert_eq!((report.journal.head.seq, report.journal.findings[0].code), (2, "torn"));
}

#[test]
fn many_segments_read_and_reopen_as_one_journal() {
    let dir = folder();
    let small_options = || {
        let mut options = options();
        options.sizes = small();
        options
    };
    let (store, _) = Shop::open(dir.path(), small_options()).unwrap();
    for n in 1..=60 {
        say(&store, None, &format!("entry {n} {}", "long ".repeat(n % 9))).unwrap();
    }
    let all = entries(&store);
    assert_eq!(all.iter().map(|e| e.seq).collect::<Vec<_>>(), (1..=60).collect::<Vec<_>>());
    for after in 0..60 {
        assert_eq!(store.read(after, 1).unwrap()[0].entry().unwrap(), all[after as usize]);
    }
    assert!(store.read(60, 1).unwrap().is_empty());
    assert!(store.verify().ok);
    let state = store.state().state.clone();
    drop(store);
    let segments = fs::read_dir(dir.path().join("journal")).unwrap().count();
    assert!(segments > 10, "only {segments} files");
    assert!(verify_folder(&RealDisk, dir.path()).ok);
    let (store, report) = Shop::open(dir.path(), small_options()).unwrap();
    assert_eq!((&store.state().state, report.folded), (&state, 0));
    assert_eq!(entries(&store), all);
}

#[test]
fn a_lost_or_damaged_manifest_is_made_anew_from_the_segments() {
    let dir = folder();
    let small_options = || {
        let mut options = options();
        options.sizes = small();
        options
    };
    let (store, _) = Shop::open(dir.path(), small_options()).unwrap();
    for n in 1..=30 {
        say(&store, None, &format!("entry {n}")).unwrap();
    }
    drop(store);
    let manifest = dir.path().join("journal/manifest.json");
    let good = fs::read(&manifest).unwrap();
    for damage in [None, Some(&b"{\"format\":1"[..])] {
        match damage {
            None => fs::remove_file(&manifest).unwrap(),
            Some(bytes) => fs::write(&manifest, bytes).unwrap(),
        }
        assert!(!verify_folder(&RealDisk, dir.path()).ok);
        let (store, report) = Shop::open(dir.path(), small_options()).unwrap();
        assert_eq!((report.journal.head.seq, report.journal.findings[0].code), (30, "manifest_remade"));
        drop(store);
        assert_eq!(fs::read(&manifest).unwrap(), good);
    }
}

#[test]
fn a_missing_sealed_segment_is_refused_by_name() {
    let dir = folder();
    let mut with = options();
    with.sizes = small();
    let (store, _) = Shop::open(dir.path(), with).unwrap();
    for n in 1..=30 {
        say(&store, None, &format!("entry {n}")).unwrap();
    }
    drop(store);
    let first = dir.path().join("journal/00000000000000000001.jsonl");
    fs::remove_file(&first).unwrap();
    match refused(dir.path()) {
        OpenError::Corrupt { path, seq: 1, .. } => assert_eq!(path, first),
        other => panic!("{other}"),
    }
}

#[test]
fn a_newer_format_is_refused_and_named() {
    let dir = folder();
    written(dir.path(), 1);
    fs::write(dir.path().join("journal/manifest.json"), b"{\"format\":2}\n").unwrap();
    assert!(matches!(refused(dir.path()), OpenError::Newer { found: 2, known: 1, .. }));
}

#[test]
fn a_second_store_on_the_folder_is_told_who_has_it() {
    let dir = folder();
    let (store, _) = open(dir.path());
    match Shop::open(dir.path(), options()).err() {
        Some(OpenError::InUse { process, .. }) => assert_eq!(process, Some(std::process::id())),
        other => panic!("{other:?}"),
    }
    store.stop().unwrap();
    // After a stop the folder is free, though the stopped store can still be read.
    assert!(Shop::open(dir.path(), options()).is_ok());
}

#[test]
fn a_folder_under_a_file_is_an_error_that_names_it() {
    let dir = folder();
    let file = dir.path().join("file");
    fs::write(&file, b"").unwrap();
    let error = Shop::open(&file.join("shop"), options()).err().unwrap();
    assert!(error.to_string().contains("file"), "{error}");
}

#[test]
fn a_line_is_checked_by_hand_as_the_format_says() {
    let dir = folder();
    written(dir.path(), 2);
    let (_, bytes) = last_segment(dir.path());
    let text = String::from_utf8(bytes).unwrap();
    let second: serde_json::Value = serde_json::from_str(text.lines().nth(1).unwrap()).unwrap();
    let first: serde_json::Value = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    assert_eq!(second["prev"], first["hash"]);
    let members: Vec<_> = ["seq", "v", "group", "at", "quality", "boot", "mono_ms", "who", "method", "asked", "facts"]
        .iter()
        .map(|member| text.find(&format!("\"{member}\":")).unwrap())
        .collect();
    assert!(members.is_sorted(), "{members:?}");
}
