//! The formulas: from the dimensions of wire, former and winding to lengths, diameters, resistances and masses.
//!
//! Everything here is plain numbers in SI units, so that the same lines serve the estimate and, nudged by one uncertainty
//! at a time, its doubt. The count of turns is fixed by the caller: a floor has no slope.

use super::laid::{Laid, Part};
use super::lay::Connect;
use crate::former::{Sector, blank_length};
use crate::motor::Field;
use crate::quantity::Length;
use core::f64::consts::{FRAC_PI_4, PI};

pub use super::shape::{AsIs, Figures, FiguresAt, Fixed, Shape, ShapeAt, Spacing};

/// Computes the figures of a coil.
///
/// ```text
/// D₀ = ID + 2t + 2g          D_i = D₀ + o + 2(i−1)·(b·o + paper)          h = o·(1 + b(n−1)) + (n−1)·paper
/// L = Σ N_i·√((πD_i)² + (m·p)²)
/// nested OD = D₀ + 2h        cross-over OD = D₀ + 2n·o + 2(n−1)·paper + 2k_s + 2·wrap
/// R20 = r20·(L·(1+ε_R) + leads)/m
/// need = m·(L + tails + threading)          draw = m·(L/(1+ε_L) + tails + threading)
/// wire = m·m'·(L/(1+ε_L) + leads)           former = ρ·(π(ID+t) − slit)·t·height
/// adhesive = ρ_a·(void + film + skin):  void = π(D₀+h)·W·h − m·L/(1+ε_L)·πo²/4,  film = πD₀·W·g,  skin = π·OD_nested·W·k_s
/// ```
///
/// Length and mass use the nested diameter; the fit in the gap always uses the cross-over, where every layer stands on
/// top of the one below. m wires in hand, one as a rule; lengths, masses and needs are added over the windings of a dual
/// coil, resistances as they are joined. Layers inside the former stand on D_in = ID − 2n_i·o − 2(n_i−1)·paper − 2g, and
/// the pole sees those. A former that is used again has a measured outside in place of ID + 2t, and its thickest place
/// counts for the fit. Rectangular wire: o is its extent away from the former, its extent along it sets the pitch, its
/// section replaces πo²/4. Self-bonding wire: o over the bond coat, whose mass is added; no adhesive. Paper is taken as
/// soaked: its volume counts as adhesive.
pub fn figures(x: Shape, fixed: Fixed) -> Figures {
    let (o, laid, as_is) = (x.overall, fixed.laid, fixed.as_is);
    let outer = (laid.layers - laid.inside) as f64;
    let (pitch, width) = spacing(x, fixed);
    let base = base_diameter(x, as_is);
    let build = build(x, outer);
    let per_part: Vec<PartFigures> = (0..laid.parts.len()).map(|i| part(x, fixed, pitch, i)).collect();
    let sum = |f: &dyn Fn(&PartFigures) -> f64| per_part.iter().map(|p| p.wires * f(p)).sum::<f64>();
    let resistances: Vec<f64> = per_part.iter().map(|p| p.dcr).collect();
    let dcr = laid.resistance(&resistances);
    let bare = Length::from_m(x.bare);
    let r20 = r20(x, fixed);
    let outside_nested = base + 2.0 * build;
    let outside_crossover =
        base + 2.0 * outer * o + 2.0 * x.skin + 2.0 * x.wrap + 2.0 * (outer - 1.0) * x.paper + as_is.fit_over;
    let clearance_outer = (x.bore - outside_crossover) / 2.0;
    let inner_base = if laid.inside > 0 { inner_base(x, laid) } else { x.inside };
    let filled = width - x.space * f64::from(laid.beside - 1);
    let (mut rings, mut films) = (PI * (base + build) * filled * build, PI * base * filled * x.glue);
    if laid.inside > 0 {
        let inner_build = self::build(x, laid.inside as f64);
        rings += PI * (inner_base + inner_build) * filled * inner_build;
        films += PI * x.inside * filled * x.glue;
    }
    let wound = sum(&|p| p.wound);
    let void = (rings - if as_is.ribbon { wound * o * x.axial } else { wound * FRAC_PI_4 * o * o }).max(0.0);
    let skin = PI * outside_nested * filled * x.skin;
    let adhesive = if as_is.bonded { 0.0 } else { fixed.adhesive_density * x.adhesive_factor };
    let metal = fixed.wire.conductor.density().kg_per_m3() * FRAC_PI_4 * sq(x.bare);
    let under = if as_is.bonded && !as_is.ribbon { x.under_bond } else { o };
    let coat = if as_is.bonded && !as_is.ribbon { x.bond_density * FRAC_PI_4 * (sq(o) - sq(under)) } else { 0.0 };
    let covered = if as_is.ribbon { fixed.wire.overall.value } else { Length::from_m(under) };
    let last = layer_diameters(x, fixed).last().unwrap_or(0.0);
    let with_leads = sum(&|p| p.wound + x.leads);
    let blank = blank_length(x.inside, x.wall, fixed.slit);
    Figures {
        pitch,
        width,
        wound_width: filling(x, fixed, pitch),
        base,
        length: sum(&|p| p.length),
        need: sum(&|p| p.need),
        draw: sum(&|p| p.wound + x.tails + x.threading),
        dcr,
        dcr_bench: dcr * fixed.bench_ratio,
        outside_nested,
        outside_crossover,
        clearance_inner: (inner_base - x.pole) / 2.0,
        clearance_outer,
        clearance_outer_hot: clearance_outer - fixed.hot_growth * outside_crossover / 2.0,
        blank,
        conductor_mass: metal * with_leads,
        wire_mass: (fixed.wire.g_per_m_at(bare, covered, x.mass_factor).kg_per_m() + coat) * with_leads,
        former_mass: former_mass(x, fixed, blank) * as_is.kept,
        adhesive_mass: adhesive * (void + films + skin),
        void_mass: adhesive * void,
        film_mass: adhesive * films,
        skin_mass: adhesive * skin,
        overhang: (width - x.plate) / 2.0,
        turn: r20 * (1.0 + x.resistance_excess) * PI * last / per_part.last().map_or(1.0, |p| p.wires),
        inner_base,
    }
}

