//! What a request of `wire.identify` saw of a sample: checked, test leads taken off, the shop's instruments filled in where
//! no uncertainty was stated.

use crate::match_words::within;
use coilwright_core::finding::Finding;
use coilwright_core::identify::seen::{Sample, Seen, Turns, Wound};
use coilwright_core::measured::{Measured, half_width_to_u};
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::quantity::{Length, Resistance, Temperature};
use coilwright_proto::coil::TurnsPerLayer;
use coilwright_proto::error::RpcError;
use coilwright_proto::identify::{SampleParams, SeenCoil, SeenParams, SeenUnderstood};
use coilwright_proto::quantity::{C, Figure, M, Mm, Ohm, Reading, Setting, Unit, bare};
use coilwright_shop::figures::Figures;

/// Standard uncertainty of a diameter over burnt insulation: 6 to 10 µm, common practice, no source.
pub const BURNT_U_MM: f64 = 0.008;
/// A bench whose temperature nobody noted is between 15 and 25 °C: common practice, no source.
const BENCH_C: (f64, f64) = (20.0, 5.0);

/// A sample as the calculation takes it, with what was filled in and what was noticed on the way.
pub struct Understood {
    /// For the calculation.
    pub seen: Seen,
    /// Uncertainties that were filled in.
    pub origins: Vec<Origin>,
    /// What is to be told.
    pub findings: Vec<Finding>,
}

/// Reads `seen`.
///
/// # Errors
/// Numbers that no sample has, a mass or a resistance without its length, test leads that show more than the sample.
pub fn seen(p: &SeenParams, figures: &Figures) -> Result<Understood, RpcError> {
    let mut reader = Reader { figures, origins: Vec::new(), findings: Vec::new() };
    let micrometer = (figures.micrometer_u_mm.value, "the shop's micrometer");
    let over = if p.burnt == Some(true) { (BURNT_U_MM, "burnt insulation") } else { micrometer };
    let caliper = figures.caliper_u_mm.value;
    let seen = Seen {
        overall: reader.length_mm(p.overall_mm, "/seen/overall_mm", (0.001, 20.0), over)?,
        bare: reader.length_mm(p.bare_mm, "/seen/bare_mm", (0.001, 20.0), micrometer)?,
        pitch: reader.length_mm(
            p.pitch_mm,
            "/seen/pitch_mm",
            (0.001, 50.0),
            (caliper / 10.0, "the shop's caliper over ten turns"),
        )?,
        sample: p.sample.as_ref().map_or(Ok(Sample::default()), |s| reader.sample(s))?,
        coil: p.coil.as_ref().map(|c| reader.coil(c)).transpose()?,
        rated: p
            .rated_ohm
            .map(|r| within("/seen/rated_ohm", r.value, 0.5, 10_000.0, "Ω").map(|()| r.quantity()))
            .transpose()?,
    };
    Ok(Understood { seen, origins: reader.origins, findings: reader.findings })
}

struct Reader<'a> {
    figures: &'a Figures,
    origins: Vec<Origin>,
    findings: Vec<Finding>,
}

