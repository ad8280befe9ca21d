//! Loading: what is built in, how a user's folder adds to it or stands in its place, and how lookups answer.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_catalog::{Catalog, PluginOrigin, WireFilter};
use coilwright_core::conductor::Conductor;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::Length;
use coilwright_core::wire::Standing;
use std::path::Path;

fn plugin(root: &Path, id: &str, offers: &str, tables: &[(&str, &str)]) {
    let folder = root.join(id);
    std::fs::create_dir_all(folder.join("tables")).unwrap();
    let manifest =
        format!("format = 1\nid = \"{id}\"\nversion = \"2.0.0\"\ntitle = \"{id}\"\nlicence = \"own\"\n{offers}");
    std::fs::write(folder.join("plugin.toml"), manifest).unwrap();
    std::fs::write(folder.join("SOURCES.md"), "own measurements\n").unwrap();
    for (name, text) in tables {
        std::fs::write(folder.join("tables").join(name), text).unwrap();
    }
}

const WIRES: &str = "[[wire_table]]\nfile = \"tables/wire.csv\"\nconductor = \"copper\"\nseries = \"metric\"\nmark = \"published\"\n\
                     source = \"a supplier's list\"\n";

#[test]
fn the_built_in_plugins_pass_their_own_gate() {
    let catalog = Catalog::builtin().unwrap_or_else(|faults| panic!("{faults:#?}"));
    let told: Vec<(&str, [usize; 4])> = catalog
        .plugins()
        .iter()
        .map(|p| (p.id.as_str(), [p.listed_wires, p.computed_wires, p.formers, p.offers]))
        .collect();
    assert!(told.contains(&("formers", [0, 0, 7, 0])), "{told:?}");
    assert!(told.contains(&("supply", [0, 0, 0, 27])), "{told:?}");
    assert!(told.contains(&("wire-tables", [336, 3 * 336, 0, 0])), "{told:?}");
    for plugin in catalog.plugins().iter().filter(|p| ["formers", "supply", "wire-tables"].contains(&p.id.as_str())) {
        assert_eq!((&plugin.origin, plugin.licence.as_str()), (&PluginOrigin::BuiltIn, "MIT"));
        assert!(!plugin.cases.is_empty() && plugin.cases.iter().all(|c| c.figures > 0), "{plugin:?}");
    }
}

#[test]
fn a_wire_is_found_by_its_id_and_told_in_full() {
    let catalog = Catalog::builtin().unwrap();
    let wire = catalog.wire("cu-awg30-single").unwrap();
    assert_eq!((wire.label.as_str(), wire.series.as_str()), ("AWG 30 single, copper", "awg"));
    assert_eq!((wire.size.as_str(), wire.build.as_str()), ("AWG 30", "single"));
    assert_eq!((wire.standing, wire.mark), (Standing::Listed, Mark::Published));
    assert!(wire.source.contains("NEMA MW 1000") && wire.note.as_deref().unwrap().contains("rounded"));
    assert_eq!(
        (wire.at.plugin.as_str(), wire.at.file.as_str(), wire.at.line),
        ("wire-tables", "tables/awg-copper.csv", 80)
    );
    let aluminium = catalog.wire("al-awg30-single").unwrap();
    assert_eq!((aluminium.standing, aluminium.mark), (Standing::Computed, Mark::Derived));
    assert_eq!(catalog.wire("cu-0.560-grade1").unwrap().mark, Mark::Memory);
    assert!(catalog.wire("cu-awg30").is_none());
    assert_eq!(catalog.nearest_wire("cu-awg30-sngle").first(), Some(&"cu-awg30-single"));
    assert_eq!(catalog.nearest_wire("cu-0.25-grade1").first(), Some(&"cu-0.250-grade1"));
    assert_eq!(catalog.nearest_former("aluminum-foil"), ["aluminium-foil"]);
}

/// The AWG sizes whose limits no source gives have none, and say so; nothing is invented.
#[test]
fn what_no_source_gives_is_absent() {
    let catalog = Catalog::builtin().unwrap();
    let thick = &catalog.wire("cu-awg16-single").unwrap().wire;
    assert!(thick.bare_limits.is_none() && thick.overall_limits.is_none() && thick.origins.len() == 2);
    assert!(catalog.wire("cu-awg16.5-triple").is_none());
    assert!(catalog.wire("cu-0.070-grade1").unwrap().wire.ohm_per_m_limits.is_none());
    let kraft = catalog.former("kraft-paper").unwrap();
    assert!(kraft.material.expansion_per_k.is_none() && !kraft.material.is_metal());
    assert!(catalog.former("aluminium-foil").unwrap().material.heat_limit.is_none());
}

