//! `coil.match` and `coil.fit`: which wire, layers and width for a target; the thickest wire for a gap, the width for a wire.

use crate::coil::{AssumeParams, CoilDesign, FindingAnswer, FormerParams, GapParams};
use crate::former::OriginAnswer;
use crate::quantity::{C, Db, Figure, G, Hz, M, Mm, Ohm, Pct, Reading, Setting};
use crate::reference::{FormerRef, WireRef};
use crate::shape::{asks, method, tells};
use crate::sound::DriverParams;
use crate::wire::Metal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// Asks for every coil that meets a target.
    CoilMatch {
        /// The former.
        former: MatchFormer,
        /// The resistance wanted.
        target: MatchTarget,
        /// Between which widths the winding may be.
        width_mm: WidthRange,
    } may {
        /// The magnetic gap: without its bore nothing is too fat.
        gap: GapParams,
        /// Layer counts allowed, 1 to 12; 1 to 6 if absent.
        layers: Vec<u32>,
        /// Wire from the shelf or from the catalog; both, the shelf first, if absent.
        from: MatchFrom,
        /// Only these wires.
        wires: Vec<WireRef>,
        /// Greatest mass of winding, adhesive and, where its height is known, former.
        mass_max_g: Setting<G>,
        /// The sound to come close to.
        sound: MatchSound,
        /// Magnet wire between winding and terminals.
        leads_m: Reading<M>,
        /// Wire beyond the winding, leads included.
        tails_m: Reading<M>,
        /// Wire lost in threading.
        threading_m: Reading<M>,
        /// Temperature at the bench.
        bench_c: Setting<C>,
        /// Temperature of the working coil.
        hot_c: Setting<C>,
        /// What is assumed otherwise than by default.
        assume: AssumeParams,
        /// At most so many coils in the answer, the closest first; 20 if absent, 200 at most.
        limit: u32,
        /// At most so many near misses; 10 if absent, 100 at most.
        near_limit: u32,
    }
}

method!(CoilMatch => CoilMatched, "coil.match", "Finds every wire, layer count and width that meets a target, from the shelf first, the closest copy first, and the nearest that do not, with by how much.");

asks! {
    /// The former of a match: one material, or several to choose from.
    MatchFormer {
        /// Inside diameter.
        inside_diameter_mm: Reading<Mm>,
    } may {
        /// Its material.
        material: FormerRef,
        /// Its wall.
        wall_mm: Reading<Mm>,
        /// Height along the axis.
        height_mm: Reading<Mm>,
        /// Slit; the material's own if absent.
        slit_mm: Setting<Mm>,
        /// Materials to choose from, in place of `material` and `wall_mm`.
        materials: Vec<MatchMaterial>,
    }
}

asks! {
    /// A material to choose from.
    MatchMaterial {
        /// The material.
        material: FormerRef,
        /// Its wall.
        wall_mm: Reading<Mm>,
    } may {
        /// Slit; the material's own if absent.
        slit_mm: Setting<Mm>,
    }
}

asks! {
    /// The resistance wanted.
    MatchTarget {
        /// At 20 °C, leads included.
        dcr_ohm: Setting<Ohm>,
    } may {
        /// How far it may be off; 3 % if absent.
        tolerance_pct: Setting<Pct>,
        /// Rated impedance of the driver.
        rated_ohm: Setting<Ohm>,
    }
}

asks! {
    /// A range of widths, ends included.
    WidthRange {
        /// Least.
        min: Setting<Mm>,
        /// Greatest.
        max: Setting<Mm>,
    } may {}
}

asks! {
    /// The sound to come close to, and how far from it a copy may be.
    MatchSound {
        /// The driver's data with its original coil.
        driver: DriverParams,
        /// The original coil.
        original: CoilDesign,
    } may {
        /// Greatest change of level for 1 W, either way.
        level_db: Setting<Db>,
        /// Greatest change of Qts, either way.
        qts_pct: Setting<Pct>,
        /// Greatest change of resonance, either way.
        fs_pct: Setting<Pct>,
    }
}

/// Where the wire comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MatchFrom {
    /// One spool of the shop holds enough.
    Shelf,
    /// A source lists the wire: it can be bought.
    Catalog,
}

tells! {
    /// Coils that meet the target, and the nearest that do not.
    CoilMatched {
        /// The coils, shelf before catalog, the closest first.
        feasible: Vec<MatchedCoil>,
        /// The nearest misses, the nearest first.
        near: Vec<NearMiss>,
        /// How much was looked at.
        searched: MatchSearched,
        /// What must be told of the question as a whole.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
        /// The last entry of the journal that the shelf was read at.
        seq: u64,
    } may {}
}

tells! {
    /// A coil that meets the target.
    MatchedCoil {
        /// Where its wire comes from.
        from: MatchFrom,
        /// The wire: take it as it stands for `coil.design`.
        wire: WireRef,
        /// The wire in words.
        label: String,
        /// The former's material.
        material: FormerRef,
        /// Its wall.
        wall_mm: Setting<Mm>,
        /// Layers.
        layers: u32,
        /// Turns of each layer, first layer first.
        turns_per_layer: Vec<u32>,
        /// Their sum.
        turns: u32,
        /// Width to wind.
        width_mm: Setting<Mm>,
        /// Up to this width the turns stay the same.
        width_most_mm: Setting<Mm>,
        /// Resistance at 20 °C with leads.
        dcr_ohm: Figure<Ohm>,
        /// How far that is off.
        off_pct: Setting<Pct>,
        /// Wire to ask of a spool.
        need_m: Figure<M>,
        /// Mass of winding, adhesive and, where its height is known, former.
        mass_g: Setting<G>,
        /// How far from what is wanted: 0 a perfect copy, 1 at the edge of the tolerance or of what is heard.
        distance: f64,
        /// What to look at, if it is wound.
        watch: Vec<FindingAnswer>,
    } may {
        /// Between winding and plate at the cross-over, one side.
        clearance_outer_mm: Figure<Mm>,
        /// The spool to take: the shortest that is enough.
        spool: String,
        /// What is on it.
        left_m: Figure<M>,
        /// Probability that this coil can be wound from it.
        p_enough: f64,
        /// What the copy sounds like.
        sound: MatchedSound,
    }
}

