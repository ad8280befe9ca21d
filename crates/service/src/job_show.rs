//! `job.show`: one job with its coils, what is missing and what happened.

use crate::app::App;
use crate::{teardown, told, words};
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{CoilWork, JobHold, JobShow, JobShown, OtherWire, StepItem};
use coilwright_proto::quantity::Setting;
use coilwright_shop::fact::{Step, Subject};
use coilwright_shop::job::{CoilWork as Work, Ended, Job};
use coilwright_shop::state::State;
use coilwright_store::Published;

pub fn answer(app: &App, asked: JobShow) -> Result<JobShown, RpcError> {
    app.look(|published| shown(app, &asked, published))
}

fn shown(app: &App, asked: &JobShow, published: &Published<State>) -> Result<JobShown, RpcError> {
    let id = words::job_id(&asked.job)?;
    let state = &published.state;
    let j = state.job(id).ok_or_else(|| words::no_such("job", &asked.job))?;
    let holds = state.holds_for(id).map(|(spool, hold, h)| JobHold {
        spool: spool.id().to_string(),
        hold: hold.to_string(),
        hold_m: Setting::of(h.hold_m),
        coil_no: h.coil_no,
    });
    Ok(JobShown {
        job: id.to_string(),
        title: j.title.clone(),
        status: words::status(j.status()),
        coil: j.coil.as_object().cloned().unwrap_or_default(),
        wire: j.plan.wire.clone(),
        need_m: words::figure(j.plan.need_m),
        draw_m: words::figure(j.plan.draw_m),
        coils: j.coils,
        good: j.good(),
        scrapped: j.scrapped(),
        priority: j.priority,
        other_wires: j
            .other_wires
            .iter()
            .map(|o| OtherWire { wire: o.wire.clone(), penalty: Some(o.penalty) })
            .collect(),
        before: teardown::in_words(&j.before),
        works: j.works.iter().map(|(no, w)| work(j, *no, w)).collect(),
        missing: j.missing(),
        holds: holds.collect(),
        history: told::history(app, state, Subject::Job(id))?,
        rev: j.rev,
        seq: published.head.seq,
        dcr_ohm: j.plan.dcr_ohm.map(words::figure),
        due_on: j.due_on.map(|d| d.to_string()),
        motor: Some(teardown::motor(&j.before)).filter(|m| !m.is_empty()),
        ended: j.ended.as_ref().map(ended),
    })
}

fn ended(how: &Ended) -> String {
    match how {
        Ended::Cancelled { reason, at } => format!("cancelled {at}: {reason}"),
        Ended::Closed { closed, at } => match &closed.signed {
            None => format!("closed {at}"),
            Some(o) => format!("closed {at}; {} signed against {}: {}", o.by, o.against.join("; "), o.reason),
        },
    }
}

fn step(w: &Work, step: Step, done: bool) -> StepItem {
    let told = w.steps.get(&step);
    StepItem {
        step: step.word().into(),
        done,
        not_needed: told.filter(|t| t.not_needed).map(|_| true),
        figures: told.and_then(|t| t.figures.as_object().cloned()),
        dcr_ohm: told.and_then(|t| t.dcr_ohm).map(words::figure),
        note: told.map(|t| t.note.clone()).filter(|n| !n.is_empty()),
    }
}

fn work(j: &Job, coil_no: u32, w: &Work) -> CoilWork {
    let record = w.outcome.as_ref().map(|o| &o.record);
    let state = match &w.outcome {
        None => "winding",
        Some(o) if o.good => "good",
        Some(_) => "scrapped",
    };
    CoilWork {
        coil_no,
        spool: w.started.spool.to_string(),
        started_at: w.started_at.to_string(),
        state: state.into(),
        layer: w.layer,
        steps: j.steps(coil_no).into_iter().map(|(s, done)| step(w, s, done)).collect(),
        dcr_ohm: record.and_then(|r| r.dcr_ohm).map(words::figure),
        ratio: record.and_then(|r| r.ratio),
        last_dcr_ohm: w.dcr_ohm().map(words::figure),
        turns_per_layer: record.map(|r| r.turns_per_layer.clone()).filter(|t| !t.is_empty()),
        winder: record.map(|r| r.winder.clone()).filter(|t| !t.is_empty()),
        mandrel_mm: record.and_then(|r| r.mandrel_mm).map(Setting::of),
        minutes: record.and_then(|r| r.minutes).map(Setting::of),
        adhesive: Some(w.started.adhesive.clone()).filter(|a| !a.is_empty()),
        adhesive_batch: record.map(|r| r.adhesive_batch.clone()).filter(|t| !t.is_empty()),
        width_mm: record.and_then(|r| r.width_mm).map(Setting::of),
        outside_mm: record.and_then(|r| r.outside_mm).map(Setting::of),
        signed: w.started.signed.as_ref().map(|o| format!("{} against {}: {}", o.by, o.against.join(", "), o.reason)),
        reason: record.map(|r| r.reason.clone()).filter(|r| !r.is_empty()),
        off_target: if w.is_good() { j.off_target(w) } else { None },
    }
}
