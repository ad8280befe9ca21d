//! A spool as its facts add up: what is on it, what was read from it, what is promised of it.

use crate::archive::{Happened, NoEffect};
use crate::entry::Seq;
use crate::fact::{Fact, SpoolReceived, Wire};
use crate::id::{HoldId, JobId, SpoolId};
use crate::uncertain::Uncertain;
use coilwright_core::content::lot::{self, Evidence};
use coilwright_core::content::{self, Content, Event, Prior, Reading, Undetermined};
use coilwright_core::enough::Remaining;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use jiff::Timestamp;
use rpds::{RedBlackTreeMapSync, VectorSync};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// An empty reel has this much wire on it, as standard uncertainty: what still clings to the flange.
const EMPTY_U_M: f64 = 0.01;

/// How far all draws of a spool may be off together: a hand's tails and threading differ from the usual by some 0.15 m
/// on a coil of 14 m. Derived from the ranges of common practice (tails 0.3 to 0.5 m, threading 0.5 to 1.0 m).
pub const DRAW_DOUBT: f64 = 0.01;

/// How often, per coil, a failed try goes unwritten. No source. With it the 90 % intervals of invented shops that forget none,
/// one in 67 and one in 33 coils hold 92.5, 89.6 and 88.5 %.
const UNWRITTEN: f64 = 0.01;

/// A spool.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spool {
    /// Its arrival, as it was told.
    pub received: Arc<SpoolReceived>,
    /// When it arrived.
    pub received_at: Timestamp,
    /// Where it stands.
    pub place: String,
    /// Readings and draws, in order of sequence.
    pub past: VectorSync<Past>,
    /// Promises not yet kept.
    pub holds: RedBlackTreeMapSync<HoldId, Hold>,
    /// Set once it is used no more.
    pub retired: Option<Retired>,
    /// What the other spools of its lot tell of its figures per metre.
    #[serde(default)]
    pub of_lot: Evidence,
    /// The last entry that changed it.
    pub rev: Seq,
}

/// Something that bears on what is left.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Past {
    /// The entry.
    pub seq: Seq,
    /// When, by the wall clock.
    pub at: Timestamp,
    /// What.
    pub what: What,
}

/// What bears on what is left.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum What {
    /// Length marked or carried over from a book.
    Marked {
        /// The length.
        length_m: Uncertain,
        /// Whether it is believed at all.
        counts: bool,
    },
    /// Put on the scale.
    Weighed {
        /// The scale's.
        gross_g: Uncertain,
        /// A weighing made moments before that this one repeats.
        repeat_of: Option<Seq>,
        /// Lengths from before do not count.
        breaks_ledger: bool,
    },
    /// Measured from end to end.
    Measured {
        /// The wire alone at 20 °C.
        ohm_20c: Uncertain,
        /// Lengths from before do not count.
        breaks_ledger: bool,
    },
    /// Wire went.
    Drawn {
        /// How much.
        drawn_m: Uncertain,
        /// Into which job.
        job: Option<JobId>,
        /// Into which coil.
        coil_no: Option<u32>,
    },
    /// The wire sits on another reel.
    Rewound {
        /// Of this mass.
        tare_g: Option<Uncertain>,
    },
    /// Nothing is left.
    Emptied {
        /// Weighed without wire.
        empty_g: Option<Uncertain>,
    },
}

/// A promise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hold {
    /// How much.
    pub hold_m: f64,
    /// What for.
    pub reason: String,
    /// For which job.
    pub job: Option<JobId>,
    /// For which coil of it, once started.
    pub coil_no: Option<u32>,
    /// The entry that made it.
    pub seq: Seq,
}

/// How a spool ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Retired {
    /// Empty; otherwise its wire is not to be used.
    pub empty: bool,
    /// Why, in words.
    pub reason: String,
    /// The entry.
    pub seq: Seq,
}

impl Hold {
    /// Whether the next coil of this job may use it.
    pub fn serves(&self, job: JobId) -> bool {
        self.job == Some(job) && self.coil_no.is_none()
    }
}

impl Spool {
    /// Its id.
    pub fn id(&self) -> SpoolId {
        self.received.spool
    }

    /// Whether nothing more is likely to happen to it: used no more, and nothing promised of it.
    pub fn at_rest(&self) -> bool {
        self.retired.is_some() && self.holds.is_empty()
    }

    /// Its wire.
    pub fn wire(&self) -> &Wire {
        &self.received.wire
    }

