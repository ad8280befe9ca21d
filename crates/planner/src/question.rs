//! What is asked of the planner: spools, jobs, what the shop promises, what a supplier sells.

use coilwright_core::enough::Remaining;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use std::collections::BTreeMap;

/// Everything that a plan depends on; the same question has the same answer on any machine.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Question {
    /// The spools on the shelf.
    pub spools: Vec<Spool>,
    /// The jobs not yet closed, in the order in which they were opened: among equals the earlier one wins.
    pub jobs: Vec<Job>,
    /// What the shop counts as its smallest usual coil on a wire, tails included. A shorter end on a touched spool is
    /// useless. A wire that is not named has no useless ends.
    pub smallest_coil: BTreeMap<String, Length>,
    /// Probability, shared by the whole plan, that any spool of it runs short. None: lengths are taken as they stand.
    pub risk: Option<f64>,
    /// Share (0 to 1) of the variance of a draw that all spools have in common (one counter, one balance). 0 is safe:
    /// common errors only lower the risk of a plan.
    pub common_share: f64,
    /// Winder's minutes in a day. None: time is not looked at.
    pub minutes_per_day: Option<f64>,
    /// The plan in force; among equally good plans the one with fewest changes to it wins.
    pub incumbent: Vec<Assigned>,
    /// What can be bought.
    pub supply: Vec<Offer>,
}

/// One spool.
#[derive(Debug, Clone, PartialEq)]
pub struct Spool {
    /// Its name.
    pub id: String,
    /// The wire on it.
    pub wire: String,
    /// Length left and its standard uncertainty; coils being wound (`Job::started`) are still counted in it.
    pub left: Measured<Length>,
    /// Relative standard uncertainty of a draw, common to all draws from this spool.
    pub draw_doubt: f64,
    /// Half the scale's last digit as a length of wire (0 if folded into `left.u`).
    pub half_digit: Length,
    /// Held as a whole: only coils already started may use it.
    pub held: bool,
    /// Length promised to something that is not a job of this question.
    pub promised: Length,
    /// Already in use; a sealed spool is opened last.
    pub opened: bool,
    /// Age in days; the oldest is used first.
    pub age_days: u32,
    /// A safe length set by hand, which then stands instead of one computed from the uncertainty and adds no risk.
    pub safe: Option<Length>,
}

/// One job: a number of equal coils, all of them or none.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its name.
    pub id: String,
    /// The wire it was designed for.
    pub wire: String,
    /// Coils still to be made, those being wound now included.
    pub coils: u32,
    /// Wire of one coil.
    pub need: Need,
    /// What finishing it is worth.
    pub priority: u32,
    /// Day by which it is due, counted from today as 1; an overdue job counts as due today. None: no due day.
    pub due_day: Option<i32>,
    /// Other wires that were accepted for it.
    pub alternates: Vec<Alternate>,
    /// Wires that might do but were not accepted: named when nothing else helps, never planned.
    pub possible_wires: Vec<String>,
    /// Coils being wound now, by spool. They stay where they are.
    pub started: BTreeMap<String, u32>,
    /// Winder's minutes for all coils still to be made.
    pub minutes: f64,
    /// All coils must come from one spool.
    pub matched_set: bool,
    /// The spool that the rest of a matched set must come from, if coils of it are finished already.
    pub only_from: Option<String>,
}

/// Wire of one coil in its three parts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Need {
    /// Wire of the winding itself.
    pub net: Length,
    /// Both tails together.
    pub tails: Length,
    /// Lost in threading and setting up.
    pub scrap: Length,
}

impl Need {
    /// Net, tails and scrap together.
    pub fn total(&self) -> Length {
        self.net + self.tails + self.scrap
    }
}

/// Another wire accepted for a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternate {
    /// The wire.
    pub wire: String,
    /// What its use takes off the job's worth.
    pub penalty: u32,
    /// Wire of one coil if it differs from the job's own.
    pub need: Option<Need>,
}

/// Coils of a job on a spool.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Assigned {
    /// The job.
    pub job: String,
    /// The wire it is made of.
    pub wire: String,
    /// The spool.
    pub spool: String,
    /// How many of its coils, started ones included.
    pub coils: u32,
}

