//! The two sides of the power-cut proof in `tests/long/power_cuts.py`: a writer that says what was acknowledged, and a
//! check of what a cut left.
//!
//! `power write DIR WRITERS SECONDS` keeps a shop in DIR/shop and its backup in DIR/backup; it seals often, stops and
//! starts again, and throws the index away now and then. `power check DIR` reads what it said on standard input.

// An example of tests: it fails by panicking.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_shop::entry::{Decided, Entry};
use coilwright_shop::fact::{AlertSeen, Fact};
use coilwright_store::{
    Archive, Fold, Journalling, Options, RealDisk, Request, Store, Unreadable, backup, verify_folder,
};
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::path::Path;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Counts entries.
#[derive(Clone, Default)]
struct Count(u64);

impl Fold for Count {
    fn apply(&mut self, _: &Entry, _: &dyn Archive) -> Result<(), Unreadable> {
        self.0 += 1;
        Ok(())
    }

    fn freeze(&self) -> Option<Vec<u8>> {
        Some(self.0.to_string().into_bytes())
    }

    fn thaw(bytes: &[u8]) -> Option<Self> {
        std::str::from_utf8(bytes).ok()?.parse().ok().map(Self)
    }
}

type Shop = Store<Count, String>;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[1..] {
        ["write", dir, writers, seconds] => write(Path::new(dir), writers.parse().unwrap(), seconds.parse().unwrap()),
        ["check", dir] => check(Path::new(dir)),
        _ => panic!("power write DIR WRITERS SECONDS | power check DIR"),
    }
}

/// Small files, so that a few seconds seal many segments.
fn open(dir: &Path) -> Result<(Shop, coilwright_store::OpenReport), coilwright_store::OpenError> {
    let mut options = Options::new(|_| vec!["all".to_owned()]).unwrap();
    options.sizes = Journalling { segment_bytes: 96 << 10, step_bytes: 24 << 10, ballast_bytes: 16 << 10 };
    options.freeze_every = 500;
    Shop::open(&dir.join("shop"), options)
}

fn request(key: &str) -> Request<Count, String> {
    let alert = format!("by {key}");
    Request {
        method: "alert.seen".to_owned(),
        who: "power".to_owned(),
        asked: key.to_owned(),
        key: Some(key.to_owned()),
        decide: Box::new(move |_, moment| {
            let facts = vec![Fact::AlertSeen(AlertSeen { alert: alert.clone() })];
            Ok(Decided { facts, answer: moment.seq.into() })
        }),
        reply: Box::new(|_| {}),
    }
}

fn write(dir: &Path, writers: u64, seconds: u64) {
    let out = Mutex::new(io::stdout());
    let say = |line: String| out.lock().unwrap().write_all(line.as_bytes()).unwrap();
    let end = Instant::now() + Duration::from_secs(seconds);
    for run in 0.. {
        if Instant::now() >= end {
            return;
        }
        if run % 3 == 2 {
            let _ = fs::remove_dir_all(dir.join("shop/index"));
        }
        let (store, _) = open(dir).unwrap();
        let until = end.min(Instant::now() + Duration::from_millis(400));
        std::thread::scope(|scope| {
            for writer in 0..writers {
                let (store, say) = (&store, &say);
                scope.spawn(move || {
                    for n in 0.. {
                        if Instant::now() >= until {
                            break;
                        }
                        let key = format!("{run}-{writer}-{n}");
                        let done = store.ask(request(&key)).unwrap();
                        say(format!("ack {key} {}\n", done.seq));
                    }
                });
            }
            while Instant::now() < until {
                std::thread::sleep(Duration::from_millis(90));
                let done = backup(&RealDisk, store.reading().as_ref(), &dir.join("backup"), Timestamp::now()).unwrap();
                say(format!("backup {}\n", done.head.seq));
            }
        });
        store.stop().unwrap();
    }
}

fn check(dir: &Path) {
    let (mut acknowledged, mut backed_up) = (BTreeMap::new(), 0);
    for line in io::stdin().lines().map(Result::unwrap) {
        match line.split(' ').collect::<Vec<_>>()[..] {
            ["ack", key, seq] => drop(acknowledged.insert(key.to_owned(), seq.parse::<u64>().unwrap())),
            ["backup", seq] => backed_up = seq.parse().unwrap(),
            _ => {}
        }
    }
    let copy = dir.join("backup");
    if copy.join("journal").is_dir() {
        let verified = verify_folder(&RealDisk, &copy);
        // A kill before the first manifest leaves none: that is no damage.
        let begun = verified.findings.iter().all(|f| f.code == "manifest_missing" || !f.grave);
        fail_unless(begun && verified.head.seq >= backed_up, || format!("backup-bad {backed_up} {verified:?}"));
    } else {
        fail_unless(backed_up == 0, || "backup-lost".to_owned());
    }
    let (store, report) = match open(dir) {
        Ok(opened) => opened,
        Err(e) => return fail_unless(false, || format!("unopenable {e}")),
    };
    let (mut found, mut after) = (BTreeMap::new(), 0);
    loop {
        let lines = store.read(after, 4096).unwrap();
        let Some(last) = lines.last() else { break };
        after = last.head.seq;
        for line in &lines {
            let entry = line.entry().unwrap();
            fail_unless(found.insert(entry.key.unwrap(), entry.seq).is_none(), || "twice".to_owned());
        }
    }
    for (key, seq) in &acknowledged {
        fail_unless(found.get(key) == Some(seq), || format!("lost {key} {seq} {report:?}"));
    }
    fail_unless(store.verify().ok, || "unverified".to_owned());
    fail_unless(store.state().state.0 == found.len() as u64, || "miscounted".to_owned());
    if let Some((key, seq)) = acknowledged.iter().next_back() {
        let again = store.ask(request(key)).unwrap();
        fail_unless(again.replayed && again.seq == *seq, || format!("forgotten {key}"));
    }
    let grave = report.journal.findings.iter().any(|f| f.grave);
    let word = if grave {
        "grave"
    } else if report.journal.findings.is_empty() {
        "good"
    } else {
        "good-and-cut"
    };
    println!("{word} {} of {} kept, {report:?}", acknowledged.len(), found.len());
}

fn fail_unless(good: bool, why: impl FnOnce() -> String) {
    if !good {
        println!("{}", why());
        std::process::exit(1);
    }
}
