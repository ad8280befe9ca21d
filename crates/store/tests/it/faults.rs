//! Every changing call to the disk made to fail once; single bits flipped anywhere.

use crate::support::*;
use coilwright_store::{Disk, FileJournal, Folder, Journalling, OpenError, RealDisk, verify_folder};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

const KEYS: u64 = 12;

/// Opens, writes what is not there yet, stops, all on a disk whose call `at` fails. Returns which keys were
/// acknowledged with which sequence, and whether that call was reached.
fn run(dir: &Path, at: u64, fault: Fault) -> (BTreeMap<u64, u64>, bool) {
    let (disk, faults) = FaultDisk::new(at, fault);
    let disk: Arc<dyn Disk> = disk;
    let sizes = Journalling { segment_bytes: 1500, step_bytes: 600, ballast_bytes: 100 };
    let mut acknowledged = BTreeMap::new();
    if let Ok((journal, _)) = FileJournal::open_with(Folder::lock(dir).unwrap(), disk, sizes, &[]) {
        let (store, _) = Shop::over(journal, options()).unwrap();
        for n in 0..KEYS {
            if let Ok(done) = say(&store, Some(&n.to_string()), &format!("entry {n} {}", "long ".repeat(20))) {
                acknowledged.insert(n, done.seq);
            }
        }
        let _ = store.stop();
    }
    (acknowledged, faults.calls.load(Ordering::SeqCst) >= at)
}

#[test]
fn whichever_call_to_the_disk_fails_nothing_acknowledged_is_lost_and_the_folder_opens() {
    for fault in [Fault::Io, Fault::Half, Fault::Full] {
        let mut at = 0;
        loop {
            at += 1;
            let dir = folder();
            let (acknowledged, reached) = run(dir.path(), at, fault);
            if !reached {
                assert!(at > 40 && acknowledged.len() as u64 == KEYS, "{at} calls, {acknowledged:?}");
                break;
            }
            let (again, _) = run(dir.path(), 0, fault);
            assert_eq!(again.len() as u64, KEYS, "call {at} fails with {fault:?}: {again:?}");
            for (key, seq) in &acknowledged {
                assert_eq!(again.get(key), Some(seq), "call {at} fails with {fault:?}: key {key}");
            }
            let verified = verify_folder(&RealDisk, dir.path());
            assert!(verified.ok && verified.head.seq == KEYS, "call {at} fails with {fault:?}: {verified:?}");
        }
    }
}

#[test]
fn a_first_start_on_a_full_disk_is_refused_and_goes_on_when_there_is_room() {
    let sizes = Journalling { segment_bytes: 1500, step_bytes: 600, ballast_bytes: 0 };
    for room in 0..700 {
        let dir = folder();
        let (disk, faults) = FaultDisk::new(0, Fault::Io);
        faults.room.store(room, Ordering::SeqCst);
        let open = || {
            let disk: Arc<dyn Disk> = Arc::<FaultDisk>::clone(&disk);
            FileJournal::open_with(Folder::lock(dir.path()).unwrap(), disk, sizes, &[])
        };
        match open() {
            Err(OpenError::Full { .. }) => {}
            Err(other) => panic!("with room for {room} bytes: {other}"),
            Ok(_) => assert!(room >= 600, "{room}"),
        }
        faults.room.store(10_000, Ordering::SeqCst);
        assert!(open().unwrap().1.findings.is_empty(), "with room for {room} bytes at first");
    }
}

