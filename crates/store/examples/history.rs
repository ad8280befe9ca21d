//! How long a shop takes to open and how much memory it needs, by the length of its history.
//!
//! `history fill DIR ENTRIES` lives the years of a shop: 200 spools in use, each emptied coil by coil into jobs of one coil
//! (opened, started, recorded, trimmed, cured, tested, closed), weighed now and then, something undone now and then, and
//! retired for the next one. Every decision is the shop's own. An entry every five minutes. `history open DIR` opens it and
//! prints seconds and the process's peak memory; run it as left, after `rm -r DIR/index`, and after a kill.

// An example of measuring: it fails by panicking.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_shop::decide::{self, Close, DoStep, Open, Receive, Record, Retire, Ruling, Start, Undo, Weigh};
use coilwright_shop::entry::{Decided, Entry};
use coilwright_shop::fact::{Before, CoilPlan, Fact, GapPolarity, Hand, LayerPlan, Lead, Step, Wire};
use coilwright_shop::{JobId, Moment, SpoolId, State, Uncertain};
use coilwright_store::{Clock, Done, Options, Outcome, Request, Store};
use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::time::Instant;

const LIVE: usize = 200;
/// Requests under way at once.
const WRITERS: usize = 64;
/// Coils from a spool.
const COILS: u32 = 20;

type Shop = Store<State, String>;

fn main() {
    let words: Vec<String> = std::env::args().collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[1..] {
        ["fill", dir, entries] => fill(Path::new(dir), entries.parse().unwrap(), WRITERS),
        ["fill", dir, entries, writers] => fill(Path::new(dir), entries.parse().unwrap(), writers.parse().unwrap()),
        ["open", dir] => measure(Path::new(dir)),
        _ => panic!("history fill DIR ENTRIES [WRITERS] | history open DIR"),
    }
}

/// Five minutes an entry.
struct Slow(AtomicI64);

impl Clock for Slow {
    fn now(&self) -> Timestamp {
        let begin: Timestamp = "2026-01-01T08:00:00Z".parse().unwrap();
        begin + SignedDuration::from_mins(5 * self.0.fetch_add(1, Ordering::Relaxed))
    }
    fn mono_ms(&self) -> u64 {
        0
    }
    fn boot(&self) -> &str {
        "history"
    }
}

fn open(dir: &Path) -> (Shop, coilwright_store::OpenReport) {
    let subjects = |entry: &Entry| entry.facts.iter().filter_map(Fact::subject).map(String::from).collect();
    let mut options = Options::new(subjects).unwrap();
    options.clock = Box::new(Slow(AtomicI64::new(0)));
    Shop::open(dir, options).unwrap()
}

type Decide = Box<dyn Fn(&State, &Moment) -> Ruling + Send>;

/// A place on the shelf: the spool that stands there now and the job that is wound from it.
#[derive(Clone, Default)]
struct Place {
    spool: Option<SpoolId>,
    job: Option<JobId>,
    step: u32,
    coils: u32,
    gross_g: f64,
    last: u64,
    weighed: bool,
    turn: u64,
}

impl Place {
    /// What happens here next.
    fn next(&self) -> (&'static str, Decide) {
        let Some(spool) = self.spool else { return ("spool.receive", Box::new(|s, m| decide::receive(s, &full(), m))) };
        if self.step == 0 && self.turn % 7 == 6 && !self.weighed {
            let weigh = Weigh { spool, gross_g: self.gross_g, scale_u_g: Some(0.1), if_rev: None };
            return ("spool.weigh", Box::new(move |s, m| decide::weigh(s, &weigh, m)));
        }
        if self.weighed && self.turn.is_multiple_of(5) {
            let undo = Undo { seq: self.last, reason: "written twice".to_owned() };
            return ("journal.undo", Box::new(move |s, m| decide::undo(s, &undo, m)));
        }
        if self.step == 0 && self.coils == COILS {
            let (empty, reason) = (false, "the rest is too short".to_owned());
            let retire = Retire { spool, empty, gross_g: None, scale_u_g: None, reason, if_rev: None };
            return ("spool.retire", Box::new(move |s, m| decide::retire(s, &retire, m)));
        }
        let Some(job) = self.job else { return ("job.open", Box::new(|s, m| decide::open(s, &job_of_one(), m))) };
        let done = |step| {
            let (figures, note) = (json!({ "by": "hand" }), String::new());
            let ask = DoStep {
                job,
                coil_no: 1,
                step,
                not_needed: false,
                figures,
                minutes: None,
                reading: None,
                note,
                if_rev: None,
            };
            Box::new(move |s: &State, m: &Moment| decide::step(s, &ask, m))
        };
        match self.step {
            1 => {
                let reason = Some("the history goes on".to_owned());
                let start = Start {
                    job,
                    coil_no: None,
                    spool,
                    wet: None,
                    also: Vec::new(),
                    override_reason: reason,
                    if_rev: None,
                };
                ("job.start", Box::new(move |s, m| decide::start(s, &start, m)))
            }
            2 => ("job.record", Box::new(move |s, m| decide::record(s, &as_wound(job), m))),
            3 => ("job.step", done(Step::Trimmed)),
            4 => ("job.step", done(Step::Cured)),
            5 => ("job.step", done(Step::Tested)),
            _ => {
                let close = Close { job, note: String::new(), override_reason: None, if_rev: None };
                ("job.close", Box::new(move |s, m| decide::close(s, &close, m)))
            }
        }
    }

