//! `spool.*`: arrival, readings, promises, and what is left.

use crate::coil::FindingAnswer;
use crate::money::Money;
use crate::quantity::{C, Figure, G, GPerM, M, Ohm, OhmPerM, Pct, Reading, Setting};
use crate::reference::WireRef;
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// A spool arrives.
    SpoolReceive {
        /// The wire on it.
        wire: WireRef,
    } may {
        /// Reel and wire together on the scale. Without it the marked length must tell what is there.
        gross_g: Reading<G>,
        /// The bare reel; left out where nobody knows it.
        tare_g: Reading<G>,
        /// Standard uncertainty of the scale, if `gross_g` does not bring one; the shop's own if left out.
        scale_u_g: Setting<G>,
        /// Length marked on it or carried over from a book.
        marked_m: Reading<M>,
        /// That length is known to rest on a wrong table or an unkept book: it is kept but does not count.
        marked_is_wrong: bool,
        /// What is written on it.
        label: String,
        /// Where it came from.
        supplier: String,
        /// The maker's lot.
        lot: String,
        /// What a kilogram of this wire costs.
        cost_per_kg: Money,
        /// Where it stands.
        place: String,
        /// Anything else.
        note: String,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolReceive => SpoolReceived, "spool.receive", "Takes a spool into stock.", writes: true, leading: ["wire"]);

tells! {
    /// The spool as received.
    SpoolReceived {
        /// Its id from now on.
        spool: String,
        /// What is left on it.
        left_m: Figure<M>,
        /// What was noticed.
        findings: Vec<FindingAnswer>,
        /// Its revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
    } may {}
}

