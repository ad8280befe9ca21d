//! The state: what all facts add up to. Cheap to clone, safe to share, and the same for the same entries, bit for bit.
//!
//! # How undoing works
//!
//! A fact is about one thing, and the state keeps for every thing the facts that happened to it. Undoing an entry folds
//! the few things it touched once more, from their first fact, without the entry's. So the state after an undo *is* the
//! state without the entry, by construction; an inverse for every fact would have to be proved for each (and a least
//! squares estimate has none). The price is memory: the facts stay, shared between all clones of the state.
//!
//! What an undo does not give back: ids (a number given once is never given to another thing) and revisions (a thing
//! touched by an undo was changed by it, so that a stale `if_rev` is noticed).

use crate::entry::{Entry, Moment, Seq};
use crate::fact::{Fact, PlanAccepted, Subject};
use crate::figures::Figures;
use crate::id::{HoldId, JobId, SpoolId};
use crate::job::Job;
use crate::log::{Happened, NoEffect};
use crate::spool::{Hold, Spool};
use jiff::Timestamp;
use rpds::{RedBlackTreeMapSync, VectorSync};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Everything the shop remembers.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    seq: Seq,
    last_spool: u64,
    last_job: u64,
    last_hold: u64,
    spools: RedBlackTreeMapSync<SpoolId, Spool>,
    jobs: RedBlackTreeMapSync<JobId, Job>,
    shop: Arc<Shop>,
    logs: RedBlackTreeMapSync<Subject, VectorSync<Happened>>,
    entries: RedBlackTreeMapSync<Seq, Arc<Noted>>,
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
}

/// What is remembered of an entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Noted {
    /// What it touched.
    pub touched: Vec<Subject>,
    /// The entries it undid.
    pub undoes: Vec<Seq>,
    /// The entries that undid it, each unless itself undone.
    pub undone_by: Vec<Seq>,
}

/// An undoing can be undone, that not once more: undo the first entry again instead.
pub(crate) const DEEPEST_UNDO: u32 = 2;

impl State {
    /// Adds one entry. Total: an entry already added and facts that change nothing where they stand are passed over.
    pub fn apply(&mut self, entry: &Entry) {
        self.add(entry.seq, entry.stamp.at, &entry.facts);
    }

    /// The state as it would be if these facts were written now: for answers, and to look before one leaps.
    pub fn after(&self, moment: &Moment, facts: &[Fact]) -> State {
        let mut after = self.clone();
        after.add(moment.seq, moment.stamp.at, facts);
        after
    }

    /// The last entry added; 0 if none was.
    pub fn seq(&self) -> Seq {
        self.seq
    }

    /// A spool.
    pub fn spool(&self, id: SpoolId) -> Option<&Spool> {
        self.spools.get(&id)
    }

    /// All spools, retired ones too, in order of their ids.
    pub fn spools(&self) -> impl Iterator<Item = &Spool> {
        self.spools.values()
    }

    /// How many spools there are, retired ones too.
    pub fn spool_count(&self) -> usize {
        self.spools.size()
    }

    /// A job.
    pub fn job(&self, id: JobId) -> Option<&Job> {
        self.jobs.get(&id)
    }

    /// All jobs, ended ones too, in order of their ids.
    pub fn jobs(&self) -> impl Iterator<Item = &Job> {
        self.jobs.values()
    }

