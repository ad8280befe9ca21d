//! An invented shop of 200 spools and 3,000 coils: how often what is believed of a length holds, and what the gate is
//! worth. `cargo run --release -p coilwright-shop --example simulated_shop [SEED…]`

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "the world of a test"
)]
#![allow(dead_code, reason = "the tests use all of the bench, this only a part")]

#[path = "../tests/it/bench.rs"]
mod bench;
#[path = "../tests/it/simulated.rs"]
mod simulated;

use simulated::{Choice, LotsAre, median, run};

fn main() {
    let given: Vec<u64> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    for seed in if given.is_empty() { vec![1, 2, 3] } else { given } {
        for (lots, named) in [(LotsAre::Written, "lots written down"), (LotsAre::Unknown, "lots not known")] {
            by_gate(seed, lots, named);
        }
        let by_book = run(seed, 200, 3000, Choice::ByBook, LotsAre::Written);
        println!(
            "  seed {seed}, without the gate {} of {}: {:.2} %",
            by_book.short,
            by_book.started,
            share(by_book.short, by_book.started)
        );
    }
}

fn by_gate(seed: u64, lots: LotsAre, named: &str) {
    let seen = run(seed, 200, 3000, Choice::ByGate, lots);
    let held = 100.0 * f64::from(seen.held) / f64::from(seen.intervals);
    println!("seed {seed}, {named}: the 90 % interval held {held:.1} % of {} times", seen.intervals);
    for (name, errors) in [("nearly empty", &seen.nearly_empty), ("full", &seen.full)] {
        let [fitted, weight, book] = errors.each_ref().map(|l| median(l));
        println!(
            "  {name}: median error {fitted:.2} m; weight alone {weight:.2} m, book alone {book:.2} m ({} weighings)",
            errors[0].len()
        );
    }
    println!(
        "  with the gate {} of {} coils ran short: {:.2} %, promised at most 2 %, reckoned {:.2} %",
        seen.short,
        seen.started,
        share(seen.short, seen.started),
        100.0 * seen.promised / f64::from(seen.started.max(1))
    );
}

fn share(short: u32, of: u32) -> f64 {
    100.0 * f64::from(short) / f64::from(of.max(1))
}
