//! What the planner answers: a plan with its proof, its risk and the reason for every refusal.

use crate::question::Assigned;
use crate::why::Chosen;
use coilwright_core::enough::Word;
use coilwright_core::quantity::Length;

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Worth of all jobs in the plan: the first goal.
    pub value: i64,
    /// No plan that keeps the promise is worth more.
    pub bound: i64,
    /// `(bound − value) / bound`; 0 if the bound is 0.
    pub gap: f64,
    /// What is proved about the value. Nothing is claimed about the later goals.
    pub proof: Proof,
    /// Risk that any spool of the plan runs short.
    pub risk: Risk,
    /// Coils on spools, by job, then spool; started coils of finished jobs included.
    pub assign: Vec<Assigned>,
    /// Why each of them lies where it lies, in the same order; empty if no reasons were asked for.
    pub chosen: Vec<Chosen>,
    /// Jobs left out, in the order of the question, each with its reason.
    pub refused: Vec<Refused>,
    /// Every spool of the question, in its order.
    pub spools: Vec<SpoolUse>,
    /// Expected length of useless ends: what is left on touched spools, where shorter than the smallest usual coil.
    pub stranded: Length,
    /// Spools that carry coils.
    pub touched: usize,
    /// Job and spool pairs that differ from the plan in force, for jobs that it holds.
    pub changes: usize,
    /// Cheapest purchase that lets all jobs be done which are refused and could be bought for.
    pub purchase: Option<Purchase>,
    /// Rounds of improvement run.
    pub rounds: u32,
    /// The caller asked to stop before all was done; the plan is valid all the same.
    pub stopped_early: bool,
}

/// What is proved about a plan's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proof {
    /// No plan that keeps the promise is worth more.
    Optimal,
    /// No plan in which every spool keeps the safety factor `z` is worth more; one that shares the risk out unevenly
    /// might be.
    OptimalAtFactor {
        /// The safety factor: safe length = mean − z · uncertainty.
        z: f64,
    },
    /// Within the gap.
    Gap,
}

impl Proof {
    /// The kind as written on the wire.
    pub fn as_str(&self) -> &'static str {
        match self {
            Proof::Optimal => "optimal",
            Proof::OptimalAtFactor { .. } => "optimal_at_factor",
            Proof::Gap => "gap",
        }
    }
}

/// The risk of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Risk {
    /// What the shop allows. None: it takes lengths as they stand.
    pub promised: Option<f64>,
    /// Probability that any spool with coils on it runs short, started coils included.
    pub computed: f64,
    /// Spools whose started coils alone break the promise. No plan can help them: they get nothing more, and `computed`
    /// may exceed `promised` for their sake.
    pub beyond_help: Vec<String>,
}

/// One spool under the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SpoolUse {
    /// The spool.
    pub spool: String,
    /// Its wire.
    pub wire: String,
    /// Longest total that is safe for the plan, promised length included.
    pub safe: Length,
    /// What the plan draws, started coils included.
    pub used: Length,
    /// What is expected to be left then, what is promised to others taken off.
    pub end: Length,
    /// What of that end can be made into the smallest usual coil, safely: the outlook's figure for after the plan.
    pub usable: Length,
    /// That end is shorter than the smallest usual coil and the spool is touched.
    pub useless_end: bool,
    /// The word for what the plan draws and what is promised.
    pub word: Word,
    /// The probability behind the word.
    pub probability: f64,
}

/// A job left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// The job.
    pub job: String,
    /// The wire it was designed for.
    pub wire: String,
    /// The first thing that stands in its way.
    pub reason: Reason,
    /// What would let it be done, the rest of the plan as it is, cheapest first.
    pub unlock: Vec<Unlock>,
}

