//! `coil.reading`: a coil, a meter and a thermometer in; what the meter should show and whether it can decide out. Looks at
//! the shop's meter and at what its own coils taught, writes nothing.

use crate::app::App;
use crate::bench_words::{Told, metal, meter, ohms, temperature, test_leads};
use crate::match_words::within;
use crate::view;
use coilwright_core::conductor::Conductor;
use coilwright_core::measured::Measured;
use coilwright_core::origin::Mark;
use coilwright_core::quantity::Resistance;
use coilwright_core::reading::{Question, Reading, reading};
use coilwright_proto::bench::{Band, CoilRead, CoilReading};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Setting, bare, shown};
use coilwright_shop::state::State;

/// How far a resistance may be off where nobody says, per cent; common practice, no source.
const TOLERANCE_PCT: f64 = 3.0;
/// What a coil measures over its plan: 1.000 ± 0.015; common practice, no source.
const OVER_PLAN_U: f64 = 0.015;

pub fn answer(app: &App, asked: CoilReading) -> Result<CoilRead, RpcError> {
    let published = app.store.state();
    let figures = published.state.figures();
    let mut told = Told::default();
    let expected = expected(app, &published.state, &asked, &mut told)?;
    let tolerance = asked.tolerance_pct.map(|s| s.quantity()).or(expected.tolerance).unwrap_or_else(|| {
        told.took("tolerance_pct", (TOLERANCE_PCT, 0.0), "%", Mark::CommonPractice, "no source");
        TOLERANCE_PCT / 100.0
    });
    within("/tolerance_pct", 100.0 * tolerance, 0.05, 50.0, "%")?;
    let wanted = asked.target_ohm.map(|s| s.quantity()).or(expected.target).unwrap_or_else(|| {
        let value = expected.dcr.value;
        told.took("target_ohm", (value.ohm(), 0.0), "Ω", Mark::Derived, "nothing else was said: what is expected");
        value
    });
    ohms("/target_ohm", wanted.ohm(), "a coil")?;
    let leads = test_leads(asked.test_leads_ohm, &mut told)?;
    let q = Question {
        dcr: expected.dcr,
        wanted,
        tolerance,
        conductor: expected.conductor,
        temperature: temperature(figures, asked.temperature_c, "/temperature_c", &mut told)?,
        test_leads: leads,
        meter: meter(figures, asked.meter.as_ref(), leads, &mut told)?,
    };
    let r = reading(&q);
    told.findings.splice(0..0, r.findings.iter().cloned());
    Ok(CoilRead {
        sentence: sentence(&r),
        expect_ohm: r.expect.into(),
        accept_ohm: r.accept.map(|(min, max)| Band { min: bare(min), max: bare(max) }),
        can_decide: r.accept.is_some(),
        wrong_verdict_pct: Setting::of(100.0 * (r.wrong_accept + r.wrong_reject)),
        bad_taken_pct: Setting::of(100.0 * r.wrong_accept),
        good_refused_pct: Setting::of(100.0 * r.wrong_reject),
        reading_u_ohm: bare(r.reading_u),
        dcr_ohm: q.dcr.into(),
        target_ohm: bare(q.wanted),
        tolerance_pct: bare(q.tolerance),
        temperature_c: q.temperature.into(),
        test_leads_ohm: q.test_leads.into(),
        meter: q.meter.name(),
        findings: told.findings.into_iter().map(view::finding).collect(),
        origins: told.origins.into_iter().map(view::origin).collect(),
        seq: published.head.seq,
    })
}

/// What is expected of the coil before it is read.
struct Expected {
    dcr: Measured<Resistance>,
    conductor: Conductor,
    target: Option<Resistance>,
    tolerance: Option<f64>,
}

/// Of a coil, or of what stands in place of one.
fn expected(app: &App, state: &State, asked: &CoilReading, told: &mut Told) -> Result<Expected, RpcError> {
    match (&asked.coil, asked.dcr_ohm) {
        (Some(coil), None) => {
            if asked.conductor.is_some() {
                return Err(RpcError::params("/conductor", "the coil's wire says of what metal it is")
                    .next("leave `conductor` out where a coil is given"));
            }
            let (spec, design) = view::designed_here(&app.catalog, state, coil, "/coil")?;
            told.origins.extend(design.origins);
            let target = spec.target.as_ref();
            Ok(Expected {
                dcr: design.dcr,
                conductor: spec.wire.conductor,
                target: target.and_then(|t| t.dcr),
                tolerance: target.and_then(|t| t.tolerance),
            })
        }
        (None, Some(dcr)) => {
            ohms("/dcr_ohm", dcr.value, "a coil")?;
            let metal = metal(asked.conductor, told);
            let value = Resistance::from_ohm(dcr.value);
            let u = dcr.u.map_or_else(
                || {
                    let source = "what a coil measures over its plan: 1.000 ± 0.015; no source";
                    told.took("dcr_ohm", (dcr.value, OVER_PLAN_U * dcr.value), "Ω", Mark::CommonPractice, source);
                    value * OVER_PLAN_U
                },
                Resistance::from_ohm,
            );
            Ok(Expected { dcr: Measured::new(value, u), conductor: metal.into(), target: None, tolerance: None })
        }
        (Some(_), Some(_)) => {
            Err(RpcError::params("/dcr_ohm", "a coil and a resistance are given: one of them is meant")
                .next("leave `coil` or `dcr_ohm` out; what the coil should have is `target_ohm`"))
        }
        (None, None) => Err(RpcError::params("", "there is no coil to read")
            .next("give `coil`, or `dcr_ohm` for one whose resistance is known")),
    }
}

fn sentence(r: &Reading) -> String {
    let expect = format!("The meter should show {} Ω", shown(r.expect.value.ohm(), r.expect.u.ohm()));
    match r.accept {
        Some((min, max)) => format!(
            "{expect}; take the coil from {:.3} to {:.3} Ω. Of 100 coils of this plan about {:.1} are taken though out of tolerance and {:.1} refused though within.",
            min.ohm(),
            max.ohm(),
            100.0 * r.wrong_accept,
            100.0 * r.wrong_reject
        ),
        None => format!(
            "{expect}, but this meter cannot decide: whoever trusts its display is wrong on about {:.0} of 100 coils of this plan.",
            100.0 * (r.wrong_accept + r.wrong_reject)
        ),
    }
}
