//! Jobs between the words on the wire and the shop's own types: shared by the requests about jobs.

use crate::app::App;
use crate::{adhesive_words, coil_words, scripts, view, words};
use coilwright_catalog::Catalog;
use coilwright_core::adhesive::BENCH;
use coilwright_core::coil::Design;
use coilwright_core::coil::lay::Lay;
use coilwright_core::coil::spec::LearnedSpec;
use coilwright_core::finding::Level;
use coilwright_core::former::Particulars;
use coilwright_core::quantity::Length;
use coilwright_proto::coil::{CoilDesign, FindingAnswer, FindingLevel};
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{self as say, JobGated, OtherWire};
use coilwright_proto::quantity::{Min, Setting};
use coilwright_proto::reference::{AdhesiveRef, Ref};
use coilwright_shop::fact::{self, CoilPlan, FirstPlan, Fit, LayerPlan, TargetDcr};
use coilwright_shop::gate::{Gate, Verdict, Wet};
use coilwright_shop::id::{JobId, SpoolId};
use coilwright_shop::job::Job;
use coilwright_shop::state::State;
use coilwright_shop::uncertain::Uncertain;
use core::f64::consts::PI;
use serde_json::Value;

/// A coil of a request, designed: as asked for, what the shop decides by, and what the design noticed.
pub struct Planned {
    pub coil: Value,
    pub plan: CoilPlan,
    pub findings: Vec<FindingAnswer>,
}

/// Designs the coil of a job.
///
/// # Errors
/// As `coil.design`, with pointers below `/coil`.
pub fn planned(
    app: &App,
    state: &State,
    asked: &CoilDesign,
    pot_life: Option<Setting<Min>>,
    winding: Option<Setting<Min>>,
) -> Result<Planned, RpcError> {
    if asked.winding.ribbon.is_some()
        && let Ref::Id(id) = &asked.wire
    {
        return Err(RpcError::params("/coil/wire", format!("an edge-wound coil takes strip, and a spool of {id} holds round wire"))
            .met(id.as_str())
            .allowed("a wire written out for the strip, as its spool was received")
            .next("write the strip out: conductor, bare_mm and overall_mm of its thickness, its own ohm_per_m and g_per_m; receive its spool with the same"));
    }
    let (spec, design) = view::designed_here(&app.catalog, state, asked, "/coil")?;
    let mut plan = plan(&words::wire_key(&asked.wire, &spec.wire), &design);
    plan.target = spec
        .target
        .as_ref()
        .and_then(|t| Some(TargetDcr { dcr_ohm: t.dcr?.ohm(), tolerance_pct: 100.0 * t.tolerance? }));
    if spec.winding.lay == Lay::default() && spec.former.particulars == Particulars::default() {
        plan.overall_mm = Some(spec.wire.overall.value.mm());
    } else {
        // How round wire lies on a new former is not learned from other windings.
        plan.base_mm = None;
    }
    if spec.assume.learned != LearnedSpec::default() {
        // What comes next is held against first values, or the shop would learn from its own lessons.
        let (_, first) = view::designed(&app.catalog, asked, "/coil")?;
        plan.first =
            Some(FirstPlan { dcr_ohm: Uncertain::of_ohms(first.dcr), draw_m: Uncertain::of_metres(first.draw) });
    }
    plan.pot_life_min = pot_life.map(|m| m.value);
    if let (None, Some(adhesive)) = (pot_life, &asked.adhesive) {
        // The tin's pot life at the bench of this coil: what is stated for the job itself goes before it.
        let named = adhesive_words::adhesive(&app.catalog, adhesive, "/coil/adhesive")?;
        let room = spec.bench.unwrap_or(BENCH);
        plan.pot_life_min = named.adhesive.pot_life_at(room);
        plan.pot_life_of = plan.pot_life_min.map(|_| format!("{} at {:.0} °C", named.label, room.c()));
    }
    plan.winding_min = winding.map(|m| m.value);
    let coil = serde_json::to_value(asked).map_err(|e| RpcError::params("/coil", e.to_string()))?;
    let answer = coil_words::designed(design, None, asked.clone());
    let of_plugins = scripts::of_design(app, &spec, &answer);
    // A plugin's stop is a stop like any other: the gate tells it with the check of the design.
    plan.stops.extend(of_plugins.iter().filter(|f| f.level == FindingLevel::Stop).map(|f| f.text.clone()));
    Ok(Planned { coil, plan, findings: answer.findings.into_iter().chain(of_plugins).collect() })
}

