//! Wire: a conductor of a bare diameter under an insulation of an overall diameter, with what a metre of it weighs and
//! resists, and how well all that is known.

use crate::conductor::Conductor;
use crate::measured::{Measured, half_width_to_u};
use crate::origin::{Mark, Origin};
use crate::quantity::{Density, Length, LinearMass, LinearResistance, Quantity};
use core::f64::consts::FRAC_PI_4;
use serde::{Deserialize, Serialize};

/// Density of wire enamel: 1.35 g/cm³ with a standard uncertainty of 0.10.
///
/// Derived: a wire maker's catalogue prints bare and single-build masses for AWG 16–34; the enamel density that
/// reproduces them has the median 1.36 and mostly lies in 1.30–1.45.
pub const ENAMEL: Measured<Density> =
    Measured { value: Density::from_g_per_cm3(1.35), u: Density::from_g_per_cm3(0.10) };

/// Whether a source lists this wire or it was computed from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// A source lists it: it can be bought.
    Listed,
    /// The same size in another conductor: a candidate when a sample is identified, never proposed for buying.
    Computed,
    /// Given in the request by its figures.
    Inline,
}

/// Least and greatest value that a maker or a standard allows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Limits<Q> {
    /// Least.
    pub min: Q,
    /// Greatest.
    pub max: Q,
}

impl<Q: Quantity> Limits<Q> {
    /// Midway between them.
    pub fn middle(self) -> Q {
        Q::from_si(0.5 * (self.min.si() + self.max.si()))
    }
    fn u(self) -> f64 {
        half_width_to_u(0.5 * (self.max.si() - self.min.si()))
    }
}

/// What is known of a wire before the rest is computed. Only conductor, bare and overall diameter are needed.
#[derive(Debug, Clone, PartialEq)]
pub struct WireFigures {
    /// The metal.
    pub conductor: Conductor,
    /// Bare diameter; u = 0 when none was stated.
    pub bare: Measured<Length>,
    /// Limits of the bare diameter.
    pub bare_limits: Option<Limits<Length>>,
    /// Diameter over the insulation; the middle of its limits where only these are known.
    pub overall: Measured<Length>,
    /// Limits of the overall diameter.
    pub overall_limits: Option<Limits<Length>>,
    /// Resistance of a metre at 20 °C; a stated u means that it was measured on this very wire.
    pub ohm_per_m: Option<Measured<LinearResistance>>,
    /// Limits of it.
    pub ohm_per_m_limits: Option<Limits<LinearResistance>>,
    /// Mass of a metre with its insulation; a stated u means that it was measured on this very wire.
    pub g_per_m: Option<Measured<LinearMass>>,
}

/// Why figures make no wire.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WireError {
    /// The insulation would have a negative thickness.
    #[error("the overall diameter {overall_mm} mm is below the bare diameter {bare_mm} mm")]
    OverallBelowBare {
        /// Bare diameter, mm.
        bare_mm: f64,
        /// Overall diameter, mm.
        overall_mm: f64,
    },
    /// A maximum below its minimum, or a value outside its own limits.
    #[error("{what}: limits {min} to {max} do not hold {value}")]
    LimitsDoNotHold {
        /// Which figure, with its unit.
        what: &'static str,
        /// Least.
        min: f64,
        /// Greatest.
        max: f64,
        /// The value beside them.
        value: f64,
    },
    /// Figures that contradict each other by more than tolerances can explain.
    #[error("{what} is {met}, but the diameters and the conductor give {expected}: more than 25 % apart")]
    Contradiction {
        /// Which figure, with its unit.
        what: &'static str,
        /// As given.
        met: f64,
        /// As computed.
        expected: f64,
    },
}

/// A wire with everything filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Wire {
    /// The metal.
    pub conductor: Conductor,
    /// Bare diameter.
    pub bare: Measured<Length>,
    /// Limits of the bare diameter.
    pub bare_limits: Option<Limits<Length>>,
    /// Diameter over the insulation.
    pub overall: Measured<Length>,
    /// Limits of the overall diameter.
    pub overall_limits: Option<Limits<Length>>,
    /// Limits of the resistance of a metre at 20 °C.
    pub ohm_per_m_limits: Option<Limits<LinearResistance>>,
    /// What nobody stated and was filled in.
    pub origins: Vec<Origin>,
    ohm_per_m: Tied<LinearResistance>,
    g_per_m: Tied<LinearMass>,
}

/// A figure per metre that moves with the diameters unless it was measured itself.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Tied<Q> {
    nominal: Q,
    /// Relative standard uncertainty that does not come from the diameters.
    own: f64,
    follows_diameter: bool,
}

