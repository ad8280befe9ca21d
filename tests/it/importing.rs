//! A table of spools or weighings: tried line by line, written as one entry, taken back by one.

use crate::shop::Shop;
use crate::stock::{full, received};
use serde_json::{Value, json};
use std::fmt::Write;
use std::process::Output;

/// Three spools as a spreadsheet of a comma-decimal country writes them.
const TABLE: &str = "\u{feff}Wire;Label;Gross g;Tare g;Cost per kg\r\n\
    cu-awg31-single;blue reel;149,3;97,0±1,0;38,50 EUR\r\n\
    cu-awg30-single;grey reel;142,1;96,2;\r\n\
    cu-awg31-single;bench end;99,0;97;\r\n";

fn dry(shop: &Shop, csv: &str) -> Value {
    shop.done("care.import", &json!({ "csv": csv }))
}

fn written(shop: &Shop, csv: &str) -> Value {
    shop.done("care.import", &json!({ "csv": csv, "dry_run": false }))
}

fn head(shop: &Shop) -> u64 {
    shop.done("shop.status", &json!({}))["journal"]["head"].as_u64().expect("a sequence")
}

/// All that is told of the spools, but for the entry it was asked at.
fn shelf(shop: &Shop) -> Value {
    shop.done("spool.list", &json!({}))["items"].clone()
}

#[test]
fn a_dry_run_tells_every_row_and_writes_nothing_and_the_same_table_then_gives_what_it_said() {
    let shop = Shop::open();
    let (before, told) = (head(&shop), dry(&shop, TABLE));
    assert_eq!((&told["written"], &told["taken"], &told["refused"]), (&json!(false), &json!(3), &json!(0)), "{told:#}");
    assert_eq!(head(&shop), before);
    let done = written(&shop, TABLE);
    assert_eq!(done["rows"], told["rows"]);
    assert_eq!(head(&shop), before + 1, "all rows are one entry");
    // The same spool received by itself: the table is read as the request is.
    let one = json!({ "wire": "cu-awg31-single", "gross_g": 149.3, "tare_g": { "value": 97.0, "u": 1.0 } });
    let other = Shop::open();
    assert_eq!(other.done("spool.receive", &one)["left_m"], done["rows"][0]["left_m"]);
    assert_eq!(shelf(&shop).as_array().map(Vec::len), Some(3));
}

#[test]
fn one_counter_entry_takes_a_whole_table_back_bit_for_bit() {
    let shop = Shop::open();
    received(&shop, &full());
    shop.done("spool.weigh", &json!({ "spool": "s-1", "gross_g": 210.3 }));
    let before = (shelf(&shop), shop.done("spool.show", &json!({ "spool": "s-1" }))["estimate"].clone());
    let with_a_weighing = "spool,wire,label,gross_g,tare_g\n\
        ,cu-awg31-single,blue reel,149.3,97±1\n\
        s-1,,,205.1,\n\
        ,cu-awg30-single,grey reel,142.1,96.2\n";
    let done = written(&shop, with_a_weighing);
    assert_eq!(done["rows"][1]["what"], "weigh");
    assert_eq!(shelf(&shop).as_array().map(Vec::len), Some(3));
    let undone = json!({ "seq": done["seq"], "reason": "the wrong table" });
    shop.done("journal.undo", &undone);
    let mut now = (shelf(&shop), shop.done("spool.show", &json!({ "spool": "s-1" }))["estimate"].clone());
    // What was touched by an undo has another revision, that is all.
    now.0[0]["rev"] = before.0[0]["rev"].clone();
    assert_eq!(now, before);
    // And it can be taken in again: its labels are free.
    assert_eq!(written(&shop, with_a_weighing)["taken"], 3);
}

