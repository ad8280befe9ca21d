//! The room's front: opens journal, index and writer together, and hands requests and questions to the right one.

use crate::clock::{Clock, SystemClock};
use crate::disk::{Disk, RealDisk};
use crate::fold::{Fold, Subjects, looked};
use crate::index::{BATCH, Candidate, Index, IndexReport, IndexStart, KeyKeeping, open_candidate};
use crate::journal::{
    FileJournal, Folder, Head, Journal, Journalling, Line, OpenError, Opened, ReadError, Reading, Verified, Witness,
    start_of, walk_entries,
};
use crate::past::Past;
use crate::writer::{self, Message, NotDone, OnCommit, Outcome, Published, Request, Start, Status};
use arc_swap::ArcSwap;
use coilwright_shop::archive::{Archive, Unreadable};
use coilwright_shop::entry::{Entry, Seq};
use coilwright_shop::fact::Subject;
use jiff::Timestamp;
use std::io;
use std::path::Path;
use std::sync::mpsc::{self, SyncSender, TrySendError};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;

/// How a store is to be run.
pub struct Options {
    /// Where entries get their time from.
    pub clock: Box<dyn Clock>,
    /// What an entry is about, for [`Store::history`].
    pub subjects: Subjects,
    /// Sees every group after it was published and answered, on the writer's thread: wake subscribers, do nothing long.
    pub on_commit: Option<OnCommit>,
    /// How long idempotency keys are remembered.
    pub keys: KeyKeeping,
    /// Requests that may wait for the writer before more are told [`NotDone::Busy`].
    pub queue: usize,
    /// The fold is frozen after this many entries (and at a clean stop), if it can be.
    pub freeze_every: u64,
    /// Sizes of the journal's files.
    pub sizes: Journalling,
    /// The file system of the journal.
    pub disk: Arc<dyn Disk>,
    /// Others that saw how far the journal went, such as the newest backup.
    pub witnesses: Vec<Witness>,
}

impl Options {
    /// The usual ones, with the machine's clock.
    ///
    /// # Errors
    ///
    /// If the system gives no random bytes for the name of this run.
    pub fn new(subjects: Subjects) -> io::Result<Self> {
        Ok(Self {
            clock: Box::new(SystemClock::start()?),
            subjects,
            on_commit: None,
            keys: KeyKeeping::default(),
            queue: 1024,
            freeze_every: 20_000,
            sizes: Journalling::default(),
            disk: Arc::new(RealDisk),
            witnesses: Vec::new(),
        })
    }
}

/// What was found while opening, to be logged by whoever opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenReport {
    /// Of the journal.
    pub journal: Opened,
    /// Of the index.
    pub index: IndexReport,
    /// Entries that were folded anew; the rest came from the frozen fold.
    pub folded: u64,
}

/// How the store is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Health {
    /// Why nothing is written any more, if so.
    pub degraded: Option<String>,
    /// Whether the last group found the disk full.
    pub full: bool,
    /// Why the index is kept in memory, if so: slower to start and larger, nothing is lost.
    pub index_in_memory: Option<String>,
    /// The last entry that is synced.
    pub head: Head,
    /// The last entry that the index knows.
    pub indexed_to: Seq,
}

/// A journal with its index, its writer and the state it adds up to. `S` is the state, `E` a refusal.
pub struct Store<S, E> {
    published: Arc<ArcSwap<Published<S>>>,
    index: Arc<Index>,
    reading: Arc<dyn Reading>,
    status: Arc<Mutex<Status>>,
    to_writer: SyncSender<Message<S, E>>,
    writing: Mutex<Option<JoinHandle<()>>>,
}

