//! Driver data: whichever of the known sets was given, completed to the rest, with what had to be taken for granted.

use core::f64::consts::PI;

/// Qms where nobody measured it: common practice, no source.
pub const USUAL_QMS: f64 = 5.0;

/// How far two figures that say the same may be apart before it is worth a word: measured by different means, 10 %.
const APART: f64 = 0.10;

/// What is known of a driver. SI units; `None` where nobody said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DriverData {
    /// Re: direct-current resistance of the coil, Ω.
    pub re: Option<f64>,
    /// Bl: force per ampere, T·m.
    pub bl: Option<f64>,
    /// Mms: moving mass with its air load, kg.
    pub mms: Option<f64>,
    /// fs: resonance in free air, Hz.
    pub fs: Option<f64>,
    /// Qms: mechanical quality.
    pub qms: Option<f64>,
    /// Qes: electrical quality.
    pub qes: Option<f64>,
    /// Qts: total quality.
    pub qts: Option<f64>,
    /// Sd: effective area of the diaphragm, m².
    pub sd: Option<f64>,
}

/// A driver as far as its data go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driver {
    /// Re, Ω.
    pub re: f64,
    /// Bl, T·m.
    pub bl: Option<f64>,
    /// Mms, kg.
    pub mms: Option<f64>,
    /// fs, Hz.
    pub fs: Option<f64>,
    /// Qms.
    pub qms: Option<f64>,
    /// Qes.
    pub qes: Option<f64>,
    /// Qts.
    pub qts: Option<f64>,
    /// Sd, m².
    pub sd: Option<f64>,
    /// What was taken for granted or derived.
    pub taken: Taken,
}

/// What a driver's data left open and how it was closed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Taken {
    /// Re is that of the original coil as described.
    pub re_of_coil: bool,
    /// Qms is [`USUAL_QMS`].
    pub qms_usual: bool,
    /// Qms follows from Qts and Qes.
    pub qms_from_q: bool,
    /// Bl follows from Qes, or from Qts and Qms.
    pub bl_from_q: bool,
    /// Qes follows from Bl, Mms, fs and Re, or from Qts and Qms.
    pub qes_derived: bool,
    /// A second figure disagrees with what the others give by more than a tenth: its name, as given, as derived.
    pub disagrees: Option<(&'static str, f64, f64)>,
}

/// Driver data that no driver has.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Impossible {
    /// A figure that is zero, negative, or beyond any driver.
    #[error("{figure} of {met} is outside what a driver can have, {min} to {max}")]
    OutOfRange {
        /// Which, as the trade calls it.
        figure: &'static str,
        /// As met, in the unit of the wire.
        met: f64,
        /// Least.
        min: f64,
        /// Greatest.
        max: f64,
    },
    /// Qts at or above Qes or Qms.
    #[error(
        "Qts {qts:.3} is not below {other} {value:.3}{derived}: 1/Qts is the sum of 1/Qes and 1/Qms, so Qts is below both"
    )]
    QtsTooHigh {
        /// Qts as given.
        qts: f64,
        /// `Qes` or `Qms`.
        other: &'static str,
        /// Its value.
        value: f64,
        /// Where that came from, if it was derived; begins with a comma.
        derived: &'static str,
    },
}

impl DriverData {
    /// Checks each figure by itself.
    ///
    /// # Errors
    /// The first that no driver has, in the unit of the wire (g, cm²).
    pub fn check(&self) -> Result<(), Impossible> {
        for (figure, met, scale, min, max) in [
            ("Re", self.re, 1.0, 0.05, 10_000.0),
            ("Bl", self.bl, 1.0, 0.01, 500.0),
            ("Mms", self.mms, 1e3, 0.01, 5_000.0),
            ("fs", self.fs, 1.0, 0.5, 20_000.0),
            ("Qms", self.qms, 1.0, 0.05, 200.0),
            ("Qes", self.qes, 1.0, 0.01, 200.0),
            ("Qts", self.qts, 1.0, 0.01, 100.0),
            ("Sd", self.sd, 1e4, 0.1, 20_000.0),
        ] {
            if let Some(met) =
                met.map(|m| m * scale).filter(|m| !(*m >= min * (1.0 - 1e-9) && *m <= max * (1.0 + 1e-9)))
            {
                return Err(Impossible::OutOfRange { figure, met, min, max });
            }
        }
        Ok(())
    }