/// The figures of one winding, SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartFigures {
    /// Wires in parallel in it.
    pub wires: f64,
    /// L: length of one of its wires in the winding, before it stretches.
    pub length: f64,
    /// The same, stretched.
    pub wound: f64,
    /// One unbroken length to ask of a spool: L + tails + threading.
    pub need: f64,
    /// Resistance at 20 °C with leads.
    pub dcr: f64,
}

/// The figures of winding `i`, at this pitch.
pub fn part(x: Shape, fixed: Fixed, pitch: f64, i: usize) -> PartFigures {
    let laid = fixed.laid;
    let Some(p) = laid.parts.get(i) else {
        return PartFigures { wires: 0.0, length: 0.0, wound: 0.0, need: 0.0, dcr: 0.0 };
    };
    let advance = pitch * f64::from(laid.hands);
    let length: f64 = layer_diameters(x, fixed)
        .zip(fixed.turns)
        .skip(p.first)
        .take(p.layers)
        .map(|(d, n)| f64::from(*n) * libm::sqrt(sq(PI * d) + sq(advance)))
        .sum();
    let wires = f64::from(p.wires);
    PartFigures {
        wires,
        length,
        wound: length / (1.0 + x.elongation),
        need: length + x.tails + x.threading,
        dcr: r20(x, fixed) * (length * (1.0 + x.resistance_excess) + x.leads) / wires,
    }
}

/// Length of wire of every winding that works in the field, m, and the winding's resistance.
fn each_in_field(x: Shape, fixed: Fixed, f: &Figures, field: Field) -> Vec<(f64, f64)> {
    let diameters: Vec<f64> = layer_diameters(x, fixed).collect();
    let of = |(i, p): (usize, &Part)| {
        let in_it = fixed.laid.in_field(p, field, fixed.turns, &diameters, (f.pitch, f.width));
        (in_it, part(x, fixed, f.pitch, i).dcr)
    };
    fixed.laid.parts.iter().enumerate().map(of).collect()
}

/// Length of wire that works in the field as the windings are joined, m: Bl is proportional to it.
pub fn in_field(x: Shape, fixed: Fixed, f: &Figures, field: Field) -> f64 {
    fixed.laid.joined(&each_in_field(x, fixed, f, field))
}

