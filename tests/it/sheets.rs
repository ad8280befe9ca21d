//! Sheets over the wire, and on paper: the traveller is printed by a browser and its code read back.

use crate::shop::{Shop, root, sample};
use serde_json::{Value, json};
use std::process::Command;

fn shop_with_a_job(title: &str) -> Shop {
    let shop = Shop::open();
    shop.done("spool.receive", &json!({ "wire": "cu-awg30-single", "gross_g": 131.2, "tare_g": { "value": 96.5, "u": 0.5 }, "place": "shelf 3" }));
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    shop.done(
        "job.open",
        &json!({ "title": title, "coil": sample(), "coils": 2, "due_on": "2026-12-18", "before": before }),
    );
    shop
}

#[test]
fn the_traveller_names_the_spool_that_was_asked_planned_or_started() {
    let shop = shop_with_a_job("Ossipan B12");
    assert_eq!(shop.answer("sheet.traveller", &json!({ "job": "j-1" }))["spool"], Value::Null);
    assert_eq!(shop.answer("sheet.traveller", &json!({ "job": "j-1", "spool": "s-1" }))["spool"], "s-1");
    let plan = shop.answer("plan.make", &json!({}));
    shop.done("plan.accept", &json!({ "assign": plan["assign"], "seq": plan["seq"] }));
    assert_eq!(shop.answer("sheet.traveller", &json!({ "job": "j-1" }))["spool"], "s-1");
    shop.done("job.start", &json!({ "job": "j-1", "spool": "s-1" }));
    let sheet = shop.answer("sheet.traveller", &json!({ "job": "j-1" }));
    assert_eq!(sheet["spool"], "s-1");
    let html = sheet["html"].as_str().expect("a page");
    for said in ["Ossipan B12", "2026-12-18", "52", "51", "shelf 3", "clockwise", "50.90"] {
        assert!(html.contains(said), "{said}");
    }
}

#[test]
fn a_sheet_asks_nothing_from_outside_and_runs_nothing() {
    let shop = shop_with_a_job("<script>alert(1)</script>\" onload=\"x");
    let page = shop.answer("sheet.traveller", &json!({ "job": "j-1", "spool": "s-1" }))["html"]
        .as_str()
        .expect("a page")
        .to_owned();
    let label = shop.answer("sheet.label", &json!({ "spool": "s-1", "as_of": "2026-06-01" }))["svg"]
        .as_str()
        .expect("a label")
        .to_owned();
    for sheet in [&page, &label] {
        // Any address in a sheet is the name of the SVG language, never a place to fetch from.
        let addresses = sheet.matches("://").count();
        assert_eq!(addresses, sheet.matches("http://www.w3.org/2000/svg").count(), "a sheet names an outside address");
        assert!(!sheet.contains("<script") && !sheet.contains("<link") && !sheet.contains("@import"));
    }
    assert!(page.contains("&lt;script&gt;"));
    assert!(label.contains("2026-06-01"));
}

#[test]
fn sheets_of_things_that_are_not_there_are_refused() {
    let shop = shop_with_a_job("x");
    assert_eq!(shop.error("sheet.traveller", &json!({ "job": "j-7" }))["code"], 1101);
    assert_eq!(shop.error("sheet.traveller", &json!({ "job": "j-1", "spool": "s-7" }))["code"], 1101);
    assert_eq!(shop.error("sheet.label", &json!({ "spool": "s-7" }))["code"], 1101);
    assert_eq!(shop.error("sheet.label", &json!({ "spool": "s-1", "width_mm": 1 }))["code"], -32602);
    assert_eq!(shop.error("sheet.passport", &json!({ "job": "j-7" }))["code"], 1101);
}

/// One A5 page by headless Chromium; its code decoded from the picture is the job's.
#[test]
fn the_printed_traveller_is_one_a5_page_whose_code_reads_back() {
    let shop = shop_with_a_job("Ossipan B12");
    let sheet = shop.answer("sheet.traveller", &json!({ "job": "j-1", "spool": "s-1" }));
    prints_on_one_a5_page(sheet["html"].as_str().expect("a page"), "coilwright:job/j-1");
}

/// Also with more than fits: more coils, long words and a signature for each of them.
#[test]
fn the_printed_passport_is_one_a5_page_whose_code_reads_back() {
    let shop = crate::passport::closed();
    let sheet = shop.answer("sheet.passport", &json!({ "job": "j-1" }));
    prints_on_one_a5_page(sheet["html"].as_str().expect("a page"), "coilwright:job/j-1");
    let shop = crate::passport::closed_with(7, &"a long word that goes on and on ".repeat(9));
    let sheet = shop.answer("sheet.passport", &json!({ "job": "j-1" }));
    let page = sheet["html"].as_str().expect("a page");
    assert!(page.contains("And 2 more: ask for the passport of each"), "{page}");
    prints_on_one_a5_page(page, "coilwright:job/j-1");
}

#[track_caller]
fn prints_on_one_a5_page(html: &str, code: &str) {
    let chromium = std::env::var("CHROMIUM").unwrap_or_else(|_| "chromium".into());
    if Command::new(&chromium).arg("--version").output().is_err() || Command::new("pdfinfo").arg("-v").output().is_err()
    {
        assert!(std::env::var_os("CI").is_none(), "chromium and poppler-utils are missing: tests/run installs them");
        eprintln!("SKIPPED: chromium or pdfinfo is missing, the sheet was not printed; tests/run installs them");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::write(file("t.html"), html).expect("written");
    let printed = Command::new(&chromium)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ])
        .args(["--host-resolver-rules=MAP * ~NOTFOUND", "--no-pdf-header-footer"])
        .arg(format!("--user-data-dir={}", file("profile").display()))
        .arg(format!("--print-to-pdf={}", file("t.pdf").display()))
        .arg(format!("file://{}", file("t.html").display()))
        .output()
        .expect("chromium runs");
    let info = Command::new("pdfinfo").arg(file("t.pdf")).output().expect("pdfinfo runs");
    let info = String::from_utf8_lossy(&info.stdout).into_owned();
    assert!(info.contains("Pages:           1"), "{info}\n{}", String::from_utf8_lossy(&printed.stderr));
    assert!(info.contains("(A5)"), "{info}");
    let drawn = Command::new("pdftoppm")
        .args(["-r", "200", "-png", "-singlefile"])
        .arg(file("t.pdf"))
        .arg(file("t"))
        .status()
        .expect("pdftoppm runs");
    assert!(drawn.success());
    let read =
        Command::new("node").arg(root().join("tests/node/read_qr.cjs")).arg(file("t.png")).output().expect("node runs");
    assert_eq!(String::from_utf8_lossy(&read.stdout).trim(), code, "{}", String::from_utf8_lossy(&read.stderr));
}
