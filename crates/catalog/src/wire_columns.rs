//! The columns of a wire table: what each header means, and in which unit.

use crate::fault::Fault;
use crate::table::unknown_header;

/// A figure of a wire, each kept in millimetres, ohms per metre or grams per metre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Figure {
    Bare,
    BareMin,
    BareMax,
    Overall,
    OverallMin,
    OverallMax,
    Ohm,
    OhmMin,
    OhmMax,
    Mass,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Column {
    Id,
    Size,
    Build,
    Conductor,
    Label,
    Source,
    Mark,
    Note,
    /// A figure, and what a number in this column is multiplied with.
    Figure(Figure, f64),
}

const MM_PER_MIL: f64 = 0.0254;

/// Diameters without their unit, and the units they may be given in.
const DIAMETERS: [(&str, Figure); 6] = [
    ("bare", Figure::Bare),
    ("bare_min", Figure::BareMin),
    ("bare_max", Figure::BareMax),
    ("overall", Figure::Overall),
    ("overall_min", Figure::OverallMin),
    ("overall_max", Figure::OverallMax),
];
const UNITS: [(&str, f64); 4] = [("_mm", 1.0), ("_um", 1e-3), ("_mil", MM_PER_MIL), ("_in", 1000.0 * MM_PER_MIL)];

/// Every other header, and the diameters in the unit that is usual here.
pub(crate) const HEADERS: [(&str, Column); 22] = [
    ("id", Column::Id),
    ("size", Column::Size),
    ("build", Column::Build),
    ("conductor", Column::Conductor),
    ("bare_mm", Column::Figure(Figure::Bare, 1.0)),
    ("bare_min_mm", Column::Figure(Figure::BareMin, 1.0)),
    ("bare_max_mm", Column::Figure(Figure::BareMax, 1.0)),
    ("overall_mm", Column::Figure(Figure::Overall, 1.0)),
    ("overall_min_mm", Column::Figure(Figure::OverallMin, 1.0)),
    ("overall_max_mm", Column::Figure(Figure::OverallMax, 1.0)),
    ("ohm_per_m", Column::Figure(Figure::Ohm, 1.0)),
    ("ohm_per_m_min", Column::Figure(Figure::OhmMin, 1.0)),
    ("ohm_per_m_max", Column::Figure(Figure::OhmMax, 1.0)),
    ("ohm_per_km", Column::Figure(Figure::Ohm, 1e-3)),
    ("ohm_per_km_min", Column::Figure(Figure::OhmMin, 1e-3)),
    ("ohm_per_km_max", Column::Figure(Figure::OhmMax, 1e-3)),
    ("g_per_m", Column::Figure(Figure::Mass, 1.0)),
    ("kg_per_km", Column::Figure(Figure::Mass, 1.0)),
    ("label", Column::Label),
    ("source", Column::Source),
    ("mark", Column::Mark),
    ("note", Column::Note),
];

/// What a header means.
///
/// # Errors
/// A fault without a place, with the nearest header or the units that are missing.
pub(crate) fn understand(header: &str) -> Result<Column, Fault> {
    if let Some((_, column)) = HEADERS.iter().find(|(name, _)| *name == header) {
        return Ok(*column);
    }
    for (unit, scale) in UNITS {
        let stem = header.strip_suffix(unit);
        if let Some((_, figure)) = DIAMETERS.iter().find(|(name, _)| Some(*name) == stem) {
            return Ok(Column::Figure(*figure, scale));
        }
    }
    if DIAMETERS.iter().any(|(name, _)| *name == header) {
        return Err(Fault::new(format!("the column `{header}` does not say its unit"))
            .next(format!("write {header}_mm, {header}_um, {header}_mil or {header}_in")));
    }
    if matches!(header, "ohm" | "ohm_min" | "ohm_max" | "resistance") {
        return Err(Fault::new(format!("the column `{header}` does not say its unit"))
            .next("write ohm_per_m or ohm_per_km, limits ohm_per_m_min and ohm_per_m_max"));
    }
    if matches!(header, "g" | "mass" | "weight") {
        return Err(
            Fault::new(format!("the column `{header}` does not say its unit")).next("write g_per_m or kg_per_km")
        );
    }
    Err(unknown_header(header, &HEADERS.map(|(name, _)| name)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_diameter_may_be_given_in_four_units() {
        for (header, scale) in [("bare_mm", 1.0), ("bare_um", 1e-3), ("bare_mil", 0.0254), ("bare_in", 25.4)] {
            assert_eq!(understand(header), Ok(Column::Figure(Figure::Bare, scale)), "{header}");
        }
    }

    #[test]
    fn a_figure_without_unit_is_refused() {
        for header in ["bare", "overall_max", "ohm", "mass"] {
            let fault = understand(header).unwrap_err();
            assert!(fault.message.contains("does not say its unit"), "{fault:?}");
        }
    }
}
