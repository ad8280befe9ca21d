//! Findings: what a decision noticed and took nevertheless.

use serde::{Deserialize, Serialize};

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Good to know.
    Note,
    /// Look at it before going on.
    Watch,
    /// Do not go on.
    Stop,
}

/// One thing noticed, in the trade's words and with its figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// Stable short name.
    pub code: String,
    /// How much it matters.
    pub level: Level,
    /// One sentence with figures.
    pub text: String,
    /// What was met, in the unit that the text names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub figure: Option<f64>,
    /// What it was held against.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
}

impl Finding {
    pub(crate) fn new(code: &str, level: Level, text: String) -> Finding {
        Finding { code: code.to_owned(), level, text, figure: None, limit: None }
    }
    pub(crate) fn watch(code: &str, text: String) -> Finding {
        Finding::new(code, Level::Watch, text)
    }
    pub(crate) fn note(code: &str, text: String) -> Finding {
        Finding::new(code, Level::Note, text)
    }
    pub(crate) fn figures(self, figure: f64, limit: f64) -> Finding {
        Finding { figure: Some(figure), limit: Some(limit), ..self }
    }
}
