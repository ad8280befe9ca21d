//! The drawing's own words: what the figures given say about the gap, without any other knowledge.

use super::CrossSection;
use crate::number::{mm, short, wire_mm};

/// One sentence for each clearance that is known, the worst news first.
pub(super) fn sentences(c: &CrossSection) -> Vec<String> {
    let Some(gap) = &c.gap else { return Vec::new() };
    let mut said: Vec<(bool, String)> = Vec::new();
    let inner = gap.clearance_inner_mm.or(gap.pole_mm.map(|p| (c.former_inside_mm - p) / 2.0));
    let outer = gap.clearance_outer_mm.or(gap.bore_mm.map(|b| (b - c.outside_crossover_mm) / 2.0));
    said.extend(inner.map(|v| one("Inner clearance", "former on the pole", v, gap.min_inner_mm)));
    said.extend(outer.map(|v| one("Outer clearance", "winding in the bore", v, gap.min_outer_mm)));
    if let Some(hot) = gap.clearance_outer_hot_mm {
        let name = match gap.hot_c {
            Some(t) => format!("Outer clearance hot ({} °C)", short(t, 0)),
            None => "Outer clearance hot".into(),
        };
        said.push(one(&name, "winding in the bore", hot, None));
    }
    said.sort_by_key(|(fine, _)| *fine);
    said.into_iter().map(|(_, text)| text).collect()
}

/// Whether it is well, and the sentence.
fn one(name: &str, what: &str, v: f64, least: Option<f64>) -> (bool, String) {
    match least {
        _ if v < 0.0 => (false, format!("{name}: RUBS, {what}: {} mm of overlap on each side.", mm(-v))),
        Some(m) if v < m => {
            (false, format!("{name} {} mm: below the minimum of {} mm, {} mm missing.", mm(v), mm(m), mm(m - v)))
        }
        Some(m) => (true, format!("{name} {} mm: above the minimum of {} mm by {} mm.", mm(v), mm(m), mm(v - m))),
        None => (true, format!("{name} {} mm.", mm(v))),
    }
}

/// `52 + 51 = 103`, or `6 × 295 = 1770` for a flat stack, or the total and the count of layers if that grows too long.
pub(super) fn turns(c: &CrossSection, columns: usize) -> String {
    let each: Vec<String> = c.turns_per_layer.iter().map(u32::to_string).collect();
    let total: u64 = c.turns_per_layer.iter().map(|&n| u64::from(n)).sum();
    let flat = c.turns_per_layer.windows(2).all(|pair| pair.first() == pair.last());
    let said = match each.as_slice() {
        [_] => total.to_string(),
        [first, _, _, ..] if flat => format!("{} × {first} = {total}", each.len()),
        _ => format!("{} = {total}", each.join(" + ")),
    };
    if said.chars().count() > columns { format!("{total} in {} layers", each.len()) } else { said }
}

/// The whole drawing in words, for those who cannot see it.
pub(super) fn description(c: &CrossSection, scales: &str) -> String {
    let mut d = format!(
        "Half section of a voice coil, axis to the left. {} turns of {} ({} mm bare, {} mm overall) in {} on a former of {} \
         of {} mm inside diameter and {} mm wall, winding width {} mm, outside diameter at the cross-over {} mm.",
        turns(c, usize::MAX),
        c.wire,
        wire_mm(c.bare_mm),
        wire_mm(c.overall_mm),
        if c.turns_per_layer.len() == 1 { "1 layer".into() } else { format!("{} layers", c.turns_per_layer.len()) },
        c.former,
        mm(c.former_inside_mm),
        mm(c.wall_mm),
        mm(c.width_mm),
        mm(c.outside_crossover_mm),
    );
    if let Some(gap) = &c.gap {
        let parts = [("Pole", gap.pole_mm), ("Bore", gap.bore_mm), ("Top plate", gap.plate_mm)];
        for (name, v) in parts.into_iter().filter_map(|(name, v)| v.map(|v| (name, v))) {
            d.push_str(&format!(" {name} {} mm.", mm(v)));
        }
    }
    for s in sentences(c).iter().chain(&c.verdict) {
        d.push(' ');
        d.push_str(s);
    }
    d.push_str(&format!(" Scale {scales}."));
    d
}
