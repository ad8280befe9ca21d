//! `spool.yields` and `job.batch`: what can still be made of a spool, and what n good coils take.

use crate::coil::{CoilDesign, FindingAnswer};
use crate::money::Money;
use crate::quantity::{Figure, G, M, Setting};
use crate::shape::{asks, method, tells};
use crate::spool::EnoughWord;

asks! {
    /// Asks what can still be made of a spool.
    SpoolYields {
        /// The spool.
        spool: String,
    } may {}
}
method!(SpoolYields => SpoolYieldsAnswer, "spool.yields", "Says what can still be made of a spool: waiting jobs and usual coils, each with its probability.", leading: ["spool"]);

tells! {
    /// What can still be made of a spool.
    SpoolYieldsAnswer {
        /// The spool.
        spool: String,
        /// The wire on it: an id of the catalog, or its label.
        wire: String,
        /// What is left.
        left_m: Figure<M>,
        /// Sum of all promises on it.
        held_m: Setting<M>,
        /// What can still be promised with the shop's confidence.
        free_m: Setting<M>,
        /// Waiting jobs that take this wire, the most urgent first; then the usual coils, the longest first.
        items: Vec<YieldItem>,
        /// All of it in one sentence.
        sentence: String,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {}
}

tells! {
    /// A coil that could be made of it.
    YieldItem {
        /// `job` or `usual_coil`.
        kind: String,
        /// What it is, in words.
        title: String,
        /// Wire that one coil needs.
        need_m: Setting<M>,
        /// Whole coils by the best estimate, beside what is promised to others.
        coils_expected: usize,
        /// Whole coils with the shop's confidence.
        coils_safe: usize,
        /// Probability that one coil comes out of it.
        probability: f64,
        /// The word for that.
        word: EnoughWord,
    } may {
        /// The job.
        job: String,
        /// Coils that the job still lacks.
        wanted: u32,
        /// Probability that all of those come out of this one spool.
        probability_all: f64,
        /// When it is promised.
        due_on: String,
        /// Set where the job is planned in another wire and accepts this one: how unwelcome it is.
        penalty: f64,
        /// Set where the job's own design keeps it from being wound: why.
        stopped_by: String,
    }
}

asks! {
    /// Asks what so many good coils take.
    JobBatch {
        /// Good coils wanted.
        good: u32,
    } may {
        /// The job whose coil it is.
        job: String,
        /// Or the coil, as for `coil.design`.
        coil: CoilDesign,
        /// Share of starts that is scrapped; the shop's own if left out.
        scrap_pct: f64,
        /// Probability of n good ones that the number of starts must have; the shop's confidence if left out.
        confidence: f64,
        /// Only these spools; all of this wire in stock if left out.
        spools: Vec<String>,
        /// Wire lost once by putting a spool up, besides what every coil takes; 0 if left out.
        once_per_spool_m: Setting<M>,
        /// How far all draws from a spool may be off by one common factor; the shop's own if left out.
        draw_doubt_pct: f64,
        /// The coils must match: all starts from one spool.
        matched: bool,
    }
}
method!(JobBatch => JobBatchAnswer, "job.batch", "Says how many starts n good coils take, how many the part spools hold, and what to buy.", leading: ["good"]);

tells! {
    /// What a batch takes and what is there.
    JobBatchAnswer {
        /// Good coils wanted.
        good: u32,
        /// The wire: an id of the catalog, or its label.
        wire: String,
        /// Share of starts that is scrapped.
        scrap_pct: f64,
        /// Where that share comes from.
        scrap_origin: String,
        /// Wire of one start, tails and threading included.
        each_m: Figure<M>,
        /// Wire lost once by putting a spool up.
        once_per_spool_m: Setting<M>,
        /// Adhesive of one coil.
        adhesive_g: Figure<G>,
        /// Probability of so many good ones that was asked for.
        confidence: f64,
        /// Starts to provide for.
        starts: usize,
        /// From as many starts as good coils upward: how likely they are enough.
        by_starts: Vec<StartsItem>,
        /// The spools, the fullest first.
        spools: Vec<BatchSpool>,
        /// Starts in all of them by their best estimates.
        starts_expected: usize,
        /// Starts in all of them, each with the shop's confidence.
        starts_safe: usize,
        /// Probability that they hold as many starts as good coils are wanted.
        p_starts: f64,
        /// Probability that so many good coils come from these spools.
        p_good: f64,
        /// Wire that would be left over as ends if all of it were wound, by the best estimates.
        ends_m: Setting<M>,
        /// What was noticed.
        findings: Vec<FindingAnswer>,
        /// All of it in one sentence.
        sentence: String,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// For coils that must match: the spool that holds all starts, or comes nearest.
        one_spool: OneSpool,
        /// What is missing, where it is.
        buy: BatchBuy,
    }
}

tells! {
    /// How likely so many starts are enough.
    StartsItem {
        /// Starts.
        starts: usize,
        /// Probability that enough of them come out good.
        p_good: f64,
    } may {}
}

tells! {
    /// A spool and the starts in it.
    BatchSpool {
        /// The spool.
        spool: String,
        /// What is left on it beside what is promised.
        left_m: Figure<M>,
        /// Starts by its best estimate.
        starts_expected: usize,
        /// Starts with the shop's confidence.
        starts_safe: usize,
        /// What would be left of it after those it is expected to give.
        end_m: Setting<M>,
    } may {}
}

tells! {
    /// The spool for coils that must match.
    OneSpool {
        /// The spool.
        spool: String,
        /// Probability that it holds all starts.
        probability: f64,
        /// The word for that.
        word: EnoughWord,
    } may {}
}

tells! {
    /// What is missing for the starts, on one spool.
    BatchBuy {
        /// Starts that are missing.
        starts: usize,
        /// Wire that a new spool must hold for them.
        need_m: Setting<M>,
        /// The same as mass of wire.
        need_g: Setting<G>,
        /// What suppliers offer that holds it, the cheapest first.
        offers: Vec<BatchOffer>,
    } may {}
}

tells! {
    /// An offer that holds what is missing.
    BatchOffer {
        /// Its id.
        offer: String,
        /// Who offers it.
        supplier: String,
        /// Spools to order.
        spools: usize,
        /// Starts in them with the shop's confidence.
        starts: usize,
        /// Price of all of them.
        price: Money,
        /// Days from order to shelf, usually.
        lead_days: u32,
    } may {}
}