/// Densities of the built-in formers, g/cm³, and which of them is a metal.
#[test]
fn every_number_of_a_former_has_its_origin() {
    let catalog = Catalog::builtin().unwrap();
    let densities = [
        ("aluminium-foil", 2.70),
        ("aramid-paper", 0.95),
        ("glass-fibre-laminate", 1.85),
        ("kraft-paper", 0.95),
        ("polyester-film", 1.39),
        ("polyimide-film", 1.42),
        ("presspahn", 1.20),
    ];
    assert_eq!(catalog.formers().iter().map(|f| f.id.as_str()).collect::<Vec<_>>(), densities.map(|(id, _)| id));
    for (id, density) in densities {
        let former = catalog.former(id).unwrap();
        assert!((former.material.density.value.g_per_cm3() - density).abs() < 1e-12, "{id}");
        assert!(former.material.density.u.g_per_cm3() > 0.0, "{id}");
        assert_eq!(former.material.is_metal(), id == "aluminium-foil");
        assert_eq!(former.slit.mm(), if former.material.is_metal() { 1.0 } else { 0.0 });
        assert!(!former.walls.is_empty() && former.walls.is_sorted_by(|a, b| a < b), "{id}");
        assert!(former.numbers.iter().all(|n| !n.source.is_empty()), "{id}");
        assert!(former.thermal_conductivity_w_per_m_k.is_some(), "{id}");
    }
    let film = catalog.former("polyimide-film").unwrap();
    let density = film.numbers.iter().find(|n| n.figure == "density_g_per_cm3").unwrap();
    assert_eq!((density.mark, density.unit, density.u), (Mark::Published, "g/cm³", Some(0.003)));
}

#[test]
fn wires_come_in_one_order_and_by_what_is_wanted() {
    let catalog = Catalog::builtin().unwrap();
    let ids = |wanted: WireFilter<'static>| catalog.wires(wanted).map(|w| w.id.clone()).collect::<Vec<_>>();
    let all = ids(WireFilter::default());
    assert_eq!(all.len(), 4 * 336);
    assert_eq!(all, Catalog::builtin().unwrap().wires(WireFilter::default()).map(|w| w.id.clone()).collect::<Vec<_>>());
    assert_eq!(all[..4], ["cu-awg16-single", "cu-awg16-heavy", "cu-awg16-triple", "cu-awg16.5-single"]);
    let near_quarter = WireFilter {
        conductor: Some(Conductor::Copper),
        bare_min: Some(Length::from_mm(0.249)),
        bare_max: Some(Length::from_mm(0.255)),
        ..WireFilter::default()
    };
    assert_eq!(
        ids(near_quarter),
        [
            "cu-awg30-single",
            "cu-awg30-heavy",
            "cu-awg30-triple",
            "cu-0.250-grade1",
            "cu-0.250-grade2",
            "cu-0.250-grade3"
        ]
    );
    let singles = WireFilter { build: Some("single"), standing: Some(Standing::Listed), ..WireFilter::default() };
    assert_eq!(ids(singles).len(), 61);
    assert!(ids(WireFilter { plugin: Some("nobody"), ..WireFilter::default() }).is_empty());
}

#[test]
fn a_folder_adds_wires_and_formers() {
    let folder = tempfile::tempdir().unwrap();
    let table = "id,size,build,bare_mil,overall_min_mil,overall_max_mil,ohm_per_km\ncu-mine,10 mil,single,10,10.6,11.2,340.26\n";
    plugin(folder.path(), "acme", WIRES, &[("wire.csv", table)]);
    let former = "[[former_table]]\nfile = \"tables/formers.csv\"\nfigures = \"tables/figures.csv\"\n";
    let figures = "former,figure,value,u,mark,source\nfish-paper,density_g_per_cm3,1.1,0.05,memory,x\n\
                   fish-paper,wall_mm,0.2,,memory,x\nfish-paper,wall_mm,0.1,,memory,x\n";
    let tables = [("formers.csv", "id,label,note\nfish-paper,fish paper,\n"), ("figures.csv", figures)];
    plugin(folder.path(), "papers", former, &tables);
    std::fs::create_dir(folder.path().join(".git")).unwrap();
    std::fs::write(folder.path().join("README"), "").unwrap();

    let loaded = Catalog::load(Some(folder.path()));
    assert_eq!(loaded.faults, []);
    let (mine, listed) = (loaded.catalog.wire("cu-mine").unwrap(), loaded.catalog.wire("cu-awg30-single").unwrap());
    assert!((mine.wire.overall.value - listed.wire.overall.value).abs() < Length::from_um(1e-6));
    assert!((mine.wire.ohm_per_m().value.ohm_per_m() - 0.34026).abs() < 1e-12);
    let paper = loaded.catalog.former("fish-paper").unwrap();
    assert_eq!(paper.walls.iter().map(|w| w.mm()).collect::<Vec<_>>(), [0.1, 0.2]);
    let origin = loaded.catalog.plugins().iter().find(|p| p.id == "acme").map(|p| p.origin.clone());
    assert_eq!(origin, Some(PluginOrigin::Folder { path: folder.path().join("acme"), overrides: false }));
}

