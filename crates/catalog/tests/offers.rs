//! Offers of suppliers: how they load, what refuses them to line and column, and how they depend on other plugins' wires.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_catalog::{Catalog, Fault, Loaded, OfferRecord};
use std::path::Path;

const SUPPLY: &str = "[[supply_table]]\nfile = \"tables/offers.csv\"\nsource = \"price list of March\"\n";
const WIRES: &str = "[[wire_table]]\nfile = \"tables/wire.csv\"\nconductor = \"copper\"\nseries = \"metric\"\nmark = \"memory\"\n\
                     source = \"x\"\n";
const HEADER: &str = "offer,wire,supplier,net_g,net_u_g,tare_g,price,currency,lead_days,lead_days_p90,note,source";
const GOOD: &str = "t-1,cu-awg30-single,Alder Reel Room,250,2.9,62,18.5,EUR,5,9,,";

fn plugin(root: &Path, id: &str, tables: &str, files: &[(&str, &str)]) {
    let folder = root.join(id);
    std::fs::create_dir_all(folder.join("tables")).unwrap();
    std::fs::create_dir_all(folder.join("cases")).unwrap();
    let manifest =
        format!("format = 1\nid = \"{id}\"\nversion = \"2.0.0\"\ntitle = \"{id}\"\nlicence = \"own\"\n{tables}");
    std::fs::write(folder.join("plugin.toml"), manifest).unwrap();
    std::fs::write(folder.join("SOURCES.md"), "own\n").unwrap();
    for (name, text) in files {
        std::fs::write(folder.join(name), text).unwrap();
    }
}

/// Loads a plugin `shop-offers` with one supply table.
fn with_offers(table: &str) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    plugin(folder.path(), "shop-offers", SUPPLY, &[("tables/offers.csv", table)]);
    Catalog::load(Some(folder.path()))
}

#[track_caller]
fn says(faults: &[Fault], plugin: &str, file: &str, line: u64, column: &str, words: &str) {
    let here =
        |f: &Fault| f.file.as_deref() == Some(file) && f.line == Some(line) && f.column.as_deref() == Some(column);
    let found = faults.iter().any(|f| f.plugin == plugin && here(f) && f.to_string().contains(words));
    let all: Vec<String> = faults.iter().map(Fault::to_string).collect();
    assert!(found, "no fault in {file}, line {line}, column {column} with `{words}` among\n{}", all.join("\n"));
}

/// A table of a good row and a row at fault, which is line 3: the plugin is refused, the built-in ones load.
#[track_caller]
fn row_fault(row: &str, column: &str, words: &str) {
    let loaded = with_offers(&format!("{HEADER}\n{GOOD}\n{row}\n"));
    says(&loaded.faults, "shop-offers", "tables/offers.csv", 3, column, words);
    assert_eq!(loaded.catalog.digest(), Catalog::builtin().unwrap().digest());
}

#[track_caller]
fn header_fault(header: &str, column: &str, words: &str) {
    let faults = with_offers(&format!("{header}\n")).faults;
    says(&faults, "shop-offers", "tables/offers.csv", 1, column, words);
}

fn ids(offers: &[OfferRecord]) -> Vec<&str> {
    offers.iter().map(|o| o.id.as_str()).collect()
}

#[test]
fn an_offer_is_told_in_full() {
    let bare = "t-2,cu-awg30-single,Alder Reel Room,100,,,7,EUR,0,0,by hand,own list";
    let Loaded { catalog, faults, .. } = with_offers(&format!("{HEADER}\n{GOOD}\n{bare}\n"));
    assert_eq!(faults, []);
    let of = |id: &str| catalog.offers().iter().find(|o| o.id == id).unwrap();
    let full = of("t-1");
    assert_eq!((full.wire.as_str(), full.supplier.as_str()), ("cu-awg30-single", "Alder Reel Room"));
    let close = |got: f64, grams: f64| (got - grams).abs() < 1e-9;
    assert!(close(full.net.value.g(), 250.0) && close(full.net.u.g(), 2.9) && close(full.tare.unwrap().g(), 62.0));
    assert_eq!((full.price_minor, full.price.as_str(), full.currency.as_str()), (1850, "18.50", "EUR"));
    assert_eq!((full.lead_days, full.lead_days_p90), (5, 9));
    assert_eq!((full.source.as_str(), full.note.as_deref()), ("price list of March", None));
    assert_eq!((full.at.plugin.as_str(), full.at.file.as_str(), full.at.line), ("shop-offers", "tables/offers.csv", 2));
    let bare = of("t-2");
    assert_eq!((bare.net.u.g(), bare.tare, bare.price.as_str(), bare.lead_days_p90), (0.0, None, "7.00", 0));
    assert_eq!((bare.source.as_str(), bare.note.as_deref()), ("own list", Some("by hand")));
    let info = catalog.plugins().iter().find(|p| p.id == "shop-offers").unwrap();
    assert_eq!((info.offers, info.listed_wires), (2, 0));
}