/// Why a job is left out: the first rung of a fixed ladder of conditions at which it stops fitting.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// No spool is as long as one coil; lengths are never joined.
    NoContinuousLength {
        /// Longest spool (mean).
        longest: Length,
        /// One coil.
        needed: Length,
        /// What the longest spool lacks.
        shortfall: Length,
    },
    /// One coil fits without its tails and scrap, not with them.
    Tails {
        /// Longest spool (mean).
        longest: Length,
        /// One coil.
        needed: Length,
        /// One coil without tails and scrap.
        net: Length,
    },
    /// Some coils fit, not all.
    NotEnoughCoils {
        /// Coils that fit.
        possible: u32,
        /// Coils to be made.
        needed: u32,
        /// Least length by which one of the spools is too short to give the lacking coils too.
        shortfall: Length,
        /// The lacking coils end to end: what one further piece would have to hold, any safety on top.
        piece: Length,
        /// Without tails and scrap all would fit.
        tails_tip_it: bool,
    },
    /// All coils fit the mean lengths, not those that are safe.
    Risk {
        /// The spool nearest to being safe.
        spool: String,
        /// Probability that it runs short of what the job would draw from it.
        p_short: f64,
        /// What the shop allows the whole plan.
        allowed: f64,
    },
    /// It would fit if something held or promised were free.
    Held {
        /// The spools concerned.
        spools: Vec<String>,
        /// Coils that fit as it is.
        fit: u32,
        /// Coils to be made.
        needed: u32,
    },
    /// It would fit if started coils were not there.
    DisplacedByFrozen {
        /// Jobs with started coils in the way.
        by: Vec<String>,
        /// Coils that fit beside those.
        fit: u32,
        /// Coils to be made, begun ones not among them.
        needed: u32,
    },
    /// Others are worth more.
    Displaced {
        /// Jobs that it would push out.
        by: Vec<String>,
        /// What the plan would lose by it on balance.
        value_lost: i64,
    },
    /// So many jobs are left out that for this one only this was found: the plan leaves it too little wire.
    Taken {
        /// Coils that fit beside the plan.
        fit: u32,
        /// Coils to be made.
        needed: u32,
        /// Longest piece that is safely free beside the plan.
        longest: Length,
    },
    /// The winder has not the time.
    NoTime {
        /// Day up to which there is too little time.
        day: i32,
        /// Minutes that the job takes.
        minutes: f64,
        /// Minutes that are free up to that day.
        free: f64,
    },
    /// It fits if more of the plan is changed than a repair changes: a new plan would do it.
    NewPlan {
        /// What the plan would gain.
        gain: i64,
        /// Job and spool pairs of the plan in force that would change.
        changes: usize,
    },
    /// It fits, but the whole plan would be riskier than promised.
    PlanRisk {
        /// Risk of the plan with it.
        with_it: f64,
        /// What the shop allows.
        allowed: f64,
    },
}

impl Reason {
    /// The reason as written on the wire.
    pub fn as_str(&self) -> &'static str {
        match self {
            Reason::NoContinuousLength { .. } => "no_continuous_length",
            Reason::Tails { .. } => "tails",
            Reason::NotEnoughCoils { .. } => "not_enough_coils",
            Reason::Risk { .. } => "risk",
            Reason::Held { .. } => "held",
            Reason::DisplacedByFrozen { .. } => "displaced_by_frozen",
            Reason::Displaced { .. } | Reason::Taken { .. } => "displaced",
            Reason::NoTime { .. } => "no_time",
            Reason::NewPlan { .. } => "new_plan",
            Reason::PlanRisk { .. } => "plan_risk",
        }
    }
}

/// Something that would let a refused job be done.
#[derive(Debug, Clone, PartialEq)]
pub enum Unlock {
    /// Weigh a spool again, more finely: if its mean stays and its uncertainty falls to this, the job fits.
    Reweigh {
        /// The spool.
        spool: String,
        /// Standard uncertainty of the length left that is needed.
        u_needed: Length,
        /// What it is now.
        u_now: Length,
    },
    /// Release what is held or promised on these spools.
    Release {
        /// The spools.
        spools: Vec<String>,
    },
    /// Accept another wire that is there.
    OtherWire {
        /// The wire.
        wire: String,
    },
    /// Buy.
    Buy(Purchase),
}

/// Spools to buy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Purchase {
    /// What and how many of each.
    pub lines: Vec<PurchaseLine>,
    /// Price of all, in the currency's smallest unit.
    pub cost: u64,
    /// Days until the last is here.
    pub lead_days: u32,
    /// Whether everything cheaper was tried and did not do; otherwise something cheaper may do as well.
    pub all_cheaper_tried: bool,
    /// Jobs that can be done then and could not before.
    pub jobs: Vec<String>,
    /// The wire that each of them is made of then, in the same order.
    pub made_of: Vec<String>,
}

/// One line of a purchase.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PurchaseLine {
    /// The offer.
    pub offer: String,
    /// How many spools.
    pub count: u32,
}
