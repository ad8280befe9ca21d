//! The journal is the truth: its lines, folded by the shop's own rules outside the daemon, give what the daemon answers, to
//! the last bit; and a daemon that starts anew answers what the one before it did.

use crate::shop::{Shop, with};
use crate::stock::{everything, full, head, job, opened, part_used, received, value, winding, wound};
use coilwright_shop::job::Job;
use coilwright_shop::spool::Spool;
use coilwright_shop::{Entry, JobId, SpoolId, State};
use serde_json::{Value, json};

/// A shop with something of everything: readings that agree and not, promises, coils good and scrapped, a signature, a
/// repeat, a rewound reel, an empty one, figures set, entries undone and had back.
fn busy() -> Shop {
    let shop = Shop::open();
    shop.done("shop.set", &json!({ "confidence": 0.97, "scale": { "u_g": 0.05, "resolution_g": 0.1 } }));
    let (spool, job_of_two) = wound(&shop);
    shop.done("job.start", &json!({ "job": job_of_two, "spool": spool }));
    shop.done("job.record", &json!({ "job": job_of_two, "outcome": "scrapped", "reason": "crossed", "drawn_m": { "value": 9.1, "u": 0.3 } }));
    shop.done("job.step", &json!({ "job": job_of_two, "coil_no": 1, "step": "cured", "figures": { "hours": 0.1 } }));
    shop.done(
        "spool.measure",
        &json!({ "spool": spool, "ohm": "122,3 ohm", "test_leads_ohm": 0.2, "temperature_c": 21.5 }),
    );
    let weighed = shop.done("spool.weigh", &json!({ "spool": spool, "gross_g": "7.1 oz" }));
    shop.done("spool.weigh", &json!({ "spool": spool, "gross_g": "7.1 oz" }));
    shop.done("journal.undo", &json!({ "seq": weighed["seq"], "reason": "the other one stays" }));
    let short = received(&shop, &part_used(102.1));
    let forced = opened(&shop, &job(1));
    shop.done("job.start", &json!({ "job": forced, "spool": short, "override": { "reason": "a joint is agreed" } }));
    shop.done("job.progress", &json!({ "job": forced, "layer": 1, "lease": "t" }));
    let reel = received(&shop, &with(full(), "/wire", json!("cu-awg30-single")));
    shop.done("spool.move", &json!({ "spool": reel, "rewound": true, "place": "window" }));
    shop.done("spool.weigh", &json!({ "spool": reel, "gross_g": 181.0 }));
    let held = shop.done("spool.hold", &json!({ "spool": reel, "hold_m": 12.25, "job": forced }));
    shop.done("spool.hold", &json!({ "spool": reel, "hold_m": 0.1 }));
    shop.done("spool.hold", &json!({ "spool": reel, "hold_m": 0.2 }));
    let back = shop.done("journal.undo", &json!({ "seq": held["seq"], "reason": "not for that" }));
    shop.done("journal.undo", &json!({ "seq": back["seq"], "reason": "it was, after all" }));
    let empty = received(&shop, &part_used(97.8));
    shop.done("spool.retire", &json!({ "spool": empty, "gross_g": 97.5 }));
    let cancelled = opened(&shop, &with(job(3), "/due_on", json!("2026-12-18")));
    shop.done("job.cancel", &json!({ "job": cancelled, "reason": "bought new" }));
    winding(&shop);
    shop
}

/// All lines that the daemon gives.
fn entries(shop: &Shop) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut after = 0;
    loop {
        // The text as it stands, not the numbers of a JSON tree written once more.
        let page = shop.answer("journal.read", &json!({ "after": after, "limit": 7 }));
        for item in page["items"].as_array().unwrap() {
            entries.push(serde_json::from_value(item.clone()).unwrap_or_else(|e| panic!("{e}: {item}")));
        }
        match page["next_cursor"].as_u64() {
            Some(next) => after = next,
            None => return entries,
        }
    }
}

/// What a fold of these lines says, things at rest included.
fn looked<T>(state: &State, entries: &Vec<Entry>, look: impl Fn(&State) -> T) -> T {
    let mut seen = state.watched();
    loop {
        let found = look(&seen);
        if !seen.recall_wanted(entries).unwrap() {
            return found;
        }
    }
}

#[track_caller]
fn same(met: f64, answered: &Value, pointer: &str) {
    let answered = value(answered, pointer);
    assert_eq!(met.to_bits(), answered.to_bits(), "{pointer}: {met} folded, {answered} answered");
}

