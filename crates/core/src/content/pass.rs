//! One pass over the chain: forward, gathering what was seen; back, finding the old values again.

use super::chain::{Before, G_PER_M, Matrix, N, Seen, Step, Unknown, Vector, dot, observe};
use crate::measured::Input;

/// Everything seen, gathered over the unknowns as they are after the last step: a triangle of rows whose squares are to be
/// least. Never their product, the information: that would square how badly the unknowns are told apart, and cost half of
/// the digits of an uncertainty.
pub(super) struct Forward {
    triangle: Matrix,
    right: Vector,
    /// For each draw and each forgetting, what was known of the old value.
    kept: Vec<Option<Kept>>,
}

/// The row that told of a value before it changed, and how far the path jumps there from what the change says.
#[derive(Clone, Copy)]
struct Kept {
    row: Vector,
    right: f64,
    jump: f64,
}

impl Forward {
    /// Linearises at `path` and gathers corrections to it.
    pub(super) fn run(prior: &Before, steps: &[Step], path: &[Vector]) -> Forward {
        let mut f = Forward::start(prior, steps, path);
        for (step, pair) in steps.iter().zip(path.windows(2)) {
            f.step(step, &pair[0], &pair[1]);
        }
        f
    }

    /// What is known beforehand, before the first of the steps.
    ///
    /// Two figures with errors that go together: one as it is, and the other less its share of the first's error.
    pub(super) fn start(prior: &Before, steps: &[Step], path: &[Vector]) -> Forward {
        let mut f = Forward { triangle: [[0.0; N]; N], right: [0.0; N], kept: Vec::with_capacity(steps.len()) };
        let pair = prior.pair();
        let tied = Unknown::OhmPerM as usize;
        for (i, (p, x)) in prior.each.iter().zip(path.first().into_iter().flatten()).enumerate() {
            if let Some(p) = p.filter(|_| pair.is_none() || i != tied) {
                f.gather(unit(i, 1.0 / p.u), (p.value - x) / p.u);
            }
        }
        if let (Some((m, r, c)), Some(x)) = (pair, path.first()) {
            let alone = libm::sqrt(1.0 - c * c);
            let mut row = unit(tied, 1.0 / (r.u * alone));
            row[G_PER_M] = -c / (m.u * alone);
            f.gather(row, ((r.value - x[tied]) / r.u - c * (m.value - x[G_PER_M]) / m.u) / alone);
        }
        f
    }

    /// One step on, from `x` to `next` on the path.
    pub(super) fn step(&mut self, step: &Step, x: &Vector, next: &Vector) {
        let kept = match step {
            Step::See { seen, value } => self.see(*seen, *value, x),
            Step::Draw { length, variance } => Some(self.draw(*length, *variance, x, next)),
            Step::Forget { unknown } => Some(self.forget(*unknown as usize)),
        };
        self.kept.push(kept);
    }

    /// What is known of two of the unknowns, whatever the others are: information and pull.
    pub(super) fn only(&mut self, kept: [usize; 2]) -> ([[f64; 2]; 2], [f64; 2]) {
        for i in (0..N).filter(|i| !kept.contains(i)) {
            self.forget(i);
        }
        let product = |i: usize, j: usize| self.triangle.iter().map(|row| row[i] * row[j]).sum::<f64>();
        let pull = |i: usize| self.triangle.iter().zip(&self.right).map(|(row, right)| row[i] * right).sum::<f64>();
        (kept.map(|i| kept.map(|j| product(i, j))), kept.map(pull))
    }

    /// One more row whose square is to be least, turned into the triangle.
    fn gather(&mut self, mut row: Vector, mut right: f64) {
        for i in 0..N {
            if row[i] != 0.0 {
                let (own, own_right) = (&mut self.triangle[i], &mut self.right[i]);
                turn((&mut own[i..], own_right), (&mut row[i..], &mut right), 0);
            }
        }
    }

    fn see(&mut self, seen: Seen, value: Input, x: &Vector) -> Option<Kept> {
        let (expected, slope) = observe(seen, x);
        self.gather(slope.map(|s| s / value.u), (value.value - expected) / value.u);
        None
    }

    /// length' = length − drawn·factor + error. The length is the first of the unknowns, so only the first row tells of it:
    /// written as what is left after the draw without its error, that row is weakened by the error.
    ///
    /// ```text
    /// a·y + A·others = z,  y = length' − jump − e   ⇒   (a·length' + A·others = z + a·jump)/√(1 + a²·variance)
    /// ```
    fn draw(&mut self, drawn: f64, variance: f64, x: &Vector, next: &Vector) -> Kept {
        let (l, f) = (Unknown::Length as usize, Unknown::DrawFactor as usize);
        self.triangle[l][f] += drawn * self.triangle[l][l];
        let jump = x[l] - drawn * x[f] - next[l];
        let kept = Kept { row: self.triangle[l], right: self.right[l], jump };
        let a = kept.row[l];
        let weaker = 1.0 / libm::sqrt(1.0 + a * a * variance);
        self.triangle[l] = kept.row.map(|r| r * weaker);
        self.right[l] = (kept.right + a * jump) * weaker;
        kept
    }

