//! Laws that hold for any sequence of requests, sensible or not. Each failure prints its seed.

use crate::bench::{Bench, awg31, job, measure, record, spool, start, weigh};
use coilwright_shop::decide::{self, Cancel, Close, DoStep, HoldWire, MoveSpool, Progress, ReleaseHold, Retire, Undo};
use coilwright_shop::fact::*;
use coilwright_shop::{Decision, Entry, HoldId, JobId, Moment, Refusal, SpoolId, State, Uncertain};
use serde_json::Value;

/// Small generator of repeatable numbers (splitmix64).
struct Dice(u64);
impl Dice {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: u64) -> u64 {
        self.bits() % n
    }
    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }
}

const SEEDS: u64 = 60;
const REQUESTS: usize = 120;

/// One request, mostly near what could be meant.
fn request(b: &mut Bench, d: &mut Dice) -> Result<Decision, Refusal> {
    let s = SpoolId(1 + d.below(b.state.last_spool().0.max(4)));
    let j = JobId(1 + d.below(b.state.last_job().0.max(5)));
    let seq = b.state.seq();
    b.wait(d.below(400) as i64 - 650);
    match d.below(19) {
        0 if b.state.last_spool().0 < 4 || d.below(8) == 0 => {
            let tare = if d.below(4) == 0 { None } else { Some(Uncertain::new(97.0, 1.0)) };
            let mut ask = spool(awg31(), d.within(98.0, 140.0), tare);
            if d.below(3) == 0 {
                ask.marked_m = Some(Uncertain::new(d.within(10.0, 120.0), 2.0));
            }
            if d.below(3) > 0 {
                // Two lots, by a table: what one spool tells moves the others.
                ask.lot = ["A", "B"][d.below(2) as usize].to_owned();
                ask.wire.g_per_m.u = 0.015 * ask.wire.g_per_m.value;
                ask.wire.ohm_per_m.u = 0.013 * ask.wire.ohm_per_m.value;
            }
            b.ask(decide::receive, &ask)
        }
        1 if b.state.last_job().0 < 5 || d.below(8) == 0 => {
            let mut ask = job();
            ask.coils = 1 + d.below(3) as u32;
            b.ask(decide::open, &ask)
        }
        2..=4 => {
            let shows = b.state.spool(s).and_then(|s| s.estimate().expected_gross()).map_or(100.0, |g| g.value.g());
            let gross = shows + if d.below(3) == 0 { d.within(-8.0, 3.0) } else { d.within(-0.2, 0.2) };
            b.ask(decide::weigh, &weigh(s, (gross * 10.0).round() / 10.0))
        }
        5 => {
            let left = b.state.spool(s).map_or(20.0, |s| s.estimate().left.value.m());
            b.ask(decide::measure, &measure(s, 0.2 + 0.42957 * left * d.within(0.9, 1.05), 0.2))
        }
        6 | 7 => {
            let ask = HoldWire {
                spool: s,
                hold_m: d.within(0.1, 40.0),
                reason: String::new(),
                job: (d.below(2) == 0).then_some(j),
                if_rev: None,
            };
            b.ask(decide::hold, &ask)
        }
        8 => {
            let hold = HoldId(1 + d.below(20));
            b.ask(decide::release, &ReleaseHold { spool: s, hold, reason: String::new(), if_rev: None })
        }
        9..=11 => {
            let mut ask = start(j, s);
            ask.override_reason = (d.below(4) == 0).then(|| "try it".to_owned());
            b.ask(decide::start, &ask)
        }
        12 | 13 => {
            let mut ask = record(j, d.below(3) > 0);
            ask.drawn_m = (d.below(3) == 0).then(|| Uncertain::new(d.within(5.0, 20.0), 0.2));
            b.ask(decide::record, &ask)
        }
        14 => {
            let step = [Step::Trimmed, Step::Cured, Step::Tested][d.below(3) as usize];
            let coil_no = 1 + d.below(3) as u32;
            let ask = DoStep {
                job: j,
                coil_no,
                step,
                not_needed: false,
                figures: Value::Null,
                minutes: (d.below(2) == 0).then(|| d.within(1.0, 40.0)),
                reading: None,
                note: String::new(),
                if_rev: None,
            };
            b.ask(decide::step, &ask)
        }
        15 => {
            let layer = 1 + d.below(3) as u32;
            let ask = Progress { job: j, coil_no: None, layer, lease: String::new(), take_over: false, if_rev: None };
            b.ask(decide::progress, &ask)
        }
        16 => match d.below(4) {
            0 => b.ask(decide::cancel, &Cancel { job: j, reason: "no".to_owned(), if_rev: None }),
            1 => b.ask(decide::close, &Close { job: j, note: String::new(), override_reason: None, if_rev: None }),
            2 => {
                let reel = Some(Reel { tare_g: (d.below(2) == 0).then(|| Uncertain::new(60.0, 1.0)) });
                b.ask(decide::move_spool, &MoveSpool { spool: s, place: None, reel, lost_m: None, if_rev: None })
            }
            _ => {
                let empty = d.below(2) == 0;
                b.ask(
                    decide::retire,
                    &Retire { spool: s, empty, gross_g: None, scale_u_g: None, reason: String::new(), if_rev: None },
                )
            }
        },
        _ => b.ask(decide::undo, &Undo { seq: 1 + d.below(seq.max(1)), reason: "try".to_owned() }),
    }
}

