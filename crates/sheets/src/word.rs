//! The three words for how much is left, never printed without their probability.

/// Whether there is enough wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Word {
    /// The probability reaches the shop's confidence.
    Enough,
    /// It may do, or may not.
    Doubtful,
    /// It will not do.
    Short,
}

impl Word {
    /// `enough`, `doubtful` or `short`.
    pub fn as_str(self) -> &'static str {
        match self {
            Word::Enough => "enough",
            Word::Doubtful => "doubtful",
            Word::Short => "short",
        }
    }

    /// `enough (99.3 %)`.
    pub(crate) fn with(self, probability: f64) -> String {
        format!("{} ({})", self.as_str(), percent(probability))
    }
}

/// A probability in per cent, without claiming certainty: `98.0 %`, `over 99.9 %`, `under 0.1 %`.
pub(crate) fn percent(p: f64) -> String {
    if p > 0.999 {
        "over 99.9 %".into()
    } else if p < 0.001 {
        "under 0.1 %".into()
    } else {
        format!("{:.1} %", p * 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_is_never_printed_as_certain() {
        assert_eq!(Word::Enough.with(1.0), "enough (over 99.9 %)");
        assert_eq!(Word::Short.with(0.0), "short (under 0.1 %)");
        assert_eq!(Word::Doubtful.with(0.712), "doubtful (71.2 %)");
    }
}
