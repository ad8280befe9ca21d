//! `job.progress`, `job.record` and `job.step`: a coil on the winder, as wound, and after it.

use super::JobStatus;
use crate::coil::FindingAnswer;
use crate::quantity::{C, Figure, M, Min, Mm, Ohm, Reading, Setting};
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

asks! {
    /// A layer of the coil on the winder is full.
    JobProgress {
        /// The job.
        job: String,
        /// Layers that are full now.
        layer: u32,
    } may {
        /// Which coil; the one on the winder if left out.
        coil_no: u32,
        /// The tablet that follows this coil.
        lease: String,
        /// This tablet takes over from the one that followed it so far.
        take_over: bool,
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobProgress => JobProgressed, "job.progress", "Notes that a layer of the coil on the winder is full.", writes: true, leading: ["job", "layer"]);

tells! {
    /// The coil on the winder.
    JobProgressed {
        /// The job.
        job: String,
        /// The coil.
        coil_no: u32,
        /// Layers that are full.
        layer: u32,
        /// The job's revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
    } may {}
}

/// What became of a coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CoilOutcome {
    /// It will be trimmed, cured and tested.
    Good,
    /// It is lost with its wire.
    Scrapped,
}

asks! {
    /// A coil as it was wound.
    JobRecord {
        /// The job.
        job: String,
        /// Good or scrapped.
        outcome: CoilOutcome,
    } may {
        /// Which coil; the one on the winder if left out.
        coil_no: u32,
        /// The spool; the one it was started from if left out.
        spool: String,
        /// Who wound it.
        winder: String,
        /// Mandrel used.
        mandrel_mm: Setting<Mm>,
        /// How long it took.
        minutes: Setting<Min>,
        /// Batch of the adhesive.
        adhesive_batch: String,
        /// Turns as counted, from the inside out.
        turns_per_layer: Vec<u32>,
        /// What the meter showed, test leads included.
        reading_ohm: Setting<Ohm>,
        /// The test leads alone, shorted; 0 if left out.
        test_leads_ohm: Setting<Ohm>,
        /// Temperature of the coil at the reading.
        temperature_c: Setting<C>,
        /// Standard uncertainty of the meter; the shop's own if left out.
        meter_u_ohm: Setting<Ohm>,
        /// Wire taken, if it was measured; planned if left out.
        drawn_m: Reading<M>,
        /// Width of the winding as measured, outside to outside of wire: teaches the pitch.
        width_mm: Setting<Mm>,
        /// Diameter over the winding as measured, away from the cross-over: teaches how the layers nest.
        outside_mm: Setting<Mm>,
        /// Why it was scrapped.
        reason: String,
        /// Anything else.
        note: String,
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobRecord => JobRecorded, "job.record", "Records a coil as wound: the wire it took, its reading, good or scrapped.", writes: true, leading: ["job", "outcome"]);

tells! {
    /// A coil as recorded, and its spool after it.
    JobRecorded {
        /// The job.
        job: String,
        /// The coil.
        coil_no: u32,
        /// Wire that left the spool.
        drawn_m: Figure<M>,
        /// The spool after it.
        spool: SpoolAfter,
        /// What was noticed.
        findings: Vec<FindingAnswer>,
        /// The job's revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
    } may {
        /// Resistance at 20 °C without test leads.
        dcr_ohm: Figure<Ohm>,
        /// That over the plan's.
        ratio: f64,
    }
}

tells! {
    /// A spool after wire was drawn from it.
    SpoolAfter {
        /// The spool.
        spool: String,
        /// What is left.
        left_m: Figure<M>,
        /// What can still be promised with the shop's confidence.
        free_m: Setting<M>,
    } may {}
}

/// A step after winding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LaterStep {
    /// Turns taken off to the wanted resistance.
    Trimmed,
    /// Adhesive hard.
    Cured,
    /// Isolation, shorted turn, polarity, clearance, resonance.
    Tested,
}

asks! {
    /// A good coil was trimmed, cured or tested.
    JobStep {
        /// The job.
        job: String,
        /// The coil.
        coil_no: u32,
        /// Which step.
        step: LaterStep,
    } may {
        /// It was looked at and needs none of it.
        not_needed: bool,
        /// How long it took.
        minutes: Setting<Min>,
        /// What the meter showed after it, test leads included.
        reading_ohm: Setting<Ohm>,
        /// The test leads alone, shorted; 0 if left out.
        test_leads_ohm: Setting<Ohm>,
        /// Temperature of the coil at the reading.
        temperature_c: Setting<C>,
        /// Standard uncertainty of the meter; the shop's own if left out.
        meter_u_ohm: Setting<Ohm>,
        /// Figures and words that belong to it, e.g. {"unwound_turns": 2}.
        figures: Map<String, Value>,
        /// Anything else.
        note: String,
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobStep => JobStepped, "job.step", "Notes that a good coil was trimmed, cured or tested.", writes: true, leading: ["job", "coil_no", "step"]);

tells! {
    /// A step done.
    JobStepped {
        /// The job.
        job: String,
        /// The coil.
        coil_no: u32,
        /// What still keeps the job from being closed, in words.
        missing: Vec<String>,
        /// Where the job stands.
        status: JobStatus,
        /// The job's revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
        /// What was noticed.
        findings: Vec<FindingAnswer>,
    } may {}
}
