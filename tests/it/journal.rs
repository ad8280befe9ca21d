//! The journal through the port and with a person's own tools: pages, the chain, counter-entries, keys that answer again.

use crate::shop::{Shop, with};
use crate::stock::{
    No, everything, finding, full, head, job, no, opened, part_used, received, refuses, text, value, winding, wound,
    wrong,
};
use serde_json::{Value, json};
use std::process::Command;

fn pages(shop: &Shop, limit: u64) -> Vec<Value> {
    let (mut all, mut after) = (Vec::new(), 0);
    loop {
        let page = shop.answer("journal.read", &json!({ "after": after, "limit": limit }));
        let items = page["items"].as_array().unwrap().clone();
        assert!(items.len() as u64 <= limit, "{page}");
        all.extend(items);
        match page["next_cursor"].as_u64() {
            Some(next) => {
                assert!(next > after, "it goes on");
                after = next;
            }
            None => return all,
        }
    }
}

#[test]
fn pages_of_any_size_give_the_whole_without_gap_or_repeat() {
    let shop = Shop::open();
    assert_eq!(shop.answer("journal.read", &json!({})), json!({ "items": [], "head": 0 }));
    wound(&shop);
    for _ in 0..4 {
        received(&shop, &full());
    }
    let whole = pages(&shop, 1000);
    let seqs: Vec<u64> = whole.iter().map(|e| e["seq"].as_u64().unwrap()).collect();
    assert_eq!(seqs, (1..=head(&shop)).collect::<Vec<_>>());
    for limit in [1, 2, 3, 7] {
        assert_eq!(pages(&shop, limit), whole, "by {limit}");
    }
    let members: Vec<&String> = whole[0].as_object().unwrap().keys().collect();
    let wanted = [
        "seq", "v", "group", "at", "quality", "boot", "mono_ms", "who", "method", "asked", "facts", "answer", "prev",
        "hash",
    ];
    assert_eq!(members, wanted);
    for pair in whole.windows(2) {
        assert_eq!(pair[1]["prev"], pair[0]["hash"]);
    }
    assert_eq!(whole.last().unwrap()["hash"], shop.answer("shop.status", &json!({}))["journal"]["hash"]);
    let past = shop.answer("journal.read", &json!({ "after": 1_000_000 }));
    assert_eq!((&past["items"], past["next_cursor"].is_null()), (&json!([]), true));
    for limit in [0, 1001] {
        crate::stock::is(
            &shop.error("journal.read", &json!({ "limit": limit })),
            &wrong(None, "/limit", &["1 to 1000"], ""),
        );
    }
}

#[test]
fn an_entry_says_who_asked_what_and_what_was_answered() {
    let shop = Shop::open();
    let answer = shop.done("spool.receive", &with(full(), "/idempotency_key", json!("arrival 1")));
    let entry = shop.answer("journal.read", &json!({}))["items"][0].take();
    assert_eq!(
        (&entry["who"], &entry["method"], &entry["key"]),
        (&json!("admin"), &json!("spool.receive"), &json!("arrival 1"))
    );
    assert_eq!(entry["answer"], answer);
    assert_eq!(text(&entry, "asked").len(), 64);
    assert_eq!(entry["facts"].as_array().unwrap().len(), 1);
    let (spool, job) = winding(&shop);
    let record = shop.done("job.record", &json!({ "job": job, "outcome": "good" }));
    let entry =
        shop.answer("journal.read", &json!({ "after": record["seq"].as_u64().unwrap() - 1 }))["items"][0].take();
    let kinds: Vec<&Value> = entry["facts"].as_array().unwrap().iter().map(|f| &f["fact"]).collect();
    assert_eq!(
        kinds,
        ["wire_drawn", "spool_released", "coil_finished"],
        "what one request decided is one entry: {entry}"
    );
    assert_eq!(entry["facts"][0]["spool"], json!(spool));
}

#[test]
fn the_chain_is_checked_and_says_how_far_it_holds() {
    let shop = Shop::open();
    wound(&shop);
    let status = shop.answer("shop.status", &json!({}))["journal"].take();
    let verified = shop.answer("journal.verify", &json!({}));
    assert_eq!(verified["ok"], true);
    assert_eq!((&verified["head"], &verified["hash"]), (&status["head"], &status["hash"]));
    assert!(verified["findings"].as_array().unwrap().iter().all(|f| f["level"] != "stop"), "{verified}");
}

