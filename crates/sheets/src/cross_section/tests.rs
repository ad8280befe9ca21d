use super::geometry::{Geometry, wires};
use super::*;
use roxmltree::{Document, Node};

/// Case: 51 mm coil, 2 × AWG 30. The figures were worked by hand with the conventions of this project, not published.
fn baseline() -> CrossSection {
    CrossSection {
        title: "Ossipan B12".into(),
        subtitle: "coil 1".into(),
        wire: "cu-awg30-single".into(),
        former: "aluminium foil".into(),
        dcr_ohm: Some(Figure { value: 5.799, u: 0.071 }),
        turns_per_layer: vec![52, 51],
        width_mm: 15.0,
        bare_mm: 0.2540,
        overall_mm: 0.27686,
        pitch_mm: 1.02 * 0.27686,
        nesting: 0.90,
        former_inside_mm: 51.0,
        wall_mm: 0.12,
        glue_mm: 0.01,
        skin_mm: 0.02,
        former_height_mm: Some(38.0),
        former_beyond_mm: 2.0,
        outside_crossover_mm: 52.40744,
        offset_mm: 0.0,
        gap: Some(Gap {
            pole_mm: Some(50.5),
            bore_mm: Some(53.0),
            plate_mm: Some(8.0),
            min_inner_mm: Some(0.2),
            min_outer_mm: Some(0.25),
            clearance_inner_mm: Some(0.25),
            clearance_outer_mm: Some(0.296),
            clearance_outer_hot_mm: Some(0.225),
            hot_c: Some(180.0),
        }),
        verdict: vec!["The largest wire leaves 0.281 mm.".into()],
    }
}

fn with(change: impl FnOnce(&mut CrossSection)) -> CrossSection {
    let mut c = baseline();
    change(&mut c);
    c
}

fn gap(change: impl FnOnce(&mut Gap)) -> CrossSection {
    with(|c| change(c.gap.as_mut().unwrap()))
}

fn texts(svg: &str) -> Vec<String> {
    let doc = Document::parse(svg).unwrap();
    doc.descendants().filter(|n| n.has_tag_name(name("text"))).filter_map(|n| n.text().map(String::from)).collect()
}

fn name(tag: &str) -> (&str, &str) {
    ("http://www.w3.org/2000/svg", tag)
}

fn main_view<'a>(doc: &'a Document<'a>) -> Node<'a, 'a> {
    doc.descendants().find(|n| n.attribute("data-view") == Some("main")).unwrap()
}

#[track_caller]
fn says(coil: &CrossSection, expected: &str) {
    let svg = cross_section(coil, Layout::Full).unwrap();
    let all = texts(&svg);
    assert!(all.iter().any(|t| t == expected), "{expected:?} is not among {all:#?}");
}

#[track_caller]
fn close(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not {b} within {within}");
}

#[test]
fn every_turn_of_every_layer_is_drawn_where_the_formulae_put_it() {
    for counts in [vec![52, 51], vec![5], vec![52, 51, 52, 51], vec![40, 40], vec![400, 399, 400, 399, 400, 399]] {
        let c = with(|c| {
            c.width_mm = f64::from(counts[0]) * c.pitch_mm + c.overall_mm;
            c.turns_per_layer = counts.clone();
            c.gap = None;
        });
        let svg = cross_section(&c, Layout::Full).unwrap();
        let doc = Document::parse(&svg).unwrap();
        let layers: Vec<Node> = main_view(&doc).descendants().filter(|n| n.has_attribute("data-layer")).collect();
        assert_eq!(layers.len(), counts.len());
        for (i, layer) in layers.iter().enumerate() {
            let at: Vec<(f64, f64)> = layer
                .children()
                .filter(|n| n.has_tag_name(name("use")))
                .map(|n| (number(n, "x"), number(n, "y")))
                .collect();
            assert_eq!(at.len(), counts[i] as usize, "layer {}", i + 1);
            // D_i = D0 + o + 2(i − 1)·b·o with D0 = ID + 2t + 2g, as a radius.
            let d0 = 51.0 + 2.0 * 0.12 + 2.0 * 0.01;
            let radius = (d0 + 0.27686 + 2.0 * i as f64 * 0.90 * 0.27686) / 2.0;
            for pair in at.windows(2) {
                close(pair[1].1 - pair[0].1, c.pitch_mm, 1.01e-4);
            }
            for (r, z) in at {
                close(r, radius, 0.51e-4);
                assert!(z.abs() + c.overall_mm / 2.0 <= c.width_mm / 2.0 + 1e-4, "a wire stands out of the winding");
            }
        }
    }
}

