//! Somebody has seen an alert. Alerts themselves are derived; only this is a fact.

use super::{Decision, Ruling, said};
use crate::alert::alerts;
use crate::entry::Moment;
use crate::fact::{AlertSeen, Fact};
use crate::refusal::Refusal;
use crate::state::State;
use jiff::civil::Date;

/// An alert seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// Its id.
    pub alert: String,
    /// The day it stands on.
    pub today: Date,
}

/// Notes that an alert was seen. One that was seen before is noted once more.
///
/// # Errors
/// An empty id, or an alert that does not stand (any more).
pub fn seen(state: &State, ask: &Seen, _at: &Moment) -> Ruling {
    let alert = said(&ask.alert, "/alert", "the alert's id")?;
    if !alerts(state, ask.today).iter().any(|a| a.id == alert) {
        return Err(Refusal::not_found("alert", alert, "/alert"));
    }
    Ok(Decision::of(vec![Fact::AlertSeen(AlertSeen { alert })]))
}
