//! What is left on a spool: length, mass per metre, tare and resistance per metre, estimated together from its history.
//!
//! The errors of one spool are mostly common to all its readings: one tare, one mass per metre, one resistance per
//! metre. So readings are never turned into lengths one by one and averaged; all of them are fitted at once, in order of
//! sequence, together with what is known beforehand and with the draws between them.

mod chain;
pub mod lot;
mod pass;
mod steps;
mod unwritten;

use crate::measured::{Input, Measured};
use crate::quantity::{Length, LinearMass, LinearResistance, Mass, Quantity, Resistance};
use chain::{Before, Seen, Solution, Step, Unknown};
use steps::{Steps, anywhere_below, lightest};
use thiserror::Error;

/// What is known of a spool before anything is read from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Mass of a metre of this wire with its enamel.
    pub g_per_m: Measured<LinearMass>,
    /// Mass of the bare reel; `None` where nobody knows it.
    pub tare: Option<Measured<Mass>>,
    /// Resistance of a metre at 20 °C; `None` where no table or measurement gives it.
    pub ohm_per_m: Option<Measured<LinearResistance>>,
    /// How far the errors of the two figures per metre go together, from -1 to 1: 0 as tables give them.
    pub correlation: f64,
    /// How far all draws of this spool may be off by one common factor, as relative standard uncertainty: the same hand,
    /// the same tails, the same counter.
    pub draw_doubt: f64,
    /// How often, per draw noted, a failed try went unwritten, at most as long as the draw; 0 where all is written down.
    pub unwritten: f64,
}

/// One thing read from the spool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// Reel and wire together on a scale; `u` is the scale's.
    Weighed(Measured<Mass>),
    /// Both ends reached, test leads taken off, corrected to 20 °C; `u` is the meter's.
    Resistance(Measured<Resistance>),
    /// A length as such: marked on the label, from the build of the winding, or 0 of an empty reel.
    Length(Measured<Length>),
}

/// One event in the life of a spool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A reading.
    Read(Reading),
    /// Wire taken off, with the uncertainty of that length.
    Drawn(Measured<Length>),
    /// Wire went missing or was miscounted: nothing is known of how the length before relates to the length after.
    Unaccounted,
    /// The wire now sits on another reel, of this tare.
    Moved(Option<Measured<Mass>>),
}

/// The history says nothing about the length: no reading since wire went missing, or none at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("nothing was read from this spool that tells its length: weigh it or measure its resistance")]
pub struct Undetermined;

/// What is left on a spool now.
#[derive(Debug, Clone, PartialEq)]
pub struct Content {
    /// Length of wire left, never below zero.
    pub left: Measured<Length>,
    /// Mass of a metre of this wire.
    pub g_per_m: Measured<LinearMass>,
    /// Mass of the reel it is on; `None` if neither known beforehand nor ever weighed.
    pub tare: Option<Measured<Mass>>,
    /// Resistance of a metre at 20 °C; `None` if not known beforehand.
    pub ohm_per_m: Option<Measured<LinearResistance>>,
    /// What the draws really took, over what was noted of them.
    pub draw_factor: Input,
    /// Covariance of (length in m, mass per metre in g/m, tare in g, resistance per metre in Ω/m).
    pub covariance: [[f64; 4]; 4],
    /// How each reading stands to the fit, in order of sequence.
    pub readings: Vec<Fitted>,
    /// The length as fitted, in m: below zero by chance on an empty reel.
    fitted_m: f64,
}

/// How one reading stands to the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// Position of the reading among the events.
    pub event: usize,
    /// Its share in the length left: all shares of a spool add up to 1. A share below zero is no mistake: of two
    /// weighings around a known draw the first helps by telling the tare.
    pub weight: f64,
    /// What the fit expects this reading to be, in g, Ω or m.
    pub expected: f64,
    /// Reading minus expectation, in g, Ω or m.
    pub residual: f64,
    /// The same in the reading's own standard uncertainties.
    pub residual_in_u: f64,
    /// How likely wire went unwritten between the reading before and this one; `None` if nothing was drawn between them.
    pub unwritten: Option<f64>,
}

