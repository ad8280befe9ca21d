//! The store as the daemon opens it: decision, hash, chain and index included.

use crate::grouped::ASKED;
use crate::{Kept, Outcome};
use coilwright_shop::entry::{Decided, Entry};
use coilwright_shop::fact::{AlertSeen, Fact};
use coilwright_store::{Archive, Fold, Options, Request, Store, Unreadable};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

/// Counts entries: what is measured is the way to the disk.
#[derive(Clone, Default)]
struct Count(u64);

impl Fold for Count {
    fn apply(&mut self, _: &Entry, _: &dyn Archive) -> Result<(), Unreadable> {
        self.0 += 1;
        Ok(())
    }
}

pub struct OwnStore {
    store: Store<Count, String>,
}

impl OwnStore {
    pub fn open(folder: &Path) -> Outcome<OwnStore> {
        let options = Options::new(|entry| vec![format!("s-{}", entry.seq % 30)])?;
        let (store, _) = Store::<Count, String>::open(folder, options)?;
        Ok(OwnStore { store })
    }

    /// A line of the journal, with its end.
    pub fn a_line(&self) -> Outcome<Vec<u8>> {
        self.store.ask(request("first".into())).map_err(|e| e.to_string())?;
        let lines = self.store.read(0, 1)?;
        let mut line = lines.first().ok_or("no line")?.bytes.clone();
        line.push(b'\n');
        Ok(line)
    }
}

impl Kept for OwnStore {
    fn name(&self) -> String {
        "the store".into()
    }
    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        let (store, before, done) = (&self.store, self.store.state().head.seq, AtomicU64::new(0));
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
        Ok(done.into_inner())
    }
    fn count(&mut self) -> Outcome<u64> {
        let verified = self.store.verify();
        if !verified.ok {
            return Err(format!("the journal does not verify: {:?}", verified.findings).into());
        }
        // The first line was made to see its length.
        Ok(self.store.state().head.seq - 1)
    }
}

fn request(key: String) -> Request<Count, String> {
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
