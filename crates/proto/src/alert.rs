//! `alert.*`: what somebody should look at, derived; and that somebody did.

use crate::shape::{asks, method, tells};

asks! {
    /// Asks what somebody should look at.
    AlertList {} may {
        /// Only of this kind: `spool_short`, `job_at_risk`, `tare_doubtful`, `not_weighed` or `stranded_end`.
        kind: String,
        /// Only those that nobody has seen.
        unseen: bool,
        /// As on this date; today if left out.
        as_of: String,
        /// At most so many; 100 if left out, 1000 at most.
        limit: u32,
    }
}
method!(AlertList => AlertListAnswer, "alert.list", "Lists what somebody should look at: spools short, jobs at risk, doubtful tares, stranded ends.");

tells! {
    /// Unseen before seen, the most pressing kinds first.
    AlertListAnswer {
        /// The alerts.
        items: Vec<AlertItem>,
        /// How many there are of what was asked for, shown here or not.
        all: usize,
        /// How many of those nobody has seen.
        unseen: usize,
        /// The day they stand on.
        as_of: String,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {}
}

tells! {
    /// Something to look at.
    AlertItem {
        /// Its id: the same as long as nothing it rests on changes.
        alert: String,
        /// `spool_short`, `job_at_risk`, `tare_doubtful`, `not_weighed` or `stranded_end`.
        kind: String,
        /// One sentence with figures.
        text: String,
        /// What to do.
        next_step: String,
        /// Whether somebody has seen it.
        seen: bool,
    } may {
        /// The spool.
        spool: String,
        /// The job.
        job: String,
        /// The entry in which somebody saw it.
        seen_seq: u64,
    }
}

asks! {
    /// Somebody has seen an alert.
    AlertSeen {
        /// Its id.
        alert: String,
    } may {
        /// The date it stands on; today if left out.
        as_of: String,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(AlertSeen => AlertSeenAnswer, "alert.seen", "Notes that an alert was seen.", writes: true, leading: ["alert"]);

tells! {
    /// It is noted.
    AlertSeenAnswer {
        /// Its id.
        alert: String,
        /// How many alerts nobody has seen yet.
        unseen: usize,
        /// The entry in the journal.
        seq: u64,
    } may {}
}
