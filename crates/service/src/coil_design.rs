//! `coil.design`: params, catalog, what the shop's own coils taught, calculation, the checks of plugins, answer. Writes
//! nothing, asks no clock.

use crate::app::App;
use crate::{coil_words, scripts, view};
use coilwright_core::coil::filled::filled;
use coilwright_core::coil::tension;
use coilwright_proto::coil::{CoilDesign, CoilDesigned};
use coilwright_proto::error::RpcError;

pub fn answer(app: &App, asked: CoilDesign) -> Result<CoilDesigned, RpcError> {
    let published = app.store.state();
    let (spec, mut design) = view::designed_here(&app.catalog, &published.state, &asked, "")?;
    let filled = filled(&spec, SEED).map_err(|e| view::refused(e, ""))?;
    design.origins.extend(tension::origins(spec.wire.conductor, design.turns_per_layer.len()));
    design.findings.extend(filled.iter().map(|f| f.finding.clone()));
    let mut answer = coil_words::designed(design, filled, asked);
    answer.findings.extend(scripts::of_design(app, &spec, &answer));
    Ok(answer)
}

/// What the draws are fixed by: any number would do, this one keeps the same question's answer the same.
const SEED: u64 = 1;
