//! Tension of the wire on the winder, as a weight that hangs from it.

use crate::conductor::Conductor;
use crate::origin::{Mark, Origin};
use crate::quantity::{Length, Mass, Quantity, Stress};
use core::f64::consts::FRAC_PI_4;

/// Later layers are wound softer, so that the second does not sink between the turns below: 60 to 80 % of the first,
/// common practice, no source.
const LATER_LAYERS: f64 = 0.70;

/// Standard gravity, m/s² (defined value, 3rd CGPM 1901).
const GRAVITY: f64 = 9.806_65;

/// Hanging masses for one wire.
#[derive(Debug, Clone, PartialEq)]
pub struct Tension {
    /// For each layer, first layer first.
    pub layers: Vec<Mass>,
    /// Between which the first layer's may lie.
    pub advised: (Mass, Mass),
    /// Never beyond this, where known: the wire would stretch for good.
    pub cap: Option<Mass>,
}

/// Hanging mass for each of `layers` layers of a wire of bare diameter `d`.
///
/// ```text
/// m = σ·(π/4)·d²/g
/// ```
///
/// Worked: 45 N/mm² on 0.2540 mm copper hang 233 g; 34 to 55 N/mm² are 176 to 284 g, the cap of 68.9 N/mm² is 356 g.
pub fn tension(conductor: Conductor, d: Length, layers: usize) -> Tension {
    let hang = |stress: Stress| Mass::from_si(stress.pa() * FRAC_PI_4 * d.m() * d.m() / GRAVITY);
    let first = hang(conductor.winding_stress());
    let (least, most) = conductor.winding_stress_advised();
    Tension {
        layers: (0..layers).map(|i| if i == 0 { first } else { first * LATER_LAYERS }).collect(),
        advised: (hang(least), hang(most)),
        cap: conductor.winding_stress_cap().map(hang),
    }
}

/// Where the tension comes from.
pub fn origins(conductor: Conductor, layers: usize) -> Vec<Origin> {
    let (least, most) = conductor.winding_stress_advised();
    let (mark, source) = match conductor.winding_stress_cap() {
        Some(cap) => (Mark::Published, format!("a winding-tension chart; cap {} N/mm²", cap.n_per_mm2())),
        None => (Mark::CommonPractice, "aluminium, and what has a core of it; no source".to_owned()),
    };
    let mut all = vec![Origin {
        param: "tension_g, first layer".to_owned(),
        value: conductor.winding_stress().n_per_mm2(),
        u: 0.0,
        unit: "N/mm²",
        mark,
        source: format!("middle of {} to {} N/mm²: {source}", least.n_per_mm2(), most.n_per_mm2()),
    }];
    if layers > 1 {
        all.push(Origin {
            param: "tension_g, later layers".to_owned(),
            value: 100.0 * LATER_LAYERS,
            u: 0.0,
            unit: "%",
            mark: Mark::CommonPractice,
            source:
                "60 to 80 % of the first layer's, so that the second does not sink between the turns below; no source"
                    .to_owned(),
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn hangs(met: Mass, grams: f64) {
        assert!((met.g() - grams).abs() < 0.5, "{} against {grams}", met.g());
    }

    /// A published winding-tension chart: 45 N/mm² is a 233 g hanging weight on AWG 30 (0.2540 mm), to the gram of the print;
    /// it advises 34 to 55 and caps at 68.9 N/mm². The other masses: π/4·d² = 0.050671 mm², over 9.80665 m/s².
    #[test]
    fn copper_hangs_as_the_chart_says() {
        let t = tension(Conductor::Copper, Length::from_mm(0.254), 3);
        hangs(t.layers[0], 233.0);
        hangs(t.advised.0, 0.050671 * 34.0 / 9.80665 * 1e3);
        hangs(t.advised.1, 0.050671 * 55.0 / 9.80665 * 1e3);
        hangs(t.cap.unwrap(), 0.050671 * 68.9 / 9.80665 * 1e3);
        for later in &t.layers[1..] {
            let share = later.g() / t.layers[0].g();
            assert!((0.60..=0.80).contains(&share), "common practice, no source: {share}");
        }
    }

    /// Common practice, no source: aluminium 15 to 25 N/mm².
    #[test]
    fn aluminium_is_wound_softer_and_no_cap_is_known_of_it() {
        let d = Length::from_mm(0.254);
        for metal in [Conductor::Aluminium, Conductor::Cca10, Conductor::Cca15] {
            let t = tension(metal, d, 2);
            let stress = |m: Mass| m.kg() * 9.80665 / 0.050671;
            assert!((stress(t.advised.0) - 15.0).abs() < 0.01 && (stress(t.advised.1) - 25.0).abs() < 0.01);
            assert!(t.layers[0] > t.advised.0 && t.layers[0] < t.advised.1);
            assert_eq!(t.cap, None);
        }
    }
}
