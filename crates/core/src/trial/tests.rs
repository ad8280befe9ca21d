use super::*;
use crate::enough::{normal_density, normal_probability};

#[track_caller]
fn near(met: f64, wanted: f64, tolerance: f64) {
    assert!((met - wanted).abs() <= tolerance, "{met}, not {wanted} ± {tolerance}");
}

/// Stated limits of agreement with the linear law, for n draws of a straight formula: four standard errors, u/√n of the
/// mean and u/√(2n) of the standard deviation.
#[test]
fn a_straight_formula_gives_the_linear_law_within_four_standard_errors() {
    let inputs = Inputs::new(vec![Input { value: 2.0, u: 0.1 }, Input { value: -3.0, u: 0.2 }, Input::certain(7.0)])
        .correlate(0, 1, 0.6);
    let formula = |x: &[f64]| 3.0 * x[0] - 2.0 * x[1] + x[2];
    let linear = inputs.propagate(|x, out| out.push(formula(x)));
    let n = 20_000;
    for seed in [1, 2, 3] {
        let trial = inputs.draw(n, seed, |x, out| {
            out.push(formula(x));
            true
        });
        let met = trial.spread(0).unwrap();
        near(met.value, linear.value(0), 4.0 * linear.u(0) / (n as f64).sqrt());
        near(met.u, linear.u(0), 4.0 * linear.u(0) / (2.0 * n as f64).sqrt());
    }
}

/// GUM H.2 by trial: three correlated readings. Source: JCGM 100:2008, table H.4 (R 127.732 ± 0.071, X 219.847 ± 0.295,
/// Z 254.260 ± 0.236); four standard errors of 20,000 draws and half a printed digit. Correlations from the table's data.
#[test]
fn gum_h2_by_trial_agrees_with_its_print() {
    let inputs = Inputs::new(vec![
        Input { value: 4.9990, u: 0.003209361 },
        Input { value: 19.6610e-3, u: 0.009471008e-3 },
        Input { value: 1.04446, u: 0.000752064 },
    ])
    .correlate(0, 1, -0.3553)
    .correlate(0, 2, 0.8576)
    .correlate(1, 2, -0.6451);
    let trial = inputs.draw(20_000, 5, |x, out| {
        let z = x[0] / x[1];
        out.extend([z * x[2].cos(), z * x[2].sin(), z]);
        true
    });
    for (j, value, u) in [(0, 127.732, 0.071), (1, 219.847, 0.295), (2, 254.260, 0.236)] {
        let met = trial.spread(j).unwrap();
        near(met.value, value, 4.0 * u / 20_000f64.sqrt() + 0.0005);
        near(met.u, u, 4.0 * u / 40_000f64.sqrt() + 0.0006);
    }
}

/// GUM H.1, an end gauge of 50 mm: l = l_s + d − l_s·(δα·θ + α_s·δθ), in nanometres. Source: JCGM 100:2008, H.1: 32 nm by
/// the law of propagation, 34 nm with the terms of second order, which the law leaves out and draws do not. Half a printed
/// digit, and four standard errors of 40,000 draws.
#[test]
fn gum_h1_by_the_law_and_by_trial() {
    let rectangular = |half: f64| half / 3f64.sqrt();
    let inputs = Inputs::new(vec![
        Input { value: 50_000_623.0, u: 25.0 },
        Input { value: 215.0, u: (5.8f64.powi(2) + 3.9f64.powi(2) + 6.7f64.powi(2)).sqrt() },
        Input { value: 0.0, u: rectangular(1e-6) },
        // 0.2 K of the mean, and a cycle of ± 0.5 K, whose u is 0.5/√2.
        Input { value: -0.1, u: 0.2f64.hypot(0.5 / 2f64.sqrt()) },
        Input { value: 11.5e-6, u: rectangular(2e-6) },
        Input { value: 0.0, u: rectangular(0.05) },
    ]);
    let length = |x: &[f64]| x[0] + x[1] - x[0] * (x[2] * x[3] + x[4] * x[5]);
    let law = inputs.propagate(|x, out| out.push(length(x)));
    near(law.value(0), 50_000_838.0, 0.5);
    near(law.u(0), 32.0, 0.5);
    // The components as the example lists them.
    for (i, nm) in [(0, 25.0), (1, 9.7), (2, 2.9), (3, 0.0), (4, 0.0), (5, 16.6)] {
        near(law.part(i, 0).abs(), nm, 0.05);
    }
    let trial = inputs.draw(40_000, 6, |x, out| {
        out.push(length(x));
        true
    });
    near(trial.spread(0).unwrap().u, 34.0, 0.5 + 4.0 * 34.0 / 80_000f64.sqrt());
}