/// Fits the whole history of a spool.
///
/// ```text
/// weighing    gross = m'·l + tare        resistance  R20 = r20·l        marked, build  l
/// draw        l_after = l_before − f·drawn, f = 1 ± draw doubt
/// ```
///
/// Minimises the sum of squared differences, each in its standard uncertainty, over all readings, all draws and the
/// prior: the most probable history for normal errors. `m'`, `r20` and `f` are the same for the whole history, the tare
/// for all readings of a reel; each draw's own error stays in every length after it. The model is a product of unknowns, so it is solved by repeated
/// linearisation (Gauss-Newton, halved steps); the work grows with the number of events, not with its cube.
///
/// Beside the draws noted, tries may have gone unwritten: see [`Prior::unwritten`] and [`Fitted::unwritten`].
///
/// A tare nobody knows is taken to lie anywhere between nothing and the lightest weighing of that reel. Nothing is ever
/// subtracted from what is known: to leave a reading out, leave it out of `events`.
///
/// # Errors
/// [`Undetermined`] if no reading bears on the length.
///
/// # Sources
/// Least squares with prior: JCGM 102:2011, 6. Rectangular distribution for the unknown tare: JCGM 100:2008, 4.3.7.
pub fn estimate(prior: &Prior, events: &[Event]) -> Result<Content, Undetermined> {
    let fit = fit(prior, Steps::of(events, prior.unwritten), events).ok_or(Undetermined)?;
    Ok(content(&fit))
}

/// The same, had nothing gone unwritten since the last reading: what the next reading is held against. A try that was not
/// written down makes a reading less than this, never more.
///
/// # Errors
/// As [`estimate`].
pub fn estimate_as_written(prior: &Prior, events: &[Event]) -> Result<Content, Undetermined> {
    let fit = fit(prior, Steps::of(events, prior.unwritten).without_last_gap(), events).ok_or(Undetermined)?;
    Ok(content(&fit))
}

/// A history as it was fitted.
struct Fit {
    before: Before,
    steps: Steps,
    solution: Solution,
    /// For each gap of `steps` how likely wire went there unwritten.
    lost: Vec<f64>,
}

fn fit(prior: &Prior, mut steps: Steps, events: &[Event]) -> Option<Fit> {
    let before = before(prior, events);
    let mut solution = chain::solve(&before, &steps.all)?;
    if steps.gaps.is_empty() {
        return Some(Fit { before, steps, solution, lost: Vec::new() });
    }
    let lost = unwritten::probabilities(&before, &steps.all, &solution.path, &steps.gaps);
    steps.lose(&lost);
    solution = chain::solve_from(solution.path, &before, &steps.all)?;
    Some(Fit { before, steps, solution, lost })
}

impl Content {
    /// A spool that holds nothing, as the prior alone has it: what to reckon with where nothing tells the length.
    pub fn nothing(prior: &Prior) -> Content {
        let u = [
            0.0,
            prior.g_per_m.u.g_per_m(),
            prior.tare.map_or(0.0, |t| t.u.g()),
            prior.ohm_per_m.map_or(0.0, |r| r.u.ohm_per_m()),
        ];
        let mut covariance = [[0.0; 4]; 4];
        for (i, u) in u.into_iter().enumerate() {
            covariance[i][i] = u * u;
        }
        Content {
            left: Measured::certain(Length::ZERO),
            g_per_m: prior.g_per_m,
            tare: prior.tare,
            ohm_per_m: prior.ohm_per_m,
            covariance,
            draw_factor: Input { value: 1.0, u: prior.draw_doubt },
            readings: Vec::new(),
            fitted_m: 0.0,
        }
    }

    /// What a scale should show now, with the uncertainty of the expectation (the scale's own is not in it); `None` where
    /// the tare is unknown.
    pub fn expected_gross(&self) -> Option<Measured<Mass>> {
        let tare = self.tare?;
        let gross = self.g_per_m.value.g_per_m() * self.fitted_m + tare.value.g();
        let u = self.u_of([self.g_per_m.value.g_per_m(), self.fitted_m, 1.0, 0.0]);
        Some(Measured::new(Mass::from_g(gross), Mass::from_g(u)))
    }

