//! The mandrel for an inside diameter: which of the drawer, with which release shims and wraps of film; its growth in the
//! oven against the winding's.

use crate::quantity::{Length, Temperature};

/// Most shims on one side: more do not lie flat. Common practice, no source.
const MOST_SHIMS: usize = 2;
/// Most wraps of film: more run out of round. Common practice, no source.
const MOST_WRAPS: u32 = 6;
/// How far an inside diameter may be off without a word, in mm: common practice, no source.
pub const TOLERANCE_MM: f64 = 0.02;

/// What is in the drawer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stock {
    /// Diameters of the mandrels.
    pub mandrels: Vec<Length>,
    /// Thicknesses of the release shims.
    pub shims: Vec<Length>,
    /// Thickness of the film that a mandrel may be wrapped with, if there is any.
    pub film: Option<Length>,
}

/// A mandrel built up to a diameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The mandrel.
    pub mandrel: Length,
    /// Shims on each side.
    pub shims: Vec<Length>,
    /// Wraps of film around the mandrel.
    pub wraps: u32,
    /// The inside diameter that comes of it: `M + 2·Σ shims + 2·wraps·film`.
    pub inside: Length,
    /// That less the one wanted.
    pub off: Length,
}

impl Choice {
    /// Whether anything lies between mandrel and former that can be drawn out to release the coil.
    pub fn releases(&self) -> bool {
        !self.shims.is_empty()
    }

    fn pieces(&self) -> usize {
        self.shims.len() + self.wraps as usize
    }
}

/// Everything the drawer allows, the best first: within `tolerance` of `wanted`, with a shim to release it, of the fewest
/// pieces, the nearest. At most `most` choices.
///
/// Worked: 51.00 mm wanted; mandrels 50.00 and 50.90 mm, shims 0.05 and 0.10 mm: 50.90 mm with 0.05 mm on each side.
pub fn choices(stock: &Stock, wanted: Length, tolerance: Length, most: usize) -> Vec<Choice> {
    let mut all = Vec::new();
    let wraps = if stock.film.is_some() { MOST_WRAPS } else { 0 };
    for mandrel in &stock.mandrels {
        for shims in shims(&stock.shims) {
            for wraps in 0..=wraps {
                let film = stock.film.unwrap_or(Length::ZERO) * f64::from(wraps);
                let inside = *mandrel + (shims.iter().copied().sum::<Length>() + film) * 2.0;
                all.push(Choice { mandrel: *mandrel, shims: shims.clone(), wraps, inside, off: inside - wanted });
            }
        }
    }
    // A hundredth of a micrometre decides nothing.
    let within = |c: &Choice| c.off.abs().m() <= tolerance.m() + 1e-11;
    all.sort_by(|a, b| {
        within(b)
            .cmp(&within(a))
            .then(b.releases().cmp(&a.releases()))
            .then(if within(a) { a.pieces().cmp(&b.pieces()) } else { std::cmp::Ordering::Equal })
            .then(a.off.abs().m().total_cmp(&b.off.abs().m()))
            .then(a.pieces().cmp(&b.pieces()))
            .then(a.mandrel.m().total_cmp(&b.mandrel.m()))
    });
    all.truncate(most);
    all
}

/// Every set of up to [`MOST_SHIMS`] shims, none among them; one thickness may lie twice.
fn shims(stock: &[Length]) -> Vec<Vec<Length>> {
    let mut sets = vec![Vec::new()];
    let mut last = sets.clone();
    for _ in 0..MOST_SHIMS {
        let mut next = Vec::new();
        for set in &last {
            for shim in stock.iter().filter(|s| set.last().is_none_or(|l: &Length| l.m() <= s.m())) {
                let mut more: Vec<Length> = set.clone();
                more.push(*shim);
                next.push(more);
            }
        }
        sets.extend(next.iter().cloned());
        last = next;
    }
    sets
}

/// What an oven does to a coil on its mandrel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oven {
    /// How much the mandrel's diameter grows.
    pub mandrel: Length,
    /// How much the winding's inside diameter would grow by itself.
    pub winding: Length,
    /// How much larger the coil is inside at the bench after it cured, below zero never: the mandrel stretches it while the
    /// adhesive sets, and it shrinks with its own wire. `0` where the winding grows away from the mandrel.
    pub larger: Length,
    /// Play between mandrel and winding at the cure temperature, on the diameter; `0` where the mandrel fills it.
    pub play: Length,
}

