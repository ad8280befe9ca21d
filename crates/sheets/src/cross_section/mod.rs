//! The cross-section of one coil: what is to be drawn, and the door at which nonsense is refused.
//!
//! The drawing follows general drafting practice: thick outlines, thin hatching and dimension lines, adjoining parts
//! hatched in opposite directions, breaks where a part goes on. It says everything in words and figures and nothing by
//! colour, so that it survives a black-and-white printer.

mod detail;
mod figures;
mod geometry;
mod ladder;
mod section;
mod sheet;
mod view;

use crate::number::Figure;
use crate::refusal::{CannotDraw, out_of_range};

/// A coil, its former and, where known, the magnetic gap it stands in. All lengths in mm.
///
/// Outward (towards the cone) is up in the drawing. What is `None` is neither drawn nor named.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossSection {
    /// First line of the title block.
    pub title: String,
    /// Second line of the title block.
    pub subtitle: String,
    /// Wire id or wire in words.
    pub wire: String,
    /// Material of the former, in words.
    pub former: String,
    /// DC resistance at 20 °C with leads, Ω.
    pub dcr_ohm: Option<Figure>,
    /// Turns to wind in each layer, innermost first; each is drawn.
    pub turns_per_layer: Vec<u32>,
    /// Winding width, outside to outside of wire.
    pub width_mm: f64,
    /// Bare diameter of the conductor.
    pub bare_mm: f64,
    /// Overall diameter, with enamel.
    pub overall_mm: f64,
    /// Axial distance of neighbouring turns.
    pub pitch_mm: f64,
    /// Mean radial step from layer to layer, in overall diameters.
    pub nesting: f64,
    /// Inside diameter of the former.
    pub former_inside_mm: f64,
    /// Wall of the former.
    pub wall_mm: f64,
    /// Glue film between former and wire; the winding begins at inside diameter + 2 wall + 2 glue.
    pub glue_mm: f64,
    /// Adhesive skin over the winding, per side.
    pub skin_mm: f64,
    /// Height of the former.
    pub former_height_mm: Option<f64>,
    /// Former beyond the wire at the winding edge (about 2 mm by common practice).
    pub former_beyond_mm: f64,
    /// Outside diameter at the cross-over, skin included: the one that must pass the gap.
    pub outside_crossover_mm: f64,
    /// Shift of the winding's middle from the plate's middle, outward positive.
    pub offset_mm: f64,
    /// The magnetic gap.
    pub gap: Option<Gap>,
    /// What has been found about this coil, one finding a line, printed under the drawing's own words.
    pub verdict: Vec<String>,
}

/// The magnetic gap as far as it has been measured. All lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gap {
    /// Diameter of the pole.
    pub pole_mm: Option<f64>,
    /// Bore of the top plate.
    pub bore_mm: Option<f64>,
    /// Thickness of the top plate.
    pub plate_mm: Option<f64>,
    /// Least clearance wanted between pole and former.
    pub min_inner_mm: Option<f64>,
    /// Least clearance wanted between winding and bore.
    pub min_outer_mm: Option<f64>,
    /// Clearance between pole and former, per side.
    pub clearance_inner_mm: Option<f64>,
    /// Clearance between the cross-over and the bore, per side, cold.
    pub clearance_outer_mm: Option<f64>,
    /// The same with the coil at its working limit.
    pub clearance_outer_hot_mm: Option<f64>,
    /// Temperature at which the hot clearance holds, °C.
    pub hot_c: Option<f64>,
}

/// How much of the sheet is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// A sheet of its own, 190 mm × 150 mm, with a detail in equal scales, title block and findings.
    Full,
    /// The section alone, 88 mm × 92 mm, for a page that says the rest beside it.
    Panel,
}

/// Most turns in one drawing.
pub const MOST_TURNS: u64 = 6000;
/// Most layers in one drawing.
pub const MOST_LAYERS: usize = 12;
/// How far a given clearance may be from the one its diameters leave, mm (rounding of the figures given).
const AGREE_MM: f64 = 0.006;

/// Draws the cross-section to scale as one SVG document, which may also be put into an HTML page as it is.
///
/// Both scales are plain numbers to one; the radial one is a whole multiple of the axial one, said
/// on the drawing, because a real coil is a millimetre thick and fifteen tall. The section lies half a turn from the
/// start lead, where each layer shows exactly its whole count of turns.
///
/// # Errors
/// [`CannotDraw`] for numbers that are no coil, and for clearances that contradict their diameters.
pub fn cross_section(coil: &CrossSection, layout: Layout) -> Result<String, CannotDraw> {
    check(coil)?;
    Ok(sheet::draw(coil, layout))
}

