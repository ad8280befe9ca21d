//! How long a spool's history takes to be fitted: 10, 50 and 200 readings with a draw before each.
//! `cargo run --release -p coilwright-core --example content_speed`

use coilwright_core::content::{Event, Prior, Reading, estimate};
use coilwright_core::dice::Dice;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::{Length, LinearMass, LinearResistance, Mass};
use std::hint::black_box;
use std::time::Instant;

const ROUNDS: usize = 15;

fn main() {
    let tare = 97.0;
    let prior = Prior {
        g_per_m: Measured::new(LinearMass::from_g_per_m(0.36698), LinearMass::from_g_per_m(0.0055)),
        tare: Some(Measured::new(Mass::from_g(tare), Mass::from_g(1.0))),
        ohm_per_m: Some(Measured::new(
            LinearResistance::from_ohm_per_m(0.42957),
            LinearResistance::from_ohm_per_m(0.0056),
        )),
        correlation: 0.0,
        draw_doubt: 0.01,
        unwritten: 0.01,
    };
    for readings in [10, 50, 200] {
        let mut dice = Dice::new(7);
        let mut left = 15.0 * f64::from(readings);
        let mut events = Vec::new();
        for _ in 0..readings {
            left -= 14.0 + 0.12 * dice.normal();
            events.push(Event::Drawn(Measured::new(Length::from_m(14.0), Length::from_m(0.12))));
            let gross = 0.3705 * left + tare + 0.1 * dice.normal();
            events.push(Event::Read(Reading::Weighed(Measured::new(Mass::from_g(gross), Mass::from_g(0.1)))));
        }
        let mut micros: Vec<f64> = (0..ROUNDS)
            .map(|_| {
                let start = Instant::now();
                for _ in 0..20 {
                    let _ = black_box(estimate(black_box(&prior), black_box(&events)));
                }
                start.elapsed().as_secs_f64() * 1e6 / 20.0
            })
            .collect();
        micros.sort_by(f64::total_cmp);
        println!(
            "{readings:>4} readings: {:.0} µs ({:.0} to {:.0})",
            micros.get(ROUNDS / 2).copied().unwrap_or(f64::NAN),
            micros.first().copied().unwrap_or(f64::NAN),
            micros.last().copied().unwrap_or(f64::NAN)
        );
    }
}
