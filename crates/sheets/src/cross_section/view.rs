//! Chooses the two scales and maps real millimetres to millimetres on paper.

use super::CrossSection;
use super::geometry::Geometry;
use crate::number::short;

/// Scales that a drawing may have; a reader with a ruler can divide by them.
const SCALES: [f64; 25] = [
    0.1, 0.2, 0.25, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0,
    60.0, 80.0, 100.0, 200.0,
];

/// A window on paper and the map into it. Heights grow upward in reality and downward on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    /// Paper edges of the window.
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    /// Paper mm per real mm along the axis.
    pub axial: f64,
    /// Radial scale ÷ axial scale, whole.
    pub factor: f64,
    /// Paper position of radius `r0`.
    pub x0: f64,
    pub r0: f64,
    /// Paper position of height 0.
    pub y0: f64,
}

impl View {
    /// Fits radii `r` and heights `z` into the window, leaving `steel` paper mm on either side for pole and plate.
    pub(super) fn fit(window: [f64; 4], steel: f64, r: (f64, f64), z: (f64, f64), isotropic: bool) -> View {
        let [left, top, right, bottom] = window;
        let across = (right - left - 2.0 * steel) / (r.1 - r.0).max(1e-6);
        let along = (bottom - top) / (z.1 - z.0).max(1e-6);
        let axial = largest(along.min(across));
        let factor = if isotropic { 1.0 } else { whole(across / axial) };
        View {
            left,
            right,
            top,
            bottom,
            axial,
            factor,
            x0: left + steel,
            r0: r.0,
            y0: (top + bottom) / 2.0 + axial * (z.0 + z.1) / 2.0,
        }
    }

    pub(super) fn radial(&self) -> f64 {
        self.axial * self.factor
    }

    pub(super) fn x(&self, radius: f64) -> f64 {
        self.x0 + (radius - self.r0) * self.radial()
    }

    pub(super) fn y(&self, height: f64) -> f64 {
        self.y0 - height * self.axial
    }

    pub(super) fn at(&self, radius: f64, height: f64) -> (f64, f64) {
        (self.x(radius), self.y(height))
    }

    /// A paper position, moved into the window if it lies outside.
    pub(super) fn within(&self, p: (f64, f64)) -> (f64, f64) {
        (p.0.clamp(self.left, self.right), p.1.clamp(self.top, self.bottom))
    }

    /// Real height at a paper position.
    pub(super) fn height_at(&self, y: f64) -> f64 {
        (self.y0 - y) / self.axial
    }

    /// Whether anything of height `size` around `height` lies in the window.
    pub(super) fn shows(&self, height: f64, size: f64) -> bool {
        self.height_at(self.bottom) - size < height && height < self.height_at(self.top) + size
    }

    /// The map as an SVG transform, so that wires can be written at their real radius and height.
    pub(super) fn matrix(&self) -> String {
        format!("matrix({} 0 0 {} {} {})", self.radial(), -self.axial, self.x0 - self.r0 * self.radial(), self.y0)
    }

    /// `axial 4:1, radial 40:1 (radial scale 10× the axial)`.
    pub(super) fn scale_words(&self) -> String {
        if self.factor > 1.0 {
            format!(
                "axial {}, radial {} (radial scale {}× the axial)",
                ratio(self.axial),
                ratio(self.radial()),
                short(self.factor, 0)
            )
        } else {
            format!("{} both ways", ratio(self.axial))
        }
    }
}

/// `4:1` or `1:2`.
pub(super) fn ratio(scale: f64) -> String {
    if scale >= 1.0 { format!("{}:1", short(scale, 2)) } else { format!("1:{}", short(1.0 / scale, 2)) }
}

/// Radii and heights that the main view must hold: gap, former edge, winding, and some of the free former.
pub(super) fn extent(c: &CrossSection, g: &Geometry) -> ((f64, f64), (f64, f64)) {
    let pole = c.gap.and_then(|gap| gap.pole_mm).map(|d| d / 2.0);
    let bore = c.gap.and_then(|gap| gap.bore_mm).map(|d| d / 2.0);
    let plate = c.gap.and_then(|gap| gap.plate_mm.filter(|_| gap.bore_mm.is_some())).map_or(0.0, |h| h / 2.0);
    let outer = g.outermost_r(c.skin_mm);
    let coil = outer - g.inside_r;
    let low_r = pole.map_or(g.inside_r - 0.1 * coil, |p| p.min(g.inside_r));
    let high_r = bore.map_or(outer + 0.1 * coil, |b| b.max(outer));
    let (low, high) = (g.former_low.min(-plate), g.wind_high.max(plate));
    let body = high - low;
    // As much of the free former as helps to see that it goes on; the rest is broken off.
    let free = g.former_high.map_or(0.1 * body, |top| (top - high).clamp(0.0, 0.1 * body));
    ((low_r, high_r), (low - 0.04 * body, high + free + 0.04 * body))
}

/// The largest whole factor, of those that a ruler likes, not above `most`.
fn whole(most: f64) -> f64 {
    SCALES.iter().rev().copied().find(|&s| s.fract() == 0.0 && s <= most * (1.0 + 1e-9)).unwrap_or(1.0)
}

fn largest(most: f64) -> f64 {
    // Below the smallest preferred scale the drawing is simply made to fit.
    SCALES.iter().rev().copied().find(|&s| s <= most * (1.0 + 1e-9)).unwrap_or(most)
}
