//! What the meter should show for a coil now, and whether it can tell a good coil from a bad one.

mod verdict;

use crate::coil::findings::ONE_SIDED_95;
use crate::conductor::Conductor;
use crate::enough::normal_probability;
use crate::finding::Finding;
use crate::measured::{Input, Inputs, Measured};
use crate::meter::Meter;
use crate::quantity::{Resistance, Temperature};
use verdict::{Verdicts, verdicts};

/// A coil on the bench with a meter at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What the coil is expected to have at 20 °C, with its magnet-wire leads.
    pub dcr: Measured<Resistance>,
    /// What it should have at 20 °C.
    pub wanted: Resistance,
    /// How far it may be off, as a share.
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
    /// What the meter should show for the coil as expected; the meter's own error is not in its doubt.
    pub expect: Measured<Resistance>,
    /// Readings between which the coil is good with 95 % certainty on either side; `None` if there is no such reading.
    pub accept: Option<(Resistance, Resistance)>,
    /// Standard uncertainty of one reading near what is wanted: meter, temperature and test leads.
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
/// expect = g·R20·k + leads,   k = 1 + α·(T − 20 °C),   g = 1 unless a known resistor says what the meter shows for an ohm
/// u² = u_meter² + (g·R20·α·u_T)² + (share of the leads·u_leads)²
/// accept = g·wanted·(1 ∓ tolerance)·k + leads ± 1.64·u
/// ```
///
/// The probabilities take the coil's value as normal about what is expected, and the verdict by `accept`; where no reading
/// can be accepted, by the tolerance itself, as one would who trusts the display.
///
/// Worked: a copper coil of 5.80 Ω at 25 °C with test leads of 0.21 Ω should show 6.124 Ω; within 3 %, a meter of
/// 0.8 % + 3 digits at 0.01 Ω accepts 6.024 to 6.224 Ω where the temperature is known to
/// 0.5 °C and the leads to 0.005 Ω.
pub fn reading(q: &Question) -> Reading {
    let alpha = q.conductor.alpha20();
    let k = q.conductor.resistance_ratio(q.temperature.value);
    let gain = q.meter.gain(q.test_leads.value);
    let p = Inputs::new(vec![q.dcr.input(), q.temperature.input(), q.test_leads.input()])
        .propagate(|x, out| out.push(gain * x[0] * (1.0 + alpha * (x[1] - 20.0)) + x[2]));
    let expect: Measured<Resistance> = p.measured(0);
    let Limits { good, accept, u } = limits(q);
    let taken = accept.unwrap_or(good);
    let coil = Input { value: expect.value.ohm(), u: gain * q.dcr.u.ohm() * k };
    let chances = verdicts(coil, good, taken, u);
    Reading {
        expect,
        accept: accept.map(|(least, most)| (Resistance::from_ohm(least), Resistance::from_ohm(most))),
        reading_u: Resistance::from_ohm(u),
        wrong_accept: chances.bad_taken,
        wrong_reject: chances.good_refused,
        findings: findings(q, k, coil, good, accept.is_some(), &chances),
    }
}

/// Readings between which a coil is good, those that are accepted, and the standard uncertainty of one, in ohms of the display.
struct Limits {
    good: (f64, f64),
    accept: Option<(f64, f64)>,
    u: f64,
}

fn limits(q: &Question) -> Limits {
    let k = q.conductor.resistance_ratio(q.temperature.value);
    let gain = q.meter.gain(q.test_leads.value);
    let u = reading_u(q, k);
    let at = |share: f64| gain * q.wanted.ohm() * share * k + q.test_leads.value.ohm();
    let good = (at(1.0 - q.tolerance), at(1.0 + q.tolerance));
    let (least, most) = (good.0 + ONE_SIDED_95 * u, good.1 - ONE_SIDED_95 * u);
    Limits { good, accept: (least < most).then_some((least, most)), u }
}

/// How wide the band of acceptance is to either side, and the share of coils that read outside it; `None` where there is no
/// band. Coil and reading together are normal with the sum of their squares.
pub(crate) fn outside_band(q: &Question) -> Option<(f64, f64)> {
    let Limits { accept, u, .. } = limits(q);
    let (least, most) = accept?;
    let warm = q.conductor.resistance_ratio(q.temperature.value) * q.meter.gain(q.test_leads.value);
    let middle = q.dcr.value.ohm() * warm + q.test_leads.value.ohm();
    let together = libm::hypot(q.dcr.u.ohm() * warm, u);
    let share = normal_probability((least - middle) / together) + normal_probability((middle - most) / together);
    Some((0.5 * (most - least), share))
}

