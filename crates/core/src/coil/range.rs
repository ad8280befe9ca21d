//! What a dimension of a coil can be at all: nonsense is stopped at the door, with the field and what is allowed.

use super::lay::Lay;
use super::spec::CoilSpec;
use crate::quantity::{Length, Quantity};

/// A number that no loudspeaker coil has.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", said(*met, *min, *max, unit))]
pub struct OutOfRange {
    /// JSON pointer of the parameter.
    pub pointer: &'static str,
    /// As met, in `unit`.
    pub met: f64,
    /// Least allowed.
    pub min: f64,
    /// Greatest allowed.
    pub max: f64,
    /// Unit of the three.
    pub unit: &'static str,
}

fn said(met: f64, min: f64, max: f64, unit: &str) -> String {
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    format!("{met}{unit} is outside {min} to {max}{unit}")
}

/// Checks every dimension of `spec` against what coils of loudspeakers can be, with room to spare.
///
/// # Errors
/// The first dimension outside its range.
pub fn check(spec: &CoilSpec) -> Result<(), OutOfRange> {
    let mm = |pointer, l: Option<Length>, min, max| within(pointer, l.map(Length::mm), min, max, "mm");
    let m = |pointer, l: Option<Length>| within(pointer, l.map(Length::m), 0.0, 50.0, "m");
    let f = &spec.former;
    mm("/wire/bare_mm", Some(spec.wire.bare.value), 0.005, 4.0)?;
    mm("/wire/overall_mm", Some(spec.wire.overall.value), 0.006, 5.0)?;
    mm("/former/inside_diameter_mm", Some(f.inside_diameter.value), 3.0, 500.0)?;
    mm("/former/wall_mm", Some(f.wall.value), 0.005, 10.0)?;
    mm("/former/height_mm", f.height.map(|h| h.value), 1.0, 1000.0)?;
    mm("/former/slit_mm", Some(f.slit), 0.0, 20.0_f64.min(f.inside_diameter.value.mm()))?;
    mm("/former/shims_mm", Some(f.shims), 0.0, 2.0)?;
    within("/winding/layers", Some(f64::from(spec.winding.layers)), 1.0, 12.0, "layers")?;
    mm("/winding/width_mm", spec.winding.width.map(|w| w.value), 2.0 * spec.wire.overall.value.mm(), 500.0)?;
    lay(&spec.winding.lay)?;
    particulars(spec)?;
    for n in spec.winding.turns_per_layer.iter().flatten() {
        within("/winding/turns_per_layer", Some(f64::from(*n)), 1.0, 5000.0, "turns")?;
    }
    m("/leads_m", spec.leads.map(|l| l.value))?;
    m("/tails_m", spec.tails.map(|l| l.value))?;
    // The tails contain the leads: shorter ones would ask a spool for too little.
    let least_tails = spec.leads.map_or(0.0, |l| l.value.m());
    within("/tails_m", spec.tails.map(|l| l.value.m()), least_tails, 50.0, "m")?;
    m("/threading_m", spec.threading.map(|l| l.value))?;
    if let Some(gap) = &spec.gap {
        mm("/gap/pole_mm", gap.pole.map(|l| l.value), 1.0, 500.0)?;
        mm("/gap/bore_mm", gap.bore.map(|l| l.value), gap.pole.map_or(1.0, |p| p.value.mm()), 600.0)?;
        mm("/gap/plate_mm", gap.plate.map(|l| l.value), 0.5, 200.0)?;
        mm("/gap/min_inner_mm", gap.min_inner, 0.0, 5.0)?;
        mm("/gap/min_outer_mm", gap.min_outer, 0.0, 5.0)?;
    }
    if let Some(t) = &spec.target {
        within("/target/dcr_ohm", t.dcr.map(|r| r.ohm()), 0.05, 10_000.0, "Ω")?;
        within("/target/tolerance_pct", t.tolerance.map(|x| 100.0 * x), 0.05, 50.0, "%")?;
        within("/target/rated_ohm", t.rated.map(|r| r.ohm()), 0.5, 10_000.0, "Ω")?;
    }
    within("/bench_c", spec.bench.map(|t| t.c()), -20.0, 60.0, "°C")?;
    within("/hot_c", spec.hot.map(|t| t.c()), 20.0, 400.0, "°C")?;
    mm("/offset_mm", spec.offset, -100.0, 100.0)?;
    let a = &spec.assume;
    let ratio = |pointer, x: Option<f64>, min, max| within(pointer, x, min, max, "");
    ratio("/assume/pitch_factor", a.pitch_factor.map(|k| k.value), 0.90, 3.0)?;
    let floor = a.pitch_factor.map_or(0.85, |k| libm::sqrt((1.0 - k.value * k.value / 4.0).max(0.25)) - 0.01);
    ratio("/assume/nesting", a.nesting.map(|b| b.value), floor, 1.2)?;
    let pct = |pointer, x: Option<f64>, min, max| within(pointer, x.map(|x| 100.0 * x), min, max, "%");
    pct("/assume/resistance_excess_pct", a.resistance_excess.map(|x| x.value), -20.0, 20.0)?;
    pct("/assume/elongation_pct", a.elongation.map(|x| x.value), 0.0, 15.0)?;
    mm("/assume/glue_mm", a.glue.map(|l| l.value), 0.0, 1.0)?;
    mm("/assume/skin_mm", a.skin.map(|l| l.value), 0.0, 1.0)?;
    mm("/assume/wrap_mm", a.wrap.map(|l| l.value), 0.0, 5.0)?;
    within("/assume/adhesive_g_per_cm3", a.adhesive.map(|d| d.g_per_cm3()), 0.5, 3.0, "g/cm³")
}

