//! `coil.heat`: a cold and a hot reading in; temperature, lost level and the reading to stop at out. Looks at the shop's
//! meter, writes nothing.

use crate::app::App;
use crate::bench_words::{Told, metal, meter, ohms, temperature, test_leads};
use crate::view;
use coilwright_core::heat::{Heat, Question, heat};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::{Resistance, Temperature};
use coilwright_proto::bench::{CoilHeat, CoilHeated, HeatMargin};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Ohm, Reading, Setting, bare, shown};

/// Above this no coil, adhesive or former has its limit.
const HIGHEST_LIMIT: f64 = 400.0;

pub fn answer(app: &App, asked: CoilHeat) -> Result<CoilHeated, RpcError> {
    let published = app.store.state();
    let figures = published.state.figures();
    let mut told = Told::default();
    if asked.hot_ohm.is_none() && asked.limits_c.as_ref().is_none_or(Vec::is_empty) {
        return Err(RpcError::params("", "a cold reading alone tells nothing of heat")
            .next("give `hot_ohm` for the temperature, or `limits_c` for the reading to stop at"));
    }
    ohms("/cold_ohm", asked.cold_ohm.value, "a coil")?;
    if let Some(hot) = asked.hot_ohm {
        ohms("/hot_ohm", hot.value, "a coil")?;
    }
    let leads = test_leads(asked.test_leads_ohm, &mut told)?;
    for (at, met) in [("/cold_ohm", Some(asked.cold_ohm)), ("/hot_ohm", asked.hot_ohm)] {
        if let Some(met) = met.filter(|m| m.value <= leads.value.ohm()) {
            let text = format!(
                "a reading of {} Ω leaves nothing for the coil after {:.3} Ω of test leads",
                met.value,
                leads.value.ohm()
            );
            return Err(RpcError::params(at, text)
                .met(met.value)
                .allowed(format!("more than {:.3} Ω", leads.value.ohm()))
                .next("check the joints, and read coil and shorted leads again"));
        }
    }
    let cold_at = temperature(figures, asked.cold_c, "/cold_c", &mut told)?;
    let limits = limits(&asked, cold_at.value)?;
    let metal = metal(asked.conductor, &mut told);
    let repeats = if [Some(asked.cold_ohm), asked.hot_ohm].into_iter().flatten().any(|r| r.u.is_none()) {
        meter(figures, asked.meter.as_ref(), leads, &mut told)?.repeats()
    } else {
        Resistance::ZERO
    };
    let known = |r: Reading<Ohm>| Measured::new(r.quantity(), r.u.map_or(repeats, Resistance::from_ohm));
    let h = heat(&Question {
        cold: known(asked.cold_ohm),
        cold_at,
        hot: asked.hot_ohm.map(known),
        test_leads: leads,
        conductor: metal.into(),
        limits,
    });
    told.findings.splice(0..0, h.findings.iter().cloned());
    Ok(CoilHeated {
        sentence: sentence(&h),
        temperature_c: h.temperature.map(Into::into),
        db_lost: h.db_lost.map(Into::into),
        stop_ohm: h.margins.first().map(|m| m.stop.into()),
        margins: h
            .margins
            .iter()
            .map(|m| HeatMargin {
                limit_c: bare(m.limit),
                stop_ohm: m.stop.into(),
                left_c: m.left.map(Into::into),
                exceeded_pct: m.exceeded.map(|p| Setting::of(100.0 * p)),
            })
            .collect(),
        conductor: metal,
        findings: told.findings.into_iter().map(view::finding).collect(),
        origins: told.origins.into_iter().map(view::origin).collect(),
        seq: published.head.seq,
    })
}

fn limits(asked: &CoilHeat, cold: Temperature) -> Result<Vec<Temperature>, RpcError> {
    let all = asked.limits_c.as_deref().unwrap_or_default();
    if all.len() > 20 {
        return Err(RpcError::params("/limits_c", "at most 20 limits are looked at").met(all.len()).allowed("0 to 20"));
    }
    all.iter()
        .enumerate()
        .map(|(i, limit)| {
            if limit.value > cold.c() && limit.value <= HIGHEST_LIMIT {
                return Ok(limit.quantity());
            }
            let why =
                if limit.value > HIGHEST_LIMIT { "nothing in a coil bears that" } else { "the cold coil is warmer" };
            Err(RpcError::params(
                format!("/limits_c/{i}"),
                format!("{} °C is no limit of a working coil: {why}", limit.value),
            )
            .met(limit.value)
            .allowed(format!("above {} to {HIGHEST_LIMIT} °C", cold.c()))
            .next("enamel has classes of 105 to 240 °C; an adhesive its glass transition"))
        })
        .collect()
}

fn sentence(h: &Heat) -> String {
    let stop =
        h.margins.first().map(|m| format!("stop at {:.3} Ω, which is {:.0} °C", m.stop.value.ohm(), m.limit.c()));
    match (h.temperature.zip(h.db_lost), stop) {
        (Some((t, lost)), stop) => format!(
            "The winding is at {} °C in the mean and has lost {} dB{}.",
            shown(t.value.c(), t.u.c()),
            shown(lost.value, lost.u),
            stop.map_or_else(String::new, |s| format!("; {s}"))
        ),
        (None, stop) => stop.map_or_else(String::new, |s| format!("From this cold reading: {s}.")),
    }
}
