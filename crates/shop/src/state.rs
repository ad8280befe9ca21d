//! The state: what all facts add up to, as far as it still matters. Cheap to clone, safe to share, and the same for the
//! same entries, bit for bit.
//!
//! # What is kept
//!
//! Spools in use, jobs not ended, and the shop's own figures. A spool that is retired and a job that has ended are *at
//! rest*: they are left in the [`Archive`](crate::archive::Archive) and put together again from their facts when somebody
//! asks for them. So the state grows with the shop, not with its history.
//!
//! # How a thing at rest is looked at
//!
//! [`State::watched`] gives a copy that notes what it was asked for and does not keep; [`State::recall_wanted`] fetches
//! that, and whatever asked is asked again. A decision therefore stays a pure function of the state that it was given,
//! and need not say beforehand what it will look at. Anything decided while something was wanted is thrown away.
//!
//! # How undoing works
//!
//! A fact is about one thing. Undoing an entry fetches all that happened to the few things it touched and folds them once
//! more, from their first fact, without the entry's. So the state after an undo *is* the state without the entry, by
//! construction; an inverse for every fact would have to be proved for each (and a least squares estimate has none).
//!
//! What an undo does not give back: ids (a number given once is never given to another thing) and revisions (a thing
//! touched by an undo was changed by it, so that a stale `if_rev` is noticed).

mod adding;
mod lots;
mod recalling;

use crate::entry::Seq;
use crate::fact::{Fact, PlanAccepted, Subject};
use crate::figures::Figures;
use crate::id::{HoldId, JobId, SpoolId};
use crate::job::Job;
use crate::learning::{Learnt, Lessons, Rules};
use crate::recall::{Aside, Wanted};
use crate::spool::{Hold, Spool};
use rpds::RedBlackTreeMapSync;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What the shop remembers without looking it up.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    seq: Seq,
    last_spool: u64,
    last_job: u64,
    last_hold: u64,
    spools: RedBlackTreeMapSync<SpoolId, Spool>,
    jobs: RedBlackTreeMapSync<JobId, Job>,
    shop: Arc<Shop>,
    /// Entries that were undone, and by which, each unless itself undone.
    undone_by: RedBlackTreeMapSync<Seq, Vec<Seq>>,
    /// Entries that undo, and which.
    undoes: RedBlackTreeMapSync<Seq, Vec<Seq>>,
    /// What all coils taught, those of ended jobs too.
    learnt: Arc<Learnt>,
    /// What spools tell of their lots, retired ones too.
    #[serde(default)]
    lots: lots::Lots,
    #[serde(skip)]
    aside: Aside,
}

/// What is remembered of the shop as a whole.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Shop {
    /// What the shop decides by.
    pub figures: Figures,
    /// The plan it goes by, with the entry that accepted it.
    pub plan: Option<(Seq, PlanAccepted)>,
    /// Alerts that somebody has seen, and in which entry.
    pub seen: BTreeMap<String, Seq>,
    /// Which coils count for learning.
    #[serde(default)]
    pub learning: Rules,
}

/// An undoing can be undone, that not once more: undo the first entry again instead.
pub(crate) const DEEPEST_UNDO: u32 = 2;

impl State {
    /// The last entry added; 0 if none was.
    pub fn seq(&self) -> Seq {
        self.seq
    }

    /// A spool; of a retired one see "How a thing at rest is looked at".
    pub fn spool(&self, id: SpoolId) -> Option<&Spool> {
        self.spools.get(&id).or_else(|| self.missed(Subject::Spool(id)))
    }

    /// The spools in use, in order of their ids. Retired ones are at rest, unless something is still promised of them.
    pub fn spools(&self) -> impl Iterator<Item = &Spool> {
        self.spools.values()
    }

    /// The id given last; all from `s-1` to this one were given.
    pub fn last_spool(&self) -> SpoolId {
        SpoolId(self.last_spool)
    }

    /// A job; of one that has ended see "How a thing at rest is looked at".
    pub fn job(&self, id: JobId) -> Option<&Job> {
        self.jobs.get(&id).or_else(|| self.missed(Subject::Job(id)))
    }

