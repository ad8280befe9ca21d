//! Puts the section, its dimensions, the detail, the title block and the verdict on one sheet.

use super::figures::{description, sentences, turns};
use super::geometry::Geometry;
use super::ladder::{self, Hand, Room, Rung};
use super::section::{break_line, definitions, parts};
use super::view::{View, extent};
use super::{CrossSection, Layout, detail};
use crate::number::{mm, short};
use crate::svg::{Anchor, Svg, id_of, text_width, wrap};

const FULL: Hand = Hand { text: 2.5, thick: 0.5, thin: 0.16, row: 3.7 };
const PANEL: Hand = Hand { text: 2.05, thick: 0.4, thin: 0.13, row: 2.95 };

pub(super) fn draw(c: &CrossSection, layout: Layout) -> String {
    let g = Geometry::of(c);
    let id = id_of("section", &format!("{c:?}{layout:?}"));
    // Column of the section, left margin for the names, right margin for the heights.
    let (hand, size, column, names, heights, steel) = match layout {
        Layout::Full => (FULL, (190.0, 154.0), [6.0, 6.0, 116.0, 126.0], 19.0, 15.0, 9.0),
        Layout::Panel => (PANEL, (88.0, 92.0), [0.5, 0.5, 87.5, 87.8], 15.0, 12.5, 6.5),
    };
    let faces = faces(c, &g);
    let rungs = rungs(c, &g);
    let window = [
        column[0] + names,
        column[1] + ladder::diameters_height(hand, faces.len()),
        column[2] - heights,
        column[3] - ladder::radial_height(hand, rungs.len()),
    ];
    let (r, z) = extent(c, &g);
    let v = View::fit(window, steel, r, z, false);
    let close = (layout == Layout::Full).then(|| detail::view(c, &g, [122.0, 12.0, 176.0, 66.0]));

    let mut svg =
        Svg::sheet(&id, size.0, size.1, &format!("Cross-section: {}", c.title), &description(c, &v.scale_words()));
    let mut windows = vec![("main", v)];
    windows.extend(close.map(|d| ("detail", d)));
    definitions(&mut svg, &id, c, &windows);
    parts(&mut svg, &id, "main", c, &g, &v, (hand.thick, hand.thin));
    breaks(&mut svg, c, &g, &v, hand);
    names_of_parts(&mut svg, c, &g, &v, hand);

    let on_paper: Vec<(f64, f64, String)> = faces.into_iter().map(|(r, z, text)| (v.x(r), v.y(z), text)).collect();
    ladder::diameters(&mut svg, hand, column[0], v.top, &on_paper);
    let at = |(r, z)| v.at(r, z);
    let on_paper: Vec<Rung> = rungs.into_iter().map(|r| Rung { from: at(r.from), to: at(r.to), ..r }).collect();
    ladder::radial(&mut svg, hand, v.bottom, column[2] + if layout == Layout::Full { 3.0 } else { 0.0 }, &on_paper);
    side(&mut svg, c, &g, &v, hand);
    scale_bars(&mut svg, &v, hand, column[0] + 1.0, column[3]);

    match close {
        Some(d) => {
            mark_detail(&mut svg, &g, &v, &d, hand);
            detail::draw(&mut svg, &id, c, &g, &d, hand);
            title_block(&mut svg, c, &v, [120.0, 84.0, 186.0, 126.0], hand);
            verdict(&mut svg, c, [4.0, 129.0, 186.0, 150.0], hand);
            svg.rect((2.0, 2.0), (188.0, 152.0), "none", 0.5);
        }
        None => svg.label((column[0], 91.0), hand.text, Anchor::Start, &format!("Scale {}", v.scale_words())),
    }
    svg.finish()
}

/// Diameters to the faces, as (radius, height where the part begins, text).
fn faces(c: &CrossSection, g: &Geometry) -> Vec<(f64, f64, String)> {
    let gap = c.gap.unwrap_or_default();
    let mut faces = vec![
        (g.inside_r, f64::INFINITY, ladder::diameter(c.former_inside_mm, "former inside")),
        (g.base_r, g.wind_high, ladder::diameter(2.0 * g.base_r, "under the wire")),
        (g.crossover_r, g.wind_high, ladder::diameter(c.outside_crossover_mm, "at the cross-over")),
    ];
    let plate_top = gap.plate_mm.map_or(f64::INFINITY, |p| p / 2.0);
    faces.extend(gap.pole_mm.map(|d| (d / 2.0, f64::INFINITY, ladder::diameter(d, "pole"))));
    faces.extend(gap.bore_mm.map(|d| (d / 2.0, plate_top, ladder::diameter(d, "bore"))));
    faces
}