#[test]
fn a_table_whose_spool_was_used_meanwhile_is_not_taken_back_and_the_entry_in_the_way_is_named() {
    let shop = Shop::open();
    let seq = written(&shop, TABLE)["seq"].clone();
    let weighed = shop.done("spool.weigh", &json!({ "spool": "s-2", "gross_g": 142.0 }))["seq"].clone();
    let why = shop.refused("journal.undo", &json!({ "seq": seq, "reason": "the wrong table" }));
    assert_eq!(why["data"]["reason"], "stood_upon", "{why:#}");
    assert!(why["data"]["detail"].as_str().is_some_and(|d| d.contains(&weighed.to_string())), "{why:#}");
    assert_eq!(shelf(&shop).as_array().map(Vec::len), Some(3));
}

#[test]
fn rows_that_cannot_be_taken_are_named_with_column_and_cause_and_none_is_written() {
    let shop = Shop::open();
    received(&shop, &full());
    let rows = [
        // what stands in the table, and what the report says of it
        (",cu-awg31-singel,,149.3,97,", "wire", "cu-awg31-singel"),
        (",cu-awg31-single,,90,97±0.1,", "gross_g", "lighter than the bare reel"),
        (",cu-awg31-single,,1.234.5,97,", "gross_g", "1.234.5"),
        (",cu-awg31-single,,149.3 oz x,97,", "gross_g", "oz x"),
        (",cu-awg31-single,,,97,", "gross_g", "neither a weighing nor a marked length"),
        (",cu-awg31-single,,149.3,97,thirty", "cost_per_kg", "no price"),
        ("s-9,,,149.3,,", "spool", "no spool s-9"),
        ("s-1,,,149.3,97,", "tare_g", "takes no tare_g"),
        ("s-1,,,900,,", "gross_g", "900.00 g on the scale"),
        ("s-1,,blue reel,149.3", "", "4 cells, the header 6"),
        (",,red reel,149.3,97,", "wire", "required"),
        (",cu-awg31-single,,-5,97,", "gross_g", "-5"),
    ];
    let mut table = "spool,wire,label,gross_g,tare_g,cost_per_kg\n,cu-awg31-single,good,149.3,97,\n".to_owned();
    rows.iter().for_each(|(row, _, _)| table.push_str(&format!("{row}\n")));
    let (before, told) = (head(&shop), dry(&shop, &table));
    assert_eq!((&told["taken"], &told["refused"]), (&json!(1), &json!(rows.len())), "{told:#}");
    for (i, (row, column, says)) in rows.iter().enumerate() {
        let met = &told["rows"][i + 1];
        assert_eq!(met["line"], i + 3, "{row}: {met:#}");
        assert_eq!(met["error"]["column"].as_str().unwrap_or_default(), *column, "{row}: {met:#}");
        assert!(met["error"]["detail"].as_str().is_some_and(|d| d.contains(says)), "{row}: {met:#}");
        assert!(met["error"]["next_step"].is_string(), "{row}: {met:#}");
    }
    let why = shop.refused("care.import", &json!({ "csv": table, "dry_run": false }));
    assert_eq!(why["data"]["reason"], "rows_refused", "{why:#}");
    assert_eq!(head(&shop), before);
    // The same where the words are right and the shop says no.
    let heavy = "spool,gross_g\ns-1,900\n";
    let why = shop.refused("care.import", &json!({ "csv": heavy, "dry_run": false }));
    assert_eq!((&why["code"], &why["data"]["reason"]), (&json!(1100), &json!("rows_refused")), "{why:#}");
    assert!(why["data"]["detail"].as_str().is_some_and(|d| d.contains("line 2")), "{why:#}");
    assert_eq!(head(&shop), before);
}

#[test]
fn the_same_table_twice_is_told_and_the_same_key_gets_the_first_answer() {
    let shop = Shop::open();
    let params = json!({ "csv": TABLE, "dry_run": false, "idempotency_key": "monday" });
    let first = shop.done("care.import", &params);
    assert_eq!(shop.done("care.import", &params), first);
    assert_eq!(shelf(&shop).as_array().map(Vec::len), Some(3));
    let again = dry(&shop, TABLE);
    assert_eq!(again["refused"], 3, "{again:#}");
    assert!(again["rows"][0]["error"]["detail"].as_str().is_some_and(|d| d.contains("s-1 is labelled")), "{again:#}");
}

