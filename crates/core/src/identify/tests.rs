use super::seen::{Measure, Sample, Seen, Turns, Wound};
use super::*;
use crate::conductor::Conductor;
use crate::measured::Measured;
use crate::quantity::{LinearResistance, Mass, Resistance};
use crate::wire::{Limits, WireFigures};

/// Name, metal, bare, its limit, least and greatest overall, all in mm.
type Row = (&'static str, Conductor, f64, f64, f64, f64);

/// The fifteen candidates of a worked case (regression values: the arithmetic was done by another script).
#[rustfmt::skip]
const FIFTEEN: [Row; 15] = [
    ("28 single", Conductor::Copper, 0.32004, 0.00254, 0.33782, 0.35560),
    ("29 single", Conductor::Copper, 0.28702, 0.00254, 0.30226, 0.32004),
    ("30 single", Conductor::Copper, 0.25400, 0.00254, 0.26924, 0.28448),
    ("31 single", Conductor::Copper, 0.22606, 0.00254, 0.23876, 0.25400),
    ("32 single", Conductor::Copper, 0.20320, 0.00254, 0.21590, 0.23114),
    ("29 heavy", Conductor::Copper, 0.28702, 0.00254, 0.3226, 0.3378),
    ("30 heavy", Conductor::Copper, 0.25400, 0.00254, 0.2870, 0.3023),
    ("31 heavy", Conductor::Copper, 0.22606, 0.00254, 0.2565, 0.2743),
    ("0.224", Conductor::Copper, 0.224, 0.003, 0.239, 0.252),
    ("0.236", Conductor::Copper, 0.236, 0.004, 0.253, 0.267),
    ("0.250 grade 1", Conductor::Copper, 0.250, 0.004, 0.267, 0.281),
    ("0.265", Conductor::Copper, 0.265, 0.004, 0.282, 0.297),
    ("0.280", Conductor::Copper, 0.280, 0.004, 0.298, 0.312),
    ("0.250 grade 2", Conductor::Copper, 0.250, 0.004, 0.282, 0.297),
    ("aluminium 0.250", Conductor::Aluminium, 0.250, 0.004, 0.267, 0.281),
];

/// Limits of the bare diameter are limit/√3, the metric sizes have 58.5 MS/m, the mass follows the diameters.
fn wire(row: &Row) -> Wire {
    let (name, conductor, bare, limit, least, greatest) = *row;
    let mm = Length::from_mm;
    let metric = !name.contains("single") && !name.contains("heavy") && conductor == Conductor::Copper;
    Wire::new(WireFigures {
        conductor,
        bare: Measured::certain(mm(bare)),
        bare_limits: Some(Limits { min: mm(bare - limit), max: mm(bare + limit) }),
        overall: Measured::certain(mm(0.5 * (least + greatest))),
        overall_limits: Some(Limits { min: mm(least), max: mm(greatest) }),
        ohm_per_m: metric.then(|| {
            Measured::certain(LinearResistance::from_ohm_per_m(
                1.0 / 58.5 / (core::f64::consts::FRAC_PI_4 * bare * bare),
            ))
        }),
        ohm_per_m_limits: None,
        g_per_m: None,
    })
    .unwrap()
}

fn mm(value: f64, u: f64) -> Option<Measured<Length>> {
    Some(Measured::new(Length::from_mm(value), Length::from_mm(u)))
}

/// What was seen after each of the five stages.
fn stage(n: usize) -> Seen {
    let ohm = |value, u| Some(Measured::new(Resistance::from_ohm(value), Resistance::from_ohm(u)));
    let mut seen = Seen { overall: mm(0.279, 0.0067), ..Seen::default() };
    if n >= 2 {
        seen.bare = mm(0.253, 0.003);
    }
    if n >= 3 {
        seen.pitch = mm(0.2817, 0.004);
        // 0.0067 g/m on 1.5 m, all of it put on the mass.
        seen.sample = Sample {
            length: Some(Measured::certain(Length::from_m(1.5))),
            mass: Some(Measured::new(Mass::from_g(0.7005), Mass::from_g(0.0067 * 1.5))),
            ..Sample::default()
        };
    }
    let three_metres = Some(Measured::certain(Length::from_m(3.0)));
    if n == 4 {
        seen.sample.ohm = ohm(1.22 - 0.21, 0.099);
        seen.sample.ohm_length = three_metres;
    }
    if n == 5 {
        seen.sample.ohm = ohm(1.021, 0.0102);
        seen.sample.ohm_length = three_metres;
    }
    seen
}

fn run(seen: &Seen, none: f64) -> Vec<(&'static str, f64)> {
    let wires: Vec<Wire> = FIFTEEN.iter().map(wire).collect();
    let all: Vec<Candidate> = wires.iter().map(|wire| Candidate { wire, weight: 1.0 }).collect();
    let found = identify(seen, &all, none, &Assumed::default(), &[]).unwrap();
    found.ranked.iter().map(|r| (FIFTEEN[r.candidate].0, r.probability)).collect()
}

#[track_caller]
fn prints(met: &[(&str, f64)], wanted: &[(&str, f64)]) {
    for (name, printed) in wanted {
        let p = met.iter().find(|m| m.0 == *name).unwrap().1;
        assert!((p - printed).abs() <= 0.0005 + 1e-9, "{name}: {p:.4}, printed {printed}");
    }
}

#[test]
fn a_burnt_sample_is_told_in_five_stages() {
    prints(&run(&stage(1), 0.0), &[("30 single", 0.244), ("0.250 grade 1", 0.212), ("aluminium 0.250", 0.212)]);
    prints(&run(&stage(2), 0.0), &[("30 single", 0.382), ("0.250 grade 1", 0.223), ("aluminium 0.250", 0.223)]);
    let three = run(&stage(3), 0.0);
    prints(
        &three,
        &[
            ("30 single", 0.743),
            ("0.250 grade 1", 0.163),
            ("0.250 grade 2", 0.066),
            ("30 heavy", 0.028),
            ("aluminium 0.250", 0.0),
        ],
    );
    prints(&run(&stage(4), 0.0), &[("30 single", 0.745)]);
    prints(
        &run(&stage(5), 0.0),
        &[("30 single", 0.768), ("0.250 grade 1", 0.148), ("0.250 grade 2", 0.056), ("30 heavy", 0.029)],
    );
}

/// "If it is 0.250 instead: DCR + 2.3 %" of the same case; 0.274 − 0.27685 mm over the enamel is arithmetic.
#[test]
fn being_wrong_costs_what_the_other_wire_has_more() {
    let [awg30, metric] = [&FIFTEEN[2], &FIFTEEN[10]].map(wire);
    let other = if_other(&awg30, &metric);
    assert!((100.0 * other.dcr - 2.3).abs() < 0.05, "{other:?}");
    assert!((other.overall.um() - -2.85).abs() < 0.01, "{other:?}");
    let back = if_other(&metric, &awg30);
    assert!(((1.0 + other.dcr) * (1.0 + back.dcr) - 1.0).abs() < 1e-12);
}

/// Mass or four-wire resistance tells copper from aluminium, another diameter does not: what the trade knows.
#[test]
fn the_next_measurement_is_one_that_tells_the_metals_apart() {
    let wires: Vec<Wire> = FIFTEEN.iter().map(wire).collect();
    let all: Vec<Candidate> = wires.iter().map(|wire| Candidate { wire, weight: 1.0 }).collect();
    let tool = |name: &str, measure, u, u_share| next::Instrument { name: name.to_owned(), measure, u, u_share };
    let tools = [
        tool("bare", Measure::Bare, 3e-6, 0.0),
        tool("pitch", Measure::Pitch, 4e-6, 0.0),
        tool("mass", Measure::Mass, 1e-5, 0.0),
        tool("two_wire", Measure::Ohm, 0.1, 0.0),
        tool("four_wire", Measure::Ohm, 0.0, 0.01),
        tool("coil", Measure::CoilOhm, 0.05, 0.0),
    ];
    let ask = |seen: &Seen| identify(seen, &all, 0.0, &Assumed::default(), &tools).unwrap();
    let order =
        |found: &Identified| -> Vec<String> { found.next.iter().map(|g| tools[g.instrument].name.clone()).collect() };
    let found = ask(&stage(1));
    let names = order(&found);
    assert_eq!(names.len(), 5, "no coil was described: {names:?}");
    assert_eq!(&names[..2], ["four_wire", "mass"], "{:?}", found.next);
    let doubt: f64 =
        found.ranked.iter().filter(|r| r.probability > 0.0).map(|r| -r.probability * r.probability.log2()).sum();
    assert!(found.next.iter().all(|g| g.bits >= 0.0 && g.bits <= doubt), "{doubt} {:?}", found.next);
    // A reading within twice the instrument's doubt is not asked for again; one made badly is.
    assert_eq!(order(&ask(&stage(4))), ["four_wire"]);
}

#[test]
fn a_metal_that_diameters_do_not_tell_is_said_so() {
    let codes = |seen: &Seen| -> Vec<String> {
        let wires: Vec<Wire> = FIFTEEN.iter().map(wire).collect();
        let all: Vec<Candidate> = wires.iter().map(|wire| Candidate { wire, weight: 1.0 }).collect();
        identify(seen, &all, 0.05, &Assumed::default(), &[]).unwrap().findings.into_iter().map(|f| f.code).collect()
    };
    assert_eq!(codes(&stage(2)), ["metal_not_told"]);
    assert_eq!(codes(&Seen { rated: Some(Resistance::from_ohm(8.0)), ..stage(3) }), ["rated_not_used"]);
    assert_eq!(codes(&stage(3)), Vec::<&str>::new());
    let mut far = stage(3);
    far.overall = mm(0.9, 0.003);
    assert_eq!(codes(&far), ["excludes_everything", "fits_no_candidate", "none_of_these"]);
    // Bare of AWG 32 in an overall of AWG 28: each is somewhere, both are nowhere.
    let mut odd = stage(2);
    odd.overall = mm(0.347, 0.003);
    odd.bare = mm(0.2032, 0.003);
    let said = codes(&odd);
    assert!(
        said.iter().any(|c| c == "observations_contradict") && !said.iter().any(|c| c == "fits_no_candidate"),
        "{said:?}"
    );
}

#[test]
fn none_of_them_takes_over_where_nothing_fits() {
    let wires: Vec<Wire> = FIFTEEN.iter().map(wire).collect();
    let all: Vec<Candidate> = wires.iter().map(|wire| Candidate { wire, weight: 1.0 }).collect();
    let mut far = stage(3);
    far.overall = mm(0.9, 0.003);
    assert!(identify(&far, &all, 0.05, &Assumed::default(), &[]).unwrap().none > 0.999);
    let near = identify(&stage(5), &all, 0.05, &Assumed::default(), &[]).unwrap();
    assert!(near.none < 1e-3, "{}", near.none);
    let sum: f64 = near.ranked.iter().map(|r| r.probability).sum::<f64>() + near.none;
    assert!((sum - 1.0).abs() < 1e-12);
}

/// The coil of the worked cases: 51 mm, two layers of AWG 30, 52 and 51 turns, 5.799 Ω (regression value of another script).
#[test]
fn a_whole_coil_tells_the_metal() {
    let would_show =
        |row: &Row, seen: &Seen| forward::predict(&wire(row), seen, &Assumed::default(), &[Measure::CoilOhm]).value(0);
    let copper = would_show(&FIFTEEN[2], &coil(None));
    assert!((copper - 5.799).abs() < 0.0005, "{copper}");
    let met = run(&coil(Some(copper)), 0.0);
    assert_eq!(met[0].0, "30 single");
    assert!(met.iter().find(|m| m.0 == "aluminium 0.250").unwrap().1 < 1e-6, "{met:?}");
    let rated = Seen { rated: Some(Resistance::from_ohm(8.0)), ..coil(None) };
    let met = run(&rated, 0.0);
    assert!(met[0].1 < 0.5, "a rating says little: {met:?}");
}

/// Where nobody counted, the width says how many turns of each wire there are: 15.00 mm hold 52.14 of this one, cut off
/// anywhere, so the resistance is the counted coil's within one turn of 52.
#[test]
fn turns_that_nobody_counted_follow_from_the_width() {
    let mut seen = coil(None);
    if let Some(c) = &mut seen.coil {
        c.turns = Turns::Filling(2);
        c.width = mm(15.0, 0.05);
    }
    let p = forward::predict(&wire(&FIFTEEN[2]), &seen, &Assumed::default(), &[Measure::CoilOhm]);
    assert!((p.value(0) / 5.799 - 1.0).abs() < 1.0 / 52.0, "{}", p.value(0));
    // Pitch 2 %, which the count divides by; last turn 0.29 of 52; ρ 0.5 %; diameters: between 2 and 4 % in all.
    assert!((0.02..0.04).contains(&(p.u(0) / p.value(0))), "{}", p.u(0));
    assert!(seen.observations().is_empty(), "the width is part of the description");
}

fn coil(ohm: Option<f64>) -> Seen {
    Seen {
        coil: Some(Wound {
            inside: Measured::certain(Length::from_mm(51.0)),
            wall: Measured::certain(Length::from_mm(0.12)),
            turns: Turns::Counted(vec![52, 51]),
            width: None,
            leads: Measured::certain(Length::from_m(0.12)),
            ohm: ohm.map(|r| Measured::new(Resistance::from_ohm(r), Resistance::from_ohm(0.03))),
            temperature: None,
        }),
        ..Seen::default()
    }
}

#[test]
fn nothing_seen_and_no_candidates_are_no_question() {
    let w = wire(&FIFTEEN[0]);
    let one = [Candidate { wire: &w, weight: 1.0 }];
    assert_eq!(identify(&Seen::default(), &one, 0.05, &Assumed::default(), &[]), Err(IdentifyError::NothingSeen));
    assert_eq!(identify(&stage(1), &[], 0.05, &Assumed::default(), &[]), Err(IdentifyError::NoCandidates));
    assert_eq!(
        identify(&stage(1), &[Candidate { wire: &w, weight: 0.0 }], 0.05, &Assumed::default(), &[]),
        Err(IdentifyError::NoCandidates)
    );
}
