//! Adhesives between the words on the wire and the calculation: looked up, written out, and what to mind with them.

use crate::match_words::within;
use crate::view;
use coilwright_catalog::{AdhesiveRecord, Catalog};
use coilwright_core::adhesive::{Adhesive, BENCH, Cure, CureAt, DOUBLING_K, Kind, PotLife};
use coilwright_core::origin::{Mark, Origin};
use coilwright_proto::adhesive::{AdhesiveKind, CureAnswer, InlineAdhesive};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Reading, Setting, bare};
use coilwright_proto::reference::{AdhesiveRef, Ref};

/// The parameter that an adhesive's density stands for.
pub const DENSITY: &str = "adhesive.density_g_per_cm3";

/// Above this an adhesive is cured hot, °C.
const HOT_CURE_C: f64 = 40.0;

/// An adhesive with its name.
pub struct Named {
    /// Its id, or that it was written out.
    pub id: String,
    /// Its name for people.
    pub label: String,
    /// What it is.
    pub adhesive: Adhesive,
    /// Where its numbers come from.
    pub origins: Vec<Origin>,
}

/// The adhesive that is named or written out.
///
/// # Errors
/// An unknown id with the nearest ones, and figures that no adhesive has, each with its pointer.
pub fn adhesive(catalog: &Catalog, wanted: &AdhesiveRef, at: &str) -> Result<Named, RpcError> {
    match wanted {
        Ref::Id(id) => {
            let unknown = || view::unknown(catalog, "adhesive", id, &catalog.nearest_adhesive(id), "adhesive.list", at);
            let record = catalog.adhesive(id).ok_or_else(unknown)?;
            Ok(Named {
                id: record.id.clone(),
                label: record.label.clone(),
                adhesive: record.adhesive.clone(),
                origins: origins(record),
            })
        }
        Ref::Inline(given) => {
            let (adhesive, origins) = inline(given, at)?;
            Ok(Named { id: "written out".into(), label: "the adhesive that was written out".into(), adhesive, origins })
        }
    }
}

/// Where every number of an adhesive of the catalog comes from.
pub fn origins(record: &AdhesiveRecord) -> Vec<Origin> {
    let numbers = record.numbers.iter().map(|n| Origin {
        param: format!("adhesive.{}", n.figure),
        value: n.value,
        u: n.u.unwrap_or(0.0),
        unit: n.unit,
        mark: n.mark,
        source: n.source.clone(),
    });
    let cures = record.adhesive.cures.iter().zip(&record.cures).map(|(cure, origin)| Origin {
        param: format!("adhesive.cures at {} °C", cure.at.c()),
        value: cure.hours,
        u: 0.0,
        unit: "h",
        mark: origin.mark,
        source: origin.source.clone(),
    });
    numbers.chain(cures).collect()
}