    /// Completes the data.
    ///
    /// ```text
    /// Qes = 2πfs·Mms·Re/Bl²        1/Qts = 1/Qes + 1/Qms
    /// ```
    ///
    /// Bl and Qes may stand for each other once Mms, fs and Re are known; two of the three qualities give the third.
    /// Where the data leave Qms open, [`USUAL_QMS`] is taken; where Re is not given, that of the original coil,
    /// `coil_dcr`. Where Bl and a quality are both given and disagree, Bl rules and the disagreement is told.
    ///
    /// # Errors
    /// [`Impossible`] where a figure is none a driver has, or Qts does not lie below Qes and Qms.
    ///
    /// # Sources
    /// Small, Journal of the Audio Engineering Society 20 (1972), direct-radiator analysis.
    pub fn complete(&self, coil_dcr: f64) -> Result<Driver, Impossible> {
        self.check()?;
        let mut taken = Taken { re_of_coil: self.re.is_none(), ..Taken::default() };
        let re = self.re.unwrap_or(coil_dcr);
        // 2πfs·Mms·Re: Qes is this over Bl², and the other way round.
        let load = self.mms.zip(self.fs).map(|(mms, fs)| 2.0 * PI * fs * mms * re);
        let below = |qts: f64, other, value: f64, derived| {
            if qts < value {
                Ok(1.0 / (1.0 / qts - 1.0 / value))
            } else {
                Err(Impossible::QtsTooHigh { qts, other, value, derived })
            }
        };
        if let (Some(qts), Some(qes)) = (self.qts, self.qes) {
            below(qts, "Qes", qes, "")?;
        }
        if let (Some(qts), Some(qms)) = (self.qts, self.qms) {
            below(qts, "Qms", qms, "")?;
        }
        let by_bl = self.bl.zip(load).map(|(bl, load)| load / (bl * bl));
        let (mut bl, mut qms) = (self.bl, self.qms);
        let qes = match (by_bl, self.qes, self.qts) {
            (Some(derived), given, _) => {
                taken.qes_derived = given.is_none();
                taken.disagrees = given.filter(|g| apart(*g, derived)).map(|g| ("Qes", g, derived));
                Some(derived)
            }
            (None, Some(given), _) => Some(given),
            (None, None, Some(qts)) => {
                taken.qms_usual = qms.is_none();
                let m = *qms.get_or_insert(USUAL_QMS);
                taken.qes_derived = true;
                Some(below(qts, "Qms", m, if taken.qms_usual { ", which was assumed" } else { "" })?)
            }
            (None, None, None) => None,
        };
        if let (Some(qes), None) = (qes, qms) {
            (qms, taken.qms_from_q, taken.qms_usual) = match self.qts {
                Some(qts) => (Some(below(qts, "Qes", qes, ", as the other data give it")?), true, false),
                None => (Some(USUAL_QMS), false, true),
            };
        }
        if let (None, Some(qes), Some(load)) = (bl, qes, load) {
            bl = Some(libm::sqrt(load / qes));
            taken.bl_from_q = true;
        }
        let qts = qes.zip(qms).map(|(e, m)| e * m / (e + m));
        if let (None, Some(given), Some(derived)) = (taken.disagrees, self.qts, qts)
            && apart(given, derived)
        {
            taken.disagrees = Some(("Qts", given, derived));
        }
        Ok(Driver { re, bl, mms: self.mms, fs: self.fs, qms, qes, qts, sd: self.sd, taken })
    }
}

