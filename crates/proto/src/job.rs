//! `job.*`: a job from the customer's coil to the hand-over.

use crate::coil::{CoilDesign, FindingAnswer};
use crate::quantity::{C, Figure, M, Min, Mm, Ohm, Reading, Setting};
use crate::shape::{asks, method, tells};
use crate::spool::{EnoughWord, HistoryItem};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Sign of a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Lead {
    /// The start lead is plus.
    Plus,
    /// The start lead is minus.
    Minus,
}

/// Winding hand, seen from the start end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Hand {
    /// With the clock.
    Clockwise,
    /// Against it.
    Counterclockwise,
}

/// Which pole the middle of the gap is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GapPolarity {
    /// The pole is north.
    PoleNorth,
    /// The pole is south.
    PoleSouth,
}

asks! {
    /// What must be noted before a driver is taken apart: nobody can find it out afterwards.
    Before {} may {
        /// Sign of the start lead.
        start_lead: Lead,
        /// Winding hand.
        hand: Hand,
        /// Polarity of the gap.
        gap_polarity: GapPolarity,
        /// Height at which the coil rests.
        rest_height_mm: Setting<Mm>,
        /// Whether the moving part fell freely.
        free_fall: bool,
        /// Where the photo is.
        photo: String,
        /// Resistance of the old coil, if it still has one.
        dcr_ohm: Reading<Ohm>,
        /// Diameter of the pole, each time it was measured: three times are usual.
        pole_mm: Vec<Setting<Mm>>,
        /// Bore of the top plate, likewise.
        bore_mm: Vec<Setting<Mm>>,
        /// Thickness of the top plate, likewise.
        plate_mm: Vec<Setting<Mm>>,
        /// Inside diameter of the old former, likewise.
        former_inside_mm: Vec<Setting<Mm>>,
        /// Wall of the old former, likewise.
        former_wall_mm: Vec<Setting<Mm>>,
        /// Width of the old winding, likewise.
        width_mm: Vec<Setting<Mm>>,
        /// Anything else.
        note: String,
    }
}

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

asks! {
    /// Asks for the jobs.
    JobList {} may {
        /// Ended ones too.
        ended: bool,
        /// At most so many; 100 if left out, 1000 at most.
        limit: u32,
        /// Goes on where an earlier answer's `next_cursor` left off.
        cursor: String,
    }
}
method!(JobList => JobListAnswer, "job.list", "Lists the jobs.");

tells! {
    /// The jobs, in order of their ids.
    JobListAnswer {
        /// The jobs.
        items: Vec<JobItem>,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// Where to go on.
        next_cursor: String,
    }
}

tells! {
    /// A job in a list.
    JobItem {
        /// Its id.
        job: String,
        /// What it is.
        title: String,
        /// Where it stands.
        status: JobStatus,
        /// Good coils wanted.
        coils: u32,
        /// Good ones so far.
        good: u32,
        /// Scrapped ones so far.
        scrapped: u32,
        /// The wire it is planned in.
        wire: String,
        /// Wire that one coil needs.
        need_m: Figure<M>,
        /// 1 to 9, 9 first.
        priority: u8,
        /// Its revision.
        rev: u64,
    } may {
        /// When it is promised.
        due_on: String,
    }
}

asks! {
    /// Asks for one job.
    JobShow {
        /// The job.
        job: String,
    } may {}
}
method!(JobShow => JobShown, "job.show", "Shows one job: coil, coils wound, steps, what is missing, history.", leading: ["job"]);

tells! {
    /// One job in full.
    JobShown {
        /// Its id.
        job: String,
        /// What it is.
        title: String,
        /// Where it stands.
        status: JobStatus,
        /// The coil as asked for.
        coil: Map<String, Value>,
        /// The wire it is planned in.
        wire: String,
        /// Wire that one coil needs.
        need_m: Figure<M>,
        /// Wire expected to leave the spool for one coil.
        draw_m: Figure<M>,
        /// Good coils wanted.
        coils: u32,
        /// Good ones so far.
        good: u32,
        /// Scrapped ones so far.
        scrapped: u32,
        /// 1 to 9, 9 first.
        priority: u8,
        /// Wires that would do as well.
        other_wires: Vec<OtherWire>,
        /// Noted before teardown.
        before: Before,
        /// Coils started.
        works: Vec<CoilWork>,
        /// What keeps it from being closed, in words.
        missing: Vec<String>,
        /// Wire promised to it.
        holds: Vec<JobHold>,
        /// What happened to it, in order.
        history: Vec<HistoryItem>,
        /// Its revision.
        rev: u64,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// Planned resistance at 20 °C, leads included.
        dcr_ohm: Figure<Ohm>,
        /// When it is promised.
        due_on: String,
        /// The dimensions noted before teardown, each as one figure.
        motor: Vec<MotorFigure>,
        /// How it ended: closed or cancelled, when, and who signed for what.
        ended: String,
    }
}

tells! {
    /// A dimension noted before teardown.
    MotorFigure {
        /// Its name, e.g. `pole_mm`.
        name: String,
        /// How often it was measured.
        times: usize,
        /// Their mean.
        mm: Figure<Mm>,
    } may {}
}

tells! {
    /// Wire promised to a job.
    JobHold {
        /// On which spool.
        spool: String,
        /// The promise.
        hold: String,
        /// How much.
        hold_m: Setting<M>,
    } may {
        /// For which coil, once started.
        coil_no: u32,
    }
}

tells! {
    /// A coil of a job.
    CoilWork {
        /// Its number: a scrapped coil keeps its own.
        coil_no: u32,
        /// The spool it is wound from.
        spool: String,
        /// When it was started, UTC.
        started_at: String,
        /// `winding`, `good` or `scrapped`.
        state: String,
        /// Layers that are full.
        layer: u32,
        /// The steps of its life and whether each is done.
        steps: Vec<StepItem>,
    } may {
        /// Resistance as wound, at 20 °C.
        dcr_ohm: Figure<Ohm>,
        /// Resistance as it was measured last, after trimming for one.
        last_dcr_ohm: Figure<Ohm>,
        /// Turns as counted, from the inside out.
        turns_per_layer: Vec<u32>,
        /// Who wound it.
        winder: String,
        /// Mandrel used.
        mandrel_mm: Setting<Mm>,
        /// How long the winding took.
        minutes: Setting<Min>,
        /// Batch of the adhesive.
        adhesive_batch: String,
        /// Width of the winding as measured.
        width_mm: Setting<Mm>,
        /// Diameter over the winding as measured.
        outside_mm: Setting<Mm>,
        /// That over the plan's.
        ratio: f64,
        /// Who signed against the gate, why and against what.
        signed: String,
        /// Why it was scrapped.
        reason: String,
    }
}

tells! {
    /// A step.
    StepItem {
        /// `before_teardown`, `gate`, `start`, `wound`, `trimmed`, `cured`, `tested` or `closed`.
        step: String,
        /// Whether it is done.
        done: bool,
    } may {
        /// It was looked at and needs none of it.
        not_needed: bool,
        /// Figures and words noted with it.
        figures: Map<String, Value>,
        /// What else was noted with it.
        note: String,
    }
}

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
