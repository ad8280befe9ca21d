//! Findings of decisions: what was noticed and taken nevertheless.

pub use coilwright_core::finding::{Finding, Level};