impl<S: Fold, E: Send + 'static> Store<S, E> {
    /// Opens a data folder, making it if it is not there. Reads and writes files: not for an async thread.
    ///
    /// # Errors
    ///
    /// See [`OpenError`].
    pub fn open(dir: &Path, options: Options) -> Result<(Self, OpenReport), OpenError> {
        let folder = Folder::lock(dir)?;
        let candidate = open_candidate(dir);
        let mut witnesses = options.witnesses.clone();
        witnesses.extend(candidate.witness());
        // An index without its journal: the truth was taken away, and a new shop on top of that would hide it.
        if let Some(seen) = candidate.witness().filter(|w| w.head.seq > 0 && !folder.journal().exists()) {
            let what = format!(
                "the journal is gone, yet the index has seen entry {}; to begin anew on purpose, choose an empty folder",
                seen.head.seq
            );
            return Err(OpenError::Corrupt { path: folder.journal(), seq: 1, what });
        }
        let (journal, opened) = FileJournal::open_with(folder, Arc::clone(&options.disk), options.sizes, &witnesses)?;
        Self::start(journal, opened, candidate, options)
    }

    /// A store over another journal. The index is kept in memory.
    ///
    /// # Errors
    ///
    /// If the journal cannot be read.
    pub fn over(journal: impl Journal, options: Options) -> Result<(Self, OpenReport), OpenError> {
        let head = journal.head();
        let opened = Opened { head, new: head.seq == 0, findings: Vec::new() };
        Self::start(journal, opened, Candidate::none(), options)
    }

    fn start(
        journal: impl Journal,
        opened: Opened,
        candidate: Candidate,
        options: Options,
    ) -> Result<(Self, OpenReport), OpenError> {
        let reading = journal.reader();
        let around = IndexStart { journal: Arc::clone(&reading), subjects: options.subjects, keeping: options.keys };
        let (index, mut index_report) = candidate.settle(around);
        let replayed = replay::<S>(reading.as_ref(), &index)?;
        index_report.added = replayed.indexed;
        let head = replayed.published.head;
        let freeze_every = options.freeze_every.max(1);
        let mut frozen_at = head.seq - replayed.folded;
        if replayed.folded >= freeze_every {
            // A long way was walked, after an upgrade or without an index: the next start need not walk it again, not even
            // after a kill.
            index.freeze(&replayed.published.state, head);
            index.flush();
            frozen_at = head.seq;
        }
        let published = Arc::new(ArcSwap::from_pointee(replayed.published));
        let (index, status) = (Arc::new(index), Arc::new(Mutex::new(Status::default())));
        let (to_writer, writing) = writer::start(Start {
            journal,
            index: Arc::clone(&index),
            clock: options.clock,
            published: Arc::clone(&published),
            status: Arc::clone(&status),
            highest: replayed.highest,
            frozen_at,
            freeze_every,
            on_commit: options.on_commit,
            queue: options.queue,
        })
        .map_err(OpenError::Thread)?;
        let writing = Mutex::new(Some(writing));
        let store = Self { published, index, reading, status, to_writer, writing };
        Ok((store, OpenReport { journal: opened, index: index_report, folded: replayed.folded }))
    }

    /// Hands a request to the writer. The reply is called exactly once, on another thread or, if the queue is full or
    /// the writer has ended, on this one before `submit` returns. Never blocks.
    pub fn submit(&self, request: Request<S, E>) {
        let (message, refusal) = match self.to_writer.try_send(Message::Request(Box::new(request))) {
            Ok(()) => return,
            Err(TrySendError::Full(message)) => (message, NotDone::Busy),
            Err(TrySendError::Disconnected(message)) => (message, NotDone::Degraded("the writer has ended".to_owned())),
        };
        if let Message::Request(request) = message {
            (request.reply)(Err(refusal));
        }
    }

    /// [`Store::submit`] and waiting for the outcome, for callers that may block. The request's own `reply` is not used.
    pub fn ask(&self, mut request: Request<S, E>) -> Outcome<E> {
        let (told, outcome) = mpsc::sync_channel(1);
        request.reply = Box::new(move |outcome| drop(told.send(outcome)));
        self.submit(request);
        let ended = || Err(NotDone::Unknown("the writer ended before it answered".to_owned()));
        outcome.recv().unwrap_or_else(|_| ended())
    }

    /// The state as of the last sync. Cheap, never waits.
    #[must_use]
    pub fn state(&self) -> Arc<Published<S>> {
        self.published.load_full()
    }

    /// Lines after the sequence `after`, as hashed: at most `limit`, fewer if they are long, none only at the end.
    ///
    /// # Errors
    ///
    /// If a line cannot be read or does not check.
    pub fn read(&self, after: Seq, limit: usize) -> Result<Vec<Line>, ReadError> {
        self.reading.read(after, limit)
    }

    /// The reading side of the journal, for what outlives a borrow of the store.
    #[must_use]
    pub fn reading(&self) -> Arc<dyn Reading> {
        Arc::clone(&self.reading)
    }

    /// Lines about a subject, newest first, before the sequence `before` (all if `None`), at most `limit`.
    ///
    /// # Errors
    ///
    /// If a line cannot be read or does not check.
    pub fn history(&self, subject: &str, before: Option<Seq>, limit: usize) -> Result<Vec<Line>, ReadError> {
        Past::new(&self.index, &[]).newest(subject, before.unwrap_or(Seq::MAX), limit)
    }

    /// Asks the published state, things at rest included: `look` is called until everything that it asked for is there.
    ///
    /// # Errors
    ///
    /// If what it asked for cannot be read.
    pub fn look<T>(&self, look: impl FnMut(&Published<S>) -> T) -> Result<T, Unreadable> {
        self.look_at(&self.state(), look)
    }

    /// [`Store::look`] at a state that was taken before.
    ///
    /// # Errors
    ///
    /// If what was asked for cannot be read.
    pub fn look_at<T>(&self, at: &Published<S>, mut look: impl FnMut(&Published<S>) -> T) -> Result<T, Unreadable> {
        let look = |state: &S| look(&Published { state: state.clone(), head: at.head });
        looked(&at.state, &Past::new(&self.index, &[]), look).map(|(answer, _)| answer)
    }

    /// All entries about a thing up to an entry, in order.
    ///
    /// # Errors
    ///
    /// If one of them cannot be read.
    pub fn about(&self, of: Subject, up_to: Seq) -> Result<Vec<Entry>, Unreadable> {
        Past::new(&self.index, &[]).about(of, up_to.saturating_add(1))
    }

    /// Walks the whole chain up to the last sync.
    #[must_use]
    pub fn verify(&self) -> Verified {
        self.reading.verify()
    }

    /// Folds the journal from its first line and compares: `false` means that a frozen fold of another program was
    /// believed ([`Fold::VERSION`] was not raised) or that the fold is not the same function each time.
    ///
    /// # Errors
    ///
    /// If a line cannot be read or does not check.
    pub fn fold_agrees(&self) -> Result<bool, ReadError>
    where
        S: PartialEq,
    {
        let now = self.state();
        let mut folded = S::default();
        let past = Past::new(&self.index, &[]);
        walk_entries(self.reading.as_ref(), start_of(self.reading.as_ref()), |_, entry| {
            // What is written meanwhile is not in the state that was taken.
            if entry.seq <= now.head.seq { folded.apply(&entry, &past) } else { Ok(()) }
        })?;
        Ok(folded == now.state)
    }

    /// How the store is.
    #[must_use]
    pub fn health(&self) -> Health {
        let Status { degraded, full } = self.status.lock().unwrap_or_else(PoisonError::into_inner).clone();
        Health {
            degraded,
            full,
            index_in_memory: self.index.mishap(),
            head: self.published.load().head,
            indexed_to: self.index.indexed_to(),
        }
    }

    /// Writes what waits, leaves the note of a clean stop, gives the folder back. Later requests are told
    /// [`NotDone::Degraded`]; reading goes on. The second time nothing happens. Waits: not for an async thread.
    ///
    /// # Errors
    ///
    /// If the note could not be written: nothing is lost by that but a witness.
    pub fn stop(&self) -> io::Result<()> {
        stop(&self.to_writer, &self.writing)
    }
}