#[test]
fn the_map_of_the_main_view_has_the_scales_that_are_printed() {
    let svg = cross_section(&baseline(), Layout::Full).unwrap();
    let doc = Document::parse(&svg).unwrap();
    let matrix = main_view(&doc).descendants().find_map(|n| n.attribute("transform")).unwrap();
    let m: Vec<f64> =
        matrix.trim_start_matches("matrix(").trim_end_matches(')').split(' ').map(|v| v.parse().unwrap()).collect();
    let (radial, axial) = (m[0], -m[3]);
    close((radial / axial).fract(), 0.0, 1e-12);
    assert!(texts(&svg).contains(&format!("axial {axial}:1, radial {radial}:1")));
    assert!(texts(&svg).contains(&format!("radial scale {}× the axial", radial / axial)));
}

#[test]
fn wires_of_neighbouring_layers_lie_in_the_grooves_and_do_not_overlap() {
    for counts in [vec![52, 51], vec![52, 52], vec![52, 50, 52], vec![51, 52, 52, 52]] {
        let c = with(|c| c.turns_per_layer = counts.clone());
        let all = wires(&c);
        for pair in all.windows(2) {
            let phase = ((pair[1][0].1 - pair[0][0].1) / c.pitch_mm).rem_euclid(1.0);
            close(phase, 0.5, 1e-9);
        }
        let flat: Vec<(f64, f64)> = all.concat();
        for (i, a) in flat.iter().enumerate() {
            for b in &flat[i + 1..] {
                let apart = ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt();
                assert!(apart >= c.overall_mm - 1e-9, "{a:?} and {b:?} are {apart} apart");
            }
        }
    }
}

#[test]
fn faces_follow_the_conventions() {
    let g = Geometry::of(&baseline());
    close(2.0 * g.base_r, 51.26, 1e-12);
    close(2.0 * g.nested_r, 51.26 + 2.0 * 0.27686 * 1.90, 1e-12);
    close(g.wind_high, 7.5, 1e-12);
    close(g.former_low, -9.5, 1e-12);
    close(g.former_high.unwrap(), 28.5, 1e-12);
}

#[test]
fn dimensions_are_the_values_given() {
    let c = baseline();
    for text in [
        "Ø 50.50 pole",
        "Ø 51.00 former inside",
        "Ø 51.26 under the wire",
        "Ø 52.407 at the cross-over",
        "Ø 53.00 bore",
        "inner clearance 0.25",
        "inner minimum 0.20",
        "wall 0.12",
        "glue film 0.01",
        "build 0.526 nested",
        "skin 0.02",
        "outer clearance 0.296",
        "outer minimum 0.25",
        "outer, hot 0.225",
        "plate 8.00",
        "width 15.00",
        "+3.5",
        "38 tall",
        "edge 2",
        "pitch 0.2824",
        "52 + 51 = 103",
        "5.799 ± 0.071 Ω (u, k = 1)",
        "Inner clearance 0.25 mm: above the minimum of 0.20 mm by 0.05 mm.",
        "Outer clearance 0.296 mm: above the minimum of 0.25 mm by 0.046 mm.",
        "The largest wire leaves 0.281 mm.",
    ] {
        says(&c, text);
    }
}