    /// It has happened.
    fn happened(&mut self, method: &str, done: &Done) {
        let id = |name: &str| done.answer[name].as_str().unwrap_or_default().to_owned();
        self.turn += 1;
        self.last = done.seq;
        self.weighed = method == "spool.weigh";
        match method {
            "spool.receive" => *self = Self { spool: id("spool").parse().ok(), gross_g: 309.0, ..self.clone() },
            "spool.retire" => *self = Self { turn: self.turn, ..Self::default() },
            "job.open" => (self.job, self.step) = (id("job").parse().ok(), 1),
            "job.record" => (self.step, self.gross_g) = (3, self.gross_g - DRAW_M * 0.36698),
            "job.close" => (self.job, self.step, self.coils) = (None, 0, self.coils + 1),
            "spool.weigh" | "journal.undo" => {}
            _ => self.step += 1,
        }
    }
}

const DRAW_M: f64 = 14.568;

fn full() -> Receive {
    let none = String::new;
    Receive {
        wire: Wire {
            id: Some("cu-awg31-single".to_owned()),
            label: "AWG 31 single copper".to_owned(),
            conductor: "copper".to_owned(),
            g_per_m: Uncertain::new(0.36698, 0.001),
            ohm_per_m: Uncertain::new(0.42957, 0.0013),
            alpha_per_k: 0.00393,
            overall_mm: Some(0.24638),
            bare_mm: Some(0.22606),
        },
        gross_g: Some(309.0),
        scale_u_g: Some(0.1),
        tare_g: Some(Uncertain::new(97.0, 0.5)),
        marked_m: None,
        marked_is_wrong: false,
        label: "upper shelf".to_owned(),
        supplier: none(),
        lot: "lot 7".to_owned(),
        cost_per_kg: None,
        place: "drawer 3".to_owned(),
        note: none(),
    }
}

fn job_of_one() -> Open {
    Open {
        title: "Quillmere 10, left".to_owned(),
        coil: json!({"wire": "cu-awg31-single", "winding": {"layers": 2, "width_mm": 14.5},
            "former": {"material": "aluminium-foil", "inside_diameter_mm": 38.2, "wall_mm": 0.12, "height_mm": 38}}),
        plan: CoilPlan {
            wire: "cu-awg31-single".to_owned(),
            need_m: Uncertain::new(14.595, 0.0),
            draw_m: Uncertain::new(DRAW_M, 0.05),
            dcr_ohm: Some(Uncertain::new(5.950, 0.05)),
            fit: None,
            stops: Vec::new(),
            layers: vec![LayerPlan { turns: 56, turn_m: 0.121_788 }, LayerPlan { turns: 55, turn_m: 0.123_181 }],
            threading_m: 0.60,
            start_tail_m: 0.20,
            pieces: 1,
            pot_life_min: Some(60.0),
            pot_life_of: None,
            winding_min: Some(25.0),
            mandrel_mm: None,
            overall_mm: None,
            base_mm: None,
            first: None,
            target: None,
        },
        coils: 1,
        due_on: None,
        priority: 5,
        other_wires: Vec::new(),
        before: Before {
            start_lead: Some(Lead::Plus),
            hand: Some(Hand::Clockwise),
            gap_polarity: Some(GapPolarity::PoleNorth),
            ..Before::default()
        },
    }
}

fn as_wound(job: JobId) -> Record {
    Record {
        job,
        coil_no: None,
        spool: None,
        winder: "ada".to_owned(),
        mandrel_mm: Some(38.2),
        minutes: Some(22.0),
        adhesive_batch: "B7".to_owned(),
        turns_per_layer: vec![56, 55],
        reading: None,
        good: true,
        reason: String::new(),
        drawn_m: None,
        width_mm: None,
        outside_mm: None,
        note: String::new(),
        if_rev: None,
    }
}