/// Relative u of a bare diameter of which nothing else is known; with 0.5 % of resistivity it makes 1.3 % of Ω/m.
const UNSTATED_BARE_U: f64 = 0.006;
/// Relative u of an overall diameter of which nothing else is known: single builds have limits of about ± 2.7 %.
const UNSTATED_OVERALL_U: f64 = 0.015;
/// Relative u of the resistivity of a metal and of the mass model: common practice, no source.
const MODEL_U: f64 = 0.005;

impl Wire {
    /// Completes `figures`: computes what is absent, and how well everything is known.
    ///
    /// # Errors
    /// [`WireError`] where the figures contradict each other.
    pub fn new(figures: WireFigures) -> Result<Wire, WireError> {
        let WireFigures { conductor, mut bare, bare_limits, mut overall, overall_limits, .. } = figures;
        if overall.value < bare.value {
            return Err(WireError::OverallBelowBare { bare_mm: bare.value.mm(), overall_mm: overall.value.mm() });
        }
        holds("bare_mm", bare_limits, bare.value, 1e-3)?;
        holds("overall_mm", overall_limits, overall.value, 1e-3)?;
        let mut origins = Vec::new();
        let given_r = figures.ohm_per_m.map(|r| r.value);
        if let (Some(l), Some(r)) = (figures.ohm_per_m_limits, given_r) {
            holds("ohm_per_m", Some(l), r, 1.0)?;
        }
        if bare.u == Length::ZERO {
            bare.u = match (bare_limits, figures.ohm_per_m_limits) {
                (Some(l), _) => Length::from_si(l.u()),
                (None, Some(l)) => bare.value * (0.5 * l.u() / l.middle().si()),
                (None, None) => {
                    let u = bare.value * UNSTATED_BARE_U;
                    origins.push(unstated(
                        "wire.bare_mm",
                        bare.value.mm(),
                        u.mm(),
                        "mm",
                        "u not stated: 0.6 % of the bare diameter taken",
                    ));
                    u
                }
            };
        }
        if overall.u == Length::ZERO {
            overall.u = match overall_limits {
                Some(l) => Length::from_si(l.u()),
                None => {
                    let u = overall.value * UNSTATED_OVERALL_U;
                    origins.push(unstated(
                        "wire.overall_mm",
                        overall.value.mm(),
                        u.mm(),
                        "mm",
                        "u not stated: 1.5 % of the overall diameter taken",
                    ));
                    u
                }
            };
        }
        let from_diameter = ohm_per_m(conductor, bare.value);
        let r = match figures.ohm_per_m {
            Some(m) if m.u > LinearResistance::ZERO => {
                Tied { nominal: m.value, own: m.u / m.value, follows_diameter: false }
            }
            Some(m) => Tied { nominal: m.value, own: MODEL_U, follows_diameter: true },
            None => Tied { nominal: from_diameter, own: MODEL_U, follows_diameter: true },
        };
        agree("ohm_per_m", r.nominal.ohm_per_m(), from_diameter.ohm_per_m())?;
        let r = match figures.ohm_per_m_limits {
            Some(l) if r.follows_diameter => {
                let total = l.u() / r.nominal.si();
                let by_diameter = 2.0 * (bare.u / bare.value);
                Tied { own: libm::sqrt((total * total - by_diameter * by_diameter).max(0.0)).max(MODEL_U * 0.2), ..r }
            }
            _ => r,
        };
        let from_diameters = linear_mass(conductor, bare.value, overall.value);
        let enamel = FRAC_PI_4 * ENAMEL.u.si() * (sq(overall.value.m()) - sq(bare.value.m())) / from_diameters.si();
        let m = match figures.g_per_m {
            Some(m) if m.u > LinearMass::ZERO => Tied { nominal: m.value, own: m.u / m.value, follows_diameter: false },
            given => Tied {
                nominal: given.map_or(from_diameters, |m| m.value),
                own: libm::sqrt(MODEL_U * MODEL_U + enamel * enamel),
                follows_diameter: true,
            },
        };
        agree("g_per_m", m.nominal.g_per_m(), from_diameters.g_per_m())?;
        Ok(Wire {
            conductor,
            bare,
            bare_limits,
            overall,
            overall_limits,
            ohm_per_m_limits: figures.ohm_per_m_limits,
            origins,
            ohm_per_m: r,
            g_per_m: m,
        })
    }

