//! The walk: check, complete, count, compute with uncertainty, judge.

use super::assume::{self, ADHESIVE_U, Assume, Origins};
use super::count::turns_per_layer;
use super::figures::{Figures, FiguresAt as At, Fixed, Shape, Spacing, figures, layer_diameters};
use super::findings::{Finding, Judged, judge};
use super::range::{self, OutOfRange};
use super::spec::CoilSpec;
use super::tension::{Tension, tension};
use crate::inductance::{thick_coil, thin_coil};
use crate::measured::{Input, Inputs, Measured, Propagated};
use crate::origin::Origin;
use crate::quantity::{Inductance, Length, Mass as MassQ, Resistance};

/// Everything about a coil. What could not be computed for want of a parameter is `None` and named in `findings`.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Turns of each layer to wind, first layer first.
    pub turns_per_layer: Vec<u32>,
    /// Their sum.
    pub turns: u32,
    /// From turn to turn along the axis.
    pub pitch: Measured<Length>,
    /// Width asked for, or made by the count.
    pub width: Measured<Length>,
    /// Width that the count takes at this pitch.
    pub wound_width: Measured<Length>,
    /// Diameter under the first layer, glue included.
    pub base_diameter: Measured<Length>,
    /// Mean diameter of each layer.
    pub layer_diameters: Vec<Measured<Length>>,
    /// Wire in the winding, without leads, before it stretches.
    pub length: Measured<Length>,
    /// Wire to ask of a spool.
    pub need: Measured<Length>,
    /// Wire expected to leave the spool.
    pub draw: Measured<Length>,
    /// Resistance at 20 °C with leads.
    pub dcr: Measured<Resistance>,
    /// Resistance at the bench with leads.
    pub dcr_bench: Option<Measured<Resistance>>,
    /// Outside diameter with nested layers.
    pub outside_nested: Measured<Length>,
    /// Outside diameter at the cross-over, with skin and wrap.
    pub outside_crossover: Measured<Length>,
    /// Between pole and former, one side.
    pub clearance_inner: Option<Measured<Length>>,
    /// Between winding and plate at the cross-over, one side.
    pub clearance_outer: Option<Measured<Length>>,
    /// The same, hot.
    pub clearance_outer_hot: Option<Measured<Length>>,
    /// Least clearances that the fit was held against (inner, outer).
    pub least_clearances: Option<(Length, Length)>,
    /// Length of the flat blank.
    pub blank_length: Length,
    /// Width of the flat blank: the former's height.
    pub blank_width: Option<Length>,
    /// Mandrel to wind on: inside diameter less the shims on both sides.
    pub mandrel: Length,
    /// Masses.
    pub mass: Mass,
    /// Inductance in air.
    pub inductance_air: Measured<Inductance>,
    /// Winding beyond the top plate on each side, negative if within it.
    pub overhang: Option<Measured<Length>>,
    /// Travel one way until the field is left, the offset taken off.
    pub one_sided_travel: Option<Measured<Length>>,
    /// Tension as hanging masses.
    pub tension: Tension,
    /// Resistance of one turn of the outermost layer at 20 °C.
    pub turn: Measured<Resistance>,
    /// What was assumed, given or by default.
    pub assumed: Assume,
    /// What the winder must be told.
    pub findings: Vec<Finding>,
    /// Where each default came from.
    pub origins: Vec<Origin>,
}

