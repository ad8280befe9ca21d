//! A bench to try decisions on: keeps the state, the entries and a clock that only the test moves.

use coilwright_shop::decide::{self, Measure, Open, Receive, Record, Ruling, Start, Weigh};
use coilwright_shop::entry::{ClockQuality, ENTRY_VERSION, Stamp};
use coilwright_shop::fact::{Before, CoilPlan, Fact, Fit, GapPolarity, Hand, LayerPlan, Lead, OhmReading, Wire};
use coilwright_shop::job::Job;
use coilwright_shop::spool::Spool;
use coilwright_shop::{Decision, Entry, JobId, Level, Moment, Refusal, SpoolId, State, Uncertain};
use jiff::{SignedDuration, Timestamp};
use serde_json::{Value, json};

pub struct Bench {
    pub state: State,
    pub entries: Vec<Entry>,
    pub now: Timestamp,
}

impl Bench {
    pub fn new() -> Bench {
        Bench { state: State::default(), entries: Vec::new(), now: "2026-03-02T09:00:00Z".parse().unwrap() }
    }

    pub fn moment(&self) -> Moment {
        let stamp = Stamp { at: self.now, quality: ClockQuality::Plausible, boot: "bench".to_owned(), mono_ms: 0 };
        Moment { seq: self.state.seq() + 1, stamp, who: "ada".to_owned() }
    }

    pub fn wait(&mut self, seconds: i64) {
        self.now += SignedDuration::from_secs(seconds);
    }

    /// Asks, and writes what was decided.
    pub fn ask<A>(&mut self, decide: fn(&State, &A, &Moment) -> Ruling, ask: &A) -> Result<Decision, Refusal> {
        let moment = self.moment();
        let decision = self.ruling(|state| decide(state, ask, &moment))?;
        let again = self.ruling(|state| decide(state, ask, &moment));
        assert_eq!(again.as_ref(), Ok(&decision), "a decision must be repeatable");
        self.write(decision.facts.clone());
        Ok(decision)
    }

    /// What is decided once everything that was asked for is there.
    pub fn ruling(&self, decide: impl Fn(&State) -> Ruling) -> Ruling {
        self.looking(|state| decide(state))
    }

    /// Looks at the state, things at rest too.
    pub fn looking<T>(&self, look: impl Fn(&State) -> T) -> T {
        let mut state = self.state.watched();
        loop {
            let seen = look(&state);
            if !state.recall_wanted(&self.entries).unwrap() {
                return seen;
            }
        }
    }

    /// A spool, in use or retired.
    pub fn spool(&self, id: SpoolId) -> Spool {
        self.looking(|state| state.spool(id).cloned()).unwrap()
    }

    /// A job, ended or not.
    pub fn job(&self, id: JobId) -> Job {
        self.looking(|state| state.job(id).cloned()).unwrap()
    }

    /// All spools that ever were and count, and all jobs, at rest or not.
    pub fn all(&self) -> (Vec<Spool>, Vec<Job>) {
        let (spools, jobs) = (1..=self.state.last_spool().0, 1..=self.state.last_job().0);
        self.looking(|state| {
            let spools = spools.clone().filter_map(|id| state.spool(SpoolId(id)).cloned());
            (spools.collect(), jobs.clone().filter_map(|id| state.job(JobId(id)).cloned()).collect())
        })
    }

    pub fn write(&mut self, facts: Vec<Fact>) {
        let Moment { seq, stamp, who } = self.moment();
        let entry = Entry {
            seq,
            v: ENTRY_VERSION,
            group: seq,
            stamp,
            who,
            method: "test".to_owned(),
            key: None,
            asked: String::new(),
            facts,
            answer: Value::Null,
        };
        self.state.apply(&entry, &self.entries).unwrap();
        self.entries.push(entry);
        self.wait(600);
    }

    pub fn receive(&mut self, ask: &Receive) -> SpoolId {
        let decision = self.ask(decide::receive, ask).unwrap();
        match &decision.facts[0] {
            Fact::SpoolReceived(f) => f.spool,
            other => panic!("unexpected {other:?}"),
        }
    }

    pub fn open(&mut self, ask: &Open) -> JobId {
        let decision = self.ask(decide::open, ask).unwrap();
        match &decision.facts[0] {
            Fact::JobOpened(f) => f.job,
            other => panic!("unexpected {other:?}"),
        }
    }

    pub fn left(&self, spool: SpoolId) -> Uncertain {
        Uncertain::of_metres(self.spool(spool).estimate().left)
    }
}

