//! Adhesives: how they load with the origin of every number, and what refuses them to line and column.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_catalog::{Catalog, Fault, Loaded};
use coilwright_core::adhesive::Kind;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::Temperature;

const TABLES: &str =
    "[[adhesive_table]]\nfile = \"tables/names.csv\"\nfigures = \"tables/figures.csv\"\ncures = \"tables/cures.csv\"\n";
const NAMES: &str = "id,label,kind,note\nhall-resin,hall resin,epoxy,from the hall\n";
const FIGURES: &str = "adhesive,figure,value,u,mark,source\nhall-resin,density_g_per_cm3,1.17,0.01,published,the tin\n";
const CURES: &str = "adhesive,at_c,time_h,glass_c,mark,source\nhall-resin,60,3,80,published,the tin\n";

/// Loads a plugin `hall` with these three tables.
fn with(names: &str, figures: &str, cures: &str) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    let hall = folder.path().join("hall");
    std::fs::create_dir_all(hall.join("tables")).unwrap();
    let manifest =
        format!("format = 1\nid = \"hall\"\nversion = \"2.0.0\"\ntitle = \"hall\"\nlicence = \"own\"\n{TABLES}");
    for (file, text) in [
        ("plugin.toml", manifest.as_str()),
        ("SOURCES.md", "the tin\n"),
        ("tables/names.csv", names),
        ("tables/figures.csv", figures),
        ("tables/cures.csv", cures),
    ] {
        std::fs::write(hall.join(file), text).unwrap();
    }
    Catalog::load(Some(folder.path()))
}

#[track_caller]
fn refused(loaded: Loaded, file: &str, line: u64, column: &str, words: &str) {
    let here =
        |f: &Fault| f.file.as_deref() == Some(file) && f.line == Some(line) && f.column.as_deref() == Some(column);
    let found = loaded.faults.iter().any(|f| f.plugin == "hall" && here(f) && f.to_string().contains(words));
    let all: Vec<String> = loaded.faults.iter().map(Fault::to_string).collect();
    assert!(found, "no fault in {file}, line {line}, column {column} with `{words}` among\n{}", all.join("\n"));
    assert_eq!(loaded.catalog.digest(), Catalog::builtin().unwrap().digest());
}

#[test]
fn an_adhesive_is_told_in_full() {
    let more = "hall-resin,hardener_per_100_resin,40,,published,the tin\nhall-resin,pot_life_min,90,,published,the tin\n\
                hall-resin,pot_life_at_c,25,,published,the tin\nhall-resin,pot_life_mass_g,100,,published,the tin\n";
    let cures = format!("{CURES}hall-resin,20,48,,memory,as remembered\n");
    let Loaded { catalog, faults, .. } = with(NAMES, &format!("{FIGURES}{more}"), &cures);
    assert_eq!(faults, []);
    let resin = catalog.adhesive("hall-resin").unwrap();
    assert_eq!((resin.label.as_str(), resin.note.as_deref()), ("hall resin", Some("from the hall")));
    let a = &resin.adhesive;
    assert_eq!((a.kind, a.hardener, a.ratio_limit, a.solids, a.doubling_k), (Kind::Epoxy, Some(0.4), None, 1.0, 10.0));
    let pot = a.pot_life.unwrap();
    assert_eq!((pot.minutes, pot.at, pot.up_to.unwrap().g()), (90.0, Temperature::from_c(25.0), 100.0));
    // Cool to hot, whatever the order of the table, and each with its own origin.
    assert_eq!(a.cures.iter().map(|c| c.hours).collect::<Vec<_>>(), [48.0, 3.0]);
    assert_eq!(resin.cures.iter().map(|c| c.mark).collect::<Vec<_>>(), [Mark::Memory, Mark::Published]);
    assert_eq!(a.cures[1].glass, Some(Temperature::from_c(80.0)));
    assert_eq!(catalog.plugins().iter().find(|p| p.id == "hall").unwrap().adhesives, 1);
}

