//! Conductors: what copper, aluminium and copper-clad aluminium are, whatever the size of the wire.

use crate::quantity::{Density, Resistivity, Stress, Temperature};
use serde::{Deserialize, Serialize};

/// The metal of a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Conductor {
    /// Annealed copper, 100 % IACS.
    Copper,
    /// Electrical-grade aluminium, 61 % IACS.
    Aluminium,
    /// Aluminium clad with copper, 10 % copper by volume.
    Cca10,
    /// Aluminium clad with copper, 15 % copper by volume.
    Cca15,
}

impl Conductor {
    /// All of them.
    pub const ALL: [Conductor; 4] = [Conductor::Copper, Conductor::Aluminium, Conductor::Cca10, Conductor::Cca15];

    /// The word on the wire and in tables: `copper`, `aluminium`, `cca10`, `cca15`.
    pub fn word(self) -> &'static str {
        match self {
            Conductor::Copper => "copper",
            Conductor::Aluminium => "aluminium",
            Conductor::Cca10 => "cca10",
            Conductor::Cca15 => "cca15",
        }
    }

    /// From its word.
    pub fn from_word(word: &str) -> Option<Conductor> {
        Conductor::ALL.into_iter().find(|c| c.word() == word)
    }

    /// The name as people say it.
    pub fn name(self) -> &'static str {
        match self {
            Conductor::Copper => "copper",
            Conductor::Aluminium => "aluminium",
            Conductor::Cca10 => "copper-clad aluminium, 10 %",
            Conductor::Cca15 => "copper-clad aluminium, 15 %",
        }
    }

    /// Resistivity at 20 °C.
    ///
    /// # Sources
    /// Copper 1/58 Ω·mm²/m: NBS Handbook 100 (1966), IEC 60028. Aluminium 61 % IACS: NBS Handbook 109. Copper-clad: typical
    /// values behind the conductivity limits of ASTM B566 (62.9 and 64.4 % IACS at least), computed from a maker's table.
    pub fn resistivity(self) -> Resistivity {
        Resistivity::from_ohm_m(match self {
            Conductor::Copper => 1.0 / 58.0 * 1e-6,
            Conductor::Aluminium => 2.8264e-8,
            Conductor::Cca10 => 2.671e-8,
            Conductor::Cca15 => 2.589e-8,
        })
    }

    /// Temperature coefficient of resistance at 20 °C, per kelvin.
    ///
    /// # Sources
    /// Copper 0.00393: NBS Handbook 100. Aluminium 0.00403: NBS Handbook 109. Copper-clad 0.0040: from memory, unverified.
    pub fn alpha20(self) -> f64 {
        match self {
            Conductor::Copper => 0.003_93,
            Conductor::Aluminium => 0.004_03,
            Conductor::Cca10 | Conductor::Cca15 => 0.004_0,
        }
    }

    /// Density of the metal.
    ///
    /// # Sources
    /// Copper 8.89: NBS Handbook 100. Aluminium 2.703: from memory (ASTM B230). Copper-clad 3.32 and 3.63: ASTM B566.
    pub fn density(self) -> Density {
        Density::from_g_per_cm3(match self {
            Conductor::Copper => 8.89,
            Conductor::Aluminium => 2.703,
            Conductor::Cca10 => 3.32,
            Conductor::Cca15 => 3.63,
        })
    }

    /// Linear expansion, per kelvin.
    ///
    /// # Sources
    /// Copper 17.3e-6 and aluminium 23e-6: Industrial Power Engineering and Applications Handbook, p. 969–970.
    /// Copper-clad 22e-6: from memory, unverified.
    pub fn expansion_per_k(self) -> f64 {
        match self {
            Conductor::Copper => 17.3e-6,
            Conductor::Aluminium => 23e-6,
            Conductor::Cca10 | Conductor::Cca15 => 22e-6,
        }
    }

    /// Resistance at temperature `t` over resistance at 20 °C.
    ///
    /// ```text
    /// R(T)/R20 = 1 + α20·(T − 20 °C)
    /// ```
    ///
    /// Linear up to about 200 °C. Worked: copper at 25 °C is 1.01965, so 6.00 Ω at 25 °C is 5.8844 Ω at 20 °C.
    ///
    /// # Sources
    /// NBS Handbook 100 (1966).
    pub fn resistance_ratio(self, t: Temperature) -> f64 {
        1.0 + self.alpha20() * (t.c() - 20.0)
    }

    /// Winding stress for the first layer: the middle of what is advised.
    ///
    /// Copper 45 N/mm² within 34–55 (published winding-tension chart); aluminium 20 N/mm² within 15–25 (common practice,
    /// no source), taken for copper-clad aluminium too since its core is aluminium.
    pub fn winding_stress(self) -> Stress {
        Stress::from_n_per_mm2(match self {
            Conductor::Copper => 45.0,
            _ => 20.0,
        })
    }

    /// Between which it may lie: least and greatest advised, sources as above.
    pub fn winding_stress_advised(self) -> (Stress, Stress) {
        let (least, most) = match self {
            Conductor::Copper => (34.0, 55.0),
            _ => (15.0, 25.0),
        };
        (Stress::from_n_per_mm2(least), Stress::from_n_per_mm2(most))
    }

    /// Beyond this it stretches for good: copper 68.9 N/mm² (published winding-tension chart); not known of aluminium.
    pub fn winding_stress_cap(self) -> Option<Stress> {
        (self == Conductor::Copper).then(|| Stress::from_n_per_mm2(68.9))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NBS Handbook 100 (1966), linear law; table of factors 1 + 0.00393·(t − 20), exact arithmetic.
    #[test]
    fn copper_follows_the_linear_law_of_handbook_100() {
        for (t, factor) in [(0.0, 0.92140), (15.0, 0.98035), (25.0, 1.01965), (100.0, 1.31440), (200.0, 1.70740)] {
            let got = Conductor::Copper.resistance_ratio(Temperature::from_c(t));
            assert!((got - factor).abs() < 5e-6, "{t} °C: {got} against {factor}");
        }
    }

    /// IEC 60228 corrects copper with 254.5/(234.5 + t) and aluminium with 248/(228 + t): another convention, which
    /// differs from this one by at most 0.008 % (copper, to 200 °C) and 0.03 % (aluminium, to 100 °C, since its
    /// conductivity there is 61 %). Constants: IEC 60228; formula from memory.
    #[test]
    fn agrees_with_the_cable_standards_convention() {
        for t in [0.0, 10.0, 15.0, 30.0, 100.0, 150.0, 200.0] {
            let ours = Conductor::Copper.resistance_ratio(Temperature::from_c(t));
            assert!((ours * 254.5 / (234.5 + t) - 1.0).abs() < 8e-5, "{t}");
        }
        for t in [0.0, 10.0, 30.0, 100.0] {
            let ours = Conductor::Aluminium.resistance_ratio(Temperature::from_c(t));
            assert!((ours * 248.0 / (228.0 + t) - 1.0).abs() < 3e-4, "{t}");
        }
    }

    #[test]
    fn words_lead_back_to_their_conductor() {
        for c in Conductor::ALL {
            assert_eq!(Conductor::from_word(c.word()), Some(c));
        }
    }
}
