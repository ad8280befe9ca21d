//! Measured values: a value with its standard uncertainty, and the law by which uncertainties travel through a formula.
//!
//! Every `u` is a standard uncertainty (k = 1). A maker's limit enters as limit/√3.

use crate::quantity::Quantity;
use serde::{Deserialize, Serialize};

/// A value and its standard uncertainty, in the same unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Measured<Q> {
    /// The best estimate.
    pub value: Q,
    /// Its standard uncertainty (k = 1), not negative.
    pub u: Q,
}

impl<Q: Quantity> Measured<Q> {
    /// A value with its standard uncertainty.
    pub fn new(value: Q, u: Q) -> Self {
        Measured { value, u }
    }

    /// A value taken as free of uncertainty: a setting, a count, a constant.
    pub fn certain(value: Q) -> Self {
        Measured { value, u: Q::from_si(0.0) }
    }

    /// A value known within a limit on either side, every value in it equally likely: u = limit/√3 (GUM 4.3.7).
    pub fn within(value: Q, limit: Q) -> Self {
        Measured { value, u: Q::from_si(half_width_to_u(limit.si())) }
    }

    /// The same as bare numbers in the coherent SI unit.
    pub fn input(self) -> Input {
        Input { value: self.value.si(), u: self.u.si() }
    }
}

/// Standard uncertainty of a quantity known to lie within ± `limit`, all of it equally likely.
///
/// # Sources
/// JCGM 100:2008 (GUM), 4.3.7.
pub fn half_width_to_u(limit: f64) -> f64 {
    limit.abs() / libm::sqrt(3.0)
}

/// The mean of three readings of one thing, and its standard uncertainty.
///
/// ```text
/// u = max(1.32·s/√3, resolution/√12, maker's limit/√3)
/// ```
///
/// `s` is the standard deviation of the three; 1.32 is Student's t for two degrees of freedom at 68.3 %, so that three
/// readings that happen to agree are not believed too much. `resolution` and `limit` are the instrument's, in the
/// readings' unit, and keep a coarse instrument honest.
pub fn mean_of_three(readings: [f64; 3], resolution: f64, limit: f64) -> Input {
    let mean = readings.iter().sum::<f64>() / 3.0;
    let s = libm::sqrt(readings.iter().map(|r| (r - mean) * (r - mean)).sum::<f64>() / 2.0);
    let u = (1.32 * s / libm::sqrt(3.0)).max(resolution / libm::sqrt(12.0)).max(half_width_to_u(limit));
    Input { value: mean, u }
}

/// One input of a formula as bare numbers: value and standard uncertainty in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
}

impl Input {
    /// A number without uncertainty.
    pub fn certain(value: f64) -> Input {
        Input { value, u: 0.0 }
    }
}

/// The inputs of a formula, with the correlations between them.
#[derive(Debug, Clone, Default)]
pub struct Inputs {
    inputs: Vec<Input>,
    correlated: Vec<(usize, usize, f64)>,
}

impl Inputs {
    /// Inputs without correlation.
    pub fn new(inputs: Vec<Input>) -> Inputs {
        Inputs { inputs, correlated: Vec::new() }
    }

    /// The inputs and their correlations.
    pub(crate) fn parts(&self) -> (&[Input], &[(usize, usize, f64)]) {
        (&self.inputs, &self.correlated)
    }

    /// States that two inputs (by their position) have the correlation coefficient `r`, between −1 and 1.
    pub fn correlate(mut self, a: usize, b: usize, r: f64) -> Inputs {
        self.correlated.push((a, b, r));
        self
    }

    /// Carries values and uncertainties through `formula`, which fills its second argument with the results.
    ///
    /// ```text
    /// y_j = f_j(x),   c_ij·u_i = ½·[f_j(x_i + u_i) − f_j(x_i − u_i)],   cov(y_j, y_k) = Σ_i Σ_l c_ij·u_i · r_il · c_lk·u_l
    /// ```
    ///
    /// The sensitivity of each result to each input is taken over one standard uncertainty on either side, which the GUM
    /// allows where it is easier than a derivative. Terms of second order are left out: a formula that bends within one
    /// u (a count that is rounded down) must be held at its working point by the caller.
    ///
    /// # Sources
    /// JCGM 100:2008 (GUM), 5.1.4 (note 2), 5.2.2 equation 16, and F.1.2.3 for covariances of results.
    pub fn propagate(&self, mut formula: impl FnMut(&[f64], &mut Vec<f64>)) -> Propagated {
        let mut x: Vec<f64> = self.inputs.iter().map(|i| i.value).collect();
        let mut value = Vec::new();
        formula(&x, &mut value);
        let (mut high, mut low) = (Vec::with_capacity(value.len()), Vec::with_capacity(value.len()));
        let mut parts = Vec::with_capacity(self.inputs.len());
        for (i, input) in self.inputs.iter().enumerate() {
            if input.u == 0.0 {
                parts.push(vec![0.0; value.len()]);
                continue;
            }
            high.clear();
            low.clear();
            x[i] = input.value + input.u;
            formula(&x, &mut high);
            x[i] = input.value - input.u;
            formula(&x, &mut low);
            x[i] = input.value;
            parts.push(high.iter().zip(&low).map(|(h, l)| 0.5 * (h - l)).collect());
        }
        Propagated { value, parts, correlated: self.correlated.clone() }
    }
}

