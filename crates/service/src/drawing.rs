//! A designed coil as the drawing room wants it: shared by the sheets that show one.

use coilwright_catalog::Catalog;
use coilwright_core::coil::Design;
use coilwright_core::coil::findings::Level;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::reference::Ref;
use coilwright_sheets::Figure;
use coilwright_sheets::cross_section::{CrossSection, Gap};

/// A designed coil as the drawing wants it.
pub fn section(catalog: &Catalog, asked: &CoilDesign, spec: &CoilSpec, d: &Design, title: String) -> CrossSection {
    let former = match &asked.former.material {
        Ref::Id(id) => catalog.former(id).map_or_else(|| id.clone(), |f| f.label.clone()),
        Ref::Inline(_) => "material as given".into(),
    };
    let wire = match &asked.wire {
        Ref::Id(id) => catalog.wire(id).map_or_else(|| id.clone(), |w| w.label.clone()),
        Ref::Inline(w) => {
            format!("{} {:.3} / {:.3} mm", spec.wire.conductor.name(), w.bare_mm.value, w.overall_mm.value)
        }
    };
    let mm = |m: Measured<Length>| m.value.mm();
    CrossSection {
        title,
        subtitle: format!("{} layers, {} turns", d.turns_per_layer.len(), d.turns),
        wire,
        former,
        dcr_ohm: Some(Figure { value: d.dcr.value.ohm(), u: d.dcr.u.ohm() }),
        turns_per_layer: d.turns_per_layer.clone(),
        width_mm: mm(d.width),
        bare_mm: mm(spec.wire.bare),
        overall_mm: mm(spec.wire.overall),
        pitch_mm: mm(d.pitch),
        nesting: d.assumed.nesting.value,
        former_inside_mm: mm(spec.former.inside_diameter),
        wall_mm: mm(spec.former.wall),
        glue_mm: mm(d.assumed.glue),
        skin_mm: mm(d.assumed.skin),
        former_height_mm: spec.former.height.map(mm),
        former_beyond_mm: 2.0,
        outside_crossover_mm: mm(d.outside_crossover),
        offset_mm: spec.offset.map_or(0.0, Length::mm),
        gap: spec.gap.as_ref().map(|g| Gap {
            pole_mm: g.pole.map(mm),
            bore_mm: g.bore.map(mm),
            plate_mm: g.plate.map(mm),
            min_inner_mm: d.least_clearances.map(|(inner, _)| inner.mm()),
            min_outer_mm: d.least_clearances.map(|(_, outer)| outer.mm()),
            clearance_inner_mm: d.clearance_inner.map(mm),
            clearance_outer_mm: d.clearance_outer.map(mm),
            clearance_outer_hot_mm: d.clearance_outer_hot.map(mm),
            hot_c: spec.hot.map(|t| t.c()),
        }),
        verdict: d.findings.iter().filter(|f| f.level != Level::Note).map(|f| f.text.clone()).collect(),
    }
}
