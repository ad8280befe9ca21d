//! The walk: check, complete, count, compute with uncertainty, judge.

use super::assume::{self, ADHESIVE_U, Assume, Origins};
use super::count::turns_per_layer;
use super::figures::{AsIs, Figures, FiguresAt as At, Fixed, Shape, Spacing, figures, joined, layer_diameters};
use super::findings::{Finding, Judged, judge};
use super::inductance::inductance;
use super::laid::Laid;
use super::lay::{self, LayError};
use super::range::{self, OutOfRange};
use super::spec::CoilSpec;
use super::tension::{Tension, tension};
use super::windings::{Windings, field, windings};
use crate::former::Sector;
use crate::measured::{Input, Inputs, Measured, Propagated};
use crate::motor::Field;
use crate::origin::Origin;
use crate::quantity::{Inductance, Length, Mass as MassQ, Resistance};

/// Everything about a coil. What could not be computed for want of a parameter is `None` and named in `findings`.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Turns of each layer to wind, first layer first; of windings side by side, those of each of them.
    pub turns_per_layer: Vec<u32>,
    /// Times that the coil goes round while it is wound.
    pub turns: u32,
    /// How the layers are shared out.
    pub laid: Laid,
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
    /// Length of the flat blank; none for a former that is used again or a cone.
    pub blank_length: Option<Length>,
    /// The flat piece of a conical former.
    pub blank_sector: Option<Sector>,
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
    /// The windings of a dual coil by themselves and joined.
    pub windings: Option<Windings>,
    /// Resistance at 20 °C times this is what a meter shows while the winding is at its baking temperature.
    pub bake_ratio: Option<f64>,
    /// What was assumed, given or by default.
    pub assumed: Assume,
    /// What the winder must be told.
    pub findings: Vec<Finding>,
    /// Where each default came from.
    pub origins: Vec<Origin>,
}

impl Design {
    /// Length of wire that works in the field as the windings are joined, m.
    pub fn in_field(&self, field: Field) -> f64 {
        let diameters: Vec<f64> = self.layer_diameters.iter().map(|d| d.value.m()).collect();
        let at = (self.pitch.value.m(), self.width.value.m());
        let resistance = |i: usize| {
            self.windings.as_ref().and_then(|w| w.each.get(i)).map_or(self.dcr.value.ohm(), |w| w.dcr.value.ohm())
        };
        let of = |(i, part)| (self.laid.in_field(part, field, &self.turns_per_layer, &diameters, at), resistance(i));
        self.laid.joined(&self.laid.parts.iter().enumerate().map(of).collect::<Vec<_>>())
    }
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
    /// Wires that cannot lie as asked.
    #[error(transparent)]
    Lay(#[from] LayError),
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
    lay::check(&spec.winding)?;
    range::check(spec)?;
    let laid = Laid::of(&spec.winding);
    let mut origins = Origins(spec.wire.origins.clone());
    let assumed = assume::complete(spec, &mut origins);
    let (turns, spacing) = count(spec, &laid, &assumed)?;
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
        laid: &laid,
        as_is: as_is(spec),
    };
    let middle = Shape::from_array(shape.map(|i| i.value));
    let f = figures(middle, fixed);
    if f.inner_base <= 0.0 {
        return Err(lay::no_room_inside(laid.inside, spec.former.inside_diameter.value).into());
    }
    let field = field(spec, f.width);
    let p = Inputs::new(shape.to_vec()).propagate(|x, out| {
        if let Ok(x) = <[f64; Shape::LEN]>::try_from(x) {
            let x = Shape::from_array(x);
            let f = figures(x, fixed);
            out.extend(f.to_array());
            out.extend(layer_diameters(x, fixed));
            if laid.parts.len() > 1 {
                out.extend(joined(x, fixed, &f, field));
            }
        }
    });
    let windings = windings(spec, middle, fixed, &f, &p, Figures::LEN + turns.len());
    let findings = judge(&Judged {
        spec,
        turns: &turns,
        laid: &laid,
        spacing,
        figures: &f,
        dcr: resistance(&assumed, &p, At::dcr),
        windings: windings.as_ref(),
        least,
        shape: middle,
        as_is: fixed.as_is,
    });
    let inductance_air = inductance(middle, fixed, &f, &p);
    Ok(assemble(
        spec,
        assumed,
        least,
        &f,
        &p,
        laid.clone(),
        turns.clone(),
        windings,
        inductance_air,
        findings,
        origins.0,
    ))
}