    /// How many jobs there are, ended ones too.
    pub fn job_count(&self) -> usize {
        self.jobs.size()
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

    /// What happened to a thing, in order of sequence, with whether it still counts.
    pub fn history(&self, of: Subject) -> impl Iterator<Item = (&Happened, bool)> {
        self.logs.get(&of).into_iter().flat_map(|log| log.iter()).map(|h| (h, self.counts(h.seq)))
    }

    /// What is remembered of an entry.
    pub fn entry(&self, seq: Seq) -> Option<&Noted> {
        self.entries.get(&seq).map(|noted| &**noted)
    }

    /// Whether an entry counts: nobody undid it, or the undoing was itself undone.
    pub fn counts(&self, seq: Seq) -> bool {
        // Undoings are later than what they undo and of bounded depth, so this ends soon.
        self.entries.get(&seq).is_none_or(|noted| !noted.undone_by.iter().any(|by| self.counts(*by)))
    }

    /// 0 of an entry that undoes nothing, 1 of its undoing, 2 of the undoing of that.
    pub(crate) fn depth(&self, seq: Seq) -> u32 {
        self.entries.get(&seq).map_or(0, |n| n.undoes.iter().map(|u| 1 + self.depth(*u)).max().unwrap_or(0))
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

    /// Entries that count but have facts without effect: they stand on something that was undone.
    pub(crate) fn without_effect(&self, of: Subject) -> BTreeSet<Seq> {
        self.folded(of).1
    }

    fn add(&mut self, seq: Seq, at: Timestamp, facts: &[Fact]) {
        if seq <= self.seq {
            return;
        }
        self.seq = seq;
        let mut noted = Noted { touched: Vec::new(), undoes: Vec::new(), undone_by: Vec::new() };
        for fact in facts {
            match fact {
                Fact::EntryUndone(f) if f.seq < seq && self.depth(f.seq) < DEEPEST_UNDO => noted.undoes.push(f.seq),
                _ => {}
            }
            if let Some(subject) = fact.subject() {
                if !noted.touched.contains(&subject) {
                    noted.touched.push(subject);
                }
                let happened = Happened { seq, at, fact: Arc::new(fact.clone()) };
                self.take_in(subject, &happened);
                self.log(subject, happened);
            }
        }
        let undoes = noted.undoes.clone();
        self.entries.insert_mut(seq, Arc::new(noted));
        for undone in undoes {
            self.undo(seq, undone);
        }
    }

    fn log(&mut self, subject: Subject, happened: Happened) {
        if let Some(log) = self.logs.get_mut(&subject) {
            log.push_back_mut(happened);
        } else {
            let mut log = VectorSync::new_sync();
            log.push_back_mut(happened);
            self.logs.insert_mut(subject, log);
        }
    }

    /// One fact onto its thing.
    fn take_in(&mut self, subject: Subject, happened: &Happened) {
        if let Fact::SpoolHeld(f) = &*happened.fact {
            self.last_hold = self.last_hold.max(f.hold.0);
        }
        match subject {
            Subject::Spool(id) => {
                self.last_spool = self.last_spool.max(id.0);
                if let Ok(spool) = Spool::fold(self.spools.get(&id).cloned(), happened) {
                    self.spools.insert_mut(id, spool);
                }
            }
            Subject::Job(id) => {
                self.last_job = self.last_job.max(id.0);
                if let Ok(job) = Job::fold(self.jobs.get(&id).cloned(), happened) {
                    self.jobs.insert_mut(id, job);
                }
            }
            Subject::Shop => Arc::make_mut(&mut self.shop).take_in(happened),
        }
    }

    fn undo(&mut self, by: Seq, undone: Seq) {
        let Some(noted) = self.entries.get_mut(&undone) else { return };
        Arc::make_mut(noted).undone_by.push(by);
        let mut touched = BTreeSet::new();
        self.touched_by(undone, &mut touched);
        for subject in touched {
            self.fold_anew(subject);
        }
    }

    /// Everything whose fold depends on whether an entry counts.
    fn touched_by(&self, seq: Seq, touched: &mut BTreeSet<Subject>) {
        if let Some(noted) = self.entries.get(&seq) {
            touched.extend(&noted.touched);
            for undone in &noted.undoes {
                self.touched_by(*undone, touched);
            }
        }
    }

    fn fold_anew(&mut self, subject: Subject) {
        let (folded, _) = self.folded(subject);
        let seq = self.seq;
        match (subject, folded) {
            (Subject::Spool(id), Folded::Spool(Some(mut spool))) => {
                spool.rev = seq;
                self.spools.insert_mut(id, *spool);
            }
            (Subject::Spool(id), _) => {
                self.spools.remove_mut(&id);
            }
            (Subject::Job(id), Folded::Job(Some(mut job))) => {
                job.rev = seq;
                self.jobs.insert_mut(id, *job);
            }
            (Subject::Job(id), _) => {
                self.jobs.remove_mut(&id);
            }
            (Subject::Shop, Folded::Shop(mut shop)) => {
                shop.figures.rev = seq;
                self.shop = Arc::new(*shop);
            }
            (Subject::Shop, _) => {}
        }
    }

    /// A thing folded from all its facts that count, and the entries of those that changed nothing.
    fn folded(&self, subject: Subject) -> (Folded, BTreeSet<Seq>) {
        let mut idle = BTreeSet::new();
        let facts = self.history(subject).filter(|(_, counts)| *counts).map(|(h, _)| h);
        let folded = match subject {
            Subject::Spool(_) => {
                let mut spool: Option<Spool> = None;
                for h in facts {
                    match Spool::fold(spool.clone(), h) {
                        Ok(new) => spool = Some(new),
                        Err(NoEffect) => {
                            idle.insert(h.seq);
                        }
                    }
                }
                Folded::Spool(spool.map(Box::new))
            }
            Subject::Job(_) => {
                let mut job: Option<Job> = None;
                for h in facts {
                    match Job::fold(job.clone(), h) {
                        Ok(new) => job = Some(new),
                        Err(NoEffect) => {
                            idle.insert(h.seq);
                        }
                    }
                }
                Folded::Job(job.map(Box::new))
            }
            Subject::Shop => {
                let mut shop = Shop::default();
                facts.for_each(|h| shop.take_in(h));
                Folded::Shop(Box::new(shop))
            }
        };
        (folded, idle)
    }
}

enum Folded {
    Spool(Option<Box<Spool>>),
    Job(Option<Box<Job>>),
    Shop(Box<Shop>),
}

impl Shop {
    fn take_in(&mut self, happened: &Happened) {
        match &*happened.fact {
            Fact::FiguresSet(set) => self.figures.set(happened.seq, set),
            Fact::PlanAccepted(plan) => self.plan = Some((happened.seq, plan.clone())),
            Fact::AlertSeen(f) => {
                self.seen.insert(f.alert.clone(), happened.seq);
            }
            _ => {}
        }
    }
}
