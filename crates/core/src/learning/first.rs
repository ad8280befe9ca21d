//! What is believed before the shop's own coils speak, each with where it came from.

use super::{DrawsPrior, Prior};
use crate::coil::assume::{ELONGATION_PCT, NESTING, PITCH_FACTOR, TAILS_M, THREADING_M};

/// Measured over planned resistance. Middle and spread: common practice, no source (the plan already has the usual excess
/// of the wound wire in it, so the middle is 1); scatter: first guess, worth four degrees of freedom.
pub const RATIO: Prior = Prior { mean: 1.0, spread: 0.015, scatter: 0.0085, scatter_weight: 4.0 };

/// Pitch over overall diameter: the design's own first value; scatter: first guess.
pub const PITCH: Prior = Prior { mean: PITCH_FACTOR.0, spread: PITCH_FACTOR.1, scatter: 0.005, scatter_weight: 4.0 };

/// Radial step over overall diameter: the design's own first value; scatter: first guess.
pub const STEP: Prior = Prior { mean: NESTING.0, spread: NESTING.1, scatter: 0.02, scatter_weight: 4.0 };

/// Metres drawn over metres planned: what tails and threading (0.11 m on 14 m) leave open; scatter: first guess.
pub const METRES: Prior = Prior { mean: 1.0, spread: 0.01, scatter: 0.005, scatter_weight: 4.0 };

/// Natural logarithm of minutes: any number of them; that one time lies a third above or below the usual is a first guess.
pub const LOG_MINUTES: Prior = Prior { mean: 3.0, spread: 30.0, scatter: 0.3, scatter_weight: 4.0 };

/// Elongation and threading: the design's own doubts; how a hand differs from coil to coil, 5 cm, is a first guess.
pub fn draws() -> DrawsPrior {
    DrawsPrior {
        elongation_u: ELONGATION_PCT.1 / 100.0,
        threading_u_m: libm::hypot(TAILS_M.1, THREADING_M.1),
        scatter_m: 0.05,
    }
}

/// Coils scrapped: 1 in 7, common practice, no source; worth as many coils.
pub const SCRAP_SHARE: f64 = 1.0 / 7.0;
/// How many coils the first value of the scrap rate is worth.
pub const SCRAP_WORTH: f64 = 7.0;
