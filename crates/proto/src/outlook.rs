//! `plan.outlook`: what is left by day if the plan is wound, as figures, as a drawing and in a sentence.

use crate::quantity::{Figure, M, Setting};
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the outlook goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum OutlookBy {
    /// Spool by spool.
    Spool,
    /// Wire by wire.
    Wire,
}

/// How the outlook is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum OutlookChart {
    /// Not at all.
    None,
    /// As an SVG drawing.
    Svg,
    /// As an HTML `figure`: the drawing, the sentence, and a table with the same figures.
    Figure,
}

asks! {
    /// Asks what is left by day if the plan is wound.
    PlanOutlook {} may {
        /// How many days ahead; 30 if left out, 365 at most.
        days: u32,
        /// Of this wire.
        wire: String,
        /// Of this spool.
        spool: String,
        /// By `wire` (if left out) or by `spool`; with `wire` and by `spool`: the spools of that wire.
        by: OutlookBy,
        /// How each is drawn; if left out, `svg` for a spool or wire asked for and `none` for all.
        chart: OutlookChart,
        /// The day to look from; today in the shop's time zone if left out.
        as_of: String,
    }
}
method!(PlanOutlook => PlanOutlookAnswer, "plan.outlook", "Shows what is left by day if the plan is wound, by spool or by wire, and the first job that would run short.");

tells! {
    /// What is left by day.
    PlanOutlookAnswer {
        /// In a sentence: the first job to run short, and when.
        sentence: String,
        /// By spool or wire.
        items: Vec<OutlookItem>,
        /// What is left of each spool after each of its jobs, in winding order.
        after_jobs: Vec<AfterJob>,
        /// Jobs left out for want of wire that are due on no day.
        undated: Vec<String>,
        /// The day it looks from.
        as_of: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {
        /// The series of the one asked for.
        series: Vec<OutlookDay>,
        /// The drawing of the one asked for.
        chart: String,
        /// The first job likely to run short.
        first_short: OutlookShort,
    }
}

tells! {
    /// A spool or wire by day.
    OutlookItem {
        /// Its id.
        name: String,
        /// The wire.
        wire: String,
        /// What is left now, before today's work.
        left_m: Figure<M>,
        /// What of that is in pieces long enough: whole coils of the shortest usual one, safely.
        usable_m: Setting<M>,
        /// Evening by evening, from today's on; one on which nothing changes is left out, but not the last.
        series: Vec<OutlookDay>,
        /// In a sentence.
        sentence: String,
    } may {
        /// The shortest usual coil of the wire.
        usual_coil_m: Setting<M>,
        /// The first of its jobs likely to run short.
        first_short: OutlookShort,
        /// The drawing.
        chart: String,
    }
}

tells! {
    /// One evening.
    OutlookDay {
        /// The day; no day is named twice.
        on: String,
        /// What is left after its work.
        left_m: Figure<M>,
        /// What of it is in pieces long enough: whole coils of the shortest usual one, safely.
        usable_m: Setting<M>,
    } may {}
}

tells! {
    /// A spool after a job.
    AfterJob {
        /// The spool.
        spool: String,
        /// The job.
        job: String,
        /// Its coils on this spool.
        coils: u32,
        /// What is left after it.
        left_m: Figure<M>,
    } may {}
}

tells! {
    /// The first job likely to run short.
    OutlookShort {
        /// The job.
        job: String,
        /// The wire that it lacks.
        wire: String,
        /// The day on which it would be wound or is due.
        on: String,
        /// Probability that its wire is not there.
        probability: f64,
    } may {
        /// The spool that would run out; of a job that has no spool, none.
        spool: String,
    }
}
