//! What the shop's own coils teach: sums over the coils that count, and the figures that follow for the next one.
//!
//! The sums are whole numbers, so a coil that is undone leaves no trace in them; coils of jobs that ended long ago are in
//! them and nowhere else. What the figures mean: [`coilwright_core::learning`].

mod coil;
mod sums;

pub(crate) use coil::{OneCoil, Touched};
pub use sums::{Cell, Lessons};

use crate::entry::Seq;
use crate::fact::{LearningFrozen, LearningReset, Lesson};
use crate::figures::Origin;
use crate::id::JobId;
use crate::state::State;
use coilwright_core::coil::spec::{LearnedSpec, Taught};
use coilwright_core::learning::{Learned, LearnedShare, Ratios, first, learn, learn_draws, learn_share};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use sums::Sign;

/// Everything that coils taught. They are filed between the entries that change which of them count, so that such an
/// entry, or its undoing, never has to look at the coils again.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Learnt {
    /// Those that count.
    lessons: Lessons,
    /// All of them by wire, mandrel and winder, by the last such entry before they were recorded; 0 before the first.
    filed: BTreeMap<Seq, Filed>,
    /// Coils that lay off, by the entry that recorded them; the newest of them.
    off: BTreeMap<Seq, Off>,
}

/// Sums by wire, by mandrel in µm, by winder.
type Filed = BTreeMap<String, BTreeMap<i64, BTreeMap<String, Cell>>>;

/// Coils that lay off and are remembered.
const MOST_OFF: usize = 1000;

/// A coil that lay off what was expected of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Off {
    /// The job.
    pub job: JobId,
    /// The coil.
    pub coil_no: u32,
    /// Who wound it.
    pub winder: String,
    /// What it taught.
    pub lesson: Lesson,
}

/// Which coils count.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Rules {
    /// Coils of later entries do not.
    pub frozen_at: Option<Seq>,
    /// Coils of entries before one of these do not, if they match.
    pub resets: Vec<(Seq, LearningReset)>,
}

/// A mandrel as a key: whole micrometres, 0 where it was not noted.
pub fn mandrel_key(mandrel_mm: Option<f64>) -> i64 {
    #[allow(clippy::cast_possible_truncation, reason = "bounded on the same line")]
    mandrel_mm.map_or(0, |mm| libm::round(mm.clamp(0.0, 1e6) * 1e3) as i64)
}

impl Rules {
    pub(crate) fn freeze(&mut self, seq: Seq, f: &LearningFrozen) {
        self.frozen_at = f.frozen.then_some(seq);
    }

    pub(crate) fn reset(&mut self, seq: Seq, f: &LearningReset) {
        self.resets.push((seq, f.clone()));
    }

    /// Whether coils count that were recorded after the entry `since` and before the next that changes these rules.
    fn count(&self, since: Seq, wire: &str, mandrel: i64, winder: &str) -> bool {
        let matches = |r: &LearningReset| {
            r.wire.as_deref().is_none_or(|w| w == wire)
                && r.winder.as_deref().is_none_or(|w| w == winder)
                && r.mandrel_mm.is_none_or(|m| mandrel_key(Some(m)) == mandrel)
        };
        self.frozen_at.is_none_or(|at| since < at) && !self.resets.iter().any(|(at, r)| since < *at && matches(r))
    }
}

impl Learnt {
    /// The sums over the coils that count.
    pub fn lessons(&self) -> &Lessons {
        &self.lessons
    }

    /// The coils that lay off, the newest first.
    pub fn off(&self) -> impl Iterator<Item = &Off> {
        self.off.values().rev()
    }

    /// From this entry on coils are filed apart from those before.
    pub(crate) fn file_apart(&mut self, seq: Seq) {
        self.filed.entry(seq).or_default();
    }

    pub(crate) fn add(&mut self, coil: &OneCoil, rules: &Rules) {
        self.put(coil, rules, Sign::Add);
        if let Some(off) = &coil.off {
            self.off.insert(coil.seq, off.clone());
            while self.off.len() > MOST_OFF {
                self.off.pop_first();
            }
        }
    }

