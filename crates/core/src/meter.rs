//! How a resistance is measured, and how well: an ohmmeter by its papers, or any meter held against a known resistor.

use crate::measured::half_width_to_u;
use crate::quantity::Resistance;

/// How a resistance is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Meter {
    /// An ohmmeter by the limits in its papers.
    Class {
        /// Limit, as a share of the reading.
        share: f64,
        /// Limit, in further digits of the display.
        digits: f64,
        /// What one digit is.
        resolution: Resistance,
    },
    /// Any meter, held against a resistor of known value on the same leads: the meter's own scale drops out.
    Comparison {
        /// The resistor.
        reference: Resistance,
        /// Its limit, as a share.
        share: f64,
        /// What one digit of the meter is.
        resolution: Resistance,
        /// What the meter shows for the resistor, test leads included. `None`: readings are corrected by it already.
        shown: Option<Resistance>,
    },
}

impl Meter {
    /// A handheld meter at the setting with two decimals: 0.8 % + 3 digits; common practice, no source.
    pub const HANDHELD: Meter = Meter::Class { share: 0.008, digits: 3.0, resolution: Resistance::from_ohm(0.01) };

    /// Standard uncertainty that the meter gives a reading `shown` with `leads` of test leads in it, in ohms of the display.
    ///
    /// ```text
    /// class:       u = (share·shown + digits·resolution)/√3
    /// comparison:  u² = (share·coil)²/3 + resolution²/12·(1 + (coil/reference)²),   coil = shown − leads
    /// ```
    ///
    /// A class meter's limit covers its display; of a comparison the last digit enters twice, once in either reading.
    ///
    /// Worked: 0.8 % + 3 digits on 6 Ω is 0.201 Ω at 0.1 Ω a digit and 0.045 Ω at 0.01 Ω; a 1 % resistor of 6 Ω on the
    /// latter 0.035 Ω, which is 0.58 %.
    ///
    /// # Sources
    /// Limits and steps of a display as rectangular distributions: JCGM 100:2008, 4.3.7 and F.2.2.1.
    pub fn u(self, shown: Resistance, leads: Resistance) -> Resistance {
        Resistance::from_ohm(match self {
            Meter::Class { share, digits, resolution } => {
                half_width_to_u(share * shown.ohm().abs() + digits * resolution.ohm())
            }
            Meter::Comparison { reference, share, resolution, .. } => {
                let coil = (shown - leads).ohm() / self.gain(leads);
                let digit = resolution.ohm() / libm::sqrt(12.0) * libm::hypot(1.0, coil / reference.ohm());
                self.gain(leads) * libm::hypot(half_width_to_u(share * coil), digit)
            }
        })
    }

    /// What the meter shows for one ohm between its leads: 1 unless a resistor of known value says otherwise.
    pub fn gain(self, leads: Resistance) -> f64 {
        match self {
            Meter::Comparison { reference, shown: Some(shown), .. } => (shown - leads) / reference,
            _ => 1.0,
        }
    }

    /// How much of an error of the test leads ends in a coil of `coil` ohms, with its sign.
    ///
    /// All of it where they are only taken off; where they are taken off the coil and the resistor alike, what the two differ.
    pub fn share_of_leads(self, coil: Resistance) -> f64 {
        match self {
            Meter::Class { .. } => 1.0,
            Meter::Comparison { reference, .. } => 1.0 - coil / reference,
        }
    }

    /// Standard uncertainty that sets two readings of like size apart: its digits, not its scale, which is in both.
    pub fn repeats(self) -> Resistance {
        Resistance::from_ohm(match self {
            Meter::Class { digits, resolution, .. } => half_width_to_u(digits * resolution.ohm()),
            Meter::Comparison { resolution, .. } => resolution.ohm() / libm::sqrt(12.0),
        })
    }

    /// What one digit of the display is.
    pub fn resolution(self) -> Resistance {
        match self {
            Meter::Class { resolution, .. } | Meter::Comparison { resolution, .. } => resolution,
        }
    }

    /// In words.
    pub fn name(self) -> String {
        match self {
            Meter::Class { share, digits, resolution } => format!(
                "a meter of {} % + {} digits at {} Ω a digit",
                shown(100.0 * share),
                shown(digits),
                shown(resolution.ohm())
            ),
            Meter::Comparison { reference, share, resolution, .. } => format!(
                "comparison with a resistor of {} Ω known to {} % on the same leads, at {} Ω a digit",
                shown(reference.ohm()),
                shown(100.0 * share),
                shown(resolution.ohm())
            ),
        }
    }
}

/// Four decimals at most, no zeros behind.
fn shown(x: f64) -> String {
    let text = format!("{x:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const OHM: fn(f64) -> Resistance = Resistance::from_ohm;

    fn compared(shown: Option<f64>) -> Meter {
        Meter::Comparison { reference: OHM(5.6), share: 0.01, resolution: OHM(0.01), shown: shown.map(OHM) }
    }

    /// Arithmetic: 0.8 % + 3 digits on 6 Ω is ± 0.348 Ω at 0.1 Ω a digit and ± 0.078 Ω at 0.01 Ω, over √3.
    #[test]
    fn limits_of_the_papers_become_standard_uncertainties() {
        let coarse = Meter::Class { share: 0.008, digits: 3.0, resolution: OHM(0.1) };
        assert!((coarse.u(OHM(6.0), OHM(0.2)).ohm() - 0.348 / 3f64.sqrt()).abs() < 1e-12);
        assert!((Meter::HANDHELD.u(OHM(6.0), OHM(0.2)).ohm() - 0.078 / 3f64.sqrt()).abs() < 1e-12);
    }

    /// Arithmetic: 1 %/√3 of 5.6 Ω is 0.0323 Ω, two last digits of 0.01 Ω are 0.0041 Ω.
    #[test]
    fn a_comparison_is_as_good_as_its_resistor_and_two_last_digits() {
        let u = compared(None).u(OHM(5.8), OHM(0.2)).ohm();
        assert!((u - (0.056f64.powi(2) / 3.0 + 0.0001 / 6.0).sqrt()).abs() < 1e-12, "{u}");
        let coarse = Meter::Comparison { reference: OHM(5.6), share: 0.01, resolution: OHM(0.1), shown: None };
        assert!(coarse.u(OHM(5.8), OHM(0.2)).ohm() > 1.5 * u, "two digits of 0.1 Ω are not made good by the resistor");
    }

    /// The definition: coil = reference·(shown − leads)/(shown for the resistor − leads), and its slope in the leads.
    #[test]
    fn the_resistor_takes_out_the_scale_and_most_of_the_leads() {
        let meter = compared(Some(5.92));
        let coil = |leads: f64| (6.11 - leads) / meter.gain(OHM(leads));
        assert!((coil(0.2) - 5.6 * (6.11 - 0.2) / (5.92 - 0.2)).abs() < 1e-12);
        let slope = (coil(0.2 + 1e-6) - coil(0.2 - 1e-6)) / 2e-6 * meter.gain(OHM(0.2));
        assert!((slope + meter.share_of_leads(OHM(coil(0.2)))).abs() < 1e-6, "{slope}");
        assert_eq!(Meter::HANDHELD.gain(OHM(0.2)), 1.0);
        assert_eq!(Meter::HANDHELD.share_of_leads(OHM(5.0)), 1.0);
    }

    #[test]
    fn meters_have_names() {
        assert_eq!(Meter::HANDHELD.name(), "a meter of 0.8 % + 3 digits at 0.01 Ω a digit");
        assert!(compared(None).name().contains("5.6 Ω known to 1 %"));
    }
}
