//! An entry is taken back by a counter-entry; both stay in the journal.

use super::{Decision, Ruling, metres_left, promises, said};
use crate::entry::{Moment, Seq};
use crate::fact::{EntryUndone, Fact, Subject};
use crate::finding::Finding;
use crate::refusal::Refusal;
use crate::state::{DEEPEST_UNDO, State};
use std::collections::BTreeSet;

/// An entry to undo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undo {
    /// Which entry.
    pub seq: Seq,
    /// Why, in words.
    pub reason: String,
}

/// Undoes an entry: afterwards everything stands as if it had never been written.
///
/// # Errors
/// No such entry; undone already; later entries stand on it (they are named); metres that would come back as promised
/// have been promised to others meanwhile.
pub fn undo(state: &State, ask: &Undo, at: &Moment) -> Ruling {
    let seq = ask.seq;
    let not_found = || Refusal::not_found("entry", seq, "/seq");
    if !(1..=state.seq()).contains(&seq) {
        return Err(not_found());
    }
    let reason = said(&ask.reason, "/reason", "the reason")?;
    if !state.counts(seq) {
        let by = state.undone_by(seq).iter().rev().find(|by| state.counts(**by)).copied().unwrap_or(seq);
        let detail = format!("entry {seq} was undone by entry {by}");
        let next = format!("undo entry {by} to have it back");
        return Err(Refusal::refused("undone_before", "undone before", detail, next).at("/seq").met(seq));
    }
    if state.depth(seq) >= DEEPEST_UNDO {
        let first = state.undoes(seq).iter().flat_map(|u| state.undoes(*u)).next();
        let detail = format!("entry {seq} undoes an undoing");
        let next = format!("undo entry {} again instead", first.unwrap_or(&seq));
        return Err(Refusal::refused("undone_too_often", "undo the first entry", detail, next).at("/seq").met(seq));
    }
    let touched = state.touched(seq).ok_or_else(not_found)?;
    let facts = vec![Fact::EntryUndone(EntryUndone { seq, reason })];
    let after = state.after(at, &facts);
    let standing: BTreeSet<Seq> = touched
        .iter()
        .flat_map(|of| after.without_effect(*of).difference(&state.without_effect(*of)).copied().collect::<Vec<_>>())
        .chain(orphans(&after, touched))
        .collect();
    if let Some(last) = standing.last() {
        let names: Vec<String> = standing.iter().map(Seq::to_string).collect();
        let detail = format!("entries that stand on entry {seq}: {}", names.join(", "));
        let next = format!("undo entry {last} first, then the earlier ones");
        return Err(Refusal::refused("stood_upon", "later entries stand on it", detail, next).at("/seq").met(seq));
    }
    let mut findings = Vec::new();
    for id in touched.iter().filter_map(|of| if let Subject::Spool(id) = of { Some(*id) } else { None }) {
        let (was, is) = (state.spool(id), after.spool(id));
        if let (Some(was), Some(is)) = (was, is) {
            if is.held() > was.held() && is.uncovered().m() > 0.0 {
                let detail = format!(
                    "{:.2} m of spool {id} would be promised, of {}: others were promised them meanwhile",
                    is.held().m(),
                    metres_left(&is.estimate())
                );
                let next = "release one of the later holds first";
                return Err(Refusal::refused("not_free", "not that much free", detail, next).at("/seq").met(seq));
            }
            let text =
                format!("spool {id}: {} before, {} now", metres_left(&was.estimate()), metres_left(&is.estimate()));
            findings.push(Finding::note("left_changed", text));
        }
        findings.extend(is.and_then(promises));
    }
    Ok(Decision { facts, findings })
}

/// Entries that promised wire to a job that would no longer be.
fn orphans(after: &State, touched: &BTreeSet<Subject>) -> Vec<Seq> {
    touched
        .iter()
        .filter_map(|of| if let Subject::Job(id) = of { Some(*id) } else { None })
        .filter(|id| after.job(*id).is_none())
        .flat_map(|id| after.holds_for(id).map(|(_, _, hold)| hold.seq).collect::<Vec<_>>())
        .collect()
}
