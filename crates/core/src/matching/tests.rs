//! Complete against trial of every count, sound against a coil's own design, and what the laws of scale demand.

use super::*;
use crate::coil::figures::{AsIs, Figures, Fixed, Shape, Spacing, figures};
use crate::coil::laid::Laid;
use crate::driver::DriverData;
use crate::sound::Part;
use core::f64::consts::FRAC_PI_4;

/// Numbers that look random and are the same everywhere: a 64-bit linear congruence, its high bits.
/// Source of the constants: Knuth's MMIX (from memory).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.roll()
    }
    fn below(&mut self, n: usize) -> usize {
        ((self.roll() * n as f64) as usize).min(n - 1)
    }
}

/// A copper wire of this bare diameter, m.
fn wire(dice: &mut Dice, bare: f64) -> WireFrame {
    let overall = bare * dice.within(1.05, 1.14);
    WireFrame {
        overall,
        pitch: overall * dice.within(1.0, 1.04),
        step: overall * dice.within(0.87, 1.0),
        ohm_per_m: 1.0 / 58e6 / (FRAC_PI_4 * bare * bare),
        excess: 1.01,
        kg_per_m: FRAC_PI_4 * (8890.0 * bare * bare + 1350.0 * (overall * overall - bare * bare)),
        shrink: 1.0 / 1.002,
        leads: dice.within(0.0, 0.2),
        less: if dice.roll() < 0.7 { 1.0 } else { 0.0 },
        glue: 0.01e-3,
        skin: 0.02e-3,
        over: 0.02e-3,
        adhesive: 1150.0,
    }
}

fn wires(dice: &mut Dice, n: usize) -> Vec<WireFrame> {
    (0..n)
        .map(|_| {
            let bare = 0.10e-3 * libm::pow(5.0, dice.roll());
            wire(dice, bare)
        })
        .collect()
}

/// A target that some wires meet and most do not.
fn target(dice: &mut Dice) -> (Vec<FormerFrame>, Bounds) {
    let inside = dice.within(19e-3, 76e-3);
    let formers = (0..1 + dice.below(2))
        .map(|_| FormerFrame {
            outside: inside + 2.0 * dice.within(0.05e-3, 0.2e-3),
            mass: dice.within(0.2e-3, 2e-3),
            damping: Some(0.0),
        })
        .collect();
    let width_min = dice.within(4e-3, 16e-3);
    let bounds = Bounds {
        target: Target { dcr: dice.within(2.5, 14.0), tolerance: dice.within(0.005, 0.06) },
        bore: (dice.roll() < 0.9).then(|| inside + dice.within(1.0e-3, 4.0e-3)),
        min_outer: dice.within(0.1e-3, 0.4e-3),
        width_min,
        width_max: width_min + dice.within(0.0, 6e-3),
        layers: 0b111_1110,
        mass_max: if dice.roll() < 0.3 { dice.within(1e-3, 20e-3) } else { f64::INFINITY },
    };
    (formers, bounds)
}

/// Figures by the formulas that a coil's design uses, from the same numbers.
fn designed(w: &WireFrame, f: &FormerFrame, layers: u32, first: u32, width: f64) -> (Figures, f64) {
    let mut turns = vec![first];
    turns.resize(layers as usize, first - w.less as u32);
    let bare = libm::sqrt(1.0 / 58e6 / (FRAC_PI_4 * w.ohm_per_m));
    let made = crate::wire::Wire::new(crate::wire::WireFigures {
        conductor: crate::conductor::Conductor::Copper,
        bare: crate::measured::Measured::certain(crate::quantity::Length::from_m(bare)),
        bare_limits: None,
        overall: crate::measured::Measured::certain(crate::quantity::Length::from_m(w.overall)),
        overall_limits: None,
        ohm_per_m: None,
        ohm_per_m_limits: None,
        g_per_m: None,
    });
    let made = made.unwrap();
    let shape = Shape {
        inside: f.outside - 0.2e-3,
        wall: 0.1e-3,
        glue: w.glue,
        skin: w.skin,
        wrap: w.over - w.skin,
        bare,
        overall: w.overall,
        resistance_factor: 1.0,
        mass_factor: 1.0,
        pitch_factor: w.pitch / w.overall,
        nesting: w.step / w.overall,
        resistance_excess: w.excess - 1.0,
        elongation: 1.0 / w.shrink - 1.0,
        leads: w.leads,
        tails: 0.4,
        threading: 0.6,
        width,
        pole: 0.0,
        bore: 0.0,
        plate: 0.0,
        height: 0.0,
        former_density: 0.0,
        adhesive_factor: 1.0,
        space: 0.0,
        paper: 0.0,
        under_bond: 0.0,
        bond_density: 0.0,
        axial: 0.0,
        former_outside: 0.0,
    };
    let fixed = Fixed {
        wire: &made,
        turns: &turns,
        spacing: Spacing::WidthFilled,
        slit: 0.0,
        adhesive_density: w.adhesive,
        bench_ratio: 1.0,
        hot_growth: 0.0,
        laid: &Laid::plain(turns.len()),
        as_is: AsIs::PLAIN,
    };
    let got = figures(shape, fixed);
    (got, got.wire_mass + got.adhesive_mass + f.mass)
}