asks! {
    /// A spool is put on the scale.
    SpoolWeigh {
        /// The spool.
        spool: String,
        /// What the scale showed.
        gross_g: Reading<G>,
    } may {
        /// Standard uncertainty of the scale, if `gross_g` does not bring one; the shop's own if left out.
        scale_u_g: Setting<G>,
        /// Only if the spool still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolWeigh => SpoolRead, "spool.weigh", "Takes a weighing of a spool and says what is left.", writes: true, leading: ["spool", "gross_g"]);

asks! {
    /// The wire on a spool is measured from end to end.
    SpoolMeasure {
        /// The spool.
        spool: String,
        /// What the meter showed, test leads included.
        ohm: Setting<Ohm>,
        /// Temperature of the wire.
        temperature_c: Setting<C>,
    } may {
        /// The test leads alone, shorted; 0 if left out.
        test_leads_ohm: Setting<Ohm>,
        /// Standard uncertainty of the meter; the shop's own if left out.
        meter_u_ohm: Setting<Ohm>,
        /// Only if the spool still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolMeasure => SpoolRead, "spool.measure", "Takes a resistance reading of a spool with both ends out and says what is left.", writes: true, leading: ["spool"]);

tells! {
    /// A spool after a reading.
    SpoolRead {
        /// The spool.
        spool: String,
        /// What is left.
        left_m: Figure<M>,
        /// How much that is more or less than before.
        changed_m: Setting<M>,
        /// What was noticed: a reading that disagrees, with its likely cause.
        findings: Vec<FindingAnswer>,
        /// Its revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
    } may {}
}

asks! {
    /// A spool is put elsewhere, or its wire on another reel.
    SpoolMove {
        /// The spool.
        spool: String,
    } may {
        /// Where it stands now.
        place: String,
        /// The wire was wound on another reel.
        rewound: bool,
        /// That reel without wire; left out where nobody knows it.
        tare_g: Reading<G>,
        /// Wire cut away in doing so.
        lost_m: Reading<M>,
        /// Only if the spool still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolMove => SpoolRead, "spool.move", "Puts a spool elsewhere, or its wire on another reel.", writes: true, leading: ["spool"]);

asks! {
    /// Wire on a spool is promised.
    SpoolHold {
        /// The spool.
        spool: String,
        /// How much of it.
        hold_m: Setting<M>,
    } may {
        /// What for, in words.
        reason: String,
        /// The job it is for.
        job: String,
        /// Only if the spool still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolHold => SpoolHeld, "spool.hold", "Promises wire on a spool.", writes: true, leading: ["spool", "hold_m"]);

asks! {
    /// A promise is given back.
    SpoolRelease {
        /// The spool.
        spool: String,
        /// The promise.
        hold: String,
    } may {
        /// Why, in words.
        reason: String,
        /// Only if the spool still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolRelease => SpoolHeld, "spool.release", "Gives a promise of wire back.", writes: true, leading: ["spool", "hold"]);

tells! {
    /// The promises on a spool.
    SpoolHeld {
        /// The spool.
        spool: String,
        /// The promise made or given back.
        hold: String,
        /// Sum of all promises on it now.
        held_m: Setting<M>,
        /// What can still be promised with the shop's confidence.
        free_m: Setting<M>,
        /// Its revision.
        rev: u64,
        /// The entry in the journal.
        seq: u64,
    } may {}
}

asks! {
    /// A spool is used no more.
    SpoolRetire {
        /// The spool.
        spool: String,
    } may {
        /// Whether it is empty (the usual case); otherwise its wire is not to be used.
        empty: bool,
        /// The empty reel on the scale: it tells the tare after the event.
        gross_g: Reading<G>,
        /// Standard uncertainty of the scale, if `gross_g` does not bring one; the shop's own if left out.
        scale_u_g: Setting<G>,
        /// Why, in words.
        reason: String,
        /// Only if the spool still is at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(SpoolRetire => SpoolRead, "spool.retire", "Retires a spool: its empty weighing fixes the tare.", writes: true, leading: ["spool"]);

asks! {
    /// Asks for the spools.
    SpoolList {} may {
        /// Only spools of this wire.
        wire: String,
        /// Retired ones too.
        retired: bool,
        /// At most so many; 100 if left out, 1000 at most.
        limit: u32,
        /// Goes on where an earlier answer's `next_cursor` left off.
        cursor: String,
    }
}
method!(SpoolList => SpoolListAnswer, "spool.list", "Lists the spools: what is left, promised and free.");

tells! {
    /// The spools, in order of their ids.
    SpoolListAnswer {
        /// The spools.
        items: Vec<SpoolItem>,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// Where to go on.
        next_cursor: String,
    }
}

/// Whether what is left serves at least the shortest usual coil of this wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum EnoughWord {
    /// With the shop's confidence.
    Enough,
    /// Perhaps.
    Doubtful,
    /// No.
    Short,
}

tells! {
    /// A spool in a list.
    SpoolItem {
        /// Its id.
        spool: String,
        /// The wire on it: an id of the catalog, or its label.
        wire: String,
        /// The wire in words.
        wire_label: String,
        /// What is left.
        left_m: Figure<M>,
        /// Sum of all promises on it.
        held_m: Setting<M>,
        /// What can still be promised with the shop's confidence.
        free_m: Setting<M>,
        /// What is written on it.
        label: String,
        /// Where it stands.
        place: String,
        /// Used no more.
        retired: bool,
        /// Its revision.
        rev: u64,
    } may {
        /// Whether what is free still makes the shortest usual coil of this wire; left out where none is usual.
        usual: UsualWord,
        /// When it was last weighed or measured, UTC.
        read_at: String,
    }
}

tells! {
    /// Whether the shortest usual coil can still be made.
    UsualWord {
        /// The word.
        word: EnoughWord,
        /// Probability that the wire is there, beside what is promised.
        probability: f64,
        /// The coil.
        coil: String,
        /// Wire it needs.
        need_m: Setting<M>,
    } may {}
}

asks! {
    /// Asks for one spool.
    SpoolShow {
        /// The spool.
        spool: String,
    } may {}
}
method!(SpoolShow => SpoolShown, "spool.show", "Shows one spool: the estimate and how it came about, promises, history, the next measurement that helps.", leading: ["spool"]);

tells! {
    /// One spool in full.
    SpoolShown {
        /// Its id.
        spool: String,
        /// The wire on it: an id of the catalog, or its label.
        wire: String,
        /// The wire in words.
        wire_label: String,
        /// What is left.
        left_m: Figure<M>,
        /// Whether anything tells the length at all.
        length_known: bool,
        /// Sum of all promises on it.
        held_m: Setting<M>,
        /// What can still be promised with the shop's confidence.
        free_m: Setting<M>,
        /// What is there with the shop's confidence.
        safe_m: Setting<M>,
        /// What the fit of its whole history says.
        estimate: SpoolEstimate,
        /// Every reading and how it stands to the fit.
        readings: Vec<SpoolReading>,
        /// The promises.
        holds: Vec<SpoolHoldItem>,
        /// What happened to it, in order.
        history: Vec<HistoryItem>,
        /// The measurement that would help most now.
        next_best: NextBest,
        /// What is written on it.
        label: String,
        /// Where it came from.
        supplier: String,
        /// The maker's lot.
        lot: String,
        /// Where it stands.
        place: String,
        /// Anything else.
        note: String,
        /// Used no more.
        retired: bool,
        /// Its revision.
        rev: u64,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {
        /// What a kilogram costs.
        cost_per_kg: Money,
        /// What can be left where the spool is near empty: beside `left_m`, which takes no notice that less than nothing cannot be.
        near_empty: NearEmpty,
    }
}

tells! {
    /// What can be left near empty, by draws of the estimate without those below nothing.
    NearEmpty {
        /// Length left: mean and standard deviation.
        left_m: Figure<M>,
        /// It is below this with 95 %.
        at_most_m: Setting<M>,
        /// What the draws are fixed by: the same seed, the same figures.
        seed: u64,
    } may {}
}

tells! {
    /// What the fit says of wire and reel.
    SpoolEstimate {
        /// Mass of a metre of this wire.
        g_per_m: Figure<GPerM>,
    } may {
        /// The reel without wire.
        tare_g: Figure<G>,
        /// Resistance of a metre at 20 °C.
        ohm_per_m: Figure<OhmPerM>,
        /// How many other spools of the same wire and lot narrowed both figures per metre by their own readings, retired
        /// ones too; absent where none did.
        lot_spools: u32,
    }
}

tells! {
    /// A reading and how it stands to the fit.
    SpoolReading {
        /// Its entry.
        seq: u64,
        /// `weighed`, `measured`, `marked` or `emptied`.
        kind: String,
        /// Its share in the length left; all shares add up to 1.
        weight: f64,
        /// The reading less what the fit expects, in `unit`.
        residual: f64,
        /// The same in the reading's own standard uncertainties.
        residual_in_u: f64,
        /// What the fit expects, in `unit`.
        expected: f64,
        /// `g`, `ohm` or `m`.
        unit: String,
    } may {
        /// How likely wire went unwritten since the reading before, where wire was drawn between them.
        unwritten_pct: Setting<Pct>,
    }
}

tells! {
    /// A promise.
    SpoolHoldItem {
        /// Its id.
        hold: String,
        /// How much.
        hold_m: Setting<M>,
        /// What for.
        reason: String,
    } may {
        /// For which job.
        job: String,
        /// For which coil of it, once started.
        coil_no: u32,
    }
}

tells! {
    /// Something that happened.
    HistoryItem {
        /// Its entry.
        seq: u64,
        /// When, UTC.
        at: String,
        /// What, in a sentence.
        text: String,
        /// Whether it still counts: an undone entry stays but does not.
        counts: bool,
    } may {}
}

tells! {
    /// The measurement that would help most.
    NextBest {
        /// `weigh`, `measure_resistance` or `none`.
        measure: String,
        /// Uncertainty that would be left after it.
        u_after_m: Setting<M>,
        /// In a sentence.
        text: String,
    } may {}
}