/// Turns of each layer, and how pitch and width hang together.
pub(super) fn count(spec: &CoilSpec, laid: &Laid, assumed: &Assume) -> Result<(Vec<u32>, Spacing), DesignError> {
    lay::check(&spec.winding)?;
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
    let overall = along(spec).value;
    let turns = turns_per_layer(w, laid, assumed.upper_layers, overall, overall * assumed.pitch_factor.value);
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

/// Extent of one wire away from the former: over the bond coat if it has one.
fn away(spec: &CoilSpec) -> Measured<Length> {
    let lay = &spec.winding.lay;
    let over = lay.ribbon.map(|r| r.over_width).or(lay.bond.and_then(|b| b.overall));
    let relative = spec.wire.overall.u / spec.wire.overall.value;
    over.map_or(spec.wire.overall, |o| with_u(o, relative))
}

/// Extent of one wire along the former.
fn along(spec: &CoilSpec) -> Measured<Length> {
    spec.winding
        .lay
        .ribbon
        .map_or_else(|| away(spec), |r| with_u(r.over_thickness, spec.wire.overall.u / spec.wire.overall.value))
}

/// A dimension of which no doubt was stated is as doubtful, in proportion, as the wire's overall diameter.
fn with_u(m: Measured<Length>, relative: f64) -> Measured<Length> {
    if m.u > Length::ZERO { m } else { Measured::new(m.value, m.value * relative) }
}

/// Which dimensions count.
pub(super) fn as_is(spec: &CoilSpec) -> AsIs {
    let outside = spec.former.particulars.outside();
    AsIs {
        ribbon: spec.winding.lay.ribbon.is_some(),
        bonded: spec.winding.lay.bond.is_some(),
        reused: outside.is_some(),
        fit_over: outside.map_or(0.0, |o| (o.greatest - o.mean.value).m()),
        cone: spec.former.particulars.cone,
        kept: spec.former.kept(),
    }
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
        away(spec).input(),
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
        or_zero(spec.winding.lay.space),
        or_zero(spec.winding.lay.paper),
        wire.overall.input(),
        a.bond.input(),
        along(spec).input(),
        or_zero(spec.former.particulars.outside().map(|o| o.mean)),
    ]
}

#[allow(clippy::too_many_arguments)]
fn assemble(
    spec: &CoilSpec,
    assumed: Assume,
    least: Option<(Length, Length)>,
    f: &Figures,
    p: &Propagated,
    laid: Laid,
    turns: Vec<u32>,
    windings: Option<Windings>,
    inductance_air: Measured<Inductance>,
    findings: Vec<Finding>,
    origins: Vec<Origin>,
) -> Design {
    let gap = spec.gap.as_ref();
    let pole = gap.and_then(|g| g.pole);
    let bore = gap.and_then(|g| g.bore);
    let overhang: Option<Measured<Length>> = gap.and_then(|g| g.plate).map(|_| p.measured(At::overhang as usize));
    let offset = spec.offset.unwrap_or(Length::ZERO);
    let as_is = as_is(spec);
    // Layers inside the former are wound on the mandrel themselves.
    let wound_on = if laid.inside > 0 { Length::from_m(f.inner_base) } else { spec.former.inside_diameter.value };
    Design {
        turns: laid.revolutions(&turns),
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
        blank_length: (as_is.cone.is_none() && !as_is.reused).then(|| Length::from_m(f.blank)),
        blank_sector: as_is.cone.filter(|_| !as_is.reused).map(|phi| {
            let narrow = (spec.former.inside_diameter.value + spec.former.wall.value).m();
            Sector::of_cone(narrow, phi, spec.former.height.map_or(0.0, |h| h.value.m()))
        }),
        blank_width: spec.former.height.filter(|_| as_is.cone.is_none() && !as_is.reused).map(|h| h.value),
        mandrel: wound_on - spec.former.shims * 2.0,
        mass: Mass {
            conductor: p.measured(At::conductor_mass as usize),
            wire: p.measured(At::wire_mass as usize),
            former: spec.former.height.map(|_| p.measured(At::former_mass as usize)),
            adhesive: p.measured(At::adhesive_mass as usize),
            adhesive_parts: [At::void_mass, At::film_mass, At::skin_mass].map(|at| p.measured(at as usize)),
        },
        inductance_air,
        overhang,
        one_sided_travel: overhang.map(|o| Measured::new(o.value.abs() - offset.abs(), o.u)),
        tension: tension(spec.wire.conductor, spec.wire.bare.value, turns.len()),
        turn: resistance(&assumed, p, At::turn),
        turns_per_layer: turns,
        laid,
        windings,
        bake_ratio: spec.winding.lay.bond.and_then(|b| b.bake).map(|t| spec.wire.conductor.resistance_ratio(t)),
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

#[cfg(test)]
mod kinds;
#[cfg(test)]
mod tests;