    /// What a meter should show between both ends at 20 °C, test leads off; `None` where Ω/m is unknown.
    pub fn expected_resistance(&self) -> Option<Measured<Resistance>> {
        let r = self.ohm_per_m?.value.ohm_per_m();
        let u = self.u_of([r, 0.0, 0.0, self.fitted_m]);
        Some(Measured::new(Resistance::from_ohm(r * self.fitted_m), Resistance::from_ohm(u)))
    }

    /// How far the length left moves with one standard uncertainty of the mass per metre: `cov(l, m')/u(m')`. Spools of
    /// one wire share that error where their mass per metre comes from one table; the rest of `left.u` is each one's own.
    pub fn moved_by_g_per_m(&self) -> Length {
        let u = self.g_per_m.u.g_per_m();
        let limit = self.left.u.m();
        if u > 0.0 { Length::from_m((self.covariance[0][1] / u).clamp(-limit, limit)) } else { Length::ZERO }
    }

    fn u_of(&self, slope: [f64; 4]) -> f64 {
        let mut variance = 0.0;
        for (row, si) in self.covariance.iter().zip(slope) {
            for (c, sj) in row.iter().zip(slope) {
                variance += si * c * sj;
            }
        }
        libm::sqrt(variance.max(0.0))
    }
}

fn before(prior: &Prior, events: &[Event]) -> Before {
    let each = [
        None,
        Some(in_g_per_m(prior.g_per_m)),
        prior.tare.map(in_g).or_else(|| anywhere_below(lightest(events))),
        prior.ohm_per_m.map(Measured::input),
        Some(Input { value: 1.0, u: prior.draw_doubt }),
    ];
    // Quite together would be infinite information on the difference.
    Before { each, correlation: prior.correlation.clamp(-MOST_TOGETHER, MOST_TOGETHER) }
}

const MOST_TOGETHER: f64 = 0.9999;

fn content(fit: &Fit) -> Content {
    let Fit { solution, steps, lost, .. } = fit;
    let x = solution.last();
    let u = |i: usize| libm::sqrt(solution.covariance[i][i].max(0.0));
    let fitted_m = x[Unknown::Length as usize];
    let known = |i: Unknown| solution.known[i as usize];
    let mut readings = Vec::new();
    for (k, (step, &event)) in steps.all.iter().zip(&steps.events).enumerate() {
        let Step::See { seen, value, .. } = step else { continue };
        if matches!(seen, Seen::Tare) {
            continue;
        }
        let met = solution.fitted[k];
        let unwritten = steps.gaps.iter().position(|g| g.step + 1 == k).and_then(|g| lost.get(g)).copied();
        readings.push(Fitted {
            event,
            weight: met.weight,
            expected: met.expected,
            residual: value.value - met.expected,
            residual_in_u: (value.value - met.expected) / value.u,
            unwritten,
        });
    }
    let mut covariance = [[0.0; 4]; 4];
    for (row, from) in covariance.iter_mut().zip(&solution.covariance) {
        row.iter_mut().zip(from).for_each(|(c, from)| *c = *from);
    }
    Content {
        left: Measured::new(Length::from_m(fitted_m.max(0.0)), Length::from_m(u(0))),
        g_per_m: Measured::new(LinearMass::from_g_per_m(x[1]), LinearMass::from_g_per_m(u(1))),
        tare: known(Unknown::Tare).then(|| Measured::new(Mass::from_g(x[2]), Mass::from_g(u(2)))),
        ohm_per_m: known(Unknown::OhmPerM).then(|| Measured::new(Quantity::from_si(x[3]), Quantity::from_si(u(3)))),
        draw_factor: Input { value: x[Unknown::DrawFactor as usize], u: u(Unknown::DrawFactor as usize) },
        covariance,
        readings,
        fitted_m,
    }
}

fn in_g(m: Measured<Mass>) -> Input {
    Input { value: m.value.g(), u: m.u.g() }
}

fn in_g_per_m(m: Measured<LinearMass>) -> Input {
    Input { value: m.value.g_per_m(), u: m.u.g_per_m() }
}

#[cfg(test)]
mod tests;