fn folded<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Bench {
    let mut b = Bench::new();
    b.entries = entries.into_iter().cloned().collect();
    b.entries.iter().for_each(|e| b.state.apply(e, &b.entries).unwrap());
    b
}

#[test]
fn balances_stay_above_zero_and_promises_within_what_is_there() {
    let mut taken = 0;
    for seed in 1..=SEEDS {
        let (mut b, mut d) = (Bench::new(), Dice(seed));
        for n in 0..REQUESTS {
            let held: Vec<(SpoolId, f64)> = b.state.spools().map(|s| (s.id(), s.held().m())).collect();
            let Ok(decision) = request(&mut b, &mut d) else { continue };
            taken += 1;
            for s in b.state.spools() {
                let left = s.estimate().left;
                assert!(left.value.m() >= 0.0 && left.u.m().is_finite(), "seed {seed} request {n}");
                let grew = held.iter().find(|(id, _)| *id == s.id()).is_some_and(|(_, h)| s.held().m() > h + 1e-9);
                let covered = s.uncovered().m() <= 1e-9;
                assert!(!grew || covered, "seed {seed} request {n}: {} promised more than is there", s.id());
                let said = decision.findings.iter().any(|f| f.code == "promises_uncovered");
                let touched = decision.facts.iter().any(|f| f.subject() == Some(Subject::Spool(s.id())));
                assert!(covered || said || !touched || held_fell(&held, s), "seed {seed} request {n}: not told");
            }
        }
    }
    assert!(taken > 2000, "only {taken} requests were taken");
}

fn held_fell(before: &[(SpoolId, f64)], s: &coilwright_shop::spool::Spool) -> bool {
    before.iter().any(|(id, h)| *id == s.id() && s.held().m() <= *h)
}

#[test]
fn fold_of_the_written_and_read_journal_equals_the_live_state_bit_for_bit() {
    for seed in 1..=SEEDS {
        let (mut b, mut d) = (Bench::new(), Dice(seed));
        for _ in 0..REQUESTS {
            let _ = request(&mut b, &mut d);
        }
        let lines: Vec<String> = b.entries.iter().map(|e| serde_json::to_string(e).unwrap()).collect();
        let read: Vec<Entry> = lines.iter().map(|l| serde_json::from_str(l).unwrap()).collect();
        assert_eq!(read, b.entries, "seed {seed}");
        let again = folded(&read);
        assert_eq!(again.state, b.state, "seed {seed}");
        assert_eq!(again.all(), b.all(), "seed {seed}");
        for (live, read) in b.all().0.iter().zip(&again.all().0) {
            let bits = |s: &coilwright_shop::spool::Spool| s.estimate().left.value.m().to_bits();
            assert_eq!(bits(live), bits(read), "seed {seed}");
        }
        // The frozen state is the state too.
        let frozen = serde_json::to_string(&b.state).unwrap();
        assert_eq!(serde_json::from_str::<State>(&frozen).unwrap(), b.state, "seed {seed}");
    }
}

/// Facts as no decision would ever make them: about things that are not there, twice, backwards, with absurd figures.
fn nonsense(d: &mut Dice, seq: u64) -> Fact {
    let (spool, job, hold) = (SpoolId(d.below(3)), JobId(d.below(3)), HoldId(d.below(5)));
    let figure = Uncertain::new(d.within(-1e6, 1e6), [0.0, 1e-300, 1.0, 1e300][d.below(4) as usize]);
    match d.below(9) {
        0 => {
            let mut wire = awg31();
            wire.g_per_m = figure;
            let marked_m = (d.below(2) == 0).then_some(figure);
            let ask = spool_received(spool, wire, figure, marked_m);
            Fact::SpoolReceived(Box::new(ask))
        }
        1 => Fact::SpoolWeighed(SpoolWeighed {
            spool,
            gross_g: figure,
            expected_g: None,
            repeat_of: (d.below(2) == 0).then_some(d.below(seq)),
            breaks_ledger: d.below(2) == 0,
        }),
        2 => Fact::WireDrawn(WireDrawn { spool, drawn_m: figure, job: None, coil_no: None, reason: String::new() }),
        3 => Fact::SpoolHeld(SpoolHeld {
            spool,
            hold,
            hold_m: figure.value,
            reason: String::new(),
            job: Some(job),
            coil_no: None,
        }),
        4 => Fact::SpoolReleased(SpoolReleased { spool, hold, reason: String::new() }),
        5 => Fact::JobCancelled(JobCancelled { job, reason: String::new() }),
        6 => {
            Fact::LayerReached(LayerReached { job, coil_no: d.below(3) as u32, layer: u32::MAX, lease: String::new() })
        }
        7 => Fact::SpoolMoved(SpoolMoved { spool, place: None, reel: Some(Reel { tare_g: Some(figure) }) }),
        _ => Fact::EntryUndone(EntryUndone { seq: d.below(seq + 3), reason: String::new() }),
    }
}