/// Radial sizes between (radius, height where the part ends).
fn rungs(c: &CrossSection, g: &Geometry) -> Vec<Rung> {
    let gap = c.gap.unwrap_or_default();
    let half = gap.plate_mm.map_or(f64::INFINITY, |p| p / 2.0);
    let inside = (g.inside_r, g.former_low);
    let base = (g.base_r, g.wind_low);
    let nested = (g.nested_r, g.wind_low);
    let mut rungs = Vec::new();
    let mut add = |from, to, text: String, strong: bool| rungs.push(Rung { from, to, text, strong });
    if let Some(pole) = gap.pole_mm.map(|d| d / 2.0) {
        let face = (pole, f64::NEG_INFINITY);
        let v = gap.clearance_inner_mm.unwrap_or(g.inside_r - pole);
        add(face, inside, clearance("inner clearance", v), v < 0.0);
        if let Some(m) = gap.min_inner_mm {
            add(face, (pole + m, -half), format!("inner minimum {}", mm(m)), false);
        }
    }
    add(inside, (g.former_r, g.former_low), format!("wall {}", mm(c.wall_mm)), false);
    if c.glue_mm > 0.0 {
        add((g.former_r, g.former_low), base, format!("glue film {}", mm(c.glue_mm)), false);
    }
    add(base, nested, format!("build {} nested", mm(g.nested_r - g.base_r)), false);
    if c.skin_mm > 0.0 {
        add(nested, (g.nested_r + c.skin_mm, g.wind_low), format!("skin {}", mm(c.skin_mm)), false);
    }
    if let Some(bore) = gap.bore_mm.map(|d| d / 2.0) {
        let face = (bore, -half);
        let v = gap.clearance_outer_mm.unwrap_or(bore - g.crossover_r);
        add((g.crossover_r, g.wind_low), face, clearance("outer clearance", v), v < 0.0);
        if let Some(m) = gap.min_outer_mm {
            add((bore - m, -half), face, format!("outer minimum {}", mm(m)), false);
        }
        if let Some(hot) = gap.clearance_outer_hot_mm {
            add((bore - hot, g.wind_low), face, clearance("outer, hot", hot), hot < 0.0);
        }
    }
    rungs
}

fn clearance(name: &str, v: f64) -> String {
    match name {
        _ if v >= 0.0 => format!("{name} {}", mm(v)),
        "outer, hot" => format!("hot: RUB {}", mm(-v)),
        _ => format!("RUB {}", mm(-v)),
    }
}

/// Break lines where pole, plate and former go on past the window.
fn breaks(svg: &mut Svg, c: &CrossSection, g: &Geometry, v: &View, hand: Hand) {
    let gap = c.gap.unwrap_or_default();
    if let Some(x) = gap.pole_mm.map(|d| v.x(d / 2.0)) {
        break_line(svg, (v.left, v.top), (x, v.top), hand.thin);
        break_line(svg, (v.left, v.bottom), (x, v.bottom), hand.thin);
        break_line(svg, (v.left, v.top), (v.left, v.bottom), hand.thin);
    }
    if let Some(x) = gap.bore_mm.map(|d| v.x(d / 2.0)) {
        let half = gap.plate_mm.map_or(f64::INFINITY, |p| p / 2.0);
        let (high, low) = (v.y(half).max(v.top), v.y(-half).min(v.bottom));
        break_line(svg, (v.right, high), (v.right, low), hand.thin);
        if gap.plate_mm.is_none() {
            break_line(svg, (x, v.top), (v.right, v.top), hand.thin);
            break_line(svg, (x, v.bottom), (v.right, v.bottom), hand.thin);
        }
    }
    if g.former_high.is_none_or(|top| top > v.height_at(v.top)) {
        break_line(svg, (v.x(g.inside_r) - 0.8, v.top), (v.x(g.former_r) + 0.8, v.top), hand.thin);
    }
}

