//! Spools of one wire and lot teach each other their figures per metre.

use crate::bench::{Bench, awg31, measure, spool, weigh};
use coilwright_core::content::Content;
use coilwright_shop::decide::{self, Receive, Retire, Undo};
use coilwright_shop::fact::{Fact, WireDrawn};
use coilwright_shop::{SpoolId, State, Uncertain};

/// By a table: g/m to 1.5 %, Ω/m to 1.3 %.
fn of_lot(lot: &str, gross_g: f64) -> Receive {
    let mut ask = spool(awg31(), gross_g, Some(Uncertain::new(80.0, 1.0)));
    ask.wire.g_per_m.u = 0.015 * ask.wire.g_per_m.value;
    ask.wire.ohm_per_m.u = 0.013 * ask.wire.ohm_per_m.value;
    ask.lot = lot.to_owned();
    ask
}

/// 14 coils of 14.57 m between two weighings of a spool whose metre is heavier than the table's by 1.4 %.
fn wind(b: &mut Bench, spool: SpoolId) {
    for _ in 0..14 {
        let drawn_m = Uncertain::new(14.57, 0.02);
        b.write(vec![Fact::WireDrawn(WireDrawn { spool, drawn_m, job: None, coil_no: None, reason: String::new() })]);
    }
    b.ask(decide::weigh, &weigh(spool, 170.1 - 14.0 * 14.57 * 0.3721)).unwrap();
}

fn empty(b: &mut Bench, spool: SpoolId, gross_g: f64) {
    let ask = Retire {
        spool,
        empty: true,
        gross_g: Some(gross_g),
        scale_u_g: Some(0.06),
        reason: String::new(),
        if_rev: None,
    };
    b.ask(decide::retire, &ask).unwrap();
}

fn seen(b: &Bench, spools: &[SpoolId]) -> Vec<Content> {
    spools.iter().map(|s| b.spool(*s).estimate()).collect()
}

#[test]
fn a_spool_wound_empty_tells_those_of_its_lot_and_no_others() {
    let mut b = Bench::new();
    let wound = b.receive(&of_lot("L4", 170.1));
    let [sibling, other_lot, no_lot] = ["L4", "L5", ""].map(|lot| b.receive(&of_lot(lot, 203.5)));
    let mut other_wire = of_lot("L4", 203.5);
    other_wire.wire.id = Some("cu-awg31-heavy".to_owned());
    let other_wire = b.receive(&other_wire);
    let all = [sibling, other_lot, no_lot, other_wire];
    let before = seen(&b, &all);
    assert!(before.iter().all(|c| *c == before[0]), "alone in its lot a spool stands by the table");
    let rev = b.spool(sibling).rev;
    wind(&mut b, wound);
    let wound_once = seen(&b, &all);
    assert_eq!(wound_once[1..], before[1..]);
    // Heavier by the metre, so less of it; and known better.
    let (was, is) = (before[0].left, wound_once[0].left);
    assert!(is.value < was.value && is.u < was.u * 0.95, "{was:?} {is:?}");
    // The empty reel on the scale is one more reading of it.
    empty(&mut b, wound, 80.6);
    let emptied = seen(&b, &all);
    assert_ne!(emptied[0], wound_once[0]);
    assert_eq!(emptied[1..], before[1..]);
    assert_eq!((b.spool(sibling).of_lot.spools, b.spool(wound).of_lot.spools, b.spool(sibling).rev), (1, 0, rev));
    // One that comes later learns of a spool that is long retired.
    let late = b.receive(&of_lot("L4", 203.5));
    assert_eq!(b.spool(late).estimate(), emptied[0]);
}

#[test]
fn an_undone_reading_takes_back_what_it_taught_bit_for_bit() {
    let mut b = Bench::new();
    let wound = b.receive(&of_lot("L4", 170.1));
    let siblings = [203.5, 310.0].map(|g| b.receive(&of_lot("L4", g)));
    let mut stages: Vec<(u64, Vec<Content>)> = vec![(0, seen(&b, &siblings))];
    wind(&mut b, wound);
    stages.push((b.state.seq(), seen(&b, &siblings)));
    b.ask(decide::measure, &measure(siblings[1], 260.0, 0.2)).unwrap();
    stages.push((b.state.seq(), seen(&b, &siblings)));
    empty(&mut b, wound, 80.6);
    stages.push((b.state.seq(), seen(&b, &siblings)));
    for pair in stages.windows(2).rev() {
        let [(_, before), (seq, after)] = pair else { unreachable!() };
        assert_ne!(before, after);
        b.ask(decide::undo, &Undo { seq: *seq, reason: "typed wrongly".to_owned() }).unwrap();
        assert_eq!(seen(&b, &siblings), *before, "entry {seq}");
        let by = b.state.seq();
        b.ask(decide::undo, &Undo { seq: by, reason: "it was right".to_owned() }).unwrap();
        assert_eq!(seen(&b, &siblings), *after, "entry {seq}");
        b.ask(decide::undo, &Undo { seq: *seq, reason: "typed wrongly".to_owned() }).unwrap();
    }
}

#[test]
fn which_spool_told_first_does_not_matter() {
    let told = |turned: bool| {
        let mut b = Bench::new();
        let mut tellers = [0; 3].map(|_| b.receive(&of_lot("L4", 170.1)));
        let live = b.receive(&of_lot("L4", 203.5));
        if turned {
            tellers.reverse();
        }
        for (n, s) in tellers.into_iter().enumerate() {
            // The same readings by spool, whatever the turn.
            wind(&mut b, s);
            empty(&mut b, s, 80.2 + 0.1 * s.0 as f64);
            assert_eq!(b.spool(live).of_lot.spools as usize, n + 1);
        }
        b.spool(live).estimate()
    };
    assert_eq!(told(false), told(true));
}

/// What is frozen is the state, what lots learned included.
#[test]
fn a_frozen_state_is_thawed_with_what_lots_learned() {
    let mut b = Bench::new();
    let wound = b.receive(&of_lot("L4", 170.1));
    let live = b.receive(&of_lot("L4", 203.5));
    wind(&mut b, wound);
    let thawed: State = serde_json::from_str(&serde_json::to_string(&b.state).unwrap()).unwrap();
    assert_eq!(thawed, b.state);
    assert_eq!(thawed.spool(live).unwrap().estimate(), b.spool(live).estimate());
}
