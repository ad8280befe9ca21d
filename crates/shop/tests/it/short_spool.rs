//! The spool that is short though the book says enough: worked case of this project (arithmetic, no published source).

use crate::bench::{Bench, awg31, full, job, measure, near, spool, start, weigh};
use coilwright_shop::decide;
use coilwright_shop::gate::{End, Verdict, gate, where_it_ends};
use coilwright_shop::{Kind, Uncertain};

#[test]
fn book_weight_and_resistance_stand_beside_each_other_and_the_gate_stops_in_figures() {
    let mut b = Bench::new();
    let mut ask = spool(awg31(), 101.6, Some(Uncertain::new(97.0, 1.0)));
    ask.marked_m = Some(Uncertain::new(23.9, 9.5));
    ask.marked_is_wrong = true;
    let received = b.ask(decide::receive, &ask).unwrap();
    assert_eq!(received.findings[0].code, "book_disagrees");
    let s = b.state.spools().next().unwrap().id();
    near(b.left(s).value, 12.53, 0.006);
    near(b.left(s).u, 2.73, 0.005);
    b.ask(decide::measure, &measure(s, 5.62, 0.20)).unwrap();
    near(b.left(s).value, 12.62, 0.005);
    near(b.left(s).u, 0.21, 0.005);

    let j = b.open(&job());
    let (job, sp) = (b.job(j), b.spool(s));
    let g = gate(&job, 1, &sp, b.state.figures(), None);
    assert_eq!(g.verdict, Verdict::Stop);
    assert!(g.p_enough < 1e-12, "{}", g.p_enough);
    assert_eq!(g.stops(), ["enough_wire"]);
    let text = &g.checks[0].text;
    assert!(text.contains("short by 1.98 m"), "{text}");
    assert!(text.contains("turn 41 of 55 of layer 2"), "{text}");
    assert_eq!(where_it_ends(&job.plan, sp.estimate().left.value), End::Turn { layer: 2, turn: 41, of: 55 });
    let refusal = b.ask(decide::start, &start(j, s)).unwrap_err();
    assert_eq!((refusal.kind, refusal.code.as_str()), (Kind::Refused, "gate_stops"));
    assert!(refusal.detail.contains("12.62 ± 0.21 m left, 14.60 m needed"), "{}", refusal.detail);
}

#[test]
fn by_resistance_alone_the_length_is_the_quotient() {
    let mut b = Bench::new();
    // A tare nobody knows: the scale says next to nothing, the meter says it all.
    let s = b.receive(&spool(awg31(), 101.6, None));
    assert!(b.left(s).u > 50.0);
    b.ask(decide::measure, &measure(s, 5.62, 0.20)).unwrap();
    near(b.left(s).value, 12.617, 0.005);
    near(b.left(s).u, 0.213, 0.001);
}

#[test]
fn control_job_on_a_full_spool_goes() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let j = b.open(&job());
    let started = b.ask(decide::start, &start(j, s)).unwrap();
    assert!(started.findings.is_empty());
    near(b.spool(s).held().m(), 14.595, 1e-12);
    b.ask(decide::weigh, &weigh(s, 309.0)).unwrap();
}