fn lay(lay: &Lay) -> Result<(), OutOfRange> {
    let mm = |pointer, l: Option<Length>, min, max| within(pointer, l.map(Length::mm), min, max, "mm");
    mm("/winding/space_mm", lay.space.map(|l| l.value), 0.0, 100.0)?;
    mm("/winding/paper_mm", lay.paper.map(|l| l.value), 0.0, 1.0)?;
    if let Some(r) = &lay.ribbon {
        mm("/winding/ribbon/width_mm", Some(r.width.value), 0.02, 5.0)?;
        mm("/winding/ribbon/thickness_mm", Some(r.thickness.value), 0.01, 5.0)?;
        mm("/winding/ribbon/over_width_mm", Some(r.over_width.value), 0.02, 5.5)?;
        mm("/winding/ribbon/over_thickness_mm", Some(r.over_thickness.value), 0.01, 5.5)?;
        mm("/winding/ribbon/corner_radius_mm", Some(r.corner_radius), 0.0, 2.5)?;
    }
    let Some(bond) = &lay.bond else { return Ok(()) };
    mm("/winding/bond/overall_mm", bond.overall.map(|l| l.value), 0.006, 5.0)?;
    within("/winding/bond/bake_c", bond.bake.map(|t| t.c()), 60.0, 400.0, "°C")?;
    within("/winding/bond/g_per_cm3", bond.density.map(|d| d.value.g_per_cm3()), 0.8, 2.0, "g/cm³")
}

fn particulars(spec: &CoilSpec) -> Result<(), OutOfRange> {
    let f = &spec.former;
    for d in f.particulars.reused.iter().flatten() {
        let inside = f.inside_diameter.value.mm();
        within("/former/outside_diameters_mm", Some(d.value.mm()), inside, inside + 25.0, "mm")?;
    }
    if let Some(vents) = f.particulars.vents {
        within("/former/vents/count", Some(f64::from(vents.count)), 1.0, 1000.0, "holes")?;
        within("/former/vents/diameter_mm", Some(vents.diameter.mm()), 0.1, 50.0, "mm")?;
        // More holes than wall is no former.
        within("/former/vents", Some(100.0 * (1.0 - f.kept())), 0.0, 80.0, "% of the wall")?;
    }
    within("/former/cone_deg", f.particulars.cone.map(|phi| phi.to_degrees()), 0.1, 60.0, "°")
}

fn within(pointer: &'static str, met: Option<f64>, min: f64, max: f64, unit: &'static str) -> Result<(), OutOfRange> {
    match met {
        // A hair of slack: 500 mm may arrive as 500.00000000000006.
        Some(x) if !(x.si() >= min - 1e-9 * min.abs() && x <= max + 1e-9 * max.abs()) => {
            Err(OutOfRange { pointer, met: x, min, max, unit })
        }
        _ => Ok(()),
    }
}
