//! One group: decisions run one after the other on the state ahead, waiting for the same sync.

use super::request::{Done, NotDone, Outcome, Request, panic_text, tell};
use crate::clock::Clock;
use crate::fold::{Fold, looked};
use crate::index::KeyUse;
use crate::journal::{Head, MAX_LINE, fits, open_line};
use crate::past::Past;
use coilwright_shop::archive::Unreadable;
use coilwright_shop::entry::{ClockQuality, ENTRY_VERSION, Entry, Moment, Seq, Stamp};
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// What the group needs to know besides itself.
pub(super) trait Around<E> {
    fn clock(&self) -> &dyn Clock;
    /// What a key was used for in entries before this group.
    fn key_use(&self, key: &str) -> Option<KeyUse>;
    /// The outcome of the request that first used a key.
    fn first_outcome(&self, seq: Seq) -> Outcome<E>;
    /// All entries that are synced, and these.
    fn past<'a>(&'a self, queued: &'a [Entry]) -> Past<'a>;
}

/// A group being gathered.
pub(super) struct Group<S, E> {
    pub after: Head,
    pub ahead: S,
    pub highest: Option<Timestamp>,
    pub entries: Vec<Entry>,
    pub bytes: usize,
    pub waiting: Vec<(Request<S, E>, Verdict<E>)>,
    keys: BTreeMap<String, usize>,
}

/// What a request waits for.
pub(super) enum Verdict<E> {
    /// This entry of the group, its own or that of the request that used the key first.
    Entry { place: usize, replayed: bool },
    /// Nothing but the sync of the entries that the decision saw.
    OnAhead(Outcome<E>),
    /// Nothing: it rests on what is synced already.
    Settled(Outcome<E>),
}

impl<S: Fold, E> Group<S, E> {
    pub(super) fn new(after: Head, state: S, highest: Option<Timestamp>) -> Self {
        Self { after, ahead: state, highest, entries: Vec::new(), bytes: 0, waiting: Vec::new(), keys: BTreeMap::new() }
    }

    /// Decides a request and lets it wait.
    pub(super) fn take(&mut self, mut request: Request<S, E>, around: &dyn Around<E>) {
        let verdict = match self.by_key(&request, around) {
            Some(verdict) => verdict,
            None => self.decide(&mut request, around),
        };
        self.waiting.push((request, verdict));
    }

    /// The verdict on a request whose key is not new.
    fn by_key(&self, request: &Request<S, E>, around: &dyn Around<E>) -> Option<Verdict<E>> {
        let key = request.key.as_ref()?;
        if let Some(place) = self.keys.get(key).copied() {
            let first = self.entries.get(place)?;
            let same = first.method == request.method && first.asked == request.asked;
            let reused = NotDone::KeyReused { first_seq: first.seq };
            return Some(if same { Verdict::Entry { place, replayed: true } } else { Verdict::OnAhead(Err(reused)) });
        }
        let used = around.key_use(key)?;
        let same = used.digest == KeyUse::digest_of(&request.method, &request.asked);
        Some(Verdict::Settled(if same {
            around.first_outcome(used.seq)
        } else {
            Err(NotDone::KeyReused { first_seq: used.seq })
        }))
    }

    fn decide(&mut self, request: &mut Request<S, E>, around: &dyn Around<E>) -> Verdict<E> {
        let seq = self.after.seq + 1 + self.entries.len() as Seq;
        let stamp = self.stamp(around.clock());
        let moment = Moment { seq, stamp: stamp.clone(), who: request.who.clone() };
        let past = around.past(&self.entries);
        let failed = |why: String| Verdict::OnAhead(Err(NotDone::Failed(why)));
        // The state ahead is only looked at here, so a panic leaves nothing half-done.
        let ruled =
            catch_unwind(AssertUnwindSafe(|| looked(&self.ahead, &past, |state| (request.decide)(state, &moment))));
        let (decided, seen) = match ruled {
            Ok(Ok((Ok(decided), seen))) => (decided, seen),
            Ok(Ok((Err(refusal), _))) => return Verdict::OnAhead(Err(NotDone::Refused(refusal))),
            Ok(Err(Unreadable(why))) => return failed(why),
            Err(panic) => return failed(panic_text(panic.as_ref())),
        };
        if decided.facts.is_empty() {
            return Verdict::OnAhead(Ok(Done { seq: seq - 1, answer: decided.answer, replayed: false }));
        }
        let entry = Entry {
            seq,
            v: ENTRY_VERSION,
            group: self.after.seq + 1,
            stamp,
            who: request.who.clone(),
            method: request.method.clone(),
            key: request.key.clone(),
            asked: request.asked.clone(),
            facts: decided.facts,
            answer: decided.answer,
        };
        let bytes = match open_line(&entry) {
            Ok(open) if fits(&open) => open.len(),
            Ok(open) => {
                return Verdict::OnAhead(Err(NotDone::TooLarge { bytes: open.len(), allowed: MAX_LINE }));
            }
            Err(e) => return failed(e.to_string()),
        };
        let applied = catch_unwind(AssertUnwindSafe(|| {
            // With what was fetched for the decision: its facts are about the same things.
            let mut next = seen;
            next.apply(&entry, &past).map(|()| next)
        }));
        match applied {
            Ok(Ok(next)) => self.ahead = next,
            Ok(Err(Unreadable(why))) => return failed(why),
            Err(panic) => return failed(panic_text(panic.as_ref())),
        }
        self.highest = Some(self.highest.map_or(entry.stamp.at, |highest| highest.max(entry.stamp.at)));
        self.bytes += bytes;
        let place = self.entries.len();
        if let Some(key) = &entry.key {
            self.keys.insert(key.clone(), place);
        }
        self.entries.push(entry);
        Verdict::Entry { place, replayed: false }
    }

    fn stamp(&self, clock: &dyn Clock) -> Stamp {
        let at = clock.now();
        // Against the latest of all, not only the entry before: after a clock lost its time the second wrong entry is
        // as wrong as the first.
        let back = self.highest.is_some_and(|highest| at < highest);
        let quality = if back { ClockQuality::WentBack } else { ClockQuality::Plausible };
        Stamp { at, quality, boot: clock.boot().to_owned(), mono_ms: clock.mono_ms() }
    }

    /// Tells every request what became of it; `failed` if the group is not surely on the disk.
    pub(super) fn answer(self, failed: Option<&dyn Fn(bool) -> NotDone<E>>) -> Vec<Entry> {
        for (request, verdict) in self.waiting {
            let outcome = match (verdict, failed) {
                (Verdict::Settled(outcome), _) => outcome,
                (Verdict::OnAhead(outcome), None) => outcome,
                (Verdict::Entry { place, replayed }, None) => match self.entries.get(place) {
                    Some(entry) => Ok(Done { seq: entry.seq, answer: entry.answer.clone(), replayed }),
                    None => Err(NotDone::Failed("its entry is missing from its group".to_owned())),
                },
                (Verdict::OnAhead(_), Some(why)) => Err(why(false)),
                (Verdict::Entry { .. }, Some(why)) => Err(why(true)),
            };
            tell(request.reply, outcome);
        }
        self.entries
    }
}
