//! What learning must say: the worked case, laws that hold for any coils, and whether its intervals hold in simulation.

use super::first::RATIO;
use super::*;
use std::collections::BTreeMap;

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
}

fn sums(all: &[f64]) -> Sums {
    let mut s = Sums::default();
    all.iter().for_each(|x| s.add(*x));
    s
}

fn one_leaf(leaf: Sums) -> BTreeMap<String, Tree> {
    BTreeMap::from([("w".to_owned(), BTreeMap::from([(0, BTreeMap::from([("ann".to_owned(), leaf)]))]))])
}

/// Eight coils of one hand. Worked case of this project (arithmetic, not a published source), as printed: mean 1.026,
/// standard deviation 0.0085 (0.00855 in full), next coil ± 0.021 by the data alone; of a prior 1.000 ± 0.015 the first
/// coil carries 76 % of the weight, eight carry 96 %.
#[test]
fn eight_coils_teach_as_worked_by_hand() {
    let all = [1.021, 1.034, 1.015, 1.029, 1.041, 1.018, 1.026, 1.024];
    let eight = sums(&all);
    near(eight.mean(), 1.026, 1e-12);
    near(eight.deviation().unwrap(), 0.0085, 0.0001);
    near(next_half_alone(&eight).unwrap(), 0.021, 0.0005);
    for (n, weight) in [(1, 0.76), (8, 0.96)] {
        let own = sums(&all[..n]);
        near(learn(&RATIO, &own).weight, weight, 0.005);
        let wires = one_leaf(own);
        near(Ratios::new(RATIO, &wires).of_winder("w", 0, "ann").weight, weight, 0.005);
    }
    // 1 + 0.9614·0.026 with the pooled scatter √((4·0.0085² + 7·0.00855²)/11): arithmetic.
    near(learn(&RATIO, &eight).mean, 1.0250, 0.0001);
}

#[test]
fn a_lone_winder_is_the_plain_case_of_the_tree() {
    let own = sums(&[1.021, 1.034, 1.015]);
    let wires = one_leaf(own);
    let ratios = Ratios::new(RATIO, &wires);
    let (plain, tree) = (learn(&RATIO, &own), ratios.of_winder("w", 0, "ann"));
    near(tree.mean, plain.mean, 1e-12);
    near(tree.u, plain.u, 1e-12);
    assert_eq!(ratios.of_coil("w", 0).mean, tree.mean);
}

#[test]
fn nothing_learned_is_the_prior() {
    let none = BTreeMap::new();
    let l = Ratios::new(RATIO, &none).of_coil("w", 51_000);
    near(l.mean, 1.0, 0.0);
    near(l.u, 0.015, 1e-15);
    near(l.weight, 0.0, 0.0);
    near(learn_share(1.0 / 7.0, 7.0, 0, 0).share, 1.0 / 7.0, 1e-15);
}

/// The tree against the full joint normal distribution of its four coils, solved as a matrix: arithmetic.
#[test]
fn the_tree_is_the_joint_least_squares_solution() {
    let leaf = |x: f64| sums(&[x]);
    let wires = BTreeMap::from([(
        "w".to_owned(),
        BTreeMap::from([
            (25_000, BTreeMap::from([("ann".to_owned(), leaf(1.02)), ("bob".to_owned(), leaf(0.99))])),
            (38_000, BTreeMap::from([("ann".to_owned(), leaf(1.03))])),
        ]),
    )]);
    let ratios = Ratios::new(RATIO, &wires);
    // Covariances of the three leaves with each other; all data are of one coil each.
    let t2 = 0.015f64 * 0.015;
    let same_branch = 0.8 * t2;
    let same_wire = 0.6 * t2;
    let s2 = ratios.scatter() * ratios.scatter();
    let k = [[t2 + s2, same_branch, same_wire], [same_branch, t2 + s2, same_wire], [same_wire, same_wire, t2 + s2]];
    let y = [0.02, -0.01, 0.03];
    let solved = solve(k, y);
    let mean = 1.0 + t2 * solved[0] + same_branch * solved[1] + same_wire * solved[2];
    near(ratios.of_winder("w", 25_000, "ann").mean, mean, 1e-12);
    // A winder and a mandrel never seen lean on the wire alone.
    let new = 1.0 + same_wire * (solved[0] + solved[1] + solved[2]);
    near(ratios.of_winder("w", 75_000, "eve").mean, new, 1e-12);
}

fn solve(mut a: [[f64; 3]; 3], mut y: [f64; 3]) -> [f64; 3] {
    for i in 0..3 {
        for j in i + 1..3 {
            let f = a[j][i] / a[i][i];
            (0..3).for_each(|c| a[j][c] -= f * a[i][c]);
            y[j] -= f * y[i];
        }
    }
    let mut x = [0.0; 3];
    for i in (0..3).rev() {
        x[i] = (y[i] - (i + 1..3).map(|c| a[i][c] * x[c]).sum::<f64>()) / a[i][i];
    }
    x
}

