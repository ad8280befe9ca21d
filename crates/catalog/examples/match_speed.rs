//! How long a match takes over the whole catalog: 1 to 6 layers, free width, several targets. Prints what was asked, what
//! was found and how long it took as JSON, for tests/bench/match_numpy.py to search again and compare.

// A program for the one who measures: it ends with a message if the built-in tables are broken.
#![allow(clippy::expect_used)]

use coilwright_catalog::{Catalog, WireFilter};
use coilwright_core::coil::assume::assumed;
use coilwright_core::coil::design;
use coilwright_core::coil::lay::Lay;
use coilwright_core::coil::spec::{AssumeSpec, CoilSpec, Gap, Winding};
use coilwright_core::former::{Former, Particulars};
use coilwright_core::matching::{Bounds, FormerFrame, Hit, Nearest, Target, WireFrame, search};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_core::wire::Standing;
use serde_json::{Value, json};
use std::hint::black_box;
use std::time::Instant;

/// Former inside diameter, bore, least clearance (mm), resistance (Ω), its tolerance, least and greatest width (mm):
/// invented drivers from 19 to 100 mm.
const TARGETS: [[f64; 7]; 8] = [
    [19.2, 21.2, 0.15, 5.6, 0.03, 3.0, 12.0],
    [25.7, 28.1, 0.15, 5.3, 0.03, 4.0, 16.0],
    [25.7, 29.0, 0.15, 11.2, 0.03, 4.0, 20.0],
    [38.3, 40.6, 0.20, 5.95, 0.025, 8.0, 20.0],
    [51.0, 53.4, 0.25, 5.8, 0.03, 8.0, 24.0],
    [51.0, 54.5, 0.25, 3.2, 0.05, 8.0, 24.0],
    [75.2, 79.0, 0.35, 5.6, 0.03, 10.0, 30.0],
    [100.4, 104.6, 0.40, 5.4, 0.03, 10.0, 36.0],
];

/// Searches of each target: the middle of their times is told.
const ROUNDS: usize = 301;

/// Coils that an answer tells in full.
const TOLD: usize = 20;

fn main() {
    let catalog = Catalog::builtin().expect("the built-in plugins pass their own gate");
    let listed = WireFilter { standing: Some(Standing::Listed), ..WireFilter::default() };
    let records: Vec<_> = catalog.wires(listed).collect();
    let material = catalog.former("aluminium-foil").expect("a built-in material").material.clone();
    let mut told = Vec::new();
    for target in TARGETS {
        let [inside, bore, least, dcr, tolerance, narrow, wide] = target;
        let spec = |at: usize, layers, width: f64| CoilSpec {
            wire: records[at].wire.clone(),
            standing: Standing::Listed,
            former: Former {
                material: material.clone(),
                inside_diameter: mm(inside),
                wall: mm(0.1),
                height: Some(mm(wide + 12.0)),
                slit: Length::from_mm(1.0),
                shims: Length::ZERO,
                particulars: Particulars::default(),
            },
            winding: Winding {
                layers,
                width: Some(Measured::certain(Length::from_m(width))),
                turns_per_layer: None,
                lay: Lay::default(),
            },
            leads: None,
            tails: None,
            threading: None,
            gap: Some(Gap {
                pole: None,
                bore: Some(mm(bore)),
                plate: None,
                min_inner: None,
                min_outer: Some(Length::from_mm(least)),
            }),
            target: None,
            bench: None,
            hot: None,
            offset: None,
            assume: AssumeSpec::default(),
        };
        let frames: Vec<WireFrame> =
            (0..records.len()).map(|at| WireFrame::new(&records[at].wire, &assumed(&spec(at, 2, 0.01)))).collect();
        let former = FormerFrame::of(&spec(0, 2, 0.01), None);
        let bounds = Bounds {
            target: Target { dcr, tolerance },
            bore: Some(1e-3 * bore),
            min_outer: 1e-3 * least,
            width_min: 1e-3 * narrow,
            width_max: 1e-3 * wide,
            layers: 0b111_1110,
            mass_max: f64::INFINITY,
        };
        let (mut hits, mut searched, mut times, mut answers) = (Vec::new(), Default::default(), Vec::new(), Vec::new());
        for round in 0..ROUNDS {
            hits.clear();
            let mut near = Nearest::new(10);
            let began = Instant::now();
            searched = search(black_box(&frames), &[former], black_box(&bounds), None, |h| hits.push(h), &mut near);
            times.push(began.elapsed().as_secs_f64());
            black_box(&near);
            // The whole answer, some of the times: sorted, and the closest designed with their uncertainty.
            if round % 30 == 0 {
                hits.sort_by(|a: &Hit, b: &Hit| a.distance.total_cmp(&b.distance));
                for h in hits.iter().take(TOLD) {
                    black_box(design(&spec(h.wire, h.layers, h.width)).expect("a coil that was found is a coil"));
                }
                answers.push(began.elapsed().as_secs_f64());
            }
        }
        let found: Vec<Value> = hits.iter().map(|h| json!([h.wire, h.layers, h.first])).collect();
        told.push(json!({
            "target": { "outside_m": former.outside, "bore_m": bounds.bore, "min_outer_m": bounds.min_outer, "dcr_ohm": dcr,
                "tolerance": tolerance, "width_min_m": bounds.width_min, "width_max_m": bounds.width_max },
            "wires": frames.iter().map(numbers).collect::<Vec<_>>(),
            "combinations": searched.combinations, "candidates": searched.candidates, "found": found,
            "search_s": middle(&mut times), "answer_s": middle(&mut answers),
        }));
    }
    println!("{}", json!(told));
}

fn mm(x: f64) -> Measured<Length> {
    Measured::certain(Length::from_mm(x))
}

fn numbers(w: &WireFrame) -> [f64; 13] {
    [
        w.overall,
        w.pitch,
        w.step,
        w.ohm_per_m,
        w.excess,
        w.kg_per_m,
        w.shrink,
        w.leads,
        w.less,
        w.glue,
        w.skin,
        w.over,
        w.adhesive,
    ]
}

fn middle(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times.get(times.len() / 2).copied().unwrap_or(f64::NAN)
}
