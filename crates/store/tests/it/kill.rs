//! A writing process killed again and again: every acknowledged entry is there, once.

use crate::support::*;
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::{Mutex, mpsc};
use std::time::Duration;

const FOLDER: &str = "COILWRIGHT_STORE_KILL_FOLDER";
/// How many threads write at once; 16 if nobody says.
const WRITERS: &str = "WRITERS";

/// Not a test by itself: what the killed process does.
#[test]
#[ignore = "run by killing_the_writer_loses_nothing_acknowledged in a process of its own"]
fn child() {
    let Ok(folder) = std::env::var(FOLDER) else { return };
    let (store, report) = open(Path::new(&folder));
    let writers: u64 = std::env::var(WRITERS).ok().and_then(|s| s.parse().ok()).unwrap_or(16);
    let out = Mutex::new(std::io::stdout());
    // To the pipe itself, in one write: what was printed is what was acknowledged.
    let print = |line: String| out.lock().unwrap().write_all(line.as_bytes()).unwrap();
    print(format!("\nopen {} {}\n", report.journal.head.seq, report.index.rebuilt.is_some()));
    std::thread::scope(|scope| {
        for thread in 0..writers {
            let (store, print, head) = (&store, &print, report.journal.head.seq);
            scope.spawn(move || {
                for n in 0.. {
                    let key = format!("{head}-{thread}-{n}");
                    let done = say(store, Some(&key), &format!("by {key}")).unwrap();
                    print(format!("ack {key} {}\n", done.seq));
                }
            });
        }
    });
}

#[test]
fn killing_the_writer_loses_nothing_acknowledged() {
    let cycles: u64 = std::env::var("CYCLES").ok().and_then(|s| s.parse().ok()).unwrap_or(20);
    let seed = std::env::var("SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(0x5eed_0002);
    println!("SEED={seed} CYCLES={cycles}");
    let mut dice = Dice(seed);
    let mut all = Tally::default();
    let mut left = cycles;
    while left > 0 {
        let now = left.min(EACH_FOLDER);
        all.add(&killed(now, seed, &mut dice));
        left -= now;
    }
    let Tally { acknowledged, kept, rebuilt } = all;
    println!("{cycles} kills, {acknowledged} acknowledged, {kept} kept, {rebuilt} indexes rebuilt");
    assert!(acknowledged > 10 * cycles, "SEED={seed} hardly anything was written: {acknowledged}");
}

/// So many kills a folder gets before it is looked through and a new one begun: looking through takes as long as it is full,
/// and a first start is killed more often.
const EACH_FOLDER: u64 = 50;

#[derive(Default)]
struct Tally {
    acknowledged: u64,
    kept: u64,
    rebuilt: u64,
}

impl Tally {
    fn add(&mut self, more: &Tally) {
        self.acknowledged += more.acknowledged;
        self.kept += more.kept;
        self.rebuilt += more.rebuilt;
    }
}

/// A folder of its own, killed so often, and everything in it compared with what was acknowledged.
fn killed(cycles: u64, seed: u64, dice: &mut Dice) -> Tally {
    let dir = folder();
    let mut acknowledged: BTreeMap<String, u64> = BTreeMap::new();
    let mut rebuilt = 0;
    for cycle in 0..cycles {
        if cycle % 10 == 9 {
            let _ = std::fs::remove_dir_all(dir.path().join("index"));
        }
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "kill::child", "--ignored", "--nocapture", "--test-threads=1"])
            .env(FOLDER, dir.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let out = BufReader::new(child.stdout.take().unwrap());
        let (opened, is_open) = mpsc::channel();
        let reader = std::thread::spawn(move || {
            let mut lines = Vec::new();
            for line in out.lines() {
                let Ok(line) = line else { break };
                if line.starts_with("open ") {
                    let _ = opened.send(());
                }
                lines.push(line);
            }
            lines
        });
        // Every third kill may come while it still opens.
        if cycle % 3 != 2 {
            is_open.recv_timeout(Duration::from_secs(60)).unwrap();
        }
        std::thread::sleep(Duration::from_millis(5 + dice.below(80)));
        child.kill().unwrap();
        child.wait().unwrap();
        for line in reader.join().unwrap() {
            let words: Vec<&str> = line.split(' ').collect();
            match words[..] {
                ["open", _, again] => rebuilt += u64::from(again == "true"),
                ["ack", key, seq] => {
                    // The last line may have been cut short by the kill; a sequence in the making is no acknowledgement.
                    if let Ok(seq) = seq.parse() {
                        acknowledged.insert(key.to_owned(), seq);
                    }
                }
                _ => {}
            }
        }
    }
    let (store, _) = open(dir.path());
    let mut found: BTreeMap<String, u64> = BTreeMap::new();
    for entry in entries(&store) {
        let twice = found.insert(entry.key.clone().unwrap(), entry.seq);
        assert_eq!(twice, None, "SEED={seed} {:?} is there twice", entry.key);
    }
    for (key, seq) in &acknowledged {
        assert_eq!(found.get(key), Some(seq), "SEED={seed} {key}");
    }
    for (key, seq) in acknowledged.iter().step_by(1 + acknowledged.len() / 50) {
        let again = say(&store, Some(key), &format!("by {key}")).unwrap();
        assert_eq!((again.seq, again.replayed), (*seq, true), "SEED={seed} {key}");
    }
    assert!(store.verify().ok);
    check_fold(&store);
    Tally { acknowledged: acknowledged.len() as u64, kept: found.len() as u64, rebuilt }
}
