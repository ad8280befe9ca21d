//! A coil is recorded as wound, good or scrapped: the wire it took, its promise kept and its figures in one entry.

use super::lesson::lesson;
use super::measure::at_20c;
use super::progress::on_winder;
use super::{CANNOT_BE, Decision, Ruling, bounds, live_job, number, promises, said, sane, spool_of, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{CoilPlan, CoilRecord, Fact, OhmReading, SpoolReleased, WireDrawn};
use crate::finding::Finding;
use crate::id::{JobId, SpoolId};
use crate::job::CoilWork;
use crate::refusal::Refusal;
use crate::spool::Spool;
use crate::state::State;
use crate::uncertain::Uncertain;

/// A coil as wound.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Which job.
    pub job: JobId,
    /// Which coil; the one on the winder if absent.
    pub coil_no: Option<u32>,
    /// From which spool; the one it was started from if absent.
    pub spool: Option<SpoolId>,
    /// Who wound it.
    pub winder: String,
    /// Mandrel used.
    pub mandrel_mm: Option<f64>,
    /// How long it took.
    pub minutes: Option<f64>,
    /// Batch of the adhesive.
    pub adhesive_batch: String,
    /// Turns as counted, from the inside out.
    pub turns_per_layer: Vec<u32>,
    /// What the meter showed.
    pub reading: Option<OhmReading>,
    /// Good; otherwise scrapped.
    pub good: bool,
    /// Why it was scrapped.
    pub reason: String,
    /// Wire taken, if it was measured.
    pub drawn_m: Option<Uncertain>,
    /// Width of the winding, if it was measured.
    pub width_mm: Option<f64>,
    /// Diameter over the winding away from the cross-over, if it was measured.
    pub outside_mm: Option<f64>,
    /// Anything else.
    pub note: String,
    /// Only if the job still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Records a coil.
///
/// Without a measured length a good coil took what was planned, moved by turns counted more or less; a scrapped one
/// took something between its full layers and a whole coil, every length in between equally likely.
///
/// # Errors
/// Not on the winder; another spool than it was started from; more wire than there was; scrapped without a reason; a count
/// or a reading that nothing but a slip explains.
pub fn record(state: &State, ask: &Record, at: &Moment) -> Ruling {
    let job = live_job(state, ask.job)?;
    still_at(job.rev, ask.if_rev, ask.job)?;
    let (coil_no, work) = on_winder(job, ask.coil_no)?;
    let (spool_id, hold) = work.hold();
    if let Some(other) = ask.spool.filter(|s| *s != spool_id) {
        let detail = format!("coil {coil_no} was started from {spool_id}, not from {other}");
        let next = "record it from there; if the start was noted wrongly, undo it and start anew";
        return Err(Refusal::refused("other_spool", "another spool", detail, next).at("/spool").met(other.to_string()));
    }
    let spool = spool_of(state, spool_id)?;
    let reason = if ask.good { String::new() } else { said(&ask.reason, "/reason", "the reason it was scrapped")? };
    ask.mandrel_mm.map(|m| number(m, "/mandrel_mm", bounds::TINY, 1e4)).transpose()?;
    ask.width_mm.map(|w| number(w, "/width_mm", bounds::TINY, 1e4)).transpose()?;
    ask.outside_mm.map(|d| number(d, "/outside_mm", bounds::TINY, 1e4)).transpose()?;
    ask.minutes.map(|m| number(m, "/minutes", 0.0, bounds::MINUTES)).transpose()?;
    let dcr_ohm = ask.reading.as_ref().map(|r| at_20c(r, spool.wire())).transpose()?;
    not_a_slip(&job.plan, ask, dcr_ohm)?;
    let drawn_m = match ask.drawn_m {
        Some(measured) => measured,
        None if ask.good => planned_draw(&job.plan, &ask.turns_per_layer),
        None => scrap_draw(&job.plan, work),
    };
    let drawn_m = not_more_than_there(spool, drawn_m, "/drawn_m")?;
    let ratio = dcr_ohm.zip(job.plan.dcr_ohm).map(|(met, planned)| met.value / planned.value);
    let mut findings = Vec::new();
    let lesson = ask.good.then(|| lesson(state, &job.plan, spool, ask, dcr_ohm)).map(|taught| {
        findings.extend(taught.findings);
        taught.lesson
    });
    findings.extend(miscounted(&job.plan, &ask.turns_per_layer, ask.good));
    let record = CoilRecord {
        job: ask.job,
        coil_no,
        spool: spool_id,
        winder: ask.winder.trim().to_owned(),
        mandrel_mm: ask.mandrel_mm,
        minutes: ask.minutes,
        adhesive_batch: ask.adhesive_batch.trim().to_owned(),
        turns_per_layer: ask.turns_per_layer.clone(),
        reading: ask.reading,
        dcr_ohm,
        ratio: ratio.filter(|r| r.is_finite()),
        width_mm: ask.width_mm,
        outside_mm: ask.outside_mm,
        lesson,
        reason,
        note: ask.note.trim().to_owned(),
    };
    let outcome = if ask.good { "wound" } else { "scrapped" };
    let (job_id, why) = (Some(ask.job), outcome.to_owned());
    let facts = vec![
        Fact::WireDrawn(WireDrawn { spool: spool_id, drawn_m, job: job_id, coil_no: Some(coil_no), reason: why }),
        Fact::SpoolReleased(SpoolReleased { spool: spool_id, hold, reason: outcome.to_owned() }),
        if ask.good { Fact::CoilFinished(Box::new(record)) } else { Fact::CoilScrapped(Box::new(record)) },
    ];
    findings.extend(state.after(at, &facts).spool(spool_id).and_then(promises));
    Ok(Decision { facts, findings })
}

/// A draw that the spool can have given.
pub(super) fn not_more_than_there(spool: &Spool, drawn: Uncertain, pointer: &str) -> Result<Uncertain, Refusal> {
    let drawn = sane(drawn, pointer, 0.0, bounds::LENGTH_M)?;
    let left = Uncertain::of_metres(spool.as_written().unwrap_or_else(|_| spool.estimate()).left);
    let most = left.value + CANNOT_BE * libm::hypot(left.u, drawn.u);
    if drawn.value <= most {
        return Ok(drawn);
    }
    let detail =
        format!("{:.2} m drawn, but spool {} had {:.2} ± {:.2} m left", drawn.value, spool.id(), left.value, left.u);
    let next = "check the length and the spool; if the spool held more, undo the reading that says less, or weigh it";
    Err(Refusal::refused("drawn_too_much", "more than was there", detail, next)
        .at(pointer)
        .met(drawn.value)
        .allowed(format!("at most {most:.2} m")))
}

/// Counts and readings that no hand and no wire can explain: a slip of the finger, refused while it can be put right.
fn not_a_slip(plan: &CoilPlan, ask: &Record, dcr: Option<Uncertain>) -> Result<(), Refusal> {
    for (layer, (turns, planned)) in ask.turns_per_layer.iter().zip(&plan.layers).enumerate() {
        let most = planned.turns + planned.turns / 4 + 2;
        if *turns > most {
            let detail = format!(
                "{turns} turns counted in layer {}, {} planned: its width does not hold that many",
                layer + 1,
                planned.turns
            );
            let next = "count again; if the coil is another one, change it with `job change` first";
            return Err(Refusal::refused("count_impossible", "cannot be that many turns", detail, next)
                .at(&format!("/turns_per_layer/{layer}"))
                .met(*turns)
                .allowed(format!("at most {most}")));
        }
    }
    let counts = |(i, l): (usize, &crate::fact::LayerPlan)| {
        f64::from(ask.turns_per_layer.get(i).copied().unwrap_or(l.turns)) * l.turn_m
    };
    let wound: f64 = plan.layers.iter().enumerate().map(counts).sum();
    if let Some(drawn) = ask.drawn_m.filter(|d| ask.good && (0.0..0.9 * wound).contains(&d.value)) {
        let detail = format!("{:.2} m drawn for a coil with {wound:.2} m in its winding", drawn.value);
        let next = "read the counter again; leave `drawn_m` out where it was not measured";
        return Err(Refusal::refused("drawn_impossible", "no good coil takes so little", detail, next)
            .at("/drawn_m")
            .met(drawn.value)
            .allowed(format!("{:.2} m or more", 0.9 * wound)));
    }
    let Some((met, planned)) = dcr.zip(plan.dcr_ohm).filter(|_| ask.good) else { return Ok(()) };
    let ratio = met.value / planned.value;
    if (0.5..=2.0).contains(&ratio) {
        return Ok(());
    }
    let cause = super::cause::slip(met.value, planned.value).unwrap_or("a wrong reading, or other wire");
    let detail = format!("{:.3} Ω at 20 °C where {:.3} Ω were planned; {cause}", met.value, planned.value);
    let next = "read again and check the decimal point; a coil that truly measures this is recorded as scrapped";
    Err(Refusal::refused("reading_impossible", "no good coil measures that", detail, next)
        .at("/reading_ohm")
        .met(met.value)
        .allowed(format!("{:.2} to {:.2} Ω at 20 °C", planned.value / 2.0, planned.value * 2.0)))
}

fn planned_draw(plan: &CoilPlan, counted: &[u32]) -> Uncertain {
    let more: f64 = plan
        .layers
        .iter()
        .zip(counted)
        .map(|(layer, turns)| (f64::from(*turns) - f64::from(layer.turns)) * layer.turn_m)
        .sum();
    Uncertain::new((plan.draw_m.value + more).max(0.0), plan.draw_m.u)
}

fn scrap_draw(plan: &CoilPlan, work: &CoilWork) -> Uncertain {
    let full = usize::try_from(work.layer).unwrap_or(usize::MAX);
    let wound: f64 = plan.layers.iter().take(full).map(|l| f64::from(l.turns) * l.turn_m).sum();
    let most = plan.draw_m.value;
    let least = (f64::from(plan.pieces) * (plan.threading_m + plan.start_tail_m) + wound).min(most);
    Uncertain::new((least + most) / 2.0, (most - least) / libm::sqrt(12.0))
}

fn miscounted(plan: &CoilPlan, counted: &[u32], good: bool) -> Option<Finding> {
    let planned: Vec<u32> = plan.layers.iter().map(|l| l.turns).collect();
    if !good || counted.is_empty() || planned.is_empty() || planned == counted {
        return None;
    }
    let text = format!("{counted:?} turns counted, {planned:?} planned: the count rules");
    Some(Finding::note("turns_differ", text))
}