/// Standard uncertainty of a reading near the value that is wanted, in ohms of the display.
fn reading_u(q: &Question, k: f64) -> f64 {
    let gain = q.meter.gain(q.test_leads.value);
    let coil = q.wanted * k;
    let meter = q.meter.u(coil * gain + q.test_leads.value, q.test_leads.value).ohm();
    let warm = gain * q.wanted.ohm() * q.conductor.alpha20() * q.temperature.u.c();
    let leads = q.meter.share_of_leads(coil) * q.test_leads.u.ohm();
    libm::sqrt(meter * meter + warm * warm + leads * leads)
}

fn findings(q: &Question, k: f64, coil: Input, good: (f64, f64), decides: bool, chances: &Verdicts) -> Vec<Finding> {
    let mut all = Vec::new();
    if !decides {
        all.push(cannot_decide(q, k));
    }
    if coil.value < good.0 || coil.value > good.1 {
        all.push(
            Finding::watch(
                "expected_off_target",
                format!(
                    "the coil as expected would show {:.3} Ω, outside the {:.3} to {:.3} Ω that are within tolerance: the plan is off, not the meter",
                    coil.value, good.0, good.1
                ),
            )
            .figures(coil.value, if coil.value < good.0 { good.0 } else { good.1 }),
        );
    } else if decides && chances.refused > SELDOM {
        all.push(
            Finding::watch(
                "accept_band_narrower_than_coils",
                format!(
                    "coils of this plan differ by ± {:.3} Ω (1.64 u), and of 100 of them about {:.0} would read outside what this meter can accept, {:.0} of those good ones: a better meter or ohms per metre measured on the spool tell more",
                    ONE_SIDED_95 * coil.u,
                    100.0 * chances.refused,
                    100.0 * chances.good_refused
                ),
            )
            .figures(100.0 * chances.refused, 100.0 * SELDOM),
        );
    }
    if let Meter::Comparison { reference, .. } = q.meter {
        let times = reference.ohm() / (q.wanted.ohm() * k);
        if !(0.5..=2.0).contains(&times) {
            all.push(
                Finding::watch(
                    "reference_far_off",
                    format!(
                        "the resistor of {} Ω is {times:.2} times the coil: the meter's scale drops out only near one value, take one between half and double",
                        reference.ohm()
                    ),
                )
                .figures(times, if times < 1.0 { 0.5 } else { 2.0 }),
            );
        }
    }
    all
}

/// Share of coils read outside the band that is nothing to speak of: what is left by 1.64 u on both sides.
pub(crate) const SELDOM: f64 = 0.10;

/// "This meter cannot decide", and the first of the usual remedies that can.
fn cannot_decide(q: &Question, k: f64) -> Finding {
    let tolerance = q.meter.gain(q.test_leads.value) * q.wanted.ohm() * q.tolerance * k;
    let near = ONE_SIDED_95 * reading_u(q, k);
    Finding::stop(
        "meter_cannot_decide",
        format!(
            "this meter cannot decide: ± {near:.3} Ω (1.64 u) on either side is more than the ± {tolerance:.3} Ω allowed; {}",
            remedy(q, k)
        ),
    )
    .figures(near, tolerance)
}

/// The first of the usual ways to measure that can decide.
fn remedy(q: &Question, k: f64) -> String {
    let fine = Resistance::from_ohm(0.01);
    let reference = Resistance::from_ohm(libm::round(q.wanted.ohm() * 10.0).max(1.0) / 10.0);
    let mut ways = Vec::new();
    if let Meter::Class { share, digits, resolution } = q.meter
        && resolution > fine
    {
        ways.push(Meter::Class { share, digits, resolution: fine });
    }
    for (share, resolution) in [(0.01, 0.01), (0.001, 0.01), (0.001, 0.001)] {
        ways.push(Meter::Comparison { reference, share, resolution: Resistance::from_ohm(resolution), shown: None });
    }
    let can = |m: &&Meter| {
        ONE_SIDED_95 * reading_u(&Question { meter: **m, ..q.clone() }, k) < q.wanted.ohm() * q.tolerance * k
    };
    match ways.iter().find(can) {
        Some(way) => format!("use {}", way.name()),
        None => "none of the usual ways can: let the coil take the bench's temperature and note it better, or widen the tolerance".to_owned(),
    }
}

#[cfg(test)]
mod tests;
