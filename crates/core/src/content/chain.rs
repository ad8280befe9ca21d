//! Least squares over a chain: five unknowns of which some change between observations.
//!
//! Going forward, all that was seen so far is held as a triangle of rows over the unknowns as they are now, the root of what
//! is known of them; a change with an error takes the old value out of it. Going back, the old values are found again. So a history of n steps
//! costs n small steps and is still the exact joint least-squares solution, not a filter's approximation of it.

use super::pass::Forward;
use crate::measured::Input;

/// Number of unknowns.
pub(super) const N: usize = 5;
pub(super) type Vector = [f64; N];
pub(super) type Matrix = [[f64; N]; N];

/// The unknowns, as positions in a vector; in m, g/m, g, Ω/m and a bare ratio, which keeps all of them within a few powers of ten.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unknown {
    Length = 0,
    // 1 is the mass per metre, see below.
    Tare = 2,
    OhmPerM = 3,
    DrawFactor = 4,
}

/// Position of the mass per metre, which never changes.
pub(super) const G_PER_M: usize = 1;

/// What was observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Seen {
    /// g/m · length + tare.
    Gross,
    /// Ω/m · length.
    Ohm,
    /// The length itself.
    Length,
    /// The tare itself.
    Tare,
}

/// One step of the chain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    /// An observation.
    See { seen: Seen, value: Input },
    /// Wire noted as this long was taken; what really went is that times the draw factor, with an error of this variance.
    Draw { length: f64, variance: f64 },
    /// Nothing is known of this unknown from here on.
    Forget { unknown: Unknown },
}

impl Step {
    pub(super) fn see(seen: Seen, value: Input) -> Step {
        Step::See { seen, value: Input { value: value.value, u: honest(value) } }
    }
}

/// Expectation and share of one observation.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Met {
    pub(super) expected: f64,
    pub(super) weight: f64,
}

/// What is known beforehand of each unknown, where anything is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Before {
    pub(super) each: [Option<Input>; N],
    /// How far the errors of the mass and of the resistance per metre go together.
    pub(super) correlation: f64,
}

impl Before {
    /// The values and the coefficient, if the two figures per metre are known with errors that go together.
    pub(super) fn pair(&self) -> Option<(Input, Input, f64)> {
        let together = self.each[G_PER_M].zip(self.each[Unknown::OhmPerM as usize])?;
        (self.correlation != 0.0).then_some((together.0, together.1, self.correlation))
    }

    pub(super) fn honest(mut self) -> Before {
        self.each = self.each.map(|p| p.map(|p| Input { value: p.value, u: honest(p) }));
        self
    }
}

/// The joint solution.
#[derive(Debug)]
pub(super) struct Solution {
    /// The unknowns before each step, and after the last.
    pub(super) path: Vec<Vector>,
    /// Covariance of the unknowns after the last step; zero where an unknown never mattered.
    pub(super) covariance: Matrix,
    /// Which unknowns anything is known of.
    pub(super) known: [bool; N],
    /// Per step; meaningless but for observations.
    pub(super) fitted: Vec<Met>,
}

impl Solution {
    /// The unknowns after the last step.
    pub(super) fn last(&self) -> Vector {
        self.path.last().copied().unwrap_or_default()
    }
}

/// Least squares of prior and steps; `None` if the length stays undetermined.
pub(super) fn solve(prior: &Before, steps: &[Step]) -> Option<Solution> {
    solve_from(first_guess(&prior.honest(), steps), prior, steps)
}

/// The same from a path that is near: that of steps which differ in nothing but how well they are known.
pub(super) fn solve_from(mut path: Vec<Vector>, prior: &Before, steps: &[Step]) -> Option<Solution> {
    let prior = prior.honest();
    let mut cost = misfit(&prior, steps, &path);
    let mut last = f64::INFINITY;
    for _ in 0..ROUNDS {
        let forward = Forward::run(&prior, steps, &path);
        let correction = forward.back(steps, forward.solved()?, true);
        let far = length(&path, &correction);
        if far < FINE {
            // So near the misfit is flat to its last digit and says nothing of a step any more.
            path = moved(&path, &correction, 1.0);
            if far <= STILL || far > last / 2.0 {
                break;
            }
            last = far;
            continue;
        }
        let mut share = 1.0;
        let mut tried = moved(&path, &correction, share);
        let mut new = misfit(&prior, steps, &tried);
        while new > cost && share > SMALLEST_SHARE {
            share /= 2.0;
            tried = moved(&path, &correction, share);
            new = misfit(&prior, steps, &tried);
        }
        cost = new;
        path = tried;
    }
    let forward = Forward::run(&prior, steps, &path);
    let covariance = forward.covariance()?;
    let column = forward.back(steps, covariance[Unknown::Length as usize], false);
    let fitted = steps.iter().enumerate().map(|(k, step)| met(step, &path[k], &column[k])).collect();
    let known = forward.known();
    Some(Solution { path, covariance, known, fitted })
}

/// What the steps alone tell of the mass and of the resistance per metre: where they put them, and information and pull
/// towards it there. Nothing that is known of the two beforehand is in it, but for where the product is made linear.
pub(super) fn told(prior: &Before, solution: &Solution, steps: &[Step]) -> Told {
    let mut each = prior.honest().each;
    let figures = [G_PER_M, Unknown::OhmPerM as usize];
    figures.iter().for_each(|i| each[*i] = None);
    let mut forward = Forward::run(&Before { each, correlation: 0.0 }, steps, &solution.path);
    let (information, towards) = forward.only(figures);
    let last = solution.last();
    Told { at: figures.map(|i| last[i]), information, towards }
}