#[test]
fn a_restart_on_a_full_disk_uses_the_ballast() {
    let dir = folder();
    let (disk, faults) = FaultDisk::new(0, Fault::Io);
    let disk: Arc<dyn Disk> = disk;
    let sizes = Journalling { segment_bytes: 1 << 20, step_bytes: 2000, ballast_bytes: 4000 };
    let open = || FileJournal::open_with(Folder::lock(dir.path()).unwrap(), Arc::clone(&disk), sizes, &[]);
    let (store, _) = Shop::over(open().unwrap().0, options()).unwrap();
    faults.room.store(100, Ordering::SeqCst);
    let mut kept = 0;
    while say(&store, None, "entry").is_ok() {
        kept += 1;
    }
    assert!(store.stop().is_err(), "there was room for the note");
    drop(store);
    // A torn end must be kept aside before it is cut, and there is no room for that.
    let (path, mut bytes) = last_segment(dir.path());
    let end = bytes.iter().rposition(|c| *c != b'\n').unwrap();
    bytes[end - 100..=end].fill(b'\n');
    fs::write(path, bytes).unwrap();
    let (journal, opened) = open().unwrap();
    let codes: Vec<_> = opened.findings.iter().map(|f| f.code).collect();
    assert_eq!((opened.head.seq, &codes[..]), (kept - 1, &["ballast_spent", "torn"][..]));
    let (store, _) = Shop::over(journal, options()).unwrap();
    assert_eq!(entries(&store).len() as u64, kept - 1);
    // The cut entry's place takes one of its length.
    say(&store, None, "entry").unwrap();
}

fn files(dir: &Path) -> Vec<PathBuf> {
    let mut all = Vec::new();
    for item in fs::read_dir(dir).unwrap().map(Result::unwrap) {
        if item.path().is_dir() { all.extend(files(&item.path())) } else { all.push(item.path()) }
    }
    all.sort();
    all
}

fn with_small_files() -> coilwright_store::Options {
    let mut options = options();
    options.sizes = small();
    options
}

#[test]
fn a_bit_flipped_anywhere_is_detected_or_harmless() {
    let seed = std::env::var("SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(0x5eed_0001);
    let flips = std::env::var("FLIPS").ok().and_then(|s| s.parse().ok()).unwrap_or(150u32);
    println!("SEED={seed} FLIPS={flips}");
    let mut dice = Dice(seed);
    let dir = folder();
    let (store, _) = Shop::open(dir.path(), with_small_files()).unwrap();
    for n in 0..25 {
        say(&store, Some(&n.to_string()), &format!("entry {n}")).unwrap();
    }
    let original = entries(&store);
    store.stop().unwrap();
    drop(store);
    let saved: Vec<(PathBuf, Vec<u8>)> =
        files(dir.path()).into_iter().map(|path| (path.clone(), fs::read(path).unwrap())).collect();
    let mut tally: BTreeMap<&str, u32> = BTreeMap::new();
    for _ in 0..flips {
        // A file first, so that the small ones get their share; then mostly where something stands.
        let (path, good) = &saved[dice.below(saved.len() as u64) as usize];
        if good.is_empty() {
            continue;
        }
        let end = if dice.below(4) == 0 {
            good.len()
        } else {
            good.iter().rposition(|c| *c > 10).map_or(good.len(), |at| at + 1)
        };
        let bit = dice.below(end as u64 * 8);
        let mut bad = good.clone();
        bad[(bit / 8) as usize] ^= 1 << (bit % 8);
        fs::write(path, &bad).unwrap();

        let verified = verify_folder(&RealDisk, dir.path());
        let outcome = match Shop::open(dir.path(), with_small_files()) {
            Err(OpenError::Corrupt { .. } | OpenError::Newer { .. }) => "refused",
            Err(other) => panic!("SEED={seed} {} bit {bit}: {other}", path.display()),
            Ok((store, report)) => {
                let whole = store.verify();
                let told = !report.journal.findings.is_empty() || report.index.rebuilt.is_some();
                if whole.ok && report.journal.head.seq == 25 {
                    assert_eq!(entries(&store), original, "SEED={seed} {} bit {bit}", path.display());
                    check_fold(&store);
                    if told { "told and nothing lost" } else { "harmless" }
                } else {
                    assert!(told || !verified.ok, "SEED={seed} {} bit {bit}: {report:?}", path.display());
                    "told"
                }
            }
        };
        *tally.entry(outcome).or_default() += 1;
        // Everything back as it was.
        for item in fs::read_dir(dir.path()).unwrap().map(Result::unwrap) {
            if item.path().is_dir() {
                fs::remove_dir_all(item.path()).unwrap()
            } else {
                fs::remove_file(item.path()).unwrap()
            }
        }
        for (path, bytes) in &saved {
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, bytes).unwrap();
        }
    }
    println!("{tally:?}");
    assert!(tally.contains_key("refused") && tally.contains_key("harmless"), "{tally:?}");
}
