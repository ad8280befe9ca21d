//! Errors on the wire: codes, and what each carries so that the caller knows what to do next.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::fmt;

/// Codes of the specification and of the shop.
pub mod code {
    /// The body was no JSON.
    pub const PARSE: i32 = -32700;
    /// JSON, but no request.
    pub const INVALID_REQUEST: i32 = -32600;
    /// No such method.
    pub const METHOD_NOT_FOUND: i32 = -32601;
    /// The params do not fit the method.
    pub const INVALID_PARAMS: i32 = -32602;
    /// We failed.
    pub const INTERNAL: i32 = -32603;
    /// No token, or one that is not known.
    pub const UNAUTHORISED: i32 = 1000;
    /// A token that may not do this.
    pub const NOT_YOUR_ROLE: i32 = 1001;
    /// The shop's rules say no.
    pub const REFUSED: i32 = 1100;
    /// There is no such thing.
    pub const NOT_FOUND: i32 = 1101;
    /// It changed since you looked.
    pub const CONFLICT: i32 = 1102;
    /// This key was used with other params.
    pub const KEY_REUSED: i32 = 1103;
    /// Larger or more than is taken.
    pub const TOO_MUCH: i32 = 1200;
    /// Try again.
    pub const BUSY: i32 = 1201;
    /// Reading goes on, writing does not.
    pub const DEGRADED: i32 = 1202;
    /// A plugin failed.
    pub const PLUGIN_FAILED: i32 = 1300;

    /// All of them with their stable phrase.
    pub const ALL: [(i32, &str); 15] = [
        (PARSE, "not JSON"),
        (INVALID_REQUEST, "not a request"),
        (METHOD_NOT_FOUND, "no such method"),
        (INVALID_PARAMS, "params do not fit"),
        (INTERNAL, "internal failure"),
        (UNAUTHORISED, "unauthorised"),
        (NOT_YOUR_ROLE, "not your role"),
        (REFUSED, "refused"),
        (NOT_FOUND, "not found"),
        (CONFLICT, "changed meanwhile"),
        (KEY_REUSED, "key used before with other params"),
        (TOO_MUCH, "too much"),
        (BUSY, "busy"),
        (DEGRADED, "read-only for now"),
        (PLUGIN_FAILED, "plugin failed"),
    ];

    /// The stable phrase of a code.
    pub fn phrase(code: i32) -> &'static str {
        ALL.iter().find(|(c, _)| *c == code).map_or("error", |(_, phrase)| phrase)
    }
}

/// Whose fault it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ErrorKind {
    /// You asked wrongly.
    WrongRequest,
    /// The world says no.
    Refused,
    /// We failed.
    Failed,
}

/// An error as it is answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RpcError {
    /// One of [`code`].
    pub code: i32,
    /// The code's stable phrase.
    pub message: String,
    /// The rest; boxed, since errors travel by value through every request.
    pub data: Box<ErrorData>,
}

/// What an error carries besides its code.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ErrorData {
    /// Whose fault it is.
    pub kind: ErrorKind,
    /// What is wrong, in a sentence.
    pub detail: String,
    /// A stable word for what the shop's rules object to, e.g. `below_tare`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// The member it is about, as a JSON pointer into the params.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pointer: Option<String>,
    /// What was met.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub met: Value,
    /// What would have been taken.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub allowed: Value,
    /// What to do now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_step: Option<String>,
}

impl RpcError {
    /// An error of `code` with a sentence.
    pub fn new(code: i32, kind: ErrorKind, detail: impl Into<String>) -> RpcError {
        let data = Box::new(ErrorData {
            kind,
            detail: detail.into(),
            reason: None,
            pointer: None,
            met: Value::Null,
            allowed: Value::Null,
            next_step: None,
        });
        RpcError { code, message: code::phrase(code).into(), data }
    }
    /// Params that do not fit.
    pub fn params(pointer: impl Into<String>, detail: impl Into<String>) -> RpcError {
        RpcError::new(code::INVALID_PARAMS, ErrorKind::WrongRequest, detail).at(pointer)
    }
    /// A thing that does not exist.
    pub fn not_found(pointer: impl Into<String>, detail: impl Into<String>) -> RpcError {
        RpcError::new(code::NOT_FOUND, ErrorKind::Refused, detail).at(pointer)
    }
    /// Points at a member of the params.
    pub fn at(mut self, pointer: impl Into<String>) -> RpcError {
        self.data.pointer = Some(pointer.into());
        self
    }
    /// Says what was met.
    pub fn met(mut self, met: impl Into<Value>) -> RpcError {
        self.data.met = met.into();
        self
    }
    /// Says what would have been taken.
    pub fn allowed(mut self, allowed: impl Into<Value>) -> RpcError {
        self.data.allowed = allowed.into();
        self
    }
    /// Says what to do now.
    pub fn next(mut self, step: impl Into<String>) -> RpcError {
        self.data.next_step = Some(step.into());
        self
    }
}

impl fmt::Display for RpcError {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{} ({}): {}", self.message, self.code, self.data.detail)
    }
}
impl std::error::Error for RpcError {}

/// What a params type found wrong, on its way through serde's errors, which carry nothing but text.
pub(crate) struct Explained {
    pub detail: String,
    pub met: String,
    pub allowed: String,
    pub next_step: String,
}

/// Cannot stand in text that a parser let through: JSON escapes it.
const SEPARATOR: char = '\u{1f}';

impl Explained {
    pub fn new(detail: &str, met: &str, allowed: &str, next_step: &str) -> Explained {
        Explained { detail: detail.into(), met: met.into(), allowed: allowed.into(), next_step: next_step.into() }
    }
    pub fn encoded(&self) -> String {
        [&self.detail, &self.met, &self.allowed, &self.next_step]
            .map(|s| s.replace(SEPARATOR, " "))
            .join(&SEPARATOR.to_string())
    }
    pub fn decode(message: &str) -> Option<Explained> {
        let mut parts = message.split(SEPARATOR);
        let (detail, met, allowed, next) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        // serde_json appends the place in the text.
        let next = next.split(" at line ").next().unwrap_or(next);
        Some(Explained::new(detail, met, allowed, next))
    }
}
