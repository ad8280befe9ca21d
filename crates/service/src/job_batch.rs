//! `job.batch`: how many starts n good coils take, how many the part spools hold, and what to buy.

use crate::app::App;
use crate::batch_shelf::part_spool;
use crate::{plan_question, view, words};
use coilwright_core::batch::{MOST_STARTS, PartSpool, Take, at_least, good_from, good_of, starts, starts_for};
use coilwright_core::coil::Design;
use coilwright_core::enough::Word;
use coilwright_core::finding::{Finding, Level};
use coilwright_core::quantity::Length;
use coilwright_proto::batch::{BatchBuy, BatchOffer, BatchSpool, JobBatch, JobBatchAnswer, OneSpool, StartsItem};
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::error::RpcError;
use coilwright_proto::money::Money;
use coilwright_proto::quantity::{Setting, bare};
use coilwright_shop::figures::Origin;
use coilwright_shop::id::JobId;
use coilwright_shop::learning;
use coilwright_shop::spool::{self, Spool};
use coilwright_shop::state::State;
use coilwright_store::Published;

/// Most good coils of one batch.
const MOST_GOOD: u32 = 500;
/// Rows of the table of starts beyond the ones needed.
const ROWS_BEYOND: usize = 2;
/// Longest table of starts.
const MOST_ROWS: usize = 40;

/// The question, understood.
struct Batch {
    good: usize,
    scrap: f64,
    scrap_origin: String,
    /// Asked of the number of good coils.
    confidence: f64,
    /// The shop's own, which the gate asks of each spool.
    gate: f64,
    take: Take,
    draw_doubt: Option<f64>,
    job: Option<JobId>,
    wire: String,
    g_per_m: f64,
}

pub fn answer(app: &App, asked: JobBatch) -> Result<JobBatchAnswer, RpcError> {
    app.look(|published| batched(app, &asked, published))
}

fn batched(app: &App, asked: &JobBatch, published: &Published<State>) -> Result<JobBatchAnswer, RpcError> {
    let state = &published.state;
    let (job, coil) = coil(state, asked)?;
    let at = if job.is_some() { "/job" } else { "/coil" };
    let (spec, design) = view::designed_here(&app.catalog, state, &coil, at)?;
    let batch = understood(state, asked, job, &coil, &design, &spec.wire)?;

    let chosen = chosen(state, asked, &batch)?;
    let mut shelf: Vec<(&Spool, PartSpool)> = chosen
        .into_iter()
        .map(|s| (s, part_spool(s, batch.job.map_or(s.held(), |j| s.held_against(j)), batch.draw_doubt)))
        .collect();
    shelf.sort_by(|a, b| b.1.left.value.m().total_cmp(&a.1.left.value.m()).then(a.0.id().cmp(&b.0.id())));
    let parts: Vec<PartSpool> = shelf.iter().map(|(_, p)| *p).collect();

    let needed = starts_for(batch.good, batch.scrap, batch.confidence, MOST_STARTS).ok_or_else(|| {
        RpcError::params("/scrap_pct", "so much scrap that no number of starts makes these good coils likely")
            .met(100.0 * batch.scrap)
            .next("check the share of scrap, or ask for fewer coils or a lower `confidence`")
    })?;
    let in_all = starts(&parts, &batch.take);
    let spools: Vec<BatchSpool> = shelf.iter().map(|(s, part)| on_spool(s, part, &batch)).collect();
    let starts_safe = spools.iter().map(|s| s.starts_safe).sum();
    let starts_expected = spools.iter().map(|s| s.starts_expected).sum();
    let one_spool = asked.matched.unwrap_or(false).then(|| one_spool(&shelf, &batch, needed)).flatten();
    let there = match (&one_spool, asked.matched) {
        (Some(one), Some(true)) if one.probability >= batch.gate => needed,
        (_, Some(true)) => 0,
        _ => starts_safe,
    };
    let buy = (there < needed).then(|| buy(app, &batch, needed - there));
    let mut findings = Vec::new();
    findings.extend(design_stops(&design));
    let p_good = good_from(&in_all, batch.good, batch.scrap);
    Ok(JobBatchAnswer {
        good: asked.good,
        wire: batch.wire.clone(),
        scrap_pct: 100.0 * batch.scrap,
        scrap_origin: batch.scrap_origin.clone(),
        each_m: design.need.into(),
        once_per_spool_m: bare(batch.take.once),
        adhesive_g: design.mass.adhesive.into(),
        confidence: batch.confidence,
        starts: needed,
        by_starts: by_starts(&batch, needed),
        sentence: sentence(&batch, needed, starts_safe, buy.as_ref(), one_spool.as_ref()),
        ends_m: Setting::of(spools.iter().map(|s| s.end_m.value).sum()),
        spools,
        starts_expected,
        starts_safe,
        p_starts: at_least(&in_all, batch.good),
        p_good,
        findings: words::findings(&findings),
        seq: published.head.seq,
        one_spool,
        buy,
    })
}

