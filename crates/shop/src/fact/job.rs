//! Facts about a job and its coils.

use crate::fact::OhmReading;
use crate::finding::Level;
use crate::id::{HoldId, JobId, SpoolId};
use crate::uncertain::Uncertain;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// The figures of one coil that the shop decides by, as its design gave them when the job was opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoilPlan {
    /// The wire it is designed for: id, or label of a wire without one.
    pub wire: String,
    /// Wire that must be there: winding, tails and threading, without credit for stretch.
    pub need_m: Uncertain,
    /// Wire expected to leave the spool.
    pub draw_m: Uncertain,
    /// Resistance at 20 °C with its leads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dcr_ohm: Option<Uncertain>,
    /// How it stands in the gap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fit: Option<Fit>,
    /// Why its design says that it will not do, besides the fit; a sentence each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stops: Vec<String>,
    /// Its layers from the inside out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub layers: Vec<LayerPlan>,
    /// Wire gone before the start tail: through guides and tensioner.
    #[serde(default)]
    pub threading_m: f64,
    /// Wire before the first turn.
    #[serde(default)]
    pub start_tail_m: f64,
    /// Unbroken lengths that a coil takes: two windings, or several wires in hand. All come from one spool, so that they
    /// match; `need_m` is what they take together, threading and start tail are those of each.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub pieces: u32,
    /// How long the mixed adhesive can be worked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pot_life_min: Option<f64>,
    /// Of which adhesive and at what temperature, where the pot life follows from one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pot_life_of: Option<String>,
    /// How long the wet part takes this shop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub winding_min: Option<f64>,
    /// Mandrel that it is wound on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mandrel_mm: Option<f64>,
    /// Overall diameter of its wire.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overall_mm: Option<f64>,
    /// Diameter under its first layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub base_mm: Option<f64>,
    /// The same coil by first values, where figures that the shop's own coils taught went into this plan: what the next
    /// coil is held against to learn from it, or the shop would learn from its own lessons.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<FirstPlan>,
    /// What the finished coil must measure, where the job says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<TargetDcr>,
}

/// A resistance to be met.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TargetDcr {
    /// At 20 °C with leads.
    pub dcr_ohm: f64,
    /// How far it may be off.
    pub tolerance_pct: f64,
}

/// What a plan would say that had learned nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FirstPlan {
    /// Resistance at 20 °C with its leads.
    pub dcr_ohm: Uncertain,
    /// Wire expected to leave the spool.
    pub draw_m: Uncertain,
}

fn one() -> u32 {
    1
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it")]
fn is_one(n: &u32) -> bool {
    *n == 1
}

impl CoilPlan {
    /// Everything that its design stops for, a sentence each: such a coil passes no gate, so no plan counts on it.
    pub fn obstacles(&self) -> Vec<String> {
        let fat = self.fit.filter(|f| f.level == Level::Stop).map(|f| {
            format!("{:.3} mm outside clearance, at least {:.3} mm needed", f.clearance_outer_mm, f.min_outer_mm)
        });
        fat.into_iter().chain(self.stops.iter().cloned()).collect()
    }
}

/// How a coil stands in its gap.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fit {
    /// `note` it fits, `watch` it fits by the middle value only, `stop` it does not.
    pub level: Level,
    /// Smallest planned clearance on the outside.
    pub clearance_outer_mm: f64,
    /// The least that is allowed.
    pub min_outer_mm: f64,
}

/// One layer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LayerPlan {
    /// Turns to wind.
    pub turns: u32,
    /// Length of one of them.
    pub turn_m: f64,
}

/// A wire that the job would accept instead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OtherWire {
    /// Id or label.
    pub wire: String,
    /// How unwelcome; 0 as good as the planned one.
    #[serde(default)]
    pub penalty: f64,
}

/// A lead's sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the words are the meaning")]
pub enum Lead {
    Plus,
    Minus,
}

/// Winding hand, seen from the start end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the words are the meaning")]
pub enum Hand {
    Clockwise,
    Counterclockwise,
}

/// Which pole the centre of the gap is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the words are the meaning")]
pub enum GapPolarity {
    PoleNorth,
    PoleSouth,
}

/// What must be noted before a driver is taken apart, because nobody can find it out afterwards.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Before {
    /// Sign of the start lead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_lead: Option<Lead>,
    /// Winding hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hand: Option<Hand>,
    /// Polarity of the gap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap_polarity: Option<GapPolarity>,
    /// Height at which the coil rests.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rest_height_mm: Option<f64>,
    /// Whether the moving part fell freely.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub free_fall: Option<bool>,
    /// Where the photo is.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub photo: String,
    /// Resistance of the old coil, if it still has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dcr_ohm: Option<Uncertain>,
    /// Dimensions of motor and old coil, in mm, each as often as it was measured; by their names.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub measured_mm: BTreeMap<String, Vec<f64>>,
    /// Anything else.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl Before {
    /// What is missing to know which way the coil will move; empty if polarity is noted.
    pub fn missing_for_polarity(&self) -> Vec<&'static str> {
        let mut missing = Vec::new();
        if self.start_lead.is_none() {
            missing.push("start_lead");
        }
        if self.hand.is_none() {
            missing.push("hand");
        }
        if self.gap_polarity.is_none() {
            missing.push("gap_polarity");
        }
        missing
    }
}

/// A job was taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobOpened {
    /// Its id from now on.
    pub job: JobId,
    /// What it is, in words.
    pub title: String,
    /// The coil as asked for: the params of its design.
    pub coil: Value,
    /// What follows of them.
    pub plan: CoilPlan,
    /// How many good coils are wanted.
    pub coils: u32,
    /// When it is promised, in the shop's time zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_on: Option<Date>,
    /// 1 to 9, 9 first.
    pub priority: u8,
    /// Wires that would do as well.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub other_wires: Vec<OtherWire>,
    /// Noted before teardown.
    #[serde(default)]
    pub before: Before,
}