#[test]
fn sums_come_out_the_same_in_any_order_and_forget_without_a_trace() {
    let mut r = Random(7);
    let all: Vec<f64> = (0..200).map(|_| 1.0 + 0.02 * r.normal()).collect();
    let forward = sums(&all);
    let mut shuffled: Vec<f64> = all.iter().rev().copied().collect();
    shuffled.push(1.5);
    let mut backward = sums(&shuffled);
    backward.take_back(&sums(&[1.5]));
    assert_eq!(forward, backward);
    let mut draws = DrawSums::default();
    draws.add(&DRAWS, 14.0, 0.1, 0.05);
    let before = draws;
    let mut one = DrawSums::default();
    one.add(&DRAWS, 6.0, -0.02, 0.03);
    draws.merge(&one);
    draws.take_back(&one);
    assert_eq!(draws, before);
}

#[test]
fn absurd_observations_neither_panic_nor_become_no_number() {
    let mut s = Sums::default();
    for x in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
        s.add(x);
    }
    assert!(s.mean().is_finite() && learn(&RATIO, &s).next_half().is_finite());
    let mut d = DrawSums::default();
    d.add(&DRAWS, f64::NAN, f64::INFINITY, 0.0);
    assert!(learn_draws(&DRAWS, &d).elongation.is_finite());
}

const DRAWS: DrawsPrior = DrawsPrior { elongation_u: 0.002, threading_u_m: 0.112, scatter_m: 0.05 };

/// Coils of several lengths tell elongation from threading; arithmetic with the truth put in.
#[test]
fn coils_of_many_lengths_tell_elongation_from_threading() {
    let mut own = DrawSums::default();
    for k in 0..400 {
        let length = 5.0 + f64::from(k % 40);
        own.add(&DRAWS, length, -0.003 * length + 0.15, 0.02);
    }
    let l = learn_draws(&DRAWS, &own);
    near(l.elongation, 0.003, 0.0002);
    near(l.threading_m, 0.15, 0.006);
    assert!(l.weights.iter().all(|w| *w > 0.95));
    // Of one length only the sum is known.
    let mut one = DrawSums::default();
    (0..50).for_each(|_| one.add(&DRAWS, 14.0, 0.10, 0.02));
    let l = learn_draws(&DRAWS, &one);
    near(-14.0 * l.elongation + l.threading_m, 0.10, 0.005);
}

/// Arithmetic: Beta(1 + 3, 6 + 17).
#[test]
fn scrap_rate_starts_at_one_in_seven_and_follows_the_count() {
    let l = learn_share(1.0 / 7.0, 7.0, 3, 20);
    near(l.share, 4.0 / 27.0, 1e-12);
    assert!(l.low < l.share && l.share < l.high);
    near(crate::beta::share_below(l.high, 4.0, 23.0), 0.975, 1e-9);
}

#[test]
fn causes_are_named_by_what_the_figure_can_be() {
    let seen = |ratio: f64, drawn: Option<f64>| likely_cause(&Seen { ratio, u: 0.01, turns: 103, drawn });
    assert!(seen(1.06, None).starts_with("stretched by about 3.0 %, or miscounted by 6 turns"));
    assert!(seen(1.06, Some(1.06)).starts_with("miscounted: about 6 turns more"));
    assert!(seen(0.96, None).starts_with("a shorted turn (about 4 turns"));
    assert!(seen(0.96, Some(0.96)).starts_with("miscounted: about 4 turns fewer"));
    assert!(seen(1.26, None).starts_with("a gauge thinner"));
    assert!(seen(0.60, None).starts_with("a shorted turn or several"));
}

/// Small generator of repeatable numbers (splitmix64).
struct Random(u64);
impl Random {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        let (u, v) = (self.uniform().max(f64::MIN_POSITIVE), core::f64::consts::TAU * self.uniform());
        libm::sqrt(-2.0 * libm::log(u)) * libm::cos(v)
    }
}

/// Share of invented shops in which the interval held the next coil after so many, and the median error of the planned
/// figure by first values and as learned. Each shop has a true figure and a scatter of its own, 0.5 to 1.4 %.
fn foretold(seed: u64, coils: usize) -> (f64, f64, f64) {
    let (shops, mut held, mut before, mut after) = (4000, 0, Vec::new(), Vec::new());
    let mut r = Random(seed);
    for _ in 0..shops {
        let truth = 1.0 + 0.015 * r.normal();
        let scatter = 0.0085 * libm::exp(0.3 * r.normal());
        let mut coil = || truth + scatter * r.normal();
        let own: Vec<f64> = (0..coils).map(|_| coil()).collect();
        let next = coil();
        let wires = one_leaf(sums(&own));
        let l = Ratios::new(RATIO, &wires).of_coil("w", 0);
        held += u32::from((next - l.mean).abs() <= l.next_half());
        before.push((next - 1.0).abs());
        after.push((next - l.mean).abs());
    }
    let median = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v[v.len() / 2]
    };
    let (share, before, after) = (f64::from(held) / f64::from(shops), median(before), median(after));
    println!("seed {seed}, {coils} coils: {share:.4} held; median error {before:.5} before, {after:.5} after");
    (share, before, after)
}

