//! How long a shop takes to open and how much memory it needs, by the length of its history.
//!
//! `history fill DIR ENTRIES` writes the entries: spools come, are moved three times, go; 200 stay. `history open DIR` opens
//! it and prints seconds and the process's peak memory; run it once as left, once with DIR/index deleted.

// An example of measuring: it fails by panicking.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_shop::entry::Decided;
use coilwright_shop::fact::Fact;
use coilwright_shop::state::State;
use coilwright_store::{Options, Request, Store};
use serde_json::{Value, json};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

const LIVE: u64 = 200;
const WRITERS: u64 = 64;
/// Entries in a spool's life.
const LIFE: u64 = 5;

type Shop = Store<State, String>;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[1..] {
        ["fill", dir, entries] => fill(Path::new(dir), entries.parse().unwrap()),
        ["open", dir] => measure(Path::new(dir)),
        _ => panic!("history fill DIR ENTRIES | history open DIR"),
    }
}

fn open(dir: &Path) -> (Shop, coilwright_store::OpenReport) {
    let subjects = |entry: &coilwright_shop::entry::Entry| {
        entry.facts.iter().filter_map(Fact::subject).map(String::from).collect()
    };
    Shop::open(dir, Options::new(subjects).unwrap()).unwrap()
}

fn fact(place: u64, entries: u64) -> Fact {
    let (spool, step) = (format!("s-{}", place / LIFE + 1), place % LIFE);
    let stays = place / LIFE + LIVE >= entries.div_ceil(LIFE);
    let measured = |value: f64, u: f64| json!({ "value": value, "u": u });
    let fact: Value = match step {
        0 => json!({ "fact": "spool_received", "spool": spool,
            "wire": { "id": "cu-awg30-single", "label": "AWG 30 single, copper", "conductor": "copper", "alpha_per_k": 0.00393,
                "g_per_m": measured(0.4633, 0.0069), "ohm_per_m": measured(0.34026, 0.0044), "overall_mm": 0.27686, "bare_mm": 0.254 },
            "gross_g": measured(512.4, 0.5), "tare_g": measured(97.0, 1.0) }),
        4 if !stays => json!({ "fact": "spool_retired", "spool": spool, "empty": true }),
        _ => json!({ "fact": "spool_moved", "spool": spool, "place": format!("drawer {}", place % 17) }),
    };
    serde_json::from_value(fact).unwrap()
}

fn fill(dir: &Path, entries: u64) {
    let (store, _) = open(dir);
    let next = AtomicU64::new(0);
    let begun = Instant::now();
    std::thread::scope(|scope| {
        for _ in 0..WRITERS {
            scope.spawn(|| {
                loop {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    if place >= entries {
                        break;
                    }
                    let request = Request {
                        method: "spool.move".to_owned(),
                        who: "history".to_owned(),
                        asked: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08".to_owned(),
                        key: Some(format!("history-{place}")),
                        decide: Box::new(move |_: &State, moment| {
                            // By the sequence: 64 writers race, and a spool must come before it goes.
                            let fact = fact(moment.seq - 1, entries);
                            Ok(Decided { facts: vec![fact], answer: json!({ "seq": moment.seq }) })
                        }),
                        reply: Box::new(|_| {}),
                    };
                    store.ask(request).unwrap();
                }
            });
        }
    });
    let seconds = begun.elapsed().as_secs_f64();
    println!("{entries} entries written in {seconds:.1} s, {}", peak());
    store.stop().unwrap();
}

fn measure(dir: &Path) {
    let begun = Instant::now();
    let (store, report) = open(dir);
    let seconds = begun.elapsed().as_secs_f64();
    let state = store.state();
    let live = state.state.spools().filter(|s| s.retired.is_none()).count();
    println!(
        "{} entries, {live} live of {} spools: open {seconds:.3} s, {} ({} folded, {} indexed{})",
        state.head.seq,
        state.state.spool_count(),
        peak(),
        report.folded,
        report.index.added,
        report.index.rebuilt.map(|why| format!(", index made anew: {why}")).unwrap_or_default(),
    );
}

/// The process's peak resident memory as the kernel tells it.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find(|line| line.starts_with("VmHWM"))
        .map_or_else(|| "no VmHWM here".to_owned(), |line| line.split_whitespace().collect::<Vec<_>>().join(" "))
}
