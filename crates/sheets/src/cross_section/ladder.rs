//! Dimension lines: the ladder of diameters above the section, the ladder of radial sizes below, heights at the side.

use crate::number::mm;
use crate::svg::{Anchor, Svg, text_width};

/// Sizes of lettering and lines of one sheet, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hand {
    /// Lettering.
    pub text: f64,
    /// Outlines.
    pub thick: f64,
    /// Hatching, dimension and extension lines.
    pub thin: f64,
    /// Height of a ladder's row.
    pub row: f64,
}

/// Where the lettering of a height goes if there is no room between its arrows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Room {
    Above,
    Below,
}

/// One dimension of a ladder, in paper positions.
#[derive(Debug, Clone)]
pub(super) struct Rung {
    /// Where the interval ends, and the heights at which the parts end there.
    pub from: (f64, f64),
    pub to: (f64, f64),
    pub text: String,
    pub strong: bool,
}

impl Rung {
    /// Left end, right end.
    fn ends(&self) -> ((f64, f64), (f64, f64)) {
        if self.from.0 <= self.to.0 { (self.from, self.to) } else { (self.to, self.from) }
    }
}

/// Diameters as half dimensions: the line comes from the axis at the left, its arrow ends at the face.
///
/// `faces` are (paper x, paper y where the part begins, text). The outermost face takes the top row, so that no extension line crosses a text.
pub(super) fn diameters(svg: &mut Svg, hand: Hand, left: f64, window_top: f64, faces: &[(f64, f64, String)]) {
    let mut faces: Vec<&(f64, f64, String)> = faces.iter().collect();
    faces.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (row, (x, part, text)) in faces.into_iter().enumerate() {
        let y = window_top - 1.6 - hand.row * (row as f64 + 0.2);
        svg.line((*x, part.max(window_top) - 0.6), (*x, y - 0.8), hand.thin);
        svg.line((left, y), (*x, y), hand.thin);
        arrow(svg, (*x, y), (1.0, 0.0));
        svg.label((left, y - 0.5), hand.text, Anchor::Start, text);
    }
}

/// How much paper the ladder of diameters takes.
pub(super) fn diameters_height(hand: Hand, rows: usize) -> f64 {
    2.0 + hand.row * rows as f64
}

/// Radial sizes; the outermost takes the top row, and a text stands to the right of its own interval while it fits
/// before `limit`, else to the left. Texts come after all lines, so that their halo breaks whatever crosses them.
pub(super) fn radial(svg: &mut Svg, hand: Hand, window_bottom: f64, limit: f64, rungs: &[Rung]) {
    let mut rungs: Vec<&Rung> = rungs.iter().collect();
    rungs.sort_by(|a, b| {
        let (a, b) = (a.ends(), b.ends());
        b.1.0.total_cmp(&a.1.0).then(b.0.0.total_cmp(&a.0.0))
    });
    let mut texts = Vec::new();
    for (row, rung) in rungs.into_iter().enumerate() {
        let (a, b) = rung.ends();
        let y = window_bottom + 2.4 + hand.row * (row as f64 + 0.4);
        for (x, part) in [a, b] {
            svg.line((x, part.min(window_bottom) + 0.6), (x, y + 0.8), hand.thin);
        }
        let after = span(svg, hand, (a.0, y), (b.0, y));
        let foot = y + hand.text * 0.36;
        let bold = if rung.strong { 1.1 } else { 1.0 };
        if after + 0.8 + text_width(&rung.text, hand.text) * bold < limit {
            texts.push(((after + 0.8, foot), Anchor::Start, rung));
        } else {
            texts.push(((a.0 - (after - b.0) - 0.8, foot), Anchor::End, rung));
        }
    }
    for (at, anchor, rung) in texts {
        if rung.strong {
            svg.bold(at, hand.text, anchor, &rung.text);
        } else {
            svg.label(at, hand.text, anchor, &rung.text);
        }
    }
}

