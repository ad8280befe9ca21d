//! `job.list`: the jobs, a page at a time.

use super::JobStatus;
use crate::quantity::{Figure, M};
use crate::shape::{asks, method, tells};

asks! {
    /// Asks for the jobs.
    JobList {} may {
        /// Ended ones too.
        ended: bool,
        /// At most so many; 100 if left out, 1000 at most.
        limit: u32,
        /// Goes on where an earlier answer's `next_cursor` left off.
        cursor: String,
    }
}
method!(JobList => JobListAnswer, "job.list", "Lists the jobs.");

tells! {
    /// The jobs, in order of their ids.
    JobListAnswer {
        /// The jobs.
        items: Vec<JobItem>,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// Where to go on.
        next_cursor: String,
    }
}

tells! {
    /// A job in a list.
    JobItem {
        /// Its id.
        job: String,
        /// What it is.
        title: String,
        /// Where it stands.
        status: JobStatus,
        /// Good coils wanted.
        coils: u32,
        /// Good ones so far.
        good: u32,
        /// Scrapped ones so far.
        scrapped: u32,
        /// The wire it is planned in.
        wire: String,
        /// Wire that one coil needs.
        need_m: Figure<M>,
        /// 1 to 9, 9 first.
        priority: u8,
        /// Its revision.
        rev: u64,
    } may {
        /// When it is promised.
        due_on: String,
    }
}