fn apart(given: f64, derived: f64) -> bool {
    (given / derived - 1.0).abs() > APART
}

#[cfg(test)]
mod tests {
    use super::*;

    const FULL: DriverData = DriverData {
        re: Some(5.8),
        bl: Some(7.2),
        mms: Some(0.0185),
        fs: Some(38.0),
        qms: Some(4.1),
        qes: None,
        qts: None,
        sd: Some(0.0214),
    };

    #[track_caller]
    fn near(got: Option<f64>, expected: f64) {
        assert!((got.unwrap() / expected - 1.0).abs() < 1e-12, "{got:?} against {expected}");
    }

    #[test]
    fn the_sets_lead_to_one_another() {
        let a = FULL.complete(1.0).unwrap();
        let (qes, qts) = (a.qes.unwrap(), a.qts.unwrap());
        near(Some(qes), 2.0 * PI * 38.0 * 0.0185 * 5.8 / (7.2 * 7.2));
        near(Some(1.0 / qts), 1.0 / qes + 1.0 / 4.1);
        let b = DriverData { bl: None, qes: Some(qes), ..FULL }.complete(1.0).unwrap();
        near(b.bl, 7.2);
        assert!(b.taken.bl_from_q && !a.taken.bl_from_q);
        let c = DriverData { bl: None, qms: None, qes: Some(qes), qts: Some(qts), ..FULL }.complete(1.0).unwrap();
        near(c.qms, 4.1);
        assert!(c.taken.qms_from_q);
        let d = DriverData { bl: None, qms: None, qts: Some(qts), ..FULL }.complete(1.0).unwrap();
        near(d.qms, USUAL_QMS);
        near(d.qts, qts);
        assert!(d.taken.qms_usual && d.taken.bl_from_q);
    }

    #[test]
    fn without_the_moving_mass_only_bl_and_re_remain() {
        let d = DriverData { mms: None, qms: None, ..FULL }.complete(1.0).unwrap();
        assert_eq!((d.re, d.bl, d.qes, d.qts, d.qms), (5.8, Some(7.2), None, None, None));
        let e = DriverData::default().complete(5.9).unwrap();
        assert_eq!((e.re, e.bl), (5.9, None));
        assert!(e.taken.re_of_coil);
    }

    #[test]
    fn a_total_quality_above_one_of_its_parts_is_impossible() {
        let too_high = |d: DriverData| assert!(matches!(d.complete(1.0), Err(Impossible::QtsTooHigh { .. })), "{d:?}");
        too_high(DriverData { qts: Some(0.5), qes: Some(0.5), ..DriverData::default() });
        too_high(DriverData { qts: Some(0.6), qes: Some(0.5), ..DriverData::default() });
        too_high(DriverData { qts: Some(4.2), ..FULL });
        too_high(DriverData { qts: Some(5.5), mms: Some(0.02), fs: Some(30.0), ..DriverData::default() });
        // Bl gives a Qes of 0.494, below this Qts.
        too_high(DriverData { qts: Some(0.55), qms: None, ..FULL });
    }

    #[test]
    fn nothing_is_negative_or_zero() {
        for bad in [-1.0, 0.0, f64::NAN, 1e9] {
            assert!(DriverData { re: Some(bad), ..FULL }.complete(1.0).is_err());
            assert!(DriverData { mms: Some(bad), ..FULL }.complete(1.0).is_err());
            assert!(DriverData { sd: Some(bad), ..FULL }.complete(1.0).is_err());
        }
    }

    #[test]
    fn two_figures_for_one_thing_are_compared() {
        let told = DriverData { qes: Some(0.9), ..FULL }.complete(1.0).unwrap();
        assert!(matches!(told.taken.disagrees, Some(("Qes", 0.9, _))));
        assert_eq!(told.bl, Some(7.2));
        let agrees = DriverData { qes: Some(0.5), ..FULL }.complete(1.0).unwrap();
        assert_eq!(agrees.taken.disagrees, None);
    }
}
