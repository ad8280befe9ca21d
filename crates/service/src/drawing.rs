//! A designed coil as the drawing room wants it: shared by the sheets that show one.

use coilwright_catalog::Catalog;
use coilwright_core::coil::Design;
use coilwright_core::coil::findings::Level;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::error::RpcError;
use coilwright_proto::reference::Ref;
use coilwright_sheets::Figure;
use coilwright_sheets::cross_section::{CrossSection, Gap};

/// A designed coil as the drawing wants it. `at` is the pointer to its params.
///
/// # Errors
/// A winding that the drawing would show wrongly: it knows round wire, laid one at a time, as one block outside the former.
pub fn section(
    catalog: &Catalog,
    asked: &CoilDesign,
    spec: &CoilSpec,
    d: &Design,
    title: String,
    at: &str,
) -> Result<CrossSection, RpcError> {
    let laid = &d.laid;
    let what = if laid.inside > 0 {
        Some("layers inside the former")
    } else if laid.beside > 1 {
        Some("two windings side by side")
    } else if laid.hands > 1 {
        Some("several wires in hand")
    } else if spec.winding.lay.ribbon.is_some() {
        Some("rectangular wire")
    } else if spec.former.particulars.cone.is_some() {
        Some("a conical former")
    } else {
        None
    };
    if let Some(what) = what {
        return Err(RpcError::params(
            at,
            format!("{what} cannot be drawn yet: the drawing knows round wire, laid one at a time on the outside of a cylinder"),
        )
        .next("`coil.design` has every figure of it"));
    }
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
    let bond = spec.winding.lay.bond.and_then(|b| b.overall);
    let overall = bond.map_or(mm(spec.wire.overall), mm);
    let paper = spec.winding.lay.paper.map_or(0.0, mm);
    let outside = spec.former.particulars.outside();
    let inside = mm(spec.former.inside_diameter);
    let of_both = match laid.parts.as_slice() {
        [first, second] => format!(" (dual: {} inner, {} outer)", first.layers, second.layers),
        _ => String::new(),
    };
    Ok(CrossSection {
        title,
        subtitle: format!("{} layers, {} turns{of_both}", d.turns_per_layer.len(), d.turns),
        wire,
        former,
        dcr_ohm: Some(Figure { value: d.dcr.value.ohm(), u: d.dcr.u.ohm() }),
        turns_per_layer: d.turns_per_layer.clone(),
        width_mm: mm(d.width),
        bare_mm: mm(spec.wire.bare),
        overall_mm: overall,
        pitch_mm: mm(d.pitch),
        nesting: d.assumed.nesting.value + paper / overall,
        former_inside_mm: inside,
        // Of a former that is used again the outside was measured.
        wall_mm: outside.map_or(mm(spec.former.wall), |o| (mm(o.mean) - inside) / 2.0),
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
    })
}
