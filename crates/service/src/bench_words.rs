//! What the requests at the bench have in common: meter, temperature and test leads between the words of the wire and the
//! calculation, filled up from the shop's own figures.

use coilwright_core::conductor::Conductor;
use coilwright_core::finding::Finding;
use coilwright_core::measured::Measured;
use coilwright_core::meter::Meter;
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::quantity::{Resistance, Temperature};
use coilwright_proto::bench::MeterParams;
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{C, Ohm, Reading};
use coilwright_proto::wire::Metal;
use coilwright_shop::figures::{Figures, Origin as Whence};

/// Limit of a resistor of known value where nobody says, per cent; common practice, no source.
const REFERENCE_PCT: f64 = 1.0;

/// What was taken for granted and what must be said beside the figures.
#[derive(Default)]
pub struct Told {
    /// What must be said.
    pub findings: Vec<Finding>,
    /// What was taken.
    pub origins: Vec<Origin>,
}

impl Told {
    /// Notes that `value ± u` was taken for `param`.
    pub fn took(&mut self, param: &str, (value, u): (f64, f64), unit: &'static str, mark: Mark, source: &str) {
        self.origins.push(Origin { param: param.into(), value, u, unit, mark, source: source.into() });
    }
}

/// The shop's usual meter.
pub fn usual_meter(figures: &Figures) -> Meter {
    let usual = figures.meter.value;
    Meter::Class {
        share: usual.pct / 100.0,
        digits: usual.digits,
        resolution: Resistance::from_ohm(usual.resolution_ohm),
    }
}

/// The meter that is meant: what the request says, filled up with the shop's usual meter.
///
/// # Errors
/// Figures no meter has, papers and resistor at once, a resistor that reads nothing.
pub fn meter(
    figures: &Figures,
    asked: Option<&MeterParams>,
    leads: Measured<Resistance>,
    told: &mut Told,
) -> Result<Meter, RpcError> {
    let none = MeterParams {
        pct: None,
        digits: None,
        resolution_ohm: None,
        reference_ohm: None,
        reference_pct: None,
        reference_reading_ohm: None,
    };
    let asked = asked.unwrap_or(&none);
    let usual = figures.meter.value;
    for (member, met, max, unit) in [
        ("pct", asked.pct.map(|s| s.value), 50.0, "%"),
        ("digits", asked.digits.map(|s| s.value), 1000.0, "digits"),
        ("resolution_ohm", asked.resolution_ohm.map(|s| s.value), 100.0, "Ω"),
        ("reference_pct", asked.reference_pct.map(|s| s.value), 50.0, "%"),
    ] {
        // A display without steps is none; a limit of nothing can be.
        let least = if member == "resolution_ohm" { 1e-9 } else { 0.0 };
        if let Some(met) = met.filter(|m| !(least..=max).contains(m)) {
            return Err(RpcError::params(format!("/meter/{member}"), format!("no meter has {met} {unit} there"))
                .met(met)
                .allowed(format!("{} to {max} {unit}", if least > 0.0 { "more than 0" } else { "0" }))
                .next("look into its papers: `0.8 % + 3 digits` is a pct of 0.8 and 3 digits"));
        }
    }
    let mut usually = |param: &str, value: f64, unit| {
        if figures.meter.origin != Whence::Set {
            let source = "the shop's usual meter, never set: set it with `shop set`";
            told.took(&format!("meter.{param}"), (value, 0.0), unit, Mark::CommonPractice, source);
        }
        value
    };
    let resolution =
        asked.resolution_ohm.map_or_else(|| usually("resolution_ohm", usual.resolution_ohm, "Ω"), |s| s.value);
    let Some(reference) = asked.reference_ohm.map(|s| s.value) else {
        if asked.reference_pct.is_some() || asked.reference_reading_ohm.is_some() {
            return Err(RpcError::params("/meter/reference_ohm", "there is no value of the resistor")
                .next("give `reference_ohm`, or leave the other two out"));
        }
        let pct = asked.pct.map_or_else(|| usually("pct", usual.pct, "%"), |s| s.value);
        let digits = asked.digits.map_or_else(|| usually("digits", usual.digits, ""), |s| s.value);
        return Ok(Meter::Class { share: pct / 100.0, digits, resolution: Resistance::from_ohm(resolution) });
    };
    if asked.pct.is_some() || asked.digits.is_some() {
        return Err(RpcError::params(
            "/meter",
            "a resistor of known value takes the meter's own limits out: both are given",
        )
        .next("leave out `pct` and `digits`, or `reference_ohm`"));
    }
    ohms("/meter/reference_ohm", reference, "a resistor of known value")?;
    let pct = asked.reference_pct.map_or_else(
        || {
            told.took("meter.reference_pct", (REFERENCE_PCT, 0.0), "%", Mark::CommonPractice, "no source");
            REFERENCE_PCT
        },
        |s| s.value,
    );
    if let Some(shown) = asked.reference_reading_ohm.map(|s| s.value) {
        let apart = (shown - leads.value.ohm()) / reference;
        if !(0.5..=2.0).contains(&apart) {
            return Err(RpcError::params(
                "/meter/reference_reading_ohm",
                format!("{shown} Ω less the test leads is {apart:.2} times the {reference} Ω of the resistor: no meter is so far off"),
            )
            .met(shown)
            .allowed(format!("{:.3} to {:.3} Ω", 0.5 * reference + leads.value.ohm(), 2.0 * reference + leads.value.ohm()))
            .next("read the resistor again on the same leads, on the lowest range"));
        }
    }
    Ok(Meter::Comparison {
        reference: Resistance::from_ohm(reference),
        share: pct / 100.0,
        resolution: Resistance::from_ohm(resolution),
        shown: asked.reference_reading_ohm.map(|s| s.quantity()),
    })
}

