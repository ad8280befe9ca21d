//! A designed coil in words: shared by `coil.design` and by what scripts are told of a coil.

use crate::{view, winding_words};
use coilwright_core::coil::Design;
use coilwright_core::coil::filled::Filled;
use coilwright_proto::coil::{CoilDesign, CoilDesigned, CountShare, FilledAnswer, MassAnswer, TensionRange};
use coilwright_proto::quantity::{Setting, bare};

/// The answer of `coil.design`.
pub fn designed(d: Design, filled: Option<Filled>, understood: CoilDesign) -> CoilDesigned {
    let (blank, bake) = (winding_words::blank(&d), winding_words::bake(&d, &understood));
    let windings = d.windings.as_ref();
    let pieces = d.laid.pieces();
    CoilDesigned {
        turns_per_layer: d.turns_per_layer,
        turns: d.turns,
        pieces: (pieces > 1).then_some(pieces),
        pitch_mm: d.pitch.into(),
        width_mm: d.width.into(),
        wound_width_mm: d.wound_width.into(),
        base_diameter_mm: d.base_diameter.into(),
        layer_diameters_mm: d.layer_diameters.into_iter().map(Into::into).collect(),
        length_m: d.length.into(),
        need_m: d.need.into(),
        draw_m: d.draw.into(),
        dcr_ohm: d.dcr.into(),
        dcr_bench_ohm: d.dcr_bench.map(Into::into),
        outside_nested_mm: d.outside_nested.into(),
        outside_crossover_mm: d.outside_crossover.into(),
        clearance_inner_mm: d.clearance_inner.map(Into::into),
        clearance_outer_mm: d.clearance_outer.map(Into::into),
        clearance_outer_hot_mm: d.clearance_outer_hot.map(Into::into),
        blank,
        mandrel_mm: bare(d.mandrel),
        mass: MassAnswer {
            conductor_g: d.mass.conductor.into(),
            wire_g: d.mass.wire.into(),
            former_g: d.mass.former.map(Into::into),
            adhesive_g: d.mass.adhesive.into(),
        },
        inductance_air_uh: d.inductance_air.into(),
        overhang_mm: d.overhang.map(Into::into),
        one_sided_travel_mm: d.one_sided_travel.map(Into::into),
        tension_g: d.tension.layers.into_iter().map(bare).collect(),
        tension_advised_g: TensionRange { min: bare(d.tension.advised.0), max: bare(d.tension.advised.1) },
        tension_cap_g: d.tension.cap.map(bare),
        turn_ohm: d.turn.into(),
        if_filled: filled.map(filled_in_words),
        windings: windings.map(winding_words::each),
        series: windings.map(|w| winding_words::joined(&w.series)),
        parallel: windings.map(|w| winding_words::joined(&w.parallel)),
        coupling: windings.and_then(|w| w.coupling).map(Setting::of),
        bake,
        findings: d.findings.into_iter().map(view::finding).collect(),
        origins: d.origins.into_iter().map(view::origin).collect(),
        understood,
    }
}

fn filled_in_words(f: Filled) -> FilledAnswer {
    FilledAnswer {
        holds_turns: f.holds,
        first_layer: f
            .first_layer
            .into_iter()
            .map(|(turns, share)| CountShare { turns, share_pct: Setting::of(100.0 * share) })
            .collect(),
        turns: f.turns.into(),
        length_m: f.length.into(),
        dcr_ohm: f.dcr.into(),
        dcr_low_ohm: bare(f.dcr_95.0),
        dcr_high_ohm: bare(f.dcr_95.1),
        draws: f.draws,
        seed: f.seed,
    }
}