#[test]
fn a_folder_with_a_built_in_id_stands_in_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let table = "id,size,build,bare_mm,overall_mm\ncu-awg30-single,AWG 30,single,0.2546,0.2769\n";
    plugin(folder.path(), "wire-tables", WIRES, &[("wire.csv", table)]);
    let loaded = Catalog::load(Some(folder.path()));
    // The built-in offers are of wires that went with the tables: what becomes of them is told in offers.rs.
    assert!(loaded.faults.iter().all(|f| f.plugin == "supply"), "{:?}", loaded.faults);
    assert_eq!(loaded.catalog.wires(WireFilter::default()).count(), 1);
    assert_eq!(loaded.catalog.wire("cu-awg30-single").unwrap().wire.bare.value.mm(), 0.2546);
    assert!(loaded.catalog.former("aluminium-foil").is_some());
    let info = loaded.catalog.plugins().iter().find(|p| p.id == "wire-tables").unwrap();
    assert!(matches!(info.origin, PluginOrigin::Folder { overrides: true, .. }));
}

#[test]
fn a_broken_replacement_leaves_the_built_in_plugin_in_use() {
    let folder = tempfile::tempdir().unwrap();
    plugin(
        folder.path(),
        "wire-tables",
        WIRES,
        &[("wire.csv", "id,size,build,bare_mm,overall_mm\ncu-x,s,b,0.3,0.2\n")],
    );
    let loaded = Catalog::load(Some(folder.path()));
    assert_eq!(loaded.faults.len(), 1);
    assert_eq!(loaded.faults[0].plugin, "wire-tables");
    assert!(loaded.catalog.wire("cu-awg30-single").is_some());

    // The same where the replacement is right in itself, but takes another plugin's id.
    let formers = "[[former_table]]\nfile = \"tables/formers.csv\"\nfigures = \"tables/figures.csv\"\n";
    let figures = "former,figure,value,u,mark,source\naluminium-foil,density_g_per_cm3,2.7,0.1,memory,x\n";
    let tables = [("formers.csv", "id,label\naluminium-foil,foil\n"), ("figures.csv", figures)];
    plugin(folder.path(), "wire-tables", formers, &tables);
    let loaded = Catalog::load(Some(folder.path()));
    let told: Vec<String> = loaded.faults.iter().map(ToString::to_string).collect();
    assert!(
        told[0].contains("the former `aluminium-foil` is already in plugin formers, tables/formers.csv, line 3"),
        "{told:?}"
    );
    assert!(loaded.catalog.wire("cu-awg30-single").is_some());
}

#[test]
fn a_folder_that_is_not_there_is_a_fault_and_the_rest_loads() {
    let loaded = Catalog::load(Some(Path::new("/nonexistent/plugins")));
    assert_eq!(loaded.faults.len(), 1);
    assert!(loaded.faults[0].to_string().contains("/nonexistent/plugins cannot be read"), "{}", loaded.faults[0]);
    assert_eq!(loaded.catalog.digest(), Catalog::builtin().unwrap().digest());
}

#[test]
fn the_digest_is_of_the_contents_alone() {
    let table = |ohm: &str| format!("id,size,build,bare_mm,overall_mm,ohm_per_m\ncu-mine,s,b,0.254,0.277,{ohm}\n");
    let digest = |ohm: &str, beside: bool| {
        let folder = tempfile::tempdir().unwrap();
        if beside {
            std::fs::write(folder.path().join("a-file"), "x").unwrap();
        }
        plugin(folder.path(), "acme", WIRES, &[("wire.csv", &table(ohm))]);
        let loaded = Catalog::load(Some(folder.path()));
        assert_eq!(loaded.faults, []);
        loaded.catalog.digest().to_owned()
    };
    assert_eq!(digest("0.340", false), digest("0.340", true));
    assert_ne!(digest("0.340", false), digest("0.341", false));
    assert_eq!(digest("0.340", false).len(), 64);
}

/// A hundred plugins of a hundred wires each load, and one more with a fault does not stop them.
#[test]
fn ten_thousand_wires_load() {
    let folder = tempfile::tempdir().unwrap();
    for p in 0..100 {
        let rows: String = (0..100).map(|w| format!("cu-p{p}-w{w},{w},single,0.25,0.274\n")).collect();
        plugin(
            folder.path(),
            &format!("p{p}"),
            WIRES,
            &[("wire.csv", &format!("id,size,build,bare_mm,overall_mm\n{rows}"))],
        );
    }
    plugin(folder.path(), "zz-broken", WIRES, &[("wire.csv", "id,size,build,bare_mm,overall_mm\ncu-x,s,b,,0.2\n")]);
    let loaded = Catalog::load(Some(folder.path()));
    assert_eq!(loaded.faults.len(), 1);
    assert_eq!(loaded.catalog.wires(WireFilter::default()).count(), 4 * 336 + 10_000);
    assert_eq!(loaded.catalog.wire("cu-p99-w99").unwrap().at.plugin, "p99");
}
