//! Why a written quantity was not understood, with what to write instead.

use super::units::Kind;
use thiserror::Error;

/// A text that is no quantity of the wanted kind.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotUnderstood {
    /// Nothing but space.
    #[error("nothing is written; {} is wanted, for example {}", kind.in_words(), kind.example())]
    Empty {
        /// What is wanted.
        kind: Kind,
    },
    /// More text than any quantity needs.
    #[error("longer than {most} characters; write one number with its unit")]
    TooLong {
        /// The longest text that is read.
        most: usize,
    },
    /// No digits where the number should stand.
    #[error("`{met}` has no number in front; write {} like {}", kind.in_words(), kind.example())]
    NoNumber {
        /// The text.
        met: String,
        /// What is wanted.
        kind: Kind,
    },
    /// Digits and signs that make no number.
    #[error("`{met}` is not a number; write it like 1234.5, 0,25, 1 1/2 or 1e-3")]
    NotANumber {
        /// The part of the text that should be the number.
        met: String,
    },
    /// A comma that may set thousands or decimals apart.
    #[error("`{met}` can be read as {decimal} or as {thousands}; write the one that is meant")]
    Ambiguous {
        /// The text.
        met: String,
        /// Read with a decimal comma.
        decimal: String,
        /// Read with thousands set apart.
        thousands: String,
    },
    /// A fraction of nothing.
    #[error("`{met}` divides by zero")]
    ZeroDenominator {
        /// The text.
        met: String,
    },
    /// Beyond what a number can hold.
    #[error("`{met}` is too large to be a number here")]
    NotFinite {
        /// The text.
        met: String,
    },
    /// A number alone.
    #[error("`{met}` has no unit; write {} like {} (units: {})", kind.in_words(), kind.example(), listed(*kind))]
    NoUnit {
        /// The text.
        met: String,
        /// What is wanted.
        kind: Kind,
    },
    /// A unit that is not in the table.
    #[error("`{unit}` is no unit known here{}; {} takes {}", meant(*nearest), kind.in_words(), listed(*kind))]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// The unit that was probably meant.
        nearest: Option<&'static str>,
        /// What is wanted.
        kind: Kind,
    },
    /// A quantity, but not of the wanted kind.
    #[error("{met} is {}; {} is wanted", is.in_words(), wanted.in_words())]
    WrongKind {
        /// The text.
        met: String,
        /// What it is.
        is: Kind,
        /// What is wanted.
        wanted: Kind,
    },
    /// Kelvin, in which differences and temperatures look the same.
    #[error("{met} may be a difference of temperatures; write a temperature in °C or °F")]
    Kelvin {
        /// The text.
        met: String,
    },
    /// A wire gauge that does not exist.
    #[error("`{met}` is no wire size; write one from 4/0 AWG to 56 AWG")]
    Gauge {
        /// The text.
        met: String,
    },
}

impl NotUnderstood {
    /// The units that would have been right, where the unit is what was wrong.
    pub fn allowed(&self) -> Vec<&'static str> {
        match self {
            NotUnderstood::Empty { kind }
            | NotUnderstood::NoNumber { kind, .. }
            | NotUnderstood::NoUnit { kind, .. }
            | NotUnderstood::UnknownUnit { kind, .. }
            | NotUnderstood::WrongKind { wanted: kind, .. } => kind.units().collect(),
            NotUnderstood::Kelvin { .. } => Kind::Temperature.units().collect(),
            NotUnderstood::Gauge { .. } => vec!["AWG"],
            NotUnderstood::TooLong { .. }
            | NotUnderstood::NotANumber { .. }
            | NotUnderstood::Ambiguous { .. }
            | NotUnderstood::ZeroDenominator { .. }
            | NotUnderstood::NotFinite { .. } => Vec::new(),
        }
    }
}

fn listed(kind: Kind) -> String {
    kind.units().collect::<Vec<_>>().join(", ")
}

fn meant(nearest: Option<&str>) -> String {
    nearest.map(|unit| format!(" (perhaps {unit})")).unwrap_or_default()
}
