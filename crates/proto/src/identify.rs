//! `wire.identify`: measurements of a sample in, the wires that it may be out, and what to measure next.

use crate::coil::{FindingAnswer, TurnsPerLayer};
use crate::former::OriginAnswer;
use crate::quantity::{C, Figure, G, M, Mm, Ohm, One, Pct, Reading, Setting, Um};
use crate::reference::WireRef;
use crate::shape::{asks, method, tells};
use crate::wire::Metal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

asks! {
    /// Asks which wire a sample is.
    WireIdentify {
        /// What was measured of it: any of it, the more the better.
        seen: SeenParams,
    } may {
        /// Only these wires; the whole catalog, computed wires too, if absent.
        among: Vec<WireRef>,
        /// What makes some wires likelier than others beforehand.
        priors: Vec<PriorParams>,
        /// What is assumed otherwise than by default.
        assume: IdentifyAssume,
        /// At most so many candidates in the answer, the most probable first; 10 if absent, 200 at most.
        limit: u32,
    }
}

method!(WireIdentify => WireIdentified, "wire.identify", "Ranks the wires that a sample may be, with what follows if it is the other one and what to measure next.");

asks! {
    /// What was measured of a sample. An uncertainty that is not stated is that of the shop's instrument.
    SeenParams {} may {
        /// Diameter over the insulation.
        overall_mm: Reading<Mm>,
        /// Bare diameter.
        bare_mm: Reading<Mm>,
        /// From turn to turn along the axis: many turns measured at once, divided by their count.
        pitch_mm: Reading<Mm>,
        /// Whether the insulation is burnt: then its diameter is known less well.
        burnt: bool,
        /// A straight piece that was weighed or measured.
        sample: SampleParams,
        /// The coil that it came from.
        coil: SeenCoil,
        /// Rated impedance of the driver; tells little, and only with the coil's geometry.
        rated_ohm: Setting<Ohm>,
    }
}

asks! {
    /// A straight piece of the wire.
    SampleParams {} may {
        /// Its length.
        length_m: Reading<M>,
        /// Its mass.
        mass_g: Reading<G>,
        /// What the meter shows. A stated uncertainty is that of the resistance at 20 °C, leads and temperature within.
        ohm: Reading<Ohm>,
        /// What the meter shows with its leads shorted.
        test_leads_ohm: Setting<Ohm>,
        /// The length between the clips, if not `length_m`.
        ohm_length_m: Reading<M>,
        /// Temperature of the wire then.
        temperature_c: Reading<C>,
    }
}

asks! {
    /// The coil that a sample came from.
    SeenCoil {
        /// Inside diameter of its former.
        inside_diameter_mm: Reading<Mm>,
        /// Wall of its former.
        wall_mm: Reading<Mm>,
    } may {
        /// Turns counted on each layer, or on the first one; with `layers`.
        turns_per_layer: TurnsPerLayer,
        /// Layers.
        layers: u32,
        /// Winding width outside to outside of wire.
        width_mm: Reading<Mm>,
        /// Magnet wire between winding and terminals.
        leads_m: Reading<M>,
        /// What the meter shows at its terminals, under the same rule as for the sample.
        ohm: Reading<Ohm>,
        /// What the meter shows with its leads shorted.
        test_leads_ohm: Setting<Ohm>,
        /// Temperature of the coil then.
        temperature_c: Reading<C>,
    }
}

asks! {
    /// Makes some wires likelier or less likely: every wire that is all of what is named.
    PriorParams {
        /// So many times as likely; 0 rules them out.
        weight: f64,
    } may {
        /// This wire.
        wire: WireRef,
        /// Wires of this metal.
        conductor: Metal,
        /// Wires of this series: `awg`, `metric`.
        series: String,
        /// Wires of this build: `single`, `heavy`, `grade 1`.
        build: String,
    }
}

asks! {
    /// Assumptions of an identification.
    IdentifyAssume {} may {
        /// Probability beforehand that it is none of the candidates.
        none_prior: f64,
        /// A computed wire is so many times as likely as a listed one.
        computed_weight: f64,
        /// Every spool received and every job closed makes its wire likelier by so many times; 0 leaves the shop's past out.
        shop_weight: f64,
        /// Pitch over overall diameter.
        pitch_factor: Reading<One>,
        /// Radial step from layer to layer over overall diameter.
        nesting: Reading<One>,
        /// Excess of the wound resistance per metre, of any metal.
        resistance_excess_pct: Reading<Pct>,
        /// Film of glue under the first layer.
        glue_mm: Setting<Mm>,
        /// Re over the rated impedance.
        re_over_rated: Reading<One>,
        /// Standard uncertainty of the mass of a metre beyond the diameters.
        mass_pct: Setting<Pct>,
        /// Standard uncertainty of the resistivity.
        resistivity_pct: Setting<Pct>,
    }
}