/// The files as a person reads them: a line is an entry, `jq` parses it, `sha256sum` agrees with its hash.
#[cfg(unix)]
#[test]
fn a_person_reads_the_lines_with_jq_and_sha256sum() {
    let shop = Shop::open();
    let said = "Ω, “quotes”, \\ and a \t tab";
    received(&shop, &with(full(), "/note", json!(said)));
    wound(&shop);
    if !Command::new("jq").arg("--version").output().is_ok_and(|o| o.status.success()) {
        assert!(std::env::var_os("CI").is_none(), "jq is needed");
        eprintln!("SKIPPED: no jq");
        return;
    }
    let script = r#"
        set -eu
        cat "$1"/journal/*.jsonl | jq -c '[.seq, .method, .facts[0].fact]'
        echo --
        jq -r 'select(.seq == 1) | .facts[0].note' "$1"/journal/*.jsonl
        echo --
        l=$(sed -n 2p "$1"/journal/*.jsonl); printf %s "${l%,\"hash\":*}" | sha256sum | cut -c1-64"#;
    let out = Command::new("sh").args(["-c", script, "sh", shop.data().to_str().unwrap()]).output().unwrap();
    let told = String::from_utf8(out.stdout).unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let parts: Vec<&str> = told.split("\n--\n").collect();
    let lines: Vec<Value> = parts[0].lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert_eq!(lines.len() as u64, head(&shop));
    assert_eq!(lines[0], json!([1, "spool.receive", "spool_received"]));
    assert_eq!(parts[1], said);
    let second = shop.answer("journal.read", &json!({ "after": 1, "limit": 1 }))["items"][0].take();
    assert_eq!(parts[2].trim(), text(&second, "hash"));
}

#[test]
fn an_undone_entry_is_as_if_it_had_never_been_and_can_be_had_back() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let show = || shop.answer("spool.show", &json!({ "spool": spool }));
    let before = show();
    let weighed = shop.done("spool.weigh", &json!({ "spool": spool, "gross_g": 150.0 }));
    let after = show();
    assert!(value(&after, "/left_m") < 150.0);
    let undo = |seq: &Value| json!({ "seq": seq, "reason": "typed into the wrong line" });
    let undone = shop.done("journal.undo", &undo(&weighed["seq"]));
    assert_eq!((&undone["undone"], &undone["seq"]), (&json!(2), &json!(3)));
    assert!(text(finding(&undone, "left_changed"), "text").contains("spool s-1"), "{undone}");
    let now = show();
    for member in ["left_m", "free_m", "estimate", "readings", "next_best"] {
        assert_eq!(now[member], before[member], "{member}");
    }
    assert_eq!(now["rev"], 3, "the undoing changed it");
    let history = now["history"].as_array().unwrap();
    assert_eq!(
        (&history[0]["counts"], &history[1]["counts"]),
        (&json!(true), &json!(false)),
        "it stays and does not count"
    );
    refuses(
        &shop,
        "journal.undo",
        &undo(&json!(2)),
        &no("undone_before", "/seq", &["was undone by entry 3"], "undo entry 3"),
    );
    let back = shop.done("journal.undo", &undo(&json!(3)));
    let again = show();
    for member in ["left_m", "free_m", "estimate", "readings"] {
        assert_eq!(again[member], after[member], "{member}");
    }
    refuses(
        &shop,
        "journal.undo",
        &undo(&back["seq"]),
        &no("undone_too_often", "/seq", &["undoes an undoing"], "undo entry 2 again"),
    );
    shop.done("journal.undo", &undo(&json!(2)));
    assert_eq!(show()["left_m"], before["left_m"]);
    refuses(
        &shop,
        "journal.undo",
        &json!({ "seq": 1, "reason": "" }),
        &wrong(Some("empty_text"), "/reason", &["reason"], "few words"),
    );
    refuses(
        &shop,
        "journal.undo",
        &json!({ "seq": 0, "reason": "x" }),
        &No {
            code: 1101,
            kind: "refused",
            reason: Some("not_found"),
            pointer: "/seq",
            says: &["no entry 0"],
            next: "journal read",
        },
    );
}

#[test]
fn an_entry_that_others_stand_on_is_not_undone_before_them() {
    let shop = Shop::open();
    let (spool, job) = wound(&shop);
    assert_eq!((spool.as_str(), job.as_str()), ("s-1", "j-1"));
    // 1 received, 2 opened, 3 started, 4 recorded.
    let undo = |seq: u64| json!({ "seq": seq, "reason": "all of it was a rehearsal" });
    for (seq, says) in [(1, "3, 4"), (2, "3, 4"), (3, ": 4")] {
        refuses(&shop, "journal.undo", &undo(seq), &no("stood_upon", "/seq", &[says], "undo entry 4 first"));
    }
    for seq in [4, 3, 2, 1] {
        shop.done("journal.undo", &undo(seq));
    }
    assert_eq!(shop.answer("spool.list", &json!({ "retired": true }))["items"], json!([]));
    assert_eq!(shop.answer("job.list", &json!({ "ended": true }))["items"], json!([]));
    assert_eq!(received(&shop, &full()), "s-2", "an id is never given twice");
    assert_eq!(shop.answer("journal.verify", &json!({}))["ok"], true);
}

/// Metres given back by an undoing and promised to others meanwhile do not come back a second time.
#[test]
fn an_undoing_promises_no_metres_twice() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let hold = json!({ "spool": spool, "hold_m": 200 });
    let first = shop.done("spool.hold", &hold);
    let given_back = shop.done("spool.release", &json!({ "spool": spool, "hold": first["hold"] }));
    shop.done("spool.hold", &hold);
    let undo = json!({ "seq": given_back["seq"], "reason": "still wanted" });
    refuses(
        &shop,
        "journal.undo",
        &undo,
        &no("not_free", "/seq", &["400.00 m of spool s-1 would be promised"], "release"),
    );
}

#[test]
fn the_same_key_gives_the_first_answer_again() {
    let mut shop = Shop::open();
    let spool = received(&shop, &full());
    let weigh = |gross: Value| json!({ "spool": spool, "gross_g": gross, "scale_u_g": 0.06, "idempotency_key": "weighing of the morning" });
    let first = shop.done("spool.weigh", &weigh(json!("7.40 oz")));
    let understood =
        shop.answer("journal.read", &json!({ "after": 1 }))["items"][0]["facts"][0]["gross_g"]["value"].clone();
    assert!((understood.as_f64().unwrap() - 209.786).abs() < 0.001, "{understood}");
    shop.done("spool.hold", &json!({ "spool": spool, "hold_m": 5 }));
    let grams = [json!("7.40 oz"), json!("7,4 oz"), understood.clone(), json!(format!("{understood} g"))];
    for gross in &grams {
        assert_eq!(shop.done("spool.weigh", &weigh(gross.clone())), first, "{gross}");
    }
    assert_eq!(head(&shop), 3);
    // Other params, another method: that key is taken.
    let taken = |says| No {
        code: 1103,
        kind: "wrong_request",
        reason: None,
        pointer: "/idempotency_key",
        says,
        next: "take a new key",
    };
    refuses(&shop, "spool.weigh", &weigh(json!(209.7)), &taken(&["entry 2"]));
    let hold = json!({ "spool": spool, "hold_m": 5, "idempotency_key": "weighing of the morning" });
    refuses(&shop, "spool.hold", &hold, &taken(&["entry 2"]));
    // The same after a restart, with the index and without.
    for index in [true, false] {
        let before = everything(&shop);
        shop.killed_and_opened(|folder| {
            if !index {
                std::fs::remove_dir_all(folder.join("index")).unwrap();
            }
        });
        assert_eq!(everything(&shop), before, "index kept: {index}");
        for gross in &grams {
            assert_eq!(shop.done("spool.weigh", &weigh(gross.clone())), first, "{gross}");
        }
        refuses(&shop, "spool.weigh", &weigh(json!(209.7)), &taken(&["entry 2"]));
    }
    for key in [String::new(), "k".repeat(201)] {
        let params = with(weigh(json!(209.0)), "/idempotency_key", json!(key));
        refuses(&shop, "spool.weigh", &params, &wrong(None, "/idempotency_key", &["1 to 200"], ""));
    }
}

/// Every writing method, not only the weighing.
#[test]
fn every_writing_method_answers_its_key_again() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let job = opened(&shop, &job(1));
    for (method, params) in [
        ("shop.set", json!({ "scrap_pct": 10 })),
        ("spool.receive", part_used(120.0)),
        ("spool.weigh", json!({ "spool": spool, "gross_g": 210.3 })),
        ("spool.measure", json!({ "spool": spool, "ohm": 132.6, "temperature_c": 20 })),
        ("spool.move", json!({ "spool": spool, "place": "window" })),
        ("spool.hold", json!({ "spool": spool, "hold_m": 3 })),
        ("spool.release", json!({ "spool": spool, "hold": "h-1" })),
        ("spool.retire", json!({ "spool": "s-2", "empty": false, "reason": "kinked" })),
        ("job.open", crate::stock::job(2)),
        ("job.change", json!({ "job": job, "priority": 9 })),
        ("job.cancel", json!({ "job": "j-2", "reason": "bought new" })),
        ("job.start", json!({ "job": job, "spool": spool })),
        ("job.progress", json!({ "job": job, "layer": 1 })),
        ("job.record", json!({ "job": job, "outcome": "good" })),
        ("job.step", json!({ "job": job, "coil_no": 1, "step": "trimmed", "not_needed": true })),
        ("job.step", json!({ "job": job, "coil_no": 1, "step": "cured" })),
        ("job.step", json!({ "job": job, "coil_no": 1, "step": "tested" })),
        ("job.close", json!({ "job": job })),
        ("journal.undo", json!({ "seq": 3, "reason": "it was 14 after all" })),
    ] {
        let keyed = with(params, "/idempotency_key", json!(format!("key of {method} {}", head(&shop))));
        let first = shop.done(method, &keyed);
        let before = everything(&shop);
        assert_eq!(shop.done(method, &keyed), first, "{method}");
        assert_eq!(everything(&shop), before, "{method}");
    }
}

/// Two calls with one key in one batch, and sixteen at once: one entry, one answer.
#[test]
fn one_key_at_once_from_many_hands_is_one_entry() {
    let shop = Shop::open();
    let params = with(full(), "/idempotency_key", json!("the same"));
    let answers: Vec<Value> = std::thread::scope(|scope| {
        let asked: Vec<_> = (0..16).map(|_| scope.spawn(|| shop.done("spool.receive", &params))).collect();
        asked.into_iter().map(|a| a.join().unwrap()).collect()
    });
    assert!(answers.iter().all(|a| a == &answers[0]), "{answers:?}");
    assert_eq!(head(&shop), 1);
}
