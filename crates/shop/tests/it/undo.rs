//! Undoing: afterwards everything stands as if the entry had never been written.

use crate::bench::{Bench, full, job, near, record, start, weigh};
use coilwright_shop::decide::{self, HoldWire, ReleaseHold, SetFigures, Undo};
use coilwright_shop::figures::{FiguresSet, Origin};
use coilwright_shop::{HoldId, Kind};

fn undo(seq: u64) -> Undo {
    Undo { seq, reason: "typed wrongly".to_owned() }
}

#[test]
fn undone_weighing_gives_the_former_answer_bit_for_bit_and_undoing_that_brings_it_back() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let before = b.spool(s).estimate();
    b.ask(decide::weigh, &weigh(s, 308.9)).unwrap();
    let after = b.spool(s).estimate();
    b.ask(decide::undo, &undo(2)).unwrap();
    assert_eq!(b.spool(s).estimate(), before);
    assert_eq!(b.spool(s).rev, 3);
    b.ask(decide::undo, &undo(3)).unwrap();
    assert_eq!(b.spool(s).estimate(), after);
    // The undoing of an undoing is not undone again: the first entry is.
    let no = b.ask(decide::undo, &undo(4)).unwrap_err();
    assert!(no.next_step.contains("entry 2"), "{}", no.next_step);
    b.ask(decide::undo, &undo(2)).unwrap();
    assert_eq!(b.spool(s).estimate(), before);
    assert_eq!(b.ask(decide::undo, &undo(2)).unwrap_err().code, "undone_before");
    assert_eq!(b.ask(decide::undo, &undo(99)).unwrap_err().kind, Kind::NotFound);
}

#[test]
fn undone_record_puts_the_coil_back_on_the_winder_and_the_wire_on_the_spool() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let j = b.open(&job());
    b.ask(decide::start, &start(j, s)).unwrap();
    let before = b.left(s);
    b.ask(decide::record, &record(j, true)).unwrap();
    b.ask(decide::undo, &undo(4)).unwrap();
    assert_eq!(b.left(s), before);
    near(b.spool(s).held().m(), 14.595, 1e-12);
    assert!(b.job(j).works.get(&1).unwrap().is_winding());
    b.ask(decide::record, &record(j, false)).unwrap();
}

#[test]
fn entry_that_others_stand_on_is_not_undone_before_them() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let j = b.open(&job());
    b.ask(decide::start, &start(j, s)).unwrap();
    let no = b.ask(decide::undo, &undo(1)).unwrap_err();
    assert_eq!(no.code, "stood_upon");
    assert!(no.next_step.contains("undo entry 3 first"), "{}", no.next_step);
    assert_eq!(b.ask(decide::undo, &undo(2)).unwrap_err().code, "stood_upon");
    for seq in [3, 2, 1] {
        b.ask(decide::undo, &undo(seq)).unwrap();
    }
    assert_eq!(b.all(), (Vec::new(), Vec::new()));
    // A number given once is never given to another thing.
    assert_ne!(b.receive(&full()), s);
}

#[test]
fn promise_does_not_come_back_once_its_metres_are_promised_to_others() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let hold = HoldWire { spool: s, hold_m: 400.0, reason: "pair".to_owned(), job: None, if_rev: None };
    b.ask(decide::hold, &hold).unwrap();
    b.ask(decide::release, &ReleaseHold { spool: s, hold: HoldId(1), reason: String::new(), if_rev: None }).unwrap();
    b.ask(decide::hold, &hold).unwrap();
    assert_eq!(b.ask(decide::undo, &undo(3)).unwrap_err().code, "not_free");
    b.ask(decide::undo, &undo(4)).unwrap();
    b.ask(decide::undo, &undo(3)).unwrap();
    near(b.spool(s).held().m(), 400.0, 0.0);
}

#[test]
fn undone_figures_are_the_first_values_again() {
    let mut b = Bench::new();
    let set = FiguresSet { confidence: Some(0.9), ..FiguresSet::default() };
    b.ask(decide::set_figures, &SetFigures { set, if_rev: Some(0) }).unwrap();
    assert_eq!(b.state.figures().confidence.origin, Origin::Set);
    b.ask(decide::undo, &undo(1)).unwrap();
    assert_eq!(
        (b.state.figures().confidence.value, b.state.figures().confidence.origin),
        (0.98, Origin::CommonPractice)
    );
    let nothing = SetFigures { set: FiguresSet::default(), if_rev: None };
    assert_eq!(b.ask(decide::set_figures, &nothing).unwrap_err().kind, Kind::Wrong);
}