tells! {
    /// The wires that a sample may be.
    WireIdentified {
        /// The most probable first.
        candidates: Vec<WireCandidate>,
        /// Probability that it is none of all candidates.
        none_probability: f64,
        /// The candidates beyond `limit`.
        left_out: LeftOut,
        /// What to measure next, the most telling first, for every instrument of the shop.
        next: Vec<NextMeasurement>,
        /// In one or two sentences.
        sentence: String,
        /// The measurements as they were understood.
        understood: SeenUnderstood,
        /// What is odd about them.
        findings: Vec<FindingAnswer>,
        /// What was taken for granted.
        origins: Vec<OriginAnswer>,
        /// The last entry of the journal that the shop's past was read at.
        seq: u64,
    } may {}
}

tells! {
    /// A wire that the sample may be.
    WireCandidate {
        /// The wire.
        wire: WireRef,
        /// In words.
        label: String,
        /// How probable it is after the measurements.
        probability: f64,
        /// How probable it was before them.
        prior: f64,
        /// Spools received and jobs closed with it.
        shop_had: u32,
        /// Squared distance of the measurements from what it shows: about their number if it is this wire.
        misfit: f64,
    } may {
        /// What follows if the most probable wire is wrong: on the first candidate if it is the second, on each other if it
        /// is that one.
        if_other: IfOtherWire,
    }
}

tells! {
    /// What a coil made with the most probable wire is off by if the sample is another.
    IfOtherWire {
        /// The other.
        wire: WireRef,
        /// So much more resistance the other has, at the same turns.
        dcr_pct: Setting<Pct>,
        /// So much thicker the other is over its insulation.
        overall_um: Setting<Um>,
    } may {}
}

tells! {
    /// Candidates that are not in the list.
    LeftOut {
        /// How many.
        candidates: u32,
        /// The probability of all of them together.
        probability: f64,
    } may {}
}

/// What can be measured of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SampleMeasure {
    /// `seen.overall_mm`.
    Overall,
    /// `seen.bare_mm`.
    Bare,
    /// `seen.pitch_mm`.
    Pitch,
    /// `seen.sample.mass_g`.
    SampleMass,
    /// `seen.sample.ohm`.
    SampleOhm,
    /// `seen.coil.width_mm`.
    CoilWidth,
    /// `seen.coil.ohm`.
    CoilOhm,
}

tells! {
    /// A measurement that could be made.
    NextMeasurement {
        /// What to measure.
        measure: SampleMeasure,
        /// With which instrument of the shop.
        with: String,
        /// Information that it is expected to give about which wire it is; 1 bit settles an even choice of two.
        bits: f64,
        /// In words, with what it would show if it is the most probable wire.
        text: String,
    } may {}
}

tells! {
    /// Measurements as understood: test leads taken off, uncertainties filled in.
    SeenUnderstood {} may {
        /// Diameter over the insulation.
        overall_mm: Figure<Mm>,
        /// Bare diameter.
        bare_mm: Figure<Mm>,
        /// Pitch.
        pitch_mm: Figure<Mm>,
        /// Length of the sample.
        length_m: Figure<M>,
        /// Mass of the sample.
        mass_g: Figure<G>,
        /// Resistance of the sample at its temperature, test leads taken off.
        ohm: Figure<Ohm>,
        /// Length between the clips.
        ohm_length_m: Figure<M>,
        /// Temperature of the sample.
        temperature_c: Figure<C>,
        /// Turns of each layer of the coil.
        coil_turns_per_layer: Vec<u32>,
        /// Width of the winding.
        coil_width_mm: Figure<Mm>,
        /// Resistance of the coil at its temperature, test leads taken off.
        coil_ohm: Figure<Ohm>,
        /// Temperature of the coil.
        coil_temperature_c: Figure<C>,
        /// Rated impedance.
        rated_ohm: Setting<Ohm>,
    }
}
