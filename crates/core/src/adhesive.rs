//! Adhesives: what they weigh when cured, in what ratio they are mixed, how long they stay workable, how they cure.

use crate::measured::Measured;
use crate::quantity::{Density, Mass, Temperature};

/// Rise of temperature that doubles the rate of most adhesives' reaction, in kelvin: common practice, no source.
pub const DOUBLING_K: f64 = 10.0;
/// How far from a stated temperature that rule is trusted without a word, in kelvin: common practice, no source.
pub const RULE_TRUSTED_K: f64 = 20.0;
/// Temperature of a bench of which nothing is said: common practice, no source.
pub const BENCH: Temperature = Temperature::from_c(23.0);

/// What can hurt whoever works with an adhesive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Epoxy resin and hardener: sensitise the skin for good.
    Epoxy,
    /// A solvent that has to leave: flammable vapour.
    Solvent,
    /// Something else.
    Other,
}

impl Kind {
    /// From its word in tables and on the wire: `epoxy`, `solvent`, `other`.
    pub fn from_word(word: &str) -> Option<Kind> {
        Some(match word {
            "epoxy" => Kind::Epoxy,
            "solvent" => Kind::Solvent,
            "other" => Kind::Other,
            _ => return None,
        })
    }
}

/// An adhesive.
#[derive(Debug, Clone, PartialEq)]
pub struct Adhesive {
    /// What can hurt.
    pub kind: Kind,
    /// Density when cured.
    pub density: Measured<Density>,
    /// Mass of hardener for a mass of resin; none for one part.
    pub hardener: Option<f64>,
    /// How far that ratio may be off, as a fraction of it (a limit).
    pub ratio_limit: Option<f64>,
    /// Share of the mass that stays once it is dry: 1 without solvent.
    pub solids: f64,
    /// How long it stays workable.
    pub pot_life: Option<PotLife>,
    /// Rise of temperature that doubles its rate, in kelvin.
    pub doubling_k: f64,
    /// Stated cures, cool to hot.
    pub cures: Vec<Cure>,
    /// Temperature it bears in continuous use, where known.
    pub heat_limit: Option<Temperature>,
}

/// How long a mix stays workable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PotLife {
    /// Minutes from mixing.
    pub minutes: f64,
    /// At this temperature of the room.
    pub at: Temperature,
    /// In one cup of up to this much: a larger one heats itself.
    pub up_to: Option<Mass>,
}

/// A stated cure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cure {
    /// Temperature of the work, not of the oven's dial.
    pub at: Temperature,
    /// Hours at that temperature.
    pub hours: f64,
    /// Glass transition that it reaches, where stated.
    pub glass: Option<Temperature>,
}

/// A cure at a temperature asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CureAt {
    /// Hours at that temperature.
    pub hours: f64,
    /// Glass transition of the stated cure it rests on.
    pub glass: Option<Temperature>,
    /// The stated cure it rests on.
    pub from: Cure,
}

impl Adhesive {
    /// How much faster it reacts at `t` than at `from`.
    ///
    /// ```text
    /// rate(T)/rate(T₀) = 2^((T − T₀)/ΔT)
    /// ```
    ///
    /// ΔT is 10 K by common practice (no source). The law behind it is Arrhenius': near room temperature the rule stands for
    /// an activation energy of about 50 kJ/mol; far from the stated temperature it is a guess.
    pub fn rate(&self, from: Temperature, t: Temperature) -> f64 {
        libm::exp2((t.c() - from.c()) / self.doubling_k)
    }

    /// Minutes that a mix stays workable at `t`: the stated ones over [`Adhesive::rate`].
    ///
    /// Worked: 60 min at 23 °C are 30 min at 33 °C and 74 min at 20 °C.
    pub fn pot_life_at(&self, t: Temperature) -> Option<f64> {
        self.pot_life.map(|p| p.minutes / self.rate(p.at, t))
    }

