//! Laws that hold for any coil: what a thicker wire does, how figures scale with size, units there and back. Every failure
//! prints its seed.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_core::coil::lay::Lay;
use coilwright_core::coil::spec::{AssumeSpec, CoilSpec, Gap, UpperLayers, Winding};
use coilwright_core::coil::{Design, design};
use coilwright_core::conductor::Conductor;
use coilwright_core::dice::Dice;
use coilwright_core::former::{Former, FormerMaterial, Particulars};
use coilwright_core::heat::{self, heat};
use coilwright_core::inductance::{thick_coil, thin_coil};
use coilwright_core::measured::Measured;
use coilwright_core::meter::Meter;
use coilwright_core::quantity::{Density, Length, Resistance, Temperature};
use coilwright_core::trim::{self, Exit, trim};
use coilwright_core::typed::{Kind, parse};
use coilwright_core::wire::{Standing, Wire, WireFigures};

const SEEDS: u64 = 300;

fn mm(x: f64) -> Measured<Length> {
    Measured::certain(Length::from_mm(x))
}

/// A coil by its dimensions in millimetres; everything assumed is a length or a ratio, so that it scales with them.
#[derive(Debug, Clone, Copy)]
struct Coil {
    metal: Conductor,
    bare: f64,
    overall: f64,
    inside: f64,
    wall: f64,
    first: u32,
    layers: u32,
    nesting: f64,
    leads_m: f64,
}

impl Coil {
    fn random(seed: u64) -> Coil {
        let mut dice = Dice::new(seed);
        let mut from = |low: f64, high: f64| low + (high - low) * dice.unit();
        let bare = from(0.06, 0.6);
        Coil {
            metal: Conductor::ALL[from(0.0, 4.0) as usize],
            bare,
            overall: bare * from(1.04, 1.25),
            inside: from(19.0, 100.0),
            wall: from(0.05, 0.25),
            first: from(10.0, 120.0) as u32,
            layers: from(1.0, 6.99) as u32,
            nesting: from(0.87, 1.0),
            leads_m: from(0.0, 0.3),
        }
    }

    /// The same coil `s` times as large in every direction.
    fn scaled(self, s: f64) -> Coil {
        Coil {
            bare: s * self.bare,
            overall: s * self.overall,
            inside: s * self.inside,
            wall: s * self.wall,
            leads_m: s * self.leads_m,
            ..self
        }
    }

    fn spec(self, size: f64) -> CoilSpec {
        let wire = Wire::new(WireFigures {
            conductor: self.metal,
            bare: mm(self.bare),
            bare_limits: None,
            overall: mm(self.overall),
            overall_limits: None,
            ohm_per_m: None,
            ohm_per_m_limits: None,
            g_per_m: None,
        });
        CoilSpec {
            wire: wire.unwrap(),
            standing: Standing::Inline,
            former: Former {
                material: FormerMaterial {
                    density: Measured::certain(Density::from_g_per_cm3(2.7)),
                    resistivity: None,
                    heat_limit: None,
                    expansion_per_k: None,
                },
                inside_diameter: mm(self.inside),
                wall: mm(self.wall),
                height: Some(mm(size * 40.0)),
                slit: Length::ZERO,
                shims: Length::ZERO,
                particulars: Particulars::default(),
            },
            winding: Winding {
                layers: self.layers,
                width: None,
                turns_per_layer: Some(vec![self.first; self.layers as usize]),
                lay: Lay::default(),
            },
            leads: Some(Measured::certain(Length::from_m(self.leads_m))),
            tails: Some(Measured::certain(Length::from_m(size * 0.4))),
            threading: Some(Measured::certain(Length::from_m(size * 0.6))),
            gap: Some(Gap {
                pole: Some(mm(self.inside - size * 0.4)),
                bore: Some(mm(self.inside + size * 10.0)),
                plate: Some(mm(size * 8.0)),
                min_inner: None,
                min_outer: None,
            }),
            target: None,
            bench: None,
            hot: None,
            offset: None,
            assume: AssumeSpec {
                nesting: Some(Measured::certain(self.nesting)),
                glue: Some(mm(size * 0.01)),
                skin: Some(mm(size * 0.02)),
                upper_layers: Some(UpperLayers::Equal),
                ..AssumeSpec::default()
            },
        }
    }

    fn design(self) -> Design {
        design(&self.spec(1.0)).unwrap_or_else(|e| panic!("{self:?}: {e}"))
    }
}

#[track_caller]
fn close(seed: u64, what: &str, met: f64, wanted: f64) {
    assert!((met - wanted).abs() <= 1e-10 * wanted.abs().max(1e-12), "seed {seed}, {what}: {met}, not {wanted}");
}

