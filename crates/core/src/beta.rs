//! The incomplete beta function, and what hangs on it: Student's t and the quantiles of a share.

/// Probability that a share with density x^(a−1)·(1−x)^(b−1) lies below `x`: the regularised incomplete beta function.
///
/// ```text
/// I_x(a, b) = x^a·(1−x)^b / (a·B(a, b)) · 1/(1 + d₁/(1 + d₂/(1 + …)))
/// ```
///
/// The continued fraction is summed by Lentz's method where it converges fast, x < (a + 1)/(a + b + 2); elsewhere
/// I_x(a, b) = 1 − I_(1−x)(b, a). `a` and `b` above 0.
///
/// # Sources
/// NIST Digital Library of Mathematical Functions, 8.17.22 (the fraction) and 8.17.4 (the reflection).
pub fn share_below(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let front =
        libm::exp(libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * libm::log(x) + b * libm::log1p(-x));
    if x < (a + 1.0) / (a + b + 2.0) {
        front / a * fraction(x, a, b)
    } else {
        1.0 - front / b * fraction(1.0 - x, b, a)
    }
}

const ROUNDS: u32 = 10_000;

fn fraction(x: f64, a: f64, b: f64) -> f64 {
    let off_zero = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / off_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for m in 1..ROUNDS {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for term in [even, odd] {
            d = 1.0 / off_zero(1.0 + term * d);
            c = off_zero(1.0 + term / c);
            step = c * d;
            value *= step;
        }
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}

/// The share below which a beta variable lies with this probability.
pub fn share_quantile(probability: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    // Halving sixty times leaves no digit of a share in doubt.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if share_below(middle, a, b) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Student's t: how many standard deviations on either side hold this share of all values, with `freedom` degrees of
/// freedom (above 0).
///
/// ```text
/// P(|T| ≤ t) = 1 − I_x(ν/2, ½),   x = ν/(ν + t²)
/// ```
///
/// Worked: 95 % with 7 degrees of freedom is ± 2.365.
///
/// # Sources
/// NIST Digital Library of Mathematical Functions, 8.17; Abramowitz and Stegun, 26.7.1.
pub fn student(inside: f64, freedom: f64) -> f64 {
    let x = share_quantile(1.0 - inside, freedom / 2.0, 0.5);
    libm::sqrt(freedom * (1.0 - x) / x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
    }

    /// From memory of the table of Student's t that is printed in every textbook, three decimals; the tolerance is half
    /// a unit of the last.
    #[test]
    fn students_t_agrees_with_the_table() {
        for (freedom, t) in [(1.0, 12.706), (4.0, 2.776), (7.0, 2.365), (11.0, 2.201), (30.0, 2.042), (1e6, 1.960)] {
            near(student(0.95, freedom), t, 5e-4);
        }
        near(student(0.6827, 2.0), 1.32, 5e-3);
    }

    /// For whole a and b the function is a tail of the binomial distribution (DLMF 8.17.5): arithmetic.
    #[test]
    fn whole_parameters_give_the_binomial_tail() {
        for (x, a, b) in [(0.1f64, 1u32, 6u32), (0.3, 4, 9), (0.8, 7, 2), (0.5, 30, 40)] {
            let n = a + b - 1;
            let tail: f64 = (a..=n)
                .map(|k| {
                    let ways = (0..k).fold(1.0, |w, i| w * f64::from(n - i) / f64::from(i + 1));
                    ways * x.powi(k as i32) * (1.0 - x).powi((n - k) as i32)
                })
                .sum();
            near(share_below(x, f64::from(a), f64::from(b)), tail, 1e-12);
        }
    }

    #[test]
    fn the_quantile_undoes_the_probability() {
        for (a, b) in [(1.0, 6.0), (15.0, 85.0), (0.5, 0.5), (300.0, 2000.0)] {
            for p in [0.025, 0.5, 0.975] {
                near(share_below(share_quantile(p, a, b), a, b), p, 1e-9);
            }
        }
    }
}
