//! The formulas: from the dimensions of wire, former and winding to lengths, diameters, resistances and masses.
//!
//! Everything here is plain numbers in SI units, so that the same lines serve the estimate and, nudged by one uncertainty
//! at a time, its doubt. The count of turns is fixed by the caller: a floor has no slope.

use crate::former::blank_length;
use crate::quantity::Length;
use crate::wire::Wire;
use core::f64::consts::{FRAC_PI_4, PI};

/// A struct of numbers that can also be walked as a list: the propagation of uncertainty wants lists, people want names.
macro_rules! numbers {
    ($(#[$doc:meta])* $name:ident, $at:ident { $( $(#[$field_doc:meta])* $field:ident, )+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name { $( $(#[$field_doc])* pub $field: f64, )+ }

        #[doc = concat!("Places of the members of [`", stringify!($name), "`] in its list.")]
        #[allow(non_camel_case_types, missing_docs)]
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $at { $( $field, )+ }

        impl $name {
            /// Number of members.
            pub const LEN: usize = [$( stringify!($field) ),+].len();
            /// As a list, in the order of declaration.
            pub fn to_array(self) -> [f64; Self::LEN] { [$( self.$field ),+] }
            /// From that list.
            pub fn from_array(list: [f64; Self::LEN]) -> Self { let [$( $field ),+] = list; Self { $( $field ),+ } }
        }
    };
}

numbers! {
    /// The dimensions that carry uncertainty, in SI units.
    Shape, ShapeAt {
        /// ID: inside diameter of the former.
        inside,
        /// t: wall of the former.
        wall,
        /// g: film of glue under the first layer.
        glue,
        /// k_s: skin of adhesive over the winding, one side.
        skin,
        /// Collar or wrap over the winding, one side.
        wrap,
        /// d: bare diameter.
        bare,
        /// o: overall diameter.
        overall,
        /// What else moves the resistance per metre, as a factor.
        resistance_factor,
        /// What else moves the mass per metre, as a factor.
        mass_factor,
        /// k: pitch over overall diameter.
        pitch_factor,
        /// b: radial step over overall diameter.
        nesting,
        /// ε_R: excess of the wound resistance per metre.
        resistance_excess,
        /// ε_L: elongation.
        elongation,
        /// Magnet wire to the terminals.
        leads,
        /// Wire beyond the winding, leads within.
        tails,
        /// Wire lost in threading.
        threading,
        /// W: width outside to outside; not used where only a count is known.
        width,
        /// Diameter of the pole.
        pole,
        /// Bore of the top plate.
        bore,
        /// Thickness of the top plate.
        plate,
        /// Height of the former.
        height,
        /// Density of the former, kg/m³.
        former_density,
        /// What moves the mass of adhesive, as a factor.
        adhesive_factor,
    }
}

/// How pitch and width hang together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spacing {
    /// A width to fill: p = k·o, the turns follow.
    WidthFilled,
    /// A count in a width: p = (W − o)/max N.
    CountInWidth,
    /// A count alone: p = k·o and W = max N·p + o.
    CountAlone,
}

/// What stays fixed while the dimensions are nudged.
#[derive(Debug, Clone, Copy)]
pub struct Fixed<'a> {
    /// The wire, for what a metre of it resists and weighs.
    pub wire: &'a Wire,
    /// Turns of each layer.
    pub turns: &'a [u32],
    /// How pitch and width hang together.
    pub spacing: Spacing,
    /// Width of the slit, m.
    pub slit: f64,
    /// Density of the adhesive, kg/m³.
    pub adhesive_density: f64,
    /// Resistance at the bench over resistance at 20 °C.
    pub bench_ratio: f64,
    /// Growth of the winding's outside diameter from bench to working temperature, as a fraction.
    pub hot_growth: f64,
}

numbers! {
    /// The results, in SI units. Those that need a dimension nobody gave are computed from zeros and must not be used.
    Figures, FiguresAt {
        /// p.
        pitch,
        /// W as given, or as the count makes it.
        width,
        /// max N·p + o: the width that this count takes at this pitch.
        wound_width,
        /// D₀: diameter under the first layer.
        base,
        /// L: wire in the winding, before it stretches.
        length,
        /// Wire to ask of a spool: L + tails + threading, no credit for stretch.
        need,
        /// Wire expected to leave the spool: L/(1+ε_L) + tails + threading.
        draw,
        /// Resistance at 20 °C with leads.
        dcr,
        /// Resistance at the bench with leads.
        dcr_bench,
        /// Outside diameter with nested layers.
        outside_nested,
        /// Outside diameter at the cross-over, skin and wrap included.
        outside_crossover,
        /// Clearance between pole and former, one side.
        clearance_inner,
        /// Clearance between winding and plate at the cross-over, one side.
        clearance_outer,
        /// The same with the coil hot and the bore cold.
        clearance_outer_hot,
        /// Length of the former's blank.
        blank,
        /// Metal in winding and leads.
        conductor_mass,
        /// Winding and leads with their insulation.
        wire_mass,
        /// Former, less the slit.
        former_mass,
        /// Adhesive in voids, film and skin.
        adhesive_mass,
        /// Of it, between the turns.
        void_mass,
        /// Of it, between former and first layer.
        film_mass,
        /// Of it, over the winding.
        skin_mass,
        /// (W − plate)/2.
        overhang,
        /// Resistance of one turn of the outermost layer at 20 °C.
        turn,
    }
}

