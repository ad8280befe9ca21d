//! One pass over the chain: forward, gathering what was seen; back, finding the old values again.

use super::chain::{Before, G_PER_M, Matrix, N, Seen, Step, Unknown, Vector, dot, observe};
use crate::measured::Input;

/// Everything seen, gathered over the unknowns as they are after the last step.
pub(super) struct Forward {
    information: Matrix,
    towards: Vector,
    /// For each draw and each forgetting, what was known of the old value.
    kept: Vec<Option<Kept>>,
}

/// What was known of a value before it changed, and how far the path jumps there from what the change says.
#[derive(Clone, Copy)]
struct Kept {
    row: Vector,
    pull: f64,
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
    pub(super) fn start(prior: &Before, steps: &[Step], path: &[Vector]) -> Forward {
        let mut f = Forward { information: [[0.0; N]; N], towards: [0.0; N], kept: Vec::with_capacity(steps.len()) };
        for (i, (p, x)) in prior.each.iter().zip(path.first().into_iter().flatten()).enumerate() {
            if let Some(p) = p {
                f.information[i][i] = 1.0 / (p.u * p.u);
                f.towards[i] = (p.value - x) / (p.u * p.u);
            }
        }
        if let (Some((m, r, c)), Some(x)) = (prior.pair(), path.first()) {
            f.tie(m, r, c, x);
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

    /// What is known of the two figures per metre beforehand, with errors that go together: the inverse of their
    /// covariance in place of 1/u² of each.
    fn tie(&mut self, g_per_m: Input, ohm_per_m: Input, correlation: f64, x: &Vector) {
        let of = [(G_PER_M, g_per_m), (Unknown::OhmPerM as usize, ohm_per_m)];
        let share = 1.0 / (1.0 - correlation * correlation);
        for (i, pi) in of {
            self.towards[i] = 0.0;
            for (j, pj) in of {
                let c = if i == j { 1.0 } else { -correlation };
                self.information[i][j] = share * c / (pi.u * pj.u);
                self.towards[i] += self.information[i][j] * (pj.value - x[j]);
            }
        }
    }

    /// What is known of two of the unknowns, whatever the others are.
    pub(super) fn only(&mut self, kept: [usize; 2]) -> ([[f64; 2]; 2], [f64; 2]) {
        for i in (0..N).filter(|i| !kept.contains(i)) {
            self.forget(i);
        }
        (kept.map(|i| kept.map(|j| self.information[i][j])), kept.map(|i| self.towards[i]))
    }

    fn see(&mut self, seen: Seen, value: Input, x: &Vector) -> Option<Kept> {
        let (expected, slope) = observe(seen, x);
        let information = 1.0 / (value.u * value.u);
        for i in 0..N {
            self.towards[i] += slope[i] * (value.value - expected) * information;
            for j in 0..N {
                self.information[i][j] += slope[i] * slope[j] * information;
            }
        }
        None
    }

    /// length' = length − drawn·factor + error. First the length is written as what is left after the draw without its
    /// error, then the error takes its share of the information.
    fn draw(&mut self, drawn: f64, variance: f64, x: &Vector, next: &Vector) -> Kept {
        let (l, f) = (Unknown::Length as usize, Unknown::DrawFactor as usize);
        for j in 0..N {
            self.information[f][j] += drawn * self.information[l][j];
        }
        for j in 0..N {
            self.information[j][f] += drawn * self.information[j][l];
        }
        self.towards[f] += drawn * self.towards[l];
        let jump = x[l] - drawn * x[f] - next[l];
        let kept = Kept { row: self.information[l], pull: self.towards[l], jump };
        for (t, r) in self.towards.iter_mut().zip(&kept.row) {
            *t += r * jump;
        }
        self.take_out(l, variance / (1.0 + variance * kept.row[l]));
        kept
    }

    /// Nothing is known of this unknown from here on; what it told of the others stays.
    fn forget(&mut self, i: usize) -> Kept {
        let kept = Kept { row: self.information[i], pull: self.towards[i], jump: 0.0 };
        if kept.row[i] > 0.0 {
            self.take_out(i, 1.0 / kept.row[i]);
        }
        self.towards[i] = 0.0;
        for j in 0..N {
            self.information[i][j] = 0.0;
            self.information[j][i] = 0.0;
        }
        kept
    }

    /// Takes `share` of what one unknown ties together out of all of them.
    fn take_out(&mut self, i: usize, share: f64) {
        let (row, pull) = (self.information[i], self.towards[i]);
        for a in 0..N {
            self.towards[a] -= row[a] * pull * share;
            for b in 0..N {
                self.information[a][b] -= row[a] * row[b] * share;
            }
        }
    }

    pub(super) fn known(&self) -> [bool; N] {
        let mut known = [false; N];
        for (k, (i, row)) in known.iter_mut().zip(self.information.iter().enumerate()) {
            *k = row[i] > 0.0;
        }
        known
    }

    /// The same, to look ahead from: what came before is gathered, not kept.
    pub(super) fn ahead(&self) -> Forward {
        Forward { information: self.information, towards: self.towards, kept: Vec::new() }
    }

    /// The correction after the last step.
    pub(super) fn solved(&self) -> Option<Vector> {
        Some(self.now()?.1)
    }

    /// Covariance and correction after the last step.
    pub(super) fn now(&self) -> Option<(Matrix, Vector)> {
        let inverse = self.covariance()?;
        let mut x = [0.0; N];
        for (x, row) in x.iter_mut().zip(&inverse) {
            *x = dot(row, &self.towards);
        }
        Some((inverse, x))
    }

    /// Inverse of the information; rows of unknowns that nothing is known of stay zero.
    pub(super) fn covariance(&self) -> Option<Matrix> {
        let known = self.known();
        if !known[Unknown::Length as usize] {
            return None;
        }
        let mut scale = [0.0; N];
        for i in 0..N {
            scale[i] = if known[i] { 1.0 / libm::sqrt(self.information[i][i]) } else { 0.0 };
        }
        let mut a = [[0.0; N]; N];
        for i in 0..N {
            for j in 0..N {
                a[i][j] = self.information[i][j] * scale[i] * scale[j];
            }
            if !known[i] {
                a[i][i] = 1.0;
            }
        }
        let mut inverse = inverted(a)?;
        for i in 0..N {
            for j in 0..N {
                inverse[i][j] *= scale[i] * scale[j];
            }
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
                let (pull, jump) = if pulled { (kept.pull, kept.jump) } else { (0.0, 0.0) };
                match step {
                    Step::Draw { length, variance } => {
                        let others = dot(&kept.row, &x) - kept.row[l] * x[l];
                        let left = (variance * (pull - others) + x[l] - jump) / (variance * kept.row[l] + 1.0);
                        x[l] = left + length * x[f];
                    }
                    Step::Forget { unknown } => {
                        let i = *unknown as usize;
                        let others = dot(&kept.row, &x) - kept.row[i] * x[i];
                        x[i] = if kept.row[i] > 0.0 { (pull - others) / kept.row[i] } else { 0.0 };
                    }
                    Step::See { .. } => {}
                }
            }
            path[k] = x;
        }
        path
    }
}

/// Inverse of a symmetric matrix with ones on its diagonal, by its Cholesky factor; `None` if it is singular to working
/// precision.
fn inverted(a: Matrix) -> Option<Matrix> {
    let mut l = [[0.0; N]; N];
    for i in 0..N {
        for j in 0..=i {
            let sum = a[i][j] - (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
            if i != j {
                l[i][j] = sum / l[j][j];
            } else if sum > SINGULAR {
                l[i][i] = libm::sqrt(sum);
            } else {
                return None;
            }
        }
    }
    let mut inverse = [[0.0; N]; N];
    // Column by column; the inverse is symmetric, so a column is as good as a row.
    for (c, column) in inverse.iter_mut().enumerate() {
        for i in 0..N {
            let unit = if i == c { 1.0 } else { 0.0 };
            column[i] = (unit - (0..i).map(|k| l[i][k] * column[k]).sum::<f64>()) / l[i][i];
        }
        for i in (0..N).rev() {
            column[i] = (column[i] - (i + 1..N).map(|k| l[k][i] * column[k]).sum::<f64>()) / l[i][i];
        }
    }
    Some(inverse)
}

/// What is left of a one on the diagonal when a row adds nothing but rounding.
const SINGULAR: f64 = 1e-14;