/// What the figures given say about the gap: one sentence for each clearance that is known, the worst news first.
pub fn clearance_sentences(coil: &CrossSection) -> Vec<String> {
    figures::sentences(coil)
}

fn check(c: &CrossSection) -> Result<(), CannotDraw> {
    let turns: u64 = c.turns_per_layer.iter().map(|&n| u64::from(n)).sum();
    let layers = c.turns_per_layer.len();
    if let Some(at) = c.turns_per_layer.iter().position(|&n| n == 0) {
        return Err(CannotDraw::EmptyLayer { layer: at + 1 });
    }
    if layers == 0 {
        return Err(CannotDraw::EmptyLayer { layer: 1 });
    }
    if turns > MOST_TURNS || layers > MOST_LAYERS {
        return Err(CannotDraw::TooMany { turns, layers, most_turns: MOST_TURNS, most_layers: MOST_LAYERS });
    }
    size("overall_mm", c.overall_mm, 0.001, 20.0)?;
    size("bare_mm", c.bare_mm, 0.001, c.overall_mm)?;
    size("pitch_mm", c.pitch_mm, 0.5 * c.overall_mm, 40.0)?;
    size("nesting", c.nesting, 0.1, 3.0)?;
    size("width_mm", c.width_mm, c.overall_mm, 1000.0)?;
    size("former_inside_mm", c.former_inside_mm, 1.0, 1000.0)?;
    size("wall_mm", c.wall_mm, 0.0, 20.0)?;
    size("glue_mm", c.glue_mm, 0.0, 5.0)?;
    size("skin_mm", c.skin_mm, 0.0, 5.0)?;
    size("former_beyond_mm", c.former_beyond_mm, 0.0, 1000.0)?;
    size("outside_crossover_mm", c.outside_crossover_mm, c.former_inside_mm, 2000.0)?;
    size("offset_mm", c.offset_mm, -1000.0, 1000.0)?;
    maybe("former_height_mm", c.former_height_mm, 0.1, 1000.0)?;
    if c.dcr_ohm.is_some_and(|r| !r.is_sound()) {
        return Err(out_of_range("dcr_ohm", f64::NAN, "a finite value with u not negative"));
    }
    let Some(g) = &c.gap else { return Ok(()) };
    // A gap far from its coil would shrink the coil to nothing: such a pair is a slip of the keyboard, not a loose fit.
    maybe("gap.pole_mm", g.pole_mm, 0.5 * c.former_inside_mm, 2.0 * c.former_inside_mm)?;
    maybe("gap.bore_mm", g.bore_mm, 0.5 * c.outside_crossover_mm, 2.0 * c.outside_crossover_mm)?;
    maybe("gap.plate_mm", g.plate_mm, 0.1, 1000.0)?;
    maybe("gap.min_inner_mm", g.min_inner_mm, 0.0, 20.0)?;
    maybe("gap.min_outer_mm", g.min_outer_mm, 0.0, 20.0)?;
    maybe("gap.clearance_outer_hot_mm", g.clearance_outer_hot_mm, -1000.0, 1000.0)?;
    maybe("gap.hot_c", g.hot_c, -100.0, 1000.0)?;
    agree("gap.clearance_inner_mm", g.clearance_inner_mm, g.pole_mm.map(|p| (c.former_inside_mm - p) / 2.0))?;
    agree("gap.clearance_outer_mm", g.clearance_outer_mm, g.bore_mm.map(|b| (b - c.outside_crossover_mm) / 2.0))
}

fn size(name: &'static str, met: f64, least: f64, most: f64) -> Result<(), CannotDraw> {
    if (least..=most).contains(&met) {
        return Ok(());
    }
    let allowed = match name {
        "nesting" => "0.1 to 3",
        "bare_mm" => "0.001 mm up to the overall diameter",
        "width_mm" => "from the overall diameter up to 1000 mm",
        "gap.pole_mm" | "gap.bore_mm" => "half to twice the coil's diameter",
        "outside_crossover_mm" => "from the former's inside up to 2000 mm",
        _ => "a finite length that a coil can have, in mm",
    };
    Err(out_of_range(name, met, allowed))
}

fn maybe(name: &'static str, met: Option<f64>, least: f64, most: f64) -> Result<(), CannotDraw> {
    met.map_or(Ok(()), |v| size(name, v, least, most))
}

fn agree(name: &'static str, given: Option<f64>, drawn: Option<f64>) -> Result<(), CannotDraw> {
    match (given, drawn) {
        (Some(given_mm), _) if !given_mm.is_finite() => Err(out_of_range(name, given_mm, "a finite length in mm")),
        (Some(given_mm), Some(drawn_mm)) if (given_mm - drawn_mm).abs() > AGREE_MM => {
            Err(CannotDraw::Disagree { name, given_mm, drawn_mm })
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests;
