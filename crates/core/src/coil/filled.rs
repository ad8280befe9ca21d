//! What a coil becomes if its width is filled by eye instead of its turns counted, where the count stands on an edge.

use super::assume::{self, Origins};
use super::count::{turns_in, turns_per_layer};
use super::design::{DesignError, as_is, count, inputs};
use super::figures::{Fixed, Shape, Spacing, figures};
use super::laid::Laid;
use super::lay::Lay;
use super::range;
use super::spec::CoilSpec;
use crate::finding::Finding;
use crate::measured::{Inputs, Measured};
use crate::quantity::{Length, Resistance};
use std::collections::BTreeMap;

/// A filled width, by trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Turns that the width holds by the middle values, the part of a turn included.
    pub holds: f64,
    /// Turns of the first layer, and the share of the draws in which it holds as many.
    pub first_layer: Vec<(u32, f64)>,
    /// Turns of all layers.
    pub turns: Measured<f64>,
    /// Wire in the winding.
    pub length: Measured<Length>,
    /// Resistance at 20 °C with leads.
    pub dcr: Measured<Resistance>,
    /// The resistance lies between these with 95 %.
    pub dcr_95: (Resistance, Resistance),
    /// Draws made.
    pub draws: usize,
    /// What the draws are fixed by.
    pub seed: u64,
    /// In words.
    pub finding: Finding,
}

/// Share of a turn on either side of a whole count within which the count stands on an edge.
///
/// The floor of what a width holds, h turns in doubt by half a turn or more, is h − ½ in the mean. The count by the middle
/// values, ⌊h⌋, is furthest from that where h is near a whole number, and the linear law, which holds the count, says
/// nothing of it.
pub const EDGE: f64 = 0.1;

/// Draws. Another seed moves a value by about 2 % of its u, and u itself by 2 %.
pub const DRAWS: usize = 2_000;

/// Fills the width by trial; `None` where turns are counted, or the count stands on no edge.
///
/// ```text
/// h = (W − o)/(k·o),   N₁ = ⌊h + 1e-9⌋ of each draw, and all figures with that count
/// ```
///
/// Worked: a 51 mm coil of 2 layers of AWG 30 in 14.96 mm holds 51.99 turns by the middle values: 51 to wind, and
/// mostly 50 to 53 if the width is filled.
///
/// # Errors
/// As [`super::design()`].
pub fn filled(spec: &CoilSpec, seed: u64) -> Result<Option<Filled>, DesignError> {
    range::check(spec)?;
    // Two windings, several wires in hand, flat or bonded wire are counted, never filled by eye.
    if spec.winding.lay != Lay::default() {
        return Ok(None);
    }
    let laid = Laid::of(&spec.winding);
    let assumed = assume::complete(spec, &mut Origins(Vec::new()));
    let (planned, spacing) = count(spec, &laid, &assumed)?;
    let Some(width) = spec.winding.width.filter(|_| spacing == Spacing::WidthFilled) else { return Ok(None) };
    let overall = spec.wire.overall.value;
    let holds = (width.value - overall) / (overall * assumed.pitch_factor.value);
    let past = holds - libm::floor(holds);
    if past > EDGE && past < 1.0 - EDGE {
        return Ok(None);
    }
    let mut first_layer: BTreeMap<u32, u32> = BTreeMap::new();
    let trials = Inputs::new(inputs(spec, &assumed).to_vec()).draw(DRAWS, seed, |x, out| {
        let Ok(x) = <[f64; Shape::LEN]>::try_from(x) else { return false };
        let x = Shape::from_array(x);
        let o = Length::from_m(x.overall);
        let mut winding = spec.winding.clone();
        winding.width = Some(Measured::certain(Length::from_m(x.width)));
        let turns = turns_per_layer(&winding, &laid, assumed.upper_layers, o, o * x.pitch_factor);
        if turns.contains(&0) {
            return false;
        }
        let fixed = Fixed {
            wire: &spec.wire,
            turns: &turns,
            spacing,
            slit: spec.former.slit.m(),
            adhesive_density: assumed.adhesive.kg_per_m3(),
            bench_ratio: 1.0,
            hot_growth: 0.0,
            laid: &laid,
            as_is: as_is(spec),
        };
        let f = figures(x, fixed);
        out.extend([f64::from(turns.iter().sum::<u32>()), f.length, f.dcr]);
        *first_layer.entry(turns_in(Length::from_m(x.width), o, o * x.pitch_factor, 1)).or_insert(0) += 1;
        true
    });
    let (Some(turns), Some(length), Some(dcr)) = (trials.measured(0), trials.measured(1), trials.measured(2)) else {
        return Ok(None);
    };
    let (Some(low), Some(high)) = (trials.quantile(2, 0.025), trials.quantile(2, 0.975)) else { return Ok(None) };
    let kept = trials.kept() as f64;
    let shares: Vec<(u32, f64)> = first_layer.into_iter().map(|(n, times)| (n, f64::from(times) / kept)).collect();
    let first = planned.first().copied().unwrap_or(0);
    Ok(Some(Filled {
        finding: told(first, holds, &shares, dcr).figures(holds, f64::from(first)),
        holds,
        first_layer: shares,
        turns,
        length,
        dcr,
        dcr_95: (Resistance::from_ohm(low), Resistance::from_ohm(high)),
        draws: trials.drawn,
        seed,
    }))
}