/// Of 4000 shops the share itself has a standard deviation of 0.35 %: four seeds, so that no lucky one decides.
#[test]
fn after_eight_coils_the_interval_holds_the_next_as_often_as_it_says() {
    for seed in [20_261_125, 1, 2, 3] {
        let (share, before, after) = foretold(seed, 8);
        assert!((0.93..=0.97).contains(&share), "seed {seed}: {share}");
        assert!(after < 0.65 * before, "seed {seed}: {after} after, {before} before");
    }
}

/// The first values alone, one coil and three: what little was seen is not made more of than it is. First values and one
/// coil err to the cautious side, since the scatter is worth four degrees of freedom until coils tell it.
#[test]
fn few_coils_are_not_made_more_of_than_they_are() {
    for seed in [20_261_125, 1, 2] {
        for coils in [0, 1, 3] {
            let (share, before, after) = foretold(seed, coils);
            assert!((0.93..=0.995).contains(&share), "seed {seed}, {coils} coils: {share}");
            assert!(after <= before, "seed {seed}, {coils} coils: {after} after, {before} before");
        }
    }
}

/// One coil 2.6 % over its plan. Arithmetic: w = 0.015²/(0.015² + 0.0085²) = 0.7569, figure 1 + w·0.026, u = 0.015·√(1 − w)
/// = 0.007395; next coil ± t(0.95, 4)·√(0.0085² + u²) with t = 2.7764 (JCGM 100:2008, table G.2, as 2.78).
#[test]
fn one_coil_teaches_a_figure_with_its_uncertainty() {
    let l = learn(&RATIO, &sums(&[1.026]));
    near(l.mean, 1.019_680, 1e-6);
    near(l.u, 0.007_395, 1e-6);
    near(l.next_half(), 2.7764 * 0.011_267, 5e-6);
    near(l.next_u(), 2.7764 * 0.011_267 / 1.959_964, 3e-6);
}

/// Invented shops of two mandrels and three winders on one wire, eight coils in each of the six cells; the figures of wire,
/// mandrel and hand spread as the prior has it. The next coil of each cell, and one of a new spool of the same wire whose
/// Ω/m differs by 1.3 %: that is outside of what the coils of one spool can tell.
#[test]
fn winders_and_mandrels_keep_their_intervals_and_a_new_spool_is_outside_of_them() {
    let (mut held, mut held_new_spool, mut of) = (0, 0, 0);
    let mut r = Random(7);
    for _ in 0..500 {
        let wire = 1.0 + 0.015 * libm::sqrt(0.6) * r.normal();
        let scatter = 0.0085 * libm::exp(0.3 * r.normal());
        let (mut wires, mut truths) = (BTreeMap::new(), Vec::new());
        let tree: &mut Tree = wires.entry("w".to_owned()).or_default();
        for mandrel in [25_000, 38_000] {
            let of_mandrel = wire + 0.015 * libm::sqrt(0.2) * r.normal();
            for winder in ["ann", "bob", "eve"] {
                let truth = of_mandrel + 0.015 * libm::sqrt(0.2) * r.normal();
                let own: Vec<f64> = (0..8).map(|_| truth + scatter * r.normal()).collect();
                tree.entry(mandrel).or_default().insert(winder.to_owned(), sums(&own));
                truths.push((mandrel, winder, truth));
            }
        }
        let ratios = Ratios::new(RATIO, &wires);
        for (mandrel, winder, truth) in truths {
            let l = ratios.of_winder("w", mandrel, winder);
            let next = truth + scatter * r.normal();
            of += 1;
            held += u32::from((next - l.mean).abs() <= l.next_half());
            held_new_spool += u32::from((next * (1.0 + 0.013 * r.normal()) - l.mean).abs() <= l.next_half());
        }
    }
    let share = |n: u32| f64::from(n) / f64::from(of);
    println!("seed 7: {:.4} held, of a new spool {:.4}", share(held), share(held_new_spool));
    assert!((0.93..=0.97).contains(&share(held)), "{}", share(held));
    assert!(share(held_new_spool) < 0.93, "{}: the warning in `Ratios` would be wrong", share(held_new_spool));
}