/// The mandrel's growth against the winding's, both of diameter `inside` at `from`.
///
/// ```text
/// mandrel α_m·D·ΔT      winding α_c·D·ΔT      larger (α_m − α_c)·D·ΔT if the mandrel grows more, else play by as much
/// ```
///
/// Worked: aluminium mandrel (23e-6 /K) under copper (17.3e-6 /K), 51 mm, 23 to 120 °C: 0.114 and 0.086 mm, the coil comes
/// out 0.028 mm larger.
pub fn oven(mandrel_per_k: f64, wire_per_k: f64, inside: Length, from: Temperature, to: Temperature) -> Oven {
    let kelvin = to.c() - from.c();
    let mandrel = inside * (mandrel_per_k * kelvin);
    let winding = inside * (wire_per_k * kelvin);
    let more = mandrel - winding;
    Oven { mandrel, winding, larger: more.max(Length::ZERO), play: (winding - mandrel).max(Length::ZERO) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(x: f64) -> Length {
        Length::from_mm(x)
    }

    fn drawer() -> Stock {
        Stock { mandrels: vec![mm(50.0), mm(50.9)], shims: vec![mm(0.05), mm(0.10)], film: Some(mm(0.025)) }
    }

    /// The worked case of a 51 mm coil, arithmetic by hand: mandrel = inside diameter − 2 × shim.
    #[test]
    fn the_worked_coil_takes_its_mandrel_and_one_shim() {
        let best = &choices(&drawer(), mm(51.0), mm(0.02), 5)[0];
        assert_eq!((best.mandrel, best.wraps), (mm(50.9), 0));
        assert_eq!(best.shims, [mm(0.05)]);
        assert!(best.off.abs().mm() < 1e-9, "{best:?}");
    }

    #[test]
    fn every_choice_adds_up_and_the_nearest_is_as_near_as_any_that_is_tried_by_hand() {
        let stock = drawer();
        for tenth in 0..200 {
            let wanted = mm(49.9 + 0.01 * f64::from(tenth));
            let all = choices(&stock, wanted, mm(0.0), usize::MAX);
            for c in &all {
                let built =
                    c.mandrel.mm() + 2.0 * (c.shims.iter().map(|s| s.mm()).sum::<f64>() + 0.025 * f64::from(c.wraps));
                assert!((built - c.inside.mm()).abs() < 1e-9 && (c.inside - wanted - c.off).mm().abs() < 1e-12);
            }
            // By hand: every multiple of the smallest step of each mandrel that one or two shims and six wraps reach.
            let mut nearest = f64::INFINITY;
            for m in [50.0, 50.9] {
                for s in [0.05, 0.10, 0.15, 0.20] {
                    for w in 0..=6 {
                        nearest = nearest.min((m + 2.0 * (s + 0.025 * f64::from(w)) - wanted.mm()).abs());
                    }
                }
            }
            let first = all.iter().filter(|c| c.releases()).map(|c| c.off.abs().mm()).fold(f64::INFINITY, f64::min);
            assert!((first - nearest).abs() < 1e-9, "{wanted:?}: {first} against {nearest}");
        }
    }

    #[test]
    fn an_empty_drawer_offers_nothing() {
        assert!(choices(&Stock::default(), mm(51.0), mm(0.02), 5).is_empty());
    }

    /// Expansions: Industrial Power Engineering and Applications Handbook, p. 969–970: copper 17.3e-6, aluminium 23e-6 per
    /// kelvin. Steel 11.5e-6 per kelvin from memory.
    #[test]
    fn an_aluminium_mandrel_stretches_copper_and_steel_lets_it_go() {
        let (cold, hot) = (Temperature::from_c(23.0), Temperature::from_c(120.0));
        let aluminium = oven(23e-6, 17.3e-6, mm(51.0), cold, hot);
        assert!((aluminium.larger.mm() - 51.0 * 5.7e-6 * 97.0).abs() < 1e-9 && aluminium.play == Length::ZERO);
        let steel = oven(11.5e-6, 17.3e-6, mm(51.0), cold, hot);
        assert!((steel.play.mm() - 51.0 * 5.8e-6 * 97.0).abs() < 1e-9 && steel.larger == Length::ZERO);
    }
}
