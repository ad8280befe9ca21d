//! Broken plugins: each is refused by name with file, line and column, and the others load.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_catalog::{Catalog, Fault};
use std::path::Path;

const MANIFEST: &str = "format = 1\nid = \"shop\"\nversion = \"1.0.0\"\ntitle = \"Test\"\nlicence = \"own\"\n";
const WIRE_TABLE: &str = "[[wire_table]]\nfile = \"tables/wire.csv\"\nconductor = \"copper\"\nseries = \"metric\"\n\
                          mark = \"published\"\nsource = \"a list\"\n";
const FORMER_TABLE: &str = "[[former_table]]\nfile = \"tables/formers.csv\"\nfigures = \"tables/figures.csv\"\n";

/// Writes a plugin `test-wires` with one wire table.
fn with_wires(table: &[u8]) -> Vec<Fault> {
    faults_of(&[("plugin.toml", &manifest(WIRE_TABLE)), ("SOURCES.md", b"own"), ("tables/wire.csv", table)])
}

fn manifest(offers: &str) -> Vec<u8> {
    format!("{}{offers}", MANIFEST.replace("\"shop\"", "\"test-wires\"")).into_bytes()
}

/// Loads a plugin of these files, and checks that it was refused while the built-in ones loaded.
fn faults_of(files: &[(&str, &[u8])]) -> Vec<Fault> {
    let folder = tempfile::tempdir().unwrap();
    write(&folder.path().join("test-wires"), files);
    let loaded = Catalog::load(Some(folder.path()));
    assert!(loaded.catalog.plugins().iter().all(|p| p.id != "test-wires"), "it loaded");
    assert!(loaded.catalog.wire("cu-awg30-single").is_some(), "the others did not load");
    assert!(!loaded.faults.is_empty(), "refused without a fault");
    loaded.faults
}

fn write(plugin: &Path, files: &[(&str, &[u8])]) {
    for (name, contents) in files {
        let path = plugin.join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, contents).unwrap();
    }
}

#[track_caller]
fn says(faults: &[Fault], file: &str, line: Option<u64>, column: Option<&str>, words: &str) {
    let here = |f: &Fault| f.file.as_deref() == Some(file) && f.line == line && f.column.as_deref() == column;
    let found = faults.iter().any(|f| f.plugin == "test-wires" && here(f) && f.to_string().contains(words));
    let all: Vec<String> = faults.iter().map(Fault::to_string).collect();
    assert!(found, "no fault in {file}, line {line:?}, column {column:?} with `{words}` among\n{}", all.join("\n"));
}

const HEADER: &str =
    "id,size,build,bare_mm,bare_min_mm,bare_max_mm,overall_mm,overall_min_mm,overall_max_mm,ohm_per_m,g_per_m";
const GOOD: &str = "cu-t1,0.250 mm,grade 1,0.250,,,0.274,,,,";

/// A table of a good row and a row at fault, which is line 3.
#[track_caller]
fn row_fault(row: &str, column: &str, words: &str) {
    let faults = with_wires(format!("{HEADER}\n{GOOD}\n{row}\n").as_bytes());
    says(&faults, "tables/wire.csv", Some(3), Some(column), words);
}

/// A table with this header, which is line 1.
#[track_caller]
fn header_fault(header: &str, column: &str, words: &str) {
    let faults = with_wires(format!("{header}\n").as_bytes());
    says(&faults, "tables/wire.csv", Some(1), Some(column), words);
}

#[track_caller]
fn manifest_fault(manifest: &str, line: Option<u64>, column: Option<&str>, words: &str) {
    let table = format!("{HEADER}\n{GOOD}\n");
    let faults = faults_of(&[
        ("plugin.toml", manifest.as_bytes()),
        ("SOURCES.md", b"own"),
        ("tables/wire.csv", table.as_bytes()),
    ]);
    says(&faults, "plugin.toml", line, column, words);
}

fn manifest_text(offers: &str) -> String {
    String::from_utf8(manifest(offers)).unwrap()
}