/// See [`told`].
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    pub(super) at: [f64; 2],
    pub(super) information: [[f64; 2]; 2],
    pub(super) towards: [f64; 2],
}

const ROUNDS: usize = 60;
const SMALLEST_SHARE: f64 = 1e-3;
/// Relative movement below which every step is taken whole.
const FINE: f64 = 1e-6;
/// Relative movement at which the solution stands still.
const STILL: f64 = 1e-12;
/// A figure is never believed better than this part of itself: a zero uncertainty would be infinite information.
const FINEST: f64 = 1e-7;

fn honest(value: Input) -> f64 {
    value.u.max(value.value.abs() * FINEST).max(f64::MIN_POSITIVE.max(1e-9))
}

/// Value and slope of an observation at a point.
pub(super) fn observe(seen: Seen, x: &Vector) -> (f64, Vector) {
    let [length, g_per_m, tare, ohm_per_m, _] = *x;
    match seen {
        Seen::Gross => (g_per_m * length + tare, [g_per_m, length, 1.0, 0.0, 0.0]),
        Seen::Ohm => (ohm_per_m * length, [ohm_per_m, 0.0, 0.0, length, 0.0]),
        Seen::Length => (length, [1.0, 0.0, 0.0, 0.0, 0.0]),
        Seen::Tare => (tare, [0.0, 0.0, 1.0, 0.0, 0.0]),
    }
}

fn met(step: &Step, x: &Vector, column: &Vector) -> Met {
    match step {
        Step::See { seen, value } => {
            let (expected, slope) = observe(*seen, x);
            Met { expected, weight: dot(&slope, column) / (value.u * value.u) * slope[Unknown::Length as usize] }
        }
        Step::Draw { .. } | Step::Forget { .. } => Met::default(),
    }
}

/// A path that obeys every draw: from the prior and, between two breaks of the ledger, from the first reading there that
/// tells a length.
fn first_guess(prior: &Before, steps: &[Step]) -> Vec<Vector> {
    let mut x = prior.each.map(|p| p.map_or(0.0, |p| p.value));
    x[0] = starting_length(&x, steps);
    let mut path = Vec::with_capacity(steps.len() + 1);
    path.push(x);
    for (k, step) in steps.iter().enumerate() {
        match step {
            Step::Forget { unknown: Unknown::Length } => {
                x[0] = starting_length(&x, steps.get(k + 1..).unwrap_or_default());
            }
            Step::Draw { length, .. } => x[0] -= length * x[4],
            Step::See { .. } | Step::Forget { .. } => {}
        }
        path.push(x);
    }
    path
}

/// The length at the start of these steps by the first reading among them that tells one, 0 if none does.
fn starting_length(x: &Vector, steps: &[Step]) -> f64 {
    let mut drawn = 0.0;
    for step in steps {
        let length = match step {
            Step::See { seen: Seen::Gross, value } => (value.value - x[2]) / x[1],
            Step::See { seen: Seen::Ohm, value } => value.value / x[3],
            Step::See { seen: Seen::Length, value } => value.value,
            Step::See { seen: Seen::Tare, .. } => continue,
            Step::Forget { unknown: Unknown::Length } => break,
            Step::Draw { length, .. } => {
                drawn += length * x[4];
                continue;
            }
            // On another reel the tare in `x` no longer holds; a rough start will do.
            Step::Forget { .. } => continue,
        };
        if length.is_finite() {
            return length.max(0.0) + drawn;
        }
    }
    0.0
}

/// Sum of squared differences in their uncertainties.
fn misfit(prior: &Before, steps: &[Step], path: &[Vector]) -> f64 {
    let mut sum = 0.0;
    let square = |d: f64, u: f64| d * d / (u * u);
    for (p, x) in prior.each.iter().zip(path.first().into_iter().flatten()) {
        sum += p.map_or(0.0, |p| square(x - p.value, p.u));
    }
    if let (Some((m, r, c)), Some(x)) = (prior.pair(), path.first()) {
        let (zm, zr) = ((x[G_PER_M] - m.value) / m.u, (x[Unknown::OhmPerM as usize] - r.value) / r.u);
        sum += (c * c * (zm * zm + zr * zr) - 2.0 * c * zm * zr) / (1.0 - c * c);
    }
    for (step, pair) in steps.iter().zip(path.windows(2)) {
        match step {
            Step::See { seen, value } => sum += square(value.value - observe(*seen, &pair[0]).0, value.u),
            Step::Draw { length, variance } if *variance > 0.0 => {
                let error = pair[1][0] - pair[0][0] + length * pair[0][4];
                sum += error * error / variance;
            }
            Step::Draw { .. } | Step::Forget { .. } => {}
        }
    }
    sum
}

fn moved(path: &[Vector], by: &[Vector], share: f64) -> Vec<Vector> {
    path.iter()
        .zip(by)
        .map(|(x, d)| {
            let mut new = *x;
            new.iter_mut().zip(d).for_each(|(x, d)| *x += share * d);
            new
        })
        .collect()
}

/// How far a step goes, relative to where it starts.
fn length(path: &[Vector], by: &[Vector]) -> f64 {
    let far = |(x, d): (&f64, &f64)| d.abs() / (1.0 + x.abs());
    let all = path.iter().flatten().zip(by.iter().flatten()).map(far);
    all.fold(0.0, |most, far| if far.is_finite() { most.max(far) } else { f64::INFINITY })
}

pub(super) fn dot(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