#[test]
fn offers_come_by_wire_and_small_before_large() {
    let catalog = Catalog::builtin().unwrap();
    let key = |o: &OfferRecord| (o.wire.clone(), o.net.value.g().to_bits(), o.id.clone());
    assert!(catalog.offers().is_sorted_by(|a, b| key(a) < key(b)));
    let awg30 = [
        "tarn-awg30-single-125g",
        "tarn-awg30-single-250g",
        "osierbank-awg30-single-500g",
        "brackenfold-awg30-single-1kg",
    ];
    assert_eq!(ids(catalog.offers_for("cu-awg30-single")), awg30);
    let by_wire: usize = catalog.wires(Default::default()).map(|w| catalog.offers_for(&w.id).len()).sum();
    assert_eq!(by_wire, catalog.offers().len());
    for nobody in ["", "a", "cu-awg30", "cu-awg30-triple", "zz"] {
        assert!(catalog.offers_for(nobody).is_empty(), "{nobody}");
    }
}

/// What SOURCES.md says of the sample data.
#[test]
fn the_sample_offers_are_plausible_and_say_that_they_are_invented() {
    let catalog = Catalog::builtin().unwrap();
    let per_kg = |o: &OfferRecord| o.price_minor as f64 / 100.0 / o.net.value.kg();
    for offer in catalog.offers() {
        assert!(offer.source.contains("invented"), "{}", offer.id);
        assert!((24.8..=89.6 + 1e-9).contains(&per_kg(offer)), "{}: {} a kg", offer.id, per_kg(offer));
        assert!(offer.lead_days >= 2 && offer.lead_days < offer.lead_days_p90 && offer.lead_days_p90 <= 21);
        assert!(offer.net.u.g() > 0.0 && offer.net.u / offer.net.value < 0.0125, "{}", offer.id);
        let same_wire = catalog.offers_for(&offer.wire);
        assert!(same_wire.is_sorted_by(|small, large| per_kg(small) > per_kg(large)), "{}", offer.wire);
    }
}

#[test]
fn cells_that_are_wrong_are_refused_in_their_column() {
    let row = |column: &str, cell: &str, words: &str| {
        let at = HEADER.split(',').position(|c| c == column).unwrap();
        let mut cells: Vec<&str> = "t-2,cu-awg32-single,Alder Reel Room,250,2.9,62,18.5,EUR,5,9,,".split(',').collect();
        cells[at] = cell;
        row_fault(&cells.join(","), column, words);
    };
    row("offer", "", "the offer is missing; give it, or take the row out");
    row("offer", "T 2", "`T 2` is no id of an offer");
    row("offer", "t-1", "the offer `t-1` is already in tables/offers.csv, line 2; give one of the two another id");
    row("offer", "tarn-awg30-single-125g", "already in plugin supply, tables/offers.csv, line 5");
    row("wire", "", "the wire is missing");
    row("wire", "awg32-single", "no plugin that loaded has a wire `awg32-single`; did you mean `cu-awg32-single`?");
    row("wire", "qqqq", "no plugin that loaded has a wire `qqqq`; add a plugin that has it, or take the row out");
    row("supplier", "", "the supplier is missing");
    row("net_g", "", "the net_g is missing");
    row("net_g", "250 g", "`250 g` is not a number");
    row("net_g", "\"0,25\"", "`0,25` has a decimal comma; write 0.25");
    row("net_g", "-250", "-250 is not above zero");
    row("net_g", "250000", "250000 g is outside 0.1 to 100000 g; is it in grams?");
    row("net_u_g", "0", "0 is not above zero");
    row("net_u_g", "250", "250 is no standard uncertainty of 250 g");
    row("tare_g", "nan", "`nan` is not a number");
    row("tare_g", "0.05", "0.05 g is outside 0.1 to 100000 g");
    row("price", "", "the price is missing");
    row("price", "\"18,50\"", "`18,50` has a decimal comma; write 18.50");
    row("price", "18.505", "the price 18.505 has more than two decimals; round it");
    row("price", "1.85e1", "`1.85e1` is no price");
    row("price", "EUR 18.50", "the currency has its own column");
    row("price", "0", "the price is zero");
    row("price", "99999999", "the price 99999999 is above 10000000.00");
    row("currency", "", "the currency is missing");
    row("currency", "eur", "`eur` is no currency; write three capital letters, e.g. EUR");
    row("currency", "€", "`€` is no currency");
    row("lead_days", "", "the lead_days is missing");
    row("lead_days", "2.5", "`2.5` is no whole number of days; write it like 7");
    row("lead_days", "-1", "`-1` is no whole number of days");
    row("lead_days", "99999999999", "99999999999 days are more than the 3650 allowed");
    row("lead_days_p90", "", "the lead_days_p90 is missing");
    row("lead_days_p90", "4", "nine of ten orders within 4 days, but usually 5; give at least the days of lead_days");
    let all = with_offers(&format!("{HEADER}\nT,,x,1e9,,,0,eur,x,y,,\n")).faults;
    assert_eq!(all.len(), 7, "{all:#?}");
}