fn told(first: u32, holds: f64, shares: &[(u32, f64)], dcr: Measured<Resistance>) -> Finding {
    let as_planned = shares.iter().find(|(n, _)| *n == first).map_or(0.0, |(_, share)| *share);
    let usual: Vec<u32> = shares.iter().filter(|(_, share)| *share >= 0.05).map(|(n, _)| *n).collect();
    let range = match usual[..] {
        [] => String::new(),
        [only] => format!(", mostly {only}"),
        [least, .., most] => format!(", mostly {least} to {most}"),
    };
    Finding::note(
        "count_on_an_edge",
        format!(
            "the width holds {holds:.2} turns by the middle values: filled by eye it takes {first} in {:.0} of 100 coils{range}, and the coil has {:.2} ± {:.2} Ω; count the turns",
            100.0 * as_planned,
            dcr.value.ohm(),
            dcr.u.ohm()
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coil::design;
    use crate::coil::spec::{AssumeSpec, Winding};
    use crate::conductor::Conductor;
    use crate::enough::normal_probability;
    use crate::former::{Former, FormerMaterial};
    use crate::quantity::Density;
    use crate::wire::{Standing, Wire, WireFigures};

    fn mm(x: f64, u: f64) -> Measured<Length> {
        Measured::new(Length::from_mm(x), Length::from_mm(u))
    }

    /// Two layers of 0.25 mm wire at a pitch of exactly its diameter: `turns` of them fill the width.
    fn coil(turns: f64, pitch_u: f64) -> CoilSpec {
        let mut wire = Wire::new(WireFigures {
            conductor: Conductor::Copper,
            bare: mm(0.22, 0.0),
            bare_limits: None,
            overall: mm(0.25, 0.0),
            overall_limits: None,
            ohm_per_m: None,
            ohm_per_m_limits: None,
            g_per_m: None,
        })
        .unwrap();
        // Known without doubt, so that the pitch alone moves the count.
        wire.overall = mm(0.25, 0.0);
        CoilSpec {
            wire,
            standing: Standing::Inline,
            former: Former {
                material: FormerMaterial {
                    density: Measured::certain(Density::from_g_per_cm3(1.4)),
                    resistivity: None,
                    heat_limit: None,
                    expansion_per_k: None,
                },
                inside_diameter: mm(50.0, 0.0),
                wall: mm(0.1, 0.0),
                height: None,
                slit: Length::ZERO,
                shims: Length::ZERO,
                particulars: crate::former::Particulars::default(),
            },
            winding: Winding {
                layers: 2,
                width: Some(mm(0.25 * (turns + 1.0), 0.0)),
                turns_per_layer: None,
                lay: Lay::default(),
            },
            leads: None,
            tails: None,
            threading: None,
            gap: None,
            target: None,
            bench: None,
            hot: None,
            offset: None,
            assume: AssumeSpec { pitch_factor: Some(Measured::new(1.0, pitch_u)), ..AssumeSpec::default() },
        }
    }

    fn edge(turns: f64, pitch_u: f64) -> Filled {
        filled(&coil(turns, pitch_u), 1).unwrap().expect("on an edge")
    }

    #[test]
    fn only_a_count_on_an_edge_is_filled_by_trial() {
        assert_eq!(filled(&coil(50.5, 0.01), 1).unwrap(), None);
        assert!(filled(&coil(50.95, 0.01), 1).unwrap().is_some());
        assert!(filled(&coil(50.05, 0.01), 1).unwrap().is_some());
        let mut counted = coil(50.02, 0.01);
        counted.winding.turns_per_layer = Some(vec![50, 49]);
        assert_eq!(filled(&counted, 1).unwrap(), None);
    }

    /// The share of each count in closed form: N turns fit where the pitch is at most (W − o)/N, normal about 1 ± 0.01.
    /// Four standard errors of 2,000 draws.
    #[test]
    fn shares_of_the_counts_are_those_of_the_normal_pitch() {
        let f = edge(50.02, 0.01);
        let fits = |n: u32| normal_probability((50.02 / f64::from(n) - 1.0) / 0.01);
        let mut seen = 0;
        for (n, share) in &f.first_layer {
            let p = fits(*n) - fits(n + 1);
            let allowed = 4.0 * (p * (1.0 - p) / DRAWS as f64).sqrt() + 1e-9;
            assert!((share - p).abs() <= allowed, "{n}: {share} {p}");
            seen += 1;
        }
        assert!(seen >= 3, "{f:?}");
        assert!(f.finding.text.contains("count the turns"), "{}", f.finding.text);
    }

    /// Where the doubt is too small to reach the edge, trial and linear law agree: four standard errors of 2,000 draws are
    /// 9 % of u in the value and 6.4 % of u in u; the bend within one u adds less than 1 %.
    #[test]
    fn away_from_the_edge_trial_and_linear_law_agree() {
        let (spec, turns) = (coil(50.09, 0.0003), vec![50, 49]);
        let f = filled(&spec, 4).unwrap().expect("near an edge, though not over it");
        assert_eq!(f.first_layer, [(50, 1.0)]);
        let d = design(&spec).unwrap();
        assert_eq!(d.turns_per_layer, turns);
        for (trial, linear) in [
            ((f.dcr.value.ohm(), f.dcr.u.ohm()), (d.dcr.value.ohm(), d.dcr.u.ohm())),
            ((f.length.value.m(), f.length.u.m()), (d.length.value.m(), d.length.u.m())),
        ] {
            assert!((trial.0 - linear.0).abs() <= 0.10 * linear.1, "{trial:?} {linear:?}");
            assert!((trial.1 / linear.1 - 1.0).abs() <= 0.075, "{trial:?} {linear:?}");
        }
    }

    /// On the edge they part: the linear law holds 50 turns, the filled width takes half a turn less a layer in the mean.
    #[test]
    fn on_the_edge_the_linear_law_is_off_by_half_a_turn_a_layer() {
        let f = edge(50.001, 0.02);
        assert!((f.turns.value - (2.0 * 49.5 - 1.0)).abs() < 0.2, "{:?}", f.turns);
        let d = design(&coil(50.001, 0.02)).unwrap();
        assert_eq!(d.turns, 99);
        assert!(f.dcr.u > d.dcr.u * 1.2, "{:?} {:?}", f.dcr, d.dcr);
        assert!(f.dcr_95.0 < f.dcr.value && f.dcr.value < f.dcr_95.1);
    }

    #[test]
    fn the_same_seed_gives_the_same_figures() {
        assert_eq!(edge(50.02, 0.01), edge(50.02, 0.01));
        let other = filled(&coil(50.02, 0.01), 2).unwrap().unwrap();
        assert_ne!(other.dcr, edge(50.02, 0.01).dcr);
        assert!((other.dcr.value.ohm() - edge(50.02, 0.01).dcr.value.ohm()).abs() < 0.1 * other.dcr.u.ohm());
    }
}