fn stop<S, E>(to_writer: &SyncSender<Message<S, E>>, writing: &Mutex<Option<JoinHandle<()>>>) -> io::Result<()> {
    let Some(handle) = writing.lock().unwrap_or_else(PoisonError::into_inner).take() else { return Ok(()) };
    let (told, outcome) = mpsc::channel();
    let rested = match to_writer.send(Message::Stop(told)) {
        Ok(()) => outcome.recv().unwrap_or_else(|_| Err(io::Error::other("the writer ended early"))),
        Err(_) => Err(io::Error::other("the writer ended early")),
    };
    let joined = handle.join().map_err(|panic| io::Error::other(writer::panic_text(panic.as_ref())));
    rested.and(joined)
}

impl<S, E> Drop for Store<S, E> {
    fn drop(&mut self) {
        // Whoever wants to know how it went calls `stop`.
        let _ = stop(&self.to_writer, &self.writing);
    }
}

struct Replayed<S> {
    published: Published<S>,
    highest: Option<Timestamp>,
    folded: u64,
    indexed: u64,
}

/// Folds what the frozen fold does not hold and adds to the index what it does not know, in one walk.
fn replay<S: Fold>(reading: &dyn Reading, index: &Index) -> Result<Replayed<S>, OpenError> {
    let (mut state, folded_to) = index.thaw::<S>().unwrap_or_else(|| (S::default(), start_of(reading)));
    let known = index.head();
    let from = if known.seq < folded_to.seq { known } else { folded_to };
    let (mut highest, mut folded, mut indexed) = (index.highest(), 0, 0);
    let mut pile: Vec<Entry> = Vec::new();
    let head = walk_entries(reading, from, |line, entry| {
        if entry.seq > folded_to.seq {
            state.apply(&entry, &Past::new(index, &[]))?;
            folded += 1;
        }
        highest = Some(highest.map_or(entry.stamp.at, |h| h.max(entry.stamp.at)));
        if entry.seq > known.seq {
            indexed += 1;
            pile.push(entry);
            if pile.len() >= BATCH {
                index.add(&pile, line.head);
                pile.clear();
            }
        }
        Ok(())
    })?;
    if !pile.is_empty() {
        index.add(&pile, head);
    }
    if indexed > 0 {
        // Once here, so that a kill soon after need not have all of it added again.
        index.flush();
    }
    Ok(Replayed { published: Published { state, head }, highest, folded, indexed })
}
