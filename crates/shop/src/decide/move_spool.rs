//! A spool is put elsewhere, or its wire on another reel.

use super::{Decision, Ruling, bounds, live_spool, sane, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::{Fact, Reel, SpoolMoved, WireDrawn};
use crate::finding::Finding;
use crate::id::SpoolId;
use crate::refusal::Refusal;
use crate::state::State;
use crate::uncertain::Uncertain;

/// A move.
#[derive(Debug, Clone, PartialEq)]
pub struct MoveSpool {
    /// Which spool.
    pub spool: SpoolId,
    /// Where it stands now.
    pub place: Option<String>,
    /// The other reel, if the wire was rewound.
    pub reel: Option<Reel>,
    /// Wire cut away in doing so.
    pub lost_m: Option<Uncertain>,
    /// Only if the spool still is at this revision.
    pub if_rev: Option<Seq>,
}

/// Takes a move. The wire stays the same wire: what was learned of its mass per metre is kept, the old tare is not.
///
/// # Errors
/// Neither place nor reel given; more lost than was there; spool unknown or retired.
pub fn move_spool(state: &State, ask: &MoveSpool, at: &Moment) -> Ruling {
    let spool = live_spool(state, ask.spool)?;
    still_at(spool.rev, ask.if_rev, ask.spool)?;
    if ask.place.is_none() && ask.reel.is_none() {
        let detail = "neither a place nor another reel".to_owned();
        return Err(Refusal::wrong(
            "nothing_moved",
            "/place",
            detail,
            "say where it stands now, or which reel it is on",
        ));
    }
    let mut facts = Vec::new();
    if let Some(lost) = ask.lost_m {
        let drawn_m = super::record::not_more_than_there(spool, lost, "/lost_m")?;
        let reason = "cut away in rewinding".to_owned();
        facts.push(Fact::WireDrawn(WireDrawn { spool: ask.spool, drawn_m, job: None, coil_no: None, reason }));
    }
    let mut findings = Vec::new();
    if let Some(reel) = ask.reel {
        match reel.tare_g {
            Some(tare) => {
                sane(tare, "/tare_g", 0.0, bounds::MASS_G)?;
            }
            None => {
                let text =
                    "nobody knows the new reel's tare: weigh the spool now, and its tare follows from the wire on it";
                findings.push(Finding::note("weigh_now", text.to_owned()));
            }
        }
    }
    let place = ask.place.as_ref().map(|p| p.trim().to_owned());
    facts.push(Fact::SpoolMoved(SpoolMoved { spool: ask.spool, place, reel: ask.reel }));
    findings.extend(state.after(at, &facts).spool(ask.spool).and_then(super::promises));
    Ok(Decision { facts, findings })
}
