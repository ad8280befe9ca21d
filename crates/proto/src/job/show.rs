//! `job.show`: one job with its coils, their steps, what is missing and what happened.

use super::{Before, JobStatus, OtherWire};
use crate::quantity::{Figure, M, Min, Mm, Ohm, Setting};
use crate::shape::{asks, method, tells};
use crate::spool::HistoryItem;
use serde_json::{Map, Value};

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
        /// The adhesive that its start named, with the temperature at which it was to be worked.
        adhesive: String,
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
        /// How a coil wound well misses the job's target, in words.
        off_target: String,
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
        /// Resistance measured after it, at 20 °C.
        dcr_ohm: Figure<Ohm>,
        /// What else was noted with it.
        note: String,
    }
}