#[test]
fn a_coil_too_fat_for_the_bore_shows_the_overlap_and_names_it() {
    let c = gap(|g| {
        g.bore_mm = Some(52.2);
        g.clearance_outer_mm = None;
        g.clearance_outer_hot_mm = None;
    });
    says(&c, "RUB 0.104");
    says(&c, "Outer clearance: RUBS, winding in the bore: 0.104 mm of overlap on each side.");
    let svg = cross_section(&c, Layout::Panel).unwrap();
    let doc = Document::parse(&svg).unwrap();
    let rub = doc.descendants().find(|n| n.attribute("data-rub") == Some("outer")).unwrap();
    let rect = rub.children().rfind(|n| n.has_tag_name(name("rect"))).unwrap();
    close(number(rect, "width"), 0.10372 * scale(&svg, "radial"), 1e-3);
    close(number(rect, "height"), 8.0 * scale(&svg, "axial"), 1e-3);
    assert_eq!(rub.children().filter(|n| n.has_tag_name(name("path"))).count(), 2, "hatched both ways");
    assert!(!svg.contains("data-rub=\"inner\""));
    assert!(!cross_section(&baseline(), Layout::Full).unwrap().contains("data-rub"));
}

#[test]
fn a_former_on_the_pole_rubs_and_a_thin_clearance_falls_short() {
    let rub = gap(|g| {
        g.pole_mm = Some(51.1);
        g.clearance_inner_mm = Some(-0.05);
    });
    says(&rub, "Inner clearance: RUBS, former on the pole: 0.05 mm of overlap on each side.");
    assert!(cross_section(&rub, Layout::Full).unwrap().contains("data-rub=\"inner\""));
    let thin = gap(|g| g.min_outer_mm = Some(0.3));
    says(&thin, "Outer clearance 0.296 mm: below the minimum of 0.30 mm, 0.004 mm missing.");
}

#[test]
fn what_is_not_given_is_neither_drawn_nor_named() {
    let svg = cross_section(&with(|c| c.gap = None), Layout::Full).unwrap();
    let all = texts(&svg).join("\n");
    for word in ["pole", "bore", "plate", "inner clearance", "outer clearance"] {
        assert!(!all.contains(word), "{word}");
    }
    let only_bore = with(|c| c.gap = Some(Gap { bore_mm: Some(53.0), ..Gap::default() }));
    let all = texts(&cross_section(&only_bore, Layout::Full).unwrap()).join("\n");
    assert!(all.contains("outer clearance 0.296") && !all.contains("inner clearance") && !all.contains("NaN"));
}

#[test]
fn every_size_of_coil_gives_finite_numbers_within_a_well_formed_drawing() {
    let wide = with(|c| {
        c.width_mm = 120.0;
        c.offset_mm = -3.0;
    });
    let short = with(|c| c.former_height_mm = Some(6.0));
    let fine = with(|c| {
        c.turns_per_layer = vec![400; 6];
        (c.bare_mm, c.overall_mm, c.pitch_mm) = (0.02, 0.025, 0.0255);
        (c.width_mm, c.outside_crossover_mm) = (10.3, 51.6);
        c.gap.as_mut().unwrap().clearance_outer_mm = None;
    });
    let bare = with(|c| {
        (c.wall_mm, c.glue_mm, c.skin_mm) = (0.0, 0.0, 0.0);
        c.bare_mm = c.overall_mm;
        c.dcr_ohm = None;
    });
    for c in [baseline(), wide, short, fine, bare] {
        for layout in [Layout::Full, Layout::Panel] {
            let svg = cross_section(&c, layout).unwrap();
            let doc = Document::parse(&svg).unwrap();
            for node in doc.descendants() {
                for a in node.attributes() {
                    assert!(!a.value().contains("NaN") && !a.value().contains("inf"), "{a:?}");
                }
            }
        }
    }
}

#[test]
fn the_drawing_has_a_name_a_description_and_no_colour() {
    let svg = cross_section(&baseline(), Layout::Full).unwrap();
    let doc = Document::parse(&svg).unwrap();
    let root = doc.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let first: Vec<&str> = root.children().filter(Node::is_element).take(2).map(|n| n.tag_name().name()).collect();
    assert_eq!(first, ["title", "desc"]);
    let desc = root.children().find(|n| n.has_tag_name(name("desc"))).unwrap().text().unwrap();
    for part in [
        "52 + 51 = 103 turns",
        "0.254 mm bare",
        "Bore 53.00 mm",
        "Outer clearance 0.296 mm",
        "radial scale 15× the axial",
    ] {
        assert!(desc.contains(part), "{part:?} is not in {desc:?}");
    }
    for node in doc.descendants() {
        for a in node.attributes().filter(|a| a.value().starts_with('#') && a.name() != "href") {
            let hex = a.value().trim_start_matches('#');
            let pairs: Vec<&str> = if hex.len() == 3 {
                hex.split("").filter(|s| !s.is_empty()).collect()
            } else {
                vec![&hex[0..2], &hex[2..4], &hex[4..6]]
            };
            assert!(pairs.windows(2).all(|p| p[0] == p[1]), "{} is not a grey", a.value());
        }
    }
}

