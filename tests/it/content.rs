//! What is left on a spool against scipy's least squares: tests/recompute/content.py solves the same random histories.

use crate::recompute::{python, seed};
use crate::shop::root;
use coilwright_core::content::{Content, Event, Prior, Reading, estimate};
use coilwright_core::dice::Dice;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::{Length, LinearMass, LinearResistance, Mass, Resistance};
use serde_json::{Value, json};
use std::process::Command;

const HISTORIES: usize = 300;

fn within(d: &mut Dice, low: f64, high: f64) -> f64 {
    low + (high - low) * d.unit()
}

/// A plausible history with everything that can happen to a spool; it ends with a reading.
fn history(d: &mut Dice) -> (Prior, Vec<Event>, Value, Vec<Value>) {
    let (gm, om, mut tare) = (within(d, 0.2, 0.8), within(d, 0.2, 0.9), within(d, 40.0, 120.0));
    let mut left = within(d, 200.0, 400.0);
    let told = |d: &mut Dice, tare: f64| (d.unit() < 0.8).then(|| (tare + d.normal(), 1.0));
    let told_tare = told(d, tare);
    let (g, o, doubt) = ((gm * within(d, 0.985, 1.015), gm * 0.015), (om * within(d, 0.987, 1.013), om * 0.013), 0.01);
    let m = |(v, u): (f64, f64)| Measured::new(Mass::from_g(v), Mass::from_g(u));
    let prior = Prior {
        g_per_m: Measured::new(LinearMass::from_g_per_m(g.0), LinearMass::from_g_per_m(g.1)),
        tare: told_tare.map(m),
        ohm_per_m: Some(Measured::new(LinearResistance::from_ohm_per_m(o.0), LinearResistance::from_ohm_per_m(o.1))),
        correlation: 0.0,
        draw_doubt: doubt,
        unwritten: 0.01,
    };
    let said = json!({ "g_per_m": g, "tare": told_tare, "ohm_per_m": o, "draw_doubt": doubt });
    let factor = 1.0 + doubt * d.normal();
    let (mut events, mut lines) = (Vec::new(), Vec::new());
    let rounds = 3 + (20.0 * d.unit()) as usize;
    for round in 0..=rounds {
        let kind = if round == rounds { 0.9 } else { d.unit() };
        // A length that nothing was read of between two breaks would be no unknown but a hole.
        let read = matches!(events.last(), Some(Event::Read(_)));
        if kind < 0.04 && read {
            left = (left - within(d, 1.0, 20.0)).max(5.0);
            events.push(Event::Unaccounted);
            lines.push(json!(["unaccounted", null]));
        } else if kind < 0.08 && read {
            tare = within(d, 40.0, 120.0);
            let known = told(d, tare);
            events.push(Event::Moved(known.map(m)));
            lines.push(json!(["moved", known]));
        } else if kind < 0.5 && left > 25.0 {
            let noted = within(d, 5.0, 18.0);
            left -= noted * factor + 0.1 * d.normal();
            if d.unit() < 0.05 {
                left = (left - within(d, 1.0, noted)).max(5.0);
            }
            events.push(Event::Drawn(Measured::new(Length::from_m(noted), Length::from_m(0.1))));
            lines.push(json!(["drawn", [noted, 0.1]]));
        } else if kind < 0.65 {
            let met = om * left + 0.1 * d.normal();
            events.push(Event::Read(Reading::Resistance(Measured::new(
                Resistance::from_ohm(met),
                Resistance::from_ohm(0.1),
            ))));
            lines.push(json!(["resistance", [met, 0.1]]));
        } else if kind < 0.7 {
            let met = left * (1.0 + 0.03 * d.normal());
            let u = 0.03 * met;
            events.push(Event::Read(Reading::Length(Measured::new(Length::from_m(met), Length::from_m(u)))));
            lines.push(json!(["length", [met, u]]));
        } else {
            let met = gm * left + tare + 0.06 * d.normal();
            events.push(Event::Read(Reading::Weighed(m((met, 0.06)))));
            lines.push(json!(["weighed", [met, 0.06]]));
        }
    }
    (prior, events, said, lines)
}

/// Before a reading that follows draws, an error of the length: as likely as the fit says, at most as long as a draw.
fn with_what_may_be_lost(events: &[Event], told: Vec<Value>, content: &Content) -> Vec<Value> {
    let mut lines = Vec::new();
    let (mut squares, mut draws) = (0.0, 0.0);
    for (at, (event, line)) in events.iter().zip(told).enumerate() {
        match event {
            Event::Drawn(drawn) => (squares, draws) = (squares + drawn.value.m().powi(2), draws + 1.0),
            Event::Read(_) => {
                let q = content.readings.iter().find(|r| r.event == at).and_then(|r| r.unwritten);
                assert_eq!(q.is_some(), draws > 0.0);
                let u = (q.unwrap_or(0.0) * squares / draws / 3.0).sqrt();
                if u > 1e-6 {
                    lines.push(json!(["lost", [0.0, u]]));
                }
                (squares, draws) = (0.0, 0.0);
            }
            Event::Unaccounted => (squares, draws) = (0.0, 0.0),
            Event::Moved(_) => {}
        }
        lines.push(line);
    }
    lines
}

#[test]
fn three_hundred_random_histories_are_fitted_as_scipy_fits_them() {
    let Some(python) = python() else {
        println!("SKIPPED: no Python, so the fit of a spool's history was NOT compared with scipy's");
        return;
    };
    let seed = seed();
    println!("COILWRIGHT_SEED={seed}");
    let mut dice = Dice::new(seed);
    let mut lines = String::new();
    for _ in 0..HISTORIES {
        let (prior, events, said, told) = history(&mut dice);
        let content = estimate(&prior, &events).expect("a weighing at the end tells the length");
        let left = content.left;
        let told = with_what_may_be_lost(&events, told, &content);
        let case = json!({ "prior": said, "events": told, "answer": [left.value.m(), left.u.m()] });
        lines.push_str(&format!("{case}\n"));
    }
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), lines).expect("written");
    let script = root().join("tests/recompute/content.py");
    let checked = Command::new(&python).arg(&script).arg(file.path()).output().expect("python runs");
    let said = String::from_utf8_lossy(&checked.stdout);
    println!("{said}");
    assert!(
        checked.status.success() && said.contains(&format!("{HISTORIES} passed, 0 failed")),
        "COILWRIGHT_SEED={seed}\n{said}{}",
        String::from_utf8_lossy(&checked.stderr)
    );
}
