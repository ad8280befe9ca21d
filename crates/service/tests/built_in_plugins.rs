//! The built-in plugins pass their own gate, the worked examples of their scripts with it.

use coilwright_catalog::Catalog;
use coilwright_service::bare_room;

#[test]
fn built_in_plugins_pass_their_own_gate_scripts_included() {
    let loaded = Catalog::load_in(None, &bare_room());
    let faults: Vec<String> = loaded.faults.iter().map(ToString::to_string).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let replayed = |id: &str| loaded.catalog.plugins().iter().find(|p| p.id == id).map_or(0, |p| p.cases.len());
    assert!(replayed("costing") >= 3 && replayed("checks") >= 7);
}
