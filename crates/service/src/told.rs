//! The history of a thing in sentences.

use crate::app::{App, unreadable};
use coilwright_proto::error::RpcError;
use coilwright_proto::spool::HistoryItem;
use coilwright_shop::archive::Happened;
use coilwright_shop::fact::{Fact, OhmReading, StepDone, Subject};
use coilwright_shop::state::State;
use coilwright_shop::uncertain::Uncertain;
use serde_json::Value;

/// What happened to a thing, in order.
///
/// # Errors
/// If the journal cannot be read.
pub fn history(app: &App, state: &State, of: Subject) -> Result<Vec<HistoryItem>, RpcError> {
    let entries = app.store.about(of, state.seq()).map_err(unreadable)?;
    let items = Happened::to(of, &entries).map(|h| HistoryItem {
        seq: h.seq,
        at: h.at.to_string(),
        text: sentence(&h.fact),
        counts: state.counts(h.seq),
    });
    Ok(items.collect())
}

fn sentence(fact: &Fact) -> String {
    match fact {
        Fact::SpoolReceived(f) => {
            let mut said = format!("received: {}", f.wire.label);
            if let Some(g) = f.gross_g {
                said.push_str(&format!(", {} g gross", plain(g)));
            }
            if let Some(t) = f.tare_g {
                said.push_str(&format!(", tare {} g", plain(t)));
            }
            if let Some(m) = f.marked_m {
                let counts = if f.marked_counts { "" } else { ", which does not count" };
                said.push_str(&format!(", marked {} m{counts}", plain(m)));
            }
            said
        }
        Fact::SpoolWeighed(f) => match (f.repeat_of, f.breaks_ledger) {
            (Some(first), _) => format!("weighed again: {} g, a repeat of entry {first}", plain(f.gross_g)),
            (None, true) => {
                format!("weighed: {} g; wire went unwritten, earlier lengths no longer count", plain(f.gross_g))
            }
            (None, false) => format!("weighed: {} g", plain(f.gross_g)),
        },
        Fact::SpoolMeasured(f) => format!("measured from end to end: {}", ohms(&f.reading)),
        Fact::SpoolMoved(f) => match (&f.place, f.reel) {
            (Some(place), None) => format!("put at {place}"),
            (Some(place), Some(_)) => format!("wound on another reel and put at {place}"),
            (None, _) => "wound on another reel".into(),
        },
        Fact::SpoolHeld(f) => format!(
            "{} promised: {:.2} m{}{}",
            f.hold,
            f.hold_m,
            f.job.map_or_else(String::new, |j| format!(" for {j}")),
            because(&f.reason)
        ),
        Fact::SpoolReleased(f) => format!("{} given back{}", f.hold, because(&f.reason)),
        Fact::WireDrawn(f) => format!(
            "drawn: {} m{}{}",
            plain(f.drawn_m),
            f.job.map_or_else(String::new, |j| format!(" for {j}")),
            because(&f.reason)
        ),
        Fact::SpoolRetired(f) => format!("retired{}{}", if f.empty { ", empty" } else { "" }, because(&f.reason)),
        Fact::JobOpened(f) => format!("opened: {} of {}, {:.2} m each", f.coils, f.plan.wire, f.plan.need_m.value),
        Fact::JobChanged(_) => "changed".into(),
        Fact::JobCancelled(f) => format!("cancelled{}", because(&f.reason)),
        Fact::CoilStarted(f) => format!(
            "coil {} started from {}: {:.2} m promised, P(enough) {:.4}{}",
            f.coil_no,
            f.spool,
            f.hold_m,
            f.p_enough,
            f.signed.as_ref().map_or_else(String::new, |o| format!(
                "; {} signed against {}: {}",
                o.by,
                o.against.join(", "),
                o.reason
            )),
        ),
        Fact::LayerReached(f) => format!("coil {}: layer {} full", f.coil_no, f.layer),
        Fact::CoilFinished(f) => {
            let read = f.dcr_ohm.map_or_else(String::new, |r| format!(", {} Ω at 20 °C", plain(r)));
            format!("coil {} wound from {}{read}", f.coil_no, f.spool)
        }
        Fact::CoilScrapped(f) => format!("coil {} scrapped{}", f.coil_no, because(&f.reason)),
        Fact::StepDone(f) => format!("coil {} {}", f.coil_no, step(f)),
        Fact::JobClosed(f) => format!(
            "closed{}",
            f.signed
                .as_ref()
                .map_or_else(String::new, |o| format!("; {} signed for what was missing: {}", o.by, o.reason))
        ),
        Fact::FiguresSet(f) => format!("figures set: {}", f.names().join(", ")),
        Fact::EntryUndone(f) => format!("entry {} undone{}", f.seq, because(&f.reason)),
        Fact::PlanAccepted(_) => "plan accepted".into(),
        Fact::AlertSeen(f) => format!("alert {} seen", f.alert),
        Fact::LearningFrozen(f) if f.frozen => format!("learning frozen{}", because(&f.reason)),
        Fact::LearningFrozen(f) => format!("learning thawed{}", because(&f.reason)),
        Fact::LearningReset(f) => {
            let of = [f.wire.clone(), f.mandrel_mm.map(|m| format!("mandrel {m} mm")), f.winder.clone()];
            let of: Vec<String> = of.into_iter().flatten().collect();
            let what = if of.is_empty() { "all coils so far".to_owned() } else { of.join(", ") };
            format!("forgotten what was learned of {what}{}", because(&f.reason))
        }
    }
}

/// A step in a sentence, with everything that was noted of it.
pub fn step(f: &StepDone) -> String {
    let mut said = Vec::new();
    if f.not_needed {
        said.push("not needed".to_owned());
    }
    said.extend(f.dcr_ohm.map(|r| format!("{} Ω at 20 °C", plain(r))));
    said.extend(f.minutes.map(|m| format!("{m} min")));
    let figure = |(name, value): (&String, &Value)| {
        let value = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        format!("{} {value}", name.replace('_', " "))
    };
    said.extend(f.figures.as_object().into_iter().flatten().map(figure));
    let said = if said.is_empty() { String::new() } else { format!(": {}", said.join(", ")) };
    format!("{}{said}{}", f.step.word(), because(&f.note))
}

fn plain(v: Uncertain) -> String {
    coilwright_core::typed::shown(v.value, v.u)
}

fn ohms(r: &OhmReading) -> String {
    format!("{} Ω with test leads of {} Ω at {} °C", plain(r.ohm), r.test_leads_ohm.value, r.temperature_c.value)
}

fn because(reason: &str) -> String {
    if reason.is_empty() { String::new() } else { format!(" ({reason})") }
}