/// Results of [`Inputs::propagate`]: values, and for every pair of results their covariance.
#[derive(Debug, Clone)]
pub struct Propagated {
    value: Vec<f64>,
    parts: Vec<Vec<f64>>,
    correlated: Vec<(usize, usize, f64)>,
}

impl Propagated {
    /// The value of result `j`.
    pub fn value(&self, j: usize) -> f64 {
        self.value[j]
    }

    /// Its standard uncertainty.
    pub fn u(&self, j: usize) -> f64 {
        libm::sqrt(self.covariance(j, j).max(0.0))
    }

    /// Value and uncertainty of result `j` as a quantity whose SI unit the formula used.
    pub fn measured<Q: Quantity>(&self, j: usize) -> Measured<Q> {
        Measured::new(Q::from_si(self.value(j)), Q::from_si(self.u(j)))
    }

    /// Covariance of two results: not zero where they share an input or their inputs are correlated.
    pub fn covariance(&self, j: usize, k: usize) -> f64 {
        let own: f64 = self.parts.iter().map(|p| p[j] * p[k]).sum();
        let cross: f64 = self
            .correlated
            .iter()
            .map(|&(a, b, r)| r * (self.parts[a][j] * self.parts[b][k] + self.parts[b][j] * self.parts[a][k]))
            .sum();
        own + cross
    }

    /// Correlation coefficient of two results; 0 where one of them has no uncertainty.
    pub fn correlation(&self, j: usize, k: usize) -> f64 {
        let scale = self.u(j) * self.u(k);
        if scale > 0.0 { self.covariance(j, k) / scale } else { 0.0 }
    }

    /// What input `i` alone contributes to the uncertainty of result `j`, with its sign.
    pub fn part(&self, i: usize, j: usize) -> f64 {
        self.parts[i][j]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
    }

    /// GUM H.2: resistance, reactance and impedance from three correlated readings. Raw means and their correlations as
    /// recomputed from the example's table H.2; tolerance: half a unit of the last digit printed there.
    /// Source: JCGM 100:2008, H.2, table H.4 (R 127.732 ± 0.071, X 219.847 ± 0.295, Z 254.260 ± 0.236).
    #[test]
    fn gum_h2_correlated_inputs() {
        let v = [5.007, 4.994, 5.005, 4.990, 4.999];
        let i = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
        let phi = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
        let mean = |x: &[f64; 5]| x.iter().sum::<f64>() / 5.0;
        let cov = |x: &[f64; 5], y: &[f64; 5]| {
            x.iter().zip(y).map(|(a, b)| (a - mean(x)) * (b - mean(y))).sum::<f64>() / 20.0
        };
        let u = |x: &[f64; 5]| cov(x, x).sqrt();
        let r = |x: &[f64; 5], y: &[f64; 5]| cov(x, y) / (u(x) * u(y));
        let inputs = Inputs::new(vec![
            Input { value: mean(&v), u: u(&v) },
            Input { value: mean(&i), u: u(&i) },
            Input { value: mean(&phi), u: u(&phi) },
        ])
        .correlate(0, 1, r(&v, &i))
        .correlate(0, 2, r(&v, &phi))
        .correlate(1, 2, r(&i, &phi));
        let p = inputs.propagate(|x, out| {
            let z = x[0] / x[1];
            out.extend([z * x[2].cos(), z * x[2].sin(), z]);
        });
        near(p.value(0), 127.732, 0.0005);
        near(p.u(0), 0.071, 0.0005);
        near(p.value(1), 219.847, 0.0005);
        near(p.u(1), 0.2956, 0.0005);
        near(p.value(2), 254.260, 0.0005);
        near(p.u(2), 0.236, 0.0005);
        near(p.correlation(0, 1), -0.588, 0.0005);
        near(p.correlation(0, 2), -0.485, 0.0005);
        near(p.correlation(1, 2), 0.993, 0.0006);
    }

    #[test]
    fn results_that_share_an_input_are_correlated() {
        let p = Inputs::new(vec![Input { value: 2.0, u: 0.1 }, Input { value: 3.0, u: 0.2 }])
            .propagate(|x, out| out.extend([x[0], x[0] + x[1]]));
        near(p.covariance(0, 1), 0.01, 1e-12);
        near(p.u(1), (0.01f64 + 0.04).sqrt(), 1e-12);
    }

    #[test]
    fn three_equal_readings_keep_the_instruments_doubt() {
        let m = mean_of_three([25.7, 25.7, 25.7], 0.01, 0.03);
        near(m.value, 25.7, 1e-12);
        near(m.u, 0.03 / 3f64.sqrt(), 1e-12);
    }
}
