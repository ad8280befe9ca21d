//! `sheet.section`: the coil designed, then drawn to scale in its gap.

use crate::app::App;
use crate::drawing::section;
use crate::view;
use coilwright_core::coil::Design;
use coilwright_proto::error::RpcError;
use coilwright_proto::sheet::{SheetSection, SheetSectionAnswer};
use coilwright_sheets::cross_section::{Layout, cross_section};

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
    let published = app.store.state();
    let (spec, design) = view::designed_here(&app.catalog, &published.state, &asked.coil, "/coil")?;
    let drawing = section(
        &app.catalog,
        &asked.coil,
        &spec,
        &design,
        asked.title.unwrap_or_else(|| "Voice coil".into()),
        "/coil/winding",
    )?;
    let svg = cross_section(&drawing, Layout::Full)
        .map_err(|e| RpcError::params("/coil", e.to_string()).next("check the dimensions of former and gap"))?;
    Ok(SheetSectionAnswer { svg, sentence: sentence(&design) })
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
