//! `sheet.section`: the coil designed, then drawn to scale in its gap.

use crate::app::App;
use crate::view;
use coilwright_core::coil::Design;
use coilwright_core::coil::findings::Level;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::error::RpcError;
use coilwright_proto::reference::Ref;
use coilwright_proto::sheet::{SheetSection, SheetSectionAnswer};
use coilwright_sheets::Figure;
use coilwright_sheets::cross_section::{CrossSection, Gap, Layout, cross_section};

/// Characters of a title that the title block holds.
const LONGEST_TITLE: usize = 60;

pub fn answer(app: &App, asked: SheetSection) -> Result<SheetSectionAnswer, RpcError> {
    if let Some(title) = asked.title.as_deref().filter(|t| t.chars().count() > LONGEST_TITLE) {
        return Err(RpcError::params(
            "/title",
            format!("a title of more than {LONGEST_TITLE} characters does not fit the title block"),
        )
        .met(title.chars().count())
        .allowed(LONGEST_TITLE)
        .next("shorten it"));
    }
    let (spec, design) = view::designed(app, &asked.coil, "/coil")?;
    let drawing = section(app, &asked.coil, &spec, &design, asked.title.unwrap_or_else(|| "Voice coil".into()));
    let svg = cross_section(&drawing, Layout::Full)
        .map_err(|e| RpcError::params("/coil", e.to_string()).next("check the dimensions of former and gap"))?;
    Ok(SheetSectionAnswer { svg, sentence: sentence(&design) })
}

/// A designed coil as the drawing wants it.
pub fn section(app: &App, asked: &CoilDesign, spec: &CoilSpec, d: &Design, title: String) -> CrossSection {
    let former = match &asked.former.material {
        Ref::Id(id) => app.catalog.former(id).map_or_else(|| id.clone(), |f| f.label.clone()),
        Ref::Inline(_) => "material as given".into(),
    };
    let wire = match &asked.wire {
        Ref::Id(id) => app.catalog.wire(id).map_or_else(|| id.clone(), |w| w.label.clone()),
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

fn sentence(d: &Design) -> String {
    let turns: Vec<String> = d.turns_per_layer.iter().map(u32::to_string).collect();
    let fit = match d.clearance_outer {
        Some(c) if c.value.mm() >= 0.0 => format!("; {:.3} mm stay free outside at the cross-over", c.value.mm()),
        Some(c) => format!("; {:.3} mm too fat for the gap at the cross-over", -c.value.mm()),
        None => String::new(),
    };
    format!(
        "{} turns ({}), {:.3} Ω at 20 °C, {:.3} mm over the cross-over{fit}.",
        d.turns,
        turns.join(" + "),
        d.dcr.value.ohm(),
        d.outside_crossover.value.mm()
    )
}