/// One request of one place; its outcome goes to `told` with the place's number and the method.
fn request(
    place: usize,
    at: &Place,
    key: u64,
    told: &Sender<(usize, &'static str, Outcome<String>)>,
) -> Request<State, String> {
    let (method, decide) = at.next();
    let told = told.clone();
    Request {
        method: method.to_owned(),
        who: "history".to_owned(),
        asked: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08".to_owned(),
        key: Some(format!("5f0c8e52-9d1b-4b7e-8f64-{key:012}")),
        decide: Box::new(move |state, moment| {
            let decision = decide(state, moment).map_err(|refusal| refusal.to_string())?;
            let answer = answer(&state.after(moment, &decision.facts), &decision.facts, moment);
            Ok(Decided { facts: decision.facts, answer })
        }),
        reply: Box::new(move |outcome| told.send((place, method, outcome)).unwrap()),
    }
}

/// Much like the service's own.
fn answer(after: &State, facts: &[Fact], moment: &Moment) -> Value {
    let mut answer = json!({ "seq": moment.seq, "findings": [] });
    for fact in facts {
        match fact {
            Fact::SpoolReceived(f) => answer["spool"] = json!(f.spool),
            Fact::JobOpened(f) => answer["job"] = json!(f.job),
            Fact::SpoolWeighed(f) => {
                answer["left_m"] = json!(after.spool(f.spool).map(|s| Uncertain::of_metres(s.estimate().left)));
            }
            _ => {}
        }
    }
    answer
}

fn fill(dir: &Path, entries: u64, writers: usize) {
    let taken_before = taken(dir.parent().unwrap_or(dir));
    let (store, _) = open(dir);
    let (told, outcomes) = channel();
    let mut places = vec![Place::default(); LIVE];
    for (place, at) in places.iter_mut().enumerate() {
        at.turn = place as u64;
    }
    let mut waiting: Vec<usize> = (0..LIVE).rev().collect();
    let (mut asked, mut open_requests, mut facts, mut refused) = (0, 0, 0u64, 0);
    let begun = Instant::now();
    loop {
        while open_requests < writers && asked < entries {
            let Some(place) = waiting.pop() else { break };
            store.submit(request(place, &places[place], asked, &told));
            (asked, open_requests) = (asked + 1, open_requests + 1);
        }
        if open_requests == 0 {
            break;
        }
        let (place, method, outcome) = outcomes.recv().unwrap();
        open_requests -= 1;
        match outcome {
            Ok(done) => {
                facts += if method == "job.record" { 3 } else { 1 };
                places[place].happened(method, &done);
            }
            // Undoing what others stand on is refused, and so it should be.
            Err(_) if method == "journal.undo" => {
                refused += 1;
                places[place].turn += 1;
                places[place].weighed = false;
            }
            Err(e) => panic!("{method}: {e:?}"),
        }
        waiting.insert(0, place);
    }
    let seconds = begun.elapsed().as_secs_f64();
    let head = store.state().head.seq;
    println!("{head} entries, at least {facts} facts, in {seconds:.1} s ({refused} undoings refused), {}", peak());
    store.stop().unwrap();
    let journal: u64 =
        std::fs::read_dir(dir.join("journal")).unwrap().map(|f| f.unwrap().metadata().unwrap().len()).sum();
    let per_entry = |bytes: u64| bytes as f64 / head as f64;
    println!(
        "{writers} under way at once: {:.0} bytes an entry to the device, the index included ({:.0} in the journal's files)",
        per_entry(taken(dir) - taken_before),
        per_entry(journal)
    );
}

/// Bytes that the folder's device has taken since it was attached, everybody's: fill on a machine at rest. A process's own
/// count in `/proc/self/io` is of no use here: it counts the whole folio that a write touches, up to 2 MiB for a line.
fn taken(dir: &Path) -> u64 {
    let device = std::fs::metadata(dir).map_or(0, |m| m.dev());
    let (major, minor) = ((device >> 8) & 0xfff, (device & 0xff) | ((device >> 12) & 0xfff00));
    let stat = std::fs::read_to_string(format!("/sys/dev/block/{major}:{minor}/stat")).unwrap_or_default();
    stat.split_whitespace().nth(6).and_then(|sectors| sectors.parse::<u64>().ok()).unwrap_or(0) * 512
}

fn measure(dir: &Path) {
    let begun = Instant::now();
    let (store, report) = open(dir);
    let seconds = begun.elapsed().as_secs_f64();
    let (opened, busy) = (peak(), busy());
    let state = store.state();
    let (last_spool, last_job) = (state.state.last_spool(), state.state.last_job());
    println!(
        "{} entries, {} of {} spools in use, {} of {} jobs open: open {seconds:.3} s (processor {busy:.2} s), {opened} ({} folded, {} indexed{})",
        state.head.seq,
        state.state.spools().count(),
        last_spool.0,
        state.state.jobs().count(),
        last_job.0,
        report.folded,
        report.index.added,
        report.index.rebuilt.map(|why| format!(", index made anew: {why}")).unwrap_or_default(),
    );
    let begun = Instant::now();
    let looks = 200u64.min(last_spool.0);
    for id in (0..looks).map(|n| SpoolId(1 + n * last_spool.0 / looks)) {
        assert!(store.look(|p| p.state.spool(id).cloned()).unwrap().is_some(), "{id}");
    }
    println!("a spool at rest or not: {:.2} ms, {}", begun.elapsed().as_secs_f64() * 1e3 / looks as f64, peak());
}

/// Seconds of processor time up to now: what is left of the time to open when other programs have the machine.
fn busy() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let ticks = stat.rsplit(')').next().unwrap_or_default().split_whitespace().skip(11).take(2);
    ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// The process's peak resident memory as the kernel tells it.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find(|line| line.starts_with("VmHWM"))
        .map_or_else(|| "no VmHWM here".to_owned(), |line| line.split_whitespace().collect::<Vec<_>>().join(" "))
}
