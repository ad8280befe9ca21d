//! `coil.trim`: a wound coil and a reading in; turns to unwind, and what the meter shows after each, out. Looks at the
//! shop's meter and at what its own coils taught, writes nothing.

use crate::app::App;
use crate::bench_words::{Told, meter, ohms, temperature, test_leads};
use crate::match_words::within;
use crate::{view, winding_words};
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::finding::Finding;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::Resistance;
use coilwright_core::trim::{Exit, Question, Step, Trim, TrimError, UNEVEN, trim};
use coilwright_proto::bench::{CoilTrim, CoilTrimmed, ExitSide, TrimStep};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::quantity::bare;

pub fn answer(app: &App, asked: CoilTrim) -> Result<CoilTrimmed, RpcError> {
    let published = app.store.state();
    let figures = published.state.figures();
    let (spec, design) = view::designed_here(&app.catalog, &published.state, &asked.coil, "/coil")?;
    winding_words::one_wire(&design, "/coil")?;
    let mut told = Told { origins: design.origins.clone(), ..Told::default() };
    told.took("one turn", (1.0, UNEVEN), "", Mark::CommonPractice, "unevenness of wire and layers; no source");
    ohms("/reading_ohm", asked.reading_ohm.value, "a coil")?;
    let (target, tolerance) = target(&asked, &spec)?;
    let leads = test_leads(asked.test_leads_ohm, &mut told)?;
    let q = Question {
        wire: &spec.wire,
        design: &design,
        reading: asked.reading_ohm.quantity(),
        test_leads: leads,
        temperature: temperature(figures, asked.temperature_c, "/temperature_c", &mut told)?,
        target,
        tolerance,
        meter: meter(figures, asked.meter.as_ref(), leads, &mut told)?,
    };
    let t = trim(&q).map_err(|e| refused(&e, &asked))?;
    told.findings.splice(0..0, t.findings.iter().cloned());
    if asked.coil.winding.turns_per_layer.is_none() {
        told.findings.push(Finding::watch(
            "turns_not_counted",
            format!(
                "the turns were not counted but follow from the width ({}): count them, one turn too many is taken for resistance of the wire",
                plus(&design.turns_per_layer)
            ),
        ));
    }
    Ok(CoilTrimmed {
        sentence: sentence(&t),
        dcr_ohm: t.dcr.into(),
        ratio: t.ratio.into(),
        turn_ohm: t.turn.into(),
        exact_turns: t.exact_turns,
        unwind_turns: t.unwind,
        meter_u_ohm: bare(t.meter_u),
        meter_u_turns: t.meter_turns,
        stop_ohm: bare(t.stop_reading),
        steps: t.steps.iter().map(step).collect(),
        target_ohm: bare(target),
        tolerance_ohm: bare(tolerance),
        temperature_c: q.temperature.into(),
        test_leads_ohm: q.test_leads.into(),
        meter: q.meter.name(),
        findings: told.findings.into_iter().map(view::finding).collect(),
        origins: told.origins.into_iter().map(view::origin).collect(),
        seq: published.head.seq,
    })
}

/// What the coil should have and how far it may be off, from the request or from the coil's own target.
fn target(asked: &CoilTrim, spec: &CoilSpec) -> Result<(Resistance, Resistance), RpcError> {
    let own = spec.target.as_ref();
    let target = asked.target_ohm.map(|s| s.quantity()).or(own.and_then(|t| t.dcr)).ok_or_else(|| {
        RpcError::params("/target_ohm", "nothing says what the coil should have")
            .next("give `target_ohm` at 20 °C, or the coil's own `target.dcr_ohm`")
    })?;
    ohms("/target_ohm", target.ohm(), "a coil")?;
    let share = own.and_then(|t| t.tolerance);
    let tolerance =
        asked.tolerance_ohm.map(|s| s.quantity()).or(share.map(|share| target * share)).ok_or_else(|| {
            RpcError::params("/tolerance_ohm", "nothing says how far the coil may be off")
                .next("give `tolerance_ohm`, or the coil's own `target.tolerance_pct`")
        })?;
    within("/tolerance_ohm", tolerance.ohm(), 0.0005 * target.ohm(), 0.5 * target.ohm(), "Ω")?;
    Ok((target, tolerance))
}

fn refused(e: &TrimError, asked: &CoilTrim) -> RpcError {
    let text = e.to_string();
    let refusal = |reason: &str| {
        let mut e = RpcError::new(code::REFUSED, ErrorKind::Refused, text.clone()).at("/reading_ohm");
        e.data.reason = Some(reason.into());
        e.met(asked.reading_ohm.value)
    };
    match e {
        TrimError::AlreadyLow { least_ohm, .. } => refusal("already_low")
            .allowed(format!("{least_ohm:.3} Ω or more at 20 °C"))
            .next("measure again, cold and with the test leads taken off; if it stays low, longer leads add a little, else wind the coil anew"),
        TrimError::NothingLeft { leads_ohm, .. } => RpcError::params("/reading_ohm", text)
            .met(asked.reading_ohm.value)
            .allowed(format!("more than {leads_ohm:.3} Ω"))
            .next("check the joints and the leads, and read again"),
        TrimError::FarFromPlan { .. } => {
            let mut e = refusal("far_from_plan")
                .allowed("half to twice what is planned")
                .next("check joints, meter range and counts, and measure again");
            e.data.pointer = Some("/reading_ohm".into());
            e
        }
        TrimError::NotThisCoil { .. } => {
            let mut e = refusal("not_this_coil").next("check the target and the counts, or wind a coil for this target");
            e.data.pointer = Some("/target_ohm".into());
            e
        }
    }
}

fn step(s: &Step) -> TrimStep {
    TrimStep {
        turns: s.turns,
        dcr_ohm: s.dcr.into(),
        reading_ohm: s.reading.into(),
        exit: match s.exit {
            Exit::Same => ExitSide::Same,
            Exit::Opposite => ExitSide::Opposite,
        },
        layer: u32::try_from(s.layer).unwrap_or(u32::MAX),
        left_on_layer: s.left_on_layer,
        width_lost_mm: bare(s.width_lost),
        within: s.within,
    }
}

fn plus(turns: &[u32]) -> String {
    turns.iter().map(u32::to_string).collect::<Vec<_>>().join(" + ")
}

fn sentence(t: &Trim) -> String {
    let now = format!("The coil has {:.3} Ω at 20 °C, one outer turn {:.4} Ω", t.dcr.value.ohm(), t.turn.value.ohm());
    let Some(turns) = t.unwind else {
        return format!(
            "{now}; by this meter, whose u is {:.1} turns, nobody can say how many to unwind.",
            t.meter_turns
        );
    };
    if turns == 0.0 {
        return format!("{now}: unwind nothing.");
    }
    let then = t.steps.iter().find(|s| s.turns == turns).map_or_else(String::new, |s| {
        let side = match s.exit {
            Exit::Same => "on its side",
            Exit::Opposite => "across the coil",
        };
        format!(
            ": it should then have {:.3} Ω, the meter show {:.3} Ω, and the finish lead come out {side}",
            s.dcr.value.ohm(),
            s.reading.value.ohm()
        )
    });
    let word = if turns == 1.0 { "turn" } else { "turns" };
    format!("{now}. Unwind {turns} {word}{then}. Stop above {:.3} Ω: nothing can be put back.", t.stop_reading.ohm())
}
