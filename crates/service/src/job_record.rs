//! `job.record`: a coil as it was wound, and the wire it took, in one entry.

use crate::app::App;
use crate::caller::Caller;
use crate::words;
use crate::writing::write;
use coilwright_core::quantity::Length;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{CoilOutcome, JobRecord, JobRecorded, SpoolAfter};
use coilwright_shop::decide::{self, Record};
use coilwright_shop::fact::Fact;
use coilwright_shop::uncertain::Uncertain;
use serde_json::Value;

pub fn answer(app: &App, caller: &Caller, asked: JobRecord) -> Result<Value, RpcError> {
    let job = words::job_id(&asked.job)?;
    let published = app.store.state();
    let reading = match (asked.reading_ohm, asked.temperature_c) {
        (None, _) => None,
        (Some(_), None) => {
            return Err(RpcError::params("/temperature_c", "a resistance without its temperature says nothing")
                .next("add `temperature_c`"));
        }
        (Some(ohm), Some(t)) => {
            Some(words::ohm_reading(published.state.figures(), ohm, asked.test_leads_ohm, t, asked.meter_u_ohm))
        }
    };
    let ask = Record {
        job,
        coil_no: asked.coil_no,
        spool: asked.spool.as_deref().map(words::spool_id).transpose()?,
        winder: asked.winder.clone().unwrap_or_default(),
        mandrel_mm: asked.mandrel_mm.map(|s| s.value),
        minutes: asked.minutes.map(|s| s.value),
        adhesive_batch: asked.adhesive_batch.clone().unwrap_or_default(),
        turns_per_layer: asked.turns_per_layer.clone().unwrap_or_default(),
        reading,
        good: asked.outcome == CoilOutcome::Good,
        reason: asked.reason.clone().unwrap_or_default(),
        // A metre counter on the winder: half a per cent, common practice, no source.
        drawn_m: asked.drawn_m.map(|m| words::uncertain(m, |v| 0.005 * v)),
        width_mm: asked.width_mm.map(|s| s.value),
        outside_mm: asked.outside_mm.map(|s| s.value),
        note: asked.note.clone().unwrap_or_default(),
        if_rev: asked.if_rev,
    };
    write(
        app,
        caller,
        &asked,
        asked.idempotency_key.as_deref(),
        move |state, at| decide::record(state, &ask, at),
        move |after| {
            let mut drawn = (None, Uncertain::new(0.0, 0.0));
            let mut record = None;
            for fact in &after.decision.facts {
                match fact {
                    Fact::WireDrawn(f) => drawn = (Some(f.spool), f.drawn_m),
                    Fact::CoilFinished(f) | Fact::CoilScrapped(f) => record = Some(f),
                    _ => {}
                }
            }
            let spool = drawn.0.or(record.map(|r| r.spool)).and_then(|id| after.state.spool(id));
            let confidence = after.state.figures().confidence.value;
            JobRecorded {
                job: job.to_string(),
                coil_no: record.map_or(0, |r| r.coil_no),
                drawn_m: words::figure(drawn.1),
                spool: SpoolAfter {
                    spool: spool.map_or_else(String::new, |s| s.id().to_string()),
                    left_m: spool.map_or(words::figure(Uncertain::new(0.0, 0.0)), words::left),
                    free_m: words::metres(spool.map_or(Length::ZERO, |s| s.free(confidence))),
                },
                findings: words::findings(&after.decision.findings),
                rev: after.job_rev(job),
                seq: after.seq,
                dcr_ohm: record.and_then(|r| r.dcr_ohm).map(words::figure),
                ratio: record.and_then(|r| r.ratio),
            }
        },
    )
}