/// In `s` times the size with the same counts: lengths s, resistance 1/s (s of length, s² of section), masses s³,
/// inductance s.
#[test]
fn a_coil_of_another_size_follows_the_powers_of_the_size() {
    for seed in 1..=SEEDS {
        let (coil, s) = (Coil::random(seed), 0.7 + 0.8 * Dice::new(seed + 1000).unit());
        let (one, other) = (coil.design(), design(&coil.scaled(s).spec(s)).unwrap());
        let m = |l: Measured<Length>| l.value.m();
        for (what, small, large) in [
            ("length", m(one.length), m(other.length)),
            ("need", m(one.need), m(other.need)),
            ("draw", m(one.draw), m(other.draw)),
            ("pitch", m(one.pitch), m(other.pitch)),
            ("base", m(one.base_diameter), m(other.base_diameter)),
            ("nested", m(one.outside_nested), m(other.outside_nested)),
            ("cross-over", m(one.outside_crossover), m(other.outside_crossover)),
            ("overhang", m(one.overhang.unwrap()), m(other.overhang.unwrap())),
        ] {
            close(seed, what, large, s * small);
        }
        close(seed, "resistance", other.dcr.value.ohm(), one.dcr.value.ohm() / s);
        close(seed, "turn", other.turn.value.ohm(), one.turn.value.ohm() / s);
        close(seed, "wire", other.mass.wire.value.g(), s.powi(3) * one.mass.wire.value.g());
        close(seed, "metal", other.mass.conductor.value.g(), s.powi(3) * one.mass.conductor.value.g());
        close(seed, "former", other.mass.former.unwrap().value.g(), s.powi(3) * one.mass.former.unwrap().value.g());
        close(seed, "adhesive", other.mass.adhesive.value.g(), s.powi(3) * one.mass.adhesive.value.g());
        close(seed, "inductance", other.inductance_air.value.h(), s * one.inductance_air.value.h());
        close(seed, "tension", other.tension.layers[0].g(), s * s * one.tension.layers[0].g());
    }
}

/// Thicker metal under the same enamel: less resistance, more mass, the same place in the gap. Thicker enamel over the same
/// metal: more room taken, more wire, more resistance, and never more turns in a width.
#[test]
fn a_thicker_wire_resists_less_and_takes_more_room() {
    for seed in 1..=SEEDS {
        let coil = Coil::random(seed);
        let thin = coil.design();
        let metal = Coil { bare: coil.bare * 1.03, ..coil }.design();
        assert!(metal.dcr.value < thin.dcr.value && metal.turn.value < thin.turn.value, "seed {seed}");
        assert!(metal.mass.conductor.value.g() > thin.mass.conductor.value.g(), "seed {seed}");
        assert_eq!(metal.clearance_outer, thin.clearance_outer, "seed {seed}");
        let thick = Coil { overall: coil.overall * 1.05, ..coil };
        let enamel = thick.design();
        assert!(enamel.outside_crossover.value > thin.outside_crossover.value, "seed {seed}");
        assert!(enamel.clearance_outer.unwrap().value < thin.clearance_outer.unwrap().value, "seed {seed}");
        assert!(enamel.length.value > thin.length.value && enamel.dcr.value > thin.dcr.value, "seed {seed}");
        let filled = |c: Coil| {
            let mut spec = c.spec(1.0);
            spec.winding.turns_per_layer = None;
            spec.winding.width = Some(mm(30.0 * coil.overall));
            design(&spec).unwrap().turns
        };
        assert!(filled(thick) <= filled(coil), "seed {seed}");
    }
}

/// One layer more lies outside those below: it takes more wire than any of them; one turn more adds resistance.
#[test]
fn every_layer_and_every_turn_adds() {
    for seed in 1..=SEEDS {
        let coil = Coil { layers: 3, ..Coil::random(seed) };
        let [two, three, four] = [2, 3, 4].map(|layers| Coil { layers, ..coil }.design().length.value.m());
        assert!(four - three > three - two && three - two > two / 2.0, "seed {seed}");
        let more = Coil { first: coil.first + 1, ..coil }.design();
        assert!(more.dcr.value > coil.design().dcr.value, "seed {seed}");
        assert!(more.inductance_air.value.h() > coil.design().inductance_air.value.h(), "seed {seed}");
    }
}

/// L goes with N² and with the size; a thick coil thinned out tends to the current sheet.
#[test]
fn inductance_goes_with_the_square_of_the_turns_and_the_size() {
    for seed in 1..=40 {
        let mut dice = Dice::new(seed);
        let (r, c, h) = (10e-3 + 40e-3 * dice.unit(), 0.2e-3 + 2e-3 * dice.unit(), 5e-3 + 20e-3 * dice.unit());
        let one = thick_coil(50.0, r, r + c, h, 12);
        close(seed, "turns", thick_coil(150.0, r, r + c, h, 12), 9.0 * one);
        close(seed, "size", thick_coil(50.0, 2.0 * r, 2.0 * (r + c), 2.0 * h, 12), 2.0 * one);
        let thin = thick_coil(50.0, r, r + 1e-7, h, 24);
        assert!((thin / thin_coil(50.0, r, h) - 1.0).abs() < 1e-4, "seed {seed}: {thin}");
        assert!(one < thin_coil(50.0, r + c, h), "seed {seed}");
    }
}

