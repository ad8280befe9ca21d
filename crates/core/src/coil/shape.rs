//! What the formulas of a coil take and give: dimensions that carry uncertainty, what stays fixed, and the figures.

use super::laid::Laid;
use crate::wire::Wire;

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
        /// Free width between two windings side by side.
        space,
        /// Paper between layers.
        paper,
        /// Diameter over the enamel and under the bond coat; not used where there is none.
        under_bond,
        /// Density of the bond coat, kg/m³.
        bond_density,
        /// Extent of a rectangular wire along the former; not used for round wire.
        axial,
        /// Outside diameter of a former that is used again; not used for a new one.
        former_outside,
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
    /// Which windings there are and how they join.
    pub laid: &'a Laid,
    /// What the dimensions mean.
    pub as_is: AsIs,
}

/// Which dimensions count, and what is known for certain of wire and former.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AsIs {
    /// The wire is rectangular: `overall` away from the former, `axial` along it.
    pub ribbon: bool,
    /// The wire has a bond coat, and no adhesive is added.
    pub bonded: bool,
    /// The former is used again: its outside was measured.
    pub reused: bool,
    /// How much the thickest place of that former is over its mean, m.
    pub fit_over: f64,
    /// Half the angle at the tip of a conical former, radians.
    pub cone: Option<f64>,
    /// Share of the former's wall that vent holes leave.
    pub kept: f64,
}

impl AsIs {
    /// Round wire on a new former, a plain cylinder.
    pub const PLAIN: AsIs = AsIs { ribbon: false, bonded: false, reused: false, fit_over: 0.0, cone: None, kept: 1.0 };
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
        /// D_in: diameter that the layers inside the former begin on; the former's inside where there are none.
        inner_base,
    }
}