/// Computes the figures of a coil.
///
/// ```text
/// D₀ = ID + 2t + 2g          D_i = D₀ + o + 2(i−1)·b·o          h = o·(1 + b(n−1))
/// L = Σ N_i·√((πD_i)² + p²)
/// nested OD = D₀ + 2h        cross-over OD = D₀ + 2n·o + 2k_s + 2·wrap
/// R20 = r20·(L·(1+ε_R) + leads)
/// need = L + tails + threading          draw = L/(1+ε_L) + tails + threading
/// wire = m'·(L/(1+ε_L) + leads)         former = ρ·(π(ID+t) − slit)·t·height
/// adhesive = ρ_a·(void + film + skin):  void = π(D₀+h)·W·h − L/(1+ε_L)·πo²/4,  film = πD₀·W·g,  skin = π·OD_nested·W·k_s
/// ```
///
/// Length and mass use the nested diameter; the fit in the gap always uses the cross-over, where every layer stands on
/// top of the one below.
pub fn figures(x: Shape, fixed: Fixed) -> Figures {
    let o = x.overall;
    let layers = fixed.turns.len() as f64;
    let most = f64::from(fixed.turns.iter().copied().max().unwrap_or(0));
    let (pitch, width) = match fixed.spacing {
        Spacing::WidthFilled => (x.pitch_factor * o, x.width),
        Spacing::CountInWidth => ((x.width - o) / most, x.width),
        Spacing::CountAlone => (x.pitch_factor * o, most * x.pitch_factor * o + o),
    };
    let base = base_diameter(x);
    let build = o * (1.0 + x.nesting * (layers - 1.0));
    let length: f64 = layer_diameters(x, fixed.turns.len())
        .zip(fixed.turns)
        .map(|(d, n)| f64::from(*n) * libm::sqrt(sq(PI * d) + sq(pitch)))
        .sum();
    let wound = length / (1.0 + x.elongation);
    let bare = Length::from_m(x.bare);
    let r20 = fixed.wire.ohm_per_m_at(bare, x.resistance_factor).ohm_per_m();
    let dcr = r20 * (length * (1.0 + x.resistance_excess) + x.leads);
    let outside_nested = base + 2.0 * build;
    let outside_crossover = base + 2.0 * layers * o + 2.0 * x.skin + 2.0 * x.wrap;
    let clearance_outer = (x.bore - outside_crossover) / 2.0;
    let blank = blank_length(x.inside, x.wall, fixed.slit);
    let void = (PI * (base + build) * width * build - wound * FRAC_PI_4 * o * o).max(0.0);
    let film = PI * base * width * x.glue;
    let skin = PI * outside_nested * width * x.skin;
    let adhesive = fixed.adhesive_density * x.adhesive_factor;
    let metal = fixed.wire.conductor.density().kg_per_m3() * FRAC_PI_4 * sq(x.bare);
    let last = layer_diameters(x, fixed.turns.len()).last().unwrap_or(0.0);
    Figures {
        pitch,
        width,
        wound_width: most * pitch + o,
        base,
        length,
        need: length + x.tails + x.threading,
        draw: wound + x.tails + x.threading,
        dcr,
        dcr_bench: dcr * fixed.bench_ratio,
        outside_nested,
        outside_crossover,
        clearance_inner: (x.inside - x.pole) / 2.0,
        clearance_outer,
        clearance_outer_hot: clearance_outer - fixed.hot_growth * outside_crossover / 2.0,
        blank,
        conductor_mass: metal * (wound + x.leads),
        wire_mass: fixed.wire.g_per_m_at(bare, Length::from_m(o), x.mass_factor).kg_per_m() * (wound + x.leads),
        former_mass: x.former_density * blank * x.wall * x.height,
        adhesive_mass: adhesive * (void + film + skin),
        void_mass: adhesive * void,
        film_mass: adhesive * film,
        skin_mass: adhesive * skin,
        overhang: (width - x.plate) / 2.0,
        turn: r20 * (1.0 + x.resistance_excess) * PI * last,
    }
}

/// Mean diameter of each of `layers` layers, D_i = D₀ + o + 2(i−1)·b·o, in metres.
pub fn layer_diameters(x: Shape, layers: usize) -> impl Iterator<Item = f64> {
    (0..layers).map(move |i| base_diameter(x) + x.overall + 2.0 * i as f64 * x.nesting * x.overall)
}

/// D₀ = ID + 2t + 2g.
fn base_diameter(x: Shape) -> f64 {
    x.inside + 2.0 * x.wall + 2.0 * x.glue
}

fn sq(x: f64) -> f64 {
    x * x
}
