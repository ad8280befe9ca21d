//! How many turns go on each layer.

use super::spec::{UpperLayers, Winding};
use crate::quantity::Length;

/// Whole turns that fit side by side in a width.
///
/// ```text
/// N₁ = ⌊(W − o)/p + 1e-9⌋
/// ```
///
/// A helix of N whole turns takes N + 1 widths of wire: an axial line crosses N or N + 1 wires. `width` outside to outside
/// of wire, `overall` diameter o, `pitch` p. Worked: 15.0 mm of 0.27686 mm wire at 1.02: 52.
pub fn turns_in(width: Length, overall: Length, pitch: Length) -> u32 {
    let turns = (width - overall) / pitch + 1e-9;
    if turns >= 1.0 { libm::floor(turns) as u32 } else { 0 }
}

/// Turns of each layer: the count that was given, or what fits.
pub fn turns_per_layer(winding: &Winding, upper: UpperLayers, overall: Length, pitch: Length) -> Vec<u32> {
    if let Some(given) = &winding.turns_per_layer {
        return given.clone();
    }
    let first = winding.width.map_or(0, |w| turns_in(w.value, overall, pitch));
    let above = match upper {
        UpperLayers::OneLess => first.saturating_sub(1),
        UpperLayers::Equal => first,
    };
    (0..winding.layers).map(|layer| if layer == 0 { first } else { above }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_width_that_just_holds_a_turn_holds_it() {
        let o = Length::from_mm(0.25);
        assert_eq!(turns_in(Length::from_mm(0.25 + 10.0 * 0.25), o, o), 10);
        assert_eq!(turns_in(Length::from_mm(0.25 + 9.999 * 0.25), o, o), 9);
        assert_eq!(turns_in(Length::from_mm(0.2), o, o), 0);
    }

    #[test]
    fn upper_layers_lose_one_turn_unless_told_otherwise() {
        let w = |layers, turns| Winding {
            layers,
            width: Some(crate::measured::Measured::certain(Length::from_mm(15.0))),
            turns_per_layer: turns,
        };
        let (o, p) = (Length::from_mm(0.27686), Length::from_mm(0.27686 * 1.02));
        assert_eq!(turns_per_layer(&w(2, None), UpperLayers::OneLess, o, p), [52, 51]);
        assert_eq!(turns_per_layer(&w(3, None), UpperLayers::Equal, o, p), [52, 52, 52]);
        assert_eq!(turns_per_layer(&w(2, Some(vec![50, 47])), UpperLayers::OneLess, o, p), [50, 47]);
    }
}