/// GUM H.3, the calibration of a thermometer: a straight line through eleven points about 20 °C. Source: JCGM 100:2008,
/// tables H.6 (readings and corrections; raw data from memory, the line through them is the printed one) and its text:
/// intercept −0.1712 ± 0.0029, slope 0.00218 ± 0.00067, r −0.930; correction at 30 °C −0.1494 ± 0.0041. Half a printed digit.
#[test]
fn gum_h3_a_line_whose_figures_are_correlated() {
    let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let n = 11.0;
    let x: Vec<f64> = t.iter().map(|t| t - 20.0).collect();
    let sum = |f: &dyn Fn(usize) -> f64| (0..11).map(f).sum::<f64>();
    let (sx, sxx) = (sum(&|i| x[i]), sum(&|i| x[i] * x[i]));
    let (sb, sxb) = (sum(&|i| b[i]), sum(&|i| x[i] * b[i]));
    let det = n * sxx - sx * sx;
    let (intercept, slope) = ((sxx * sb - sx * sxb) / det, (n * sxb - sx * sb) / det);
    let s2 = sum(&|i| (b[i] - intercept - slope * x[i]).powi(2)) / (n - 2.0);
    let line = Inputs::new(vec![
        Input { value: intercept, u: (s2 * sxx / det).sqrt() },
        Input { value: slope, u: (s2 * n / det).sqrt() },
    ])
    .correlate(0, 1, -sx / (n * sxx).sqrt());
    let law = line.propagate(|y, out| out.extend([y[0], y[1], y[0] + 10.0 * y[1]]));
    for (j, value, u, half) in [(0, -0.1712, 0.0029, 5e-5), (1, 0.00218, 0.00067, 5e-6), (2, -0.1494, 0.0041, 5e-5)] {
        near(law.value(j), value, half);
        near(law.u(j), u, half);
    }
    near(law.correlation(0, 1), -0.930, 0.0005);
    let trial = line.draw(20_000, 8, |y, out| {
        out.push(y[0] + 10.0 * y[1]);
        true
    });
    near(trial.spread(0).unwrap().u, 0.0041, 5e-5 + 4.0 * 0.0041 / 200.0);
}

/// A square about nothing: mean u², standard deviation √2·u² (chi-squared with one degree of freedom), which the linear law
/// calls 0 ± 0.
#[test]
fn a_bent_formula_is_met_where_the_linear_law_sees_nothing() {
    let inputs = Inputs::new(vec![Input { value: 0.0, u: 0.5 }]);
    assert_eq!(inputs.propagate(|x, out| out.push(x[0] * x[0])).u(0), 0.0);
    let trial = inputs.draw(40_000, 11, |x, out| {
        out.push(x[0] * x[0]);
        true
    });
    let met = trial.spread(0).unwrap();
    near(met.value, 0.25, 4.0 * 0.25 * 2f64.sqrt() / 200.0);
    // The kurtosis of chi-squared makes the standard error of the standard deviation √(14/(4n)) of it.
    near(met.u, 0.25 * 2f64.sqrt(), 4.0 * 0.25 * 2f64.sqrt() * (14.0 / 160_000f64).sqrt());
}

/// The normal distribution cut off at nothing, in closed form: λ = φ(a)/(1 − Φ(a)), a = −μ/σ; mean μ + σλ, variance
/// σ²(1 + aλ − λ²). Four standard errors.
#[test]
fn a_spool_near_empty_holds_what_the_cut_off_normal_distribution_says() {
    for (mean, sigma) in [(1.0, 2.0), (0.0, 1.5), (-1.0, 1.0), (3.0, 2.0)] {
        let left = Measured::new(Length::from_m(mean), Length::from_m(sigma));
        let (met, most) = left_by_trial(left, 3).unwrap();
        let a = -mean / sigma;
        let lambda = normal_density(a) / normal_probability(-a);
        let sd = sigma * (1.0 + a * lambda - lambda * lambda).sqrt();
        let kept = 10_000.0 * normal_probability(-a);
        near(met.value.m(), mean + sigma * lambda, 4.0 * sd / kept.sqrt());
        near(met.u.m(), sd, 6.0 * sd / (2.0 * kept).sqrt());
        // 5 % of what was kept lies beyond.
        let beyond = normal_probability(-(most.m() - mean) / sigma) / normal_probability(-a);
        near(beyond, 0.05, 4.0 * (0.05 * 0.95 / kept).sqrt());
    }
}

/// From 4 u on, trial and linear estimate are one within four standard errors: 4 % of u in the value, 3 % of u in u.
#[test]
fn a_full_spool_holds_what_the_linear_estimate_says() {
    for u in [0.5, 2.0, 5.0] {
        let left = Measured::new(Length::from_m(20.0), Length::from_m(u));
        let (met, _) = left_by_trial(left, 9).unwrap();
        near(met.value.m(), 20.0, 0.04 * u);
        near(met.u.m(), u, 0.03 * u);
    }
}

#[test]
fn nothing_is_made_of_no_draws() {
    let none = Inputs::new(vec![Input { value: 1.0, u: 1.0 }]).draw(100, 1, |_, _| false);
    assert_eq!((none.kept(), none.drawn, none.spread(0), none.quantile(0, 0.5)), (0, 100, None, None));
    let gone = Measured::new(Length::from_m(-100.0), Length::from_m(1.0));
    assert_eq!(left_by_trial(gone, 1), None);
}