/// The figures of the windings of a dual coil, in this order: of each its length, need, resistance and field; then
/// resistance and field of both in series, and of both in parallel.
pub(super) fn joined(x: Shape, fixed: Fixed, f: &Figures, field: Field) -> Vec<f64> {
    let mut all = Vec::new();
    let each = each_in_field(x, fixed, f, field);
    for (i, (in_it, dcr)) in each.iter().enumerate() {
        let p = part(x, fixed, f.pitch, i);
        all.extend([p.length, p.need, *dcr, *in_it]);
    }
    let resistances: Vec<f64> = each.iter().map(|e| e.1).collect();
    for connect in [Connect::Series, Connect::Parallel] {
        let laid = Laid { connect, ..fixed.laid.clone() };
        all.extend([laid.resistance(&resistances), laid.joined(&each)]);
    }
    all
}

/// Mean diameter of each layer from the inside out, in metres: D_i = D₀ + o + 2(i−1)·(b·o + paper) outside the former.
pub fn layer_diameters(x: Shape, fixed: Fixed) -> impl Iterator<Item = f64> {
    let (base, inner, inside) = (base_diameter(x, fixed.as_is), inner_base(x, fixed.laid), fixed.laid.inside);
    (0..fixed.laid.layers).map(move |i| {
        let (from, i) = if i < inside { (inner, i) } else { (base, i - inside) };
        from + x.overall + 2.0 * i as f64 * x.nesting * x.overall + 2.0 * i as f64 * x.paper
    })
}

/// p and W.
fn spacing(x: Shape, fixed: Fixed) -> (f64, f64) {
    let (groups, beside) = (groups(fixed), f64::from(fixed.laid.beside));
    let axial = axial(x, fixed);
    match fixed.spacing {
        Spacing::WidthFilled => (x.pitch_factor * axial, x.width),
        Spacing::CountInWidth => (((x.width - x.space * (beside - 1.0)) / beside - axial) / groups, x.width),
        Spacing::CountAlone => {
            let one = groups * x.pitch_factor * axial + axial;
            (x.pitch_factor * axial, one * beside + x.space * (beside - 1.0))
        }
    }
}

/// Width that the count takes at this pitch.
fn filling(x: Shape, fixed: Fixed, pitch: f64) -> f64 {
    let beside = f64::from(fixed.laid.beside);
    (groups(fixed) * pitch + axial(x, fixed)) * beside + x.space * (beside - 1.0)
}

/// Pitches from the first wire of the longest layer to its last: m·N + (m − 1), which is N for one wire.
fn groups(fixed: Fixed) -> f64 {
    let most = f64::from(fixed.turns.iter().copied().max().unwrap_or(0));
    let m = f64::from(fixed.laid.hands);
    m * most + (m - 1.0)
}

/// Extent of one wire along the former.
fn axial(x: Shape, fixed: Fixed) -> f64 {
    if fixed.as_is.ribbon { x.axial } else { x.overall }
}

/// h = o·(1 + b(n−1)) + (n−1)·paper.
fn build(x: Shape, layers: f64) -> f64 {
    x.overall * (1.0 + x.nesting * (layers - 1.0)) + (layers - 1.0) * x.paper
}

/// Ohms of a metre at 20 °C.
fn r20(x: Shape, fixed: Fixed) -> f64 {
    fixed.wire.ohm_per_m_at(Length::from_m(x.bare), x.resistance_factor).ohm_per_m()
}

/// Former without its holes.
fn former_mass(x: Shape, fixed: Fixed, blank: f64) -> f64 {
    match fixed.as_is.cone {
        None => x.former_density * blank * x.wall * x.height,
        Some(phi) => x.former_density * Sector::of_cone(x.inside + x.wall, phi, x.height).area(fixed.slit) * x.wall,
    }
}

/// D₀ = ID + 2t + 2g, or the measured outside and 2g.
fn base_diameter(x: Shape, as_is: AsIs) -> f64 {
    if as_is.reused { x.former_outside + 2.0 * x.glue } else { x.inside + 2.0 * x.wall + 2.0 * x.glue }
}

/// D_in: the diameter that the layers inside the former begin on, every one standing on top of the one below.
fn inner_base(x: Shape, laid: &Laid) -> f64 {
    let n = laid.inside as f64;
    x.inside - 2.0 * n * x.overall - 2.0 * (n - 1.0).max(0.0) * x.paper - 2.0 * x.glue
}

fn sq(x: f64) -> f64 {
    x * x
}