#[test]
fn a_table_larger_than_an_entry_is_refused_with_how_many_rows_fit() {
    let shop = Shop::open();
    let mut table = "wire,label,gross_g,tare_g,note\n".to_owned();
    let note = "n".repeat(1500);
    (0..600).for_each(|i| writeln!(table, "cu-awg31-single,reel {i},149.3,97,{note}").expect("text"));
    let told = dry(&shop, &table);
    let next = told["next"].as_str().expect("text").to_owned();
    let fit: usize = next
        .split_once("first ")
        .and_then(|(_, rest)| rest.split(' ').next()?.parse().ok())
        .unwrap_or_else(|| panic!("no number of rows in {next}"));
    let before = head(&shop);
    let why = shop.refused("care.import", &json!({ "csv": table, "dry_run": false }));
    assert_eq!(why["data"]["reason"], "too_many_rows", "{why:#}");
    assert_eq!(head(&shop), before);
    let less: String = table.lines().take(1 + fit).map(|line| format!("{line}\n")).collect();
    assert_eq!(written(&shop, &less)["taken"], fit);
    assert!(shop.refused("care.import", &json!({ "csv": "wire\n".to_owned() + "x\n".repeat(2001).as_str() }))["data"]
        ["detail"]
        .as_str()
        .is_some_and(|d| d.contains("2000 rows")));
}

#[test]
fn what_one_shop_exports_another_takes_in_with_the_same_lengths() {
    let (one, other) = (Shop::open(), Shop::open());
    written(&one, TABLE);
    received(&one, &full());
    one.done("spool.move", &json!({ "spool": "s-2", "place": "drawer 3, \"left\"" }));
    let table = one.done("care.export", &json!({ "what": "spools" }));
    assert_eq!(table["count"], 4);
    written(&other, table["text"].as_str().expect("a table"));
    let (was, is) = (shelf(&one), shelf(&other));
    for (was, is) in was.as_array().into_iter().flatten().zip(is.as_array().into_iter().flatten()) {
        for member in ["wire", "label", "place"] {
            assert_eq!(was[member], is[member]);
        }
        for part in ["value", "u"] {
            let off =
                was["left_m"][part].as_f64().unwrap_or(f64::NAN) - is["left_m"][part].as_f64().unwrap_or(f64::NAN);
            // Written with four decimals.
            assert!(off.abs() <= 5.1e-5, "{was:#}\n{is:#}");
        }
    }
    assert_eq!(was.as_array().map(Vec::len), is.as_array().map(Vec::len));
}

#[test]
fn the_entries_that_a_daemon_exports_are_the_lines_of_its_journal() {
    let shop = Shop::open();
    written(&shop, TABLE);
    (0..3).for_each(|_| drop(received(&shop, &full())));
    let all = shop.done("care.export", &json!({}));
    let part = shop.done("care.export", &json!({ "after": 2 }));
    let journal = std::fs::read_to_string(shop.data().join("journal/00000000000000000001.jsonl")).expect("a segment");
    let lines: Vec<&str> = journal.lines().filter(|l| !l.is_empty()).collect();
    let text = all["text"].as_str().expect("lines");
    let entries: Vec<&str> = lines.iter().copied().filter(|l| l.contains("\"seq\":")).collect();
    assert_eq!(text.lines().collect::<Vec<_>>(), entries);
    assert_eq!(part["text"].as_str().expect("lines").lines().count(), entries.len() - 2);
}