    /// Nothing is known of this unknown from here on; what it told of the others stays.
    fn forget(&mut self, i: usize) -> Kept {
        let (rows, rights) = (self.triangle, self.right);
        let mut kept = Kept { row: [0.0; N], right: 0.0, jump: 0.0 };
        (self.triangle, self.right) = ([[0.0; N]; N], [0.0; N]);
        for (mut row, mut right) in rows.into_iter().zip(rights) {
            if row[i] != 0.0 {
                turn((&mut kept.row, &mut kept.right), (&mut row, &mut right), i);
            }
            self.gather(row, right);
        }
        kept
    }

    pub(super) fn known(&self) -> [bool; N] {
        std::array::from_fn(|i| self.triangle.iter().any(|row| row[i] != 0.0))
    }

    /// The same, to look ahead from: what came before is gathered, not kept.
    pub(super) fn ahead(&self) -> Forward {
        Forward { triangle: self.triangle, right: self.right, kept: Vec::new() }
    }

    /// The correction after the last step.
    pub(super) fn solved(&self) -> Option<Vector> {
        Some(self.now()?.1)
    }

    /// Covariance and correction after the last step; rows of unknowns that nothing is known of stay zero.
    pub(super) fn now(&self) -> Option<(Matrix, Vector)> {
        let inverse = self.inverted()?;
        let covariance = inverse.map(|row| inverse.map(|other| dot(&row, &other)));
        Some((covariance, inverse.map(|row| dot(&row, &self.right))))
    }

    /// See [`Forward::now`].
    pub(super) fn covariance(&self) -> Option<Matrix> {
        Some(self.now()?.0)
    }

    /// How far a quantity of this slope lies from where the path has it, and its variance; `None` as for
    /// [`Forward::now`].
    ///
    /// ```text
    /// Rᵀ·w = slope   ⇒   moved = w·z,   variance = w·w
    /// ```
    pub(super) fn foretold(&self, slope: &Vector) -> Option<(f64, f64)> {
        let mut w = [0.0; N];
        for i in 0..N {
            let column = self.triangle.map(|row| row[i]);
            let all = dot(&column, &column);
            if all == 0.0 {
                continue;
            }
            let tells = column[i] * column[i] > SINGULAR * all;
            if !tells {
                return None;
            }
            w[i] = (slope[i] - (0..i).map(|k| column[k] * w[k]).sum::<f64>()) / column[i];
        }
        Some((dot(&w, &self.right), dot(&w, &w)))
    }

    /// Inverse of the triangle, row by row from the last; `None` if the length is not known, or an unknown is told apart
    /// from the others by nothing but rounding.
    fn inverted(&self) -> Option<Matrix> {
        let known = self.known();
        if !known[Unknown::Length as usize] {
            return None;
        }
        let mut inverse = [[0.0; N]; N];
        for i in (0..N).rev().filter(|i| known[*i]) {
            let row = &self.triangle[i];
            let all: f64 = self.triangle.iter().map(|row| row[i] * row[i]).sum();
            // What is not a number tells nothing either.
            let tells = row[i] * row[i] > SINGULAR * all;
            if !tells {
                return None;
            }
            let mut own = unit(i, 1.0);
            for j in i + 1..N {
                for (o, below) in own.iter_mut().zip(inverse[j]) {
                    *o -= row[j] * below;
                }
            }
            inverse[i] = own.map(|o| o / row[i]);
        }
        Some(inverse)
    }

    /// From the correction after the last step back to the correction before each step; `pulled` false gives instead the
    /// covariance of all of them with that one column.
    pub(super) fn back(&self, steps: &[Step], last: Vector, pulled: bool) -> Vec<Vector> {
        let (l, f) = (Unknown::Length as usize, Unknown::DrawFactor as usize);
        let mut path = vec![last; steps.len() + 1];
        let mut x = last;
        for (k, (step, kept)) in steps.iter().zip(&self.kept).enumerate().rev() {
            if let Some(kept) = kept {
                let (right, jump) = if pulled { (kept.right, kept.jump) } else { (0.0, 0.0) };
                match step {
                    Step::Draw { length, variance } => {
                        let a = kept.row[l];
                        let others = dot(&kept.row, &x) - a * x[l];
                        let left = (a * variance * (right - others) + x[l] - jump) / (a * a * variance + 1.0);
                        x[l] = left + length * x[f];
                    }
                    Step::Forget { unknown } => {
                        let i = *unknown as usize;
                        let others = dot(&kept.row, &x) - kept.row[i] * x[i];
                        x[i] = if kept.row[i] == 0.0 { 0.0 } else { (right - others) / kept.row[i] };
                    }
                    Step::See { .. } => {}
                }
            }
            path[k] = x;
        }
        path
    }
}

fn unit(i: usize, value: f64) -> Vector {
    let mut row = [0.0; N];
    row[i] = value;
    row
}

/// Turns two rows with their right sides so that all that the second told of unknown `i` stands in the first.
#[inline]
fn turn(first: (&mut [f64], &mut f64), second: (&mut [f64], &mut f64), i: usize) {
    let shorter = 1.0 / libm::sqrt(first.0[i] * first.0[i] + second.0[i] * second.0[i]);
    let (c, s) = (first.0[i] * shorter, second.0[i] * shorter);
    let rotate = |a: &mut f64, b: &mut f64| (*a, *b) = (c * *a + s * *b, c * *b - s * *a);
    first.0.iter_mut().zip(second.0.iter_mut()).for_each(|(a, b)| rotate(a, b));
    rotate(first.1, second.1);
    second.0[i] = 0.0;
}

/// What is left of a row, squared, when it tells of an unknown nothing but rounding.
const SINGULAR: f64 = 1e-26;
