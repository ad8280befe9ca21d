//! Draws the parts themselves: pole, plate, former, adhesive, every wire, and where they would meet.

use super::CrossSection;
use super::geometry::{Geometry, wires};
use super::view::View;
use crate::number::plain;
use crate::svg::Svg;

/// Short dashes: a minimum clearance. Long dashes: the cross-over. Dash and dot: the hot coil.
pub(super) const MINIMUM: &str = "0.7 0.7";
pub(super) const CROSSOVER: &str = "2.2 0.9";
pub(super) const HOT: &str = "3 0.8 0.5 0.8";

/// The wire (bare circle on an enamel circle, in real mm) and one clip for each window.
pub(super) fn definitions(svg: &mut Svg, id: &str, c: &CrossSection, windows: &[(&str, View)]) {
    svg.tag("defs").open();
    svg.tag("g").set("id", &format!("{id}-wire")).open();
    svg.tag("circle").num("r", c.overall_mm / 2.0).done();
    svg.tag("circle").num("r", c.bare_mm / 2.0).set("fill", "#d4d4d4").done();
    svg.end();
    for (name, v) in windows {
        svg.tag("clipPath").set("id", &format!("{id}-{name}")).open();
        svg.rect((v.left, v.top), (v.right, v.bottom), "#000", 0.0);
        svg.end();
    }
    svg.end();
}

/// All parts within one window. `name` is the window's clip.
pub(super) fn parts(svg: &mut Svg, id: &str, name: &str, c: &CrossSection, g: &Geometry, v: &View, weight: (f64, f64)) {
    let (thick, thin) = weight;
    svg.tag("g").set("clip-path", &format!("url(#{id}-{name})")).set("data-view", name).open();

    // Steel goes on past the window, so its rectangles do too: only its faces are outlines.
    let far = 500.0;
    let gap = c.gap.unwrap_or_default();
    if let Some(pole) = gap.pole_mm {
        sectioned(svg, v, (v.left - far, v.top - far), (v.x(pole / 2.0), v.bottom + far), (1.7, true, thin), thick);
    }
    if let Some(bore) = gap.bore_mm {
        let half = gap.plate_mm.map_or(f64::INFINITY, |p| p / 2.0 * v.axial);
        let (high, low) = ((v.y(0.0) - half).max(v.top - far), (v.y(0.0) + half).min(v.bottom + far));
        sectioned(svg, v, (v.x(bore / 2.0), high), (v.right + far, low), (1.7, false, thin), thick);
    }

    let former_top = g.former_high.map_or(v.top - far, |h| v.y(h)).max(v.top - far);
    let wall = ((v.x(g.inside_r), former_top), (v.x(g.former_r), v.y(g.former_low)));
    sectioned(svg, v, wall.0, wall.1, (0.75, false, thin), thick * 0.7);
    let skin_r = g.nested_r + c.skin_mm;
    svg.rect(v.at(g.former_r, g.wind_high), v.at(g.base_r, g.wind_low), "#8c8c8c", 0.0);
    svg.rect(v.at(g.base_r, g.wind_high), v.at(skin_r, g.wind_low), "#efefef", 0.0);

    svg.tag("g").set("transform", &v.matrix()).open();
    for (i, layer) in wires(c).iter().enumerate() {
        svg.tag("g").num("data-layer", (i + 1) as f64).open();
        for &(radius, height) in layer.iter().filter(|w| v.shows(w.1, c.overall_mm)) {
            svg.tag("use").set("href", &format!("#{id}-wire")).num("x", radius).num("y", height).done();
        }
        svg.end();
    }
    svg.end();

    svg.rect(v.at(g.base_r, g.wind_high), v.at(skin_r, g.wind_low), "none", thin);
    svg.line_as(v.at(g.crossover_r, g.wind_high), v.at(g.crossover_r, g.wind_low), thin * 1.4, CROSSOVER);
    limits(svg, c, g, v, thin);
    rubs(svg, c, g, v, thick);
    svg.end();
}

