//! Where everything is, in real millimetres: radii from the axis, heights from the middle of the top plate.

use super::CrossSection;

/// Faces and ends of one coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Geometry {
    /// Inner face of the former.
    pub inside_r: f64,
    /// Outer face of the former.
    pub former_r: f64,
    /// Where the wire begins: former and glue film.
    pub base_r: f64,
    /// Outside of the nested winding, bare of skin.
    pub nested_r: f64,
    /// Outside at the cross-over, skin included.
    pub crossover_r: f64,
    /// Lower end of the winding.
    pub wind_low: f64,
    /// Upper end of the winding.
    pub wind_high: f64,
    /// Lower end of the former.
    pub former_low: f64,
    /// Upper end of the former, where its height is known.
    pub former_high: Option<f64>,
}

impl Geometry {
    /// ```text
    /// base   = inside/2 + wall + glue
    /// nested = base + o·(1 + b·(n − 1))
    /// ```
    pub(super) fn of(c: &CrossSection) -> Geometry {
        let inside_r = c.former_inside_mm / 2.0;
        let former_r = inside_r + c.wall_mm;
        let base_r = former_r + c.glue_mm;
        let upper_layers = c.turns_per_layer.len() as f64 - 1.0;
        let wind_low = c.offset_mm - c.width_mm / 2.0;
        // A former too short for the usual edge begins flush with the wire rather than leaving the winding in the air.
        let beyond =
            c.former_height_mm.map_or(c.former_beyond_mm, |h| c.former_beyond_mm.min((h - c.width_mm).max(0.0)));
        let former_low = wind_low - beyond;
        Geometry {
            inside_r,
            former_r,
            base_r,
            nested_r: base_r + c.overall_mm * (1.0 + c.nesting * upper_layers),
            crossover_r: c.outside_crossover_mm / 2.0,
            wind_low,
            wind_high: c.offset_mm + c.width_mm / 2.0,
            former_low,
            former_high: c.former_height_mm.map(|h| former_low + h),
        }
    }

    /// Outermost face of the coil.
    pub(super) fn outermost_r(&self, skin: f64) -> f64 {
        self.crossover_r.max(self.nested_r + skin)
    }
}

/// Centre of each wire as (radius, height), by layer, innermost layer and lowest turn first.
///
/// ```text
/// radius of layer i = base + o/2 + (i − 1)·b·o
/// ```
///
/// Every layer keeps the pitch; an upper layer lies over the grooves of the layer below, half a pitch along. A layer
/// that would be centred without lying in the grooves is moved half a pitch up.
pub(super) fn wires(c: &CrossSection) -> Vec<Vec<(f64, f64)>> {
    let base_r = Geometry::of(c).base_r;
    let first = c.turns_per_layer.first().copied().unwrap_or(0);
    c.turns_per_layer
        .iter()
        .enumerate()
        .map(|(i, &turns)| {
            let radius = base_r + c.overall_mm / 2.0 + i as f64 * c.nesting * c.overall_mm;
            // Centred layers lie in each other's grooves when one count is even and the other odd.
            let grooves_off = (turns.abs_diff(first) + i as u32) % 2 == 1;
            let shift = if grooves_off { 0.5 } else { 0.0 };
            let lowest = c.offset_mm + (shift - (f64::from(turns) - 1.0) / 2.0) * c.pitch_mm;
            (0..turns).map(|turn| (radius, lowest + f64::from(turn) * c.pitch_mm)).collect()
        })
        .collect()
}
