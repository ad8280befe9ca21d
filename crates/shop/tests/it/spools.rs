//! What may be said of a spool, and what is refused.

use crate::bench::{Bench, awg31, full, job, measure, near, spool, start, weigh};
use coilwright_shop::decide::{self, HoldWire, MoveSpool, ReleaseHold, Retire};
use coilwright_shop::fact::{Fact, Reel};
use coilwright_shop::{HoldId, JobId, Kind, Refusal, SpoolId, Uncertain};

#[track_caller]
fn refused<T: std::fmt::Debug>(result: Result<T, Refusal>, kind: Kind, code: &str) -> Refusal {
    let refusal = result.unwrap_err();
    assert_eq!((refusal.kind, refusal.code.as_str()), (kind, code), "{refusal}");
    assert!(!refusal.next_step.is_empty());
    refusal
}

fn hold(spool: SpoolId, hold_m: f64, job: Option<JobId>) -> HoldWire {
    HoldWire { spool, hold_m, reason: "pair".to_owned(), job, if_rev: None }
}

#[test]
fn weighing_below_tare_is_refused() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let no = refused(b.ask(decide::weigh, &weigh(s, 90.0)), Kind::Refused, "below_tare");
    assert_eq!(no.pointer.as_deref(), Some("/gross_g"));
    assert!(no.detail.contains("97.00"), "{}", no.detail);
    let mut light = full();
    light.gross_g = Some(90.0);
    refused(b.ask(decide::receive, &light), Kind::Refused, "below_tare");
}

#[test]
fn weighing_ten_times_too_much_is_refused_with_its_cause() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let no = refused(b.ask(decide::weigh, &weigh(s, 3090.0)), Kind::Refused, "too_heavy");
    assert!(no.detail.contains("ten times"), "{}", no.detail);
}

#[test]
fn weighing_of_the_wrong_spool_names_the_one_it_would_suit() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let other = b.receive(&spool(awg31(), 402.0, Some(Uncertain::new(150.0, 0.5))));
    let no = refused(b.ask(decide::weigh, &weigh(s, 402.1)), Kind::Refused, "too_heavy");
    assert!(no.detail.contains(&other.to_string()), "{}", no.detail);
}

#[test]
fn weighing_slightly_off_is_taken_with_a_finding() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let d = b.ask(decide::weigh, &weigh(s, 308.75)).unwrap();
    assert_eq!(d.findings[0].code, "weighing_disagrees");
    assert!(b.left(s).value < 577.7);
}

#[test]
fn weighing_far_below_the_book_is_taken_and_lengths_from_before_no_longer_count() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let d = b.ask(decide::weigh, &weigh(s, 250.0)).unwrap();
    assert!(matches!(&d.facts[0], Fact::SpoolWeighed(f) if f.breaks_ledger));
    near(b.left(s).value, (250.0 - 97.0) / 0.36698, 0.01);
}

#[test]
fn same_weighing_twice_within_moments_counts_once_and_later_counts_again() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    b.ask(decide::weigh, &weigh(s, 308.9)).unwrap();
    let once = b.left(s);
    b.wait(-595);
    let d = b.ask(decide::weigh, &weigh(s, 308.9)).unwrap();
    assert_eq!(d.findings[0].code, "weighed_twice");
    assert_eq!(b.left(s), once);
    b.ask(decide::weigh, &weigh(s, 308.9)).unwrap();
    assert_ne!(b.left(s), once);
}

#[test]
fn reading_of_the_test_leads_alone_is_refused() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    refused(b.ask(decide::measure, &measure(s, 0.20, 0.20)), Kind::Refused, "only_leads");
    refused(b.ask(decide::measure, &measure(s, 2480.0, 0.20)), Kind::Refused, "too_high");
}

#[test]
fn promises_never_exceed_what_is_there_with_the_shops_confidence() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let safe = b.spool(s).safe(0.98).m();
    let mut won = 0;
    for _ in 0..16 {
        match b.ask(decide::hold, &hold(s, 100.0, None)) {
            Ok(_) => won += 1,
            Err(no) => assert_eq!(no.code, "not_free"),
        }
    }
    assert_eq!(won, 5);
    assert!(b.spool(s).held().m() <= safe);
    near(b.spool(s).free(0.98).m(), safe - 500.0, 1e-9);
}