/// What SOURCES.md says of them: kinds and no products, all of it practice or memory.
#[test]
fn the_built_in_adhesives_say_that_they_are_unverified() {
    let catalog = Catalog::builtin().unwrap();
    let ids: Vec<&str> = catalog.adhesives().iter().map(|a| a.id.as_str()).collect();
    assert_eq!(ids, ["cement-solvent", "epoxy-fast-equal", "epoxy-hot-100-30", "epoxy-slow-equal"]);
    for a in catalog.adhesives() {
        let marks = a.numbers.iter().map(|n| n.mark).chain(a.cures.iter().map(|c| c.mark));
        assert!(marks.clone().all(|m| matches!(m, Mark::Memory | Mark::CommonPractice)), "{}", a.id);
        assert_eq!(a.cures.len(), a.adhesive.cures.len());
        assert!(a.adhesive.pot_life.is_some() && !a.cures.is_empty(), "{}", a.id);
        let sources = a.numbers.iter().map(|n| &n.source).chain(a.cures.iter().map(|c| &c.source));
        assert!(sources.clone().all(|s| s.contains("unverified") || s.contains("no source") || s.contains("tin")));
    }
    assert_eq!(catalog.nearest_adhesive("epoxy-slow")[0], "epoxy-slow-equal");
    assert!(catalog.adhesive("epoxy").is_none());
}

#[test]
fn tables_of_adhesives_that_are_wrong_are_refused_where_they_are() {
    let (names, figures, cures) = ("tables/names.csv", "tables/figures.csv", "tables/cures.csv");
    let with_figure = |row: &str| with(NAMES, &format!("{FIGURES}{row}\n"), CURES);
    let with_cure = |row: &str| with(NAMES, FIGURES, &format!("{CURES}{row}\n"));
    refused(with(&NAMES.replace("epoxy", "glue"), FIGURES, CURES), names, 2, "kind", "`glue` is no kind");
    refused(with(&NAMES.replace("hall resin", ""), FIGURES, CURES), names, 2, "label", "the label is missing");
    refused(with(&NAMES.replace("kind", "sort"), FIGURES, CURES), names, 1, "sort", "no column is called `sort`");
    let bare = "adhesive,figure,value,u,mark,source\n";
    refused(with(NAMES, bare, CURES), names, 2, "id", "`hall-resin` has no density_g_per_cm3");
    refused(with(NAMES, &FIGURES.replace("0.01", ""), CURES), names, 2, "id", "density of `hall-resin` has no u");
    refused(with_figure("hall-resin,pot_life_min,60,,memory,x"), names, 2, "id", "no pot_life_at_c");
    refused(with_figure("hall-resin,pot_life,60,,memory,x"), figures, 3, "figure", "did you mean `pot_life_min`?");
    refused(with_figure("hall-resim,pot_life_min,60,,memory,x"), figures, 3, "adhesive", "did you mean `hall-resin`?");
    refused(with_figure("hall-resin,pot_life_min,0,,memory,x"), figures, 3, "value", "0 min is outside 0.5 to 100000");
    refused(with_figure("hall-resin,density_g_per_cm3,1.2,0.1,memory,x"), figures, 3, "figure", "there twice");
    refused(with_figure("hall-resin,solids_pct,30,,rumour,x"), figures, 3, "mark", "`rumour` is no mark");
    refused(with_cure("hall-resin,900,1,,memory,x"), cures, 3, "at_c", "900 °C is outside 0 to 400");
    refused(with_cure("hall-resin,80,0,,memory,x"), cures, 3, "time_h", "0 h is outside 0.01 to 10000");
    refused(with_cure("hall-resin,60,1,,memory,x"), cures, 3, "at_c", "a cure of hall-resin at 60 °C is there twice");
    refused(with_cure("hall-resin,80,1,,memory,"), cures, 3, "source", "the source is not named");
    refused(with_cure("other,80,1,,memory,x"), cures, 3, "adhesive", "no adhesive");
}
