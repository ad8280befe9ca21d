//! Backups, what is restored from them, and damage mended out of them.

use crate::support::*;
use coilwright_store::{
    CareError, FileJournal, Folder, Head, Journalling, OpenError, Reading, RealDisk, Until, backup, newest_backup,
    read_folder, repair, restore, verify_folder,
};
use jiff::Timestamp;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

fn at() -> Timestamp {
    "2026-03-01T08:00:00Z".parse().unwrap()
}

/// A shop of small segments with so many entries, at rest; and all its lines.
fn shop(dir: &Path, entries: u64) -> Vec<Vec<u8>> {
    let (store, _) = Shop::open(dir, sized()).unwrap();
    more(&store, 0, entries);
    store.stop().unwrap();
    lines(read(dir).as_ref())
}

fn sized() -> coilwright_store::Options {
    coilwright_store::Options { sizes: small(), ..options() }
}

fn more(store: &Shop, from: u64, until: u64) {
    for n in from..until {
        say(store, Some(&n.to_string()), &format!("entry {n}")).unwrap();
    }
}

fn read(dir: &Path) -> Arc<dyn Reading> {
    read_folder(Arc::new(RealDisk), dir).unwrap()
}

fn lines(reading: &dyn Reading) -> Vec<Vec<u8>> {
    let (mut all, mut after) = (Vec::new(), 0);
    loop {
        let lines = reading.read(after, 9).unwrap();
        let Some(last) = lines.last() else { return all };
        after = last.head.seq;
        all.extend(lines.into_iter().map(|line| line.bytes));
    }
}

fn segments(dir: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(dir.join("journal")).unwrap().map(|item| item.unwrap().path()).collect();
    all.retain(|path| path.extension().is_some_and(|e| e == "jsonl"));
    all.sort();
    all
}

fn taken(data: &Path, to: &Path) -> Head {
    let taken = backup(&RealDisk, read(data).as_ref(), to, at()).unwrap();
    assert_eq!(newest_backup(&RealDisk, to).unwrap().unwrap().head, taken.head);
    taken.head
}

#[test]
fn a_backup_made_while_writing_goes_on_and_later_ones_add_only_what_is_new() {
    let (data, place) = (folder(), folder());
    let to = place.path().join("backup");
    let (store, _) = Shop::open(data.path(), sized()).unwrap();
    assert_eq!(backup(&RealDisk, store.reading().as_ref(), &to, at()).unwrap().added, 0);
    let mut held = 0;
    for until in [1, 2, 30, 31] {
        more(&store, held, until);
        let taken = backup(&RealDisk, store.reading().as_ref(), &to, at()).unwrap();
        assert_eq!((taken.head, taken.added), (store.state().head, until - held));
        held = until;
        assert_eq!(lines(read(&to).as_ref()), lines(store.reading().as_ref()), "the same bytes");
        assert!(verify_folder(&RealDisk, &to).ok);
    }
    std::thread::scope(|scope| {
        scope.spawn(|| more(&store, 31, 400));
        for _ in 0..20 {
            let taken = backup(&RealDisk, store.reading().as_ref(), &to, at()).unwrap();
            assert!(taken.head.seq <= store.state().head.seq);
        }
    });
    backup(&RealDisk, store.reading().as_ref(), &to, at()).unwrap();
    assert_eq!(lines(read(&to).as_ref()), lines(store.reading().as_ref()));
}

#[test]
fn what_is_restored_is_opened_and_written_on() {
    let (data, place) = (folder(), folder());
    let original = shop(data.path(), 40);
    let to = place.path().join("backup");
    taken(data.path(), &to);
    for until in [1, 17, 40] {
        let new = place.path().join(format!("new-{until}"));
        let restored = restore(&to, &new, Until::Seq(until)).unwrap();
        assert_eq!((restored.head.seq, restored.of), (until, 40));
        assert_eq!(lines(read(&new).as_ref()), original[..until as usize]);
        let (store, report) = open(&new);
        assert!(report.journal.findings.is_empty(), "{report:?}");
        check_fold(&store);
        // Keys come back too: the answer is the first one.
        assert!(say(&store, Some("0"), "entry 0").unwrap().replayed);
        assert_eq!(say(&store, None, "and on").unwrap().seq, until + 1);
    }
    let refused = |new: &Path, until| restore(&to, new, until).unwrap_err().to_string();
    assert!(refused(&place.path().join("new-17"), Until::End).contains("is there already"));
    assert!(refused(&place.path().join("x"), Until::Seq(41)).contains("ends at entry 40"));
    assert!(!place.path().join("x").exists());
    let nothing = restore(place.path(), &place.path().join("x"), Until::End).unwrap_err();
    assert!(matches!(nothing, CareError::NoBackup { .. }), "{nothing}");
}

