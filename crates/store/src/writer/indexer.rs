//! The indexer's thread: takes synced groups to the index behind the writer's back, so that no request waits for it.

use crate::fold::Fold;
use crate::index::Index;
use crate::journal::Head;
use coilwright_shop::entry::{Entry, Seq};
use std::sync::Arc;
use std::sync::mpsc::Receiver;

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

impl Indexer {
    pub(super) fn run<S: Fold>(mut self, groups: &Receiver<Indexed<S>>) {
        let mut last: Option<(S, Head)> = None;
        while let Ok(group) = groups.recv() {
            self.index.add(&group.entries, group.head);
            if group.head.seq.saturating_sub(self.frozen_at) >= self.freeze_every {
                self.freeze(&group.state, group.head);
            }
            last = Some((group.state, group.head));
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
