//! Refusals: what the shop will not do, why, in figures, and what to do instead.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::ops::Deref;

/// What kind of no it is; the service turns it into an error code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The shop's rules or the state of the world say no.
    Refused,
    /// There is no such spool, job, hold or entry.
    NotFound,
    /// The thing was changed since the caller looked.
    Conflict,
    /// The request cannot be meant: out of any range, or members that contradict each other.
    Wrong,
}

/// A refusal that a person can act upon. Read its members as of [`Told`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, thiserror::Error)]
#[serde(transparent)]
#[error("{}: {}", .0.message, .0.detail)]
pub struct Refusal(Box<Told>);

/// What a refusal says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// What kind of no.
    pub kind: Kind,
    /// Stable word for programs, e.g. `below_tare`.
    pub code: String,
    /// Stable short phrase.
    pub message: String,
    /// One or two sentences with figures.
    pub detail: String,
    /// The member of the request it is about, as a JSON pointer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pointer: Option<String>,
    /// What was met.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub met: Value,
    /// What would have been allowed.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub allowed: Value,
    /// What to do now.
    pub next_step: String,
}

impl Deref for Refusal {
    type Target = Told;
    fn deref(&self) -> &Told {
        &self.0
    }
}

impl From<Told> for Refusal {
    fn from(told: Told) -> Refusal {
        Refusal(Box::new(told))
    }
}

impl From<Refusal> for Told {
    fn from(refusal: Refusal) -> Told {
        *refusal.0
    }
}

impl Refusal {
    pub(crate) fn new(kind: Kind, code: &str, message: &str, detail: String, next_step: String) -> Refusal {
        Refusal(Box::new(Told {
            kind,
            code: code.to_owned(),
            message: message.to_owned(),
            detail,
            pointer: None,
            met: Value::Null,
            allowed: Value::Null,
            next_step,
        }))
    }
    pub(crate) fn refused(code: &str, message: &str, detail: String, next_step: impl Into<String>) -> Refusal {
        Refusal::new(Kind::Refused, code, message, detail, next_step.into())
    }
    pub(crate) fn wrong(code: &str, pointer: &str, detail: String, next_step: impl Into<String>) -> Refusal {
        Refusal::new(Kind::Wrong, code, "cannot be meant", detail, next_step.into()).at(pointer)
    }
    pub(crate) fn not_found(what: &str, id: impl std::fmt::Display, pointer: &str) -> Refusal {
        let detail = format!("there is no {what} {id}");
        let next = match what {
            "entry" => "see `journal read` for the entries there are".to_owned(),
            "hold" => "see `spool show` for the holds there are".to_owned(),
            _ => format!("see `{what} list` for those there are"),
        };
        Refusal::new(Kind::NotFound, "not_found", "not found", detail, next).at(pointer).met(id.to_string())
    }
    pub(crate) fn at(mut self, pointer: &str) -> Refusal {
        self.0.pointer = Some(pointer.to_owned());
        self
    }
    pub(crate) fn met(mut self, met: impl Into<Value>) -> Refusal {
        self.0.met = met.into();
        self
    }
    pub(crate) fn allowed(mut self, allowed: impl Into<Value>) -> Refusal {
        self.0.allowed = allowed.into();
        self
    }
}
