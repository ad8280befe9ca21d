//! `plan.unlock`: what would let one refused job be wound, cheapest first.

use crate::plan::PlanWay;
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// Asks for the ways out of a refusal.
    PlanUnlock {
        /// The job.
        job: String,
    } may {
        /// The day to plan on; today in the shop's time zone if left out.
        as_of: String,
    }
}
method!(PlanUnlock => PlanUnlocked, "plan.unlock", "Tells what would let a refused job be wound, cheapest first: weigh again, release, another wire, buy; and which other jobs that lets in.", leading: ["job"]);

/// Where a job stands in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UnlockStanding {
    /// A plan winds it as things are.
    Planned,
    /// The plan leaves it out.
    Refused,
    /// Its coil's design says stop, so it is not planned at all.
    Design,
    /// Nothing of it is left to be wound.
    Done,
}

tells! {
    /// The ways out of a refusal.
    PlanUnlocked {
        /// The job.
        job: String,
        /// Where it stands.
        standing: UnlockStanding,
        /// In a sentence.
        sentence: String,
        /// What would let it be wound, cheapest first; empty unless it is refused.
        ways: Vec<PlanWay>,
        /// The day it was asked for.
        as_of: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {
        /// What stands in its way, as in `plan.make`; only of a job that is not planned.
        reason: String,
    }
}