fn plan(wire: &str, d: &Design) -> CoilPlan {
    // Wires in hand are laid together: a turn takes as many lengths of itself. Windings side by side follow each other.
    let hands = f64::from(d.laid.hands);
    let advance = d.pitch.value.m() * hands;
    let layers = d
        .layer_diameters
        .iter()
        .zip(&d.turns_per_layer)
        .map(|(diameter, turns)| LayerPlan { turns: *turns, turn_m: hands * (PI * diameter.value.m()).hypot(advance) });
    let layers: Vec<LayerPlan> = (0..d.laid.beside).flat_map(|_| layers.clone()).collect();
    CoilPlan {
        wire: wire.into(),
        need_m: Uncertain::of_metres(d.need),
        draw_m: Uncertain::of_metres(d.draw),
        dcr_ohm: Some(Uncertain::of_ohms(d.dcr)),
        fit: fit(d),
        stops: stops(d),
        layers,
        threading_m: d.assumed.threading.value.m(),
        // Tails are both ends together; the start takes its half before the first turn.
        start_tail_m: d.assumed.tails.value.m() / 2.0,
        pieces: d.laid.pieces(),
        pot_life_min: None,
        pot_life_of: None,
        winding_min: None,
        mandrel_mm: Some(d.mandrel.mm()),
        overall_mm: None,
        base_mm: Some(d.base_diameter.value.mm()),
        first: None,
        target: None,
    }
}

/// The stop that the check of the gap tells of itself; all others are told by the check of the design.
const TOO_FAT: &str = "too_fat_for_gap";

/// How the coil stands in its gap; nothing where no bore was given.
fn fit(d: &Design) -> Option<Fit> {
    let (outer, (_, least)) = d.clearance_outer.zip(d.least_clearances)?;
    let has = |code: &str| d.findings.iter().any(|f| f.code == code);
    let level = match (has(TOO_FAT), has("largest_wire_misses")) {
        (true, _) => Level::Stop,
        (_, true) => Level::Watch,
        _ => Level::Note,
    };
    Some(Fit { level, clearance_outer_mm: outer.value.mm(), min_outer_mm: Length::mm(least) })
}

/// Why the design stops, but for what [`fit`] tells.
fn stops(d: &Design) -> Vec<String> {
    d.findings.iter().filter(|f| f.level == Level::Stop && f.code != TOO_FAT).map(|f| f.text.clone()).collect()
}

/// Other wires that a job would accept, each looked up.
///
/// # Errors
/// A wire that is not in the catalog.
pub fn other_wires(catalog: &Catalog, all: &[OtherWire]) -> Result<Vec<fact::OtherWire>, RpcError> {
    let known = all.iter().enumerate().map(|(i, o)| {
        view::wire(catalog, &Ref::Id(o.wire.clone()), &format!("/other_wires/{i}/wire"))?;
        Ok(fact::OtherWire { wire: o.wire.clone(), penalty: o.penalty.unwrap_or(0.0) })
    });
    known.collect()
}

/// The adhesive that a start names, at the bench of the job's coil.
///
/// # Errors
/// An adhesive that nobody knows.
pub fn wet(app: &App, job: Option<&Job>, adhesive: Option<&AdhesiveRef>) -> Result<Option<Wet>, RpcError> {
    let Some(adhesive) = adhesive else { return Ok(None) };
    let named = adhesive_words::adhesive(&app.catalog, adhesive, "/adhesive")?;
    let coil = job.and_then(|j| serde_json::from_value::<CoilDesign>((*j.coil).clone()).ok());
    let room = coil.and_then(|c| c.bench_c).map_or(BENCH, |c| c.quantity());
    let of = format!("{} at {:.0} °C", named.label, room.c());
    Ok(Some(Wet { of, pot_life_min: named.adhesive.pot_life_at(room) }))
}

/// The gate's answer on the wire.
pub fn gated(job: JobId, coil_no: u32, spool: SpoolId, gate: Gate, seq: u64) -> JobGated {
    JobGated {
        job: job.to_string(),
        coil_no,
        spool: spool.to_string(),
        verdict: if gate.verdict == Verdict::Go { say::Verdict::Go } else { say::Verdict::Stop },
        checks: gate
            .checks
            .into_iter()
            .map(|c| say::GateCheck { code: c.code, ok: c.ok, text: c.text, figure: c.figure, limit: c.limit })
            .collect(),
        p_enough: gate.p_enough,
        word: words::enough(gate.word),
        seq,
        hold_m: None,
        hold: None,
        rev: None,
    }
}
