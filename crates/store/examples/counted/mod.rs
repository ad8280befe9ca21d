//! A store that only counts its entries, and threads that ask it: what `commit_rate` and `tests/bench/databases` measure.

use coilwright_shop::entry::{Decided, Entry};
use coilwright_shop::fact::{AlertSeen, Fact};
use coilwright_store::{Archive, Fold, Request, Store, Unreadable};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

/// A digest, as every entry holds one of what was asked.
pub const ASKED: &str = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08";

/// Counts entries: the fold costs nothing here, the way to the disk is measured.
#[derive(Clone, Default)]
pub struct Count(u64);

impl Fold for Count {
    fn apply(&mut self, _: &Entry, _: &dyn Archive) -> Result<(), Unreadable> {
        self.0 += 1;
        Ok(())
    }
}

/// An entry of usual length.
pub fn request(key: String) -> Request<Count, String> {
    Request {
        method: "spool.weigh".to_owned(),
        who: "bench".to_owned(),
        asked: ASKED.to_owned(),
        key: Some(key),
        decide: Box::new(|count: &Count, moment| {
            let alert = format!("spool s-{} weighed", count.0 % 30);
            let answer = serde_json::json!({"seq": moment.seq, "left_m": {"value": 101.25, "u": 0.5}});
            Ok(Decided { facts: vec![Fact::AlertSeen(AlertSeen { alert })], answer })
        }),
        reply: Box::new(|_| {}),
    }
}

/// So many threads ask, each again as soon as it is answered, until that time; how many entries were acknowledged.
pub fn ask_until(store: &Store<Count, String>, asking: usize, until: Instant) -> u64 {
    let (before, done) = (store.state().head.seq, AtomicU64::new(0));
    std::thread::scope(|scope| {
        for one in 0..asking {
            let done = &done;
            scope.spawn(move || {
                let mut number = 0u64;
                while Instant::now() < until {
                    number += 1;
                    if store.ask(request(format!("{before}-{one}-{number}"))).is_ok() {
                        done.fetch_add(1, Ordering::Relaxed);
                    }
                }
            });
        }
    });
    done.into_inner()
}
