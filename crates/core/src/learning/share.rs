//! The share of coils that is scrapped: a beta prior and a count.

use crate::beta::share_quantile;

/// A share with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LearnedShare {
    /// The share to reckon with for the next.
    pub share: f64,
    /// It lies above this in 97.5 of 100 cases.
    pub low: f64,
    /// It lies below this in 97.5 of 100 cases.
    pub high: f64,
    /// Share of the shop's own coils in it, 0 to 1.
    pub weight: f64,
}

/// Moves a share from its first value towards the shop's own count.
///
/// ```text
/// share ~ Beta(p·m + scrapped, (1 − p)·m + good)
/// ```
///
/// `first` is p, `worth` the number m of coils that it counts for. Worked: 1 in 7 worth 7 coils, then 3 of 20 scrapped:
/// (1 + 3)/(7 + 20) = 14.8 %.
///
/// # Sources
/// The beta distribution is conjugate to the binomial: textbook.
pub fn learn_share(first: f64, worth: f64, hits: u64, of: u64) -> LearnedShare {
    let (hits, of) = (hits as f64, of as f64);
    let (a, b) = (first * worth + hits, (1.0 - first) * worth + of - hits);
    let quantile = |p: f64| {
        // At a share that was set to none or all there is nothing to be uncertain of but the count.
        if a <= 0.0 {
            0.0
        } else if b <= 0.0 {
            1.0
        } else {
            share_quantile(p, a, b)
        }
    };
    LearnedShare { share: a / (a + b), low: quantile(0.025), high: quantile(0.975), weight: of / (worth + of) }
}