    /// What is left, with everything known so far fitted together. A spool of which nothing tells the length counts as
    /// holding nothing: [`Spool::known`] says so.
    pub fn estimate(&self) -> Content {
        self.known().unwrap_or_else(|Undetermined| Content::nothing(&self.prior()))
    }

    /// The same, or that nothing tells the length.
    ///
    /// # Errors
    /// [`Undetermined`]: neither weighed, measured nor marked with a length that counts.
    pub fn known(&self) -> Result<Content, Undetermined> {
        let (prior, events, _) = self.history();
        content::estimate(&prior, &events)
    }

    /// What the next reading is held against: as [`Spool::known`], had nothing gone unwritten since the last one.
    ///
    /// # Errors
    /// As [`Spool::known`].
    pub fn as_written(&self) -> Result<Content, Undetermined> {
        let (prior, events, _) = self.history();
        content::estimate_as_written(&prior, &events)
    }

    /// The estimate, and for each of its readings the position in [`Spool::past`].
    ///
    /// # Errors
    /// As [`Spool::known`].
    pub fn explained(&self) -> Result<(Content, Vec<usize>), Undetermined> {
        let (prior, events, positions) = self.history();
        let content = content::estimate(&prior, &events)?;
        let of_reading = content.readings.iter().filter_map(|r| positions.get(r.event).copied()).collect();
        Ok((content, of_reading))
    }

    /// Sum of all promises.
    pub fn held(&self) -> Length {
        // Not `sum`: of nothing that is -0.
        Length::from_m(self.holds.values().fold(0.0, |sum, h| sum + h.hold_m))
    }

    /// Sum of the promises that a coil of this job cannot use: those to anything else, and to coils already started.
    pub fn held_against(&self, job: JobId) -> Length {
        Length::from_m(self.holds.values().filter(|h| !h.serves(job)).fold(0.0, |sum, h| sum + h.hold_m))
    }

    /// What is left as a draw sees it: gate, promises and plan all take their probability from here. Nothing is left for
    /// a draw on a retired spool.
    pub fn remaining(&self) -> Remaining {
        let left = if self.retired.is_some() { Measured::certain(Length::ZERO) } else { self.estimate().left };
        Remaining::new(left, DRAW_DOUBT)
    }

    /// What is there with this confidence; nothing on a retired spool.
    pub fn safe(&self, confidence: f64) -> Length {
        self.remaining().safe_length(confidence)
    }

    /// What can still be promised with this confidence.
    pub fn free(&self, confidence: f64) -> Length {
        (self.safe(confidence) - self.held()).max(Length::ZERO)
    }

    /// What was promised but is not there by the best estimate: a reading found less.
    pub fn uncovered(&self) -> Length {
        (self.held() - self.estimate().left.value).max(Length::ZERO)
    }

    /// The last weighing, if nothing was drawn or rewound since.
    pub(crate) fn weighing_just_before(&self) -> Option<(&Past, Uncertain)> {
        let last = self.past.last()?;
        match last.what {
            What::Weighed { gross_g, .. } => Some((last, gross_g)),
            _ => None,
        }
    }

    /// Its wire's key and its lot, if one is written down: what it shares with others.
    pub(crate) fn lot(&self) -> Option<(&str, &str)> {
        let lot = self.received.lot.trim();
        (!lot.is_empty()).then(|| (self.wire().key(), lot))
    }

    /// What its own history tells of the figures of its lot.
    pub(crate) fn tells_its_lot(&self) -> Option<Evidence> {
        lot::evidence(&self.by_table(), &self.history().1)
    }

    /// What is known beforehand: by its wire's table and by the other spools of its lot.
    pub fn prior(&self) -> Prior {
        lot::informed(&self.by_table(), &self.of_lot)
    }

    fn by_table(&self) -> Prior {
        let wire = self.wire();
        Prior {
            g_per_m: wire.g_per_m.grams_per_metre(),
            tare: self.received.tare_g.map(Uncertain::grams),
            ohm_per_m: Some(wire.ohm_per_m.ohms_per_metre()),
            correlation: 0.0,
            draw_doubt: DRAW_DOUBT,
            unwritten: UNWRITTEN,
        }
    }

    /// Its history as readings and draws; the third tells for each event its position in the past.
    fn history(&self) -> (Prior, Vec<Event>, Vec<usize>) {
        let mut events = Vec::with_capacity(self.past.len());
        let mut positions = Vec::with_capacity(self.past.len());
        for (at, past) in self.past.iter().enumerate() {
            let before = events.len();
            self.add_events(&past.what, &mut events);
            positions.resize(positions.len() + events.len() - before, at);
        }
        (self.prior(), events, positions)
    }

