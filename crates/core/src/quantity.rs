//! Quantities: one newtype each, SI inside, unit names only in constructors and getters.
//!
//! Only operations that mean something exist. A value is finite by the time it gets here: the door (the service's
//! conversion, the catalog's reading of tables) refuses NaN and infinity.

use core::iter::Sum;
use core::ops::{Add, Div, Mul, Neg, Sub};
use serde::{Deserialize, Serialize};

/// What every quantity can do: go to and from its coherent SI value.
///
/// Written for code that treats all quantities alike (propagation of uncertainty, tables); formulas use the named
/// constructors and getters.
pub trait Quantity: Copy {
    /// From the value in the coherent SI unit.
    fn from_si(value: f64) -> Self;
    /// The value in the coherent SI unit.
    fn si(self) -> f64;
}

/// A bare ratio is a quantity of dimension one.
impl Quantity for f64 {
    fn from_si(value: f64) -> f64 {
        value
    }
    fn si(self) -> f64 {
        self
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident { $( $(#[$unit_doc:meta])* $from:ident, $to:ident = $scale:expr; )+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: $name = $name(0.0);
            $(
                $(#[$unit_doc])*
                pub const fn $from(value: f64) -> $name { $name(value * $scale) }
                $(#[$unit_doc])*
                pub const fn $to(self) -> f64 { self.0 / $scale }
            )+
            /// The greater of two.
            pub fn max(self, other: $name) -> $name { $name(self.0.max(other.0)) }
            /// The lesser of two.
            pub fn min(self, other: $name) -> $name { $name(self.0.min(other.0)) }
            /// Without its sign.
            pub fn abs(self) -> $name { $name(self.0.abs()) }
        }

        impl Quantity for $name {
            fn from_si(value: f64) -> Self { $name(value) }
            fn si(self) -> f64 { self.0 }
        }
        impl Add for $name { type Output = $name; fn add(self, o: $name) -> $name { $name(self.0 + o.0) } }
        impl Sub for $name { type Output = $name; fn sub(self, o: $name) -> $name { $name(self.0 - o.0) } }
        impl Neg for $name { type Output = $name; fn neg(self) -> $name { $name(-self.0) } }
        impl Mul<f64> for $name { type Output = $name; fn mul(self, k: f64) -> $name { $name(self.0 * k) } }
        impl Mul<$name> for f64 { type Output = $name; fn mul(self, q: $name) -> $name { $name(self * q.0) } }
        impl Div<f64> for $name { type Output = $name; fn div(self, k: f64) -> $name { $name(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: $name) -> f64 { self.0 / o.0 } }
        impl Sum for $name { fn sum<I: Iterator<Item = $name>>(i: I) -> $name { $name(i.map(|q| q.0).sum()) } }
    };
}

quantity! {
    /// A length: wire, diameters, clearances.
    Length {
        /// Metres.
        from_m, m = 1.0;
        /// Millimetres.
        from_mm, mm = 1e-3;
        /// Micrometres.
        from_um, um = 1e-6;
    }
}
quantity! {
    /// A mass.
    Mass {
        /// Kilograms.
        from_kg, kg = 1.0;
        /// Grams.
        from_g, g = 1e-3;
    }
}
quantity! {
    /// Mass of a metre of wire.
    LinearMass {
        /// Kilograms per metre.
        from_kg_per_m, kg_per_m = 1.0;
        /// Grams per metre.
        from_g_per_m, g_per_m = 1e-3;
    }
}
quantity! {
    /// Electrical resistance.
    Resistance {
        /// Ohms.
        from_ohm, ohm = 1.0;
    }
}
quantity! {
    /// Resistance of a metre of wire, at 20 °C unless said otherwise.
    LinearResistance {
        /// Ohms per metre.
        from_ohm_per_m, ohm_per_m = 1.0;
    }
}
quantity! {
    /// Resistivity, at 20 °C unless said otherwise.
    Resistivity {
        /// Ohm metres.
        from_ohm_m, ohm_m = 1.0;
    }
}
quantity! {
    /// Mass of a volume.
    Density {
        /// Kilograms per cubic metre.
        from_kg_per_m3, kg_per_m3 = 1.0;
        /// Grams per cubic centimetre.
        from_g_per_cm3, g_per_cm3 = 1e3;
    }
}
quantity! {
    /// A temperature on the Celsius scale.
    Temperature {
        /// Degrees Celsius.
        from_c, c = 1.0;
    }
}
quantity! {
    /// Mechanical stress.
    Stress {
        /// Newtons per square metre.
        from_pa, pa = 1.0;
        /// Newtons per square millimetre.
        from_n_per_mm2, n_per_mm2 = 1e6;
    }
}
quantity! {
    /// Inductance.
    Inductance {
        /// Henries.
        from_h, h = 1.0;
        /// Microhenries.
        from_uh, uh = 1e-6;
    }
}

impl Mul<Length> for LinearMass {
    type Output = Mass;
    fn mul(self, l: Length) -> Mass {
        Mass(self.0 * l.0)
    }
}
impl Div<LinearMass> for Mass {
    type Output = Length;
    fn div(self, m: LinearMass) -> Length {
        Length(self.0 / m.0)
    }
}
impl Mul<Length> for LinearResistance {
    type Output = Resistance;
    fn mul(self, l: Length) -> Resistance {
        Resistance(self.0 * l.0)
    }
}
impl Div<LinearResistance> for Resistance {
    type Output = Length;
    fn div(self, r: LinearResistance) -> Length {
        Length(self.0 / r.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_convert_into_si_and_back() {
        assert_eq!(Length::from_mm(25.4).m(), 0.0254);
        assert!((Length::from_um(254.0).mm() - 0.254).abs() < 1e-15);
        assert_eq!(Mass::from_g(412.6).kg(), 0.4126);
    }

    #[test]
    fn mass_over_mass_per_metre_is_a_length() {
        let left = Mass::from_g(4.6312) / LinearMass::from_g_per_m(0.46312);
        assert!((left.m() - 10.0).abs() < 1e-12);
    }
}