/// AWG 31 of the worked case, with the mass per metre known and the resistance measured on the spool to 0.3 %.
pub fn awg31() -> Wire {
    Wire {
        id: Some("cu-awg31-single".to_owned()),
        label: "AWG 31 single copper".to_owned(),
        conductor: "copper".to_owned(),
        g_per_m: Uncertain::new(0.36698, 0.0),
        ohm_per_m: Uncertain::new(0.42957, 0.003 * 0.42957),
        alpha_per_k: 0.00393,
        overall_mm: Some(0.24638),
        bare_mm: Some(0.22606),
    }
}

pub fn spool(wire: Wire, gross_g: f64, tare_g: Option<Uncertain>) -> Receive {
    Receive {
        wire,
        gross_g: Some(gross_g),
        scale_u_g: Some(0.06),
        tare_g,
        marked_m: None,
        marked_is_wrong: false,
        label: String::new(),
        supplier: String::new(),
        lot: String::new(),
        cost_per_kg: None,
        place: String::new(),
        note: String::new(),
    }
}

/// A full enough spool: 212 g of wire, some 577 m.
pub fn full() -> Receive {
    spool(awg31(), 309.0, Some(Uncertain::new(97.0, 0.5)))
}

/// The coil of the worked case: 56 + 55 turns, L 13.595 m, tails 0.40, threading 0.60.
pub fn coil_plan() -> CoilPlan {
    CoilPlan {
        wire: "cu-awg31-single".to_owned(),
        need_m: Uncertain::new(14.595, 0.0),
        draw_m: Uncertain::new(14.568, 0.05),
        dcr_ohm: Some(Uncertain::new(5.950, 0.05)),
        fit: Some(Fit { level: Level::Watch, clearance_outer_mm: 0.202, min_outer_mm: 0.20 }),
        stops: Vec::new(),
        layers: vec![LayerPlan { turns: 56, turn_m: TURN_1_M }, LayerPlan { turns: 55, turn_m: TURN_2_M }],
        threading_m: 0.60,
        start_tail_m: 0.20,
        pieces: 1,
        pot_life_min: Some(60.0),
        pot_life_of: None,
        winding_min: Some(25.0),
        mandrel_mm: Some(38.2),
        overall_mm: Some(0.24638),
        base_mm: Some(38.52),
        first: None,
        target: None,
    }
}

/// Length of a turn of layers 1 and 2: √((π·D)² + p²), D 38.76638 and 39.20986 mm, p 0.25131 mm; arithmetic from the case.
const TURN_1_M: f64 = 0.121_788;
const TURN_2_M: f64 = 0.123_181;

pub fn noted() -> Before {
    Before {
        start_lead: Some(Lead::Plus),
        hand: Some(Hand::Clockwise),
        gap_polarity: Some(GapPolarity::PoleNorth),
        ..Before::default()
    }
}

pub fn job() -> Open {
    Open {
        title: "Quillmere 10".to_owned(),
        coil: json!({"wire": "cu-awg31-single", "winding": {"layers": 2, "width_mm": 14.5}}),
        plan: coil_plan(),
        coils: 1,
        due_on: None,
        priority: 5,
        other_wires: Vec::new(),
        before: noted(),
    }
}

pub fn weigh(spool: SpoolId, gross_g: f64) -> Weigh {
    Weigh { spool, gross_g, scale_u_g: Some(0.06), if_rev: None }
}

pub fn measure(spool: SpoolId, ohm: f64, leads: f64) -> Measure {
    let reading = OhmReading {
        ohm: Uncertain::new(ohm, 0.09),
        test_leads_ohm: Uncertain::new(leads, 0.0),
        temperature_c: Uncertain::new(20.0, 0.0),
    };
    Measure { spool, reading, if_rev: None }
}

pub fn start(job: JobId, spool: SpoolId) -> Start {
    Start { job, coil_no: None, spool, wet: None, also: Vec::new(), override_reason: None, if_rev: None }
}

pub fn record(job: JobId, good: bool) -> Record {
    Record {
        job,
        coil_no: None,
        spool: None,
        winder: "ada".to_owned(),
        mandrel_mm: Some(38.2),
        minutes: Some(22.0),
        adhesive_batch: String::new(),
        turns_per_layer: Vec::new(),
        reading: None,
        good,
        reason: if good { String::new() } else { "crossed turn".to_owned() },
        drawn_m: None,
        width_mm: None,
        outside_mm: None,
        note: String::new(),
        if_rev: None,
    }
}

#[track_caller]
pub fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
}
