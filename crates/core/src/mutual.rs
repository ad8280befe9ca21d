//! How strongly two windings on one axis are coupled: a thin ring or a single turn with a thick coil.

use crate::inductance::{coaxial_loops, gauss_legendre};

/// A cylinder of current around the axis: a former, or one turn. Metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Radius.
    pub radius: f64,
    /// Length along the axis.
    pub length: f64,
}

/// The rectangle that a winding fills, turned around the axis. Metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Inside radius.
    pub inner: f64,
    /// Outside radius.
    pub outer: f64,
    /// Length along the axis.
    pub length: f64,
}

/// Mutual inductance of a sheet and a winding, for one turn of each, in henries.
///
/// ```text
/// M = 1/(l_a·l_b·ΔR) · ∫ dr ∫ dz ∫ dz' M_loops(a, r, z − z')
///   = 1/ΔR · ∫ dr ∫ dd · w(d)/(l_a·l_b) · M_loops(a, r, d)
/// ```
///
/// `w(d)` is the length over which two intervals whose middles lie `offset` apart hold points at distance `d`: a trapezoid
/// with corners at offset ± (l_a ± l_b)/2. `points` nodes of Gauss–Legendre are used for each straight piece of it, drawn
/// together where the two surfaces meet (M has a logarithmic peak there); a third as many across the depth. Current is
/// taken as spread evenly over each section. 24 points give about 1e-7 on a former under its winding.
pub fn sheet_and_winding(sheet: Sheet, winding: Section, offset: f64, points: usize) -> f64 {
    let (fine, coarse) = (gauss_legendre(points), gauss_legendre(points.div_ceil(3).max(3)));
    let depth = winding.outer - winding.inner;
    if depth <= 0.0 {
        return sheets(sheet.radius, sheet.length, winding.inner, winding.length, offset, &fine);
    }
    // A turn within the winding: the peak lies inside the depth, so both sides of it are taken on their own.
    let split = sheet.radius.clamp(winding.inner, winding.outer);
    let mut total = 0.0;
    for far in [winding.inner, winding.outer] {
        let span = far - split;
        for &(x, weight) in &coarse {
            let x3 = x * x * x;
            let r = split + span * x3 * x;
            total +=
                span.abs() * 4.0 * x3 * weight * sheets(sheet.radius, sheet.length, r, winding.length, offset, &fine);
        }
    }
    total / depth
}

/// Mutual inductance of two coaxial sheets of radii `a`, `b` and lengths `la`, `lb` whose middles lie `offset` apart.
fn sheets(a: f64, la: f64, b: f64, lb: f64, offset: f64, nodes: &[(f64, f64)]) -> f64 {
    let (flat, foot) = (0.5 * (la - lb).abs(), 0.5 * (la + lb));
    let weight = |d: f64| {
        let off = (d - offset).abs();
        if off <= flat { la.min(lb) } else { (foot - off).max(0.0) }
    };
    let mut corners = [offset - foot, offset - flat, 0.0, offset + flat, offset + foot];
    corners.sort_by(f64::total_cmp);
    let mut total = 0.0;
    for pair in corners.windows(2) {
        let &[low, high] = pair else { continue };
        if high <= offset - foot || low >= offset + foot || high <= low {
            continue;
        }
        // From the end nearer to the peak at d = 0.
        let (from, to) = if low.abs() < high.abs() { (low, high) } else { (high, low) };
        for &(x, w) in nodes {
            let x3 = x * x * x;
            let d = from + (to - from) * x3 * x;
            total += (high - low) * 4.0 * x3 * w * weight(d) * coaxial_loops(a, b, d);
        }
    }
    total / (la * lb)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inductance::{MU0, thick_coil, thin_coil};
    use core::f64::consts::PI;

    /// Two sheets that coincide: their mutual inductance is the self-inductance of one, which Nagaoka's coefficient gives
    /// in closed form (his table and Lyle's coils are tested beside it).
    #[test]
    fn a_sheet_upon_itself_is_nagaokas_coil() {
        for (a, l) in [(1.0, 2.0), (0.025, 0.038), (0.05, 0.004)] {
            let sheet = Sheet { radius: a, length: l };
            let itself = Section { inner: a, outer: a, length: l };
            let got = sheet_and_winding(sheet, itself, 0.0, 32);
            let exact = thin_coil(1.0, a, l);
            assert!((got / exact - 1.0).abs() < 1e-9, "{a} × {l}: {got} against {exact}");
        }
    }

    /// A winding is the mean of its own sheets: averaging its mutual inductance over its depth gives its own inductance.
    #[test]
    fn a_winding_coupled_with_its_own_sheets_is_itself() {
        let winding = Section { inner: 12.75e-3, outer: 13.19e-3, length: 13e-3 };
        let nodes = gauss_legendre(12);
        let mean: f64 = nodes
            .iter()
            .map(|&(x, w)| {
                let radius = winding.inner + (winding.outer - winding.inner) * x;
                w * sheet_and_winding(Sheet { radius, length: winding.length }, winding, 0.0, 32)
            })
            .sum();
        let own = thick_coil(1.0, winding.inner, winding.outer, winding.length, 32);
        assert!((mean / own - 1.0).abs() < 2e-6, "{mean} against {own}");
    }

    /// Far apart, two small rings are dipoles: M = μ0·π·a²·b²/(2·d³).
    #[test]
    fn far_rings_couple_as_dipoles() {
        let (a, b, d) = (0.01, 0.02, 4.0);
        let got = sheet_and_winding(
            Sheet { radius: a, length: 1e-3 },
            Section { inner: b, outer: b + 1e-6, length: 1e-3 },
            d,
            16,
        );
        let dipoles = MU0 * PI * a * a * b * b / (2.0 * d * d * d);
        assert!((got / dipoles - 1.0).abs() < 2e-4, "{got} against {dipoles}");
    }

    #[test]
    fn the_side_on_which_the_ring_stands_over_does_not_matter() {
        let (ring, winding) =
            (Sheet { radius: 0.0256, length: 0.038 }, Section { inner: 0.0257, outer: 0.0262, length: 0.0147 });
        let (up, down) = (sheet_and_winding(ring, winding, 0.009, 24), sheet_and_winding(ring, winding, -0.009, 24));
        assert!((up / down - 1.0).abs() < 1e-12);
        assert!(up < sheet_and_winding(ring, winding, 0.0, 24));
    }
}
