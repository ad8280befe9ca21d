//! The resistance of the wire on a spool is measured from end to end.

use super::{
    CANNOT_BE, Decision, Ruling, WORTH_A_WORD, bounds, cause, distance, live_spool, metres_left, promises, sane,
    still_at, unwritten,
};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, OhmReading, SpoolMeasured, Wire};
use crate::finding::Finding;
use crate::id::SpoolId;
use crate::refusal::Refusal;
use crate::spool::Spool;
use crate::state::State;
use crate::uncertain::Uncertain;
use coilwright_core::content::Content;

/// A resistance reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// Which spool.
    pub spool: SpoolId,
    /// What the meter showed, its test leads, the temperature of the wire.
    pub reading: OhmReading,
    /// Only if the spool still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Takes a resistance reading. What was said of weighings that are far from the expectation holds here too.
///
/// # Errors
/// No more than its test leads; more than expected by more than four uncertainties; spool unknown or retired.
pub fn measure(state: &State, ask: &Measure, at: &Moment) -> Ruling {
    let spool = live_spool(state, ask.spool)?;
    still_at(spool.rev, ask.if_rev, ask.spool)?;
    let ohm_20c = at_20c(&ask.reading, spool.wire())?;
    let before = spool.as_written().ok();
    let expected_ohm = before.as_ref().and_then(Content::expected_resistance).map(Uncertain::of_ohms);
    let off = expected_ohm.map_or(0.0, |e| distance(ohm_20c, e));
    if let Some(expected) = expected_ohm.filter(|_| off > CANNOT_BE) {
        return Err(too_high(spool, ohm_20c, expected));
    }
    let breaks_ledger = off < -CANNOT_BE;
    let fact = SpoolMeasured { spool: ask.spool, reading: ask.reading, ohm_20c, expected_ohm, breaks_ledger };
    let facts = vec![Fact::SpoolMeasured(fact)];
    let after = state.after(at, &facts);
    let mut findings = Vec::new();
    if let Some(expected) = expected_ohm.filter(|_| off.abs() > WORTH_A_WORD) {
        let cause = cause::slip(ohm_20c.value, expected.value)
            .unwrap_or("a try that was not written down, other wire than the label says, or a turn bridged");
        let left = after.spool(ask.spool).map(Spool::estimate);
        let text = format!(
            "{:.3} Ω at 20 °C where {:.3} ± {:.3} Ω were expected ({} before, {} now); {cause}{}",
            ohm_20c.value,
            expected.value,
            expected.u,
            spool.known().as_ref().map_or_else(|_| String::new(), metres_left),
            left.as_ref().map_or_else(String::new, metres_left),
            unwritten(left.as_ref()),
        );
        findings.push(Finding::watch("resistance_disagrees", text).figures(ohm_20c.value, expected.value));
    }
    findings.extend(after.spool(ask.spool).and_then(promises));
    Ok(Decision { facts, findings })
}

/// A reading as the wire alone would show at 20 °C.
///
/// ```text
/// R20 = (R − leads)/(1 + α·(T − 20)),   u² = (u_R² + u_leads² + (R20·α·u_T)²)/(1 + α·(T − 20))²
/// ```
pub(super) fn at_20c(reading: &OhmReading, wire: &Wire) -> Result<Uncertain, Refusal> {
    let ohm = sane(reading.ohm, "/ohm", 0.0, bounds::OHM)?;
    let leads = sane(reading.test_leads_ohm, "/test_leads_ohm", 0.0, bounds::OHM)?;
    let t = sane(reading.temperature_c, "/temperature_c", -40.0, 250.0)?;
    if ohm.value <= leads.value {
        let detail = format!("{} Ω is no more than the test leads' {} Ω", ohm.value, leads.value);
        return Err(Refusal::refused(
            "only_leads",
            "nothing but test leads",
            detail,
            "reach both ends, scrape them, read again",
        )
        .at("/ohm")
        .met(ohm.value)
        .allowed(format!("more than {} Ω", leads.value)));
    }
    let factor = 1.0 + wire.alpha_per_k * (t.value - 20.0);
    let value = (ohm.value - leads.value) / factor;
    let u = libm::hypot(libm::hypot(ohm.u, leads.u), value * wire.alpha_per_k * t.u) / factor;
    Ok(Uncertain::new(value, u))
}

fn too_high(spool: &Spool, met: Uncertain, expected: Uncertain) -> Refusal {
    let most = expected.value + CANNOT_BE * libm::hypot(met.u, expected.u);
    let cause = cause::slip(met.value, expected.value)
        .unwrap_or("a poor contact, enamel left on an end, other wire than the label says, or a wrong tare");
    let detail = format!(
        "{:.3} Ω at 20 °C where {:.3} ± {:.3} Ω are expected of spool {}; {cause}",
        met.value,
        expected.value,
        expected.u,
        spool.id()
    );
    let next = "scrape both ends and read again; if an earlier entry is wrong, undo that one first";
    Refusal::refused("too_high", "more than it can be", detail, next)
        .at("/ohm")
        .met(met.value)
        .allowed(format!("at most {most:.3} Ω at 20 °C"))
}
