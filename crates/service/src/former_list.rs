//! `former.list`: the catalog's former materials.

use crate::app::App;
use coilwright_proto::error::RpcError;
use coilwright_proto::former::{FormerAnswer, FormerList, FormerListAnswer, OriginAnswer};
use coilwright_proto::quantity::{Setting, bare};

pub fn answer(app: &App, _: FormerList) -> Result<FormerListAnswer, RpcError> {
    let items = app.catalog.formers().iter().map(|f| FormerAnswer {
        former: f.id.clone(),
        label: f.label.clone(),
        metal: f.material.is_metal(),
        density_g_per_cm3: f.material.density.into(),
        resistivity_ohm_m: f.material.resistivity.map(bare),
        heat_limit_c: f.material.heat_limit.map(bare),
        expansion_per_k: f.material.expansion_per_k.map(Setting::of),
        thicknesses_mm: f.walls.iter().map(|w| bare(*w)).collect(),
        slit_mm: bare(f.slit),
        origins: f
            .numbers
            .iter()
            .map(|n| OriginAnswer {
                param: n.figure.into(),
                value: n.value,
                u: n.u.unwrap_or(0.0),
                unit: n.unit.into(),
                mark: n.mark.into(),
                source: n.source.clone(),
            })
            .collect(),
        plugin: f.at.plugin.clone(),
    });
    Ok(FormerListAnswer { items: items.collect() })
}