    /// Resistance of a metre at 20 °C.
    pub fn ohm_per_m(&self) -> Measured<LinearResistance> {
        let by_diameter = if self.ohm_per_m.follows_diameter { 2.0 * (self.bare.u / self.bare.value) } else { 0.0 };
        let u = libm::sqrt(sq(by_diameter) + sq(self.ohm_per_m.own));
        Measured::new(self.ohm_per_m.nominal, self.ohm_per_m.nominal * u)
    }

    /// Mass of a metre with its insulation.
    pub fn g_per_m(&self) -> Measured<LinearMass> {
        let (mut from_bare, mut from_overall) = (0.0, 0.0);
        if self.g_per_m.follows_diameter {
            let (d, big_d) = (self.bare.value.m(), self.overall.value.m());
            let metal = self.conductor.density().si();
            let enamel = ENAMEL.value.si();
            let m = linear_mass(self.conductor, self.bare.value, self.overall.value).si();
            from_bare = 2.0 * FRAC_PI_4 * (metal - enamel) * d * self.bare.u.m() / m;
            from_overall = 2.0 * FRAC_PI_4 * enamel * big_d * self.overall.u.m() / m;
        }
        let u = libm::sqrt(sq(from_bare) + sq(from_overall) + sq(self.g_per_m.own));
        Measured::new(self.g_per_m.nominal, self.g_per_m.nominal * u)
    }

    /// Resistance of a metre at 20 °C if the bare diameter were `bare` and everything else `factor` times its nominal.
    pub fn ohm_per_m_at(&self, bare: Length, factor: f64) -> LinearResistance {
        let by_diameter = if self.ohm_per_m.follows_diameter { sq(self.bare.value / bare) } else { 1.0 };
        self.ohm_per_m.nominal * (by_diameter * factor)
    }

    /// Mass of a metre if the diameters were `bare` and `overall` and everything else `factor` times its nominal.
    pub fn g_per_m_at(&self, bare: Length, overall: Length, factor: f64) -> LinearMass {
        let by_diameter = if self.g_per_m.follows_diameter {
            linear_mass(self.conductor, bare, overall)
                / linear_mass(self.conductor, self.bare.value, self.overall.value)
        } else {
            1.0
        };
        self.g_per_m.nominal * (by_diameter * factor)
    }

    /// Relative u of the factor in [`Wire::ohm_per_m_at`].
    pub fn ohm_per_m_own_u(&self) -> f64 {
        self.ohm_per_m.own
    }

    /// Relative u of the factor in [`Wire::g_per_m_at`].
    pub fn g_per_m_own_u(&self) -> f64 {
        self.g_per_m.own
    }

    /// Half the width of the resistance limits in per cent of the nominal, where limits of resistance or bare diameter are
    /// known: how far DCR may be off through the wire alone.
    pub fn resistance_limit_pct(&self) -> Option<f64> {
        if !self.ohm_per_m.follows_diameter {
            return None;
        }
        let nominal = self.ohm_per_m.nominal.si();
        self.ohm_per_m_limits
            .map(|l| 50.0 * (l.max.si() - l.min.si()) / nominal)
            .or_else(|| self.bare_limits.map(|l| 100.0 * (l.max - l.min).si() / self.bare.value.si()))
    }
}

/// Resistance of a metre of round wire at 20 °C.
///
/// ```text
/// r20 = ρ20 / (π d² / 4)
/// ```
///
/// `d` is the bare diameter. Worked: copper of 0.2540 mm has 0.34026 Ω/m.
pub fn ohm_per_m(conductor: Conductor, bare: Length) -> LinearResistance {
    LinearResistance::from_ohm_per_m(conductor.resistivity().si() / (FRAC_PI_4 * sq(bare.m())))
}

/// Mass of a metre of enamelled round wire.
///
/// ```text
/// m' = π/4 · (ρc·d² + ρe·(D² − d²))
/// ```
///
/// `d` bare, `D` overall, ρc the metal, ρe the enamel ([`ENAMEL`]). Worked: AWG 30 single, 0.2540 in 0.2769 mm: 0.463 g/m.
pub fn linear_mass(conductor: Conductor, bare: Length, overall: Length) -> LinearMass {
    let (d2, big_d2) = (sq(bare.m()), sq(overall.m()));
    LinearMass::from_kg_per_m(FRAC_PI_4 * (conductor.density().si() * d2 + ENAMEL.value.si() * (big_d2 - d2)))
}