#[test]
fn spool_promised_to_another_job_stops_the_gate() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let (first, second) = (b.open(&job()), b.open(&job()));
    b.ask(decide::hold, &hold(s, 565.0, Some(first))).unwrap();
    let no = refused(b.ask(decide::start, &start(second, s)), Kind::Refused, "gate_stops");
    assert!(no.detail.contains(&first.to_string()), "{}", no.detail);
    // The job that it is promised to starts, and the promise shrinks by what the coil takes.
    b.ask(decide::start, &start(first, s)).unwrap();
    near(b.spool(s).held().m(), 565.0, 1e-9);
}

#[test]
fn weighing_that_shows_less_than_promised_says_so() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    b.ask(decide::hold, &hold(s, 560.0, None)).unwrap();
    let d = b.ask(decide::weigh, &weigh(s, 250.0)).unwrap();
    assert!(d.findings.iter().any(|f| f.code == "promises_uncovered"));
    refused(b.ask(decide::hold, &hold(s, 0.1, None)), Kind::Refused, "not_free");
}

#[test]
fn unknown_ids_and_stale_revisions_are_told_apart() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    refused(b.ask(decide::weigh, &weigh(SpoolId(9), 300.0)), Kind::NotFound, "not_found");
    let mut ask = weigh(s, 308.9);
    ask.if_rev = Some(1);
    b.ask(decide::weigh, &ask).unwrap();
    let no = refused(b.ask(decide::weigh, &ask), Kind::Conflict, "stale_rev");
    assert_eq!(no.allowed, 2);
    let ask = ReleaseHold { spool: s, hold: HoldId(4), reason: String::new(), if_rev: None };
    refused(b.ask(decide::release, &ask), Kind::NotFound, "not_found");
}

#[test]
fn wire_on_another_reel_is_the_same_wire() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let before = b.left(s);
    let ask = MoveSpool {
        spool: s,
        place: Some("drawer 2".to_owned()),
        reel: Some(Reel { tare_g: None }),
        lost_m: None,
        if_rev: None,
    };
    b.ask(decide::move_spool, &ask).unwrap();
    near(b.left(s).value, before.value, 1e-9);
    b.ask(decide::weigh, &weigh(s, 260.0)).unwrap();
    let c = b.spool(s).estimate();
    near(c.left.value.m(), before.value, 0.05);
    near(c.tare.unwrap().value.g(), 260.0 - 0.36698 * before.value, 0.02);
    assert_eq!(b.spool(s).place, "drawer 2");
}

#[test]
fn emptied_reel_leaves_nothing_and_tells_its_tare() {
    let mut b = Bench::new();
    let s = b.receive(&spool(awg31(), 97.9, Some(Uncertain::new(97.0, 1.0))));
    let ask = Retire {
        spool: s,
        empty: true,
        gross_g: Some(97.6),
        scale_u_g: Some(0.06),
        reason: "empty".to_owned(),
        if_rev: None,
    };
    b.ask(decide::retire, &ask).unwrap();
    let sp = b.spool(s);
    near(sp.estimate().left.value.m(), 0.0, 0.03);
    near(sp.estimate().tare.unwrap().value.g(), 97.6, 0.005);
    assert_eq!(sp.free(0.98).m(), 0.0);
    refused(b.ask(decide::weigh, &weigh(s, 97.7)), Kind::Refused, "spool_retired");
}

#[test]
fn neither_weighed_nor_marked_is_nothing_to_go_by() {
    let mut b = Bench::new();
    let mut ask = full();
    ask.gross_g = None;
    refused(b.ask(decide::receive, &ask), Kind::Wrong, "nothing_to_go_by");
    ask.marked_m = Some(Uncertain::new(300.0, 9.0));
    let s = b.receive(&ask);
    near(b.left(s).value, 300.0, 1e-9);
    near(b.left(s).u, 9.0, 1e-9);
}

#[test]
fn numbers_that_cannot_be_are_wrong_not_panics() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    for gross in [f64::NAN, f64::INFINITY, -1.0, 0.0, 1e300] {
        refused(b.ask(decide::weigh, &weigh(s, gross)), Kind::Wrong, "out_of_range");
    }
    let mut ask = weigh(s, 309.0);
    ask.scale_u_g = Some(-1.0);
    assert_eq!(b.ask(decide::weigh, &ask).unwrap_err().kind, Kind::Wrong);
    assert_eq!(b.ask(decide::hold, &hold(s, f64::NAN, None)).unwrap_err().kind, Kind::Wrong);
}
