//! The shop's instruments as an identification sees them, and what it advises to measure with them.

use coilwright_core::identify::next::{Gain, Instrument};
use coilwright_core::identify::seen::{Measure, Seen};
use coilwright_core::measured::half_width_to_u;
use coilwright_proto::identify::{NextMeasurement, SampleMeasure};
use coilwright_shop::figures::Figures;

/// Turns that a caliper spans when a pitch is measured.
const PITCH_TURNS: f64 = 10.0;
/// Reference resistors that are thought of.
const MOST_RESISTORS: usize = 8;

/// Everything that the shop can measure a sample with.
pub fn instruments(figures: &Figures, burnt_u_mm: Option<f64>) -> Vec<Instrument> {
    let tool = |name: &str, measure, u, u_share| Instrument { name: name.to_owned(), measure, u, u_share };
    let micrometer = 1e-3 * figures.micrometer_u_mm.value;
    let caliper = 1e-3 * figures.caliper_u_mm.value;
    let meter = figures.meter.value;
    let digits = half_width_to_u(meter.digits * meter.resolution_ohm);
    let pct = half_width_to_u(meter.pct / 100.0);
    let mut all = vec![
        tool("micrometer", Measure::Overall, burnt_u_mm.map_or(micrometer, |u| 1e-3 * u), 0.0),
        tool("micrometer", Measure::Bare, micrometer, 0.0),
        tool("caliper over ten turns", Measure::Pitch, caliper / PITCH_TURNS, 0.0),
        tool("scale", Measure::Mass, 1e-3 * figures.scale.value.weighing_u_g(), 0.0),
        tool("meter", Measure::Ohm, digits, pct),
        tool("caliper", Measure::Width, caliper, 0.0),
        tool("meter", Measure::CoilOhm, digits, pct),
    ];
    for r in figures.reference_resistors.value.iter().take(MOST_RESISTORS) {
        // On the same leads and range only the ratio counts, so the resistor's own limit is what is left.
        let name = format!("reference resistor {} Ω ± {} %", r.ohm, r.pct);
        for measure in [Measure::Ohm, Measure::CoilOhm] {
            all.push(tool(&name, measure, 0.0, half_width_to_u(r.pct / 100.0)));
        }
    }
    all
}

/// What to measure, in words.
pub fn advice(gain: &Gain, instruments: &[Instrument], seen: &Seen, likeliest: &str) -> Option<NextMeasurement> {
    let tool = instruments.get(gain.instrument)?;
    let piece = |length: coilwright_core::quantity::Length, given: bool| {
        if given { format!("the {:.3} m", length.m()) } else { "a metre".to_owned() }
    };
    let (measure, what) = match tool.measure {
        Measure::Overall => (SampleMeasure::Overall, "measure the diameter over the insulation".to_owned()),
        Measure::Bare => (SampleMeasure::Bare, "strip an end and measure the bare diameter".to_owned()),
        Measure::Pitch => (SampleMeasure::Pitch, "measure ten turns and divide by ten".to_owned()),
        Measure::Mass => {
            let piece = piece(seen.length().value, seen.sample.length.is_some());
            (SampleMeasure::SampleMass, format!("weigh {piece}"))
        }
        Measure::Ohm => {
            let given = seen.sample.length.is_some() || seen.sample.ohm_length.is_some();
            (SampleMeasure::SampleOhm, format!("measure the resistance of {}", piece(seen.ohm_length().value, given)))
        }
        Measure::Width => (SampleMeasure::CoilWidth, "measure the width of the winding".to_owned()),
        Measure::CoilOhm => (SampleMeasure::CoilOhm, "measure the resistance of the coil".to_owned()),
        Measure::Rated => return None,
    };
    let (value, u) = gain.shows;
    Some(NextMeasurement {
        measure,
        with: tool.name.clone(),
        bits: gain.bits,
        text: format!(
            "{what} with the {}: about {} if it is {likeliest} (this instrument: u {})",
            tool.name,
            tool.measure.shown(value),
            tool.measure.shown(u)
        ),
    })
}