    fn add_events(&self, what: &What, events: &mut Vec<Event>) {
        let mut read = |breaks: bool, reading: Reading| {
            if breaks {
                events.push(Event::Unaccounted);
            }
            events.push(Event::Read(reading));
        };
        match *what {
            What::Marked { length_m, counts } => {
                if counts {
                    read(false, Reading::Length(length_m.metres()));
                }
            }
            What::Weighed { gross_g, repeat_of, breaks_ledger } => {
                // If the first of the two was undone, the second is the weighing.
                if !repeat_of.is_some_and(|first| self.past.iter().any(|p| p.seq == first)) {
                    read(breaks_ledger, Reading::Weighed(gross_g.grams()));
                }
            }
            What::Measured { ohm_20c, breaks_ledger } => {
                read(breaks_ledger, Reading::Resistance(ohm_20c.ohms()));
            }
            What::Drawn { drawn_m, .. } => events.push(Event::Drawn(drawn_m.metres())),
            What::Rewound { tare_g } => events.push(Event::Moved(tare_g.map(Uncertain::grams))),
            What::Emptied { empty_g } => {
                // A last end is thrown away unmeasured: the empty reel tells its tare, not what was on it.
                read(true, Reading::Length(Uncertain::new(0.0, EMPTY_U_M).metres()));
                if let Some(gross) = empty_g {
                    read(false, Reading::Weighed(gross.grams()));
                }
            }
        }
    }

    /// The spool after one more fact.
    pub(crate) fn fold(spool: Option<Spool>, happened: &Happened) -> Result<Spool, NoEffect> {
        if let Fact::SpoolReceived(received) = &happened.fact {
            return if spool.is_none() { Ok(Spool::arrived(received, happened)) } else { Err(NoEffect) };
        }
        let mut spool = spool.ok_or(NoEffect)?;
        match &happened.fact {
            Fact::SpoolWeighed(f) => spool.remember(
                happened,
                What::Weighed { gross_g: f.gross_g, repeat_of: f.repeat_of, breaks_ledger: f.breaks_ledger },
            ),
            Fact::SpoolMeasured(f) => {
                spool.remember(happened, What::Measured { ohm_20c: f.ohm_20c, breaks_ledger: f.breaks_ledger });
            }
            Fact::SpoolMoved(f) => {
                if let Some(place) = &f.place {
                    spool.place.clone_from(place);
                }
                if let Some(reel) = f.reel {
                    spool.remember(happened, What::Rewound { tare_g: reel.tare_g });
                }
            }
            Fact::SpoolHeld(f) => spool.holds.insert_mut(
                f.hold,
                Hold { hold_m: f.hold_m, reason: f.reason.clone(), job: f.job, coil_no: f.coil_no, seq: happened.seq },
            ),
            Fact::SpoolReleased(f) => {
                if !spool.holds.remove_mut(&f.hold) {
                    return Err(NoEffect);
                }
            }
            Fact::WireDrawn(f) => {
                spool.remember(happened, What::Drawn { drawn_m: f.drawn_m, job: f.job, coil_no: f.coil_no });
            }
            Fact::SpoolRetired(f) => {
                if spool.retired.is_some() {
                    return Err(NoEffect);
                }
                spool.retired = Some(Retired { empty: f.empty, reason: f.reason.clone(), seq: happened.seq });
                if f.empty {
                    spool.remember(happened, What::Emptied { empty_g: f.empty_g });
                }
            }
            _ => return Err(NoEffect),
        }
        spool.rev = happened.seq;
        Ok(spool)
    }

    fn arrived(received: &SpoolReceived, happened: &Happened) -> Spool {
        let mut spool = Spool {
            received: Arc::new(received.clone()),
            received_at: happened.at,
            place: received.place.clone(),
            past: VectorSync::new_sync(),
            holds: RedBlackTreeMapSync::new_sync(),
            retired: None,
            of_lot: Evidence::default(),
            rev: happened.seq,
        };
        if let Some(length_m) = received.marked_m {
            spool.remember(happened, What::Marked { length_m, counts: received.marked_counts });
        }
        if let Some(gross_g) = received.gross_g {
            spool.remember(happened, What::Weighed { gross_g, repeat_of: None, breaks_ledger: false });
        }
        spool
    }

    fn remember(&mut self, happened: &Happened, what: What) {
        self.past.push_back_mut(Past { seq: happened.seq, at: happened.at, what });
    }
}