/// Whether a coil meets the bounds by the figures of a design.
fn meets(b: &Bounds, figures: &Figures, mass: f64) -> bool {
    let fits = b.bore.is_none_or(|bore| (bore - figures.outside_crossover) / 2.0 >= b.min_outer - 1e-9);
    fits && (figures.dcr / b.target.dcr - 1.0).abs() <= b.target.tolerance * (1.0 + 1e-9) && mass <= b.mass_max
}

/// 200 random targets, each by trial of widths a fifth of a pitch apart on every wire, former and layer count, with the
/// turns counted and the figures computed as a coil's design does. Every coil so found is among the answers, and every
/// answer keeps to the bounds.
#[test]
fn nothing_is_missed_that_trial_of_every_width_finds() {
    let seed = 20_261_125;
    println!("seed {seed}");
    let mut dice = Dice(seed);
    let (mut met, mut tried, mut with_some) = (0, 0, 0);
    for round in 0..200 {
        let list = wires(&mut dice, 6);
        let (formers, b) = target(&mut dice);
        let mut hits = Vec::new();
        let mut near = Nearest::new(5);
        let searched = search(&list, &formers, &b, None, |h| hits.push(h), &mut near);
        assert_eq!(searched.feasible as usize, hits.len());
        for h in &hits {
            let (w, f) = (&list[h.wire], &formers[h.former]);
            let (got, mass) = designed(w, f, h.layers, h.first, h.width);
            assert!(meets(&b, &got, mass), "round {round}: {h:?} does not keep to {b:?}");
            assert!((got.dcr / h.dcr - 1.0).abs() < 1e-12 && (mass / h.mass - 1.0).abs() < 1e-12, "{h:?}");
            assert!(
                h.width >= b.width_min - 1e-12
                    && h.width <= h.width_most + 1e-12
                    && h.width_most <= b.width_max + 1e-12
            );
        }
        for (wire_at, w) in list.iter().enumerate() {
            for (former_at, f) in formers.iter().enumerate() {
                for layers in 1..=6 {
                    let mut width = b.width_min;
                    let mut last = 0;
                    while width <= b.width_max {
                        let first = libm::floor((width - w.overall) / w.pitch + 1e-9) as u32;
                        if first != last && first > w.less as u32 {
                            tried += 1;
                            let (got, mass) = designed(w, f, layers, first, width);
                            if meets(&b, &got, mass) {
                                met += 1;
                                let found = hits.iter().any(|h| {
                                    (h.wire, h.former, h.layers, h.first) == (wire_at, former_at, layers, first)
                                        && h.width <= width + 1e-12
                                });
                                assert!(
                                    found,
                                    "round {round}: {layers} layers of wire {wire_at}, {first} turns missed"
                                );
                            }
                        }
                        last = first;
                        width += 0.2 * w.pitch;
                    }
                }
            }
        }
        with_some += usize::from(!hits.is_empty());
    }
    println!("{tried} coils tried, {met} meet their target, {with_some} targets of 200 can be met");
    assert!(met > 200 && with_some > 60, "the targets must be neither all hopeless nor few: {met}, {with_some}");
}

