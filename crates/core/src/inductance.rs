//! Inductance of a coil in air: the exact integral over a thick winding, and Nagaoka's thin solenoid beside it.
//!
//! Never to be compared with a data sheet's Le, which has the motor's iron in it.

use core::f64::consts::PI;

/// Magnetic constant, H/m. 4π·10⁻⁷ to within 1e-9, as the SI of 2019 leaves it (CODATA 2018: relative difference 5e-10).
pub const MU0: f64 = 4.0e-7 * PI;

/// Inductance of a thick coil of uniform current density, in henries.
///
/// ```text
/// L = N² · 2/ΔR² · ∫₀^ΔR ds ∫_{R1}^{R2−s} da · 2/h² · ∫₀^h (h − z)·M(a, a+s, z) dz
/// M = μ0·√(ab)·[(2/k − k)·K(k) − (2/k)·E(k)],   k² = 4ab / ((a+b)² + z²)
/// ```
///
/// `r1`, `r2` inside and outside radius, `h` axial length, all in metres; `n` turns. `points` nodes of Gauss–Legendre are
/// used in `s` and `z` (which carry the logarithmic peak of M, tamed by the substitutions s = ΔR·t⁴ and z = h·u⁴) and
/// fewer in `a`: 16 give about 1e-6 on voice-coil shapes, 48 about 1e-11. The insulation's share of the section is left
/// out: usually 1–2 % and less above 50 turns (Rosa 1906).
///
/// # Sources
/// Mutual inductance of coaxial circles: Maxwell; Rosa & Grover, Bulletin of the Bureau of Standards 8 (1912).
pub fn thick_coil(n: f64, r1: f64, r2: f64, h: f64, points: usize) -> f64 {
    let (fine, coarse) = (gauss_legendre(points), gauss_legendre(points.div_ceil(3).max(3)));
    let dr = r2 - r1;
    let mut total = 0.0;
    for &(xt, wt) in &fine {
        let t3 = xt * xt * xt;
        let (s, ds) = (dr * t3 * xt, 4.0 * dr * t3 * wt);
        let span = dr - s;
        for &(xa, wa) in &coarse {
            let a = r1 + span * xa;
            let mut inner = 0.0;
            for &(xu, wu) in &fine {
                let u3 = xu * xu * xu;
                let z = h * u3 * xu;
                inner += 4.0 * h * u3 * wu * (h - z) * coaxial_loops(a, a + s, z);
            }
            total += ds * span * wa * inner;
        }
    }
    n * n * total * 2.0 / (dr * dr) * 2.0 / (h * h)
}

/// Inductance of a thin solenoid (a current sheet), in henries: mean radius `a`, axial length `l` in metres, `n` turns.
///
/// ```text
/// L = μ0·π·a²·N²/l · K_N(2a/l)
/// ```
///
/// # Sources
/// Lorenz 1879; Nagaoka, J. Coll. Sci. Tokyo 27 (1909), whose table of K_N the tests compare with.
pub fn thin_coil(n: f64, a: f64, l: f64) -> f64 {
    MU0 * PI * a * a * n * n / l * nagaoka(2.0 * a / l)
}

/// Nagaoka's coefficient for `u` = diameter/length, by complete elliptic integrals.
///
/// ```text
/// K_N = 4/(3π√m₁)·[m₁/m·(K − E) + E − √m],   m = u²/(1+u²), m₁ = 1 − m
/// ```
pub fn nagaoka(u: f64) -> f64 {
    let m1 = 1.0 / (1.0 + u * u);
    let m = u * u * m1;
    let (k, e) = elliptic(m1);
    4.0 / (3.0 * PI * libm::sqrt(m1)) * (m1 / m * (k - e) + e - libm::sqrt(m))
}

/// Wheeler's estimate for a coil of several layers, in henries: an estimate, never to be shown as more.
///
/// ```text
/// L = 0.8·a²·N² / (6a + 9b + 10c) µH,   lengths in inches
/// ```
///
/// `a` mean radius, `b` axial length, `c` radial depth in metres; `n` turns. Good to about 1 % where the three terms below
/// the line are about equal; voice coils are shorter and thinner than that, and it comes out 1 to 3.7 % high on them.
///
/// # Sources
/// Wheeler, Proceedings of the IRE 16 (1928), by a later print of the formula.
pub fn wheeler(n: f64, a: f64, b: f64, c: f64) -> f64 {
    const INCH: f64 = 0.0254;
    let (a, b, c) = (a / INCH, b / INCH, c / INCH);
    0.8e-6 * a * a * n * n / (6.0 * a + 9.0 * b + 10.0 * c)
}

/// Mutual inductance of two coaxial circles of radii `a`, `b`, `z` apart, in henries.
pub(crate) fn coaxial_loops(a: f64, b: f64, z: f64) -> f64 {
    let far = (a + b) * (a + b) + z * z;
    // Formed directly: 1 − k² would lose all digits where the circles nearly coincide.
    let m1 = ((a - b) * (a - b) + z * z) / far;
    let (big_k, e) = elliptic(m1);
    let k = libm::sqrt(4.0 * a * b / far);
    MU0 * libm::sqrt(a * b) * ((2.0 / k - k) * big_k - 2.0 / k * e)
}