#[test]
fn markup_in_any_text_is_inert() {
    let evil = "</text></svg><script>alert(1)</script><svg onload=\"alert(2)\">";
    let c = with(|c| {
        for s in [&mut c.title, &mut c.subtitle, &mut c.wire, &mut c.former] {
            *s = evil.into();
        }
        c.verdict = vec![evil.into()];
    });
    let svg = cross_section(&c, Layout::Full).unwrap();
    let doc = Document::parse(&svg).unwrap();
    assert_eq!(doc.descendants().filter(|n| n.has_tag_name(name("svg"))).count(), 1);
    for node in doc.descendants().filter(Node::is_element) {
        assert_ne!(node.tag_name().name(), "script");
        assert!(node.attributes().all(|a| !a.name().starts_with("on")));
    }
}

#[test]
fn ids_are_unique_and_every_reference_is_met() {
    let svg = cross_section(&baseline(), Layout::Full).unwrap();
    let doc = Document::parse(&svg).unwrap();
    let ids: Vec<&str> = doc.descendants().filter_map(|n| n.attribute("id")).collect();
    let unique: std::collections::BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len());
    for node in doc.descendants() {
        for a in node.attributes() {
            let at = a.value().strip_prefix("url(#").and_then(|v| v.strip_suffix(')'));
            if let Some(id) = at.or(a.value().strip_prefix('#').filter(|_| a.name() == "href")) {
                assert!(unique.contains(id), "{id}");
            }
        }
    }
}

#[test]
fn nonsense_is_refused_with_the_field_and_the_figure() {
    for (c, field) in [
        (with(|c| c.overall_mm = f64::NAN), "overall_mm"),
        (with(|c| c.width_mm = f64::INFINITY), "width_mm"),
        (with(|c| c.bare_mm = 0.3), "bare_mm"),
        (with(|c| c.wall_mm = -0.1), "wall_mm"),
        (with(|c| c.former_height_mm = Some(40_000.0)), "former_height_mm"),
        (with(|c| c.dcr_ohm = Some(Figure { value: 5.0, u: -1.0 })), "dcr_ohm"),
        (gap(|g| g.bore_mm = Some(5300.0)), "gap.bore_mm"),
        (gap(|g| g.clearance_inner_mm = Some(f64::NAN)), "gap.clearance_inner_mm"),
    ] {
        match cross_section(&c, Layout::Full) {
            Err(CannotDraw::OutOfRange { name, .. }) => assert_eq!(name, field),
            other => panic!("{field}: {other:?}"),
        }
    }
    let empty = with(|c| c.turns_per_layer = vec![52, 0]);
    assert_eq!(cross_section(&empty, Layout::Full), Err(CannotDraw::EmptyLayer { layer: 2 }));
    let none = with(|c| c.turns_per_layer.clear());
    assert_eq!(cross_section(&none, Layout::Full), Err(CannotDraw::EmptyLayer { layer: 1 }));
    let many = with(|c| c.turns_per_layer = vec![u32::MAX; 3]);
    assert!(matches!(cross_section(&many, Layout::Full), Err(CannotDraw::TooMany { layers: 3, .. })));
    let lies = gap(|g| g.clearance_outer_mm = Some(0.35));
    let refusal = cross_section(&lies, Layout::Full).unwrap_err().to_string();
    assert_eq!(refusal, "gap.clearance_outer_mm is given as 0.35 mm, but the diameters leave 0.2963 mm");
}