/// One size of spool that a supplier sells.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Its name.
    pub id: String,
    /// The wire.
    pub wire: String,
    /// Length on a new spool and its standard uncertainty.
    pub left: Measured<Length>,
    /// Relative standard uncertainty of a draw from it.
    pub draw_doubt: f64,
    /// Price in the currency's smallest unit.
    pub price: u64,
    /// Days until it is here.
    pub lead_days: u32,
}

impl Spool {
    /// A spool of which only name, wire and what is left are told.
    pub fn new(id: &str, wire: &str, left: Measured<Length>) -> Spool {
        Spool {
            id: id.to_owned(),
            wire: wire.to_owned(),
            left,
            draw_doubt: 0.0,
            half_digit: Length::ZERO,
            held: false,
            promised: Length::ZERO,
            opened: true,
            age_days: 0,
            safe: None,
        }
    }

    /// The spool as the statistics see it.
    pub fn remaining(&self) -> Remaining {
        Remaining::new(self.left, self.draw_doubt).with_half_digit(self.half_digit)
    }

    /// Longest total that may be drawn at a confidence, whoever draws it; without one, what is left as it stands.
    pub fn safe_length(&self, confidence: Option<f64>) -> Length {
        match (self.safe, confidence) {
            (Some(set), _) => set,
            (None, Some(confidence)) => self.remaining().safe_length(confidence),
            (None, None) => self.left.value.max(Length::ZERO),
        }
    }
}

impl Job {
    /// A job of which only name, wire, coils, need and worth are told.
    pub fn new(id: &str, wire: &str, coils: u32, need: Need, priority: u32) -> Job {
        Job {
            id: id.to_owned(),
            wire: wire.to_owned(),
            coils,
            need,
            priority,
            due_day: None,
            alternates: Vec::new(),
            possible_wires: Vec::new(),
            started: BTreeMap::new(),
            minutes: 0.0,
            matched_set: false,
            only_from: None,
        }
    }

    /// Day by which it is due, counted from today as 1.
    pub fn due_by(&self) -> Option<i32> {
        self.due_day.map(|day| day.max(1))
    }

    /// Wire of one coil if it is made of `wire`; none if that wire was not accepted.
    pub fn need_on(&self, wire: &str) -> Option<Need> {
        if wire == self.wire {
            return Some(self.need);
        }
        self.alternates.iter().find(|a| a.wire == wire).map(|a| a.need.unwrap_or(self.need))
    }

    /// Worth of the job if it is made of `wire`; none if that wire was not accepted.
    pub fn worth_on(&self, wire: &str) -> Option<i64> {
        if wire == self.wire {
            return Some(i64::from(self.priority));
        }
        let alternate = self.alternates.iter().find(|a| a.wire == wire)?;
        Some(i64::from(self.priority) - i64::from(alternate.penalty))
    }

    /// Coils being wound now.
    pub fn started_coils(&self) -> u32 {
        self.started.values().sum()
    }
}

/// A question that makes no sense.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WrongQuestion {
    /// Two spools, jobs or offers share a name.
    #[error("{what} `{id}` is named twice")]
    NamedTwice {
        /// spool, job or offer
        what: &'static str,
        /// the name
        id: String,
    },
    /// A job has started coils on a spool that is not there.
    #[error("job `{job}` has started coils on spool `{spool}`, which is not on the shelf")]
    UnknownSpool {
        /// the job
        job: String,
        /// the spool
        spool: String,
    },
    /// More coils are started than the job still has.
    #[error("job `{job}` has {started} started coils of {coils}")]
    TooManyStarted {
        /// the job
        job: String,
        /// coils started
        started: u32,
        /// coils of the job
        coils: u32,
    },
    /// Started coils lie on a wire that the job does not accept, or on several.
    #[error("job `{job}` has started coils on wire `{wire}`: all coils of a job are of one accepted wire")]
    StartedOnOtherWire {
        /// the job
        job: String,
        /// the wire met
        wire: String,
    },
    /// A job has no coils, or a coil no length.
    #[error("job `{job}` needs nothing: {what}")]
    Nothing {
        /// the job
        job: String,
        /// what is zero
        what: &'static str,
    },
    /// A figure is not a number, or out of its range.
    #[error("{what} is {met}; allowed: {allowed}")]
    Figure {
        /// which figure
        what: String,
        /// what was met
        met: f64,
        /// what is allowed
        allowed: &'static str,
    },
}
