//! `coil.inductance`: a coil's inductance in air, and what a closed former or a shorted turn makes of it.

use crate::coil::{CoilDesign, FindingAnswer};
use crate::former::OriginAnswer;
use crate::quantity::{Figure, Hz, Mm, NsPerM, Ohm, One, Pct, Reading, Setting, Tesla, Tm, Uh};
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// Asks for a coil's inductance in air.
    CoilInductance {
        /// The coil.
        coil: CoilDesign,
    } may {
        /// Frequencies to look at; 1 kHz and 10 kHz if absent.
        frequencies_hz: Vec<Setting<Hz>>,
        /// What a bridge showed, the coil in air and off the motor.
        measured_uh: Reading<Uh>,
        /// At this frequency; 1 kHz if absent.
        measured_at_hz: Setting<Hz>,
        /// Neighbouring turns shorted, to be told from a sound coil; 1 if absent.
        shorted_turns: u32,
        /// Former beyond the wire at the winding's edge; 2 mm if absent and there is room.
        former_edge_mm: Setting<Mm>,
        /// Force per current with this coil: gives the field, and so the former's damping.
        bl_tm: Reading<Tm>,
    }
}

method!(CoilInductance => CoilInducted, "coil.inductance", "Computes a coil's inductance in air exactly, and what a closed former or shorted turns would make of it, to tell them on a bridge.");

/// A state that a coil can be in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CoilState {
    /// No ring is closed: former slit or no metal, no turn shorted.
    Sound,
    /// The metal former is a closed ring.
    FormerClosed,
    /// Turns are shorted.
    TurnsShorted,
}

tells! {
    /// A coil's inductance in air. Never to be compared with a data sheet's, which has iron in it.
    CoilInducted {
        /// By the exact integral over the thick winding.
        exact_uh: Figure<Uh>,
        /// Wheeler's estimate, for comparison with other tables: an estimate.
        wheeler_estimate_uh: Setting<Uh>,
        /// How far the estimate is above the exact value.
        wheeler_over_pct: Setting<Pct>,
        /// Shorted turns as a ring.
        shorted: RingAnswer,
        /// What a bridge would show at each frequency.
        at: Vec<AtFrequency>,
        /// In a sentence.
        sentence: String,
        /// What must be told.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
    } may {
        /// The metal former as a closed ring, whether it is slit or not; absent for an insulator or without its height.
        former: RingAnswer,
        /// The former's part in the driver's damping; absent without plate.
        damping: DampingAnswer,
        /// Which states agree with what was measured; absent without `measured_uh`.
        diagnosis: Vec<DiagnosisAnswer>,
    }
}

tells! {
    /// A closed ring beside the winding.
    RingAnswer {
        /// Turns of it.
        turns: u32,
        /// Resistance around.
        ring_ohm: Setting<Ohm>,
        /// Its own inductance.
        ring_uh: Setting<Uh>,
        /// Coupling with the winding, computed.
        coupling: Setting<One>,
        /// Above this frequency the ring's inductance rules its current.
        corner_hz: Setting<Hz>,
    } may {}
}

tells! {
    /// What a bridge shows at one frequency.
    AtFrequency {
        /// The frequency.
        frequency_hz: Setting<Hz>,
        /// With the turns shorted.
        shorted_uh: Setting<Uh>,
        /// Resistance that they add.
        shorted_added_ohm: Setting<Ohm>,
    } may {
        /// With the former closed.
        closed_uh: Setting<Uh>,
        /// Resistance that it adds.
        closed_added_ohm: Setting<Ohm>,
    }
}

tells! {
    /// A metal former's part in the driver's mechanical resistance; good to ± 40 %.
    DampingAnswer {
        /// Closed, per square tesla of the field.
        closed_per_t2: Figure<NsPerM>,
        /// Whether it is slit.
        slit: bool,
    } may {
        /// With a slit, per square tesla.
        slit_per_t2: Figure<NsPerM>,
        /// The field that Bl and the wire in it give.
        field_t: Figure<Tesla>,
        /// Closed, in that field.
        closed_n_s_per_m: Figure<NsPerM>,
        /// With a slit, in that field.
        slit_n_s_per_m: Figure<NsPerM>,
    }
}

tells! {
    /// One state against what was measured.
    DiagnosisAnswer {
        /// The state.
        state: CoilState,
        /// What the bridge should show in it.
        expect_uh: Figure<Uh>,
        /// How far the reading is from that, in standard uncertainties of both.
        off_u: f64,
        /// Whether it agrees: within two.
        agrees: bool,
    } may {}
}
