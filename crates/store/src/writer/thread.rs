//! The writer's thread: gathers groups, appends, publishes, answers; poisons itself when the journal fails.

use super::around::{Recent, Surroundings};
use super::group::{Around, Group};
use super::indexer::{Indexed, Indexer};
use super::request::{NotDone, OnCommit, Published, Request, tell, tell_group};
use crate::clock::Clock;
use crate::fold::Fold;
use crate::index::{Index, KeyUse};
use crate::journal::{Append, Head, Journal, Reading, walk_entries};
use crate::past::Past;
use arc_swap::ArcSwap;
use coilwright_shop::entry::Seq;
use jiff::Timestamp;
use std::collections::VecDeque;
use std::io;
use std::sync::mpsc::{Receiver, Sender, SyncSender, TryRecvError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};

/// No more entries than this wait for one sync.
const MOST_ENTRIES: usize = 1024;
/// No more bytes than about this wait for one sync.
const MOST_BYTES: usize = 1 << 20;
/// How often a group is decided again because the journal had moved on.
const MOST_MOVES: usize = 8;
/// Groups that may wait for the indexer before the writer waits for it.
const MOST_UNINDEXED: usize = 16;

/// What comes through the queue.
pub(crate) enum Message<S, E> {
    Request(Box<Request<S, E>>),
    /// Write what came before, leave the note, end.
    Stop(Sender<io::Result<()>>),
}

/// What others may see of how the writer is.
#[derive(Debug, Clone, Default)]
pub(crate) struct Status {
    pub degraded: Option<String>,
    pub full: bool,
}

/// What the writer starts with.
pub(crate) struct Start<S, J> {
    pub journal: J,
    pub index: Arc<Index>,
    pub clock: Box<dyn Clock>,
    pub published: Arc<ArcSwap<Published<S>>>,
    pub status: Arc<Mutex<Status>>,
    pub highest: Option<Timestamp>,
    pub frozen_at: Seq,
    pub freeze_every: u64,
    pub on_commit: Option<OnCommit>,
    pub queue: usize,
}

/// The way to the writer, and its thread.
pub(crate) type Started<S, E> = (SyncSender<Message<S, E>>, JoinHandle<()>);

/// Starts both threads; the handle is the writer's, which ends after the indexer's.
pub(crate) fn start<S: Fold, E: Send + 'static, J: Journal>(start: Start<S, J>) -> io::Result<Started<S, E>> {
    let (to_writer, requests) = sync_channel(start.queue.max(1));
    let (to_indexer, groups) = sync_channel::<Indexed<S>>(MOST_UNINDEXED);
    let indexer =
        Indexer { index: Arc::clone(&start.index), frozen_at: start.frozen_at, freeze_every: start.freeze_every };
    let indexing = thread::Builder::new().name("indexer".to_owned()).spawn(move || indexer.run(&groups))?;
    let writing = thread::Builder::new().name("writer".to_owned()).spawn(move || {
        let reading = start.journal.reader();
        let writer = Writer {
            reading,
            journal: start.journal,
            around: Surroundings { index: start.index, recent: Recent::default(), clock: start.clock },
            published: start.published,
            status: start.status,
            highest: start.highest,
            on_commit: start.on_commit,
            to_indexer,
        };
        writer.run(&requests, indexing);
    })?;
    Ok((to_writer, writing))
}

struct Writer<S, J> {
    journal: J,
    reading: Arc<dyn Reading>,
    around: Surroundings,
    published: Arc<ArcSwap<Published<S>>>,
    status: Arc<Mutex<Status>>,
    highest: Option<Timestamp>,
    on_commit: Option<OnCommit>,
    to_indexer: SyncSender<Indexed<S>>,
}

