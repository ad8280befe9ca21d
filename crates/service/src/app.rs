//! What the requests look at: the catalog, the shop's memory, and the program itself.

use crate::backups::Backups;
use crate::plugins::Plugins;
use crate::proposals::Kept;
use coilwright_catalog::{Catalog, Fault};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_shop::refusal::Refusal;
use coilwright_shop::state::State;
use coilwright_store::{Published, Store, Unreadable};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

/// What the requests look at. Reading plugins anew makes another one with another catalog; the rest is shared.
#[derive(Clone)]
pub struct App {
    /// Version of the program.
    pub version: &'static str,
    /// Wires and former materials.
    pub catalog: Arc<Catalog>,
    /// The shop's memory.
    pub store: Arc<Store<State, Refusal>>,
    /// Where backups go, if a folder for them is set.
    pub backups: Option<Arc<Backups>>,
    /// Taken while a full plan is made: one at a time.
    pub full_plans: Arc<Mutex<()>>,
    /// Set when the daemon is asked to stop: long work ends early.
    pub stop: Arc<AtomicBool>,
    /// What was found wrong when the daemon started, in sentences.
    pub faults: Vec<String>,
    /// Why plugins were refused.
    pub refused: Vec<Fault>,
    /// How plugins are read anew, and their methods run.
    pub plugins: Arc<Plugins>,
    /// What plugins proposed last.
    pub proposals: Arc<Mutex<Kept>>,
}

impl App {
    /// Answers from the shop's memory, things at rest included: `answer` is called until all that it asked for is there.
    ///
    /// # Errors
    /// Its own, or that the journal cannot be read.
    pub fn look<T>(&self, answer: impl FnMut(&Published<State>) -> Result<T, RpcError>) -> Result<T, RpcError> {
        self.look_at(&self.store.state(), answer)
    }

    /// The same at a moment that was taken before.
    ///
    /// # Errors
    /// As [`App::look`].
    pub fn look_at<T>(
        &self,
        at: &Published<State>,
        answer: impl FnMut(&Published<State>) -> Result<T, RpcError>,
    ) -> Result<T, RpcError> {
        self.store.look_at(at, answer).map_err(unreadable)?
    }

    /// Whether the daemon is asked to stop.
    pub fn stopping(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// What is wrong with the journal, to a caller.
pub fn unreadable(Unreadable(why): Unreadable) -> RpcError {
    RpcError::new(code::INTERNAL, ErrorKind::Failed, why).next("run `coilwright journal verify`")
}
