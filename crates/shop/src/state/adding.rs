//! Entries onto the state, one after the other, and out of it again when they are undone.

use super::{DEEPEST_UNDO, Shop, State};
use crate::archive::{Archive, Happened, NoEffect, Unreadable};
use crate::entry::{Entry, Moment, Seq};
use crate::fact::{Fact, Subject};
use crate::id::JobId;
use crate::job::Job;
use crate::learning::{Rules, Touched};
use crate::recall::{Aside, Wanted};
use crate::spool::Spool;
use jiff::Timestamp;
use std::collections::BTreeSet;
use std::sync::Arc;

impl State {
    /// Adds one entry. An entry already added and facts that change nothing where they stand are passed over. The archive
    /// is asked only where the entry undoes another or is about a thing at rest.
    ///
    /// # Errors
    /// If the archive cannot be read; the state is then as it was.
    pub fn apply(&mut self, entry: &Entry, archive: &dyn Archive) -> Result<(), Unreadable> {
        if entry.seq <= self.seq {
            return Ok(());
        }
        let ready = self.ready_for(&entry.facts, archive);
        if ready.is_ok() {
            self.add(entry.seq, entry.stamp.at, &entry.facts);
        }
        let mut touched = self.aside.things();
        touched.extend(entry.facts.iter().filter_map(Fact::subject));
        touched.into_iter().for_each(|of| self.lay_to_rest(of));
        self.aside = Aside::default();
        ready
    }

    /// The state as it would be if these facts were written now: for answers, and to look before one leaps. What comes to
    /// rest by them is still there.
    pub fn after(&self, moment: &Moment, facts: &[Fact]) -> State {
        let mut after = self.clone();
        after.add(moment.seq, moment.stamp.at, facts);
        after
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
        let mut undoes = Vec::new();
        for fact in facts {
            match fact {
                Fact::EntryUndone(f) if f.seq < seq && self.depth(f.seq) < DEEPEST_UNDO => undoes.push(f.seq),
                _ => {}
            }
            if let Some(subject) = fact.subject() {
                let happened = Happened { seq, at, fact: fact.clone() };
                self.take_in(subject, &happened);
                self.aside.log_on(subject, &happened);
            }
        }
        if !undoes.is_empty() {
            self.undoes.insert_mut(seq, undoes.clone());
        }
        for undone in undoes {
            self.undo(seq, undone);
        }
    }

    /// One fact onto its thing.
    fn take_in(&mut self, subject: Subject, happened: &Happened) {
        if let Fact::SpoolHeld(f) = &happened.fact {
            self.last_hold = self.last_hold.max(f.hold.0);
        }
        match subject {
            Subject::Spool(id) => {
                let before = self.spool(id).cloned();
                if let Ok(spool) = Spool::fold(before.clone(), happened) {
                    let read = before.as_ref().is_none_or(|b| b.past.len() != spool.past.len());
                    self.spools.insert_mut(id, spool);
                    if read {
                        self.keep_up_lot(id, before.as_ref());
                    }
                }
                self.last_spool = self.last_spool.max(id.0);
            }
            Subject::Job(id) => {
                if let Ok(job) = Job::fold(self.job(id).cloned(), happened) {
                    self.relearn(id, Some(&job), Touched::by(&happened.fact));
                    self.jobs.insert_mut(id, job);
                }
                self.last_job = self.last_job.max(id.0);
            }
            Subject::Shop => {
                let before = self.shop.learning.clone();
                Arc::make_mut(&mut self.shop).take_in(happened);
                if matches!(happened.fact, Fact::LearningFrozen(_) | Fact::LearningReset(_)) {
                    Arc::make_mut(&mut self.learnt).file_apart(happened.seq);
                }
                self.recount(&before);
            }
        }
    }

    fn undo(&mut self, by: Seq, undone: Seq) {
        let Some(touched) = self.touched(undone).cloned() else { return };
        let mut undone_by = self.undone_by(undone).to_vec();
        undone_by.push(by);
        self.undone_by.insert_mut(undone, undone_by);
        for subject in touched {
            self.fold_anew(subject);
        }
    }

    fn fold_anew(&mut self, subject: Subject) {
        let (folded, _) = self.folded(subject);
        let seq = self.seq;
        match (subject, folded) {
            (Subject::Spool(id), folded) => {
                let before = self.spools.get(&id).cloned();
                if let Folded::Spool(Some(mut spool)) = folded {
                    spool.rev = seq;
                    self.spools.insert_mut(id, *spool);
                } else {
                    self.spools.remove_mut(&id);
                }
                self.keep_up_lot(id, before.as_ref());
            }
            (Subject::Job(id), Folded::Job(Some(mut job))) => {
                job.rev = seq;
                self.relearn(id, Some(&job), Touched::Whole);
                self.jobs.insert_mut(id, *job);
            }
            (Subject::Job(id), _) => {
                self.relearn(id, None, Touched::Whole);
                self.jobs.remove_mut(&id);
            }
            (Subject::Shop, Folded::Shop(mut shop)) => {
                shop.figures.rev = seq;
                let before = std::mem::replace(&mut self.shop, Arc::new(*shop));
                self.recount(&before.learning);
            }
            (Subject::Shop, _) => {}
        }
    }

    /// What a job taught so far is taken back, and what it teaches now put in its place.
    fn relearn(&mut self, id: JobId, now: Option<&Job>, touched: Touched) {
        let (old, new) = (touched.lessons(self.jobs.get(&id)), touched.lessons(now));
        if old != new {
            let learnt = Arc::make_mut(&mut self.learnt);
            old.iter().for_each(|coil| learnt.take_back(coil, &self.shop.learning));
            new.iter().for_each(|coil| learnt.add(coil, &self.shop.learning));
        }
    }

    /// The sums anew, if other coils count than before.
    fn recount(&mut self, before: &Rules) {
        if self.shop.learning != *before {
            Arc::make_mut(&mut self.learnt).recount(&self.shop.learning);
        }
    }

    /// A thing folded from all its facts that count, and the entries of those that changed nothing. What happened to it
    /// must have been fetched.
    pub(super) fn folded(&self, subject: Subject) -> (Folded, BTreeSet<Seq>) {
        let mut idle = BTreeSet::new();
        let log = self.aside.log(subject).unwrap_or_else(|| {
            self.aside.want(Wanted::Thing(subject));
            &[]
        });
        let facts = log.iter().filter(|h| self.counts(h.seq));
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

    /// Lets go of a thing that nothing more is likely to happen to.
    fn lay_to_rest(&mut self, of: Subject) {
        match of {
            Subject::Spool(id) if self.spools.get(&id).is_some_and(Spool::at_rest) => {
                self.spools.remove_mut(&id);
            }
            Subject::Job(id) if self.jobs.get(&id).is_some_and(Job::at_rest) => {
                self.jobs.remove_mut(&id);
            }
            _ => {}
        }
    }
}

pub(super) enum Folded {
    Spool(Option<Box<Spool>>),
    Job(Option<Box<Job>>),
    Shop(Box<Shop>),
}