impl Reader<'_> {
    /// A reading in unit `U` within bounds; without a stated uncertainty it has the instrument's.
    fn reading<U: Unit>(
        &mut self,
        r: Reading<U>,
        at: &str,
        (least, most): (f64, f64),
        (u, whose): (f64, &str),
        unit: &'static str,
    ) -> Result<Measured<U::Of>, RpcError> {
        within(at, r.value, least, most, unit)?;
        if let Some(u) = r.u {
            within(&format!("{at}/u"), u, 0.0, most, unit)?;
            return Ok(r.measured());
        }
        self.origins.push(Origin {
            param: at.trim_start_matches('/').replace('/', "."),
            value: r.value,
            u,
            unit,
            mark: Mark::CommonPractice,
            source: format!("u not stated: {whose}"),
        });
        Ok(Reading::<U>::known(r.value, u).measured())
    }

    fn length_mm(
        &mut self,
        r: Option<Reading<Mm>>,
        at: &str,
        bounds: (f64, f64),
        usual: (f64, &str),
    ) -> Result<Option<Measured<Length>>, RpcError> {
        r.map(|r| self.reading(r, at, bounds, usual, "mm")).transpose()
    }

    fn length_m(&mut self, r: Option<Reading<M>>, at: &str, least: f64) -> Result<Option<Measured<Length>>, RpcError> {
        let usual = (1e-3 * self.figures.rule_u_mm.value, "the shop's rule");
        r.map(|r| self.reading(r, at, (least, 10_000.0), usual, "m")).transpose()
    }

    fn sample(&mut self, s: &SampleParams) -> Result<Sample, RpcError> {
        for (name, length) in [("length_m", s.length_m), ("ohm_length_m", s.ohm_length_m)] {
            if let Some(length) = length.filter(|l| l.value < 0.001) {
                let at = format!("/seen/sample/{name}");
                let text = format!("a sample of {} m has no mass and no resistance per metre", length.value);
                return Err(RpcError::params(at, text)
                    .met(length.value)
                    .allowed("0.001 to 10000 m")
                    .next("measure the piece that was weighed or clipped in; a metre or more tells most"));
            }
        }
        let length = self.length_m(s.length_m, "/seen/sample/length_m", 0.001)?;
        let ohm_length = self.length_m(s.ohm_length_m, "/seen/sample/ohm_length_m", 0.001)?;
        if s.mass_g.is_some() && length.is_none() {
            return Err(RpcError::params(
                "/seen/sample/length_m",
                "a mass tells nothing without the length that was weighed",
            )
            .next("measure the length and give it as `length_m`, or leave `mass_g` out"));
        }
        if s.ohm.is_some() && length.is_none() && ohm_length.is_none() {
            return Err(RpcError::params(
                "/seen/sample/length_m",
                "a resistance tells nothing without the length between the clips",
            )
            .next("measure the length and give it as `length_m` or `ohm_length_m`, or leave `ohm` out"));
        }
        let usual = (self.figures.scale.value.weighing_u_g(), "the shop's scale");
        let mass =
            s.mass_g.map(|m| self.reading(m, "/seen/sample/mass_g", (1e-6, 100_000.0), usual, "g")).transpose()?;
        let (ohm, temperature) = self.ohm(s.ohm, s.test_leads_ohm, s.temperature_c, "/seen/sample")?;
        if mass.is_none() && ohm.is_none() && (length.is_some() || ohm_length.is_some()) {
            let text = "a length alone tells nothing about the wire: weigh the piece or measure its resistance";
            self.findings.push(Finding::note("sample_not_used", text.into()));
        }
        Ok(Sample { length, mass, ohm, ohm_length, temperature })
    }

    fn coil(&mut self, c: &SeenCoil) -> Result<Wound, RpcError> {
        let caliper = (self.figures.caliper_u_mm.value, "the shop's caliper");
        let inside =
            self.reading(c.inside_diameter_mm, "/seen/coil/inside_diameter_mm", (3.0, 1000.0), caliper, "mm")?;
        let wall = self.reading(c.wall_mm, "/seen/coil/wall_mm", (0.0, 10.0), caliper, "mm")?;
        let width = self.length_mm(c.width_mm, "/seen/coil/width_mm", (0.05, 500.0), caliper)?;
        let leads = self.length_m(c.leads_m, "/seen/coil/leads_m", 0.0)?;
        let (ohm, temperature) = self.ohm(c.ohm, c.test_leads_ohm, c.temperature_c, "/seen/coil")?;
        Ok(Wound {
            inside,
            wall,
            turns: turns(c)?,
            width,
            leads: leads.unwrap_or(Measured::certain(Length::ZERO)),
            ohm,
            temperature,
        })
    }

    /// A reading of the meter without its leads, and the temperature it was taken at.
    ///
    /// A stated uncertainty is that of the resistance at 20 °C: neither leads nor temperature add to it.
    #[allow(clippy::type_complexity)]
    fn ohm(
        &mut self,
        r: Option<Reading<Ohm>>,
        test_leads: Option<Setting<Ohm>>,
        temperature: Option<Reading<C>>,
        at: &str,
    ) -> Result<(Option<Measured<Resistance>>, Option<Measured<Temperature>>), RpcError> {
        let Some(r) = r else { return Ok((None, None)) };
        let (leads, stated) = (test_leads.map_or(0.0, |s| s.value), r.u.is_some());
        within(&format!("{at}/test_leads_ohm"), leads, 0.0, 1000.0, "Ω")?;
        let meter = (self.figures.meter.value.reading_u_ohm(r.value), "the shop's meter");
        let shown = self.reading(r, &format!("{at}/ohm"), (1e-6, 1e6), meter, "Ω")?;
        if shown.value.ohm() <= leads {
            return Err(RpcError::params(
                format!("{at}/test_leads_ohm"),
                format!("the test leads alone show {leads} Ω, all that was read with the wire between them"),
            )
            .met(leads)
            .allowed(format!("less than {} Ω", r.value))
            .next("check that the reading with the wire is in `ohm` and that with shorted leads in `test_leads_ohm`"));
        }
        let net = Measured::new(Resistance::from_ohm(shown.value.ohm() - leads), shown.u);
        let temperature = match temperature {
            Some(t) => {
                let usual = if stated { 0.0 } else { self.figures.temperature_u_c.value };
                within(&format!("{at}/temperature_c"), t.value, -50.0, 300.0, "°C")?;
                Some(Reading::<C>::known(t.value, t.u.unwrap_or(usual)).measured())
            }
            None => {
                let text = "the temperature of the wire was not noted: 20 °C taken; every 5 °C warmer show 2 % more";
                self.findings.push(Finding::note("temperature_not_noted", text.into()));
                let u = if stated { 0.0 } else { half_width_to_u(BENCH_C.1) };
                self.origins.push(Origin {
                    param: format!("{}.temperature_c", at.trim_start_matches('/').replace('/', ".")),
                    value: BENCH_C.0,
                    u,
                    unit: "°C",
                    mark: Mark::CommonPractice,
                    source: "a bench between 15 and 25 °C; no source".into(),
                });
                Some(Reading::<C>::known(BENCH_C.0, u).measured())
            }
        };
        Ok((Some(net), temperature))
    }
}

