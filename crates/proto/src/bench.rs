//! `coil.reading`, `coil.trim`, `coil.heat`: a wound coil on the bench and a meter beside it.

use crate::coil::{CoilDesign, FindingAnswer};
use crate::former::OriginAnswer;
use crate::quantity::{C, Db, Figure, Mm, Ohm, One, Pct, Reading, Setting};
use crate::shape::{asks, method, tells};
use crate::wire::Metal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// The meter: by its papers (`pct`, `digits`, `resolution_ohm`), or held against a resistor of known value on the same
    /// leads (`reference_ohm`, `reference_pct`). What is left out is the shop's usual meter's.
    MeterParams {} may {
        /// Limit in its papers, per cent of the reading.
        pct: Setting<Pct>,
        /// Limit in its papers, further digits of the display.
        digits: Setting<One>,
        /// The step of its display.
        resolution_ohm: Setting<Ohm>,
        /// A resistor of known value that is read on the same leads.
        reference_ohm: Setting<Ohm>,
        /// Limit of that resistor; 1 % if absent.
        reference_pct: Setting<Pct>,
        /// What the meter shows for it, test leads included. If absent, readings are meant as corrected by it already.
        reference_reading_ohm: Setting<Ohm>,
    }
}

asks! {
    /// Asks what the meter should show for a coil now.
    CoilReading {
        /// Temperature of the coil, which is the bench's if it has lain there long enough.
        temperature_c: Reading<C>,
    } may {
        /// The coil; or else `dcr_ohm`.
        coil: CoilDesign,
        /// What it is expected to have at 20 °C with its magnet-wire leads, in place of a coil.
        dcr_ohm: Reading<Ohm>,
        /// The metal of its wire, in place of a coil; copper if absent.
        conductor: Metal,
        /// What the test leads show when shorted.
        test_leads_ohm: Reading<Ohm>,
        /// The meter; the shop's usual one if absent.
        meter: MeterParams,
        /// What the coil should have at 20 °C; the coil's own target if absent, else what is expected.
        target_ohm: Setting<Ohm>,
        /// How far it may be off; the coil's own tolerance if absent, else 3 %.
        tolerance_pct: Setting<Pct>,
    }
}

method!(CoilReading => CoilRead, "coil.reading", "Says what the meter should show for a coil now, which readings to accept, how often the verdict is wrong, and whether this meter can decide.");

tells! {
    /// A range of readings.
    Band {
        /// Least.
        min: Setting<Ohm>,
        /// Greatest.
        max: Setting<Ohm>,
    } may {}
}

tells! {
    /// What to look for on the display.
    CoilRead {
        /// In a sentence.
        sentence: String,
        /// What the meter should show, test leads included; its own error is not in the doubt.
        expect_ohm: Figure<Ohm>,
        /// Whether there is any reading by which this meter can be sure of the coil.
        can_decide: bool,
        /// Of a hundred coils of this plan, how many get a wrong verdict: taken though bad, or refused though good.
        wrong_verdict_pct: Setting<Pct>,
        /// Of them, taken though out of tolerance.
        bad_taken_pct: Setting<Pct>,
        /// Of them, refused though within.
        good_refused_pct: Setting<Pct>,
        /// Standard uncertainty of one reading: meter, temperature, test leads.
        reading_u_ohm: Setting<Ohm>,
        /// What the coil is expected to have at 20 °C.
        dcr_ohm: Figure<Ohm>,
        /// What it should have at 20 °C.
        target_ohm: Setting<Ohm>,
        /// How far it may be off.
        tolerance_pct: Setting<Pct>,
        /// Temperature of the coil as it was understood.
        temperature_c: Figure<C>,
        /// Test leads as they were understood.
        test_leads_ohm: Figure<Ohm>,
        /// The meter in words.
        meter: String,
        /// What the winder must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
        /// The entry up to which the shop's figures were looked at.
        seq: u64,
    } may {
        /// Readings that are accepted: the tolerance, narrowed by 1.64 u on either side. Absent where the meter cannot decide.
        accept_ohm: Band,
    }
}

asks! {
    /// Asks how many turns to unwind.
    CoilTrim {
        /// The coil, with the turns of each layer as they were really wound.
        coil: CoilDesign,
        /// What the meter shows, test leads included.
        reading_ohm: Setting<Ohm>,
        /// Temperature of the coil.
        temperature_c: Reading<C>,
    } may {
        /// What the test leads show when shorted.
        test_leads_ohm: Reading<Ohm>,
        /// What the coil should have at 20 °C with its magnet-wire leads; the coil's own target if absent.
        target_ohm: Setting<Ohm>,
        /// How far it may be off; the coil's own tolerance if absent.
        tolerance_ohm: Setting<Ohm>,
        /// The meter; the shop's usual one if absent.
        meter: MeterParams,
    }
}