/// The counts tell how many coils a trial of each would have tried.
#[test]
fn what_was_searched_is_counted() {
    let mut dice = Dice(7);
    let list = wires(&mut dice, 10);
    let (formers, b) = target(&mut dice);
    let searched = search(&list, &formers, &b, None, |_| {}, &mut Nearest::new(0));
    assert_eq!(searched.combinations, 10 * 6 * formers.len() as u64);
    let mut tried = 0;
    for w in &list {
        for layers in 1..=6 {
            for first in 1..2000u32 {
                let row = Row::bare(w, &formers[0]).with_layers(layers);
                let n = f64::from(first);
                let fits =
                    row.width(n) <= b.width_max + 1e-9 * w.pitch && row.width(n + 1.0) > b.width_min + 1e-9 * w.pitch;
                tried += u64::from(fits && n >= row.fewest());
            }
        }
    }
    assert_eq!(searched.candidates, tried * formers.len() as u64);
}

/// The nearest misses are those that a full list, sorted, has at its head.
#[test]
fn the_nearest_misses_are_the_nearest_of_all() {
    let mut dice = Dice(11);
    for _ in 0..30 {
        let list = wires(&mut dice, 20);
        let (formers, b) = target(&mut dice);
        let (mut few, mut all) = (Nearest::new(4), Nearest::new(100_000));
        search(&list, &formers, &b, None, |_| {}, &mut few);
        search(&list, &formers, &b, None, |_| {}, &mut all);
        assert_eq!(few.all(), &all.all()[..4.min(all.all().len())]);
        for m in all.all() {
            assert!(m.score > 0.0 && m.score.is_finite(), "{m:?}");
        }
    }
}

fn sound(driver_bl: f64, original: Part, tall: f64) -> SoundBounds {
    let data = DriverData {
        re: Some(original.dcr),
        bl: Some(driver_bl),
        mms: Some(0.0285),
        fs: Some(38.0),
        qms: Some(4.1),
        ..DriverData::default()
    };
    SoundBounds {
        driver: data.complete(1.0).unwrap(),
        original,
        in_tall_field: tall,
        overhung: true,
        plate: Some(6e-3),
        field: 1.45 * 6e-3,
        level_db: f64::INFINITY,
        qts: f64::INFINITY,
        fs: f64::INFINITY,
    }
}

/// The original itself is among the answers, and none comes closer.
#[test]
fn the_original_is_its_own_best_copy() {
    let mut dice = Dice(3);
    let mut list = wires(&mut dice, 30);
    let own = WireFrame {
        pitch: 1.02 * 0.24638e-3,
        step: 0.9 * 0.24638e-3,
        overall: 0.24638e-3,
        ohm_per_m: 0.42957,
        kg_per_m: 0.36698e-3,
        leads: 0.12,
        less: 1.0,
        ..list[0]
    };
    list.push(own);
    let former = FormerFrame { outside: 38.5e-3, mass: 1e-3, damping: Some(0.0) };
    let row = Row::bare(&own, &former).with_layers(2);
    let (n, width) = (56.0, row.width(56.0));
    let field = 1.45 * 6e-3;
    let part = Part {
        dcr: row.dcr(n),
        mass: row.mass(n, width) + former.mass,
        in_field: row.in_filled_field(field),
        damping: Some(0.0),
    };
    let s = sound(6.0, part, row.in_tall_field(n, width, field));
    let bounds = Bounds {
        target: Target { dcr: row.dcr(n), tolerance: 0.05 },
        bore: Some(39.95e-3),
        min_outer: 0.1e-3,
        width_min: 10e-3,
        width_max: 18e-3,
        layers: 0b111_1110,
        mass_max: f64::INFINITY,
    };
    let mut hits = Vec::new();
    search(&list, &[former], &bounds, Some(&s), |h| hits.push(h), &mut Nearest::new(3));
    let best = hits.iter().min_by(|a, b| a.distance.total_cmp(&b.distance)).unwrap();
    assert_eq!((best.wire, best.layers, best.first), (30, 2, 56));
    assert!(best.distance < 1e-6, "{best:?}");
    // Limits of sound take the others out one by one.
    let (mut before, mut limit) = (hits.len(), 2.0);
    while limit > 0.01 {
        let mut left = 0;
        let tight = SoundBounds { level_db: limit, qts: 0.1 * limit, ..s };
        search(&list, &[former], &bounds, Some(&tight), |_| left += 1, &mut Nearest::new(3));
        assert!(left >= 1 && left <= before);
        (before, limit) = (left, limit / 2.0);
    }
}

