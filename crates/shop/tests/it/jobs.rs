//! The life of a job: what each step asks for, and what it refuses.

use crate::bench::{Bench, full, job, near, record, start};
use coilwright_shop::decide::{self, Cancel, Change, Close, DoStep, HoldWire, Progress};
use coilwright_shop::fact::{Before, Fact, Fit, OhmReading, Step};
use coilwright_shop::job::Status;
use coilwright_shop::{JobId, Kind, Level, SpoolId, Uncertain};
use serde_json::Value;

fn step(job: JobId, coil_no: u32, step: Step) -> DoStep {
    DoStep {
        job,
        coil_no,
        step,
        not_needed: false,
        figures: Value::Null,
        minutes: None,
        reading: None,
        note: String::new(),
        if_rev: None,
    }
}
fn close(job: JobId) -> Close {
    Close { job, note: String::new(), override_reason: None, if_rev: None }
}
fn started() -> (Bench, JobId, SpoolId) {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let j = b.open(&job());
    b.ask(decide::start, &start(j, s)).unwrap();
    (b, j, s)
}

#[test]
fn a_coil_goes_from_gate_to_passport() {
    let (mut b, j, s) = started();
    let before = b.left(s);
    let d = b.ask(decide::record, &record(j, true)).unwrap();
    assert_eq!(d.facts.len(), 3);
    near(b.left(s).value, before.value - 14.568, 1e-6);
    assert_eq!(b.spool(s).held().m(), 0.0);
    let no = b.ask(decide::close, &close(j)).unwrap_err();
    assert_eq!(no.code, "steps_missing");
    assert_eq!(no.detail, "coil 1: trimmed; coil 1: cured; coil 1: tested");
    assert_eq!(b.ask(decide::step, &step(j, 1, Step::Tested)).unwrap_err().code, "steps_missing");
    for s in [Step::Cured, Step::Trimmed, Step::Tested] {
        b.ask(decide::step, &step(j, 1, s)).unwrap();
    }
    assert_eq!(b.ask(decide::step, &step(j, 1, Step::Cured)).unwrap_err().code, "done_before");
    assert_eq!(b.job(j).status(), Status::Ready);
    b.ask(decide::close, &close(j)).unwrap();
    assert_eq!(b.job(j).status(), Status::Closed);
    assert!(b.job(j).steps(1).iter().all(|(_, done)| *done));
    assert_eq!(b.ask(decide::close, &close(j)).unwrap_err().code, "job_ended");
}

#[test]
fn start_without_polarity_noted_needs_a_signature_that_stays_visible() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let mut ask = job();
    ask.before = Before::default();
    let j = b.open(&ask);
    let no = b.ask(decide::start, &start(j, s)).unwrap_err();
    assert!(no.detail.contains("start_lead, hand, gap_polarity"), "{}", no.detail);
    assert!(no.next_step.contains("job change"), "{}", no.next_step);
    let mut signed = start(j, s);
    signed.override_reason = Some(" ".to_owned());
    assert_eq!(b.ask(decide::start, &signed).unwrap_err().kind, Kind::Wrong);
    signed.override_reason = Some("customer does not know".to_owned());
    b.ask(decide::start, &signed).unwrap();
    let work = b.job(j).works.get(&1).unwrap().clone();
    let signed = work.started.signed.as_ref().unwrap();
    assert_eq!((signed.by.as_str(), signed.against.as_slice()), ("ada", &["polarity_noted".to_owned()][..]));
}

#[test]
fn a_coil_that_was_not_started_cannot_be_recorded() {
    let mut b = Bench::new();
    b.receive(&full());
    let j = b.open(&job());
    assert_eq!(b.ask(decide::record, &record(j, true)).unwrap_err().code, "not_on_winder");
    assert_eq!(b.ask(decide::step, &step(j, 1, Step::Cured)).unwrap_err().code, "not_wound");
}

#[test]
fn a_scrapped_coil_takes_between_its_full_layers_and_a_whole_coil_and_frees_a_start() {
    let (mut b, j, s) = started();
    assert_eq!(b.ask(decide::start, &start(j, s)).unwrap_err().code, "gate_stops");
    let progress =
        |layer| Progress { job: j, coil_no: None, layer, lease: "tablet 1".to_owned(), take_over: false, if_rev: None };
    b.ask(decide::progress, &progress(1)).unwrap();
    assert_eq!(b.ask(decide::progress, &progress(1)).unwrap_err().code, "not_that_layer");
    assert_eq!(b.ask(decide::progress, &progress(3)).unwrap_err().code, "not_that_layer");
    let other = Progress { lease: "tablet 2".to_owned(), ..progress(2) };
    assert_eq!(b.ask(decide::progress, &other).unwrap_err().code, "followed_elsewhere");
    let d = b.ask(decide::record, &record(j, false)).unwrap();
    let Fact::WireDrawn(drawn) = &d.facts[0] else { panic!("no draw") };
    let least = 0.60 + 0.20 + 56.0 * 0.121_788;
    near(drawn.drawn_m.value, (least + 14.568) / 2.0, 1e-9);
    near(drawn.drawn_m.u, (14.568 - least) / 12f64.sqrt(), 1e-9);
    let again = b.ask(decide::start, &start(j, s)).unwrap();
    assert!(matches!(again.facts.last(), Some(Fact::CoilStarted(f)) if f.coil_no == 2));
}

