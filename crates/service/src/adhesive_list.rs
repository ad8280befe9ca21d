//! `adhesive.list`: the catalog's adhesives, with the origin of every number.

use crate::adhesive_words::{cautions, cure, kind, origins};
use crate::app::App;
use crate::view;
use coilwright_catalog::AdhesiveRecord;
use coilwright_core::adhesive::CureAt;
use coilwright_proto::adhesive::{AdhesiveAnswer, AdhesiveList, AdhesiveListAnswer};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Setting, bare};

pub fn answer(app: &App, _: AdhesiveList) -> Result<AdhesiveListAnswer, RpcError> {
    Ok(AdhesiveListAnswer { items: app.catalog.adhesives().iter().map(in_words).collect() })
}

fn in_words(record: &AdhesiveRecord) -> AdhesiveAnswer {
    let a = &record.adhesive;
    let stated =
        |c: &coilwright_core::adhesive::Cure| cure(&CureAt { hours: c.hours, glass: c.glass, from: *c }, c.at.c());
    AdhesiveAnswer {
        adhesive: record.id.clone(),
        label: record.label.clone(),
        kind: kind(a.kind),
        density_g_per_cm3: a.density.into(),
        cures: a.cures.iter().map(stated).collect(),
        cautions: cautions(a.kind, a.cures.last().map(|c| c.at.c())),
        origins: origins(record).into_iter().map(view::origin).collect(),
        plugin: record.at.plugin.clone(),
        hardener_per_100_resin: a.hardener.map(|h| 100.0 * h),
        ratio_limit_pct: a.ratio_limit.map(|l| Setting::of(100.0 * l)),
        solids_pct: (a.solids < 1.0).then(|| Setting::of(100.0 * a.solids)),
        pot_life_min: a.pot_life.map(|p| Setting::of(p.minutes)),
        pot_life_at_c: a.pot_life.map(|p| bare(p.at)),
        pot_life_mass_g: a.pot_life.and_then(|p| p.up_to).map(bare),
        heat_limit_c: a.heat_limit.map(bare),
        note: record.note.clone(),
    }
}
