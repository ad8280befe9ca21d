//! `wire.identify`: measurements of a sample in; the wires that it may be, what being wrong costs, and what to measure next
//! out. Looks at the shop's past and instruments, writes nothing.

use crate::app::App;
use crate::identify_candidates::{Candidates, candidates};
use crate::identify_next::{advice, instruments};
use crate::identify_seen::{BURNT_U_MM, seen, understood};
use crate::match_words::{Named, within};
use crate::view;
use coilwright_core::identify::assume::Assumed;
use coilwright_core::identify::{Candidate, IdentifyError, Ranked, identify, if_other};
use coilwright_core::measured::Input;
use coilwright_proto::error::RpcError;
use coilwright_proto::identify::{
    IdentifyAssume, IfOtherWire, LeftOut, NextMeasurement, WireCandidate, WireIdentified, WireIdentify,
};
use coilwright_proto::quantity::{Reading, Setting, Unit};

const DEFAULT_LIMIT: u32 = 10;
const MOST: u32 = 200;
/// A rival below this probability is not worth a sentence.
const RIVAL: f64 = 0.01;

pub fn answer(app: &App, asked: WireIdentify) -> Result<WireIdentified, RpcError> {
    let limit = asked.limit.unwrap_or(DEFAULT_LIMIT);
    within("/limit", f64::from(limit), 1.0, f64::from(MOST), "candidates")?;
    let published = app.store.state();
    let state = &published.state;
    let read = seen(&asked.seen, state.figures())?;
    let (assumed, priors) = (assumed(asked.assume.as_ref())?, asked.priors.unwrap_or_default());
    let c = candidates(&app.catalog, state, asked.among.as_deref(), &priors, asked.assume.as_ref())?;
    let tools = instruments(state.figures(), asked.seen.burnt.filter(|b| *b).map(|_| BURNT_U_MM));
    let weighed: Vec<Candidate> =
        c.wires.iter().zip(&c.weights).map(|(w, weight)| Candidate { wire: &w.wire, weight: *weight }).collect();
    let found = identify(&read.seen, &weighed, c.none, &assumed, &tools).map_err(refused)?;
    let listed: Vec<WireCandidate> =
        found.ranked.iter().take(limit as usize).filter_map(|r| in_words(r, &found.ranked, &c)).collect();
    let likeliest = listed.first().map_or("", |c| c.label.as_str()).to_owned();
    let next: Vec<NextMeasurement> =
        found.next.iter().filter_map(|g| advice(g, &tools, &read.seen, &likeliest)).collect();
    let mut findings = found.findings;
    findings.extend(read.findings);
    findings.extend(c.findings);
    findings.sort_by_key(|f| f.level);
    let mut origins = read.origins;
    origins.extend(c.origins);
    origins.extend(assumed.origins(&read.seen, &read.seen.observations()));
    Ok(WireIdentified {
        sentence: sentence(&listed, found.none, next.first()),
        left_out: LeftOut {
            candidates: u32::try_from(found.ranked.len() - listed.len()).unwrap_or(u32::MAX),
            probability: found.ranked.iter().skip(listed.len()).map(|r| r.probability).sum(),
        },
        candidates: listed,
        none_probability: found.none,
        next,
        understood: understood(&read.seen),
        findings: findings.into_iter().map(view::finding).collect(),
        origins: origins.into_iter().map(view::origin).collect(),
        seq: published.head.seq,
    })
}

fn in_words(r: &Ranked, ranked: &[Ranked], c: &Candidates) -> Option<WireCandidate> {
    let named = |r: &Ranked| c.wires.get(r.candidate);
    let (first, this) = (ranked.first()?, named(r)?);
    // The first is wrong if it is the second; every other is what it may be instead.
    let other = if first.candidate == r.candidate { ranked.get(1).and_then(named) } else { Some(this) };
    Some(WireCandidate {
        wire: this.reference.clone(),
        label: this.label.clone(),
        probability: r.probability,
        prior: r.prior,
        shop_had: c.had.get(r.candidate).copied().unwrap_or(0),
        misfit: r.misfit,
        if_other: other.and_then(|other| if_it_is(named(first)?, other).into()),
    })
}

