//! A job taken, changed and ended; what its coils go through meanwhile is said in the files below.

mod before;
mod gate;
mod list;
mod show;
mod work;

use crate::coil::{CoilDesign, FindingAnswer};
use crate::quantity::{Figure, M, Min, Setting};
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use before::{Before, GapPolarity, Hand, Lead};
pub use gate::{GateCheck, JobGate, JobGated, JobStart, Verdict};
pub use list::{JobItem, JobList, JobListAnswer};
pub use show::{CoilWork, JobHold, JobShow, JobShown, MotorFigure, StepItem};
pub use work::{
    CoilOutcome, JobProgress, JobProgressed, JobRecord, JobRecorded, JobStep, JobStepped, LaterStep, SpoolAfter,
};

asks! {
    /// A wire that the job would accept instead.
    OtherWire {
        /// Id of the wire.
        wire: String,
    } may {
        /// How unwelcome: 0 as good as the planned one.
        penalty: f64,
    }
}

asks! {
    /// Somebody goes on against a stop and signs for it.
    Override {
        /// Why.
        reason: String,
    } may {}
}

asks! {
    /// A job is taken.
    JobOpen {
        /// What it is, in words.
        title: String,
        /// The coil, as for `coil.design`.
        coil: CoilDesign,
    } may {
        /// Good coils wanted; 1 if left out.
        coils: u32,
        /// When it is promised: a date like 2026-12-18, in the shop's time zone.
        due_on: String,
        /// 1 to 9, 9 first; 5 if left out.
        priority: u8,
        /// Wires that would do as well.
        other_wires: Vec<OtherWire>,
        /// Noted before teardown.
        before: Before,
        /// How long the mixed adhesive can be worked.
        pot_life_min: Setting<Min>,
        /// How long the wet part takes this shop.
        winding_min: Setting<Min>,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobOpen => JobOpened, "job.open", "Opens a job: its coil is designed and kept with it.", writes: true);

asks! {
    /// A job is changed: what is given replaces what was.
    JobChange {
        /// The job.
        job: String,
    } may {
        /// Another title.
        title: String,
        /// Another coil.
        coil: CoilDesign,
        /// Another number of good coils.
        coils: u32,
        /// Another date.
        due_on: String,
        /// Another priority.
        priority: u8,
        /// Other wires, the whole list.
        other_wires: Vec<OtherWire>,
        /// The record before teardown, whole.
        before: Before,
        /// How long the mixed adhesive can be worked.
        pot_life_min: Setting<Min>,
        /// How long the wet part takes this shop.
        winding_min: Setting<Min>,
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobChange => JobOpened, "job.change", "Changes a job.", writes: true, leading: ["job"]);

tells! {
    /// A job opened or changed.
    JobOpened {
        /// Its id.
        job: String,
        /// Wire that one coil needs.
        need_m: Figure<M>,
        /// Its revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
        /// What the design of the coil and the shop noticed.
        findings: Vec<FindingAnswer>,
    } may {}
}

asks! {
    /// A job will not be done.
    JobCancel {
        /// The job.
        job: String,
        /// Why, in words.
        reason: String,
    } may {
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobCancel => JobEnded, "job.cancel", "Cancels a job and gives its promises back.", writes: true, leading: ["job", "reason"]);

asks! {
    /// A job is handed over.
    JobClose {
        /// The job.
        job: String,
    } may {
        /// Anything to say.
        note: String,
        /// Why to close it although something is missing.
        r#override: Override,
        /// Only if the job still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(JobClose => JobEnded, "job.close", "Closes a job that went through all its steps.", writes: true, leading: ["job"]);

tells! {
    /// A job that ended.
    JobEnded {
        /// The job.
        job: String,
        /// Where it stands.
        status: JobStatus,
        /// Its revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
        /// What was noticed.
        findings: Vec<FindingAnswer>,
    } may {}
}

/// Where a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum JobStatus {
    /// Taken, nothing started.
    Open,
    /// At least one coil was started.
    InWork,
    /// Everything is done but the hand-over.
    Ready,
    /// Handed over.
    Closed,
    /// Will not be done.
    Cancelled,
}