/// A job was changed: what is here replaces what was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobChanged {
    /// Which.
    pub job: JobId,
    /// New title.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// New coil as asked for; comes with `plan`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coil: Option<Value>,
    /// What follows of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<CoilPlan>,
    /// New number of good coils.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coils: Option<u32>,
    /// New date.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_on: Option<Date>,
    /// New priority.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub priority: Option<u8>,
    /// New list of other wires.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other_wires: Option<Vec<OtherWire>>,
    /// New record before teardown, whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<Before>,
}

/// A job will not be done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobCancelled {
    /// Which.
    pub job: JobId,
    /// Why, in words.
    pub reason: String,
}

/// Somebody went on against the gate or the list of steps, and signs for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Override {
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
    /// Codes of the checks or names of the steps it went against.
    pub against: Vec<String>,
}

/// A coil was started: adhesive is about to be mixed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoilStarted {
    /// Which job.
    pub job: JobId,
    /// Which coil of it, counted by starts from 1; a scrapped coil keeps its number.
    pub coil_no: u32,
    /// The spool it is wound from.
    pub spool: SpoolId,
    /// The promise on that spool.
    pub hold: HoldId,
    /// Length of that promise.
    pub hold_m: f64,
    /// Probability that the wire is there.
    pub p_enough: f64,
    /// The adhesive about to be mixed, where the start named one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub adhesive: String,
    /// Signed if the gate said stop.
    #[serde(default, rename = "override", skip_serializing_if = "Option::is_none")]
    pub signed: Option<Override>,
}

/// A layer of a started coil is full.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayerReached {
    /// Which job.
    pub job: JobId,
    /// Which coil.
    pub coil_no: u32,
    /// Layers that are full, from 1.
    pub layer: u32,
    /// The tablet that follows this coil.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lease: String,
}

/// A coil as it was wound, good or scrapped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoilRecord {
    /// Which job.
    pub job: JobId,
    /// Which coil.
    pub coil_no: u32,
    /// The spool it was wound from.
    pub spool: SpoolId,
    /// Who wound it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub winder: String,
    /// Mandrel used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mandrel_mm: Option<f64>,
    /// How long it took.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// Batch of the adhesive.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub adhesive_batch: String,
    /// Turns as counted, from the inside out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub turns_per_layer: Vec<u32>,
    /// What the meter showed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<OhmReading>,
    /// The same at 20 °C without test leads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dcr_ohm: Option<Uncertain>,
    /// That, over the plan's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ratio: Option<f64>,
    /// Width of the winding as measured, outside to outside of wire.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
    /// Diameter over the winding as measured, away from the cross-over.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outside_mm: Option<f64>,
    /// What the shop learns from it; absent of a scrapped coil and of records that know nothing of learning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lesson: Option<Lesson>,
    /// Why it was scrapped, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// What one coil teaches, held against a plan by first values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lesson {
    /// The wire it was wound of.
    pub wire: String,
    /// The mandrel it was wound on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mandrel_mm: Option<f64>,
    /// Measured over planned resistance, for the turns that were counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dcr_ratio: Option<f64>,
    /// What that was expected to be of all coils before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<Uncertain>,
    /// Why it lies off, in words; empty if it does not.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cause: String,
    /// So far off that its resistance is not learned from.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub left_out: bool,
    /// Pitch over overall diameter, where the width was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch_factor: Option<f64>,
    /// Radial step over overall diameter, where the outside was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nesting: Option<f64>,
    /// Metres, where they were measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawn: Option<LessonDrawn>,
}

/// What a measured draw teaches.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LessonDrawn {
    /// Wire in the winding, as counted.
    pub wound_m: f64,
    /// Metres drawn over metres planned.
    pub ratio: f64,
    /// Metres more than planned.
    pub more_m: Uncertain,
}

/// The life of a job, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// Polarity and rest noted before teardown.
    BeforeTeardown,
    /// The gate said go, or somebody signed.
    Gate,
    /// Started.
    Start,
    /// Recorded as wound.
    Wound,
    /// Turns taken off to the wanted resistance.
    Trimmed,
    /// Adhesive hard.
    Cured,
    /// Isolation, shorted turn, polarity, clearance, resonance.
    Tested,
    /// Handed over with its passport.
    Closed,
}

impl Step {
    /// The word for it in facts and answers.
    pub fn word(self) -> &'static str {
        match self {
            Step::BeforeTeardown => "before_teardown",
            Step::Gate => "gate",
            Step::Start => "start",
            Step::Wound => "wound",
            Step::Trimmed => "trimmed",
            Step::Cured => "cured",
            Step::Tested => "tested",
            Step::Closed => "closed",
        }
    }
}

/// A good coil was trimmed, cured or tested.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepDone {
    /// Which job.
    pub job: JobId,
    /// Which coil.
    pub coil_no: u32,
    /// Which step: trimmed, cured or tested.
    pub step: Step,
    /// It was looked at and needs none of it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub not_needed: bool,
    /// Figures and words that belong to it.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub figures: Value,
    /// How long it took.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// Resistance after it, at 20 °C without test leads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dcr_ohm: Option<Uncertain>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// A job is done and handed over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobClosed {
    /// Which.
    pub job: JobId,
    /// Anything to say.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Signed if steps or coils were missing.
    #[serde(default, rename = "override", skip_serializing_if = "Option::is_none")]
    pub signed: Option<Override>,
}
