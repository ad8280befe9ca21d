//! `spool.show`: one spool with the whole reasoning behind its length.

use crate::app::App;
use crate::{told, words};
use coilwright_core::content::Content;
use coilwright_core::quantity::Mass;
use coilwright_core::trial::left_by_trial;
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::Setting;
use coilwright_proto::spool::{NearEmpty, NextBest, SpoolEstimate, SpoolHoldItem, SpoolReading, SpoolShow, SpoolShown};
use coilwright_shop::fact::{Fact, OhmReading, SpoolMeasured, SpoolWeighed, Subject};
use coilwright_shop::spool::{Spool, What};
use coilwright_shop::state::State;
use coilwright_shop::uncertain::Uncertain;
use coilwright_store::Published;

pub fn answer(app: &App, asked: SpoolShow) -> Result<SpoolShown, RpcError> {
    app.look(|published| shown(app, &asked, published))
}

fn shown(app: &App, asked: &SpoolShow, published: &Published<State>) -> Result<SpoolShown, RpcError> {
    let id = words::spool_id(&asked.spool)?;
    let state = &published.state;
    let s = state.spool(id).ok_or_else(|| words::no_such("spool", &asked.spool))?;
    let estimate = s.estimate();
    let confidence = state.figures().confidence.value;
    Ok(SpoolShown {
        spool: id.to_string(),
        wire: s.wire().key().into(),
        wire_label: s.wire().label.clone(),
        left_m: estimate.left.into(),
        length_known: s.known().is_ok(),
        held_m: words::metres(s.held()),
        free_m: words::metres(s.free(confidence)),
        safe_m: words::metres(s.safe(confidence)),
        estimate: SpoolEstimate {
            g_per_m: estimate.g_per_m.into(),
            tare_g: estimate.tare.map(Into::into),
            ohm_per_m: estimate.ohm_per_m.map(Into::into),
            lot_spools: Some(s.of_lot.spools).filter(|n| *n > 0),
        },
        readings: readings(s),
        holds: s
            .holds
            .iter()
            .map(|(hold, h)| SpoolHoldItem {
                hold: hold.to_string(),
                hold_m: Setting::of(h.hold_m),
                reason: h.reason.clone(),
                job: h.job.map(|j| j.to_string()),
                coil_no: h.coil_no,
            })
            .collect(),
        history: told::history(app, state, Subject::Spool(id))?,
        next_best: next_best(state, s, &estimate),
        label: s.received.label.clone(),
        supplier: s.received.supplier.clone(),
        lot: s.received.lot.clone(),
        place: s.place.clone(),
        note: s.received.note.clone(),
        retired: s.retired.is_some(),
        rev: s.rev,
        seq: published.head.seq,
        cost_per_kg: s.received.cost_per_kg.as_ref().map(words::money_words),
        near_empty: near_empty(s, &estimate),
    })
}

/// Below so many standard uncertainties the part of the estimate that lies below nothing counts.
const NEAR_EMPTY_U: f64 = 4.0;
/// What the draws are fixed by: any number would do, this one keeps the same spool's answer the same.
const SEED: u64 = 1;

/// What can be left where the estimate reaches below nothing.
fn near_empty(s: &Spool, now: &Content) -> Option<NearEmpty> {
    let known = s.known().is_ok() && s.retired.is_none() && now.left.u.m() > 0.0;
    if !known || now.left.value >= now.left.u * NEAR_EMPTY_U {
        return None;
    }
    let (left, at_most) = left_by_trial(now.left, SEED)?;
    Some(NearEmpty { left_m: left.into(), at_most_m: words::metres(at_most), seed: SEED })
}

fn readings(s: &Spool) -> Vec<SpoolReading> {
    let Ok((content, places)) = s.explained() else { return Vec::new() };
    let read = content.readings.iter().zip(places).filter_map(|(fitted, place)| {
        let past = s.past.get(place)?;
        let (kind, unit) = match past.what {
            What::Weighed { .. } => ("weighed", "g"),
            What::Measured { .. } => ("measured", "ohm"),
            What::Marked { .. } => ("marked", "m"),
            What::Emptied { .. } => ("emptied", "m"),
            What::Drawn { .. } | What::Rewound { .. } => return None,
        };
        Some(SpoolReading {
            seq: past.seq,
            kind: kind.into(),
            weight: fitted.weight,
            residual: fitted.residual,
            residual_in_u: fitted.residual_in_u,
            expected: fitted.expected,
            unit: unit.into(),
            unwritten_pct: fitted.unwritten.map(|q| Setting::of(100.0 * q)),
        })
    });
    read.collect()
}

/// What the length would be known to after a weighing or a resistance reading that shows just what is expected.
fn next_best(state: &State, s: &Spool, now: &Content) -> NextBest {
    let none =
        |text: &str| NextBest { measure: "none".into(), u_after_m: words::metres(now.left.u), text: text.into() };
    if s.retired.is_some() {
        return none("the spool is retired");
    }
    let u_after =
        |fact: Fact| state.after(&words::a_moment(state), &[fact]).spool(s.id()).map(|s| s.estimate().left.u.m());
    let weigh =
        now.expected_gross().map_or_else(|| Mass::from_g(s.wire().g_per_m.value * now.left.value.m()), |m| m.value);
    let scale = state.figures().scale.value.weighing_u_g();
    let weighed = u_after(Fact::SpoolWeighed(SpoolWeighed {
        spool: s.id(),
        gross_g: Uncertain::new(weigh.g(), scale),
        expected_g: None,
        repeat_of: None,
        breaks_ledger: false,
    }));
    let ohm = now.expected_resistance().map(|r| r.value.ohm());
    let measured = ohm.filter(|r| *r > 0.0).and_then(|ohm| {
        let u = state.figures().meter.value.reading_u_ohm(ohm);
        let reading = OhmReading {
            ohm: Uncertain::new(ohm, u),
            test_leads_ohm: Uncertain::new(0.0, 0.0),
            temperature_c: Uncertain::new(20.0, 0.0),
        };
        u_after(Fact::SpoolMeasured(SpoolMeasured {
            spool: s.id(),
            reading,
            ohm_20c: Uncertain::new(ohm, u),
            expected_ohm: None,
            breaks_ledger: false,
        }))
    });
    let best = [
        ("weigh", weighed, "weigh it once more"),
        ("measure_resistance", measured, "reach both ends and measure the resistance"),
    ]
    .into_iter()
    .filter_map(|(measure, u, how)| u.map(|u| (measure, u, how)))
    .min_by(|a, b| a.1.total_cmp(&b.1));
    match best {
        Some((measure, u, how)) if u < 0.98 * now.left.u.m() || s.known().is_err() => NextBest {
            measure: measure.into(),
            u_after_m: Setting::of(u),
            text: format!("{how}: ± {:.2} m would become ± {u:.2} m", now.left.u.m()),
        },
        _ => none("no further reading with the shop's instruments would tell more"),
    }
}
