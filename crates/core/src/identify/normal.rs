//! The multivariate normal law in a handful of dimensions: density, misfit, and what one more measurement would show.

/// A covariance matrix, factored: Σ = L·Lᵀ.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    rows: Vec<Vec<f64>>,
}

impl Factor {
    /// Factors the matrix whose element (i, j) is `covariance(i, j)`. `None` if it is not positive definite: two
    /// measurements that could not differ.
    pub fn new(n: usize, covariance: impl Fn(usize, usize) -> f64) -> Option<Factor> {
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(n);
        for i in 0..n {
            let mut row: Vec<f64> = Vec::with_capacity(i + 1);
            for (j, above) in rows.iter().enumerate() {
                let sum = covariance(i, j) - dot(&row, above);
                row.push(sum / above.last().copied().unwrap_or(1.0));
                debug_assert_eq!(row.len(), j + 1);
            }
            let left = covariance(i, i) - dot(&row, &row);
            if !(left > 0.0 && left.is_finite()) {
                return None;
            }
            row.push(libm::sqrt(left));
            rows.push(row);
        }
        Some(Factor { rows })
    }

    /// L⁻¹·v.
    pub fn whiten(&self, v: &[f64]) -> Vec<f64> {
        let mut z: Vec<f64> = Vec::with_capacity(v.len());
        for (row, value) in self.rows.iter().zip(v) {
            let left = value - dot(row, &z);
            z.push(left / row.last().copied().unwrap_or(1.0));
        }
        z
    }

    /// Half the logarithm of the determinant of Σ.
    pub fn half_ln_det(&self) -> f64 {
        self.rows.iter().filter_map(|r| r.last()).map(|d| libm::log(*d)).sum()
    }
}

/// Sum of products as far as both go.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Arithmetic: Σ = [[4, 2], [2, 3]] has determinant 8, and (1, 1)·Σ⁻¹·(1, 1)ᵀ = 3/8.
    #[test]
    fn misfit_and_determinant_of_two_by_two() {
        let s = [[4.0, 2.0], [2.0, 3.0]];
        let f = Factor::new(2, |i, j| s[i][j]).unwrap();
        let z = f.whiten(&[1.0, 1.0]);
        assert!((dot(&z, &z) - 0.375).abs() < 1e-15);
        assert!((f.half_ln_det() - 0.5 * 8.0_f64.ln()).abs() < 1e-15);
    }

    #[test]
    fn measurements_that_cannot_differ_are_no_covariance() {
        assert!(Factor::new(2, |_, _| 1.0).is_none());
    }
}
