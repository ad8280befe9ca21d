//! Somebody has seen an alert. Alerts themselves are derived; only this is a fact.

use super::{Decision, Ruling, said};
use crate::entry::Moment;
use crate::fact::{AlertSeen, Fact};
use crate::state::State;

/// An alert seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// Its id.
    pub alert: String,
}

/// Notes that an alert was seen.
///
/// # Errors
/// An empty id.
pub fn seen(_state: &State, ask: &Seen, _at: &Moment) -> Ruling {
    let alert = said(&ask.alert, "/alert", "the alert's id")?;
    Ok(Decision::of(vec![Fact::AlertSeen(AlertSeen { alert })]))
}