/// While turns come off, value and reading fall together, by less a turn as smaller layers are reached, and whole turns
/// keep the side.
#[test]
fn every_half_turn_unwound_lowers_the_coil() {
    for seed in 1..=SEEDS {
        let coil = Coil { first: 12 + (seed % 20) as u32, ..Coil::random(seed) };
        let spec = coil.spec(1.0);
        let planned = design(&spec).unwrap();
        let mut dice = Dice::new(seed + 5000);
        let dcr = planned.dcr.value.ohm() * (0.98 + 0.05 * dice.unit());
        let t = trim(&trim::Question {
            wire: &spec.wire,
            design: &planned,
            reading: Resistance::from_ohm(dcr + 0.2),
            test_leads: Measured::certain(Resistance::from_ohm(0.2)),
            temperature: Measured::certain(Temperature::from_c(20.0)),
            target: Resistance::from_ohm(dcr * (0.85 + 0.14 * dice.unit())),
            tolerance: Resistance::from_ohm(0.02 * dcr),
            meter: Meter::Class { share: 1e-5, digits: 0.0, resolution: Resistance::from_ohm(1e-6) },
        })
        .unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        for pair in t.steps.windows(2) {
            let fall = (pair[0].dcr.value - pair[1].dcr.value).ohm();
            let shown = (pair[0].reading.value - pair[1].reading.value).ohm();
            assert!(fall > 0.0 && (shown / fall - 1.0).abs() < 1e-9, "seed {seed}: {pair:?}");
            assert!(
                fall <= 0.5 * t.turn.value.ohm() * (1.0 + 1e-9),
                "seed {seed}: no turn is longer than an outer one"
            );
            assert_ne!(pair[0].exit, pair[1].exit, "seed {seed}");
            assert!(pair[1].width_lost >= pair[0].width_lost || pair[1].layer < pair[0].layer, "seed {seed}");
        }
        let whole = |s: &&trim::Step| s.turns.fract() == 0.0;
        assert!(t.steps.iter().filter(whole).all(|s| s.exit == Exit::Same), "seed {seed}");
    }
}

/// A hotter reading is a hotter coil that has lost more; cold as it was, it has lost nothing.
#[test]
fn more_resistance_is_more_heat_and_more_loss() {
    for seed in 1..=SEEDS {
        let mut dice = Dice::new(seed);
        let (cold, at) = (0.5 + 20.0 * dice.unit(), 10.0 + 20.0 * dice.unit());
        let metal = Conductor::ALL[(4.0 * dice.unit()) as usize];
        let of = |ratio: f64| {
            let h = heat(&heat::Question {
                cold: Measured::certain(Resistance::from_ohm(cold)),
                cold_at: Measured::certain(Temperature::from_c(at)),
                hot: Some(Measured::certain(Resistance::from_ohm(cold * ratio))),
                test_leads: Measured::certain(Resistance::ZERO),
                conductor: metal,
                limits: Vec::new(),
            });
            (h.temperature.unwrap().value.c(), h.db_lost.unwrap().value)
        };
        let (still, lost) = of(1.0);
        assert!((still - at).abs() < 1e-9 && lost.abs() < 1e-12, "seed {seed}");
        let (warm, hot) = (of(1.2), of(1.5));
        assert!(warm.0 > at && hot.0 > warm.0 && hot.1 > warm.1 && warm.1 > 0.0, "seed {seed}");
    }
}

/// Every unit of every kind, there and back: what is read in one unit and written in it again is the same number, and a
/// number in any unit is as many of it as one is. Gauges are no factor and degrees have a zero of their own.
#[test]
fn units_lead_there_and_back() {
    let kinds = [
        Kind::Length,
        Kind::Mass,
        Kind::Resistance,
        Kind::Temperature,
        Kind::Ratio,
        Kind::Duration,
        Kind::LinearResistance,
        Kind::LinearMass,
        Kind::Force,
        Kind::Inductance,
        Kind::Frequency,
        Kind::ForceFactor,
        Kind::Area,
    ];
    let mut seen = 0;
    for (k, kind) in kinds.into_iter().enumerate() {
        for unit in kind.units().filter(|unit| *unit != "AWG") {
            let si = |x: f64| {
                let text = format!("{x} {unit}");
                parse(&text, kind).unwrap_or_else(|e| panic!("{text}: {e}")).si
            };
            let (zero, one) = (si(0.0), si(1.0) - si(0.0));
            for seed in 1..=50 {
                let mut dice = Dice::new(seed + 100 * k as u64);
                // Nine digits of any size people write.
                let x = (dice.unit() * 1e9).round() * 10f64.powi((dice.unit() * 6.0) as i32 - 9);
                let there = si(x);
                assert!((there - (zero + x * one)).abs() <= 1e-13 * there.abs().max(one), "seed {seed}: {x} {unit}");
                let back = (there - zero) / one;
                assert!((back - x).abs() <= 1e-12 * x.max(1.0), "seed {seed}: {x} {unit} came back as {back}");
                let read = parse(&format!("{x} {unit}"), kind).unwrap();
                assert_eq!((read.number, read.unit), (x, unit), "seed {seed}");
            }
            seen += 1;
        }
    }
    assert!(seen >= 40, "{seen} units");
}