#[test]
fn a_good_row_alone_is_no_fault() {
    let folder = tempfile::tempdir().unwrap();
    let table = format!("{HEADER}\n{GOOD}\n");
    let files: [(&str, &[u8]); 3] =
        [("plugin.toml", &manifest(WIRE_TABLE)), ("SOURCES.md", b"own"), ("tables/wire.csv", table.as_bytes())];
    write(&folder.path().join("test-wires"), &files);
    let loaded = Catalog::load(Some(folder.path()));
    assert_eq!(loaded.faults, []);
    assert!(loaded.catalog.wire("cu-t1").is_some());
}

#[test]
fn numbers_that_are_none_are_refused_in_their_cell() {
    row_fault("cu-t2,s,b,0.250,,,0.274,0.2x,0.28,,", "overall_min_mm", "`0.2x` is not a number");
    row_fault("cu-t2,s,b,\"0,250\",,,0.274,,,,", "bare_mm", "`0,250` has a decimal comma; write 0.250");
    row_fault("cu-t2,s,b,nan,,,0.274,,,,", "bare_mm", "`nan` is not a number");
    row_fault("cu-t2,s,b,0.250,,,inf,,,,", "overall_mm", "`inf` is not a number");
    row_fault("cu-t2,s,b,1e999,,,0.274,,,,", "bare_mm", "`1e999` is not a number");
    row_fault("cu-t2,s,b,-0.250,,,0.274,,,,", "bare_mm", "-0.250 is not above zero");
    row_fault("cu-t2,s,b,0.250,,,0.274,,,0,", "ohm_per_m", "0 is not above zero");
    row_fault("cu-t2,s,b,0.25 mm,,,0.274,,,,", "bare_mm", "`0.25 mm` is not a number");
}

#[test]
fn figures_that_contradict_each_other_are_refused() {
    row_fault(
        "cu-t2,s,b,0.250,,,0.240,,,,",
        "overall_mm",
        "overall diameter 0.24 mm is below the bare diameter 0.25 mm",
    );
    row_fault("cu-t2,s,b,0.250,,,,0.230,0.240,,", "overall_min_mm", "is below the bare diameter 0.25 mm");
    row_fault("cu-t2,s,b,0.250,0.246,0.254,,0.240,0.300,,", "overall_min_mm", "below the least bare diameter 0.246 mm");
    row_fault("cu-t2,s,b,0.250,,,,0.290,0.280,,", "overall_min_mm", "least value 0.29 is above the greatest, 0.28");
    row_fault("cu-t2,s,b,0.250,0.260,0.270,0.274,,,,", "bare_mm", "limits 0.26 to 0.27 do not hold 0.25");
    row_fault("cu-t2,s,b,0.250,0.246,,0.274,,,,", "bare_max_mm", "without the greatest; give both or neither");
    row_fault("cu-t2,s,b,0.250,,,0.274,,,3.4824,", "ohm_per_m", "more than 25 % apart");
    row_fault("cu-t2,s,b,0.250,,,0.274,,,,452", "g_per_m", "more than 25 % apart");
    row_fault("cu-t2,s,b,250,,,274,,,,", "bare_mm", "outside 0.005 to 10 mm; is the unit in the header right?");
    row_fault("cu-t2,s,b,0.250,,,,,,,", "overall_mm", "the overall diameter is missing");
    row_fault("cu-t2,s,b,,,,0.274,,,,", "bare_mm", "the bare diameter is missing");
}

#[test]
fn words_that_are_wrong_are_refused() {
    row_fault("CU T2,s,b,0.250,,,0.274,,,,", "id", "`CU T2` is no id of a wire");
    row_fault(",s,b,0.250,,,0.274,,,,", "id", "the id is missing");
    row_fault("cu-t2,,b,0.250,,,0.274,,,,", "size", "the size is missing");
    let table =
        "id,size,build,bare_mm,overall_mm,conductor,mark\ncu-t1,s,b,0.25,0.27,cooper,\ncu-t2,s,b,0.25,0.27,,sure\n";
    let faults = with_wires(table.as_bytes());
    says(&faults, "tables/wire.csv", Some(2), Some("conductor"), "`cooper` is no conductor; write copper, aluminium");
    says(&faults, "tables/wire.csv", Some(3), Some("mark"), "`sure` is no mark; write published, derived");
}

