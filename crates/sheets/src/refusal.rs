//! Why a sheet cannot be made: what was met, and what is allowed.

use crate::number::Figure;

/// Why a sheet cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CannotDraw {
    /// A number lies outside what can be drawn (or is not a number).
    #[error("{name} is {met}; a sheet takes {allowed}")]
    OutOfRange {
        /// Field of the input.
        name: &'static str,
        /// What was met, as text because it may be NaN.
        met: String,
        /// What is allowed.
        allowed: &'static str,
    },
    /// No layer, or a layer without turns.
    #[error("layer {layer} has no turns; give each layer at least one")]
    EmptyLayer {
        /// Counted from 1, the innermost.
        layer: usize,
    },
    /// More wires than a drawing can show.
    #[error("{turns} turns in {layers} layers; a drawing shows at most {most_turns} turns in {most_layers} layers")]
    TooMany {
        /// Turns asked for.
        turns: u64,
        /// Layers asked for.
        layers: usize,
        /// Most turns in a drawing.
        most_turns: u64,
        /// Most layers in a drawing.
        most_layers: usize,
    },
    /// A text too long for a code of the size printed.
    #[error("{name} has {met} bytes; a printed code takes at most {allowed}")]
    TooLong {
        /// Field of the input.
        name: &'static str,
        /// Bytes met.
        met: usize,
        /// Bytes allowed.
        allowed: usize,
    },
    /// A clearance that its own diameters contradict: the drawing would show one thing and say another.
    #[error("{name} is given as {given_mm} mm, but the diameters leave {drawn_mm:.4} mm")]
    Disagree {
        /// Field of the input.
        name: &'static str,
        /// As given.
        given_mm: f64,
        /// As the diameters have it.
        drawn_mm: f64,
    },
}

pub(crate) fn out_of_range(name: &'static str, met: f64, allowed: &'static str) -> CannotDraw {
    CannotDraw::OutOfRange { name, met: met.to_string(), allowed }
}

/// Refuses what is not a finite number of a size that a workshop can meet.
pub(crate) fn sound(name: &'static str, v: f64) -> Result<(), CannotDraw> {
    if v.abs() <= 1e9 { Ok(()) } else { Err(out_of_range(name, v, "a finite number below a thousand million")) }
}

/// The same for a value with its uncertainty.
pub(crate) fn sound_figure(name: &'static str, f: Figure) -> Result<(), CannotDraw> {
    sound(name, f.value)?;
    if f.u >= 0.0 { sound(name, f.u) } else { Err(out_of_range(name, f.u, "an uncertainty that is not negative")) }
}

/// Refuses what is no share of one.
pub(crate) fn share(name: &'static str, v: f64) -> Result<(), CannotDraw> {
    if (0.0..=1.0).contains(&v) { Ok(()) } else { Err(out_of_range(name, v, "a probability from 0 to 1")) }
}