/// An adhesive written out, and what was taken where it says nothing.
fn inline(a: &InlineAdhesive, at: &str) -> Result<(Adhesive, Vec<Origin>), RpcError> {
    let inside = |member: &str, met: Option<f64>, least: f64, most: f64, unit: &str| match met {
        Some(met) => within(&format!("{at}/{member}"), met, least, most, unit),
        None => Ok(()),
    };
    inside("density_g_per_cm3", Some(a.density_g_per_cm3.value), 0.5, 5.0, "g/cm³")?;
    inside("hardener_per_100_resin", a.hardener_per_100_resin, 0.5, 500.0, "parts")?;
    inside("ratio_limit_pct", a.ratio_limit_pct.map(|s| s.value), 0.5, 50.0, "%")?;
    inside("solids_pct", a.solids_pct.map(|s| s.value), 5.0, 100.0, "%")?;
    inside("pot_life_min", a.pot_life_min.map(|s| s.value), 0.5, 100_000.0, "min")?;
    inside("pot_life_at_c", a.pot_life_at_c.map(|s| s.value), 0.0, 100.0, "°C")?;
    inside("pot_life_mass_g", a.pot_life_mass_g.map(|s| s.value), 0.1, 10_000.0, "g")?;
    inside("heat_limit_c", a.heat_limit_c.map(|s| s.value), 20.0, 600.0, "°C")?;
    let mut cures = Vec::new();
    for (i, cure) in a.cures.iter().flatten().enumerate() {
        inside(&format!("cures/{i}/at_c"), Some(cure.at_c.value), 0.0, 400.0, "°C")?;
        inside(&format!("cures/{i}/time_min"), Some(cure.time_min.value), 0.5, 600_000.0, "min")?;
        inside(&format!("cures/{i}/glass_c"), cure.glass_c.map(|s| s.value), 0.0, 400.0, "°C")?;
        let glass = cure.glass_c.map(|s| s.quantity());
        cures.push(Cure { at: cure.at_c.quantity(), hours: cure.time_min.value / 60.0, glass });
    }
    cures.sort_by(|x, y| x.at.c().total_cmp(&y.at.c()));
    let mut origins = Vec::new();
    let mut habit = |param: &str, value: f64, unit: &'static str, source: &str| {
        let (param, source) = (format!("adhesive.{param}"), source.to_owned());
        origins.push(Origin { param, value, u: 0.0, unit, mark: Mark::CommonPractice, source });
    };
    if a.pot_life_min.is_some() || !cures.is_empty() {
        habit("rate_doubles_k", DOUBLING_K, "K", "no source");
    }
    if a.pot_life_min.is_some() && a.pot_life_at_c.is_none() {
        habit("pot_life_at_c", BENCH.c(), "°C", "where the tin says nothing; no source");
    }
    let pot_life = a.pot_life_min.map(|minutes| PotLife {
        minutes: minutes.value,
        at: a.pot_life_at_c.map_or(BENCH, |s| s.quantity()),
        up_to: a.pot_life_mass_g.map(|s| s.quantity()),
    });
    let adhesive = Adhesive {
        kind: match a.kind.unwrap_or(AdhesiveKind::Epoxy) {
            AdhesiveKind::Epoxy => Kind::Epoxy,
            AdhesiveKind::Solvent => Kind::Solvent,
            AdhesiveKind::Other => Kind::Other,
        },
        density: Reading::measured(a.density_g_per_cm3),
        hardener: a.hardener_per_100_resin.map(|per_100| per_100 / 100.0),
        ratio_limit: a.ratio_limit_pct.map(|s| s.quantity()),
        solids: a.solids_pct.map_or(1.0, |s| s.quantity()),
        pot_life,
        doubling_k: DOUBLING_K,
        cures,
        heat_limit: a.heat_limit_c.map(|s| s.quantity()),
    };
    Ok((adhesive, origins))
}

/// What can hurt, on the wire.
pub fn kind(kind: Kind) -> AdhesiveKind {
    match kind {
        Kind::Epoxy => AdhesiveKind::Epoxy,
        Kind::Solvent => AdhesiveKind::Solvent,
        Kind::Other => AdhesiveKind::Other,
    }
}

/// A cure, on the wire.
pub fn cure(cure: &CureAt, at_c: f64) -> CureAnswer {
    CureAnswer {
        at_c: Setting::of(at_c),
        time_min: Setting::of(60.0 * cure.hours),
        stated: at_c == cure.from.at.c(),
        glass_c: cure.glass.map(bare),
    }
}

/// What to mind with an adhesive that is cured at up to `hottest_c`; the safety data sheet has the last word.
pub fn cautions(kind: Kind, hottest_c: Option<f64>) -> Vec<String> {
    let mut all: Vec<&str> = match kind {
        Kind::Epoxy => {
            vec!["Epoxy sensitises the skin, and for good: wear gloves to mix, but never near a turning mandrel."]
        }
        Kind::Solvent => vec![
            "Solvent vapour burns and stuns: fresh air, and no heat gun, iron or brushed motor near until it is dry.",
        ],
        Kind::Other => Vec::new(),
    };
    if hottest_c.is_some_and(|t| t > HOT_CURE_C) {
        all.push("Heat cure: nothing flammable in or near the oven, a thermostat, and never an oven for food.");
    }
    all.push("The safety data sheet and the tin win over everything said here.");
    all.into_iter().map(str::to_owned).collect()
}
