//! `coil.pair`: two coils in, their difference out, with what both have in common cancelled. Looks at what the shop
//! learned, writes nothing.

use crate::app::App;
use crate::{sound_words, view, winding_words};
use coilwright_core::coil::Design;
use coilwright_core::finding::Finding;
use coilwright_core::substitution::{ALIKE_U, Comparison, sentence};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Figure, G, Setting};
use coilwright_proto::sound::{CoilPair, CoilPaired, PairDifference, PairedCoil};

pub fn answer(app: &App, asked: CoilPair) -> Result<CoilPaired, RpcError> {
    winding_words::driven(&asked.first, "/first")?;
    winding_words::driven(&asked.second, "/second")?;
    let shop = app.store.state();
    let (first, one) = view::designed_here(&app.catalog, &shop.state, &asked.first, "/first")?;
    let (second, two) = view::designed_here(&app.catalog, &shop.state, &asked.second, "/second")?;
    let same_spool = asked.same_spool.unwrap_or_else(|| sound_words::same_wire(&asked.first.wire, &asked.second.wire));
    let driver = asked.driver.as_ref().map_or([None; 8], sound_words::inputs);
    let c = sound_words::compared(&driver, [&first, &second], same_spool, ["/driver", "/first", "/second"])?;
    let learned = sound_words::learned([("first", &one), ("second", &two)]);
    let reading_pct = readings(&asked)?;
    let mut findings: Vec<Finding> = c.findings.clone();
    if asked.driver.is_none() {
        // Nothing was asked of a driver, so nothing is missing from it.
        findings.retain(|f| f.code != "not_computed" && f.code != "taken_as_overhung");
    }
    findings.extend(apart(&c, reading_pct));
    let said = format!(
        "{} {}",
        side_by_side(&c, same_spool),
        if asked.driver.is_some() {
            sentence(&c, asked.driver.as_ref().and_then(|d| d.rated_ohm).map(|s| s.value))
        } else {
            String::new()
        }
    );
    Ok(CoilPaired {
        first: coil(&one, sound_words::figure(c.coil_mass[0])),
        second: coil(&two, sound_words::figure(c.coil_mass[1])),
        difference: PairDifference {
            dcr_ohm: sound_words::figure(c.dcr_change),
            dcr_pct: sound_words::pct(c.re_ratio),
            dcr_u_if_apart_ohm: Setting::of(c.dcr_change_if_apart),
            coil_g: sound_words::figure(c.mass_change),
            outside_crossover_mm: sound_words::figure(c.outside_change),
            bl_pct: sound_words::pct(c.bl_ratio),
            reading_pct,
            db_1w: c.change.db_1w.map(sound_words::figure),
            db_2v83: c.change.db_2v83.map(sound_words::figure),
            fs_hz: c.change.fs.map(sound_words::figure),
            qts_pct: c.qts_ratio.map(sound_words::pct),
        },
        same_spool,
        sentence: said.trim_end().to_owned(),
        findings: findings.into_iter().map(view::finding).collect(),
        origins: c.origins.into_iter().chain(learned).map(view::origin).collect(),
    })
}

fn coil(d: &Design, coil_g: Figure<G>) -> PairedCoil {
    PairedCoil {
        turns: d.turns,
        length_m: d.length.into(),
        dcr_ohm: d.dcr.into(),
        outside_crossover_mm: d.outside_crossover.into(),
        coil_g,
    }
}

/// The two readings set against each other: one meter, one pair of test leads and one temperature, so that only what
/// differs from reading to reading stays, which is the u of each reading if it was stated.
fn readings(asked: &CoilPair) -> Result<Option<Figure<coilwright_proto::quantity::Pct>>, RpcError> {
    let (first, second) = match (asked.first_reading_ohm, asked.second_reading_ohm) {
        (None, None) => return Ok(None),
        (Some(a), Some(b)) => (a, b),
        (one, _) => {
            let missing = if one.is_some() { "second_reading_ohm" } else { "first_reading_ohm" };
            return Err(RpcError::params(
                format!("/{missing}"),
                "a pair is compared by two readings, and one is missing",
            )
            .next(format!("add `{missing}`, read on the same meter and leads")));
        }
    };
    for (member, reading) in [("first_reading_ohm", first), ("second_reading_ohm", second)] {
        if reading.value <= 0.0 {
            return Err(RpcError::params(
                format!("/{member}"),
                format!("a reading of {} Ω is that of no coil", reading.value),
            )
            .met(reading.value)
            .allowed("more than 0 Ω")
            .next("read it again"));
        }
    }
    let ratio = second.value / first.value;
    let share = |r: coilwright_proto::quantity::Reading<_>| r.u.unwrap_or(0.0) / r.value;
    let u = 100.0 * ratio * share(first).hypot(share(second));
    Ok(Some(Figure::of(100.0 * (ratio - 1.0), u)))
}

/// Whether the readings part the two coils further than their designs and one winder's hand explain.
fn apart(c: &Comparison, reading: Option<Figure<coilwright_proto::quantity::Pct>>) -> Option<Finding> {
    let read = reading?;
    let planned = 100.0 * (c.re_ratio.value - 1.0);
    let u = read.u.hypot(100.0 * c.re_ratio.u).max(100.0 * ALIKE_U);
    let off = read.value - planned;
    (off.abs() > 2.0 * u).then(|| {
        Finding::watch(
            "pair_apart",
            format!("the readings are {:+.2} % apart where {planned:+.2} ± {u:.2} % was to be expected: a turn more or less, or another wire", read.value),
        )
        .figures(read.value, planned)
    })
}

fn side_by_side(c: &Comparison, same_spool: bool) -> String {
    let pct = 100.0 * (c.re_ratio.value - 1.0);
    format!(
        "The second has {:+.3} ± {:.3} Ω ({pct:+.2} ± {:.2} %){} and {:+.3} g against the first.",
        c.dcr_change.value,
        c.dcr_change.u,
        100.0 * c.re_ratio.u,
        if same_spool { ", the wire of one spool being common to both," } else { "" },
        1e3 * c.mass_change.value,
    )
}