#[test]
fn a_time_is_as_far_as_the_entry_before_the_first_later_one() {
    let (data, place) = (folder(), folder());
    shop(data.path(), 12);
    let reading = read(data.path());
    let entry = |seq: u64| reading.read(seq - 1, 1).unwrap()[0].entry().unwrap();
    let seventh = entry(7).stamp.at;
    let wanted = (1..=12).take_while(|seq| entry(*seq).stamp.at <= seventh).count() as u64;
    let restored = restore(data.path(), &place.path().join("new"), Until::Time(seventh)).unwrap();
    assert_eq!(restored.head.seq, wanted);
    let before_all = restore(data.path(), &place.path().join("none"), Until::Time(Timestamp::UNIX_EPOCH)).unwrap();
    assert_eq!(before_all.head.seq, 0);
}

#[test]
fn a_backup_of_another_history_is_left_alone() {
    let (data, other, place) = (folder(), folder(), folder());
    shop(data.path(), 20);
    shop(other.path(), 20);
    let to = place.path().join("backup");
    taken(data.path(), &to);
    let before = lines(read(&to).as_ref());
    let (older, different) = (place.path().join("older"), place.path().join("different"));
    restore(&to, &older, Until::Seq(15)).unwrap();
    restore(&to, &different, Until::Seq(15)).unwrap();
    let (store, _) = open(&different);
    more(&store, 100, 110);
    store.stop().unwrap();
    drop(store);
    for (from, what) in
        [(other.path(), "another journal"), (&older, "the journal ends at 15"), (&different, "entry 20 is another one")]
    {
        let refused = backup(&RealDisk, read(from).as_ref(), &to, at()).unwrap_err().to_string();
        assert!(refused.contains(what) && refused.contains("empty folder"), "{refused}");
    }
    assert_eq!(lines(read(&to).as_ref()), before);
    let refused = backup(&RealDisk, read(data.path()).as_ref(), other.path(), at()).unwrap_err();
    assert!(matches!(refused, CareError::DataFolder { .. }), "{refused}");
}

#[test]
fn whichever_call_to_the_disk_fails_a_backup_goes_on_from_there() {
    let data = folder();
    let original = shop(data.path(), 30);
    for fault in [Fault::Io, Fault::Half, Fault::Full] {
        let mut failing = 0;
        loop {
            failing += 1;
            let place = folder();
            let to = place.path().join("backup");
            let older = place.path().join("older");
            restore(data.path(), &older, Until::Seq(11)).unwrap();
            taken(&older, &to);
            let (disk, faults) = FaultDisk::new(failing, fault);
            let _ = backup(disk.as_ref(), read(data.path()).as_ref(), &to, at());
            assert!(verify_folder(&RealDisk, &to).ok, "call {failing} fails with {fault:?}");
            let so_far = lines(read(&to).as_ref());
            assert!(so_far.len() >= 11 && original.starts_with(&so_far), "call {failing} fails with {fault:?}");
            taken(data.path(), &to);
            assert_eq!(lines(read(&to).as_ref()), original, "call {failing} fails with {fault:?}");
            if faults.calls.load(Ordering::SeqCst) < failing {
                assert!(failing > 8, "{failing}");
                break;
            }
        }
    }
}

/// Damages a shop whose backup ends at `backed_up` of 40 entries, mends it, and compares with what was there.
#[track_caller]
fn check_mended(backed_up: u64, damage: impl FnOnce(&Path)) -> Vec<u64> {
    let (data, place) = (folder(), folder());
    let original = shop(data.path(), 40);
    let (to, part) = (place.path().join("backup"), place.path().join("part"));
    restore(data.path(), &part, Until::Seq(backed_up)).unwrap();
    taken(&part, &to);
    damage(data.path());
    let Err(refused) = FileJournal::open(data.path()) else { panic!("it opens") };
    assert!(refused.to_string().contains("coilwright repair --from-backup"), "{refused}");
    let repaired = repair(data.path(), &to).unwrap();
    assert_eq!(repaired.head.seq, 40);
    assert_eq!(lines(read(data.path()).as_ref()), original);
    assert!(verify_folder(&RealDisk, data.path()).ok);
    assert!(repaired.segments.iter().all(|m| m.kept.as_ref().is_none_or(|kept| kept.exists())), "{repaired:?}");
    let (store, _) = open(data.path());
    check_fold(&store);
    repaired.segments.into_iter().flat_map(|m| m.from_backup).collect()
}

