use super::*;
use crate::adhesive::{Cure, DOUBLING_K, Kind, PotLife};
use crate::finding::Level;
use crate::quantity::Density;

fn spec() -> MixSpec {
    let c = Temperature::from_c;
    MixSpec {
        adhesive: Adhesive {
            kind: Kind::Epoxy,
            density: Measured::certain(Density::from_g_per_cm3(1.2)),
            hardener: Some(1.0),
            ratio_limit: Some(0.05),
            solids: 1.0,
            pot_life: Some(PotLife { minutes: 60.0, at: c(23.0), up_to: Some(Mass::from_g(50.0)) }),
            doubling_k: DOUBLING_K,
            cures: vec![
                Cure { at: c(23.0), hours: 24.0, glass: Some(c(50.0)) },
                Cure { at: c(60.0), hours: 2.0, glass: Some(c(75.0)) },
            ],
            heat_limit: Some(c(120.0)),
        },
        cured: Measured::new(Mass::from_g(0.8), Mass::from_g(0.16)),
        coils: 1,
        waste: None,
        step: Mass::from_g(0.01),
        room: Some(c(23.0)),
        winding_min: Some(40.0),
        cure: None,
        hot: None,
    }
}

#[track_caller]
fn near(met: f64, wanted: f64, within: f64) {
    assert!((met - wanted).abs() < within, "{met} against {wanted}");
}

#[track_caller]
fn says(spec: &MixSpec, code: &str, level: Level, words: &str) {
    let found = mix(spec).findings;
    let one = found.iter().find(|f| f.code == code);
    let one = one.unwrap_or_else(|| panic!("no {code} among {found:?}"));
    assert!(one.level == level && one.text.contains(words), "{one:?}");
}

/// Monte Carlo, seed 7: three readings of one cup, each off by up to half a step (a rectangular distribution). 40,000 draws
/// know a standard deviation to 0.4 %, so 2 % is five of those.
#[test]
fn the_ratio_is_as_uncertain_as_three_rounded_readings_make_it() {
    let mut seed = 7u64;
    let mut off = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((seed >> 11) as f64 / (1u64 << 53) as f64 - 0.5) * 0.1
    };
    for (resin, hardener) in [(5.0, 5.0), (10.0, 3.0), (20.0, 1.0)] {
        let n = 40_000;
        let ratios: Vec<f64> = (0..n)
            .map(|_| {
                let (w0, w1, w2) = (off(), off(), off());
                (hardener + w2 - w1) / (resin + w1 - w0) / (hardener / resin)
            })
            .collect();
        let mean = ratios.iter().sum::<f64>() / f64::from(n);
        let sd = (ratios.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / f64::from(n - 1)).sqrt();
        let u = ratio_u(Mass::from_g(resin), Mass::from_g(hardener), Mass::from_g(0.1));
        near(u / sd, 1.0, 0.02);
    }
}

/// Arithmetic by hand: a = 0.1/√12 = 0.028868 g; 2·a·2·√6/0.05 = 5.657 g.
#[test]
fn the_least_mix_holds_the_ratio_by_twice_its_doubt() {
    let a = spec().adhesive;
    near(least_mix(&a, Mass::from_g(0.1)).unwrap().g(), 5.657, 0.001);
    near(least_mix(&a, Mass::from_g(0.01)).unwrap().g(), 0.5657, 0.0001);
    for (r, limit, step) in [(1.0, 0.05, 0.1), (0.3, 0.03, 0.1), (0.04, 0.1, 0.01), (2.0, 0.02, 1.0)] {
        let a = Adhesive { hardener: Some(r), ratio_limit: Some(limit), ..a.clone() };
        let least = least_mix(&a, Mass::from_g(step)).unwrap();
        let (resin, hardener) = (least * (1.0 / (1.0 + r)), least * (r / (1.0 + r)));
        near(2.0 * ratio_u(resin, hardener, Mass::from_g(step)) / limit, 1.0, 1e-9);
    }
    assert_eq!(least_mix(&Adhesive { hardener: None, ..a }, Mass::from_g(0.1)), None);
}

#[test]
fn what_is_weighed_is_in_steps_of_the_display_and_never_too_little() {
    for grams in [0.1, 0.8, 1.0, 3.0, 7.77, 40.0] {
        for (r, step) in [(Some(1.0), 0.1), (Some(0.3), 0.01), (None, 0.1), (Some(0.3), 1.0)] {
            let w = weigh(Mass::from_g(grams), r, Mass::from_g(step));
            assert!(w.total().g() >= grams - step, "{grams} {r:?} {step}: {w:?}");
            for m in [Some(w.resin), w.hardener].into_iter().flatten() {
                near(m.g() / step, (m.g() / step).round(), 1e-6);
            }
        }
    }
    let exact = weigh(Mass::from_g(6.0), Some(1.0), Mass::from_g(0.1));
    near(exact.resin.g(), 3.0, 1e-9);
    near(exact.hardener.unwrap().g(), 3.0, 1e-9);
    let whole = weigh(Mass::from_g(13.9), Some(0.3), Mass::from_g(0.1));
    near(whole.resin.g(), 11.0, 1e-9);
    near(whole.hardener.unwrap().g(), 3.3, 1e-9);
    near(whole.ratio_off.unwrap(), 0.0, 1e-9);
}

