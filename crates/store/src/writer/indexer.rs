//! The indexer's thread: takes synced groups to the index behind the writer's back, so that no request waits for it.

use crate::fold::Fold;
use crate::index::{BATCH, Index};
use crate::journal::Head;
use coilwright_shop::entry::{Entry, Seq};
use std::sync::Arc;
use std::sync::mpsc::Receiver;
use std::time::{Duration, Instant};

/// A group on its way to the index, and the state after it.
pub(super) struct Indexed<S> {
    pub entries: Vec<Entry>,
    pub head: Head,
    pub state: S,
}

pub(super) struct Indexer {
    pub index: Arc<Index>,
    pub frozen_at: Seq,
    pub freeze_every: u64,
}

/// Groups are gathered until one of them waited this long: sled rewrites whole pages, so many entries at once cost little more
/// than one. Meanwhile histories and keys are found in the journal's tail, and a kill costs nothing but a longer tail.
const LONGEST_WAIT: Duration = Duration::from_millis(250);

impl Indexer {
    pub(super) fn run<S: Fold>(mut self, groups: &Receiver<Indexed<S>>) {
        let mut last: Option<(S, Head)> = None;
        while let Ok(first) = groups.recv() {
            let Indexed { entries, head, state } = gathered(first, groups);
            self.index.add(&entries, head);
            if head.seq.saturating_sub(self.frozen_at) >= self.freeze_every {
                self.freeze(&state, head);
            }
            last = Some((state, head));
        }
        if let Some((state, head)) = last.filter(|(_, head)| head.seq > self.frozen_at) {
            self.freeze(&state, head);
        }
        self.index.flush();
    }

    fn freeze<S: Fold>(&mut self, state: &S, head: Head) {
        self.index.freeze(state, head);
        self.index.flush();
        self.frozen_at = head.seq;
    }
}

/// The first group and those that come soon after it, as one.
fn gathered<S>(mut pile: Indexed<S>, groups: &Receiver<Indexed<S>>) -> Indexed<S> {
    let until = Instant::now() + LONGEST_WAIT;
    while pile.entries.len() < BATCH {
        // Once the writer has ended, what waits is still taken.
        let Ok(next) = groups.recv_timeout(until.saturating_duration_since(Instant::now())) else { break };
        pile.entries.extend(next.entries);
        (pile.head, pile.state) = (next.head, next.state);
    }
    pile
}