method!(CoilTrim => CoilTrimmed, "coil.trim", "Says how many turns to unwind from a coil, what the meter should show after each, where the finish lead comes out, and when to stop.");

/// Where the finish lead comes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ExitSide {
    /// As before.
    Same,
    /// Across the coil.
    Opposite,
}

tells! {
    /// The coil with some turns less.
    TrimStep {
        /// Turns unwound.
        turns: f64,
        /// Resistance at 20 °C then.
        dcr_ohm: Figure<Ohm>,
        /// What this meter should show then; as sure as the drop is, the meter's error being the same as before.
        reading_ohm: Figure<Ohm>,
        /// Where the finish lead comes out.
        exit: ExitSide,
        /// The outermost layer then, from 1.
        layer: u32,
        /// Turns left on it.
        left_on_layer: f64,
        /// Width that this layer has lost.
        width_lost_mm: Setting<Mm>,
        /// Whether it is within the tolerance.
        within: bool,
    } may {}
}

tells! {
    /// What to unwind.
    CoilTrimmed {
        /// In a sentence.
        sentence: String,
        /// Resistance now, at 20 °C.
        dcr_ohm: Figure<Ohm>,
        /// Measured over planned, without the magnet-wire leads.
        ratio: Figure<One>,
        /// One turn of the outermost layer of this coil at 20 °C.
        turn_ohm: Figure<Ohm>,
        /// Turns that would meet the target: not to be unwound as it stands.
        exact_turns: f64,
        /// Standard uncertainty that the meter gives the reading.
        meter_u_ohm: Setting<Ohm>,
        /// The same in turns.
        meter_u_turns: f64,
        /// Below this reading the coil is out of tolerance for good.
        stop_ohm: Setting<Ohm>,
        /// Half turns around the count to take.
        steps: Vec<TrimStep>,
        /// What it should have at 20 °C.
        target_ohm: Setting<Ohm>,
        /// How far it may be off.
        tolerance_ohm: Setting<Ohm>,
        /// Temperature of the coil as it was understood.
        temperature_c: Figure<C>,
        /// Test leads as they were understood.
        test_leads_ohm: Figure<Ohm>,
        /// The meter in words.
        meter: String,
        /// What the winder must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
        /// The entry up to which the shop's figures were looked at.
        seq: u64,
    } may {
        /// Turns to unwind; absent where this meter cannot tell one turn from none.
        unwind_turns: f64,
    }
}

asks! {
    /// Asks for the temperature of a working coil.
    CoilHeat {
        /// What the meter shows when the coil is cold.
        cold_ohm: Reading<Ohm>,
        /// Temperature then.
        cold_c: Reading<C>,
    } may {
        /// What it shows when the coil is hot: amplifier off and taken off first.
        hot_ohm: Reading<Ohm>,
        /// What the test leads show when shorted.
        test_leads_ohm: Reading<Ohm>,
        /// The metal of the wire; copper if absent.
        conductor: Metal,
        /// Temperatures not to be exceeded: of the adhesive, the enamel, the former.
        limits_c: Vec<Setting<C>>,
        /// The meter, where readings carry no uncertainty of their own; the shop's usual one if absent.
        meter: MeterParams,
    }
}

method!(CoilHeat => CoilHeated, "coil.heat", "Finds the temperature of a working coil from its resistance, the level it loses, how far it is from its limits, and the reading at which to stop.");

tells! {
    /// One limit.
    HeatMargin {
        /// The limit.
        limit_c: Setting<C>,
        /// What the meter shows at the limit: stop when it is reached.
        stop_ohm: Figure<Ohm>,
    } may {
        /// How much colder the coil is; negative if it is hotter.
        left_c: Figure<C>,
        /// Probability that the limit is exceeded.
        exceeded_pct: Setting<Pct>,
    }
}

tells! {
    /// How warm a coil is. The temperature is the winding's mean; its hottest turn is hotter.
    CoilHeated {
        /// In a sentence.
        sentence: String,
        /// How far it is from each limit, the lowest first.
        margins: Vec<HeatMargin>,
        /// The metal of the wire.
        conductor: Metal,
        /// What must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
        /// The entry up to which the shop's figures were looked at.
        seq: u64,
    } may {
        /// Temperature of the winding; absent without a hot reading.
        temperature_c: Figure<C>,
        /// Level lost to the higher resistance at the same voltage; positive is lost.
        db_lost: Figure<Db>,
        /// What the meter shows at the lowest limit; absent without limits.
        stop_ohm: Figure<Ohm>,
    }
}