#[test]
fn the_same_coil_gives_the_same_bytes() {
    assert_eq!(cross_section(&baseline(), Layout::Full), cross_section(&baseline(), Layout::Full));
}

/// The scale that the sheet prints: `Scale axial 2:1, radial 30:1 (…)`.
fn scale(svg: &str, which: &str) -> f64 {
    let line = texts(svg).into_iter().find(|t| t.starts_with("Scale")).unwrap();
    let after = line.split(&format!("{which} ")).nth(1).unwrap();
    after.split(':').next().unwrap().parse().unwrap()
}

fn number(node: Node, attribute: &str) -> f64 {
    node.attribute(attribute).unwrap().parse().unwrap()
}

/// Any coil within the limits: whatever the sizes, lettering stays on the sheet and numbers stay finite.
#[test]
fn random_coils_stay_on_the_sheet() {
    let seed = 0x5eed_u64;
    println!("seed {seed:#x}");
    let mut state = seed;
    let mut pick = |least: f64, most: f64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        least + (most - least) * ((state >> 11) as f64 / (1_u64 << 53) as f64)
    };
    for round in 0..200 {
        let o = pick(0.05, 0.9);
        let k = pick(1.0, 1.1);
        let first = pick(5.0, 150.0) as u32;
        let layers = pick(1.0, 6.99) as usize;
        let inside = pick(13.0, 160.0);
        let wall = pick(0.03, 0.5);
        let base = inside + 2.0 * wall + 0.02;
        let width = f64::from(first) * k * o + o;
        let play = pick(-1.0, 2.0);
        let c = CrossSection {
            bare_mm: o * pick(0.8, 0.97),
            overall_mm: o,
            pitch_mm: k * o,
            nesting: pick(0.87, 1.0),
            turns_per_layer: (0..layers).map(|i| first - (i % 2) as u32).collect(),
            width_mm: width,
            former_inside_mm: inside,
            wall_mm: wall,
            former_height_mm: (pick(0.0, 1.0) < 0.7).then(|| width * pick(0.9, 4.0)),
            former_beyond_mm: pick(0.0, 3.0),
            outside_crossover_mm: base + 2.0 * layers as f64 * o + 0.04,
            offset_mm: pick(-2.0, 2.0),
            gap: (pick(0.0, 1.0) < 0.9).then(|| Gap {
                pole_mm: Some(inside - pick(-0.3, 1.0)),
                bore_mm: Some(base + 2.0 * layers as f64 * o + 0.04 + play),
                plate_mm: (pick(0.0, 1.0) < 0.9).then(|| pick(3.0, 20.0)),
                min_inner_mm: Some(0.2),
                min_outer_mm: Some(0.25),
                clearance_outer_hot_mm: Some(play / 2.0 - pick(0.0, 0.2)),
                hot_c: Some(180.0),
                ..Gap::default()
            }),
            ..baseline()
        };
        for (layout, sheet) in [(Layout::Full, (190.0, 154.0)), (Layout::Panel, (88.0, 92.0))] {
            let svg = cross_section(&c, layout).unwrap();
            assert!(!svg.contains("NaN") && !svg.contains("inf\""), "round {round}: {c:?}");
            let doc = Document::parse(&svg).unwrap();
            for n in doc.descendants().filter(|n| n.has_tag_name(name("text"))) {
                let (x, y, size) = (number(n, "x"), number(n, "y"), number(n, "font-size"));
                let long = crate::svg::text_width(n.text().unwrap(), size);
                let anchor = n.attribute("text-anchor").unwrap_or("start");
                let (from, to) = match anchor {
                    "middle" => (-long / 2.0, long / 2.0),
                    "end" => (-long, 0.0),
                    _ => (0.0, long),
                };
                let upright = n.has_attribute("transform");
                let (left, right, top, foot) =
                    if upright { (x - size, x, y - to, y - from) } else { (x + from, x + to, y - size, y) };
                let inside = left > -0.5 && right < sheet.0 + 0.5 && top > -0.5 && foot < sheet.1 + 0.5;
                assert!(inside, "round {round}: {:?} at {left} {top} {right} {foot} in {layout:?}: {c:?}", n.text());
            }
        }
    }
}
