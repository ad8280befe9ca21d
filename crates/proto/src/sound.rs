//! `coil.sound` and `coil.pair`: what another coil does to a driver, and how far two coils are apart.

use crate::coil::{CoilDesign, FindingAnswer};
use crate::former::OriginAnswer;
use crate::quantity::{Cm2, Db, Figure, G, Hz, M, Mm, Ohm, One, Pct, Reading, Setting, Tm};
use crate::shape::{asks, method, tells};

asks! {
    /// A driver's data: any of the known sets. Bl and a quality may stand for each other; what is missing and can be
    /// assumed is assumed and named among the origins.
    DriverParams {} may {
        /// Re: direct-current resistance of the original coil; that of the original as described if absent.
        re_ohm: Reading<Ohm>,
        /// Bl: force per current.
        bl_tm: Reading<Tm>,
        /// Mms: moving mass with its air load.
        mms_g: Reading<G>,
        /// fs: resonance in free air.
        fs_hz: Reading<Hz>,
        /// Qms: mechanical quality.
        qms: Reading<One>,
        /// Qes: electrical quality.
        qes: Reading<One>,
        /// Qts: total quality.
        qts: Reading<One>,
        /// Sd: effective area of the diaphragm.
        sd_cm2: Reading<Cm2>,
        /// Rated impedance.
        rated_ohm: Setting<Ohm>,
    }
}

asks! {
    /// Sets a substitute coil beside the original in one driver.
    CoilSound {
        /// The driver's data, as they were with the original coil.
        driver: DriverParams,
        /// The original coil.
        original: CoilDesign,
        /// The coil in its place.
        substitute: CoilDesign,
    } may {
        /// Whether both are wound from one spool, so that its wire cannot set them apart; no if absent.
        same_spool: bool,
    }
}

method!(CoilSound => CoilSounded, "coil.sound", "Sets a substitute beside the original in one driver: force, mass, resonance, qualities and level, the change with its uncertainty, and what it means.");

tells! {
    /// A driver's figures with one coil.
    SoundFigures {
        /// Re.
        re_ohm: Figure<Ohm>,
    } may {
        /// Bl.
        bl_tm: Figure<Tm>,
        /// Mms.
        mms_g: Figure<G>,
        /// fs.
        fs_hz: Figure<Hz>,
        /// Qes.
        qes: Figure<One>,
        /// Qms.
        qms: Figure<One>,
        /// Qts.
        qts: Figure<One>,
        /// Level at 1 m for 1 W into Re, half space.
        db_1w: Figure<Db>,
        /// Level at 1 m for 2.83 V, half space.
        db_2v83: Figure<Db>,
    }
}

tells! {
    /// Substitute less original; what both have in common falls out.
    SoundChange {
        /// Re.
        re_ohm: Figure<Ohm>,
        /// Re, in per cent.
        re_pct: Figure<Pct>,
        /// Bl, in per cent.
        bl_pct: Figure<Pct>,
        /// Mass of the coil.
        coil_g: Figure<G>,
    } may {
        /// Bl.
        bl_tm: Figure<Tm>,
        /// Mms.
        mms_g: Figure<G>,
        /// fs.
        fs_hz: Figure<Hz>,
        /// Qes.
        qes: Figure<One>,
        /// Qms.
        qms: Figure<One>,
        /// Qts.
        qts: Figure<One>,
        /// Qts, in per cent.
        qts_pct: Figure<Pct>,
        /// Level for 1 W.
        db_1w: Figure<Db>,
        /// Level for 2.83 V.
        db_2v83: Figure<Db>,
    }
}

tells! {
    /// Original and substitute in one driver.
    CoilSounded {
        /// With the original.
        original: SoundFigures,
        /// With the substitute.
        substitute: SoundFigures,
        /// Substitute less original.
        change: SoundChange,
        /// What it means.
        sentence: String,
        /// What must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
    } may {}
}

asks! {
    /// Sets two coils side by side.
    CoilPair {
        /// One.
        first: CoilDesign,
        /// The other.
        second: CoilDesign,
    } may {
        /// Whether both are wound from one spool; yes if absent and both name the same wire.
        same_spool: bool,
        /// What the meter showed for the first, at one temperature and on the leads of the second's.
        first_reading_ohm: Reading<Ohm>,
        /// What the meter showed for the second.
        second_reading_ohm: Reading<Ohm>,
        /// The driver that both go into.
        driver: DriverParams,
    }
}

method!(CoilPair => CoilPaired, "coil.pair", "Sets two coils side by side: their difference, with the errors that both have in common cancelled.");

tells! {
    /// One coil of a pair.
    PairedCoil {
        /// Turns.
        turns: u32,
        /// Wire in the winding.
        length_m: Figure<M>,
        /// Resistance at 20 °C with leads.
        dcr_ohm: Figure<Ohm>,
        /// Outside diameter at the cross-over.
        outside_crossover_mm: Figure<Mm>,
        /// Mass of wire, adhesive and, if its height is known of both, former.
        coil_g: Figure<G>,
    } may {}
}

tells! {
    /// Second less first.
    PairDifference {
        /// Resistance.
        dcr_ohm: Figure<Ohm>,
        /// Resistance, in per cent of the first.
        dcr_pct: Figure<Pct>,
        /// What the uncertainty of `dcr_ohm` would be if the two had nothing in common.
        dcr_u_if_apart_ohm: Setting<Ohm>,
        /// Mass.
        coil_g: Figure<G>,
        /// Outside diameter at the cross-over.
        outside_crossover_mm: Figure<Mm>,
        /// Force per current in one motor, in per cent.
        bl_pct: Figure<Pct>,
    } may {
        /// The two readings, in per cent of the first.
        reading_pct: Figure<Pct>,
        /// Level for 1 W in that driver.
        db_1w: Figure<Db>,
        /// Level for 2.83 V.
        db_2v83: Figure<Db>,
        /// Resonance.
        fs_hz: Figure<Hz>,
        /// Qts, in per cent.
        qts_pct: Figure<Pct>,
    }
}

tells! {
    /// Two coils side by side.
    CoilPaired {
        /// The first.
        first: PairedCoil,
        /// The second.
        second: PairedCoil,
        /// Second less first.
        difference: PairDifference,
        /// Whether they were taken to be of one spool.
        same_spool: bool,
        /// What it means.
        sentence: String,
        /// What must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
    } may {}
}
