//! Findings: what a calculation or a decision noticed, with the figure and what it was held against.

use serde::{Deserialize, Serialize};

/// How serious a finding is; the serious ones sort first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Do not go on.
    Stop,
    /// Look before going on.
    Watch,
    /// Worth knowing.
    Note,
}

/// One thing noticed, in the trade's words.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// A stable word for programs.
    pub code: String,
    /// How serious.
    pub level: Level,
    /// In words, with the figures.
    pub text: String,
    /// The figure, in the unit that the text names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub figure: Option<f64>,
    /// What it is held against, in the same unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
}

impl Finding {
    /// A finding without a figure.
    pub fn new(code: &str, level: Level, text: String) -> Finding {
        Finding { code: code.to_owned(), level, text, figure: None, limit: None }
    }
    /// Something that stops.
    pub fn stop(code: &str, text: String) -> Finding {
        Finding::new(code, Level::Stop, text)
    }
    /// Something to look at.
    pub fn watch(code: &str, text: String) -> Finding {
        Finding::new(code, Level::Watch, text)
    }
    /// Something worth knowing.
    pub fn note(code: &str, text: String) -> Finding {
        Finding::new(code, Level::Note, text)
    }
    /// With its figure and what that is held against.
    pub fn figures(self, figure: f64, limit: f64) -> Finding {
        Finding { figure: Some(figure), limit: Some(limit), ..self }
    }
}
