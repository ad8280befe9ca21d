//! Facts about the shop as a whole: entries undone, the accepted plan, alerts seen.

use crate::entry::Seq;
use crate::id::{JobId, SpoolId};
use serde::{Deserialize, Serialize};

/// An entry no longer counts. It stays in the journal; so does this.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EntryUndone {
    /// Which entry.
    pub seq: Seq,
    /// Why, in words.
    pub reason: String,
}

/// A plan is what the shop goes by from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanAccepted {
    /// The state of the journal it was made for.
    pub made_at_seq: Seq,
    /// Risk of any coil running out that was promised, in per cent.
    pub promised_risk_pct: f64,
    /// The same as computed for this plan.
    pub computed_risk_pct: f64,
    /// Which coils come from which spool.
    pub assign: Vec<Assigned>,
}

/// Coils of one job on one spool.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Assigned {
    /// Which job.
    pub job: JobId,
    /// With which wire.
    pub wire: String,
    /// From which spool.
    pub spool: SpoolId,
    /// How many.
    pub coils: u32,
}

/// From here on new coils no longer move planned figures, or do again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LearningFrozen {
    /// Frozen; otherwise thawed, and the coils recorded meanwhile count again.
    pub frozen: bool,
    /// Why, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// What coils taught before this entry is forgotten: all, or those of one wire, mandrel or winder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LearningReset {
    /// Only coils of this wire.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<String>,
    /// Only coils on this mandrel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mandrel_mm: Option<f64>,
    /// Only coils of this winder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub winder: Option<String>,
    /// Why, in words.
    pub reason: String,
}

/// Somebody has seen an alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AlertSeen {
    /// The alert's id.
    pub alert: String,
}
