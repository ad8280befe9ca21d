//! Formers: the material of the tube that carries the winding, and the tube itself.

use crate::measured::Measured;
use crate::quantity::{Density, Length, Resistivity, Temperature};
use core::f64::consts::PI;

/// A former material.
#[derive(Debug, Clone, PartialEq)]
pub struct FormerMaterial {
    /// Density.
    pub density: Measured<Density>,
    /// Resistivity at 20 °C: present for a metal, absent for an insulator.
    pub resistivity: Option<Resistivity>,
    /// Temperature it bears in continuous use, where known.
    pub heat_limit: Option<Temperature>,
    /// Linear expansion per kelvin, where known.
    pub expansion_per_k: Option<f64>,
}

impl FormerMaterial {
    /// Whether a closed ring of it is a shorted turn.
    pub fn is_metal(&self) -> bool {
        self.resistivity.is_some()
    }
}

/// A former as it will be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Former {
    /// What it is made of.
    pub material: FormerMaterial,
    /// Inside diameter.
    pub inside_diameter: Measured<Length>,
    /// Wall thickness.
    pub wall: Measured<Length>,
    /// Height along the axis; without it neither the blank's width nor the former's mass is known.
    pub height: Option<Measured<Length>>,
    /// Width of the slit left open between the ends of the blank; zero for a butt seam or a closed tube.
    pub slit: Length,
    /// Release shims on each side between mandrel and former, together.
    pub shims: Length,
}

/// Length of the flat strip before bending: the circumference at the middle of the wall, less the slit.
///
/// ```text
/// blank = π·(ID + t) − slit
/// ```
///
/// All in metres. Worked: 51.00 mm inside, 0.12 mm wall, 1.0 mm slit: 159.60 mm.
pub fn blank_length(inside_diameter: f64, wall: f64, slit: f64) -> f64 {
    PI * (inside_diameter + wall) - slit
}

/// How much a diameter grows from one temperature to another, negative if it shrinks.
///
/// ```text
/// ΔD = α·D·(T − T₀)
/// ```
///
/// Worked: 51 mm of aluminium (23e-6 /K) from 23 to 180 °C: 0.184 mm.
pub fn growth(expansion_per_k: f64, diameter: Length, from: Temperature, to: Temperature) -> Length {
    diameter * (expansion_per_k * (to.c() - from.c()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Expansions: Industrial Power Engineering and Applications Handbook, p. 969–970, copper 17.3e-6 and aluminium 23e-6 per
    /// kelvin; a metre of either over 100 K is 1.73 and 2.30 mm, to the digits of the print.
    #[test]
    fn a_metre_grows_as_the_tables_say() {
        use crate::conductor::Conductor;
        let (cold, hot) = (Temperature::from_c(20.0), Temperature::from_c(120.0));
        for (metal, mm) in [(Conductor::Copper, 1.73), (Conductor::Aluminium, 2.30)] {
            let grown = growth(metal.expansion_per_k(), Length::from_m(1.0), cold, hot);
            assert!((grown.mm() - mm).abs() < 0.005, "{}", grown.mm());
            assert!((growth(metal.expansion_per_k(), Length::from_m(1.0), hot, cold).mm() + mm).abs() < 0.005);
        }
    }

    /// Regression value (worked case of a 51 mm coil, arithmetic by hand).
    #[test]
    fn blank_of_a_51_mm_former() {
        assert!((blank_length(0.051, 0.00012, 0.001) * 1e3 - 159.60).abs() < 0.005);
    }
}
