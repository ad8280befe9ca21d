//! Detail A: the upper end of the winding in equal scales, where wires are round and the nesting can be seen.

use super::CrossSection;
use super::geometry::{Geometry, wires};
use super::ladder::{Hand, Room, height, leader};
use super::section::{CROSSOVER, HOT, MINIMUM, parts};
use super::view::{View, ratio};
use crate::number::{mm, wire_mm};
use crate::svg::{Anchor, Svg};

/// The window of the detail: from the former to the bore, a few turns high.
pub(super) fn view(c: &CrossSection, g: &Geometry, window: [f64; 4]) -> View {
    let outer = g.outermost_r(c.skin_mm);
    let margin = 0.15 * (outer - g.inside_r);
    let bore = c.gap.and_then(|gap| gap.bore_mm).map_or(outer + margin, |b| b / 2.0);
    // A wide clearance would make the wires small: show no more of it than the coil is thick.
    let right = bore.max(outer).min(outer + (outer - g.inside_r)) + margin;
    let left = g.inside_r - margin;
    let aspect = (window[3] - window[1]) / (window[2] - window[0]);
    let tall = (right - left) * aspect;
    let top = g.wind_high + 0.12 * tall;
    View::fit(window, 0.0, (left, right), (top - tall, top), true)
}

/// Heights shown, for the frame in the main view.
pub(super) fn heights(v: &View) -> (f64, f64) {
    (v.height_at(v.bottom), v.height_at(v.top))
}

/// Draws it with the wire, pitch and radial step named.
pub(super) fn draw(svg: &mut Svg, id: &str, c: &CrossSection, g: &Geometry, v: &View, hand: Hand) {
    svg.bold((v.left, v.top - 1.4), hand.text, Anchor::Start, &format!("Detail A, {} both ways", ratio(v.axial)));
    parts(svg, id, "detail", c, g, v, (hand.thick, hand.thin));
    svg.rect((v.left, v.top), (v.right, v.bottom), "none", hand.thin);

    let all = wires(c);
    let top_of = |layer: usize| all.get(layer).and_then(|w| w.last()).copied();
    let x = v.right + 4.5;
    if let Some((r, z)) = top_of(0) {
        let next = (r, z - c.pitch_mm);
        if all.first().is_some_and(|w| w.len() > 1) && v.shows(next.1, 0.0) {
            let (a, b) = (v.at(r, z), v.at(next.0, next.1));
            height(svg, hand, x, (a.0, b.0), (a.1, b.1), Room::Above, &format!("pitch {}", wire_mm(c.pitch_mm)));
        }
    }
    let mut y = v.bottom + hand.row * 0.9;
    let mut note = |svg: &mut Svg, dash: Option<&str>, text: &str| {
        let mut x = v.left;
        if let Some(dash) = dash {
            svg.line_as((x, y - hand.text * 0.36), (x + 9.0, y - hand.text * 0.36), hand.thin * 1.6, dash);
            x += 10.5;
        }
        svg.label((x, y), hand.text, Anchor::Start, text);
        y += hand.row * 0.92;
    };
    note(svg, None, &format!("wire {} bare in {} enamel (black ring)", wire_mm(c.bare_mm), wire_mm(c.overall_mm)));
    if all.len() > 1 {
        note(svg, None, &format!("layer to layer {} = {} × overall", wire_mm(c.nesting * c.overall_mm), mm(c.nesting)));
    }
    note(svg, Some(CROSSOVER), "outside at the cross-over");
    let gap = c.gap.unwrap_or_default();
    if gap.clearance_outer_hot_mm.is_some() && gap.bore_mm.is_some() {
        note(svg, Some(HOT), "the same, hot");
    }
    if gap.min_inner_mm.or(gap.min_outer_mm).is_some() {
        note(svg, Some(MINIMUM), "minimum clearance");
    }
    if let Some((r, z)) = top_of(all.len() - 1).filter(|w| v.shows(w.1, 0.0)) {
        let part = v.at(r, z);
        leader(svg, hand, part, (part.0 + 6.0, v.top + 2.6), Anchor::Start, &format!("Ø {}", wire_mm(c.overall_mm)));
    }
}
