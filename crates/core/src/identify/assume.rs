//! What is taken for granted when a wire is identified, each with its mark: any of it can be given otherwise.

use super::seen::{Measure, Observation, Seen, Turns};
use crate::conductor::Conductor;
use crate::measured::Input;
use crate::origin::{Mark, Origin};

/// Habits and model terms; fractions and SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumed {
    /// Pitch over overall diameter of wound turns, and what a coil departs from it.
    pub pitch_factor: Input,
    /// Radial step from layer to layer over overall diameter.
    pub nesting: Input,
    /// Excess of the wound resistance per metre, copper.
    pub excess_copper: Input,
    /// The same, aluminium and copper-clad aluminium.
    pub excess_aluminium: Input,
    /// Film of glue under the first layer.
    pub glue: f64,
    /// Re over the rated impedance.
    pub re_over_rated: Input,
    /// Relative standard uncertainty of the mass of a metre beyond what the diameters explain.
    pub mass_u: f64,
    /// Relative standard uncertainty of the resistivity.
    pub resistivity_u: f64,
}

impl Default for Assumed {
    fn default() -> Assumed {
        let input = |value, u| Input { value, u };
        Assumed {
            pitch_factor: input(1.02, 0.02 * 1.02),
            nesting: input(0.90, 0.04),
            excess_copper: input(0.010, 0.005),
            excess_aluminium: input(0.005, 0.005),
            glue: 1e-5,
            re_over_rated: input(0.775, 0.15 / 2.0 / 1.732_050_807_568_877_2),
            mass_u: 0.005,
            resistivity_u: 0.005,
        }
    }
}

impl Assumed {
    /// Excess of the wound resistance of this metal.
    pub(super) fn excess(&self, metal: Conductor) -> Input {
        if metal == Conductor::Copper { self.excess_copper } else { self.excess_aluminium }
    }

    /// Those of the defaults that moved the probabilities, with their marks.
    pub fn origins(&self, seen: &Seen, met: &[Observation]) -> Vec<Origin> {
        let default = Assumed::default();
        let has = |m: Measure| met.iter().any(|o| o.measure == m);
        let of_coil = has(Measure::CoilOhm) || has(Measure::Rated);
        let layers = seen.coil.as_ref().map_or(0, |c| c.layers());
        let filling = of_coil && seen.coil.as_ref().is_some_and(|c| matches!(c.turns, Turns::Filling(_)));
        let share = |u: f64| (0.0, u);
        let pair = |i: Input| (i.value, i.u);
        let habit = Mark::CommonPractice;
        let all = [
            (
                has(Measure::Pitch) || has(Measure::Width) || filling,
                self.pitch_factor == default.pitch_factor,
                "assume.pitch_factor",
                pair(self.pitch_factor),
                "",
                habit,
                "turns laid by hand side by side, and how far a burnt coil departs from it; no source",
            ),
            (
                of_coil && layers > 1,
                self.nesting == default.nesting,
                "assume.nesting",
                pair(self.nesting),
                "",
                Mark::Derived,
                "between groove-following 0.87 and a free helix 0.955",
            ),
            (
                of_coil,
                self.excess_copper == default.excess_copper,
                "assume.resistance_excess_pct",
                (1.0, 0.5),
                "%",
                habit,
                "copper; 0.5 ± 0.5 % for other metals; no source",
            ),
            (of_coil, self.glue == default.glue, "assume.glue_mm", (0.01, 0.0), "mm", habit, "no source"),
            (
                has(Measure::Rated),
                self.re_over_rated == default.re_over_rated,
                "assume.re_over_rated",
                pair(self.re_over_rated),
                "",
                Mark::Memory,
                "0.70 to 0.85, all of it equally likely; the least impedance behind it is IEC 60268-5's 80 %",
            ),
            (
                has(Measure::Mass),
                self.mass_u == default.mass_u,
                "assume.mass_pct",
                share(0.5),
                "%",
                habit,
                "mass of a metre beyond what the diameters explain; no source",
            ),
            (
                has(Measure::Ohm) || of_coil,
                self.resistivity_u == default.resistivity_u,
                "assume.resistivity_pct",
                share(0.5),
                "%",
                Mark::Derived,
                "58 to 59 MS/m are ± 0.86 % as a limit, 0.5 % as u",
            ),
        ];
        all.into_iter()
            .filter(|(used, default, ..)| *used && *default)
            .map(|(_, _, param, (value, u), unit, mark, source)| Origin {
                param: param.into(),
                value,
                u,
                unit,
                mark,
                source: source.into(),
            })
            .collect()
    }
}
