//! What the meter should show for a coil now, and whether it can tell a good coil from a bad one.

use crate::coil::findings::{Finding, Level, ONE_SIDED_95};
use crate::conductor::Conductor;
use crate::enough::{normal_density, normal_probability};
use crate::measured::{Input, Inputs, Measured, half_width_to_u};
use crate::quantity::{Resistance, Temperature};

/// How a resistance is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Meter {
    /// An ohmmeter by the limits in its papers: per cent of the reading (as a fraction) and digits of its display.
    Class {
        /// Share of the reading.
        share: f64,
        /// Digits of the display.
        digits: f64,
        /// What one digit is.
        resolution: Resistance,
    },
    /// Any meter, held against a resistor of known value on the same leads: the meter's own scale drops out.
    Comparison {
        /// The resistor.
        reference: Resistance,
        /// Its limit, as a fraction.
        share: f64,
    },
}

impl Meter {
    /// Standard uncertainty of a reading.
    ///
    /// ```text
    /// class: u = (share·R + digits·resolution)/√3        comparison: u = share·R/√3
    /// ```
    ///
    /// Worked: 0.8 % + 3 digits on 6 Ω is 0.20 Ω at 0.1 Ω a digit, 0.045 Ω at 0.01 Ω; a 1 % reference resistor 0.58 %.
    ///
    /// # Sources
    /// A limit as a rectangular distribution: JCGM 100:2008, 4.3.7.
    pub fn u(self, reading: Resistance) -> Resistance {
        let ohm = reading.ohm().abs();
        let limit = match self {
            Meter::Class { share, digits, resolution } => share * ohm + digits * resolution.ohm(),
            Meter::Comparison { share, .. } => share * ohm,
        };
        Resistance::from_ohm(half_width_to_u(limit))
    }

    /// In words.
    pub fn name(self) -> String {
        match self {
            Meter::Class { share, digits, resolution } => {
                format!("a meter of {} % + {digits} digits at {} Ω a digit", shown(100.0 * share), resolution.ohm())
            }
            Meter::Comparison { reference, share } => {
                format!(
                    "comparison with a resistor of {} Ω known to {} %",
                    shown(reference.ohm()),
                    shown(100.0 * share)
                )
            }
        }
    }
}

fn shown(x: f64) -> String {
    let text = format!("{x:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A coil on the bench with a meter at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What the coil is expected to have at 20 °C, with its magnet-wire leads.
    pub dcr: Measured<Resistance>,
    /// What it should have at 20 °C.
    pub wanted: Resistance,
    /// How far it may be off, as a fraction.
    pub tolerance: f64,
    /// The metal of the wire.
    pub conductor: Conductor,
    /// Temperature of the coil.
    pub temperature: Measured<Temperature>,
    /// What the test leads show when shorted.
    pub test_leads: Measured<Resistance>,
    /// The meter.
    pub meter: Meter,
}

/// What to look for on the display.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What the meter should show for the coil as expected; the meter's own error is not in it.
    pub expect: Measured<Resistance>,
    /// Readings between which the coil is good with 95 % certainty on either side; `None` if there is no such reading.
    pub accept: Option<(Resistance, Resistance)>,
    /// Standard uncertainty of one reading: meter, temperature and test leads.
    pub reading_u: Resistance,
    /// Probability of taking a coil that is out of tolerance.
    pub wrong_accept: f64,
    /// Probability of refusing one that is within.
    pub wrong_reject: f64,
    /// What the winder must be told.
    pub findings: Vec<Finding>,
}

/// What the meter should show, and what it can decide.
///
/// ```text
/// expect = R20·k + leads,   k = 1 + α·(T − 20 °C)
/// u² = u_meter² + (R20·α·u_T)² + u_leads²        (comparison: the leads are in both readings and drop out)
/// accept = wanted·(1 ∓ tolerance)·k + leads ± 1.64·u
/// ```
///
/// The probabilities take the true value as normal about what is expected, and the verdict by `accept`; where no reading
/// can be accepted, by the tolerance itself, as one would who trusts the display.
pub fn reading(q: &Question) -> Reading {
    let alpha = q.conductor.alpha20();
    let k = q.conductor.resistance_ratio(q.temperature.value);
    let p = Inputs::new(vec![q.dcr.input(), q.temperature.input(), q.test_leads.input()])
        .propagate(|x, out| out.push(x[0] * (1.0 + alpha * (x[1] - 20.0)) + x[2]));
    let expect: Measured<Resistance> = p.measured(0);
    let leads = q.test_leads.value.ohm();
    let u = reading_u(q, k);
    let at = |share: f64| q.wanted.ohm() * share * k + leads;
    let (low, high) = (at(1.0 - q.tolerance), at(1.0 + q.tolerance));
    let (least, most) = (low + ONE_SIDED_95 * u, high - ONE_SIDED_95 * u);
    let accept = (least < most).then_some((Resistance::from_ohm(least), Resistance::from_ohm(most)));
    let verdict = if accept.is_some() { (least, most) } else { (low, high) };
    let spread = Input { value: expect.value.ohm(), u: q.dcr.u.ohm() * k };
    let (wrong_accept, wrong_reject) = wrong(spread, (low, high), verdict, u);
    let mut findings = Vec::new();
    if accept.is_none() {
        findings.push(cannot_decide(q, k, u));
    }
    if let Meter::Comparison { reference, .. } = q.meter {
        let apart = reference.ohm() / (q.wanted.ohm() * k);
        if !(0.5..=2.0).contains(&apart) {
            findings.push(Finding {
                code: "reference_far_off".to_owned(),
                level: Level::Watch,
                text: format!(
                    "a reference of {} Ω is {apart:.2} times the coil: the meter's scale drops out only near one value, take one within half and double",
                    shown(reference.ohm())
                ),
                figure: Some(apart),
                limit: Some(2.0),
            });
        }
    }
    Reading { expect, accept, reading_u: Resistance::from_ohm(u), wrong_accept, wrong_reject, findings }
}

