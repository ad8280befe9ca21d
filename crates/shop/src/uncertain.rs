//! Figures as they stand in facts: a bare number in the unit its member's name ends with, and its uncertainty.

use coilwright_core::measured::Measured;
use coilwright_core::quantity::{Length, LinearMass, LinearResistance, Mass, Resistance};
use serde::{Deserialize, Serialize};

/// A value with its standard uncertainty (k = 1); both in the unit that the member's name ends with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Uncertain {
    /// The best estimate.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

impl Uncertain {
    /// A value with its standard uncertainty.
    pub fn new(value: f64, u: f64) -> Uncertain {
        Uncertain { value, u }
    }
    /// Read as metres.
    pub fn metres(self) -> Measured<Length> {
        Measured::new(Length::from_m(self.value), Length::from_m(self.u))
    }
    /// Read as grams.
    pub fn grams(self) -> Measured<Mass> {
        Measured::new(Mass::from_g(self.value), Mass::from_g(self.u))
    }
    /// Read as grams per metre.
    pub fn grams_per_metre(self) -> Measured<LinearMass> {
        Measured::new(LinearMass::from_g_per_m(self.value), LinearMass::from_g_per_m(self.u))
    }
    /// Read as ohms.
    pub fn ohms(self) -> Measured<Resistance> {
        Measured::new(Resistance::from_ohm(self.value), Resistance::from_ohm(self.u))
    }
    /// Read as ohms per metre.
    pub fn ohms_per_metre(self) -> Measured<LinearResistance> {
        Measured::new(LinearResistance::from_ohm_per_m(self.value), LinearResistance::from_ohm_per_m(self.u))
    }
    /// A length in metres.
    pub fn of_metres(length: Measured<Length>) -> Uncertain {
        Uncertain::new(length.value.m(), length.u.m())
    }
    /// A mass in grams.
    pub fn of_grams(mass: Measured<Mass>) -> Uncertain {
        Uncertain::new(mass.value.g(), mass.u.g())
    }
    /// A resistance in ohms.
    pub fn of_ohms(ohm: Measured<Resistance>) -> Uncertain {
        Uncertain::new(ohm.value.ohm(), ohm.u.ohm())
    }
    /// Whether both are finite and the uncertainty is not negative.
    pub(crate) fn is_sane(self) -> bool {
        self.value.is_finite() && self.u.is_finite() && self.u >= 0.0
    }
}

/// An amount of money: decimal text, never a float.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Money {
    /// Decimal, e.g. `62.00`.
    pub amount: String,
    /// Three letters, e.g. `EUR`.
    pub currency: String,
}
