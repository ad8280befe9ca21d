//! The gate before adhesive is mixed: every check that can still stop a coil while nothing is lost, with its figures.

use crate::fact::CoilPlan;
use crate::figures::Figures;
use crate::finding::Level;
use crate::job::Job;
use crate::spool::Spool;
use coilwright_core::enough::Word;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use serde::{Deserialize, Serialize};

/// The gate's answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Gate {
    /// Go or stop.
    pub verdict: Verdict,
    /// Every check, in order.
    pub checks: Vec<Check>,
    /// Probability that the wire is there.
    pub p_enough: f64,
    /// The word for it.
    pub word: Word,
    /// What a start would promise to this coil.
    pub hold_m: f64,
}

/// Go or stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the words are the meaning")]
pub enum Verdict {
    Go,
    Stop,
}

/// The adhesive that is about to be mixed, where the start names one: it goes before the one of the job's coil, but not
/// before a pot life that the job states.
#[derive(Debug, Clone, PartialEq)]
pub struct Wet {
    /// Its name, and the temperature at which it is worked.
    pub of: String,
    /// How long it can be worked there, where that is known.
    pub pot_life_min: Option<f64>,
}

/// One check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// `enough_wire`, `spool_free`, `right_wire`, `fits_gap`, `design_sound`, `polarity_noted`, `pot_life` or `steps_done`.
    pub code: String,
    /// Whether it lets the coil start.
    pub ok: bool,
    /// What was met, in the unit that the text names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub figure: Option<f64>,
    /// What it must reach or stay below.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// One sentence with figures.
    pub text: String,
}

/// Looks whether a coil of the job may be started from the spool.
///
/// One spool at the shop's confidence: the wire must be there with that probability, beside everything promised to
/// others. The joint risk of a whole plan is the planner's matter.
pub fn gate(job: &Job, coil_no: u32, spool: &Spool, figures: &Figures, wet: Option<&Wet>) -> Gate {
    let confidence = figures.confidence.value;
    let need = job.plan.need_m.metres();
    let there = spool.remaining();
    let left = there.left;
    let (word, p_enough) = there.judge(need.value, confidence);
    let safe = there.safe_length(confidence);
    let held = spool.held_against(job.id);
    let checks = vec![
        enough_wire(&job.plan, left, safe, p_enough, confidence),
        spool_free(job, spool, safe, held),
        right_wire(job, spool),
        fits_gap(&job.plan),
        design_sound(&job.plan),
        polarity_noted(job),
        pot_life(&job.plan, wet),
        steps_done(job, coil_no),
    ];
    let verdict = if checks.iter().all(|c| c.ok) { Verdict::Go } else { Verdict::Stop };
    let hold = need.value.min((left.value - held).max(Length::ZERO));
    Gate { verdict, checks, p_enough, word, hold_m: hold.m() }
}

impl Gate {
    /// The same with further checks, which stop like its own.
    #[must_use]
    pub fn and(mut self, also: &[Check]) -> Gate {
        self.checks.extend_from_slice(also);
        if also.iter().any(|c| !c.ok) {
            self.verdict = Verdict::Stop;
        }
        self
    }

    /// Codes of the checks that stop.
    pub fn stops(&self) -> Vec<String> {
        self.checks.iter().filter(|c| !c.ok).map(|c| c.code.clone()).collect()
    }
}

/// Where a length of wire ends in a coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "ends_in", rename_all = "snake_case")]
pub enum End {
    /// Before the first turn.
    BeforeFirstTurn,
    /// In this turn.
    Turn {
        /// The layer, from 1.
        layer: usize,
        /// The turn of it, from 1.
        turn: u32,
        /// Of so many.
        of: u32,
    },
    /// In the finish tail.
    FinishTail,
}

/// Where the wire would end: threading and start tail go first, then layer after layer.
pub fn where_it_ends(plan: &CoilPlan, left: Length) -> End {
    let mut rest = left.m() - plan.threading_m - plan.start_tail_m;
    if rest <= 0.0 {
        return End::BeforeFirstTurn;
    }
    for (i, layer) in plan.layers.iter().enumerate() {
        let length = f64::from(layer.turns) * layer.turn_m;
        if rest < length {
            // `rest` is below `turns` turns here, so the count fits.
            let whole = (1..layer.turns).take_while(|n| f64::from(*n) * layer.turn_m <= rest).count();
            let turn = u32::try_from(whole).unwrap_or(layer.turns).saturating_add(1);
            return End::Turn { layer: i + 1, turn, of: layer.turns };
        }
        rest -= length;
    }
    End::FinishTail
}

fn check(code: &str, ok: bool, text: String) -> Check {
    Check { code: code.to_owned(), ok, figure: None, limit: None, text }
}

impl Check {
    fn figures(self, figure: f64, limit: f64) -> Check {
        Check { figure: Some(figure), limit: Some(limit), ..self }
    }
}

fn enough_wire(plan: &CoilPlan, left: Measured<Length>, safe: Length, p: f64, confidence: f64) -> Check {
    let need = plan.need_m.value;
    let ok = p >= confidence;
    let lengths = if plan.pieces > 1 { format!(" in {} lengths", plan.pieces) } else { String::new() };
    let have = format!("{:.2} ± {:.2} m left, {need:.2} m needed{lengths}", left.value.m(), left.u.m());
    let odds = format!("P(enough) {p:.4}, {confidence} asked for");
    let text = if ok {
        format!("{have}: {odds}")
    } else if left.value.m() < need {
        let short = need - left.value.m();
        format!("{have}: short by {short:.2} m, {}; {odds}", ends_in(plan, left.value))
    } else {
        format!("{have}: doubtful, {odds}; {:.2} m are there with that confidence", safe.m())
    };
    check("enough_wire", ok, text).figures(safe.m(), need)
}