/// Minimum clearances and the hot coil as broken lines.
fn limits(svg: &mut Svg, c: &CrossSection, g: &Geometry, v: &View, thin: f64) {
    let gap = c.gap.unwrap_or_default();
    let half = gap.plate_mm.map_or(f64::INFINITY, |p| p / 2.0);
    let (high, low) = (v.height_at(v.top).min(half), v.height_at(v.bottom).max(-half));
    let inner = gap.pole_mm.zip(gap.min_inner_mm).map(|(d, m)| d / 2.0 + m);
    let outer = gap.bore_mm.zip(gap.min_outer_mm).map(|(d, m)| d / 2.0 - m);
    for r in [inner, outer].into_iter().flatten() {
        svg.line_as(v.at(r, high), v.at(r, low), thin * 1.6, MINIMUM);
    }
    if let Some(r) = gap.bore_mm.zip(gap.clearance_outer_hot_mm).map(|(d, hot)| d / 2.0 - hot) {
        svg.line_as(v.at(r, g.wind_high), v.at(r, g.wind_low), thin * 1.4, HOT);
    }
}

/// Where coil and steel would be in the same place: cross-hatched, with a heavy outline.
fn rubs(svg: &mut Svg, c: &CrossSection, g: &Geometry, v: &View, thick: f64) {
    let gap = c.gap.unwrap_or_default();
    let half = gap.plate_mm.map_or(f64::INFINITY, |p| p / 2.0);
    let mut overlap = |name: &str, r: (f64, f64), z: (f64, f64)| {
        if r.1 > r.0 && z.1 > z.0 {
            svg.tag("g").set("data-rub", name).open();
            let (a, b) = (v.at(r.0, z.1), v.at(r.1, z.0));
            sectioned(svg, v, a, b, (0.9, true, thick * 0.6), 0.0);
            svg.hatch(v.within(a), v.within(b), 0.9, false, thick * 0.6);
            svg.rect(a, b, "none", thick);
            svg.end();
        }
    };
    if let Some(bore) = gap.bore_mm {
        overlap("outer", (bore / 2.0, g.crossover_r), (g.wind_low.max(-half), g.wind_high.min(half)));
    }
    if let Some(pole) = gap.pole_mm {
        let top = g.former_high.unwrap_or(f64::INFINITY).min(v.height_at(v.top));
        overlap("inner", (g.inside_r, pole / 2.0), (g.former_low, top));
    }
}

/// A rectangle of sectioned material: white, hatched within the window, outlined.
fn sectioned(svg: &mut Svg, v: &View, a: (f64, f64), b: (f64, f64), hatching: (f64, bool, f64), outline: f64) {
    let (step, rising, weight) = hatching;
    svg.rect(a, b, "#fff", 0.0);
    svg.hatch(v.within(a), v.within(b), step, rising, weight);
    svg.rect(a, b, "none", outline);
}

/// A thin straight line with one zigzag: the part goes on.
pub(super) fn break_line(svg: &mut Svg, a: (f64, f64), b: (f64, f64), weight: f64) {
    let at = |t: f64, off: f64| {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let long = libm::hypot(dx, dy).max(1e-9);
        (a.0 + dx * t - dy / long * off, a.1 + dy * t + dx / long * off)
    };
    let long = libm::hypot(b.0 - a.0, b.1 - a.1).max(1e-9);
    let half = (0.9 / long).min(0.3);
    let points = [
        at(0.0, 0.0),
        at(0.5 - half, 0.0),
        at(0.5 - half / 2.0, 1.1),
        at(0.5 + half / 2.0, -1.1),
        at(0.5 + half, 0.0),
        at(1.0, 0.0),
    ];
    let d: Vec<String> = points.iter().map(|p| format!("{} {}", plain(p.0), plain(p.1))).collect();
    svg.path(&format!("M{}", d.join("L")), "none", weight);
}
