//! The history of a spool as steps of the chain, in m, g and Ω, with the gaps in which something may have gone unwritten.

use super::chain::{Seen, Step, Unknown};
use super::unwritten::{Gap, Gathered};
use super::{Event, Reading, in_g};
use crate::measured::{Input, half_width_to_u};

/// Steps of the chain.
pub(super) struct Steps {
    /// All of them.
    pub(super) all: Vec<Step>,
    /// For each step the event it came from.
    pub(super) events: Vec<usize>,
    /// Where something may have gone unwritten: a step of its own before the reading that follows the draws.
    pub(super) gaps: Vec<Gap>,
    gathered: Gathered,
    rate: f64,
}

impl Steps {
    /// `rate`: tries gone unwritten per draw noted.
    pub(super) fn of(events: &[Event], rate: f64) -> Steps {
        let (all, of) = (Vec::with_capacity(events.len()), Vec::with_capacity(events.len()));
        let mut steps = Steps { all, events: of, gaps: Vec::new(), gathered: Gathered::default(), rate };
        for (at, event) in events.iter().enumerate() {
            match *event {
                Event::Read(Reading::Weighed(gross)) => steps.read(at, Seen::Gross, in_g(gross)),
                Event::Read(Reading::Resistance(ohm)) => steps.read(at, Seen::Ohm, ohm.input()),
                Event::Read(Reading::Length(length)) => steps.read(at, Seen::Length, length.input()),
                Event::Drawn(drawn) => {
                    steps.gathered.add(drawn.value.m());
                    steps.push(at, Step::Draw { length: drawn.value.m(), variance: drawn.u.m() * drawn.u.m() });
                }
                Event::Unaccounted => {
                    // Nothing is known of the length any more, so nothing of what went besides.
                    steps.gathered = Gathered::default();
                    steps.push(at, Step::Forget { unknown: Unknown::Length });
                }
                Event::Moved(tare) => {
                    steps.push(at, Step::Forget { unknown: Unknown::Tare });
                    let rest = events.get(at + 1..).unwrap_or_default();
                    if let Some(tare) = tare.map(in_g).or_else(|| anywhere_below(lightest(rest))) {
                        steps.push(at, Step::see(Seen::Tare, tare));
                    }
                }
            }
        }
        steps.end_gap(events.len().saturating_sub(1));
        steps
    }

    /// The same with nothing lost since the last reading.
    pub(super) fn without_last_gap(mut self) -> Steps {
        if self.gaps.last().is_some_and(|g| g.step + 1 == self.all.len()) {
            self.gaps.pop();
            self.all.pop();
            self.events.pop();
        }
        self
    }

    /// What was lost in each gap, with this probability.
    pub(super) fn lose(&mut self, probabilities: &[f64]) {
        for (gap, q) in self.gaps.iter().zip(probabilities) {
            if let Some(step) = self.all.get_mut(gap.step) {
                *step = gap.lost(*q);
            }
        }
    }

    fn read(&mut self, at: usize, seen: Seen, value: Input) {
        self.end_gap(at);
        self.push(at, Step::see(seen, value));
    }

    fn end_gap(&mut self, at: usize) {
        if let Some(gap) = self.gathered.end(self.rate, self.all.len()) {
            self.gaps.push(gap);
            self.push(at, gap.lost(gap.share));
        }
    }

    fn push(&mut self, at: usize, step: Step) {
        self.all.push(step);
        self.events.push(at);
    }
}

/// The lightest weighing before the wire is moved to another reel, in g.
pub(super) fn lightest(events: &[Event]) -> Option<f64> {
    events
        .iter()
        .take_while(|e| !matches!(e, Event::Moved(_)))
        .filter_map(|e| match e {
            Event::Read(Reading::Weighed(gross)) => Some(gross.value.g()),
            _ => None,
        })
        .reduce(f64::min)
}

/// A tare nobody knows: anywhere from nothing to this gross.
pub(super) fn anywhere_below(gross_g: Option<f64>) -> Option<Input> {
    gross_g.map(|g| Input { value: g / 2.0, u: half_width_to_u(g / 2.0) })
}