/// A temperature on the bench; without a stated uncertainty it gets the shop's usual one.
///
/// # Errors
/// One that no bench has.
pub fn temperature(
    figures: &Figures,
    asked: Reading<C>,
    at: &str,
    told: &mut Told,
) -> Result<Measured<Temperature>, RpcError> {
    if !(-20.0..=60.0).contains(&asked.value) {
        return Err(RpcError::params(at, format!("{} °C is the temperature of no bench", asked.value))
            .met(asked.value)
            .allowed("-20 to 60 °C")
            .next("read the thermometer beside the coil, in degrees Celsius"));
    }
    let usual = figures.temperature_u_c.value;
    let u = asked.u.unwrap_or_else(|| {
        if figures.temperature_u_c.origin != Whence::Set {
            let source = "the shop's usual thermometer, never set: set `temperature_u_c` with `shop set`";
            told.took(at.trim_start_matches('/'), (asked.value, usual), "°C", Mark::CommonPractice, source);
        }
        usual
    });
    Ok(Measured::new(Temperature::from_c(asked.value), Temperature::from_c(u)))
}

/// Shorted test leads. Without a stated uncertainty they have none: read on the same meter, they share its errors.
///
/// # Errors
/// Less than nothing, or more than leads have.
pub fn test_leads(asked: Option<Reading<Ohm>>, told: &mut Told) -> Result<Measured<Resistance>, RpcError> {
    let Some(asked) = asked else {
        told.findings.push(Finding::note(
            "no_test_leads",
            "no test leads are taken off: short them, read them on the lowest range (0.1 to 0.3 Ω are usual), and give `test_leads_ohm`".into(),
        ));
        return Ok(Measured::certain(Resistance::ZERO));
    };
    if !(0.0..=50.0).contains(&asked.value) {
        return Err(RpcError::params(
            "/test_leads_ohm",
            format!("{} Ω is the resistance of no test leads", asked.value),
        )
        .met(asked.value)
        .allowed("0 to 50 Ω")
        .next("short the two leads and read the meter on its lowest range"));
    }
    Ok(asked.measured())
}

/// Refuses a resistance that nothing on a winder's bench has.
///
/// # Errors
/// With the pointer to it; `what` says whose it is.
pub fn ohms(at: &str, met: f64, what: &str) -> Result<(), RpcError> {
    if (0.01..=100_000.0).contains(&met) {
        return Ok(());
    }
    let why = if met < 0.01 {
        "shorted, or the meter on a wrong range"
    } else {
        "an open lead or a broken wire, or ohms taken for kilohms"
    };
    Err(RpcError::params(at, format!("{met} Ω is not what {what} shows: {why}"))
        .met(met)
        .allowed("0.01 to 100000 Ω")
        .next("read it again on the lowest range that does not run over"))
}

/// The metal that is meant; copper if nobody says.
pub fn metal(asked: Option<Metal>, told: &mut Told) -> Metal {
    asked.unwrap_or_else(|| {
        let alpha = Conductor::Copper.alpha20();
        told.took("conductor", (alpha, 0.0), "/K", Mark::CommonPractice, "copper, with its temperature coefficient");
        Metal::Copper
    })
}