#[test]
fn headers_and_manifests_that_are_wrong_are_refused() {
    header_fault(&HEADER.replace("net_g", "net"), "net", "no column is called `net`; did you mean `net_g`?");
    header_fault(&HEADER.replace("tare_g", "colour"), "colour", "the columns are: offer, wire");
    header_fault(&HEADER.replace(",currency", ""), "currency", "the column `currency` is missing; add it");
    let folder = tempfile::tempdir().unwrap();
    let load = |tables: &str, table: &str| {
        plugin(folder.path(), "shop-offers", tables, &[("tables/offers.csv", table)]);
        Catalog::load(Some(folder.path())).faults
    };
    let table = format!("{HEADER}\n{GOOD}\n");
    let wrong = SUPPLY.replace("file", "flie");
    says(&load(&wrong, &table), "shop-offers", "plugin.toml", 7, "flie", "did you mean `file`?");
    let wrong = SUPPLY.replace("supply_table", "suply_table");
    says(&load(&wrong, &table), "shop-offers", "plugin.toml", 6, "suply_table", "did you mean `supply_table`?");
    let unsourced = load("[[supply_table]]\nfile = \"tables/offers.csv\"\n", &table);
    says(&unsourced, "shop-offers", "tables/offers.csv", 2, "source", "the source is not named");
}

#[test]
fn a_plugin_whose_examples_of_offers_fail_is_refused_with_both_figures() {
    let folder = tempfile::tempdir().unwrap();
    let load = |offer: &str, expect: &str| {
        let case = format!(
            "{{\"cases\": [\n {{\"title\": \"T\", \"source\": \"s\", \"offer\": \"{offer}\", \"expect\": {{\n  {expect}}}}}]}}"
        );
        let files = [("tables/offers.csv", &*format!("{HEADER}\n{GOOD}\n")), ("cases/own.json", &case)];
        plugin(folder.path(), "shop-offers", SUPPLY, &files);
        Catalog::load(Some(folder.path()))
    };
    // 250 g of a wire that another plugin lists, at 0.46313 g/m by a wire maker's catalogue, which scatters by 0.3 %.
    let right = load(
        "t-1",
        "\"length_m\": {\"value\": 539.8, \"tolerance\": 1.6}, \"tare_g\": {\"value\": 62, \"tolerance\": 1}",
    );
    assert_eq!(right.faults, []);
    let info = right.catalog.plugins().iter().find(|p| p.id == "shop-offers").unwrap();
    assert_eq!(info.cases.iter().map(|c| c.figures).collect::<Vec<_>>(), [2]);

    let says = |loaded: Loaded, line: u64, column: &str, words: &str| {
        says(&loaded.faults, "shop-offers", "cases/own.json", line, column, words);
        assert!(loaded.catalog.offers().iter().all(|o| o.id != "t-1"));
    };
    says(load("t-1", "\"length_m\": {\"value\": 500, \"tolerance\": 5}"), 3, "length_m", "promised 500 ± 5");
    says(load("t-1", "\"price\": {\"value\": 18.5, \"tolerance\": 1}"), 3, "price", "there is no figure `price`");
    says(
        load("tt-1", "\"net_g\": {\"value\": 1, \"tolerance\": 1}"),
        2,
        "offer",
        "no offer `tt-1`; did you mean `t-1`?",
    );
}