fn flip(path: &Path, at: usize) {
    let mut bytes = fs::read(path).unwrap();
    bytes[at] ^= 4;
    fs::write(path, bytes).unwrap();
}

#[test]
fn a_flipped_bit_is_mended_with_one_entry_of_the_backup_and_the_rest_stays() {
    // Nobody but the walk notices a bit in a sealed segment: the unsealed one here.
    let from_backup = check_mended(40, |dir| flip(segments(dir).last().unwrap(), 100));
    assert_eq!(from_backup.len(), 1);
}

#[test]
fn a_segment_that_is_lost_comes_from_the_backup_whole() {
    let from_backup = check_mended(30, |dir| fs::remove_file(&segments(dir)[1]).unwrap());
    assert!(from_backup.len() > 2, "{from_backup:?}");
    check_mended(30, |dir| fs::remove_file(&segments(dir)[0]).unwrap());
    check_mended(40, |dir| fs::remove_file(segments(dir).last().unwrap()).unwrap());
}

#[test]
fn a_sealed_segment_with_a_flipped_bit_is_found_by_verify_and_mended() {
    let (data, place) = (folder(), folder());
    let original = shop(data.path(), 40);
    let to = place.path().join("backup");
    taken(data.path(), &to);
    for segment in segments(data.path()).iter().rev().skip(1) {
        flip(segment, 700);
        assert!(!verify_folder(&RealDisk, data.path()).ok);
        let repaired = repair(data.path(), &to).unwrap();
        assert_eq!(repaired.segments.len(), 1);
        assert_eq!(lines(read(data.path()).as_ref()), original);
    }
}

#[test]
fn what_is_good_nowhere_is_named_and_nothing_is_changed() {
    let (data, place) = (folder(), folder());
    shop(data.path(), 40);
    let (to, part) = (place.path().join("backup"), place.path().join("part"));
    restore(data.path(), &part, Until::Seq(5)).unwrap();
    taken(&part, &to);
    let last = segments(data.path()).pop().unwrap();
    let first: u64 = last.file_stem().unwrap().to_str().unwrap().parse().unwrap();
    flip(&last, 100);
    let before = fs::read(&last).unwrap();
    let refused = repair(data.path(), &to).unwrap_err();
    assert!(matches!(refused, CareError::NotMendable { seq, backup_head: 5, .. } if seq == first), "{refused}");
    assert!(refused.to_string().contains("coilwright restore"), "{refused}");
    assert_eq!(fs::read(&last).unwrap(), before);
    let names: Vec<_> = fs::read_dir(data.path().join("journal")).unwrap().map(|i| i.unwrap().file_name()).collect();
    assert!(names.iter().all(|name| !name.to_string_lossy().starts_with("damaged-")), "{names:?}");
}

#[test]
fn a_folder_in_use_is_neither_mended_nor_copied_over() {
    let (data, place) = (folder(), folder());
    shop(data.path(), 3);
    let to = place.path().join("backup");
    taken(data.path(), &to);
    let _kept = Folder::lock(data.path()).unwrap();
    let refused = repair(data.path(), &to).unwrap_err();
    assert!(matches!(refused, CareError::Folder(OpenError::InUse { .. })), "{refused}");
    let _too = Folder::lock(&to).unwrap();
    let refused = backup(&RealDisk, read(data.path()).as_ref(), &to, at()).unwrap_err();
    assert!(matches!(refused, CareError::Folder(OpenError::InUse { .. })), "{refused}");
}

#[test]
fn an_older_copy_put_in_the_place_of_the_journal_is_told_by_the_backup() {
    let (data, place) = (folder(), folder());
    shop(data.path(), 20);
    let (to, older) = (place.path().join("backup"), place.path().join("older"));
    taken(data.path(), &to);
    restore(&to, &older, Until::Seq(15)).unwrap();
    let witness = newest_backup(&RealDisk, &to).unwrap().unwrap().witness();
    let sizes = Journalling::default();
    let open = |dir: &Path| {
        FileJournal::open_with(Folder::lock(dir).unwrap(), Arc::new(RealDisk), sizes, std::slice::from_ref(&witness))
    };
    let (_, opened) = open(&older).unwrap();
    assert_eq!(opened.findings.iter().map(|f| f.code).collect::<Vec<_>>(), ["witness_ahead"]);
    assert!(open(data.path()).unwrap().1.findings.is_empty());
}