impl<S: Fold, J: Journal> Writer<S, J> {
    fn run<E: Send + 'static>(mut self, requests: &Receiver<Message<S, E>>, indexing: JoinHandle<()>) {
        let mut stop = None;
        while stop.is_none() {
            let Ok(first) = requests.recv() else { break };
            let mut batch = Vec::new();
            stop = gather(first, requests, &mut batch);
            self.commit(batch);
        }
        let Self { mut journal, to_indexer, .. } = self;
        drop(to_indexer);
        let _ = indexing.join();
        let rested = journal.rest();
        // The folder is free before anybody is told so.
        drop(journal);
        if let Some(told) = stop {
            let _ = told.send(rested);
        }
    }

    /// Decides, appends, publishes, answers.
    fn commit<E: Send + 'static>(&mut self, batch: Vec<Request<S, E>>) {
        let mut batch = VecDeque::from(batch);
        let mut moves = 0;
        while !batch.is_empty() {
            let now = self.published.load_full();
            let mut group = Group::new(now.head, now.state.clone(), self.highest);
            let degraded = self.degraded();
            while group.entries.len() < MOST_ENTRIES && group.bytes < MOST_BYTES {
                let Some(request) = batch.pop_front() else { break };
                match &degraded {
                    None => group.take(request, &self.around),
                    Some(why) => self.turn_away(request, why),
                }
            }
            if group.entries.is_empty() {
                group.answer(None);
                continue;
            }
            match self.append(&group) {
                Ok(head) => self.publish(group, head),
                Err(Append::Full) => {
                    self.set_status(|status| status.full = true);
                    group.answer(Some(&|_| NotDone::Full));
                }
                Err(Append::Moved(_)) if moves < MOST_MOVES => {
                    moves += 1;
                    // Decided on a state that is past: all of it again, in the same order, before what came later.
                    for (request, _) in group.waiting.into_iter().rev() {
                        batch.push_front(request);
                    }
                    if let Err(why) = self.catch_up() {
                        self.poison(why);
                    }
                }
                Err(Append::Moved(_)) => drop(group.answer(Some(&|_| NotDone::Busy))),
                Err(Append::Broken(why) | Append::Unknown(why)) => {
                    self.poison(why.clone());
                    group.answer(Some(&|in_doubt| {
                        if in_doubt { NotDone::Unknown(why.clone()) } else { NotDone::Degraded(why.clone()) }
                    }));
                }
            }
        }
    }

    /// Appends the group; if it is not known whether that worked, looks.
    fn append<E>(&mut self, group: &Group<S, E>) -> Result<Head, Append> {
        let appended = self.journal.append(group.after, &group.entries);
        let Err(Append::Unknown(why)) = appended else { return appended };
        let lines =
            self.journal.read(group.after.seq, group.entries.len()).map_err(|e| Append::Unknown(e.to_string()))?;
        let ours = lines.len() == group.entries.len()
            && lines.iter().zip(&group.entries).all(|(line, entry)| line.entry().is_ok_and(|e| e == *entry));
        match lines.last().filter(|_| ours) {
            Some(line) => Ok(line.head),
            None => Err(Append::Unknown(why)),
        }
    }

    fn publish<E>(&mut self, group: Group<S, E>, head: Head) {
        let state = group.ahead.clone();
        self.highest = group.highest;
        self.published.store(Arc::new(Published { state: state.clone(), head }));
        self.set_status(|status| status.full = false);
        let entries = group.answer(None);
        tell_group(self.on_commit.as_ref(), &entries, head);
        self.around.recent.add(&entries, self.around.index.indexed_to());
        // The indexer ends only after this sender is gone; if it is, keys stay in `recent`.
        let _ = self.to_indexer.send(Indexed { entries, head, state });
    }

    /// Adds what others appended.
    fn catch_up(&mut self) -> Result<(), String> {
        let now = self.published.load_full();
        let (mut state, mut highest, mut entries) = (now.state.clone(), self.highest, Vec::new());
        let past = Past::new(&self.around.index, &[]);
        let head = walk_entries(self.reading.as_ref(), now.head, |_, entry| {
            state.apply(&entry, &past)?;
            highest = Some(highest.map_or(entry.stamp.at, |h| h.max(entry.stamp.at)));
            entries.push(entry);
            Ok(())
        })
        .map_err(|e| e.to_string())?;
        self.highest = highest;
        self.published.store(Arc::new(Published { state: state.clone(), head }));
        tell_group(self.on_commit.as_ref(), &entries, head);
        self.around.recent.add(&entries, self.around.index.indexed_to());
        let _ = self.to_indexer.send(Indexed { entries, head, state });
        Ok(())
    }

    /// A poisoned writer still knows first answers.
    fn turn_away<E>(&self, request: Request<S, E>, why: &str) {
        let around: &dyn Around<E> = &self.around;
        let used = request.key.as_ref().and_then(|key| around.key_use(key));
        let outcome = match used {
            Some(used) if used.digest == KeyUse::digest_of(&request.method, &request.asked) => {
                around.first_outcome(used.seq)
            }
            Some(used) => Err(NotDone::KeyReused { first_seq: used.seq }),
            None => Err(NotDone::Degraded(why.to_owned())),
        };
        tell(request.reply, outcome);
    }

    fn degraded(&self) -> Option<String> {
        self.status.lock().unwrap_or_else(PoisonError::into_inner).degraded.clone()
    }

    fn poison(&self, why: String) {
        self.set_status(|status| {
            status.degraded.get_or_insert(why);
        });
    }

    fn set_status(&self, change: impl FnOnce(&mut Status)) {
        change(&mut self.status.lock().unwrap_or_else(PoisonError::into_inner));
    }
}

/// Takes what waits in the queue; a stop ends the gathering and is given back.
fn gather<S, E>(
    first: Message<S, E>,
    requests: &Receiver<Message<S, E>>,
    batch: &mut Vec<Request<S, E>>,
) -> Option<Sender<io::Result<()>>> {
    let mut next = first;
    loop {
        match next {
            Message::Request(request) => batch.push(*request),
            Message::Stop(told) => return Some(told),
        }
        if batch.len() >= MOST_ENTRIES {
            return None;
        }
        next = match requests.try_recv() {
            Ok(message) => message,
            Err(TryRecvError::Empty | TryRecvError::Disconnected) => return None,
        };
    }
}