#[test]
fn the_commands_read_a_file_and_write_one_that_is_whole_or_not_there() {
    let shop = Shop::open();
    let place = tempfile::tempdir().expect("a folder");
    let file = |name: &str| place.path().join(name).to_string_lossy().into_owned();
    std::fs::write(file("spools.csv"), TABLE).expect("a file");
    let run = |args: &[&str]| -> (i32, String) {
        let Output { status, stdout, stderr } =
            shop.command(args).env("COILWRIGHT_TOKEN", shop.token()).output().expect("the binary starts");
        (
            status.code().expect("ends"),
            String::from_utf8_lossy(&stdout).into_owned() + &String::from_utf8_lossy(&stderr),
        )
    };
    let (code, said) = run(&["care", "import", &file("spools.csv"), "--json"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("\"written\": false"), "{said}");
    let (code, said) = run(&["care", "import", &file("spools.csv"), "--dry-run=false"]);
    assert_eq!(code, 0, "{said}");
    let (code, said) = run(&["care", "import", &file("spools.csv")]);
    assert_eq!(code, 1, "rows that cannot be taken end as a refusal: {said}");
    std::fs::write(file("latin.csv"), b"wire,label\ncu-awg31-single,gr\xfcn\n").expect("a file");
    let (code, said) = run(&["care", "import", &file("latin.csv")]);
    assert!(code == 2 && said.contains("line 2 is not in UTF-8"), "{code} {said}");
    let (code, said) = run(&["care", "export", "--what", "spools", "-o", &file("out.csv")]);
    assert_eq!(code, 0, "{said}");
    assert_eq!(std::fs::read_to_string(file("out.csv")).expect("written").lines().count(), 4);
    let (code, said) = run(&["care", "export", "-o", &file("out.csv")]);
    assert!(code == 2 && said.contains("is there already"), "{code} {said}");
    let (code, _) = run(&["care", "export", "--what", "spool", "-o", &file("none.csv")]);
    assert_eq!(code, 2);
    let left: Vec<_> = std::fs::read_dir(place.path()).expect("a folder").filter_map(Result::ok).collect();
    assert_eq!(left.len(), 3, "{left:?}");
}

/// Random tables out of pieces that tables are made of. Seeded; nothing outside the program is their source.
#[test]
fn no_table_makes_the_daemon_fail_or_write_in_part() {
    let shop = Shop::open();
    let pieces = [
        "wire",
        "gross_g",
        "tare_g",
        "label",
        "spool",
        "note",
        ",",
        ",",
        ",",
        ";",
        "\t",
        "\n",
        "\n",
        "\r\n",
        "\"",
        "±",
        "149.3",
        "97",
        "cu-awg31-single",
        "s-1",
        "-1",
        "1e999",
        "NaN",
        "{",
        "{\"conductor\":\"copper\"}",
        "\u{feff}",
        "é",
        " ",
    ];
    let seed = 20_261_125_u64;
    println!("seed {seed}");
    let (token, mut taken) = (shop.token(), 0);
    let mut state = seed;
    let mut draw = |n: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % n
    };
    for _ in 0..300 {
        let head_line = ["", "wire,label,gross_g,tare_g\n", "wire,gross_g,tare_g\ncu-awg31-single,149.3,97\n"][draw(3)];
        let csv: String =
            head_line.to_owned() + (0..draw(60)).map(|_| pieces[draw(pieces.len())]).collect::<String>().as_str();
        let before = head(&shop);
        let answer = shop.call_as(&token, "care.import", &json!({ "csv": csv, "dry_run": false }));
        let expected = match answer["result"]["written"].as_bool() {
            Some(true) => {
                taken += 1;
                before + 1
            }
            _ => {
                assert!(
                    answer["error"]["code"].as_i64().is_some_and(|c| c == -32602 || c == 1100),
                    "{csv:?}: {answer:#}"
                );
                before
            }
        };
        assert_eq!(head(&shop), expected, "{csv:?}");
    }
    assert!(taken > 0, "no table of them could be taken, so little was tried");
}