/// How much paper the ladder of radial sizes takes.
pub(super) fn radial_height(hand: Hand, rows: usize) -> f64 {
    3.0 + hand.row * rows as f64
}

/// A height between two paper positions, drawn upright at `x`, with extension lines from `face`.
pub(super) fn height(svg: &mut Svg, hand: Hand, x: f64, face: (f64, f64), y: (f64, f64), room: Room, text: &str) {
    let (top, bottom) = (y.0.min(y.1), y.0.max(y.1));
    let (face_top, face_bottom) = if y.0 <= y.1 { face } else { (face.1, face.0) };
    for (edge, from) in [(top, face_top), (bottom, face_bottom)] {
        svg.line((from, edge), (x + 0.8, edge), hand.thin);
    }
    span(svg, hand, (x, top), (x, bottom));
    let wide = text_width(text, hand.text);
    if wide + 1.0 < bottom - top {
        svg.upright((x - 0.5, (top + bottom) / 2.0), hand.text, Anchor::Middle, text);
        return;
    }
    // Too tight for lettering between the arrows: beyond them, reading the same way.
    let outside = if bottom - top < 5.0 { 3.4 } else { 0.8 };
    match room {
        Room::Above => svg.upright((x - 0.5, top - outside), hand.text, Anchor::Start, text),
        Room::Below => svg.upright((x - 0.5, bottom + outside), hand.text, Anchor::End, text),
    }
}

/// A dimension line with its two arrows, which stand outside where there is no room between. Answers the far end.
fn span(svg: &mut Svg, hand: Hand, a: (f64, f64), b: (f64, f64)) -> f64 {
    let long = (b.0 - a.0).abs() + (b.1 - a.1).abs();
    let d = if (b.0 - a.0).abs() > (b.1 - a.1).abs() { (1.0, 0.0) } else { (0.0, 1.0) };
    let d = if long < 1e-9 { (1.0, 0.0) } else { d };
    if long >= 5.0 {
        svg.line(a, b, hand.thin);
        arrow(svg, a, (-d.0, -d.1));
        arrow(svg, b, d);
        b.0
    } else {
        let reach = 3.0;
        svg.line((a.0 - d.0 * reach, a.1 - d.1 * reach), (b.0 + d.0 * reach, b.1 + d.1 * reach), hand.thin);
        arrow(svg, a, d);
        arrow(svg, b, (-d.0, -d.1));
        b.0 + d.0 * reach
    }
}

/// A closed arrow head with its tip at `tip`, pointing along `d`.
pub(super) fn arrow(svg: &mut Svg, tip: (f64, f64), d: (f64, f64)) {
    let (long, half) = (1.9, 0.33);
    let back = (tip.0 - d.0 * long, tip.1 - d.1 * long);
    let path = format!(
        "M{:.3} {:.3}L{:.3} {:.3}L{:.3} {:.3}Z",
        tip.0,
        tip.1,
        back.0 - d.1 * half,
        back.1 + d.0 * half,
        back.0 + d.1 * half,
        back.1 - d.0 * half
    );
    svg.path(&path, "#000", 0.0);
}

/// A thin line from a part to its name; the part's end is a dot.
pub(super) fn leader(svg: &mut Svg, hand: Hand, part: (f64, f64), name_at: (f64, f64), anchor: Anchor, name: &str) {
    svg.line(part, name_at, hand.thin);
    svg.tag("circle").num("cx", part.0).num("cy", part.1).num("r", 0.4).done();
    let gap = if anchor == Anchor::End { -0.6 } else { 0.6 };
    svg.label((name_at.0 + gap, name_at.1 + hand.text * 0.36), hand.text, anchor, name);
}

/// `Ø 50.50 pole`.
pub(super) fn diameter(d: f64, name: &str) -> String {
    format!("Ø {} {name}", mm(d))
}