#[test]
fn an_id_that_is_there_twice_names_both_places() {
    row_fault("cu-t1,s,b,0.250,,,0.274,,,,", "id", "the wire `cu-t1` is already in tables/wire.csv, line 2");
    row_fault(
        "cu-awg30-single,s,b,0.254,,,0.277,,,,",
        "id",
        "`cu-awg30-single` is already in plugin wire-tables, tables/awg-copper.csv, line 80",
    );
}

#[test]
fn headers_that_are_wrong_are_refused() {
    header_fault("id,size,build,bare,overall_mm", "bare", "does not say its unit; write bare_mm, bare_um, bare_mil");
    header_fault(
        "id,size,build,bare_mn,overall_mm",
        "bare_mn",
        "no column is called `bare_mn`; did you mean `bare_mm`?",
    );
    header_fault("id,size,build,bare_mm,overall_mm,colour", "colour", "the columns are: id, size");
    header_fault("id,size,build,bare_mm,overall_mm,size", "size", "the column `size` is there twice");
    header_fault("id,size,build,overall_mm", "bare_mm", "the column `bare_mm` is missing");
    header_fault("id,size,build,bare_mm,overall_min_mm", "overall_mm", "or both limits");
    header_fault("size,build,bare_mm,overall_mm", "id", "the column `id` is missing");
}

#[test]
fn tables_that_cannot_be_read_are_refused() {
    let file = "tables/wire.csv";
    says(&with_wires(b""), file, None, None, "the table is empty");
    let semicolons = with_wires(b"id;size;build;bare_mm;overall_mm\n");
    says(&semicolons, file, Some(1), None, "separated by semicolons or tabs; save the table with commas");
    let comma = format!("{HEADER}\n{GOOD}\ncu-t2,s,b,0,250,,,0,274,,,,\n");
    says(&with_wires(comma.as_bytes()), file, Some(3), None, "13 cells where the header has 11; write decimal points");
    let mut latin = format!("{HEADER}\n{GOOD}\n").into_bytes();
    latin.extend(b"cu-t2,0.25 mm,gr\xfcn,0.25,,,0.27,,,,\n");
    says(&with_wires(&latin), file, Some(3), None, "the text is not UTF-8; save the file with the encoding UTF-8");
    says(&with_wires(&[b'#'; (8 << 20) + 1]), file, None, None, "larger than the 8388608 bytes allowed");
    let open = format!("{HEADER}\n{GOOD}\ncu-t2,\"s,b,0.25,,,0.27,,,,\n{GOOD}\n");
    says(&with_wires(open.as_bytes()), file, Some(3), None, "a quotation mark is not closed; close it, or take it out");
    let long = format!("{HEADER}\n{}\n", "x".repeat(3000));
    says(&with_wires(long.as_bytes()), file, Some(2), None, "cell 1 is longer than 2000 bytes");
    let faults = faults_of(&[("plugin.toml", &manifest(WIRE_TABLE)), ("SOURCES.md", b"own")]);
    says(&faults, file, None, None, "the file is not there");
}

#[test]
fn remarks_empty_lines_crlf_and_byte_order_marks_do_not_shift_the_line() {
    let table = format!(
        "\u{feff}# a remark\r\n\r\n{HEADER}\r\n# another\r\n\r\n{GOOD}\r\ncu-t2,s,\"b\r\nb\",0.25,,,0.27,,,,\r\ncu-t3,s,b,x,,,0.27,,,,"
    );
    let faults = with_wires(table.as_bytes());
    assert_eq!(faults.len(), 1, "{faults:?}");
    says(&faults, "tables/wire.csv", Some(9), Some("bare_mm"), "`x` is not a number");
}

