//! `spool.yields`: what can still be made of this end.

use crate::app::App;
use crate::batch_shelf::part_spool;
use crate::words;
use coilwright_core::batch::{PartSpool, Take};
use coilwright_core::enough::Word;
use coilwright_core::quantity::Length;
use coilwright_proto::batch::{SpoolYields, SpoolYieldsAnswer, YieldItem};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Setting, bare};
use coilwright_shop::job::Job;
use coilwright_shop::spool::Spool;
use coilwright_shop::state::State;
use coilwright_store::Published;
use std::cmp::Reverse;

pub fn answer(app: &App, asked: SpoolYields) -> Result<SpoolYieldsAnswer, RpcError> {
    app.look(|published| yields(&asked, published))
}

fn yields(asked: &SpoolYields, published: &Published<State>) -> Result<SpoolYieldsAnswer, RpcError> {
    let id = words::spool_id(&asked.spool)?;
    let state = &published.state;
    let spool = state.spool(id).ok_or_else(|| words::no_such("spool", &asked.spool))?;
    let figures = state.figures();
    let confidence = figures.confidence.value;
    let wire = spool.wire().key();

    let mut jobs: Vec<&Job> =
        state.jobs().filter(|j| j.ended.is_none() && j.to_start() > 0 && j.accepts(wire).is_some()).collect();
    jobs.sort_by_key(|j| (j.due_on.is_none(), j.due_on, Reverse(j.priority), j.id));
    let mut usual: Vec<_> =
        figures.usual_coils.value.iter().filter(|c| c.wire.as_deref().is_none_or(|w| w == wire)).collect();
    usual.sort_by(|a, b| b.need_m.total_cmp(&a.need_m));

    let jobs = jobs.into_iter().map(|job| for_job(job, spool, confidence));
    let free = part_spool(spool, spool.held(), None);
    let usual = usual.into_iter().map(|coil| item("usual_coil", &coil.title, coil.need_m, &free, confidence));
    let items: Vec<YieldItem> = jobs.chain(usual).collect();
    Ok(SpoolYieldsAnswer {
        spool: id.to_string(),
        wire: wire.into(),
        left_m: words::left(spool),
        held_m: words::metres(spool.held()),
        free_m: words::metres(spool.free(confidence)),
        sentence: sentence(spool, &items),
        items,
        seq: published.head.seq,
    })
}

fn item(kind: &str, title: &str, need_m: f64, spool: &PartSpool, confidence: f64) -> YieldItem {
    let take = Take { each: Length::from_m(need_m), once: Length::ZERO };
    let probability = spool.probability(&take, 1);
    YieldItem {
        kind: kind.into(),
        title: title.into(),
        need_m: Setting::of(need_m),
        coils_expected: take.starts_in(spool.left.value),
        coils_safe: spool.safe_starts(&take, confidence),
        probability,
        word: words::enough(Word::of(probability, confidence)),
        job: None,
        wanted: None,
        probability_all: None,
        due_on: None,
        penalty: None,
        stopped_by: None,
    }
}

/// A job may use what is promised to it.
fn for_job(job: &Job, spool: &Spool, confidence: f64) -> YieldItem {
    let there = part_spool(spool, spool.held_against(job.id), None);
    let need_m = job.plan.need_m.value;
    let wanted = job.to_start();
    let take = Take { each: Length::from_m(need_m), once: Length::ZERO };
    let obstacles = job.plan.obstacles();
    YieldItem {
        job: Some(job.id.to_string()),
        wanted: Some(wanted),
        probability_all: Some(there.probability(&take, wanted as usize)),
        due_on: job.due_on.map(|d| d.to_string()),
        penalty: job.accepts(spool.wire().key()).filter(|p| *p > 0.0),
        stopped_by: (!obstacles.is_empty()).then(|| obstacles.join("; ")),
        ..item("job", &job.title, need_m, &there, confidence)
    }
}

fn sentence(spool: &Spool, items: &[YieldItem]) -> String {
    let left: Setting<coilwright_proto::quantity::M> = bare(spool.estimate().left.value);
    let left = left.value;
    if spool.retired.is_some() {
        return format!("{} is retired: nothing is made of it.", spool.id());
    }
    if spool.known().is_err() {
        return format!("Nothing tells what is left on {}: weigh it first.", spool.id());
    }
    let sure = |i: &&YieldItem| i.coils_safe > 0 && i.stopped_by.is_none();
    match items.iter().find(|i| sure(i) && i.kind == "job").or_else(|| items.iter().find(sure)) {
        Some(i) => {
            let coils = if i.coils_safe == 1 { "1 coil".to_owned() } else { format!("{} coils", i.coils_safe) };
            let of = i.job.as_deref().map_or_else(|| i.title.clone(), |j| format!("{j}, {}", i.title));
            format!("The {left:.1} m on {} are enough for {coils} of {of}.", spool.id())
        }
        None => match items
            .iter()
            .filter(|i| i.coils_expected > 0 && i.stopped_by.is_none())
            .max_by(|a, b| a.probability.total_cmp(&b.probability))
        {
            Some(i) => format!(
                "The {left:.1} m on {} are doubtful for {} (P {:.2}): weigh it or measure its resistance first.",
                spool.id(),
                i.title,
                i.probability
            ),
            None => format!("The {left:.1} m on {} are too short for every waiting job and usual coil.", spool.id()),
        },
    }
}
