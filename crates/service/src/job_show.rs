//! `job.show`: one job with its coils, what is missing and what happened.

use crate::app::App;
use crate::{job_words, told, words};
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{CoilWork, JobHold, JobShow, JobShown, OtherWire, StepItem};
use coilwright_proto::quantity::Setting;
use coilwright_shop::fact::Subject;
use coilwright_shop::job::{CoilWork as Work, Job};
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
        before: job_words::before_words(&j.before),
        works: j.works.iter().map(|(no, w)| work(j, *no, w)).collect(),
        missing: j.missing(),
        holds: holds.collect(),
        history: told::history(app, state, Subject::Job(id))?,
        rev: j.rev,
        seq: published.head.seq,
        dcr_ohm: j.plan.dcr_ohm.map(words::figure),
        due_on: j.due_on.map(|d| d.to_string()),
    })
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
        steps: j.steps(coil_no).into_iter().map(|(step, done)| StepItem { step: step.word().into(), done }).collect(),
        dcr_ohm: record.and_then(|r| r.dcr_ohm).map(words::figure),
        ratio: record.and_then(|r| r.ratio),
        signed: w.started.signed.as_ref().map(|o| format!("{} against {}: {}", o.by, o.against.join(", "), o.reason)),
        reason: record.map(|r| r.reason.clone()).filter(|r| !r.is_empty()),
    }
}