#[test]
fn every_fault_of_a_table_is_told_up_to_a_bound() {
    let rows: String = (0..100).map(|n| format!("cu-t{n},s,b,x,,,0.27,,,,\n")).collect();
    let faults = with_wires(format!("{HEADER}\n{rows}").as_bytes());
    assert_eq!(faults.len(), 41);
    assert_eq!(faults.last().map(|f| f.message.as_str()), Some("60 more faults are not listed"));
}

#[test]
fn manifests_that_are_wrong_are_refused_with_their_line() {
    let good = manifest_text(WIRE_TABLE);
    let change = |from: &str, to: &str| good.replacen(from, to, 1);
    manifest_fault(&change("licence", "license"), Some(5), Some("license"), "did you mean `licence`?");
    manifest_fault(
        &change("[[wire_table]]", "[[wire_tabel]]"),
        Some(6),
        Some("wire_tabel"),
        "did you mean `wire_table`?",
    );
    manifest_fault(&change("conductor =", "conducter ="), Some(8), Some("conducter"), "did you mean `conductor`?");
    manifest_fault(
        &change("format = 1\n", ""),
        None,
        Some("format"),
        "the plugin format is not stated; write `format = 1`",
    );
    manifest_fault(&change("format = 1", "format = 2"), None, Some("format"), "written for plugin format 2");
    manifest_fault(
        &change("\"1.0.0\"", "\"one\""),
        Some(3),
        Some("version"),
        "`one` is no version; write three numbers",
    );
    manifest_fault(&change("\"own\"", "\" \""), Some(5), Some("licence"), "the licence is empty");
    manifest_fault(&change("\"copper\"", "\"gold\""), Some(8), Some("conductor"), "`gold` is no conductor");
    manifest_fault(&change("\"published\"", "\"learned\""), Some(10), Some("mark"), "`learned` is no mark");
    manifest_fault(&change("title = \"Test\"", "title = "), Some(4), None, "");
    manifest_fault(&change("version = \"1.0.0\"\n", ""), Some(1), Some("version"), "the key `version` is missing");
    manifest_fault(
        &change("\"test-wires\"", "\"test-wire\"").replace("test-wire\"", "Test\""),
        Some(2),
        Some("id"),
        "no plugin id",
    );
    manifest_fault(&format!("x = {}", "[".repeat(60_000)), Some(1), None, "");
    manifest_fault(&"#".repeat(70_000), None, None, "larger than the 65536 bytes allowed");
    let derived = format!("{good}[[wire_derived]]\nfrom = \"xx-\"\nto = \"al-\"\nconductor = \"aluminium\"\n");
    manifest_fault(&derived, Some(13), Some("from"), "no wire of this plugin has an id that begins with `xx-`");
}

#[test]
fn an_id_that_is_not_the_folders_or_is_reserved_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let other = MANIFEST.replace("\"shop\"", "\"another\"");
    write(&folder.path().join("test-wires"), &[("plugin.toml", other.as_bytes()), ("SOURCES.md", b"own")]);
    write(&folder.path().join("shop"), &[("plugin.toml", MANIFEST.as_bytes()), ("SOURCES.md", b"own")]);
    write(&folder.path().join("empty"), &[("notes.txt", b"")]);
    let told: Vec<String> = Catalog::load(Some(folder.path())).faults.iter().map(Fault::to_string).collect();
    let expected = [
        "plugin empty, plugin.toml: the file is not there; every folder here is a plugin and needs one, its name in small letters; move other folders elsewhere",
        "plugin shop, plugin.toml, line 2, column id: `shop` is the first word of the program's own methods; take another id, \
         e.g. with the shop's name before it",
        "plugin another, plugin.toml, line 2, column id: the id is `another`, but the folder is called `test-wires`; give both \
         the same name",
    ];
    assert_eq!(told, expected);
}

