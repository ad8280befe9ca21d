//! What is fetched from the archive for one decision, and the note of what is still to be fetched.

use crate::archive::Happened;
use crate::entry::Seq;
use crate::fact::Subject;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

/// Something that was asked of the state and that it does not keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Wanted {
    /// A thing at rest.
    Thing(Subject),
    /// An entry to be undone, with all that happened to what it touched.
    Undoing(Seq),
}

/// What lies beside the state while something is decided on it. No part of what the state says: two states are the same
/// whatever was looked up for them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Aside {
    recalled: Option<Arc<Recalled>>,
    wanted: Option<Arc<Mutex<BTreeSet<Wanted>>>>,
}

/// What was fetched.
#[derive(Debug, Clone, Default)]
struct Recalled {
    /// Everything whose fold depends on whether an entry counts; `None`: there is no such entry.
    touched: BTreeMap<Seq, Option<BTreeSet<Subject>>>,
    /// All that happened to a thing.
    logs: BTreeMap<Subject, Vec<Happened>>,
}

impl PartialEq for Aside {
    fn eq(&self, _: &Aside) -> bool {
        true
    }
}

impl Aside {
    /// Nothing fetched, and a note for what is wanted, shared with all copies.
    pub(crate) fn watched() -> Aside {
        Aside { recalled: None, wanted: Some(Arc::default()) }
    }

    /// Notes what is wanted, if somebody keeps a note.
    pub(crate) fn want(&self, what: Wanted) {
        if let Some(note) = &self.wanted {
            note.lock().unwrap_or_else(PoisonError::into_inner).insert(what);
        }
    }

    /// What was noted; the note is empty afterwards.
    pub(crate) fn take_wanted(&self) -> BTreeSet<Wanted> {
        let note = self.wanted.as_ref().map(|note| note.lock().unwrap_or_else(PoisonError::into_inner));
        note.map(|mut note| std::mem::take(&mut *note)).unwrap_or_default()
    }

    /// All that happened to a thing, if it was fetched.
    pub(crate) fn log(&self, of: Subject) -> Option<&[Happened]> {
        self.recalled.as_ref()?.logs.get(&of).map(Vec::as_slice)
    }

    /// The things that were fetched.
    pub(crate) fn things(&self) -> Vec<Subject> {
        self.recalled.iter().flat_map(|recalled| recalled.logs.keys().copied()).collect()
    }

    /// What an entry touched, if that was fetched.
    pub(crate) fn touched(&self, seq: Seq) -> Option<&Option<BTreeSet<Subject>>> {
        self.recalled.as_ref()?.touched.get(&seq)
    }

    pub(crate) fn put_log(&mut self, of: Subject, log: Vec<Happened>) {
        self.recalled_mut().logs.insert(of, log);
    }

    pub(crate) fn put_touched(&mut self, seq: Seq, touched: Option<BTreeSet<Subject>>) {
        self.recalled_mut().touched.insert(seq, touched);
    }

    /// One more fact of a thing whose log was fetched.
    pub(crate) fn log_on(&mut self, of: Subject, happened: &Happened) {
        if self.log(of).is_some()
            && let Some(log) = self.recalled_mut().logs.get_mut(&of)
        {
            log.push(happened.clone());
        }
    }

    fn recalled_mut(&mut self) -> &mut Recalled {
        Arc::make_mut(self.recalled.get_or_insert_default())
    }
}
