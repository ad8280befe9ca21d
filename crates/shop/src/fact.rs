//! Facts: what happened in the shop. Each is small, plain JSON, and says by itself what it means.
//!
//! A fact is about one thing only (one spool, one job, or the shop), so that undoing an entry is folding the few things
//! it touched once more without it.

mod job;
mod shop;
mod spool;

pub use job::*;
pub use shop::*;
pub use spool::*;

use crate::figures::FiguresSet;
use crate::id::{JobId, SpoolId};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Something that happened in the shop. The rare and large ones are boxed: a journal is mostly weighings and draws.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "fact", rename_all = "snake_case")]
#[allow(missing_docs, reason = "each variant is its payload's type, which says what it means")]
pub enum Fact {
    SpoolReceived(Box<SpoolReceived>),
    SpoolWeighed(SpoolWeighed),
    SpoolMeasured(SpoolMeasured),
    SpoolMoved(SpoolMoved),
    SpoolHeld(SpoolHeld),
    SpoolReleased(SpoolReleased),
    WireDrawn(WireDrawn),
    SpoolRetired(SpoolRetired),
    JobOpened(Box<JobOpened>),
    JobChanged(Box<JobChanged>),
    JobCancelled(JobCancelled),
    CoilStarted(CoilStarted),
    LayerReached(LayerReached),
    CoilFinished(Box<CoilRecord>),
    CoilScrapped(Box<CoilRecord>),
    StepDone(StepDone),
    JobClosed(JobClosed),
    FiguresSet(Box<FiguresSet>),
    EntryUndone(EntryUndone),
    PlanAccepted(PlanAccepted),
    AlertSeen(AlertSeen),
    LearningFrozen(LearningFrozen),
    LearningReset(LearningReset),
}

/// What a fact is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Subject {
    /// The shop itself: figures, plan, alerts seen.
    Shop,
    /// A spool.
    Spool(SpoolId),
    /// A job.
    Job(JobId),
}

impl Fact {
    /// What it is about; `None` of an undoing, which is about an entry.
    pub fn subject(&self) -> Option<Subject> {
        Some(match self {
            Fact::SpoolReceived(f) => Subject::Spool(f.spool),
            Fact::SpoolWeighed(f) => Subject::Spool(f.spool),
            Fact::SpoolMeasured(f) => Subject::Spool(f.spool),
            Fact::SpoolMoved(f) => Subject::Spool(f.spool),
            Fact::SpoolHeld(f) => Subject::Spool(f.spool),
            Fact::SpoolReleased(f) => Subject::Spool(f.spool),
            Fact::WireDrawn(f) => Subject::Spool(f.spool),
            Fact::SpoolRetired(f) => Subject::Spool(f.spool),
            Fact::JobOpened(f) => Subject::Job(f.job),
            Fact::JobChanged(f) => Subject::Job(f.job),
            Fact::JobCancelled(f) => Subject::Job(f.job),
            Fact::CoilStarted(f) => Subject::Job(f.job),
            Fact::LayerReached(f) => Subject::Job(f.job),
            Fact::CoilFinished(f) | Fact::CoilScrapped(f) => Subject::Job(f.job),
            Fact::StepDone(f) => Subject::Job(f.job),
            Fact::JobClosed(f) => Subject::Job(f.job),
            Fact::FiguresSet(_)
            | Fact::PlanAccepted(_)
            | Fact::AlertSeen(_)
            | Fact::LearningFrozen(_)
            | Fact::LearningReset(_) => Subject::Shop,
            Fact::EntryUndone(_) => return None,
        })
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Subject::Shop => f.write_str("shop"),
            Subject::Spool(id) => id.fmt(f),
            Subject::Job(id) => id.fmt(f),
        }
    }
}

impl FromStr for Subject {
    type Err = crate::id::NotAnId;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        if text == "shop" {
            return Ok(Subject::Shop);
        }
        text.parse().map(Subject::Spool).or_else(|_| text.parse().map(Subject::Job))
    }
}

impl TryFrom<String> for Subject {
    type Error = crate::id::NotAnId;
    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<Subject> for String {
    fn from(subject: Subject) -> String {
        subject.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertain::Uncertain;

    #[test]
    fn fact_explains_itself_as_json() {
        let fact = Fact::SpoolWeighed(SpoolWeighed {
            spool: SpoolId(3),
            gross_g: Uncertain::new(101.6, 0.06),
            expected_g: Some(Uncertain::new(105.8, 1.1)),
            repeat_of: None,
            breaks_ledger: false,
        });
        let line = serde_json::to_string(&fact).unwrap();
        assert_eq!(
            line,
            r#"{"fact":"spool_weighed","spool":"s-3","gross_g":{"value":101.6,"u":0.06},"expected_g":{"value":105.8,"u":1.1}}"#
        );
        assert_eq!(serde_json::from_str::<Fact>(&line).unwrap(), fact);
        assert_eq!(fact.subject(), Some(Subject::Spool(SpoolId(3))));
    }
}
