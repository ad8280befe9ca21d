//! What it takes to add up a million facts about a hundred thousand spools: time and peak memory.
//!
//! `fold [SPOOLS] [FACTS]` (100,000 and 1,000,000 if left out): every spool arrives, is drawn from and weighed by turns.
//! Then the length left is estimated of all of them. Prints one line.

// An example of measuring: it fails by panicking.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_shop::entry::{ClockQuality, Entry, Stamp};
use coilwright_shop::fact::{Fact, SpoolReceived, SpoolWeighed, Wire, WireDrawn};
use coilwright_shop::{SpoolId, State, Uncertain};
use jiff::Timestamp;
use serde_json::Value;
use std::time::Instant;

fn main() {
    let mut numbers = std::env::args().skip(1).map(|n| n.parse::<u64>().unwrap());
    let (spools, facts) = (numbers.next().unwrap_or(100_000), numbers.next().unwrap_or(1_000_000));
    let began = Instant::now();
    // Nothing here is at rest, so nothing is ever looked up.
    let nothing: Vec<Entry> = Vec::new();
    let mut state = State::default();
    for seq in 1..=facts {
        let (spool, turn) = (SpoolId((seq - 1) % spools + 1), (seq - 1) / spools);
        state.apply(&entry(seq, fact(spool, turn)), &nothing).expect("nothing is asked of the archive");
    }
    let folded = began.elapsed();
    let began = Instant::now();
    let left: f64 = state.spools().map(|s| s.estimate().left.value.m()).sum();
    println!(
        "{facts} facts of {spools} spools: folded in {:.2} s, all estimated in {:.2} s ({left:.0} m left), peak memory {}",
        folded.as_secs_f64(),
        began.elapsed().as_secs_f64(),
        peak()
    );
}

/// Arrives with 300 m; then 20 m are drawn and it is weighed, by turns.
fn fact(spool: SpoolId, turn: u64) -> Fact {
    let gone = 20.0 * turn.div_ceil(2) as f64;
    match turn {
        0 => Fact::SpoolReceived(Box::new(SpoolReceived {
            spool,
            wire: wire(),
            gross_g: Some(Uncertain::new(97.0 + 300.0 * 0.36698, 0.1)),
            tare_g: Some(Uncertain::new(97.0, 1.0)),
            marked_m: None,
            marked_counts: true,
            label: String::new(),
            supplier: String::new(),
            lot: String::new(),
            cost_per_kg: None,
            place: String::new(),
            note: String::new(),
        })),
        t if t % 2 == 1 => Fact::WireDrawn(WireDrawn {
            spool,
            drawn_m: Uncertain::new(20.0, 0.1),
            job: None,
            coil_no: None,
            reason: String::new(),
        }),
        _ => Fact::SpoolWeighed(SpoolWeighed {
            spool,
            gross_g: Uncertain::new(97.0 + (300.0 - gone) * 0.36698, 0.1),
            expected_g: None,
            repeat_of: None,
            breaks_ledger: false,
        }),
    }
}

fn wire() -> Wire {
    Wire {
        id: Some("cu-awg31-single".to_owned()),
        label: "AWG 31 single, copper".to_owned(),
        conductor: "copper".to_owned(),
        g_per_m: Uncertain::new(0.36698, 0.015 * 0.36698),
        ohm_per_m: Uncertain::new(0.42957, 0.013 * 0.42957),
        alpha_per_k: 0.00393,
        overall_mm: Some(0.24638),
        bare_mm: Some(0.22606),
    }
}

fn entry(seq: u64, fact: Fact) -> Entry {
    let stamp =
        Stamp { at: Timestamp::UNIX_EPOCH, quality: ClockQuality::Plausible, boot: String::new(), mono_ms: seq };
    Entry {
        seq,
        v: 1,
        group: seq,
        stamp,
        who: String::new(),
        method: String::new(),
        key: None,
        asked: String::new(),
        facts: vec![fact],
        answer: Value::Null,
    }
}

fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:").map(str::trim).map(str::to_owned));
    line.unwrap_or_else(|| "not known here".to_owned())
}
