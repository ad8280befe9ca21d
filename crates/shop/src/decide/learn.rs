//! Learning is frozen, thawed or begun anew.

use super::{Decision, Ruling, bounds, number, said};
use crate::entry::Moment;
use crate::fact::{Fact, LearningFrozen, LearningReset};
use crate::refusal::Refusal;
use crate::state::State;

/// Learning to freeze or thaw.
#[derive(Debug, Clone, PartialEq)]
pub struct Freeze {
    /// Frozen; otherwise thawed.
    pub frozen: bool,
    /// Why, in words.
    pub reason: String,
}

/// Freezes or thaws.
///
/// # Errors
/// It is so already.
pub fn freeze(state: &State, ask: &Freeze, _at: &Moment) -> Ruling {
    let since = state.shop().learning.frozen_at;
    if ask.frozen == since.is_some() {
        let detail = since
            .map_or_else(|| "learning is not frozen".to_owned(), |seq| format!("learning is frozen since entry {seq}"));
        let next = if ask.frozen { "see `learn show`" } else { "freeze it with `learn freeze` first" };
        return Err(Refusal::refused("as_it_is", "nothing to change", detail, next).at("/frozen").met(ask.frozen));
    }
    let fact = LearningFrozen { frozen: ask.frozen, reason: ask.reason.trim().to_owned() };
    Ok(Decision::of(vec![Fact::LearningFrozen(fact)]))
}

/// What to forget.
#[derive(Debug, Clone, PartialEq)]
pub struct Forget {
    /// Only coils of this wire.
    pub wire: Option<String>,
    /// Only coils on this mandrel.
    pub mandrel_mm: Option<f64>,
    /// Only coils of this winder.
    pub winder: Option<String>,
    /// Why, in words.
    pub reason: String,
}

/// Forgets what coils taught so far. They stay in the journal; undoing this entry brings their lessons back.
///
/// # Errors
/// No reason; nothing that matches.
pub fn forget(state: &State, ask: &Forget, at: &Moment) -> Ruling {
    let reason = said(&ask.reason, "/reason", "the reason")?;
    ask.mandrel_mm.map(|m| number(m, "/mandrel_mm", bounds::TINY, 1e4)).transpose()?;
    let fact = LearningReset {
        wire: ask.wire.clone(),
        mandrel_mm: ask.mandrel_mm,
        winder: ask.winder.as_deref().map(|w| w.trim().to_owned()),
        reason,
    };
    let facts = vec![Fact::LearningReset(fact)];
    if state.after(at, &facts).lessons() == state.lessons() {
        let detail = "no coil that counts matches, so there is nothing to forget".to_owned();
        let next = "see `learn show` for wires, mandrels and winders";
        return Err(Refusal::refused("nothing_learned", "nothing to forget", detail, next));
    }
    Ok(Decision::of(facts))
}