/// Turns of each layer, or how many layers there are to fill.
fn turns(c: &SeenCoil) -> Result<Turns, RpcError> {
    const AT: &str = "/seen/coil/layers";
    if let Some(n) = c.layers {
        within(AT, f64::from(n), 1.0, 12.0, "layers")?;
    }
    let counted = match &c.turns_per_layer {
        None => return Ok(Turns::Filling(c.layers.unwrap_or(0))),
        Some(TurnsPerLayer::Each(list)) => list.clone(),
        Some(TurnsPerLayer::First(first)) => {
            let layers = c.layers.ok_or_else(|| {
                RpcError::params(AT, "`layers` is required where the turns are not listed layer by layer")
                    .next("add `layers`: 2 or 4 are usual")
            })?;
            (0..layers).map(|i| first.saturating_sub(u32::from(i > 0))).collect()
        }
    };
    let at = "/seen/coil/turns_per_layer";
    if counted.is_empty() || counted.len() > 12 || counted.iter().any(|n| *n == 0 || *n > 100_000) {
        return Err(RpcError::params(at, "a coil has 1 to 12 layers of 1 to 100000 turns")
            .met(counted)
            .next("list the turns that were counted on each layer"));
    }
    if c.layers.is_some_and(|n| n as usize != counted.len()) {
        return Err(RpcError::params(at, "the list has another count of layers than `layers`")
            .met(counted.len())
            .allowed(c.layers.unwrap_or(0))
            .next("list the turns of every layer, or leave `layers` out"));
    }
    Ok(Turns::Counted(counted))
}

/// The measurements as they were understood.
pub fn understood(seen: &Seen) -> SeenUnderstood {
    fn told<U: Unit>(m: Option<Measured<U::Of>>) -> Option<Figure<U>> {
        m.map(Into::into)
    }
    let (s, coil) = (&seen.sample, seen.coil.as_ref());
    SeenUnderstood {
        overall_mm: told(seen.overall),
        bare_mm: told(seen.bare),
        pitch_mm: told(seen.pitch),
        length_m: told(s.length),
        mass_g: told(s.mass),
        ohm: told(s.ohm),
        ohm_length_m: told(s.ohm.and(Some(seen.ohm_length()))),
        temperature_c: told(s.temperature),
        coil_turns_per_layer: coil.and_then(|c| match &c.turns {
            Turns::Counted(n) => Some(n.clone()),
            Turns::Filling(_) => None,
        }),
        coil_width_mm: told(coil.and_then(|c| c.width)),
        coil_ohm: told(coil.and_then(|c| c.ohm)),
        coil_temperature_c: told(coil.and_then(|c| c.temperature)),
        rated_ohm: seen.rated.map(bare),
    }
}