/// Complete elliptic integrals K and E for the complementary parameter `m1` = 1 − k², by the arithmetic–geometric mean.
fn elliptic(m1: f64) -> (f64, f64) {
    let (mut a, mut b) = (1.0, libm::sqrt(m1));
    let mut c2 = 1.0 - m1;
    let mut sum = 0.5 * c2;
    let mut weight = 0.5;
    while c2 > 1e-17 {
        let mean = 0.5 * (a + b);
        let c = 0.5 * (a - b);
        b = libm::sqrt(a * b);
        a = mean;
        c2 = c * c;
        weight *= 2.0;
        sum += weight * c2;
    }
    let k = PI / (2.0 * a);
    (k, k * (1.0 - sum))
}

/// Nodes and weights of Gauss–Legendre integration on [0, 1].
pub(crate) fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let mut x = libm::cos(PI * (i as f64 + 0.75) / (n as f64 + 0.5));
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut p, mut before) = (1.0, 0.0);
                for j in 1..=n {
                    let j = j as f64;
                    (p, before) = (((2.0 * j - 1.0) * x * p - (j - 1.0) * before) / j, p);
                }
                slope = n as f64 * (x * p - before) / (x * x - 1.0);
                let step = p / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Nagaoka 1909, p. 31, six printed digits (u = 0.25, 0.5, 1, 2, 5 as public copies of that table give them).
    #[test]
    fn nagaokas_printed_table() {
        for (u, printed) in [(0.25, 0.901649), (0.5, 0.818136), (1.0, 0.688423), (2.0, 0.525510), (5.0, 0.319825)] {
            assert!((nagaoka(u) - printed).abs() < 1e-6, "{u}: {} against {printed}", nagaoka(u));
        }
    }

    /// Source: Lyle, Phil. Trans. A 213 (1914), p. 429: thin coils of mean radius 1 m, L/N² in 1e-7 H; seven printed digits.
    #[test]
    fn lyles_thin_coils() {
        assert!((thin_coil(1.0, 1.0, 2.0) / MU0 - 1.08137).abs() < 5e-6);
        assert!((thin_coil(1.0, 1.0, 1.0) * 1e7 - 20.7463).abs() < 5e-5);
        assert!((thin_coil(1.0, 1.0, 0.5) * 1e7 - 28.85335).abs() < 5e-5);
    }

    /// Wheeler's estimate on three voice-coil shapes. Source of the figures: arithmetic by another script (regression
    /// values); it is 1.07, 2.03 and 3.65 % above the exact integral there.
    #[test]
    fn wheelers_estimate_runs_high_on_voice_coils() {
        for (n, r1, c, h, estimate, over_pct) in [
            (120.0, 12.75e-3, 0.44e-3, 13e-3, 382.97090e-6, 1.07),
            (200.0, 19.25e-3, 1.32e-3, 16e-3, 1.80514632e-3, 2.03),
            (60.0, 37.5e-3, 0.88e-3, 13e-3, 461.78277e-6, 3.65),
        ] {
            let got = wheeler(n, r1 + c / 2.0, h, c);
            assert!((got / estimate - 1.0).abs() < 1e-7, "{got} against {estimate}");
            let over = 100.0 * (got / thick_coil(n, r1, r1 + c, h, 24) - 1.0);
            assert!((over - over_pct).abs() < 0.006, "{over} against {over_pct}");
        }
    }

    /// A coil of 1000 turns, 1 in inside, 3 in outside, 2 in long: 22.9 mH. Source: a well-known finite-element tutorial,
    /// from memory. Tolerance 0.3 %: half a unit of the printed digit is 0.22 %, the rest for the tutorial's mesh.
    #[test]
    fn a_printed_coil_of_a_thousand_turns() {
        let got = 1e3 * thick_coil(1000.0, 0.0127, 0.0381, 0.0508, 32);
        assert!((got / 22.9 - 1.0).abs() < 0.003, "{got} mH");
    }

    /// Brooks' coil (square section c, R1 = c, R2 = 2c): L/(N²·a) = 1.6994e-6 H/m. Source: Brooks 1931, value from memory.
    /// The other figures are exact integrals computed independently in Python (regression values): the two coils that
    /// Lyle's method puts at 90.9093 H and 5.62621 mH (public library tests), and three voice-coil shapes.
    #[test]
    fn thick_coils_agree_with_independent_integration() {
        let brooks = thick_coil(1.0, 0.1, 0.2, 0.1, 48) / 0.15;
        assert!((brooks / 1.6994e-6 - 1.0).abs() < 3e-5, "{brooks}");
        for (n, r1, r2, h, expected) in [
            (8388.0, 0.645, 0.787, 0.75, 90.90859491),
            (80.0, 0.246, 0.70, 0.1, 5.62405993e-3),
            (120.0, 12.75e-3, 13.19e-3, 13e-3, 378.93313e-6),
            (200.0, 19.25e-3, 20.57e-3, 16e-3, 1.76929473e-3),
            (60.0, 37.5e-3, 38.38e-3, 13e-3, 445.52313e-6),
        ] {
            let got = thick_coil(n, r1, r2, h, 48);
            assert!((got / expected - 1.0).abs() < 1e-8, "{got} against {expected}");
            let quick = thick_coil(n, r1, r2, h, 16);
            assert!((quick / expected - 1.0).abs() < 2e-6, "16 points: {quick} against {expected}");
        }
    }
}
