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
    /// What is not so with every former.
    pub particulars: Particulars,
}

/// What is not so with every former.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Particulars {
    /// Six outside diameters of a former that is used again: no blank is cut for it.
    pub reused: Option<[Measured<Length>; 6]>,
    /// Holes that let the air through.
    pub vents: Option<Vents>,
    /// Half the angle at the tip of a former that is a cone, in radians.
    pub cone: Option<f64>,
}

/// Round holes in the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vents {
    /// How many.
    pub count: u32,
    /// Their diameter.
    pub diameter: Length,
}

/// Factor on the standard deviation of six readings' mean: Student's t for five degrees of freedom at 68.3 % (GUM G.2).
const T_OF_SIX: f64 = 1.11;

/// Limit of a calliper of which nothing is said: 0.02 mm, common practice, no source.
pub const CALLIPER_LIMIT: Length = Length::from_mm(0.02);

/// Six outside diameters of a former: mean for lengths, greatest for the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// Their mean, with u = max(1.11·s/√6, the instrument's).
    pub mean: Measured<Length>,
    /// The greatest.
    pub greatest: Length,
    /// The least.
    pub least: Length,
}

impl Particulars {
    /// The outside of a former that is used again.
    pub fn outside(&self) -> Option<Outside> {
        let six = self.reused?;
        let mean = six.iter().map(|d| d.value.m()).sum::<f64>() / 6.0;
        let s = libm::sqrt(six.iter().map(|d| (d.value.m() - mean) * (d.value.m() - mean)).sum::<f64>() / 5.0);
        let own =
            |d: &Measured<Length>| if d.u > Length::ZERO { d.u.m() } else { CALLIPER_LIMIT.m() / libm::sqrt(3.0) };
        let instrument = six.iter().map(own).fold(0.0, f64::max);
        let u = (T_OF_SIX * s / libm::sqrt(6.0)).max(instrument);
        let most = |sign: f64| sign * six.iter().map(|d| sign * d.value.m()).fold(f64::NEG_INFINITY, f64::max);
        Some(Outside {
            mean: Measured::new(Length::from_m(mean), Length::from_m(u)),
            greatest: Length::from_m(most(1.0)),
            least: Length::from_m(most(-1.0)),
        })
    }
}

impl Former {
    /// Share of the wall that is there: 1 less the open share of the vent holes. Without a height nobody can tell, and
    /// without holes all of it is.
    ///
    /// ```text
    /// open share = n·πd²/4 / (π·(ID + t)·height)
    /// ```
    pub fn kept(&self) -> f64 {
        let Some((vents, height)) = self.particulars.vents.zip(self.height) else { return 1.0 };
        let d = vents.diameter.m();
        let wall = PI * (self.inside_diameter.value + self.wall.value).m() * height.value.m();
        1.0 - f64::from(vents.count) * PI / 4.0 * d * d / wall
    }
}

/// The flat piece that a cone is bent from: part of a ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sector {
    /// Radius of its inner edge.
    pub inner: f64,
    /// Radius of its outer edge; it ends at the inner one where the height is not known.
    pub outer: f64,
    /// Angle between its straight edges, radians, before the slit is cut off one of them.
    pub angle: f64,
}

impl Sector {
    /// The blank of a cone of half angle φ whose narrow end has the mean diameter `narrow`, `height` along the axis.
    ///
    /// ```text
    /// r = D/(2·sin φ)       R = r + height/cos φ       angle = 2π·sin φ
    /// ```
    ///
    /// All in metres and radians. Worked: 25.10 mm, 30°, 10 mm: radii 25.10 and 36.65 mm, angle 180°.
    pub fn of_cone(narrow: f64, half_angle: f64, height: f64) -> Sector {
        let inner = narrow / (2.0 * libm::sin(half_angle));
        Sector { inner, outer: inner + height / libm::cos(half_angle), angle: 2.0 * PI * libm::sin(half_angle) }
    }

    /// Area of the piece once a slit of this width is cut off, m².
    pub fn area(&self, slit: f64) -> f64 {
        0.5 * self.angle * (self.outer * self.outer - self.inner * self.inner) - slit * (self.outer - self.inner)
    }
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

    /// The side of a truncated cone is π·(r₁ + r₂)·slant height (Euclidean geometry).
    #[test]
    fn a_sector_has_the_area_of_the_cone_it_makes() {
        for (narrow, degrees, height) in [(0.0251, 30.0_f64, 0.010), (0.0512, 5.0, 0.03), (0.1, 0.2, 0.02)] {
            let phi = degrees.to_radians();
            let wide = narrow + 2.0 * height * phi.tan();
            let side = PI * (narrow + wide) / 2.0 * height / phi.cos();
            let got = Sector::of_cone(narrow, phi, height).area(0.0);
            assert!((got / side - 1.0).abs() < 1e-10, "{got} against {side}");
        }
        let s = Sector::of_cone(0.0251, PI / 6.0, 0.010);
        assert!((s.inner * 1e3 - 25.10).abs() < 0.005 && (s.outer * 1e3 - 36.647).abs() < 0.005);
        assert!((s.angle - PI).abs() < 1e-12);
    }

    #[test]
    fn six_diameters_give_their_mean_and_their_greatest() {
        let at = |mm: f64| Measured::certain(Length::from_mm(mm));
        let six = [51.20, 51.24, 51.22, 51.26, 51.20, 51.20].map(at);
        let o = Particulars { reused: Some(six), ..Particulars::default() }.outside().unwrap();
        assert!((o.mean.value.mm() - 51.22).abs() < 1e-9 && (o.greatest.mm() - 51.26).abs() < 1e-9);
        assert!((o.least.mm() - 51.20).abs() < 1e-9);
        // s = 0.02530 mm; 1.11·s/√6 = 0.01147 mm, below the calliper's 0.02/√3 = 0.01155 mm (arithmetic).
        assert!((o.mean.u.mm() - 0.011547).abs() < 1e-6, "{}", o.mean.u.mm());
    }
}