/// The coil of the job, or the one that is written out.
fn coil(state: &State, asked: &JobBatch) -> Result<(Option<JobId>, CoilDesign), RpcError> {
    match (&asked.job, &asked.coil) {
        (Some(job), None) => {
            let id = words::job_id(job)?;
            let job = state.job(id).ok_or_else(|| words::no_such("job", job))?;
            let coil = serde_json::from_value((*job.coil).clone()).map_err(|e| {
                RpcError::params("/job", format!("its coil cannot be read any more: {e}")).next("give `coil` instead")
            })?;
            Ok((Some(id), coil))
        }
        (None, Some(coil)) => Ok((None, coil.clone())),
        (Some(_), Some(_)) => {
            Err(RpcError::params("/coil", "a job brings its own coil").next("leave out `job` or `coil`"))
        }
        (None, None) => Err(RpcError::params("/job", "which coil is not said").next("give `job` or `coil`")),
    }
}

fn understood(
    state: &State,
    asked: &JobBatch,
    job: Option<JobId>,
    coil: &CoilDesign,
    design: &Design,
    wire: &coilwright_core::wire::Wire,
) -> Result<Batch, RpcError> {
    if !(1..=MOST_GOOD).contains(&asked.good) {
        return Err(RpcError::params("/good", "that is no batch")
            .met(asked.good)
            .allowed(format!("1 to {MOST_GOOD} coils"))
            .next("ask for 1 or more; split a larger batch"));
    }
    let figures = state.figures();
    let recorded = state.lessons().all.recorded;
    let (scrap_pct, scrap_origin) = match asked.scrap_pct {
        Some(pct) => (pct, "asked".to_owned()),
        None if figures.learning.value && recorded > 0 => {
            let coils = if recorded == 1 { "1 coil".to_owned() } else { format!("{recorded} coils") };
            (100.0 * learning::scrap(state).1.share, format!("learned from {coils} of the shop's own"))
        }
        None if figures.scrap_pct.origin == Origin::Set => (figures.scrap_pct.value, "set by the shop".to_owned()),
        None => (figures.scrap_pct.value, "common practice, no source".to_owned()),
    };
    within("/scrap_pct", scrap_pct, 0.0, 90.0, "per cent")?;
    let confidence = asked.confidence.unwrap_or(figures.confidence.value);
    within("/confidence", confidence, 0.5, 0.9999, "as a share of 1")?;
    let draw_doubt =
        asked.draw_doubt_pct.map(|pct| within("/draw_doubt_pct", pct, 0.0, 20.0, "per cent")).transpose()?;
    let once = asked.once_per_spool_m.map_or(0.0, |m| m.value);
    within("/once_per_spool_m", once, 0.0, 100.0, "m")?;
    Ok(Batch {
        good: asked.good as usize,
        scrap: scrap_pct / 100.0,
        scrap_origin,
        confidence,
        gate: figures.confidence.value,
        take: Take { each: design.need.value, once: Length::from_m(once) },
        draw_doubt: draw_doubt.map(|pct| pct / 100.0),
        job,
        wire: words::wire_key(&coil.wire, wire),
        g_per_m: wire.g_per_m().value.g_per_m(),
    })
}

fn within(at: &str, met: f64, least: f64, most: f64, unit: &str) -> Result<f64, RpcError> {
    if (least..=most).contains(&met) {
        return Ok(met);
    }
    Err(RpcError::params(at, "that is out of range")
        .met(met)
        .allowed(format!("{least} to {most} {unit}"))
        .next("check the number and its unit"))
}

/// The spools that are asked for, or all of the wire that are in use.
fn chosen<'a>(state: &'a State, asked: &JobBatch, batch: &Batch) -> Result<Vec<&'a Spool>, RpcError> {
    let Some(ids) = &asked.spools else {
        return Ok(state.spools().filter(|s| s.retired.is_none() && s.wire().key() == batch.wire).collect());
    };
    let mut all: Vec<&Spool> = Vec::new();
    for (i, text) in ids.iter().enumerate() {
        let at = format!("/spools/{i}");
        let id = words::spool_id_at(text, &at)?;
        let spool = state.spool(id).ok_or_else(|| words::no_such("spool", text).at(at.as_str()))?;
        if spool.retired.is_some() {
            return Err(RpcError::params(at, format!("{id} is retired")).met(text.as_str()).next("leave it out"));
        }
        if spool.wire().key() != batch.wire {
            return Err(RpcError::params(
                at,
                format!("{id} holds {}, the coil takes {}", spool.wire().key(), batch.wire),
            )
            .met(spool.wire().key())
            .allowed(batch.wire.as_str())
            .next("leave it out, or ask with the coil designed in that wire"));
        }
        if all.iter().any(|s| s.id() == id) {
            return Err(RpcError::params(at, format!("{id} is named twice")).met(text.as_str()).next("name it once"));
        }
        all.push(spool);
    }
    Ok(all)
}