#[test]
fn scrapping_needs_a_reason_and_drawing_more_than_is_there_is_refused() {
    let (mut b, j, _) = started();
    let mut ask = record(j, false);
    ask.reason = String::new();
    assert_eq!(b.ask(decide::record, &ask).unwrap_err().kind, Kind::Wrong);
    ask.reason = "ran out".to_owned();
    ask.drawn_m = Some(Uncertain::new(900.0, 0.1));
    let no = b.ask(decide::record, &ask).unwrap_err();
    assert_eq!(no.code, "drawn_too_much");
    assert!(no.detail.contains("577"), "{}", no.detail);
}

#[test]
fn resistance_far_from_the_plan_is_a_finding_with_its_cause() {
    let (mut b, j, _) = started();
    let mut ask = record(j, true);
    ask.reading = Some(OhmReading {
        ohm: Uncertain::new(5.20, 0.02),
        test_leads_ohm: Uncertain::new(0.20, 0.0),
        temperature_c: Uncertain::new(23.0, 1.0),
    });
    let d = b.ask(decide::record, &ask).unwrap();
    let finding = d.findings.iter().find(|f| f.code == "dcr_off_plan").unwrap();
    assert!(finding.text.contains("shorted turn"), "{}", finding.text);
    let Fact::CoilFinished(r) = &d.facts[2] else { panic!("no record") };
    near(r.dcr_ohm.unwrap().value, 5.0 / (1.0 + 0.00393 * 3.0), 1e-12);
}

#[test]
fn coil_that_would_rub_or_outlive_its_adhesive_stops() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let mut ask = job();
    ask.plan.fit = Some(Fit { level: Level::Stop, clearance_outer_mm: 0.073, min_outer_mm: 0.20 });
    ask.plan.winding_min = Some(61.0);
    let j = b.open(&ask);
    let (no, gate) = decide::at_gate(&b.state, j, None, s, None).unwrap();
    assert_eq!((no, gate.stops()), (1, vec!["fits_gap".to_owned(), "pot_life".to_owned()]));
    let fit = gate.checks.iter().find(|c| c.code == "fits_gap").unwrap();
    assert_eq!((fit.figure, fit.limit), (Some(0.073), Some(0.20)));
    assert_eq!(b.ask(decide::start, &start(j, s)).unwrap_err().code, "gate_stops");
}

#[test]
fn cancelling_gives_back_what_was_promised() {
    let mut b = Bench::new();
    let s = b.receive(&full());
    let j = b.open(&job());
    let hold = HoldWire { spool: s, hold_m: 30.0, reason: String::new(), job: Some(j), if_rev: None };
    b.ask(decide::hold, &hold).unwrap();
    b.ask(decide::cancel, &Cancel { job: j, reason: "no answer".to_owned(), if_rev: None }).unwrap();
    assert_eq!(b.spool(s).held().m(), 0.0);
    assert_eq!(b.job(j).status(), Status::Cancelled);
    assert_eq!(b.ask(decide::start, &start(j, s)).unwrap_err().code, "job_ended");
}

#[test]
fn wire_of_another_kind_stops_unless_the_job_accepts_it() {
    let mut b = Bench::new();
    let mut other = full();
    other.wire.id = Some("cu-0.224-grade1".to_owned());
    let s = b.receive(&other);
    let j = b.open(&job());
    assert!(b.ask(decide::start, &start(j, s)).unwrap_err().next_step.contains("other_wires"));
    let wires = vec![coilwright_shop::fact::OtherWire { wire: "cu-0.224-grade1".to_owned(), penalty: 1.0 }];
    let change = Change {
        job: j,
        title: None,
        coil: None,
        coils: None,
        due_on: None,
        priority: None,
        other_wires: Some(wires),
        before: None,
        if_rev: None,
    };
    b.ask(decide::change, &change).unwrap();
    b.ask(decide::start, &start(j, s)).unwrap();
    let nothing = Change { other_wires: None, ..change };
    assert_eq!(b.ask(decide::change, &nothing).unwrap_err().code, "nothing_changed");
}
