//! Things at rest, fetched from the archive while something is decided or shown.

use super::adding::Folded;
use super::{DEEPEST_UNDO, State};
use crate::archive::{Archive, Happened, Unreadable};
use crate::entry::Seq;
use crate::fact::{Fact, Subject};
use crate::recall::{Aside, Wanted};
use std::collections::BTreeSet;

impl State {
    /// A copy that notes what it is asked for and does not keep.
    #[must_use]
    pub fn watched(&self) -> State {
        State { aside: Aside::watched(), ..self.clone() }
    }

    /// Fetches what this copy was asked for and did not keep. `true`: there was something, so whatever asked it must be
    /// asked again.
    ///
    /// # Errors
    /// If the archive cannot be read.
    pub fn recall_wanted(&mut self, archive: &dyn Archive) -> Result<bool, Unreadable> {
        let wanted = self.aside.take_wanted();
        for what in &wanted {
            match what {
                Wanted::Thing(of) => self.recall(*of, archive)?,
                Wanted::Undoing(seq) => self.recall_undoing(*seq, archive)?,
            }
        }
        Ok(!wanted.is_empty())
    }

    /// Fetches what these facts need to be added.
    pub(super) fn ready_for(&mut self, facts: &[Fact], archive: &dyn Archive) -> Result<(), Unreadable> {
        for fact in facts {
            match (fact, fact.subject()) {
                (Fact::EntryUndone(f), _) if f.seq <= self.seq && self.depth(f.seq) < DEEPEST_UNDO => {
                    self.recall_undoing(f.seq, archive)?;
                }
                (_, Some(of)) if self.may_rest(of) => self.recall(of, archive)?,
                _ => {}
            }
        }
        Ok(())
    }

    /// Fetches all that happened to a thing, and puts it together again if it is at rest.
    fn recall(&mut self, of: Subject, archive: &dyn Archive) -> Result<(), Unreadable> {
        if self.aside.log(of).is_some() {
            return Ok(());
        }
        let rests = self.may_rest(of);
        let log: Vec<Happened> = Happened::to(of, &archive.about(of, self.seq.saturating_add(1))?).collect();
        let rev = log.iter().map(|h| self.last_undoing(h.seq)).max().unwrap_or(0);
        self.aside.put_log(of, log);
        if rests {
            match (of, self.folded(of).0) {
                (Subject::Spool(id), Folded::Spool(Some(mut spool))) => {
                    spool.rev = spool.rev.max(rev);
                    self.spools.insert_mut(id, *spool);
                    self.learn_of_lot(id);
                }
                (Subject::Job(id), Folded::Job(Some(mut job))) => {
                    job.rev = job.rev.max(rev);
                    self.jobs.insert_mut(id, *job);
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Fetches what undoing an entry needs: all that happened to everything it touched.
    fn recall_undoing(&mut self, seq: Seq, archive: &dyn Archive) -> Result<(), Unreadable> {
        if self.aside.touched(seq).is_some() {
            return Ok(());
        }
        let mut traced = BTreeSet::new();
        let there = self.trace(seq, archive, &mut traced)?;
        for (of, by) in &traced {
            self.recall(*of, archive)?;
            // What an entry says of itself must be found under the thing's name too, or the thing would be put together
            // without facts that belong to it.
            if !self.aside.log(*of).is_some_and(|log| log.iter().any(|h| h.seq == *by)) {
                let lost = format!("entry {by} is about {of}, but is not found among what happened to it");
                return Err(Unreadable(lost));
            }
        }
        self.aside.put_touched(seq, there.then(|| traced.into_iter().map(|(of, _)| of).collect()));
        Ok(())
    }

    /// Everything whose fold depends on whether an entry counts, with the entry that is about it. Whether there is such
    /// an entry.
    fn trace(
        &self,
        seq: Seq,
        archive: &dyn Archive,
        traced: &mut BTreeSet<(Subject, Seq)>,
    ) -> Result<bool, Unreadable> {
        let Some(entry) = archive.entry(seq)? else { return Ok(false) };
        traced.extend(entry.facts.iter().filter_map(|fact| Some((fact.subject()?, seq))));
        for undone in self.undoes(seq) {
            self.trace(*undone, archive, traced)?;
        }
        Ok(true)
    }

    /// The last entry that undid this one, or undid that, and so on; 0 if none did.
    fn last_undoing(&self, seq: Seq) -> Seq {
        self.undone_by(seq).iter().map(|by| self.last_undoing(*by).max(*by)).max().unwrap_or(0)
    }
}
