//! What the requests look at: the catalog and the program itself.

use coilwright_catalog::Catalog;

/// What the requests look at.
pub struct App {
    /// Version of the program.
    pub version: &'static str,
    /// Wires and former materials.
    pub catalog: Catalog,
    /// What was refused when the plugins were read, in sentences.
    pub faults: Vec<String>,
}