/// Standard uncertainty of a reading near the value that is wanted, in ohms.
fn reading_u(q: &Question, k: f64) -> f64 {
    let coil = q.wanted.ohm() * k;
    let warm = q.wanted.ohm() * q.conductor.alpha20() * q.temperature.u.c();
    let (meter, leads) = match q.meter {
        Meter::Class { .. } => {
            (q.meter.u(Resistance::from_ohm(coil + q.test_leads.value.ohm())).ohm(), q.test_leads.u.ohm())
        }
        Meter::Comparison { .. } => (q.meter.u(Resistance::from_ohm(coil)).ohm(), 0.0),
    };
    libm::sqrt(meter * meter + warm * warm + leads * leads)
}

/// Probabilities of taking a bad coil and of refusing a good one.
///
/// Sum over the true value, normal with `truth`, to 8 u on either side, of the chance that the reading falls on the wrong
/// side. The limits cut the axis into three pieces of [`STEPS`] steps, so that no step lies across one.
fn wrong(truth: Input, good: (f64, f64), taken: (f64, f64), u: f64) -> (f64, f64) {
    let chance_taken = |r: f64| {
        if u == 0.0 {
            return if (taken.0..=taken.1).contains(&r) { 1.0 } else { 0.0 };
        }
        normal_probability((taken.1 - r) / u) - normal_probability((taken.0 - r) / u)
    };
    let is_good = |r: f64| (good.0..=good.1).contains(&r);
    if truth.u == 0.0 {
        let taken = chance_taken(truth.value);
        return if is_good(truth.value) { (0.0, 1.0 - taken) } else { (taken, 0.0) };
    }
    let edge = |r: f64| ((r - truth.value) / truth.u).clamp(-8.0, 8.0);
    let cuts = [-8.0, edge(good.0), edge(good.1), 8.0];
    let (mut accept, mut reject) = (0.0, 0.0);
    for pair in cuts.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let step = (to - from) / f64::from(STEPS);
        for i in 0..STEPS {
            let z = from + (f64::from(i) + 0.5) * step;
            let r = truth.value + z * truth.u;
            let weight = normal_density(z) * step;
            let middle = truth.value + 0.5 * (from + to) * truth.u;
            if is_good(middle) {
                reject += weight * (1.0 - chance_taken(r));
            } else {
                accept += weight * chance_taken(r);
            }
        }
    }
    (accept, reject)
}

/// Steps of the sum between two limits: by halving, the error is below 1e-6 where the meter is not far finer than the coil.
const STEPS: u32 = 400;