#[test]
fn a_file_outside_the_folder_is_refused() {
    let outside = |file: &str| manifest_text(&WIRE_TABLE.replace("tables/wire.csv", file));
    for name in ["../wire.csv", "/etc/hostname", "tables/../../wire.csv", "tables\\\\wire.csv", ""] {
        let faults = faults_of(&[("plugin.toml", outside(name).as_bytes()), ("SOURCES.md", b"own")]);
        assert!(faults.iter().any(|f| f.message.contains("does not lie in the plugin's folder")), "{name}: {faults:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_link_out_of_the_folder_is_refused_and_a_pipe_does_not_hang() {
    let folder = tempfile::tempdir().unwrap();
    let plugin = folder.path().join("plugins/test-wires");
    write(&plugin, &[("plugin.toml", &manifest(WIRE_TABLE)), ("SOURCES.md", b"own"), ("tables/x", b"")]);
    std::fs::write(folder.path().join("secret.csv"), format!("{HEADER}\n{GOOD}\n")).unwrap();
    std::os::unix::fs::symlink(folder.path().join("secret.csv"), plugin.join("tables/wire.csv")).unwrap();
    let load = || Catalog::load(Some(&folder.path().join("plugins"))).faults;
    says(
        &load(),
        "tables/wire.csv",
        None,
        None,
        "a link that leads out of the plugin's folder; copy the file in instead",
    );

    std::fs::remove_file(plugin.join("tables/wire.csv")).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(plugin.join("tables/wire.csv")).status().unwrap().success());
    says(&load(), "tables/wire.csv", None, None, "this is no plain file");

    std::fs::rename(&plugin, folder.path().join("elsewhere")).unwrap();
    std::os::unix::fs::symlink(folder.path().join("elsewhere"), &plugin).unwrap();
    assert!(load().iter().any(|f| f.plugin == "test-wires" && f.message.contains("leads out of the plugins' folder")));
}

#[test]
fn sources_are_needed() {
    let table = format!("{HEADER}\n{GOOD}\n");
    let faults = faults_of(&[("plugin.toml", &manifest(WIRE_TABLE)), ("tables/wire.csv", table.as_bytes())]);
    says(&faults, "SOURCES.md", None, None, "write where the numbers come from");
    let bare = WIRE_TABLE.replace("mark = \"published\"\n", "").replace("source = \"a list\"\n", "");
    let faults =
        faults_of(&[("plugin.toml", &manifest(&bare)), ("SOURCES.md", b"x"), ("tables/wire.csv", table.as_bytes())]);
    says(&faults, "tables/wire.csv", Some(2), Some("mark"), "how good the source is");
    let marked = WIRE_TABLE.replace("source = \"a list\"\n", "");
    let faults =
        faults_of(&[("plugin.toml", &manifest(&marked)), ("SOURCES.md", b"x"), ("tables/wire.csv", table.as_bytes())]);
    says(&faults, "tables/wire.csv", Some(2), Some("source"), "the source is not named");
}

/// A table of formers with the figures given, the first of them on line 2.
#[track_caller]
fn figure_fault(figures: &str, file: &str, line: u64, column: &str, words: &str) {
    let formers = "id,label,note\nfish-paper,fish paper,\n";
    let figures = format!("former,figure,value,u,mark,source\n{figures}");
    let faults = faults_of(&[
        ("plugin.toml", &manifest(FORMER_TABLE)),
        ("SOURCES.md", b"own"),
        ("tables/formers.csv", formers.as_bytes()),
        ("tables/figures.csv", figures.as_bytes()),
    ]);
    says(&faults, file, Some(line), Some(column), words);
}

#[test]
fn figures_of_formers_that_are_wrong_are_refused() {
    let (names, figures) = ("tables/formers.csv", "tables/figures.csv");
    figure_fault("", names, 2, "id", "`fish-paper` has no density_g_per_cm3");
    figure_fault(
        "fish-paper,density_g_per_cm3,1.2,,memory,x\n",
        names,
        2,
        "id",
        "the density of `fish-paper` has no u",
    );
    figure_fault("fish-paper,density,1.2,0.1,memory,x\n", figures, 2, "figure", "did you mean `density_g_per_cm3`?");
    figure_fault("fishpaper,density_g_per_cm3,1.2,0.1,memory,x\n", figures, 2, "former", "did you mean `fish-paper`?");
    figure_fault("fish-paper,density_g_per_cm3,1200,1,memory,x\n", figures, 2, "value", "outside 0.02 to 25");
    figure_fault("fish-paper,density_g_per_cm3,\"1,2\",0.1,memory,x\n", figures, 2, "value", "has a decimal comma");
    figure_fault("fish-paper,density_g_per_cm3,1.2,-0.1,memory,x\n", figures, 2, "u", "no standard uncertainty of 1.2");
    figure_fault("fish-paper,density_g_per_cm3,1.2,0.1,,x\n", figures, 2, "mark", "is no mark");
    figure_fault("fish-paper,density_g_per_cm3,1.2,0.1,memory,\n", figures, 2, "source", "the source is not named");
    let twice = "fish-paper,heat_limit_c,90,,memory,x\nfish-paper,heat_limit_c,95,,memory,x\n";
    figure_fault(twice, figures, 3, "figure", "heat_limit_c of fish-paper is there twice; only wall_mm may be");
}

/// A good plugin with these worked examples.
#[track_caller]
fn case_fault(cases: &str, line: u64, column: Option<&str>, words: &str) {
    let table = format!("{HEADER}\n{GOOD}\n");
    let faults = faults_of(&[
        ("plugin.toml", &manifest(WIRE_TABLE)),
        ("SOURCES.md", b"own"),
        ("tables/wire.csv", table.as_bytes()),
        ("cases/own.json", cases.as_bytes()),
    ]);
    says(&faults, "cases/own.json", Some(line), column, words);
}

#[test]
fn a_plugin_that_fails_its_own_examples_is_refused_with_both_figures() {
    let case = |wire: &str, expect: &str| {
        format!(
            "{{\"cases\": [\n  {{\"title\": \"T\", \"source\": \"s\", \"wire\": \"{wire}\",\n   \"expect\": {{\n     {expect}}}}}\n]}}\n"
        )
    };
    let bare = "\"bare_mm\": {\"value\": 0.25, \"tolerance\": 0.001},\n     ";
    let wrong = case("cu-t1", &format!("{bare}\"overall_mm\": {{\"value\": 0.28, \"tolerance\": 0.001}}"));
    case_fault(&wrong, 5, Some("overall_mm"), "T: overall_mm is 0.274, promised 0.28 ± 0.001");
    case_fault(
        &case("cu-t2", bare.trim_end_matches(",\n     ")),
        2,
        Some("wire"),
        "no wire `cu-t2`; did you mean `cu-t1`?",
    );
    case_fault(
        &case("cu-t1", "\"bare_mn\": {\"value\": 1, \"tolerance\": 1}"),
        4,
        Some("bare_mn"),
        "did you mean `bare_mm`?",
    );
    case_fault(
        &case("cu-t1", "\"bare_mm\": {\"value\": 0.25, \"tolerance\": 0}"),
        4,
        Some("bare_mm"),
        "can hold for nothing",
    );
    case_fault(
        &case("cu-t1", "\"ohm_per_m_min\": {\"value\": 1, \"tolerance\": 1}"),
        4,
        Some("ohm_per_m_min"),
        "is not known",
    );
    case_fault(&case("cu-t1", ""), 2, Some("expect"), "nothing is expected");
    case_fault(
        "{\"cases\": [\n {\"titel\": \"T\"}\n]}",
        2,
        None,
        "no key is called `titel` here; did you mean `title`",
    );
    case_fault("{\"cases\": [\n", 2, None, "EOF");
    case_fault(&format!("{{\"cases\":\n{}", "[".repeat(100_000)), 2, None, "EOF while parsing");
    case_fault(
        "{\"cases\": [\n {\"title\": \"T\", \"source\": \"s\", \"expect\": {}}]}",
        2,
        None,
        "one of `wire`, `former`, `offer` and `adhesive`",
    );
}