    /// The jobs that have not ended, in order of their ids.
    pub fn jobs(&self) -> impl Iterator<Item = &Job> {
        self.jobs.values()
    }

    /// The id given last; all from `j-1` to this one were given.
    pub fn last_job(&self) -> JobId {
        JobId(self.last_job)
    }

    /// All promises for a job.
    pub fn holds_for(&self, job: JobId) -> impl Iterator<Item = (&Spool, HoldId, &Hold)> {
        self.spools.values().flat_map(move |spool| {
            spool.holds.iter().filter(move |(_, h)| h.job == Some(job)).map(move |(id, h)| (spool, *id, h))
        })
    }

    /// What the shop decides by.
    pub fn figures(&self) -> &Figures {
        &self.shop.figures
    }

    /// The shop as a whole.
    pub fn shop(&self) -> &Shop {
        &self.shop
    }

    /// What the shop's own coils taught, those that count.
    pub fn lessons(&self) -> &Lessons {
        self.learnt.lessons()
    }

    /// The same with the coils that lay off.
    pub fn learnt(&self) -> &Learnt {
        &self.learnt
    }

    /// Whether an entry counts: nobody undid it, or the undoing was itself undone.
    pub fn counts(&self, seq: Seq) -> bool {
        // Undoings are later than what they undo and of bounded depth, so this ends soon.
        !self.undone_by(seq).iter().any(|by| self.counts(*by))
    }

    /// The entries that undid an entry, each unless itself undone.
    pub(crate) fn undone_by(&self, seq: Seq) -> &[Seq] {
        self.undone_by.get(&seq).map_or(&[], Vec::as_slice)
    }

    /// The entries that an entry undid.
    pub(crate) fn undoes(&self, seq: Seq) -> &[Seq] {
        self.undoes.get(&seq).map_or(&[], Vec::as_slice)
    }

    /// 0 of an entry that undoes nothing, 1 of its undoing, 2 of the undoing of that.
    pub(crate) fn depth(&self, seq: Seq) -> u32 {
        self.undoes(seq).iter().map(|undone| 1 + self.depth(*undone)).max().unwrap_or(0)
    }

    /// Everything that an entry touched, by itself or through what it undid; `None`: no such entry.
    pub(crate) fn touched(&self, seq: Seq) -> Option<&BTreeSet<Subject>> {
        match self.aside.touched(seq) {
            Some(touched) => touched.as_ref(),
            None => {
                self.aside.want(Wanted::Undoing(seq));
                None
            }
        }
    }

    /// The ids that the next spool, job and hold get.
    pub(crate) fn next_spool(&self) -> SpoolId {
        SpoolId(self.last_spool.saturating_add(1))
    }
    pub(crate) fn next_job(&self) -> JobId {
        JobId(self.last_job.saturating_add(1))
    }
    pub(crate) fn next_hold(&self) -> HoldId {
        HoldId(self.last_hold.saturating_add(1))
    }

    /// Notes that a thing was asked for that may be at rest.
    fn missed<T>(&self, of: Subject) -> Option<T> {
        if self.may_rest(of) {
            self.aside.want(Wanted::Thing(of));
        }
        None
    }

    /// Whether a thing is not kept and may yet be: its id was given, and nobody looked it up.
    fn may_rest(&self, of: Subject) -> bool {
        let (kept, given) = match of {
            Subject::Spool(id) => (self.spools.contains_key(&id), (1..=self.last_spool).contains(&id.0)),
            Subject::Job(id) => (self.jobs.contains_key(&id), (1..=self.last_job).contains(&id.0)),
            Subject::Shop => (true, true),
        };
        given && !kept && self.aside.log(of).is_none()
    }
}

impl Shop {
    fn take_in(&mut self, happened: &crate::archive::Happened) {
        match &happened.fact {
            Fact::FiguresSet(set) => self.figures.set(happened.seq, set),
            Fact::PlanAccepted(plan) => self.plan = Some((happened.seq, plan.clone())),
            Fact::AlertSeen(f) => {
                self.seen.insert(f.alert.clone(), happened.seq);
            }
            Fact::LearningFrozen(f) => self.learning.freeze(happened.seq, f),
            Fact::LearningReset(f) => self.learning.reset(happened.seq, f),
            _ => {}
        }
    }
}