    /// As if the coil had never been recorded.
    pub(crate) fn take_back(&mut self, coil: &OneCoil, rules: &Rules) {
        self.put(coil, rules, Sign::TakeBack);
        self.off.remove(&coil.seq);
    }

    fn put(&mut self, coil: &OneCoil, rules: &Rules, sign: Sign) {
        let since = self.filed.range(..coil.seq).next_back().map_or(0, |(since, _)| *since);
        let wires = self.filed.entry(since).or_default();
        let mandrels = wires.entry(coil.wire.clone()).or_default();
        let winders = mandrels.entry(coil.mandrel).or_default();
        winders.entry(coil.winder.clone()).or_default().put(&coil.cell, sign);
        winders.retain(|_, cell| !cell.is_empty());
        mandrels.retain(|_, winders| !winders.is_empty());
        wires.retain(|_, mandrels| !mandrels.is_empty());
        if rules.count(since, &coil.wire, coil.mandrel, &coil.winder) {
            self.lessons.put(&coil.wire, coil.mandrel, &coil.winder, &coil.cell, sign);
        }
    }

    /// The sums anew, by other rules.
    pub(crate) fn recount(&mut self, rules: &Rules) {
        self.lessons = Lessons::default();
        for (since, wires) in &self.filed {
            for (wire, mandrels) in wires {
                for (mandrel, winders) in mandrels {
                    for (winder, cell) in winders.iter().filter(|(w, _)| rules.count(*since, wire, *mandrel, w)) {
                        self.lessons.put(wire, *mandrel, winder, cell, Sign::Add);
                    }
                }
            }
        }
    }
}

/// What the next coil of this wire on this mandrel is planned with instead of first values; nothing where the shop has
/// switched learning off.
pub fn taught(state: &State, wire: &str, mandrel_mm: f64) -> LearnedSpec {
    if !state.figures().learning.value {
        return LearnedSpec::default();
    }
    let l = state.lessons();
    let next =
        |of: Learned, coils: u64| (coils > 0).then(|| Taught { next: Measured::new(of.mean, of.next_u()), coils });
    let ratios = l.resistance();
    let draws = learn_draws(&first::draws(), &l.all.draws);
    let measured = (l.all.draws.n > 0).then_some(l.all.draws.n);
    let threading_u = libm::hypot(draws.threading_u_m, first::draws().scatter_m);
    LearnedSpec {
        dcr_ratio: next(ratios.of_coil(wire, mandrel_key(Some(mandrel_mm))), ratios.coils(wire)),
        pitch_factor: next(learn(&first::PITCH, &l.all.pitch), l.all.pitch.n),
        nesting: next(learn(&first::STEP, &l.all.nesting), l.all.nesting.n),
        more_elongation: measured
            .map(|coils| Taught { next: Measured::new(draws.elongation, draws.elongation_u), coils }),
        more_threading: measured.map(|coils| Taught {
            next: Measured::new(Length::from_m(draws.threading_m), Length::from_m(threading_u)),
            coils,
        }),
    }
}

/// The share of coils scrapped: its first value (the shop's own where it set one), and what the count made of it.
pub fn scrap(state: &State) -> (f64, LearnedShare) {
    let set = &state.figures().scrap_pct;
    let share = if set.origin == Origin::Set { set.value / 100.0 } else { first::SCRAP_SHARE };
    let all = &state.lessons().all;
    (share, learn_share(share, first::SCRAP_WORTH, all.scrapped, all.recorded))
}

/// Measured over planned resistance that this winder's next coil is expected to have, the plan by first values.
pub fn expected_ratio(state: &State, wire: &str, mandrel: i64, winder: &str) -> Learned {
    if state.figures().learning.value {
        return state.lessons().resistance().of_winder(wire, mandrel, winder);
    }
    Ratios::new(first::RATIO, &BTreeMap::new()).of_winder(wire, mandrel, winder)
}
