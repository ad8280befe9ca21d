//! Threads that ask, and one that commits whatever waits: the same grouping before every database.

use crate::own::ASKED;
use crate::{Kept, Outcome};
use coilwright_shop::entry::{ClockQuality, Entry, Stamp};
use coilwright_shop::fact::{AlertSeen, Fact};
use sha2::{Digest, Sha256};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::time::Instant;

/// What the databases do.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Keep a line that is ready.
    LinesOnly,
    /// What the store does: make the line of an entry, chain it by its hash, refuse a key used before, find entries by what
    /// they are about.
    Same,
}

/// What is kept of a request.
pub struct Row {
    pub line: Vec<u8>,
    pub key: String,
    pub subject: String,
}

/// Commits a group of rows as one.
pub trait Keeper: Send {
    fn name(&self) -> String;
    /// Keeps them, numbered on; they lie on the disk when it returns.
    fn commit(&mut self, group: &[Row]) -> Outcome<()>;
    fn count(&mut self) -> Outcome<u64>;
}

/// A keeper behind one thread that gathers.
pub struct Grouped {
    keeper: Box<dyn Keeper>,
    work: Work,
    line: Vec<u8>,
    seq: u64,
    prev: String,
}

impl Grouped {
    pub fn new(keeper: Box<dyn Keeper>, work: Work, line: Vec<u8>) -> Grouped {
        Grouped { keeper, work, line, seq: 0, prev: "0".repeat(64) }
    }

    fn row(&mut self, key: String, group: u64) -> Outcome<Row> {
        self.seq += 1;
        let subject = format!("s-{}", self.seq % 30);
        if self.work == Work::LinesOnly {
            return Ok(Row { line: self.line.clone(), key, subject });
        }
        let at = jiff::Timestamp::now();
        let entry = Entry {
            seq: self.seq,
            v: 1,
            group,
            stamp: Stamp { at, quality: ClockQuality::Plausible, boot: "0123456789abcdef".into(), mono_ms: self.seq },
            who: "bench".into(),
            method: "spool.weigh".into(),
            key: Some(key.clone()),
            asked: ASKED.into(),
            facts: vec![Fact::AlertSeen(AlertSeen { alert: format!("spool {subject} weighed") })],
            answer: serde_json::json!({"seq": self.seq, "left_m": {"value": 101.25, "u": 0.5}}),
        };
        let mut line = serde_json::to_vec(&entry)?;
        line.pop();
        line.extend_from_slice(format!(",\"prev\":\"{}\"", self.prev).as_bytes());
        self.prev = Sha256::digest(&line).iter().map(|b| format!("{b:02x}")).collect();
        line.extend_from_slice(format!(",\"hash\":\"{}\"}}\n", self.prev).as_bytes());
        Ok(Row { line, key, subject })
    }
}

impl Kept for Grouped {
    fn name(&self) -> String {
        self.keeper.name()
    }

    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        let (ask, asked) = channel::<(String, Sender<()>)>();
        let (before, done) = (self.seq, AtomicU64::new(0));
        std::thread::scope(|scope| {
            for one in 0..asking {
                let (ask, done) = (ask.clone(), &done);
                scope.spawn(move || {
                    let (say, said) = channel();
                    let mut number = 0u64;
                    while Instant::now() < until {
                        number += 1;
                        if ask.send((format!("{before}-{one}-{number}"), say.clone())).is_err() || said.recv().is_err()
                        {
                            break;
                        }
                        done.fetch_add(1, Ordering::Relaxed);
                    }
                });
            }
            drop(ask);
            while let Ok((key, say)) = asked.recv() {
                let first = self.seq + 1;
                let mut tell = vec![say];
                let mut group = vec![self.row(key, first).map_err(|e| e.to_string())?];
                for (key, say) in asked.try_iter() {
                    group.push(self.row(key, first).map_err(|e| e.to_string())?);
                    tell.push(say);
                }
                self.keeper.commit(&group).map_err(|e| e.to_string())?;
                for say in tell {
                    let _ = say.send(());
                }
            }
            Ok::<(), String>(())
        })?;
        Ok(done.into_inner())
    }

    fn count(&mut self) -> Outcome<u64> {
        self.keeper.count()
    }
}
