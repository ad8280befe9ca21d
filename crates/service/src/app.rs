//! What the requests look at: the catalog, the shop's memory, and the program itself.

use coilwright_catalog::Catalog;
use coilwright_shop::refusal::Refusal;
use coilwright_shop::state::State;
use coilwright_store::Store;

/// What the requests look at.
pub struct App {
    /// Version of the program.
    pub version: &'static str,
    /// Wires and former materials.
    pub catalog: Catalog,
    /// The shop's memory.
    pub store: Store<State, Refusal>,
    /// What was found wrong when the daemon started, in sentences.
    pub faults: Vec<String>,
}