fn names_of_parts(svg: &mut Svg, c: &CrossSection, g: &Geometry, v: &View, hand: Hand) {
    let gap = c.gap.unwrap_or_default();
    let name_x = v.left - 1.5;
    let sink = hand.text * 0.36;
    if let Some(pole) = gap.pole_mm {
        let at = ((v.left + v.x((pole / 2.0).min(g.inside_r))) / 2.0 + sink, v.y(0.0));
        svg.upright(at, hand.text, Anchor::Middle, "pole");
    }
    if let Some(bore) = gap.bore_mm.map(|d| d / 2.0) {
        // Beside whatever reaches into the plate.
        let hot = gap.clearance_outer_hot_mm.map_or(bore, |hot| bore - hot);
        let free = v.x(bore.max(g.outermost_r(c.skin_mm)).max(hot));
        svg.upright(((free + v.right) / 2.0 + sink, v.y(0.0)), hand.text, Anchor::Middle, "top plate");
    }

    let middle_of_former = (g.inside_r + g.former_r) / 2.0;
    let top = v.height_at(v.top).min(g.former_high.unwrap_or(f64::INFINITY));
    let part = v.at(middle_of_former, if top > g.wind_high { (top + g.wind_high) / 2.0 } else { g.wind_high });
    ladder::leader(svg, hand, part, (name_x, part.1), Anchor::End, "former");
    let mut taken = part.1 + sink;
    if let Some(h) = c.former_height_mm {
        taken += hand.text * 1.25;
        svg.label((name_x - 0.6, taken), hand.text, Anchor::End, &format!("{} tall", short(h, 2)));
    }
    let part = v.at((g.base_r + g.nested_r) / 2.0, g.wind_high - 0.12 * c.width_mm);
    let name_y = part.1.max(taken + hand.text * 0.9);
    ladder::leader(svg, hand, part, (name_x, name_y), Anchor::End, "winding");

    let (low, under) = (v.y(g.former_low), v.y(g.wind_low));
    let beyond = g.wind_low - g.former_low;
    if beyond > 0.0 {
        svg.line((name_x, low), (v.x(g.inside_r), low), hand.thin);
        svg.line((name_x, under), (v.x(g.former_r), under), hand.thin);
        let at = (name_x - 0.6, ((under + low) / 2.0 + sink).max(name_y + hand.text * 1.6));
        svg.label(at, hand.text, Anchor::End, &format!("edge {}", short(beyond, 2)));
    }
}

/// Winding width, plate and overhangs at the right: the chain of heights next to the plate, what spans it farther out.
fn side(svg: &mut Svg, c: &CrossSection, g: &Geometry, v: &View, hand: Hand) {
    let gap = c.gap.unwrap_or_default();
    let coil_x = v.x(g.outermost_r(c.skin_mm)) + 0.6;
    let wound = (v.y(g.wind_high), v.y(g.wind_low));
    let width = format!("width {}", mm(c.width_mm));
    let near = v.right + hand.text + 1.6;
    let Some(plate) = gap.bore_mm.and(gap.plate_mm) else {
        ladder::height(svg, hand, near, (coil_x, coil_x), wound, Room::Above, &width);
        return;
    };
    let edge = v.right + 0.6;
    let steel = (v.y(plate / 2.0), v.y(-plate / 2.0));
    let plate_text = format!("plate {}", mm(plate));
    let (above, below) = (g.wind_high - plate / 2.0, -plate / 2.0 - g.wind_low);
    if above.abs() > 1e-9 {
        ladder::height(svg, hand, near, (coil_x, edge), (wound.0, steel.0), Room::Above, &signed(above));
    }
    if below.abs() > 1e-9 {
        ladder::height(svg, hand, near, (edge, coil_x), (steel.1, wound.1), Room::Below, &signed(below));
    }
    let column = hand.text + 1.8;
    let chain = near + 0.8;
    ladder::height(svg, hand, near + column, (chain, chain), wound, Room::Above, &width);
    let lettering = text_width(&plate_text, hand.text) + 1.0;
    if above >= 0.0 && below >= 0.0 && lettering < steel.1 - steel.0 {
        ladder::height(svg, hand, near, (edge, edge), steel, Room::Above, &plate_text);
    } else {
        ladder::height(svg, hand, near + 2.0 * column, (chain, chain), steel, Room::Above, &plate_text);
    }
}

/// Overhang with its sign: `+3.5` stands out of the plate, `−1` is inside it.
fn signed(v: f64) -> String {
    if v > 0.0 { format!("+{}", short(v, 3)) } else { short(v, 3) }
}

/// Two bars that stay true when the sheet is printed at another size.
fn scale_bars(svg: &mut Svg, v: &View, hand: Hand, left: f64, bottom: f64) {
    let bar = |scale: f64| {
        let lengths = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
        lengths.into_iter().rev().find(|l| l * scale <= 12.5).unwrap_or(0.01)
    };
    let (radial, axial) = (bar(v.radial()), bar(v.axial));
    let foot = bottom - 2.0;
    svg.rect((left, foot - axial * v.axial), (left + 0.9, foot), "#000", 0.0);
    svg.rect((left, foot - 0.9), (left + radial * v.radial(), foot), "#000", 0.0);
    let above = foot - axial * v.axial - 0.8;
    svg.label((left, above), hand.text, Anchor::Start, &format!("{} mm axial", short(axial, 2)));
    svg.label((left + 1.8, foot - 1.8), hand.text, Anchor::Start, &format!("{} mm radial", short(radial, 2)));
}

