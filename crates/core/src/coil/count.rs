//! How many turns go on each layer.

use super::laid::Laid;
use super::spec::{UpperLayers, Winding};
use crate::quantity::Length;

/// Whole turns that fit side by side in a width.
///
/// ```text
/// N₁ = ⌊(W − o − (m − 1)·p)/(m·p) + 1e-9⌋
/// ```
///
/// With m wires in hand a turn advances by m pitches. A helix of N whole turns takes N + 1 widths of wire: an axial line crosses N or N + 1 wires. `width` outside to outside
/// of wire, `overall` diameter o, `pitch` p. Worked: 15.0 mm of 0.27686 mm wire at 1.02: 52.
pub fn turns_in(width: Length, overall: Length, pitch: Length, hands: u32) -> u32 {
    let m = f64::from(hands);
    let turns = (width - overall - pitch * (m - 1.0)) / (pitch * m) + 1e-9;
    if turns >= 1.0 { libm::floor(turns) as u32 } else { 0 }
}

/// Turns of each layer: the count that was given, or what fits. `overall` is the wire's extent along the former.
///
/// Layers inside the former and outside it each begin anew with a full one.
pub fn turns_per_layer(winding: &Winding, laid: &Laid, upper: UpperLayers, overall: Length, pitch: Length) -> Vec<u32> {
    if let Some(given) = &winding.turns_per_layer {
        return given.clone();
    }
    let one = |width: Length| {
        let beside = f64::from(laid.beside);
        (width - winding.lay.space.map_or(Length::ZERO, |s| s.value) * (beside - 1.0)) * (1.0 / beside)
    };
    let first = winding.width.map_or(0, |w| turns_in(one(w.value), overall, pitch, laid.hands));
    let above = match upper {
        UpperLayers::OneLess => first.saturating_sub(1),
        UpperLayers::Equal => first,
    };
    (0..winding.layers as usize).map(|layer| if layer == 0 || layer == laid.inside { first } else { above }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coil::lay::Lay;

    #[test]
    fn a_width_that_just_holds_a_turn_holds_it() {
        let o = Length::from_mm(0.25);
        assert_eq!(turns_in(Length::from_mm(0.25 + 10.0 * 0.25), o, o, 1), 10);
        assert_eq!(turns_in(Length::from_mm(0.25 + 9.999 * 0.25), o, o, 1), 9);
        assert_eq!(turns_in(Length::from_mm(0.2), o, o, 1), 0);
        // Two in hand: 12 widths of wire hold 5 turns of the pair and the pair that ends them.
        assert_eq!(turns_in(Length::from_mm(12.0 * 0.25), o, o, 2), 5);
        assert_eq!(turns_in(Length::from_mm(11.99 * 0.25), o, o, 2), 4);
    }

    #[test]
    fn upper_layers_lose_one_turn_unless_told_otherwise() {
        let w = |layers, turns| Winding {
            layers,
            width: Some(crate::measured::Measured::certain(Length::from_mm(15.0))),
            turns_per_layer: turns,
            lay: Lay::default(),
        };
        let turns_per_layer = |w: &Winding, upper, o, p| super::turns_per_layer(w, &Laid::of(w), upper, o, p);
        let (o, p) = (Length::from_mm(0.27686), Length::from_mm(0.27686 * 1.02));
        assert_eq!(turns_per_layer(&w(2, None), UpperLayers::OneLess, o, p), [52, 51]);
        assert_eq!(turns_per_layer(&w(3, None), UpperLayers::Equal, o, p), [52, 52, 52]);
        assert_eq!(turns_per_layer(&w(2, Some(vec![50, 47])), UpperLayers::OneLess, o, p), [50, 47]);
    }
}