#[test]
fn a_folder_called_supply_stands_in_the_place_of_the_sample() {
    let folder = tempfile::tempdir().unwrap();
    plugin(folder.path(), "supply", SUPPLY, &[("tables/offers.csv", &format!("{HEADER}\n{GOOD}\n"))]);
    let loaded = Catalog::load(Some(folder.path()));
    assert_eq!(loaded.faults, []);
    assert_eq!(ids(loaded.catalog.offers()), ["t-1"]);
    assert_ne!(loaded.catalog.digest(), Catalog::builtin().unwrap().digest());

    let unknown = GOOD.replace("awg30", "awg99");
    plugin(folder.path(), "supply", SUPPLY, &[("tables/offers.csv", &format!("{HEADER}\n{unknown}\n"))]);
    let loaded = Catalog::load(Some(folder.path()));
    says(
        &loaded.faults,
        "supply",
        "tables/offers.csv",
        2,
        "wire",
        "no plugin that loaded has a wire `cu-awg99-single`",
    );
    assert_eq!(loaded.catalog.offers(), Catalog::builtin().unwrap().offers(), "the sample serves after all");
}

/// Who replaces the wires and not the offers is told so, and keeps everything else.
#[test]
fn built_in_offers_of_wires_that_were_replaced_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let wire = "id,size,build,bare_mm,overall_mm\ncu-mine,0.25,single,0.25,0.274\n";
    plugin(folder.path(), "wire-tables", WIRES, &[("tables/wire.csv", wire)]);
    let Loaded { catalog, faults, .. } = Catalog::load(Some(folder.path()));
    says(&faults, "supply", "tables/offers.csv", 4, "wire", "bring offers of your own in a folder `supply`");
    assert_eq!(faults.len(), 27);
    assert!(
        catalog.wire("cu-mine").is_some() && catalog.former("kraft-paper").is_some() && catalog.offers().is_empty()
    );
}

/// One refused plugin takes the wires of others' offers with it, and gives way to those it kept out.
#[test]
fn plugins_are_put_together_anew_when_one_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let wire = |id: &str| format!("id,size,build,bare_mm,overall_mm\n{id},0.25,single,0.25,0.274\n");
    let offer =
        |id: &str, wire: &str| format!("{HEADER}\n{}\n", GOOD.replace("t-1", id).replace("cu-awg30-single", wire));
    let both = format!("{WIRES}{SUPPLY}");
    let add = |id: &str, has: &str, sells: &str| {
        let files = [("tables/wire.csv", &*wire(has)), ("tables/offers.csv", &*offer(&format!("{id}-1"), sells))];
        plugin(folder.path(), id, &both, &files);
    };
    add("a", "cu-a", "cu-nowhere");
    add("b", "cu-b", "cu-a");
    add("c", "cu-c", "cu-b");
    add("d", "cu-a", "cu-a");
    let Loaded { catalog, faults, .. } = Catalog::load(Some(folder.path()));
    let told: Vec<(&str, Option<&str>)> = faults.iter().map(|f| (f.plugin.as_str(), f.column.as_deref())).collect();
    // `d` was kept out by `a`, which is refused; so `b` has its wire again, and nothing is wrong with `c`.
    assert_eq!(told, [("a", Some("wire"))], "{faults:#?}");
    assert_eq!(ids(catalog.offers_for("cu-a")), ["b-1", "d-1"]);
    assert_eq!(ids(catalog.offers_for("cu-b")), ["c-1"]);
    assert_eq!(catalog.wire("cu-a").unwrap().at.plugin, "d");

    std::fs::remove_dir_all(folder.path().join("d")).unwrap();
    let faults = Catalog::load(Some(folder.path())).faults;
    assert_eq!(faults.iter().map(|f| f.plugin.as_str()).collect::<Vec<_>>(), ["a", "b", "c"], "{faults:#?}");
}

/// Suggestions are made for the faults that are told only: a list of the wrong wires does not hold up the start.
#[test]
fn a_long_list_of_unknown_wires_is_refused_at_once() {
    let rows: String = (0..50_000).map(|n| format!("o-{n},cu-awg-{n},x,250,,,9,EUR,1,2,,\n")).collect();
    let begun = std::time::Instant::now();
    let faults = with_offers(&format!("{HEADER}\n{rows}")).faults;
    assert_eq!(faults.len(), 41);
    assert_eq!(faults.last().map(|f| f.message.as_str()), Some("49960 more faults are not listed"));
    assert!(begun.elapsed().as_secs() < 30, "{:?}", begun.elapsed());
}
