//! A spool is used no more.

use super::receive::not_below_tare;
use super::{CANNOT_BE, Decision, Ruling, WORTH_A_WORD, distance, live_spool, metres_left, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, SpoolRetired};
use crate::finding::Finding;
use crate::id::SpoolId;
use crate::refusal::Refusal;
use crate::state::State;
use crate::uncertain::Uncertain;

/// A spool to retire.
#[derive(Debug, Clone, PartialEq)]
pub struct Retire {
    /// Which.
    pub spool: SpoolId,
    /// Whether it is empty; otherwise its wire is not to be used.
    pub empty: bool,
    /// The empty reel on the scale.
    pub gross_g: Option<f64>,
    /// The scale's uncertainty; the shop's scale if absent.
    pub scale_u_g: Option<f64>,
    /// Why, in words.
    pub reason: String,
    /// Only if the spool still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Retires a spool. An empty reel's weighing is its tare, and one more reading for the whole history.
///
/// # Errors
/// Something is still promised of it; an empty reel heavier or lighter than it can be; unknown or retired already.
pub fn retire(state: &State, ask: &Retire, _at: &Moment) -> Ruling {
    let spool = live_spool(state, ask.spool)?;
    still_at(spool.rev, ask.if_rev, ask.spool)?;
    if let Some((hold, h)) = spool.holds.first() {
        let of = h.job.map_or_else(|| h.reason.clone(), |j| j.to_string());
        let detail = format!("{:.2} m of it are still promised (hold {hold}: {of})", h.hold_m);
        return Err(
            Refusal::refused("still_held", "still promised", detail, format!("release {hold} first")).at("/spool")
        );
    }
    let content = spool.as_written().unwrap_or_else(|_| spool.estimate());
    let mut findings = Vec::new();
    let mut empty_g = None;
    if ask.empty {
        let left = Uncertain::of_metres(content.left);
        let off = distance(left, Uncertain::new(0.0, 0.0));
        if off > WORTH_A_WORD {
            let text = format!(
                "empty, though {} should be left: an end thrown away, or tries that were not written down",
                metres_left(&content)
            );
            findings.push(Finding::watch("empty_too_soon", text).figures(0.0, left.value));
        }
        empty_g = ask.gross_g.map(|gross| super::weigh::on_scale(state, gross, ask.scale_u_g)).transpose()?;
        if let (Some(met), Some(tare)) = (empty_g, content.tare.map(Uncertain::of_grams)) {
            not_below_tare(met, tare)?;
            let off = distance(met, tare);
            if off > CANNOT_BE {
                let detail = format!(
                    "{:.2} g is heavier than the bare reel of {:.2} ± {:.2} g: is there wire on it?",
                    met.value, tare.value, tare.u
                );
                let next = "weigh it with `spool weigh`, or take the last wire off";
                return Err(Refusal::refused("not_empty", "not an empty reel", detail, next)
                    .at("/gross_g")
                    .met(met.value)
                    .allowed(format!("at most {:.2} g", tare.value + CANNOT_BE * libm::hypot(met.u, tare.u))));
            }
            if off.abs() > WORTH_A_WORD {
                let text = format!("the reel weighs {:.2} g, its tare was taken as {:.2} g", met.value, tare.value);
                findings.push(Finding::watch("tare_was_wrong", text).figures(met.value, tare.value));
            }
        }
    } else if ask.gross_g.is_some() {
        let detail = "a weighing of the reel with wire on it is no tare".to_owned();
        return Err(Refusal::wrong("not_empty", "/gross_g", detail, "weigh it with `spool weigh` before retiring it"));
    }
    let reason = ask.reason.trim().to_owned();
    let fact = SpoolRetired { spool: ask.spool, empty: ask.empty, empty_g, reason };
    Ok(Decision { facts: vec![Fact::SpoolRetired(fact)], findings })
}
