//! The coil being unwound from outside, turn by turn and layer by layer.

/// A layer of the coil as it measures.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layer {
    /// One turn of it, Ω at 20 °C.
    pub turn: f64,
    /// Turns on it.
    pub turns: u32,
}

/// The coil being unwound.
pub(super) struct Walk<'a> {
    /// First layer first.
    pub layers: &'a [Layer],
    /// Ω at 20 °C before.
    pub start: f64,
}

/// Where the walk is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Ω at 20 °C.
    pub value: f64,
    /// Layer that is outermost, from 0. It is the one below as soon as a layer is used up.
    pub layer: usize,
    /// Turns gone from it.
    pub gone: f64,
}

impl Walk<'_> {
    /// Turns until the value is down to `target`; 0 if it is there already, `None` if it never gets there.
    pub fn turns_to(&self, target: f64) -> Option<f64> {
        let (mut over, mut turns) = (self.start - target, 0.0);
        if over <= 0.0 {
            return Some(0.0);
        }
        for l in self.layers.iter().rev() {
            let holds = f64::from(l.turns) * l.turn;
            if over <= holds {
                return Some(turns + over / l.turn);
            }
            over -= holds;
            turns += f64::from(l.turns);
        }
        None
    }

    /// Where it is after `turns`.
    pub fn after(&self, turns: f64) -> Place {
        let (mut value, mut gone) = (self.start, turns);
        for (layer, l) in self.layers.iter().enumerate().rev() {
            let on_it = f64::from(l.turns);
            if gone < on_it || layer == 0 {
                return Place { value: value - gone * l.turn, layer, gone };
            }
            value -= on_it * l.turn;
            gone -= on_it;
        }
        Place { value, layer: 0, gone }
    }

    /// The count to take for `target`, which `exact` turns would meet: the nearest whole one within the tolerance, else the
    /// nearest with a half; of two as near the one with more left on the coil. `None` if there is none.
    pub fn choose(&self, exact: f64, target: f64, tolerance: f64) -> Option<f64> {
        let off = |turns: f64| (self.after(turns).value - target).abs();
        let best = |counts: [f64; 2]| {
            counts
                .into_iter()
                .filter(|t| *t >= 0.0 && off(*t) <= tolerance * (1.0 + 1e-9))
                .min_by(|a, b| off(*a).total_cmp(&off(*b)))
        };
        let whole = libm::floor(exact);
        let half = libm::floor(exact - 0.5) + 0.5;
        best([whole, whole + 1.0]).or_else(|| best([half, half + 1.0]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAYERS: [Layer; 2] = [Layer { turn: 0.07, turns: 37 }, Layer { turn: 0.08, turns: 36 }];

    /// Arithmetic: the turns of all layers and the leads are the whole coil.
    #[test]
    fn turns_of_all_layers_add_up_to_the_winding() {
        let walk = Walk { layers: &LAYERS, start: 37.0 * 0.07 + 36.0 * 0.08 + 0.1 };
        let near = |met: f64, wanted: f64| assert!((met - wanted).abs() < 1e-12, "{met}, not {wanted}");
        near(walk.after(73.0).value, 0.1);
        near(walk.after(36.0).value, 37.0 * 0.07 + 0.1);
        assert_eq!(walk.turns_to(0.05), None);
        for turns in [0.5, 7.0, 36.0, 36.5, 70.0] {
            near(walk.turns_to(walk.after(turns).value).unwrap(), turns);
        }
    }

    #[test]
    fn a_layer_that_is_used_up_gives_way_to_the_one_below() {
        let walk = Walk { layers: &LAYERS, start: 6.0 };
        let at = |turns: f64| (walk.after(turns).layer, walk.after(turns).gone);
        assert_eq!((at(35.5), at(36.0), at(36.5)), ((1, 35.5), (0, 0.0), (0, 0.5)));
    }

    /// 5.471 Ω for 5.30: 2.3 turns of 0.0742 Ω (a worked coil: regression values).
    #[test]
    fn half_a_turn_only_where_no_whole_one_will_do() {
        let layers = [Layer { turn: 0.0734, turns: 37 }, Layer { turn: 0.0742, turns: 36 }];
        let walk = Walk { layers: &layers, start: 5.471 };
        let exact = walk.turns_to(5.30).unwrap();
        let choose = |tolerance| walk.choose(exact, 5.30, tolerance);
        // Two and a half lies 0.015 Ω below the target, two 0.023 Ω above it.
        assert_eq!((choose(0.05), choose(0.02), choose(0.005)), (Some(2.0), Some(2.5), None));
    }
}