#[test]
fn the_fold_of_the_journal_is_what_the_daemon_answers_bit_for_bit() {
    let shop = busy();
    let entries = entries(&shop);
    let mut state = State::default();
    entries.iter().for_each(|entry| state.apply(entry, &entries).unwrap());
    let spools: Vec<Spool> = (1..=state.last_spool().0)
        .filter_map(|id| looked(&state, &entries, |s| s.spool(SpoolId(id)).cloned()))
        .collect();
    let jobs: Vec<Job> =
        (1..=state.last_job().0).filter_map(|id| looked(&state, &entries, |s| s.job(JobId(id)).cloned())).collect();
    assert!(spools.len() > state.spools().count() && jobs.len() > state.jobs().count(), "nothing is at rest");
    assert_eq!(state.seq(), head(&shop));
    let confidence = state.figures().confidence.value;
    let listed = shop.answer("spool.list", &json!({ "retired": true }));
    let listed = listed["items"].as_array().unwrap();
    assert_eq!(listed.len(), spools.len());
    for (spool, item) in spools.iter().zip(listed) {
        let shown = shop.answer("spool.show", &json!({ "spool": spool.id().to_string() }));
        let estimate = spool.estimate();
        for answer in [item, &shown] {
            assert_eq!(answer["spool"], spool.id().to_string());
            same(estimate.left.value.m(), answer, "/left_m/value");
            same(estimate.left.u.m(), answer, "/left_m/u");
            same(spool.held().m(), answer, "/held_m");
            same(spool.free(confidence).m(), answer, "/free_m");
            assert_eq!(answer["rev"], spool.rev);
            assert_eq!(answer["retired"], spool.retired.is_some());
            assert_eq!(answer["place"], spool.place);
        }
        same(estimate.g_per_m.value.g_per_m(), &shown, "/estimate/g_per_m/value");
        same(estimate.g_per_m.u.g_per_m(), &shown, "/estimate/g_per_m/u");
        let holds: Vec<(String, f64)> = spool.holds.iter().map(|(id, h)| (id.to_string(), h.hold_m)).collect();
        let shown_holds: Vec<(String, f64)> = shown["holds"]
            .as_array()
            .unwrap()
            .iter()
            .map(|h| (crate::stock::text(h, "hold"), value(h, "/hold_m")))
            .collect();
        assert_eq!(holds, shown_holds);
    }
    let listed = shop.answer("job.list", &json!({ "ended": true }));
    let listed = listed["items"].as_array().unwrap();
    assert_eq!(listed.len(), jobs.len());
    for (job, item) in jobs.iter().zip(listed) {
        let shown = shop.answer("job.show", &json!({ "job": job.id.to_string() }));
        for answer in [item, &shown] {
            assert_eq!((&answer["job"], &answer["rev"]), (&json!(job.id.to_string()), &json!(job.rev)));
            assert_eq!((&answer["good"], &answer["scrapped"]), (&json!(job.good()), &json!(job.scrapped())));
            same(job.plan.need_m.value, answer, "/need_m/value");
            same(job.plan.need_m.u, answer, "/need_m/u");
        }
        assert_eq!(shown["works"].as_array().unwrap().len(), job.works.iter().count());
    }
}

/// Kill, clean stop, index kept, index gone: the same answers.
#[test]
fn a_new_start_answers_what_was_answered_before() {
    let mut shop = busy();
    let before = everything(&shop);
    let gates = |shop: &Shop| -> Vec<Value> {
        (1..=5)
            .flat_map(|s| (1..=4).map(move |j| (s, j)))
            .map(|(s, j)| shop.call("job.gate", &json!({ "job": format!("j-{j}"), "spool": format!("s-{s}") })))
            .collect()
    };
    let gated = gates(&shop);
    let lines = shop.answer("journal.read", &json!({ "limit": 1000 }));
    for (cleanly, without_index) in [(false, false), (false, true), (true, false), (true, true)] {
        #[cfg(unix)]
        if cleanly {
            let id = shop.process().id().to_string();
            assert!(std::process::Command::new("kill").arg(id).status().unwrap().success());
            assert!(shop.process().wait().unwrap().success());
        }
        shop.killed_and_opened(|folder| {
            if without_index {
                std::fs::remove_dir_all(folder.join("index")).unwrap();
            }
        });
        let how = format!("stopped cleanly: {cleanly}, index gone: {without_index}");
        assert_eq!(everything(&shop), before, "{how}");
        assert_eq!(gates(&shop), gated, "{how}");
        assert_eq!(shop.answer("journal.read", &json!({ "limit": 1000 })), lines, "{how}");
        assert_eq!(shop.answer("journal.verify", &json!({}))["ok"], true, "{how}");
    }
}