    /// The cure at `t`, from the hottest stated cure that is no hotter, or from the coolest where all are.
    ///
    /// The glass transition is that of the cure it rests on: a hotter cure reaches more, which nobody stated; a cooler one
    /// reaches less, so none is answered.
    ///
    /// Worked: 24 h at 23 °C are 12 h at 33 °C.
    pub fn cure_at(&self, t: Temperature) -> Option<CureAt> {
        let cooler = self.cures.iter().rev().find(|c| c.at.c() <= t.c());
        let from = *cooler.or_else(|| self.cures.first())?;
        let glass = if cooler.is_some() { from.glass } else { None };
        Some(CureAt { hours: from.hours / self.rate(from.at, t), glass, from })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slow() -> Adhesive {
        let c = Temperature::from_c;
        Adhesive {
            kind: Kind::Epoxy,
            density: Measured::certain(Density::from_g_per_cm3(1.2)),
            hardener: Some(1.0),
            ratio_limit: Some(0.05),
            solids: 1.0,
            pot_life: Some(PotLife { minutes: 60.0, at: c(23.0), up_to: None }),
            doubling_k: DOUBLING_K,
            cures: vec![
                Cure { at: c(23.0), hours: 24.0, glass: Some(c(50.0)) },
                Cure { at: c(60.0), hours: 2.0, glass: Some(c(75.0)) },
            ],
            heat_limit: None,
        }
    }

    #[track_caller]
    fn near(met: f64, wanted: f64, within: f64) {
        assert!((met - wanted).abs() < within, "{met} against {wanted}");
    }

    /// Common practice, no source: the rate doubles with every 10 °C.
    #[test]
    fn ten_degrees_halve_the_pot_life_and_the_cure() {
        let at = |t| slow().pot_life_at(Temperature::from_c(t)).unwrap();
        near(at(23.0), 60.0, 1e-9);
        near(at(33.0), 30.0, 1e-9);
        near(at(13.0), 120.0, 1e-9);
        near(at(20.0), 60.0 * 1.231_144, 1e-3);
        near(slow().cure_at(Temperature::from_c(33.0)).unwrap().hours, 12.0, 1e-9);
    }

    /// Arrhenius' law k = A·exp(−E/RT) doubles from 20 to 30 °C at E = R·ln 2/(1/T₁ − 1/T₂); R = 8.314462618 J/(mol·K)
    /// (CODATA 2018). The rule of doubling must agree with it within 10 K to the 2 % by which 10 K steps differ there.
    #[test]
    fn the_rule_of_doubling_is_arrhenius_near_the_room() {
        let (r, t1, t2) = (8.314_462_618, 293.15, 303.15);
        let e = r * 2f64.ln() / (1.0 / t1 - 1.0 / t2);
        assert!((50e3..53e3).contains(&e), "{e}");
        for t in [293.15f64, 296.15, 298.15, 300.15, 303.15] {
            let arrhenius = (e / r * (1.0 / t1 - 1.0 / t)).exp();
            let rule = slow().rate(Temperature::from_c(20.0), Temperature::from_c(t - 273.15));
            near(rule / arrhenius, 1.0, 0.02);
        }
    }

    #[test]
    fn a_cure_rests_on_the_hottest_stated_one_that_is_no_hotter() {
        let at = |t| slow().cure_at(Temperature::from_c(t)).unwrap();
        assert_eq!(at(59.0).from.hours, 24.0);
        assert_eq!((at(60.0).hours, at(60.0).glass), (2.0, Some(Temperature::from_c(75.0))));
        assert_eq!(at(80.0).glass, Some(Temperature::from_c(75.0)));
        near(at(80.0).hours, 0.5, 1e-9);
    }

    #[test]
    fn below_every_stated_cure_no_glass_transition_is_promised() {
        let cold = slow().cure_at(Temperature::from_c(13.0)).unwrap();
        assert_eq!(cold.glass, None);
        near(cold.hours, 48.0, 1e-9);
        assert!(Adhesive { cures: Vec::new(), ..slow() }.cure_at(BENCH).is_none());
    }
}