/// "This meter cannot decide", and the first of the usual remedies that can.
fn cannot_decide(q: &Question, k: f64, u: f64) -> Finding {
    let reference = Resistance::from_ohm(libm::round(q.wanted.ohm() * 10.0).max(1.0) / 10.0);
    let tolerance = q.wanted.ohm() * q.tolerance * k;
    let mut remedies = Vec::new();
    if let Meter::Class { share, digits, resolution } = q.meter
        && resolution.ohm() > 0.01
    {
        remedies.push(Meter::Class { share, digits, resolution: Resistance::from_ohm(0.01) });
    }
    remedies.extend([0.01, 0.001].map(|share| Meter::Comparison { reference, share }));
    let can = |m: &&Meter| ONE_SIDED_95 * reading_u(&Question { meter: **m, ..q.clone() }, k) < tolerance;
    let instead = match remedies.iter().find(can) {
        Some(m) => format!("use {}", m.name()),
        None => {
            "nothing usual can: let the coil reach the bench's temperature and note it better, or widen the tolerance"
                .to_owned()
        }
    };
    Finding {
        code: "meter_cannot_decide".to_owned(),
        level: Level::Stop,
        text: format!(
            "this meter cannot decide: ± {:.3} Ω (1.64 u) on either side is more than the ± {tolerance:.3} Ω allowed; {instead}",
            ONE_SIDED_95 * u
        ),
        figure: Some(ONE_SIDED_95 * u),
        limit: Some(tolerance),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ohm(x: f64) -> Resistance {
        Resistance::from_ohm(x)
    }

    fn handheld(resolution: f64) -> Meter {
        Meter::Class { share: 0.008, digits: 3.0, resolution: ohm(resolution) }
    }

    fn question(meter: Meter) -> Question {
        Question {
            dcr: Measured::new(ohm(5.80), ohm(0.08)),
            wanted: ohm(5.80),
            tolerance: 0.03,
            conductor: Conductor::Copper,
            temperature: Measured::new(Temperature::from_c(25.0), Temperature::from_c(0.5)),
            test_leads: Measured::new(ohm(0.21), ohm(0.005)),
            meter,
        }
    }

    /// Arithmetic: 0.8 % + 3 digits on 6 Ω is ± 0.348 Ω at 0.1 Ω a digit and ± 0.078 Ω at 0.01 Ω, over √3.
    #[test]
    fn meter_limits_become_standard_uncertainties() {
        assert!((handheld(0.1).u(ohm(6.0)).ohm() - 0.348 / 3f64.sqrt()).abs() < 1e-12);
        assert!((handheld(0.01).u(ohm(6.0)).ohm() - 0.078 / 3f64.sqrt()).abs() < 1e-12);
        let compared = Meter::Comparison { reference: ohm(5.6), share: 0.01 }.u(ohm(6.0)).ohm();
        assert!((compared / 6.0 - 0.01 / 3f64.sqrt()).abs() < 1e-12);
    }

    /// Copper at 25 °C is 1.01965 of itself at 20 °C. Source: NBS Handbook 100 (1966), α20 0.00393.
    #[test]
    fn the_reading_is_warm_and_has_the_test_leads_in_it() {
        let r = reading(&question(handheld(0.01)));
        assert!((r.expect.value.ohm() - (5.80 * 1.01965 + 0.21)).abs() < 1e-9);
        let u = ((0.08f64 * 1.01965).powi(2) + (5.80f64 * 0.00393 * 0.5).powi(2) + 0.005f64.powi(2)).sqrt();
        assert!((r.expect.u.ohm() - u).abs() < 1e-9, "{}", r.expect.u.ohm());
        let (least, most) = r.accept.expect("it can decide");
        assert!(least < r.expect.value && r.expect.value < most);
        let middle = 0.5 * (least + most).ohm();
        assert!((middle - r.expect.value.ohm()).abs() < 1e-9, "wanted and expected are one here");
    }

    #[test]
    fn a_coarse_meter_cannot_decide_and_says_what_can() {
        let r = reading(&question(handheld(0.1)));
        assert_eq!(r.accept, None);
        let f = &r.findings[0];
        assert!(f.code == "meter_cannot_decide" && f.text.contains("0.01 Ω a digit"), "{}", f.text);
        let tight = Question { tolerance: 0.012, ..question(handheld(0.01)) };
        let text = &reading(&tight).findings[0].text;
        assert!(text.contains("5.8 Ω known to 1 %"), "{text}");
        let hopeless = Question { tolerance: 0.002, ..question(handheld(0.01)) };
        assert!(reading(&hopeless).findings[0].text.contains("nothing usual can"));
    }

    /// With nothing between the limits but chance: the probabilities of the four verdicts add up to one.
    #[test]
    fn a_perfect_meter_is_never_wrong_and_a_useless_one_often() {
        let perfect = wrong(Input { value: 6.0, u: 0.1 }, (5.9, 6.1), (5.9, 6.1), 0.0);
        assert!(perfect.0 < 1e-12 && perfect.1 < 1e-12, "{perfect:?}");
        // A meter that errs by far more than the coils differ takes a coil with the same chance whatever it is.
        let (accept, reject) = wrong(Input { value: 6.0, u: 0.1 }, (5.9, 6.1), (-1e9, 6.0), 1e3);
        let bad = 2.0 * normal_probability(-1.0);
        assert!((accept - 0.5 * bad).abs() < 1e-4 && (reject - 0.5 * (1.0 - bad)).abs() < 1e-4, "{accept} {reject}");
    }

    #[test]
    fn narrowed_limits_take_few_bad_coils() {
        let r = reading(&question(handheld(0.01)));
        let plain = wrong(
            Input { value: r.expect.value.ohm(), u: 0.08 * 1.01965 },
            (5.8 * 0.97 * 1.01965 + 0.21, 5.8 * 1.03 * 1.01965 + 0.21),
            (5.8 * 0.97 * 1.01965 + 0.21, 5.8 * 1.03 * 1.01965 + 0.21),
            r.reading_u.ohm(),
        );
        assert!(r.wrong_accept < plain.0 && r.wrong_reject > plain.1);
    }
}
