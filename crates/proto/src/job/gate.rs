//! `job.gate` and `job.start`: whether a coil may be started, and its start.

use super::Override;
use crate::quantity::{M, Setting};
use crate::reference::AdhesiveRef;
use crate::shape::{asks, method, tells};
use crate::spool::EnoughWord;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// Asks whether a coil may be started from a spool.
    JobGate {
        /// The job.
        job: String,
        /// The spool.
        spool: String,
    } may {
        /// Which coil; the next one if left out.
        coil_no: u32,
        /// The adhesive about to be mixed, where it is not the one of the job's coil: its pot life counts.
        adhesive: AdhesiveRef,
    }
}
method!(JobGate => JobGated, "job.gate", "Checks, before adhesive is mixed, whether a coil may be started from a spool.", leading: ["job", "spool"]);

asks! {
    /// A coil is started: adhesive is about to be mixed.
    JobStart {
        /// The job.
        job: String,
        /// The spool.
        spool: String,
    } may {
        /// Which coil; the next one if left out.
        coil_no: u32,
        /// The adhesive about to be mixed, where it is not the one of the job's coil: its pot life counts.
        adhesive: AdhesiveRef,
        /// Why to go on although the gate says stop: signed, and visible for good.
        r#override: Override,
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobStart => JobGated, "job.start", "Starts a coil: goes through the gate and promises its wire.", writes: true, leading: ["job", "spool"]);

/// Go or stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Nothing speaks against it.
    Go,
    /// Something does.
    Stop,
}

tells! {
    /// What the gate says.
    JobGated {
        /// The job.
        job: String,
        /// The coil.
        coil_no: u32,
        /// The spool.
        spool: String,
        /// Go or stop.
        verdict: Verdict,
        /// Every check.
        checks: Vec<GateCheck>,
        /// Probability that the wire is there.
        p_enough: f64,
        /// The word for it.
        word: EnoughWord,
        /// The entry up to which the answer looks, or that started the coil.
        seq: u64,
    } may {
        /// Wire promised to the coil; only of a start.
        hold_m: Setting<M>,
        /// The promise; only of a start.
        hold: String,
        /// The job's revision; only of a start.
        rev: u64,
    }
}

tells! {
    /// One check of the gate.
    GateCheck {
        /// `enough_wire`, `spool_free`, `right_wire`, `fits_gap`, `design_sound`, `polarity_noted`, `pot_life` or `steps_done`.
        code: String,
        /// Whether it lets the coil start.
        ok: bool,
        /// In a sentence with figures.
        text: String,
    } may {
        /// The figure, in the unit that the text names.
        figure: f64,
        /// What it is held against.
        limit: f64,
    }
}