fn on_spool(s: &Spool, part: &PartSpool, batch: &Batch) -> BatchSpool {
    let starts_expected = batch.take.starts_in(part.left.value);
    BatchSpool {
        spool: s.id().to_string(),
        left_m: part.left.into(),
        starts_expected,
        starts_safe: part.safe_starts(&batch.take, batch.gate),
        // Putting it up costs its share even where no start comes of it.
        end_m: bare((part.left.value - batch.take.once - batch.take.each * starts_expected as f64).max(Length::ZERO)),
    }
}

/// The spool that holds all starts with the least left over; the one that comes nearest where none does.
fn one_spool(shelf: &[(&Spool, PartSpool)], batch: &Batch, needed: usize) -> Option<OneSpool> {
    let with_p = |(s, part): &(&Spool, PartSpool)| (s.id(), part.probability(&batch.take, needed), part.left.value.m());
    let all: Vec<_> = shelf.iter().map(with_p).collect();
    let enough = all.iter().filter(|(_, p, _)| *p >= batch.gate).min_by(|a, b| a.2.total_cmp(&b.2));
    let (id, probability, _) =
        enough.or_else(|| all.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(a.2.total_cmp(&b.2))))?;
    let word = words::enough(Word::of(*probability, batch.gate));
    Some(OneSpool { spool: id.to_string(), probability: *probability, word })
}

fn by_starts(batch: &Batch, needed: usize) -> Vec<StartsItem> {
    let first = batch.good.max((needed + ROWS_BEYOND).saturating_sub(MOST_ROWS));
    let row = |starts| StartsItem { starts, p_good: good_of(batch.good, starts, batch.scrap) };
    (first..=needed + ROWS_BEYOND).map(row).collect()
}

/// What is missing, and the offers of this wire that hold it: as few spools of one size as do.
fn buy(app: &App, batch: &Batch, missing: usize) -> BatchBuy {
    let need = batch.take.of(missing);
    let offers = app.catalog.offers().iter().filter(|o| o.wire == batch.wire).filter_map(|o| {
        let left = plan_question::offered_length(&app.catalog, o)?;
        let draw_doubt = batch.draw_doubt.unwrap_or(spool::DRAW_DOUBT);
        let part = PartSpool { left, common: Length::ZERO, draw_doubt };
        let on_one = part.safe_starts(&batch.take, batch.gate);
        let spools = missing.div_ceil(on_one.max(1));
        let minor = o.price_minor.checked_mul(u64::try_from(spools).ok()?)?;
        (on_one > 0).then(|| {
            let offer = BatchOffer {
                offer: o.id.clone(),
                supplier: o.supplier.clone(),
                spools,
                starts: spools * on_one,
                price: Money { amount: format!("{}.{:02}", minor / 100, minor % 100), currency: o.currency.clone() },
                lead_days: o.lead_days,
            };
            (minor, offer)
        })
    });
    let mut offers: Vec<(u64, BatchOffer)> = offers.collect();
    offers.sort_by(|a, b| (&a.1.price.currency, a.0, &a.1.offer).cmp(&(&b.1.price.currency, b.0, &b.1.offer)));
    BatchBuy {
        starts: missing,
        need_m: bare(need),
        need_g: Setting::of(need.m() * batch.g_per_m),
        offers: offers.into_iter().map(|(_, o)| o).collect(),
    }
}

/// A coil whose design stops is not started at all: its batch is counted, and it is said.
fn design_stops(design: &Design) -> Option<Finding> {
    let stops: Vec<&str> = design.findings.iter().filter(|f| f.level == Level::Stop).map(|f| f.text.as_str()).collect();
    (!stops.is_empty()).then(|| Finding {
        code: "design_stops".into(),
        level: Level::Stop,
        text: format!("the gate would refuse this coil: {}", stops.join("; ")),
        figure: None,
        limit: None,
    })
}

fn sentence(b: &Batch, needed: usize, safe: usize, buy: Option<&BatchBuy>, one: Option<&OneSpool>) -> String {
    let coils = if b.good == 1 { "1 good coil".to_owned() } else { format!("{} good coils", b.good) };
    let starts = if needed == 1 { "1 start".to_owned() } else { format!("{needed} starts") };
    let plan = format!("{coils} take {starts} at {:.0} % scrap", 100.0 * b.scrap);
    match (buy, one) {
        (None, Some(one)) => format!("{plan}; {} holds them all (P {:.3}).", one.spool, one.probability),
        (None, None) => format!("{plan}; the shelf holds {safe} with confidence."),
        (Some(buy), Some(_)) => format!(
            "{plan}; no one spool holds them all: buy a spool with at least {:.1} m ({:.1} g of wire).",
            buy.need_m.value, buy.need_g.value
        ),
        (Some(buy), None) => format!(
            "{plan}; the shelf holds {safe} with confidence: buy a spool with at least {:.1} m ({:.1} g of wire) for {} more.",
            buy.need_m.value, buy.need_g.value, buy.starts
        ),
    }
}