fn spool_received(spool: SpoolId, wire: Wire, gross_g: Uncertain, marked_m: Option<Uncertain>) -> SpoolReceived {
    let none = String::new;
    SpoolReceived {
        spool,
        wire,
        gross_g: Some(gross_g),
        tare_g: None,
        marked_m,
        marked_counts: true,
        label: none(),
        supplier: none(),
        lot: if gross_g.value.to_bits().is_multiple_of(4) { "A".to_owned() } else { none() },
        cost_per_kg: None,
        place: none(),
        note: none(),
    }
}

#[test]
fn any_journal_at_all_folds_without_panic_and_the_same_each_time() {
    for seed in 1..=SEEDS {
        let (mut b, mut d) = (Bench::new(), Dice(seed));
        for _ in 0..REQUESTS {
            let facts = (0..1 + d.below(3)).map(|_| nonsense(&mut d, b.state.seq() + 1)).collect();
            b.write(facts);
            for s in b.state.spools() {
                assert!(s.estimate().left.value.m() >= 0.0, "seed {seed}");
                assert!(s.free(0.98).m() >= 0.0, "seed {seed}");
            }
            let _ = request(&mut b, &mut d);
        }
        let again = folded(&b.entries);
        assert_eq!(again.state, b.state, "seed {seed}");
        assert_eq!(again.all(), b.all(), "seed {seed}");
    }
}

/// Everything but revisions, which an undo moves on, as it would be compared by eye.
fn seen(b: &Bench) -> Value {
    let (mut spools, mut jobs) = b.all();
    spools.iter_mut().for_each(|s| s.rev = 0);
    jobs.iter_mut().for_each(|j| j.rev = 0);
    serde_json::json!([spools, jobs, b.state.shop().figures.confidence])
}

#[test]
fn state_after_an_undo_is_the_state_without_the_entry() {
    let mut undone = 0;
    for seed in 1..=SEEDS {
        let (mut b, mut d) = (Bench::new(), Dice(seed));
        for _ in 0..REQUESTS / 2 {
            let _ = request(&mut b, &mut d);
        }
        for seq in (1..=b.state.seq()).rev() {
            let before = seen(&b);
            if b.ask(decide::undo, &Undo { seq, reason: "try".to_owned() }).is_err() {
                continue;
            }
            undone += 1;
            let plain =
                b.entries.iter().all(|e| !e.facts.iter().any(|f| f.subject().is_none()) || e.seq == b.state.seq());
            if plain {
                let without = folded(b.entries.iter().filter(|e| e.seq != seq && e.seq != b.state.seq()));
                assert_eq!(seen(&b), seen(&without), "seed {seed} entry {seq}");
            }
            let by = b.state.seq();
            if b.ask(decide::undo, &Undo { seq: by, reason: "back".to_owned() }).is_ok() {
                assert_eq!(seen(&b), before, "seed {seed} entry {seq} and back");
            }
        }
    }
    assert!(undone > 500, "only {undone} entries were undone");
}

/// As it was laid down, revision and all, however often it was undone and had back before.
#[test]
fn a_thing_at_rest_is_put_together_as_it_was() {
    let mut rested = 0;
    for seed in 1..=SEEDS {
        let (mut b, mut d) = (Bench::new(), Dice(seed));
        for n in 0..REQUESTS {
            let before = Bench { state: b.state.clone(), entries: b.entries.clone(), now: b.now };
            if request(&mut b, &mut d).is_err() {
                continue;
            }
            let (entry, spools, jobs) = (b.entries.last().unwrap(), b.all().0, b.all().1);
            let moment = Moment { seq: entry.seq, stamp: entry.stamp.clone(), who: entry.who.clone() };
            let after = before.looking(|state| state.after(&moment, &entry.facts));
            for spool in after.spools() {
                assert_eq!(spools.iter().find(|s| s.id() == spool.id()), Some(spool), "seed {seed} request {n}");
            }
            for job in after.jobs() {
                assert_eq!(jobs.iter().find(|j| j.id == job.id), Some(job), "seed {seed} request {n}");
            }
            assert!(b.state.spools().all(|s| !s.at_rest()) && b.state.jobs().all(|j| !j.at_rest()), "seed {seed}");
            rested += spools.len() + jobs.len() - b.state.spools().count() - b.state.jobs().count();
        }
    }
    assert!(rested > 500, "only {rested} things at rest were put together");
}
