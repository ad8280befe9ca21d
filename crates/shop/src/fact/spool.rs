//! Facts about a spool.

use crate::entry::Seq;
use crate::id::{HoldId, JobId, SpoolId};
use crate::uncertain::{Money, Uncertain};
use serde::{Deserialize, Serialize};

/// The wire on a spool, with the figures it is reckoned by, as they were known when it was received.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wire {
    /// Id in the catalog; absent of a wire described in the request itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Name as people say it, e.g. `AWG 30 single copper`.
    pub label: String,
    /// Conductor, e.g. `copper`.
    pub conductor: String,
    /// Mass of a metre with its enamel.
    pub g_per_m: Uncertain,
    /// Resistance of a metre at 20 °C.
    pub ohm_per_m: Uncertain,
    /// Temperature coefficient of its resistance at 20 °C, per kelvin.
    pub alpha_per_k: f64,
    /// Diameter over the enamel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overall_mm: Option<f64>,
    /// Bare diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bare_mm: Option<f64>,
}

impl Wire {
    /// The name by which jobs ask for it: its id, or its label where it has none.
    pub fn key(&self) -> &str {
        self.id.as_deref().unwrap_or(&self.label)
    }
}

/// A spool came into the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolReceived {
    /// Its id from now on.
    pub spool: SpoolId,
    /// What is on it.
    pub wire: Wire,
    /// Reel and wire together as weighed on arrival.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gross_g: Option<Uncertain>,
    /// The bare reel; absent where nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tare_g: Option<Uncertain>,
    /// The length marked on it or carried over from a book.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marked_m: Option<Uncertain>,
    /// Whether that length counts: not if it is known to rest on a wrong table or the weighing speaks against it.
    #[serde(default = "yes", skip_serializing_if = "is_true")]
    pub marked_counts: bool,
    /// What is written on it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub label: String,
    /// Where it came from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
    /// The maker's lot: spools of one lot share their error of mass per metre.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lot: String,
    /// What a kilogram of this wire costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost_per_kg: Option<Money>,
    /// Where it stands.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// A spool was put on the scale.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolWeighed {
    /// Which.
    pub spool: SpoolId,
    /// What the scale showed.
    pub gross_g: Uncertain,
    /// What was expected of everything known before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_g: Option<Uncertain>,
    /// The entry of the same weighing made moments before: this one adds no knowledge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat_of: Option<Seq>,
    /// Far less than expected: wire went without being written down, so lengths from before no longer count.
    #[serde(default, skip_serializing_if = "is_false")]
    pub breaks_ledger: bool,
}

/// What a meter showed between two ends.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OhmReading {
    /// The reading with its test leads.
    pub ohm: Uncertain,
    /// The test leads alone, shorted.
    pub test_leads_ohm: Uncertain,
    /// Temperature of the wire.
    pub temperature_c: Uncertain,
}

/// The resistance of the wire on a spool was measured from end to end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolMeasured {
    /// Which.
    pub spool: SpoolId,
    /// What the meter showed.
    pub reading: OhmReading,
    /// The wire alone at 20 °C.
    pub ohm_20c: Uncertain,
    /// What was expected at 20 °C of everything known before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_ohm: Option<Uncertain>,
    /// Far less than expected: as of a weighing.
    #[serde(default, skip_serializing_if = "is_false")]
    pub breaks_ledger: bool,
}

/// A spool was put elsewhere, or its wire on another reel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolMoved {
    /// Which.
    pub spool: SpoolId,
    /// Where it stands now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// The reel that the wire is on now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reel: Option<Reel>,
}

/// A reel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reel {
    /// Its mass without wire; absent where nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tare_g: Option<Uncertain>,
}

/// Wire on a spool was promised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolHeld {
    /// Which.
    pub spool: SpoolId,
    /// The promise's id.
    pub hold: HoldId,
    /// How much of it.
    pub hold_m: f64,
    /// What for, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// The job it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<JobId>,
    /// The coil of that job, once it is started.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coil_no: Option<u32>,
}

/// A promise was given back or kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolReleased {
    /// Which spool.
    pub spool: SpoolId,
    /// Which promise.
    pub hold: HoldId,
    /// Why, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// Wire left a spool.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WireDrawn {
    /// Which spool.
    pub spool: SpoolId,
    /// How much.
    pub drawn_m: Uncertain,
    /// The job it went into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<JobId>,
    /// The coil it went into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coil_no: Option<u32>,
    /// Why, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

/// A spool is used no more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpoolRetired {
    /// Which.
    pub spool: SpoolId,
    /// Whether it is empty; otherwise its wire is not to be used.
    pub empty: bool,
    /// The empty reel on the scale: it tells the tare after the event.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty_g: Option<Uncertain>,
    /// Why, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
}

fn yes() -> bool {
    true
}
#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_true(b: &bool) -> bool {
    *b
}
#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_false(b: &bool) -> bool {
    !*b
}