tells! {
    /// How a copy sounds against the original.
    MatchedSound {
        /// Force per current.
        bl_pct: Figure<Pct>,
        /// What it means.
        sentence: String,
    } may {
        /// Level for 1 W.
        db_1w: Figure<Db>,
        /// Resonance.
        fs_hz: Figure<Hz>,
        /// Qts.
        qts_pct: Figure<Pct>,
    }
}

/// Why a near miss misses, the reason that no width and no trimming mends first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MissReason {
    /// Too fat for the gap at the cross-over: figure and limit are clearances in mm.
    TooFat,
    /// The winding would have to be narrower or wider than allowed, in mm.
    Width,
    /// Resistance outside the tolerance, in Ω.
    Dcr,
    /// Too heavy, in g.
    Mass,
    /// Too loud or too quiet by so many dB, of 0.
    Level,
    /// Qts too far off by so many per cent, of 0.
    Qts,
    /// Resonance too far off by so many per cent, of 0.
    Resonance,
    /// No single spool holds enough, in m.
    SpoolShort,
}

tells! {
    /// A combination that misses.
    NearMiss {
        /// The wire.
        wire: WireRef,
        /// The wire in words.
        label: String,
        /// The former's material.
        material: FormerRef,
        /// Layers.
        layers: u32,
        /// Turns at which it misses least.
        turns: u32,
        /// Width of them.
        width_mm: Setting<Mm>,
        /// Resistance at 20 °C with leads.
        dcr_ohm: Setting<Ohm>,
        /// Why.
        reason: MissReason,
        /// The figure, in the reason's unit.
        figure: f64,
        /// What it is held against.
        limit: f64,
        /// All reasons in words, with by how much.
        text: String,
    } may {
        /// Between winding and plate at the cross-over, one side.
        clearance_outer_mm: Setting<Mm>,
        /// The spool that comes nearest, where wire is short.
        spool: String,
    }
}

tells! {
    /// How much was looked at.
    MatchSearched {
        /// Wires.
        wires: u32,
        /// Wires times formers times layer counts.
        combinations: u64,
        /// Of these, too fat for the gap whatever their width.
        too_fat: u64,
        /// Whole counts of turns that were decided.
        candidates: u64,
        /// Coils that meet everything, those beyond `limit` included; wire on the shelf counts once more.
        feasible: u64,
        /// Spools looked at.
        spools: u32,
    } may {}
}

asks! {
    /// Asks for the thickest wire for a gap, or for the width that gives a wire its resistance.
    CoilFit {
        /// The former.
        former: FormerParams,
    } may {
        /// The magnetic gap: for the thickest wire.
        gap: GapParams,
        /// The wire: for the width.
        wire: WireRef,
        /// The resistance wanted: for the width.
        target: MatchTarget,
        /// Layer counts; 1 to 6 if absent.
        layers: Vec<u32>,
        /// Thickest wires of this metal only; copper if absent.
        conductor: Metal,
        /// Magnet wire between winding and terminals.
        leads_m: Reading<M>,
        /// What is assumed otherwise than by default.
        assume: AssumeParams,
    }
}

method!(CoilFit => CoilFitted, "coil.fit", "Answers the reverse of a design: the thickest wire for a gap, and the width that gives a wire the resistance wanted.");

tells! {
    /// The thickest wires, and the widths.
    CoilFitted {
        /// The thickest wire for each layer count; empty without a bore.
        thickest: Vec<ThickestWire>,
        /// Counts of turns next to the resistance for each layer count, fewest turns first; empty without wire and target.
        widths: Vec<FittedWidth>,
        /// What must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
    } may {}
}

tells! {
    /// The thickest wire for a layer count.
    ThickestWire {
        /// Layers.
        layers: u32,
        /// Greatest overall diameter; negative where the former alone leaves no room.
        overall_mm: Setting<Mm>,
    } may {
        /// The thickest listed wire whose middle diameter fits.
        wire: String,
        /// It in words.
        label: String,
        /// What it leaves free beyond the least clearance.
        spare_mm: Setting<Mm>,
        /// The thickest listed wire that fits even at its greatest allowed diameter.
        surely: String,
        /// It in words.
        surely_label: String,
    }
}

tells! {
    /// A count of turns next to the resistance wanted.
    FittedWidth {
        /// Layers.
        layers: u32,
        /// Turns of each layer.
        turns_per_layer: Vec<u32>,
        /// Their sum.
        turns: u32,
        /// Width that they take.
        width_mm: Setting<Mm>,
        /// Up to this width the turns stay the same.
        width_most_mm: Setting<Mm>,
        /// Resistance at 20 °C with leads.
        dcr_ohm: Figure<Ohm>,
        /// How far that is off.
        off_pct: Setting<Pct>,
        /// Whether that is within the tolerance.
        within: bool,
    } may {
        /// Between winding and plate at the cross-over, one side.
        clearance_outer_mm: Figure<Mm>,
    }
}
