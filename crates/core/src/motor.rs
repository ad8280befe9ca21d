//! The winding in the field: how much wire works there, and so how Bl goes from one coil to another in one motor.

use core::f64::consts::PI;

/// Height of the field over the thickness of the top plate, its fringe included: 1.45 ± 0.10. Common practice, no source.
pub const FIELD_OVER_PLATE: (f64, f64) = (1.45, 0.10);

/// A winding at least this many plates wide is overhung: it fills the field on both sides of the plate.
pub const OVERHUNG_OVER_PLATE: f64 = 1.55;

/// How the wire in the field is reckoned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Field {
    /// Both coils fill a field of this height, m, wherever they move: what counts is how close the turns lie.
    Filled(f64),
    /// A field of this height, m, which a coil may or may not fill.
    Tall(f64),
}

impl Field {
    /// The field of a plate for windings of these widths, m. Without a plate all are taken to fill it.
    pub fn for_widths(plate: Option<f64>, factor: f64, widths: &[f64]) -> Field {
        match plate {
            // The height of a field that is filled falls out of every ratio; 1 m stands for it where it is not known.
            None => Field::Filled(1.0),
            Some(plate) if widths.iter().all(|w| *w >= OVERHUNG_OVER_PLATE * plate) => Field::Filled(factor * plate),
            Some(plate) => Field::Tall(factor * plate),
        }
    }

    /// Length of wire that works in the field, m: Bl is proportional to it.
    ///
    /// ```text
    /// both overhung:  h_e/p · π·Σ D_i            so Bl'/Bl = (n'/n)·(p/p')·(D̄'/D̄)
    /// else:           Σ N_i·πD_i · min(1, h_e/W)
    /// ```
    ///
    /// `turns` and `diameters` by layer, `pitch` p, `width` W, h_e = 1.45 plate thicknesses. Between overhung coils the
    /// count of turns itself does not matter, only their density; an underhung coil works as a whole.
    pub fn wire_in_it(
        self,
        turns: impl Iterator<Item = f64>,
        diameters: impl Iterator<Item = f64>,
        pitch: f64,
        width: f64,
    ) -> f64 {
        match self {
            Field::Filled(height) => height / pitch * PI * diameters.sum::<f64>(),
            Field::Tall(height) => {
                let all: f64 = turns.zip(diameters).map(|(n, d)| n * PI * d).sum();
                all * (height / width).min(1.0)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wire(field: Field, turns: &[f64], diameters: &[f64], pitch: f64, width: f64) -> f64 {
        field.wire_in_it(turns.iter().copied(), diameters.iter().copied(), pitch, width)
    }

    #[test]
    fn overhung_coils_go_by_layers_pitch_and_diameter() {
        let field = Field::for_widths(Some(6e-3), 1.45, &[15e-3, 14e-3]);
        assert!(matches!(field, Field::Filled(_)));
        let a = wire(field, &[50.0, 49.0], &[38.7e-3, 39.2e-3], 0.28e-3, 15e-3);
        let b = wire(field, &[60.0, 59.0, 59.0, 59.0], &[38.7e-3, 39.1e-3, 39.5e-3, 39.9e-3], 0.21e-3, 14e-3);
        let by_rule = (4.0 / 2.0) * (0.28 / 0.21) * ((38.7 + 39.1 + 39.5 + 39.9) / 4.0) / ((38.7 + 39.2) / 2.0);
        assert!((b / a / by_rule - 1.0).abs() < 1e-12);
    }

    #[test]
    fn an_underhung_coil_works_as_a_whole() {
        let field = Field::for_widths(Some(20e-3), 1.45, &[8e-3, 10e-3]);
        let all = wire(field, &[30.0, 29.0], &[38.7e-3, 39.2e-3], 0.28e-3, 8e-3);
        assert!((all - PI * (30.0 * 38.7e-3 + 29.0 * 39.2e-3)).abs() < 1e-12);
    }

    #[test]
    fn a_wider_winding_of_the_same_turns_never_works_with_more_wire() {
        let field = Field::Tall(8.7e-3);
        let mut before = f64::INFINITY;
        for width in [4e-3, 8e-3, 9e-3, 12e-3, 20e-3] {
            let now = wire(field, &[40.0], &[38e-3], width / 40.0, width);
            assert!(now <= before);
            before = now;
        }
    }
}
