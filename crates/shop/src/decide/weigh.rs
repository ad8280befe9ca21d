//! A spool is put on the scale.

use super::receive::not_below_tare;
use super::{
    CANNOT_BE, Decision, Ruling, WORTH_A_WORD, bounds, cause, distance, live_spool, metres_left, number, promises,
    sane, still_at, unwritten,
};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, SpoolWeighed};
use crate::finding::Finding;
use crate::id::SpoolId;
use crate::refusal::Refusal;
use crate::spool::Spool;
use crate::state::State;
use crate::uncertain::Uncertain;
use coilwright_core::content::Content;

/// A weighing.
#[derive(Debug, Clone, PartialEq)]
pub struct Weigh {
    /// Which spool.
    pub spool: SpoolId,
    /// What the scale showed.
    pub gross_g: f64,
    /// The scale's uncertainty; the shop's scale if absent.
    pub scale_u_g: Option<f64>,
    /// Only if the spool still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Takes a weighing.
///
/// Far less than expected is taken and breaks the ledger: wire that is gone is gone. Far more cannot be, since wire does
/// not grow. The same weighing twice within moments, with nothing drawn between, is written down but counts once: the
/// hand was nervous, the knowledge is the same.
///
/// # Errors
/// Lighter than its reel; heavier than expected by more than four uncertainties; spool unknown or retired.
pub fn weigh(state: &State, ask: &Weigh, at: &Moment) -> Ruling {
    let spool = live_spool(state, ask.spool)?;
    still_at(spool.rev, ask.if_rev, ask.spool)?;
    let gross_g = on_scale(state, ask.gross_g, ask.scale_u_g)?;
    let before = spool.as_written().ok();
    let expected_g = before.as_ref().and_then(Content::expected_gross).map(Uncertain::of_grams);
    if let Some(tare) = before.as_ref().and_then(|b| b.tare) {
        not_below_tare(gross_g, Uncertain::of_grams(tare))?;
    }
    let off = expected_g.map_or(0.0, |e| distance(gross_g, e));
    if let Some(expected) = expected_g.filter(|_| off > CANNOT_BE) {
        return Err(too_heavy(state, spool, gross_g, expected));
    }
    let repeat_of = repeated(state, spool, gross_g, at);
    let fact = SpoolWeighed { spool: ask.spool, gross_g, expected_g, repeat_of, breaks_ledger: off < -CANNOT_BE };
    let facts = vec![Fact::SpoolWeighed(fact)];
    let after = state.after(at, &facts);
    let mut findings = Vec::new();
    if let Some(first) = repeat_of {
        let text = format!("the same weighing as entry {first}, moments ago: it counts once");
        findings.push(Finding::note("weighed_twice", text));
    }
    if let Some(expected) = expected_g.filter(|_| off.abs() > WORTH_A_WORD) {
        let cause = cause::of_weighing(state, spool, gross_g, expected_g);
        let left = after.spool(ask.spool).map(Spool::estimate);
        let text = format!(
            "{:.2} g where {:.2} ± {:.2} g were expected ({} before, {} now); {cause}{}",
            gross_g.value,
            expected.value,
            expected.u,
            spool.known().as_ref().map_or_else(|_| String::new(), metres_left),
            left.as_ref().map_or_else(String::new, metres_left),
            unwritten(left.as_ref()),
        );
        findings.push(Finding::watch("weighing_disagrees", text).figures(gross_g.value, expected.value));
    }
    findings.extend(after.spool(ask.spool).and_then(promises));
    Ok(Decision { facts, findings })
}

/// A reading of the scale with its uncertainty.
pub(super) fn on_scale(state: &State, gross_g: f64, u_g: Option<f64>) -> Result<Uncertain, Refusal> {
    number(gross_g, "/gross_g", bounds::TINY, bounds::MASS_G)?;
    let u = u_g.unwrap_or_else(|| state.figures().scale.value.weighing_u_g());
    sane(Uncertain::new(gross_g, u), "/scale_u_g", bounds::TINY, bounds::MASS_G)
}

fn too_heavy(state: &State, spool: &Spool, gross: Uncertain, expected: Uncertain) -> Refusal {
    let most = expected.value + CANNOT_BE * libm::hypot(gross.u, expected.u);
    let cause = cause::of_weighing(state, spool, gross, Some(expected));
    let detail = format!(
        "{:.2} g on the scale where {:.2} ± {:.2} g are expected of spool {}; {cause}",
        gross.value,
        expected.value,
        expected.u,
        spool.id()
    );
    let next = "check the reading and which spool it is; if an earlier entry is wrong, undo that one first";
    Refusal::refused("too_heavy", "heavier than it can be", detail, next)
        .at("/gross_g")
        .met(gross.value)
        .allowed(format!("at most {most:.2} g"))
}

/// The entry of the same weighing, if it was made moments before and nothing happened to the wire since.
fn repeated(state: &State, spool: &Spool, gross: Uncertain, at: &Moment) -> Option<Seq> {
    let (before, met) = spool.weighing_just_before()?;
    let within = state.figures().same_weighing_s.value;
    let seconds = at.stamp.at.duration_since(before.at).as_secs_f64().abs();
    let first = match before.what {
        crate::spool::What::Weighed { repeat_of: Some(first), .. } => first,
        _ => before.seq,
    };
    (met.value.to_bits() == gross.value.to_bits() && seconds <= within).then_some(first)
}