/// A thicker wire in one width and layer count never has more resistance; another layer never less.
#[test]
fn resistance_falls_with_the_wire_and_rises_with_the_layers() {
    let seed = 5;
    println!("seed {seed}");
    let mut dice = Dice(seed);
    for _ in 0..300 {
        let former = FormerFrame { outside: dice.within(19e-3, 100e-3), mass: 0.0, damping: None };
        let (bare, width) = (dice.within(0.1e-3, 0.5e-3), dice.within(6e-3, 25e-3));
        let thin = wire(&mut dice, bare);
        let grown = dice.within(1.001, 1.5);
        let thick = WireFrame {
            overall: thin.overall * grown,
            pitch: thin.pitch * grown,
            step: thin.step * grown,
            ohm_per_m: thin.ohm_per_m / (grown * grown),
            ..thin
        };
        let mut before = 0.0;
        for layers in 1..=6 {
            let (a, b) =
                (Row::bare(&thin, &former).with_layers(layers), Row::bare(&thick, &former).with_layers(layers));
            let (of_thin, of_thick) = (a.dcr(a.turns_in(width)), b.dcr(b.turns_in(width)));
            assert!(of_thick < of_thin, "{of_thick} of {thick:?}, {of_thin} of {thin:?}");
            assert!(a.crossover() < b.crossover() && of_thin > before);
            before = of_thin;
        }
    }
}

/// Scaling: all lengths twice as large, the same metal: resistance per turn halves, so the same turns have half of it, the
/// mass is eightfold, and counts stay.
#[test]
fn a_coil_twice_as_large_has_half_the_resistance_and_eight_times_the_mass() {
    let mut dice = Dice(9);
    for _ in 0..200 {
        let bare = dice.within(0.1e-3, 0.4e-3);
        let w = wire(&mut dice, bare);
        let f = FormerFrame { outside: dice.within(19e-3, 76e-3), mass: 0.0, damping: None };
        let twice = WireFrame {
            overall: 2.0 * w.overall,
            pitch: 2.0 * w.pitch,
            step: 2.0 * w.step,
            ohm_per_m: w.ohm_per_m / 4.0,
            kg_per_m: 4.0 * w.kg_per_m,
            leads: 2.0 * w.leads,
            glue: 2.0 * w.glue,
            skin: 2.0 * w.skin,
            over: 2.0 * w.over,
            ..w
        };
        let layers = 1 + dice.below(6) as u32;
        let small = Row::bare(&w, &f).with_layers(layers);
        let large = Row::bare(&twice, &FormerFrame { outside: 2.0 * f.outside, ..f }).with_layers(layers);
        let width = dice.within(5e-3, 20e-3);
        let n = small.turns_in(width);
        assert_eq!(large.turns_in(2.0 * width), n);
        assert!((large.dcr(n) / small.dcr(n) - 0.5).abs() < 1e-12);
        assert!((large.mass(n, 2.0 * width) / small.mass(n, width) - 8.0).abs() < 1e-10);
        assert!(
            (large.in_tall_field(n, 2.0 * width, 20e-3) / small.in_tall_field(n, width, 10e-3) - 2.0).abs() < 1e-12
        );
    }
}

#[test]
fn a_gap_that_the_former_fills_takes_nothing() {
    let mut dice = Dice(2);
    let list = wires(&mut dice, 8);
    let former = FormerFrame { outside: 40e-3, mass: 0.0, damping: None };
    let bounds = Bounds {
        target: Target { dcr: 6.0, tolerance: 0.5 },
        bore: Some(39e-3),
        min_outer: 0.0,
        width_min: 5e-3,
        width_max: 50e-3,
        layers: 0b10,
        mass_max: f64::INFINITY,
    };
    let mut near = Nearest::new(3);
    let searched = search(&list, &[former], &bounds, None, |h| panic!("{h:?}"), &mut near);
    assert_eq!((searched.feasible, searched.too_fat), (0, 8));
    assert!(near.all().iter().all(|m| m.too_fat > 0.5e-3));
}
