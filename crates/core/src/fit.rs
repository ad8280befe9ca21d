//! The reverse of a match: the thickest wire for a gap, and the width that gives this wire a resistance.

use crate::matching::{FormerFrame, Row, WireFrame};

/// Greatest overall diameter that leaves the least clearance in the gap, m; negative where the former alone leaves no room.
///
/// ```text
/// o ≤ (bore − 2·c_outer − 2·(k_s + wrap) − D₀) / (2n)
/// ```
///
/// `base` is D₀, `over` the skin and wrap on one side, `layers` n; all in metres. Worked: bore 39.95, least 0.20, skin 0.02,
/// D₀ 38.52 mm, 2 layers: 0.2475 mm.
pub fn largest_overall(bore: f64, min_outer: f64, over: f64, base: f64, layers: u32) -> f64 {
    (bore - 2.0 * min_outer - 2.0 * over - base) / (2.0 * f64::from(layers))
}

/// A count of turns near the one that gives a resistance. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// Turns of the first layer.
    pub first: u32,
    /// Turns of each layer above it.
    pub upper: u32,
    /// Width that they take.
    pub width: f64,
    /// Widths below this hold no turn more.
    pub width_most: f64,
    /// Resistance at 20 °C with leads.
    pub dcr: f64,
}

/// The counts of turns next to a resistance, fewest first: the nearest and one on either side of it. Empty where even the
/// fewest turns have more than twice the resistance.
pub fn counts_for(wire: &WireFrame, former: &FormerFrame, layers: u32, dcr: f64) -> Vec<Count> {
    let row = Row::bare(wire, former).with_layers(layers);
    if row.dcr(row.fewest()) > 2.0 * dcr {
        return Vec::new();
    }
    let nearest = libm::round(row.turns_for(dcr)).max(row.fewest());
    [nearest - 1.0, nearest, nearest + 1.0]
        .into_iter()
        .filter(|n| *n >= row.fewest())
        .map(|n| Count {
            first: n as u32,
            upper: row.upper(n) as u32,
            width: row.width(n),
            width_most: row.width(n + 1.0),
            dcr: row.dcr(n),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const AWG31: WireFrame = WireFrame {
        overall: 0.24638e-3,
        pitch: 1.02 * 0.24638e-3,
        step: 0.9 * 0.24638e-3,
        ohm_per_m: 0.42957,
        excess: 1.01,
        kg_per_m: 0.36698e-3,
        shrink: 1.0 / 1.002,
        leads: 0.12,
        less: 1.0,
        glue: 0.01e-3,
        skin: 0.02e-3,
        over: 0.02e-3,
        adhesive: 1150.0,
    };
    const FORMER: FormerFrame = FormerFrame { outside: 38.5e-3, mass: 0.0, damping: None };

    /// Regression values (worked case of a 38 mm coil, arithmetic by hand): 56 + 55 turns, 5.950 Ω.
    #[test]
    fn the_worked_coil_comes_back_from_its_resistance() {
        let counts = counts_for(&AWG31, &FORMER, 2, 5.95);
        let middle = counts[1];
        assert_eq!((counts.len(), middle.first, middle.upper), (3, 56, 55));
        assert!((middle.dcr - 5.950).abs() < 0.0005 && middle.width < 14.5e-3 && middle.width_most > 14.5e-3);
        assert!((largest_overall(39.95e-3, 0.20e-3, 0.02e-3, 38.52e-3, 2) - 0.2475e-3).abs() < 1e-9);
    }

    #[test]
    fn the_thickest_wire_leaves_just_the_clearance() {
        for layers in 1..=6 {
            let o = largest_overall(53e-3, 0.25e-3, 0.02e-3, 51.26e-3, layers);
            let wire = WireFrame { overall: o, glue: 0.0, ..AWG31 };
            let row = Row::bare(&wire, &FormerFrame { outside: 51.26e-3, ..FORMER }).with_layers(layers);
            assert!(((53e-3 - row.crossover()) / 2.0 - 0.25e-3).abs() < 1e-12);
        }
    }

    #[test]
    fn a_resistance_below_one_turn_has_no_count() {
        assert!(counts_for(&AWG31, &FORMER, 4, 0.05).is_empty());
    }
}