/// Arithmetic by hand: 0.8 g for each of two coils, half as much again lost: 2.40 g; 30 % solids: 8.00 g.
#[test]
fn quantity_counts_coils_waste_and_solvent() {
    let two = MixSpec { coils: 2, ..spec() };
    near(mix(&two).needed.g(), 2.4, 1e-9);
    assert!(mix(&two).origins.iter().any(|o| o.param == "waste_pct" && o.mark == Mark::CommonPractice));
    let cement = Adhesive { hardener: None, solids: 0.3, ..two.adhesive.clone() };
    let mixed = mix(&MixSpec { adhesive: cement, waste: Some(0.5), ..two });
    near(mixed.needed.g(), 8.0, 1e-9);
    assert_eq!((mixed.least, mixed.weigh.hardener, mixed.weigh.ratio_u), (None, None, None));
}

#[test]
fn a_coarse_scale_sets_the_mix() {
    let coarse = MixSpec { step: Mass::from_g(0.1), ..spec() };
    says(&coarse, "mix_set_by_scale", Level::Note, "1.20 g would do");
    let mixed = mix(&coarse);
    assert!(mixed.weigh.total().g() >= 5.657 - 0.1 && mixed.weigh.ratio_u.unwrap() <= 0.0255);
}

#[test]
fn winding_longer_than_the_pot_life_stops_and_says_what_to_do() {
    assert_eq!(mix(&spec()).findings, []);
    near(mix(&spec()).spare_min.unwrap(), 20.0, 1e-9);
    let long = MixSpec { winding_min: Some(90.0), ..spec() };
    // 23 − 10·log2(1.5) = 17.15 °C.
    says(&long, "pot_life_short", Level::Stop, "wind at 17 °C or below");
    says(&long, "pot_life_short", Level::Stop, "a slower adhesive");
    let hopeless = mix(&MixSpec { winding_min: Some(600.0), ..spec() });
    assert!(!hopeless.findings[0].text.contains("or below"), "{:?}", hopeless.findings);
    says(&MixSpec { winding_min: Some(50.0), ..spec() }, "pot_life_close", Level::Watch, "thick under the last layer");
    says(&MixSpec { winding_min: None, ..spec() }, "not_computed", Level::Note, "winding_min");
    says(&MixSpec { room: Some(Temperature::from_c(2.0)), ..spec() }, "pot_life_a_guess", Level::Watch, "2 °C");
}

#[test]
fn a_warm_room_shortens_the_pot_life() {
    let warm = MixSpec { room: Some(Temperature::from_c(33.0)), ..spec() };
    near(mix(&warm).pot_life_min.unwrap(), 30.0, 1e-9);
    says(&warm, "pot_life_short", Level::Stop, "30 min at 33 °C");
}

#[test]
fn a_large_cup_heats_itself() {
    says(&MixSpec { coils: 50, winding_min: Some(10.0), ..spec() }, "mix_heats_itself", Level::Watch, "up to 50 g");
}

#[test]
fn a_coil_hotter_than_the_glass_transition_creeps() {
    let hot = |t| MixSpec { hot: Some(Temperature::from_c(t)), ..spec() };
    assert_eq!(mix(&hot(70.0)).findings, []);
    says(&hot(100.0), "softens_when_hot", Level::Watch, "softens at 75 °C");
    says(&hot(180.0), "too_hot_for_adhesive", Level::Stop, "bears 120 °C");
    // Cured at room temperature only, it softens sooner.
    let cool = MixSpec { cure: Some(Temperature::from_c(23.0)), ..hot(70.0) };
    says(&cool, "softens_when_hot", Level::Watch, "softens at 50 °C");
}

#[test]
fn a_cure_far_from_the_stated_ones_is_called_a_guess() {
    let at = |t| MixSpec { cure: Some(Temperature::from_c(t)), ..spec() };
    assert_eq!(mix(&at(40.0)).findings, []);
    near(mix(&at(33.0)).cures[0].hours, 12.0, 1e-9);
    says(&at(90.0), "cure_a_guess", Level::Watch, "90 °C is a guess");
    says(&at(10.0), "cure_below_stated", Level::Watch, "coolest, 23 °C");
}
