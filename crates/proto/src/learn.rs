//! `learn.*`: what the shop's own coils have taught, with intervals; frozen, thawed, forgotten.

use crate::quantity::{Figure, Min, Mm, One, Setting};
use crate::shape::{asks, method, tells};

asks! {
    /// Asks what the shop's own coils have taught.
    LearnShow {} may {
        /// Only resistance of this wire.
        wire: String,
        /// Only resistance on this mandrel.
        mandrel_mm: Setting<Mm>,
        /// Only resistance of this winder.
        winder: String,
    }
}
method!(LearnShow => LearnShown, "learn.show", "Shows what the shop's own coils have taught: each figure with its interval, and the coils that lie off.");

tells! {
    /// What the shop's own coils have taught.
    LearnShown {
        /// Whether it is used: `shop.set` with `learning` switches it.
        on: bool,
        /// Whether new coils are kept from moving it.
        frozen: bool,
        /// Measured over planned resistance by wire, mandrel and winder. The plan is by first values: 1 means that they hold.
        ratios: Vec<LearnedRatio>,
        /// How far one coil lies from the figure of its winder, as standard deviation, over all coils of the shop.
        scatter: f64,
        /// The other figures that go into a design, and metres drawn over metres planned, which does not.
        figures: Vec<LearnedFigure>,
        /// How many coils are scrapped.
        scrap: LearnedScrap,
        /// How long the steps take.
        minutes: Vec<LearnedMinutes>,
        /// Coils that lay off what was expected, the newest first, 50 at most.
        outliers: Vec<Outlier>,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// The entry that froze it.
        frozen_since: u64,
    }
}

tells! {
    /// Measured over planned resistance of one winder on one mandrel with one wire.
    LearnedRatio {
        /// The wire.
        wire: String,
        /// Who wound; empty where it was not noted.
        winder: String,
        /// Coils.
        coils: u64,
        /// Their mean.
        mean: f64,
        /// The figure that planning takes: the mean, drawn towards what is known of this wire elsewhere, and towards 1.
        learned: Figure<One>,
        /// Share of these coils in that figure, 0 to 1.
        weight: f64,
        /// The next coil lies in here in 95 of 100 cases.
        next: Interval,
    } may {
        /// The mandrel, where it was noted.
        mandrel_mm: Setting<Mm>,
        /// Standard deviation of the coils.
        deviation: f64,
        /// The next coil lies within this of the mean in 95 of 100 cases, by these coils alone.
        next_alone: f64,
    }
}

tells! {
    /// From where to where.
    Interval {
        /// From.
        min: f64,
        /// To.
        max: f64,
    } may {}
}

tells! {
    /// A figure that coils teach.
    LearnedFigure {
        /// `pitch_factor`, `nesting`, `elongation_pct`, `threading_m` or `metres_ratio`.
        name: String,
        /// Coils that taught it.
        coils: u64,
        /// Before any coil.
        first: Figure<One>,
        /// Now.
        learned: Figure<One>,
        /// Share of the shop's own coils in it, 0 to 1.
        weight: f64,
    } may {
        /// Mean of the coils alone.
        mean: f64,
        /// The next coil lies in here in 95 of 100 cases.
        next: Interval,
    }
}

tells! {
    /// How many coils are scrapped.
    LearnedScrap {
        /// Coils recorded.
        recorded: u64,
        /// Of these, scrapped.
        scrapped: u64,
        /// Expected before any coil.
        first_pct: f64,
        /// To be expected of the next.
        rate_pct: f64,
        /// The shop's rate is above this in 97.5 of 100 cases.
        min_pct: f64,
        /// The shop's rate is below this in 97.5 of 100 cases.
        max_pct: f64,
    } may {}
}

tells! {
    /// How long a step takes.
    LearnedMinutes {
        /// `wound`, `trimmed`, `cured` or `tested`.
        step: String,
        /// Coils of which it was noted.
        coils: u64,
        /// Half of them take longer.
        usual_min: Setting<Min>,
        /// The next one takes as long as this in 95 of 100 cases.
        next: Interval,
    } may {}
}

tells! {
    /// A coil that lay off what was expected.
    Outlier {
        /// The job.
        job: String,
        /// The coil.
        coil_no: u32,
        /// Its wire.
        wire: String,
        /// Measured over planned resistance.
        ratio: f64,
        /// What that was expected to be.
        expected: Figure<One>,
        /// Why, most likely.
        cause: String,
        /// Whether its resistance was learned from all the same.
        learned_from: bool,
    } may {}
}

asks! {
    /// New coils no longer move planned figures, or do again.
    LearnFreeze {} may {
        /// `false` thaws: coils recorded meanwhile count again. `true` if left out.
        frozen: bool,
        /// Why, in words.
        reason: String,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(LearnFreeze => LearnChanged, "learn.freeze", "Keeps new coils from moving planned figures, or lets them again.", writes: true);

asks! {
    /// What coils taught so far is forgotten: all, or of one wire, mandrel or winder.
    LearnReset {
        /// Why, in words.
        reason: String,
    } may {
        /// Only coils of this wire.
        wire: String,
        /// Only coils on this mandrel.
        mandrel_mm: Setting<Mm>,
        /// Only coils of this winder.
        winder: String,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(LearnReset => LearnChanged, "learn.reset", "Forgets what coils taught so far; undoing the entry brings it back.", writes: true, leading: ["reason"]);

tells! {
    /// Learning after it was changed.
    LearnChanged {
        /// Whether it is frozen.
        frozen: bool,
        /// Coils whose resistance is learned from now.
        coils: u64,
        /// The entry in the journal.
        seq: u64,
    } may {}
}