/// Masses of a coil.
#[derive(Debug, Clone, PartialEq)]
pub struct Mass {
    /// Metal in winding and leads.
    pub conductor: Measured<MassQ>,
    /// Winding and leads with their insulation.
    pub wire: Measured<MassQ>,
    /// Former.
    pub former: Option<Measured<MassQ>>,
    /// Adhesive.
    pub adhesive: Measured<MassQ>,
    /// Of it: between the turns, in the film under the first layer, in the skin over the winding.
    pub adhesive_parts: [Measured<MassQ>; 3],
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DesignError {
    /// A dimension no coil has.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Neither a width nor a count.
    #[error("the winding has neither a width nor turns per layer")]
    WindingOpen,
    /// The list of turns and the number of layers disagree.
    #[error("{listed} layers have their turns listed, but the winding has {layers} layers")]
    LayersDisagree {
        /// Entries in the list.
        listed: usize,
        /// Layers asked for.
        layers: u32,
    },
    /// The width holds no whole turn in every layer.
    #[error("a width of {width_mm} mm holds {turns} turns of {overall_mm} mm wire: too few for {layers} layers")]
    TooNarrow {
        /// Width asked for.
        width_mm: f64,
        /// Turns of the first layer.
        turns: u32,
        /// Overall diameter.
        overall_mm: f64,
        /// Layers asked for.
        layers: u32,
    },
}

/// Designs a coil.
///
/// Uncertainty: every dimension, the wire's diameters and the assumptions are inputs ([`Inputs::propagate`]); two figures
/// that share one move together, which the covariance keeps. The count of turns is held: doubt of the wire's diameter
/// shows as doubt of the width it takes, not as another count.
///
/// # Errors
/// [`DesignError`] where a dimension is none a coil can have or the winding is left open.
pub fn design(spec: &CoilSpec) -> Result<Design, DesignError> {
    range::check(spec)?;
    let mut origins = Origins(spec.wire.origins.clone());
    let assumed = assume::complete(spec, &mut origins);
    let (turns, spacing) = count(spec, &assumed)?;
    let least = spec.gap.as_ref().map(|g| assume::least_clearances(g, spec.former.inside_diameter.value, &mut origins));
    let shape = inputs(spec, &assumed);
    let conductor = spec.wire.conductor;
    let fixed = Fixed {
        wire: &spec.wire,
        turns: &turns,
        spacing,
        slit: spec.former.slit.m(),
        adhesive_density: assumed.adhesive.kg_per_m3(),
        bench_ratio: spec.bench.map_or(1.0, |t| conductor.resistance_ratio(t)),
        hot_growth: spec
            .bench
            .zip(spec.hot)
            .map_or(0.0, |(bench, hot)| conductor.expansion_per_k() * (hot - bench).c()),
    };
    let p = Inputs::new(shape.to_vec()).propagate(|x, out| {
        if let Ok(x) = <[f64; Shape::LEN]>::try_from(x) {
            let x = Shape::from_array(x);
            out.extend(figures(x, fixed).to_array());
            out.extend(layer_diameters(x, fixed.turns.len()));
        }
    });
    let f = figures(Shape::from_array(shape.map(|i| i.value)), fixed);
    let findings = judge(&Judged {
        spec,
        turns: &turns,
        spacing,
        figures: &f,
        dcr: resistance(&assumed, &p, At::dcr),
        least,
        base_mm: 1e3 * f.base,
        over_mm: 2.0 * (assumed.skin.value + assumed.wrap.value).mm(),
        skin_mm: assumed.skin.value.mm(),
    });
    Ok(assemble(spec, assumed, least, &f, &p, turns.clone(), findings, origins.0))
}

/// Turns of each layer, and how pitch and width hang together.
pub(super) fn count(spec: &CoilSpec, assumed: &Assume) -> Result<(Vec<u32>, Spacing), DesignError> {
    let w = &spec.winding;
    let spacing = match (&w.turns_per_layer, w.width) {
        (None, None) => return Err(DesignError::WindingOpen),
        (None, Some(_)) => Spacing::WidthFilled,
        (Some(_), Some(_)) => Spacing::CountInWidth,
        (Some(_), None) => Spacing::CountAlone,
    };
    if let Some(listed) = &w.turns_per_layer
        && listed.len() != w.layers as usize
    {
        return Err(DesignError::LayersDisagree { listed: listed.len(), layers: w.layers });
    }
    let overall = spec.wire.overall.value;
    let turns = turns_per_layer(w, assumed.upper_layers, overall, overall * assumed.pitch_factor.value);
    if turns.contains(&0) {
        return Err(DesignError::TooNarrow {
            width_mm: w.width.map_or(0.0, |w| w.value.mm()),
            turns: turns.first().copied().unwrap_or(0),
            overall_mm: overall.mm(),
            layers: w.layers,
        });
    }
    Ok((turns, spacing))
}

/// The inputs with their uncertainty, in the order of [`Shape`].
pub(super) fn inputs(spec: &CoilSpec, a: &Assume) -> [Input; Shape::LEN] {
    let wire = &spec.wire;
    let gap = spec.gap.as_ref();
    let or_zero = |m: Option<Measured<Length>>| m.map_or(Input::certain(0.0), Measured::input);
    [
        spec.former.inside_diameter.input(),
        spec.former.wall.input(),
        a.glue.input(),
        a.skin.input(),
        a.wrap.input(),
        wire.bare.input(),
        wire.overall.input(),
        Input { value: 1.0, u: wire.ohm_per_m_own_u() },
        Input { value: 1.0, u: wire.g_per_m_own_u() },
        a.pitch_factor.input(),
        a.nesting.input(),
        a.resistance_excess.input(),
        a.elongation.input(),
        a.leads.input(),
        a.tails.input(),
        a.threading.input(),
        or_zero(spec.winding.width),
        or_zero(gap.and_then(|g| g.pole)),
        or_zero(gap.and_then(|g| g.bore)),
        or_zero(gap.and_then(|g| g.plate)),
        or_zero(spec.former.height),
        spec.former.material.density.input(),
        Input { value: 1.0, u: ADHESIVE_U },
    ]
}

#[allow(clippy::too_many_arguments)]
fn assemble(
    spec: &CoilSpec,
    assumed: Assume,
    least: Option<(Length, Length)>,
    f: &Figures,
    p: &Propagated,
    turns: Vec<u32>,
    findings: Vec<Finding>,
    origins: Vec<Origin>,
) -> Design {
    let gap = spec.gap.as_ref();
    let pole = gap.and_then(|g| g.pole);
    let bore = gap.and_then(|g| g.bore);
    let overhang: Option<Measured<Length>> = gap.and_then(|g| g.plate).map(|_| p.measured(At::overhang as usize));
    let offset = spec.offset.unwrap_or(Length::ZERO);
    Design {
        turns: turns.iter().sum(),
        pitch: p.measured(At::pitch as usize),
        width: p.measured(At::width as usize),
        wound_width: p.measured(At::wound_width as usize),
        base_diameter: p.measured(At::base as usize),
        layer_diameters: (0..turns.len()).map(|i| p.measured(Figures::LEN + i)).collect(),
        length: p.measured(At::length as usize),
        need: p.measured(At::need as usize),
        draw: p.measured(At::draw as usize),
        dcr: resistance(&assumed, p, At::dcr),
        dcr_bench: spec.bench.map(|_| resistance(&assumed, p, At::dcr_bench)),
        outside_nested: p.measured(At::outside_nested as usize),
        outside_crossover: p.measured(At::outside_crossover as usize),
        clearance_inner: pole.map(|_| p.measured(At::clearance_inner as usize)),
        clearance_outer: bore.map(|_| p.measured(At::clearance_outer as usize)),
        clearance_outer_hot: bore.and(spec.bench).and(spec.hot).map(|_| p.measured(At::clearance_outer_hot as usize)),
        least_clearances: least,
        blank_length: Length::from_m(f.blank),
        blank_width: spec.former.height.map(|h| h.value),
        mandrel: spec.former.inside_diameter.value - spec.former.shims * 2.0,
        mass: Mass {
            conductor: p.measured(At::conductor_mass as usize),
            wire: p.measured(At::wire_mass as usize),
            former: spec.former.height.map(|_| p.measured(At::former_mass as usize)),
            adhesive: p.measured(At::adhesive_mass as usize),
            adhesive_parts: [At::void_mass, At::film_mass, At::skin_mass].map(|at| p.measured(at as usize)),
        },
        inductance_air: inductance(&turns, f, p),
        overhang,
        one_sided_travel: overhang.map(|o| Measured::new(o.value.abs() - offset.abs(), o.u)),
        tension: tension(spec.wire.conductor, spec.wire.bare.value, turns.len()),
        turn: resistance(&assumed, p, At::turn),
        turns_per_layer: turns,
        assumed,
        findings,
        origins,
    }
}

/// A resistance with its uncertainty: as the inputs have it, or as the shop's own coils had it.
fn resistance(assumed: &Assume, p: &Propagated, at: At) -> Measured<Resistance> {
    let m: Measured<Resistance> = p.measured(at as usize);
    assumed.dcr_u.map_or(m, |u| Measured::new(m.value, m.value * u))
}

/// Inductance in air of the winding as it is wound: N turns, from the base diameter over the nested build, as long as the
/// longest layer's turns. The exact integral gives the value; its doubt follows the thin coil's slope in the mean diameter
/// and the length.
fn inductance(turns: &[u32], f: &Figures, p: &Propagated) -> Measured<Inductance> {
    let n = f64::from(turns.iter().sum::<u32>());
    let most = f64::from(turns.iter().copied().max().unwrap_or(0));
    let (inner, outer, axial) = (f.base / 2.0, f.outside_nested / 2.0, most * f.pitch);
    let value = thick_coil(n, inner, outer, axial, 12);
    let thin = |outside: f64, pitch: f64| thin_coil(n, (f.base + outside) / 4.0, most * pitch);
    let at = thin(f.outside_nested, f.pitch);
    let by_diameter = thin(f.outside_nested + 2.0 * p.u(At::outside_nested as usize), f.pitch) - at;
    let by_pitch = thin(f.outside_nested, f.pitch + p.u(At::pitch as usize)) - at;
    let u = value / at * libm::sqrt(by_diameter * by_diameter + by_pitch * by_pitch);
    Measured::new(Inductance::from_h(value), Inductance::from_h(u))
}

#[cfg(test)]
mod tests;
