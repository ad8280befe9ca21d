//! `coil.design`: wire, former, winding, gap and target in; everything about the coil out.

mod assume;
mod designed;
mod finding;
mod turns;
mod winding;

use crate::quantity::{C, Deg, M, Mm, Ohm, Pct, Reading, Setting};
use crate::reference::{AdhesiveRef, FormerRef, WireRef};
use crate::shape::{asks, method};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use assume::{AssumeParams, UpperLayers};
pub use designed::{
    BakeAnswer, BlankAnswer, CoilDesigned, CountShare, FilledAnswer, JoinedAnswer, MassAnswer, TensionRange,
    WindingAnswer,
};
pub use finding::{FindingAnswer, FindingLevel};
pub use turns::TurnsPerLayer;
pub use winding::{BondParams, RibbonParams, WindingArrangement, WindingConnect, WindingKind, WindingParams};

asks! {
    /// A coil: what it is wound of, on what, and for which gap and target.
    CoilDesign {
        /// The wire.
        wire: WireRef,
        /// The former.
        former: FormerParams,
        /// The winding.
        winding: WindingParams,
    } may {
        /// Magnet wire between winding and terminals, both ends together: part of the resistance and of the tails.
        leads_m: Reading<M>,
        /// Wire beyond the winding at both ends together, leads included.
        tails_m: Reading<M>,
        /// Wire lost in threading.
        threading_m: Reading<M>,
        /// The magnetic gap.
        gap: GapParams,
        /// What the coil should measure.
        target: TargetParams,
        /// Temperature at the bench.
        bench_c: Setting<C>,
        /// Temperature of the working coil.
        hot_c: Setting<C>,
        /// Middle of the winding above the middle of the top plate.
        offset_mm: Setting<Mm>,
        /// The adhesive that it is wound with: its density, and at the gate its pot life.
        adhesive: AdhesiveRef,
        /// What is assumed otherwise than by default.
        assume: AssumeParams,
    }
}

method!(CoilDesign => CoilDesigned, "coil.design", "Designs a coil: turns, length, resistance, fit in the gap, masses, with uncertainty, findings and the origin of every default.");

/// The former.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FormerParams {
    /// Its material.
    pub material: FormerRef,
    /// Inside diameter.
    pub inside_diameter_mm: Reading<Mm>,
    /// Wall thickness.
    pub wall_mm: Reading<Mm>,
    /// Height along the axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<Reading<Mm>>,
    /// Slit left open between the ends of the blank: 0 closes it. The material's own if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slit_mm: Option<Setting<Mm>>,
    /// Release shims between mandrel and former, on each side.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shims_mm: Vec<Setting<Mm>>,
    /// Six outside diameters of a former that is used again, at three heights two ways: mean for length, greatest for the fit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 6))]
    pub outside_diameters_mm: Vec<Reading<Mm>>,
    /// Vent holes: they take their share of mass and damping.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vents: Option<VentParams>,
    /// Half the angle at the tip of a former that is a cone: its blank is a sector, the winding sits on its narrow end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cone_deg: Option<Setting<Deg>>,
}

asks! {
    /// Round holes in a former's wall.
    VentParams {
        /// How many.
        count: u32,
        /// Their diameter.
        diameter_mm: Setting<Mm>,
    } may {}
}

asks! {
    /// The magnetic gap.
    GapParams {} may {
        /// Diameter of the pole.
        pole_mm: Reading<Mm>,
        /// Bore of the top plate.
        bore_mm: Reading<Mm>,
        /// Thickness of the top plate.
        plate_mm: Reading<Mm>,
        /// Least clearance between pole and former, one side, cold.
        min_inner_mm: Setting<Mm>,
        /// Least clearance between winding and plate, one side, cold.
        min_outer_mm: Setting<Mm>,
    }
}

asks! {
    /// What the coil should measure.
    TargetParams {} may {
        /// Direct-current resistance at 20 °C, leads included.
        dcr_ohm: Setting<Ohm>,
        /// How far it may be off.
        tolerance_pct: Setting<Pct>,
        /// Rated impedance of the driver.
        rated_ohm: Setting<Ohm>,
    }
}