fn if_it_is(taken: &Named, other: &Named) -> IfOtherWire {
    let off = if_other(&taken.wire, &other.wire);
    IfOtherWire {
        wire: other.reference.clone(),
        dcr_pct: Setting::of(100.0 * off.dcr),
        overall_um: Setting::of(off.overall.um()),
    }
}

/// The answer in a breath.
fn sentence(listed: &[WireCandidate], none: f64, next: Option<&NextMeasurement>) -> String {
    let Some(first) = listed.first() else { return String::new() };
    let mut said = if none > 0.5 {
        format!(
            "Probably none of the candidates ({none:.2}); the nearest is {} ({:.2}).",
            first.label, first.probability
        )
    } else {
        format!("Most likely {} ({:.2}).", first.label, first.probability)
    };
    if let Some((rival, off)) =
        listed.get(1).filter(|r| r.probability >= RIVAL).and_then(|r| Some((r, r.if_other.as_ref()?)))
    {
        said.push_str(&format!(
            " If it is {} instead ({:.2}): {:+.1} % resistance at the same turns, {:+.1} µm over the insulation.",
            rival.label, rival.probability, off.dcr_pct.value, off.overall_um.value
        ));
    }
    // Less than a hundredth of a bit settles nothing.
    if let Some(next) = next.filter(|n| n.bits >= 0.01) {
        said.push_str(&format!(" Next, {} ({:.2} bit).", next.text, next.bits));
    }
    said
}

/// Habits and model terms, as asked or by default. Stating a value does not make it better known.
fn assumed(a: Option<&IdentifyAssume>) -> Result<Assumed, RpcError> {
    let mut all = Assumed::default();
    let Some(a) = a else { return Ok(all) };
    fn input<U: Unit>(
        given: Option<Reading<U>>,
        name: &str,
        (least, most): (f64, f64),
        usual: Input,
    ) -> Result<Input, RpcError> {
        let Some(r) = given else { return Ok(usual) };
        within(&format!("/assume/{name}"), r.value, least, most, U::TEXT)?;
        Ok(Input { value: r.value * U::SCALE, u: r.u.map_or(usual.u, |u| u * U::SCALE) })
    }
    all.pitch_factor = input(a.pitch_factor, "pitch_factor", (0.9, 3.0), all.pitch_factor)?;
    all.nesting = input(a.nesting, "nesting", (0.5, 1.5), all.nesting)?;
    all.re_over_rated = input(a.re_over_rated, "re_over_rated", (0.3, 1.5), all.re_over_rated)?;
    all.excess_copper = input(a.resistance_excess_pct, "resistance_excess_pct", (-10.0, 20.0), all.excess_copper)?;
    if a.resistance_excess_pct.is_some() {
        all.excess_aluminium = all.excess_copper;
    }
    for (given, name, most, unit, place) in [
        (a.glue_mm.map(|s| s.value), "glue_mm", 1.0, 1e-3, &mut all.glue),
        (a.mass_pct.map(|s| s.value), "mass_pct", 50.0, 1e-2, &mut all.mass_u),
        (a.resistivity_pct.map(|s| s.value), "resistivity_pct", 50.0, 1e-2, &mut all.resistivity_u),
    ] {
        if let Some(value) = given {
            within(&format!("/assume/{name}"), value, 0.0, most, "")?;
            *place = value * unit;
        }
    }
    Ok(all)
}

fn refused(e: IdentifyError) -> RpcError {
    let text = e.to_string();
    match e {
        IdentifyError::NothingSeen => RpcError::params("/seen", text)
            .next("give a diameter, or a length with its mass or resistance; a coil's resistance and a rating count with the coil's turns, or its layers and width"),
        IdentifyError::NoCandidates => RpcError::params("/priors", text).next("give at least one candidate a weight above 0"),
        IdentifyError::BeyondComparison => RpcError::params("/seen", text).next("check the numbers and their units"),
    }
}