/// The frame of the detail in the main view.
fn mark_detail(svg: &mut Svg, g: &Geometry, v: &View, d: &View, hand: Hand) {
    let (low, high) = detail::heights(d);
    let (left, right) = (v.x(g.inside_r) - 1.2, v.x(g.crossover_r) + 1.2);
    let (top, bottom) = (v.y(high).max(v.top), v.y(low).min(v.bottom));
    svg.line((left, top), (right, top), hand.thin);
    svg.line((left, bottom), (right, bottom), hand.thin);
    svg.line((left, top), (left, bottom), hand.thin);
    svg.line((right, top), (right, bottom), hand.thin);
    svg.bold((right + 0.8, top - 0.5), hand.text, Anchor::Start, "A");
}

fn title_block(svg: &mut Svg, c: &CrossSection, v: &View, [left, top, right, bottom]: [f64; 4], hand: Hand) {
    svg.rect((left, top), (right, bottom), "none", 0.35);
    let columns = ((right - left - 3.0) / (hand.text * 1.2 * 0.62)) as usize;
    let mut y = top + 4.2;
    for line in wrap(&c.title, columns, 2) {
        svg.bold((left + 1.5, y), hand.text * 1.2, Anchor::Start, &line);
        y += 3.7;
    }
    for line in wrap(&c.subtitle, columns * 6 / 5, 1) {
        svg.label((left + 1.5, y), hand.text, Anchor::Start, &line);
        y += 3.4;
    }
    y -= 2.0;
    let value_columns = ((right - left - 18.0) / (hand.text * 0.56)) as usize;
    let mut rows = vec![("wire", c.wire.clone()), ("turns", turns(c, value_columns))];
    if let Some(r) = c.dcr_ohm {
        rows.push(("DCR 20 °C", format!("{} (u, k = 1)", r.with_unit("Ω", 3))));
    }
    rows.push(("former", c.former.clone()));
    let scales = v.scale_words();
    match scales.split_once(" (") {
        Some((each, factor)) => {
            rows.push(("scale", each.to_string()));
            rows.push(("", factor.trim_end_matches(')').to_string()));
        }
        None => rows.push(("scale", scales)),
    }
    rows.push(("section", "half a turn from the start lead".into()));
    rows.push(("sheet", "mm; full size 190 × 154 mm".into()));
    let step = ((bottom - 1.2 - y) / rows.len() as f64).min(4.4);
    for (name, value) in rows {
        if !name.is_empty() {
            svg.line((left, y), (right, y), 0.16);
            svg.label((left + 1.5, y + step * 0.74), hand.text * 0.9, Anchor::Start, name);
        }
        for line in wrap(&value, value_columns, 1) {
            svg.label((left + 16.5, y + step * 0.74), hand.text, Anchor::Start, &line);
        }
        y += step;
    }
}

/// What it comes to, in words with figures.
fn verdict(svg: &mut Svg, c: &CrossSection, [left, top, right, bottom]: [f64; 4], hand: Hand) {
    svg.rect((left, top), (right, bottom), "none", 0.35);
    let columns = ((right - left - 3.0) / (hand.text * 0.6)) as usize;
    let mut said = sentences(c);
    if said.is_empty() {
        said.push("No gap given: coil and former only, nothing can be said about clearances.".into());
    }
    let own = said.len();
    let mut y = top + 3.6;
    let mut lines: Vec<(bool, String)> = Vec::new();
    for (i, text) in said.iter().chain(&c.verdict).enumerate() {
        lines.extend(wrap(text, columns, 2).into_iter().map(|l| (i < own, l)));
    }
    let room = ((bottom - top) / 3.4) as usize;
    let cut = lines.len() > room;
    lines.truncate(room);
    if let (true, Some(last)) = (cut, lines.last_mut()) {
        last.1.push_str(" …");
    }
    for (strong, line) in lines {
        if strong {
            svg.bold((left + 1.5, y), hand.text, Anchor::Start, &line);
        } else {
            svg.label((left + 1.5, y), hand.text, Anchor::Start, &line);
        }
        y += 3.4;
    }
}