/// Bare diameter of an AWG size by the standard's progression, before any rounding.
///
/// ```text
/// d = 0.127 mm · 92^((36 − n)/39)
/// ```
///
/// # Sources
/// ASTM B258; NBS Handbook 100 (1966), section 2.2.
pub fn awg_diameter(n: f64) -> Length {
    Length::from_mm(0.127 * libm::pow(92.0, (36.0 - n) / 39.0))
}

fn sq(x: f64) -> f64 {
    x * x
}

fn unstated(param: &str, value: f64, u: f64, unit: &'static str, source: &str) -> Origin {
    Origin { param: param.into(), value, u, unit, mark: Mark::CommonPractice, source: source.into() }
}

fn holds<Q: Quantity>(what: &'static str, limits: Option<Limits<Q>>, value: Q, scale: f64) -> Result<(), WireError> {
    let Some(l) = limits else { return Ok(()) };
    // A nominal value may be rounded past its own limit by a unit of its last digit.
    let slack = 2e-3 * value.si().abs();
    if l.min.si() <= l.max.si() && l.min.si() - slack <= value.si() && value.si() <= l.max.si() + slack {
        return Ok(());
    }
    Err(WireError::LimitsDoNotHold {
        what,
        min: l.min.si() / scale,
        max: l.max.si() / scale,
        value: value.si() / scale,
    })
}

fn agree(what: &'static str, met: f64, expected: f64) -> Result<(), WireError> {
    if (met / expected - 1.0).abs() <= 0.25 { Ok(()) } else { Err(WireError::Contradiction { what, met, expected }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn awg30() -> WireFigures {
        WireFigures {
            conductor: Conductor::Copper,
            bare: Measured::certain(Length::from_mm(0.2540)),
            bare_limits: Some(Limits { min: Length::from_mm(0.251), max: Length::from_mm(0.257) }),
            overall: Measured::certain(Length::from_mm(0.27686)),
            overall_limits: Some(Limits { min: Length::from_mm(0.2692), max: Length::from_mm(0.2845) }),
            ohm_per_m: None,
            ohm_per_m_limits: None,
            g_per_m: None,
        }
    }

    /// Source: a wire maker's catalogue prints 0.3112 lb/1000 ft (0.46313 g/m) for AWG 30 single; the enamel density was
    /// derived from that table, so 0.3 % is the scatter of its rows, not a free tolerance.
    #[test]
    fn enamelled_mass_of_awg_30_is_the_catalogues() {
        let w = Wire::new(awg30()).unwrap();
        assert!((w.g_per_m().value.g_per_m() / 0.46313 - 1.0).abs() < 0.003, "{:?}", w.g_per_m());
    }

    /// A limit of ± 3 µm on 0.254 mm is ± 2.4 % of resistance as a limit, 1.4 % as u (arithmetic).
    #[test]
    fn bare_limits_become_the_resistances_doubt() {
        let w = Wire::new(awg30()).unwrap();
        assert!((w.resistance_limit_pct().unwrap() - 2.362).abs() < 0.01);
        let r = w.ohm_per_m();
        let by_diameter = ((r.u / r.value).powi(2) - MODEL_U * MODEL_U).sqrt();
        assert!((by_diameter - 0.013638).abs() < 1e-5, "{by_diameter}");
    }

    #[test]
    fn a_measured_resistance_no_longer_follows_the_diameter() {
        let mut f = awg30();
        f.ohm_per_m =
            Some(Measured::new(LinearResistance::from_ohm_per_m(0.345), LinearResistance::from_ohm_per_m(0.001)));
        let w = Wire::new(f).unwrap();
        assert_eq!(w.ohm_per_m_at(Length::from_mm(0.260), 1.0).ohm_per_m(), 0.345);
        assert_eq!(w.ohm_per_m().u.ohm_per_m(), 0.001);
        assert_eq!(w.resistance_limit_pct(), None);
    }

    #[test]
    fn figures_that_contradict_each_other_make_no_wire() {
        let mut f = awg30();
        f.overall = Measured::certain(Length::from_mm(0.25));
        f.overall_limits = None;
        assert!(matches!(Wire::new(f), Err(WireError::OverallBelowBare { .. })));
        let mut f = awg30();
        f.ohm_per_m = Some(Measured::certain(LinearResistance::from_ohm_per_m(3.4026)));
        assert!(matches!(Wire::new(f), Err(WireError::Contradiction { what: "ohm_per_m", .. })));
        let mut f = awg30();
        f.bare_limits = Some(Limits { min: Length::from_mm(0.26), max: Length::from_mm(0.27) });
        assert!(matches!(Wire::new(f), Err(WireError::LimitsDoNotHold { what: "bare_mm", .. })));
    }
}