fn ends_in(plan: &CoilPlan, left: Length) -> String {
    if plan.pieces > 1 {
        let each = plan.need_m.value / f64::from(plan.pieces);
        let whole = (left.m() / each).floor().max(0.0);
        return format!("it gives {whole:.0} of {} lengths of {each:.2} m", plan.pieces);
    }
    if plan.layers.is_empty() {
        return "the layers are not known, so neither is where it would end".to_owned();
    }
    match where_it_ends(plan, left) {
        End::BeforeFirstTurn => "the wire would end before the first turn".to_owned(),
        End::Turn { layer, turn, of } => format!("the wire would end in turn {turn} of {of} of layer {layer}"),
        End::FinishTail => "the wire would end in the finish tail".to_owned(),
    }
}

fn spool_free(job: &Job, spool: &Spool, safe: Length, held: Length) -> Check {
    let need = job.plan.need_m.value;
    if let Some(retired) = &spool.retired {
        let why = if retired.empty { "empty" } else { retired.reason.as_str() };
        return check("spool_free", false, format!("spool {} is retired: {why}", spool.id()));
    }
    if held.m() <= 0.0 {
        return check("spool_free", true, "nothing on this spool is promised to anything else".to_owned());
    }
    let free = (safe - held).m();
    let text = format!(
        "{:.2} m are promised to others ({}); {:.2} m are free, {need:.2} m needed",
        held.m(),
        promised_to(spool, job),
        free.max(0.0),
    );
    check("spool_free", free >= need, text).figures(free.max(0.0), need)
}

fn promised_to(spool: &Spool, job: &Job) -> String {
    let names: Vec<String> = spool
        .holds
        .iter()
        .filter(|(_, h)| !h.serves(job.id))
        .map(|(id, h)| match (h.job, h.coil_no) {
            (Some(other), Some(no)) => format!("{other} coil {no}"),
            (Some(other), None) => other.to_string(),
            _ => id.to_string(),
        })
        .collect();
    names.join(", ")
}

fn right_wire(job: &Job, spool: &Spool) -> Check {
    let on_it = spool.wire().key();
    match job.accepts(on_it) {
        Some(_) if job.plan.wire == on_it => check("right_wire", true, format!("{on_it}, as planned")),
        Some(_) => check("right_wire", true, format!("{on_it} is one of the other wires this job accepts")),
        None => {
            let text = format!("spool {} holds {on_it}, the coil is planned in {}", spool.id(), job.plan.wire);
            check("right_wire", false, text)
        }
    }
}

fn fits_gap(plan: &CoilPlan) -> Check {
    let Some(fit) = plan.fit else {
        return check("fits_gap", true, "no gap was given, so nothing was checked".to_owned());
    };
    let (clearance, min) = (fit.clearance_outer_mm, fit.min_outer_mm);
    let text = match fit.level {
        Level::Stop => format!("{clearance:.3} mm outside clearance, at least {min:.3} mm needed: it would rub"),
        Level::Watch => {
            format!("{clearance:.3} mm outside clearance, {min:.3} mm needed: the largest wire would miss it")
        }
        Level::Note => format!("{clearance:.3} mm outside clearance, {min:.3} mm needed"),
    };
    check("fits_gap", fit.level != Level::Stop, text).figures(clearance, min)
}

/// Whatever else the design of the coil stops for, the gate stops for.
fn design_sound(plan: &CoilPlan) -> Check {
    match plan.stops.as_slice() {
        [] => check("design_sound", true, "the design of the coil stops for nothing else".to_owned()),
        stops => check("design_sound", false, stops.join("; ")),
    }
}

fn polarity_noted(job: &Job) -> Check {
    let missing = job.before.missing_for_polarity();
    if missing.is_empty() {
        return check("polarity_noted", true, "start lead, hand and gap polarity are noted".to_owned());
    }
    check("polarity_noted", false, format!("not noted before teardown: {}", missing.join(", ")))
}

fn pot_life(plan: &CoilPlan, wet: Option<&Wet>) -> Check {
    let stated = plan.pot_life_min.is_some() && plan.pot_life_of.is_none();
    let (pot, of) = match wet.filter(|_| !stated) {
        Some(wet) => (wet.pot_life_min, Some(wet.of.as_str())),
        None => (plan.pot_life_min, plan.pot_life_of.as_deref()),
    };
    match (plan.winding_min, pot) {
        (Some(winding), Some(pot)) => {
            let of = of.map(|of| format!(" ({of})")).unwrap_or_default();
            let text = format!("{winding:.0} min of wet winding in a pot life of {pot:.0} min{of}");
            check("pot_life", winding <= pot, text).figures(winding, pot)
        }
        (None, Some(pot)) if of.is_some() => {
            let of = of.unwrap_or_default();
            let text =
                format!("a pot life of {pot:.0} min ({of}), but no winding time was given, so nothing was checked");
            check("pot_life", true, text)
        }
        _ => check("pot_life", true, "no pot life or winding time was given, so nothing was checked".to_owned()),
    }
}

fn steps_done(job: &Job, coil_no: u32) -> Check {
    let text = if job.ended.is_some() {
        "the job has ended".to_owned()
    } else if let Some(work) = job.works.get(&coil_no) {
        let now = if work.is_winding() { "is on the winder" } else { "is recorded" };
        format!("coil {coil_no} was started before and {now}")
    } else if job.to_start() == 0 {
        format!("all {} coils wanted are good or on the winder", job.coils)
    } else {
        return check("steps_done", true, format!("coil {coil_no} is the next of {} wanted", job.coils));
    };
    check("steps_done", false, text)
}
