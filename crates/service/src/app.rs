//! What the requests look at: the catalog, the shop's memory, and the program itself.

use crate::backups::Backups;
use coilwright_catalog::Catalog;
use coilwright_shop::refusal::Refusal;
use coilwright_shop::state::State;
use coilwright_store::Store;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

/// What the requests look at.
pub struct App {
    /// Version of the program.
    pub version: &'static str,
    /// Wires and former materials.
    pub catalog: Arc<Catalog>,
    /// The shop's memory.
    pub store: Store<State, Refusal>,
    /// Where backups go, if a folder for them is set.
    pub backups: Option<Backups>,
    /// Taken while a full plan is made: one at a time.
    pub full_plans: Mutex<()>,
    /// Set when the daemon is asked to stop: long work ends early.
    pub stop: AtomicBool,
    /// What was found wrong when the daemon started, in sentences.
    pub faults: Vec<String>,
}

impl App {
    /// Whether the daemon is asked to stop.
    pub fn stopping(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}
