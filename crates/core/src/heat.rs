//! The temperature of a working coil from its resistance, what it costs in level, and when to stop.

use crate::coil::findings::{Finding, Level};
use crate::conductor::Conductor;
use crate::enough::normal_probability;
use crate::measured::{Inputs, Measured};
use crate::quantity::{Resistance, Temperature};

/// A coil measured cold and, if it was, hot. Shorted test leads are taken off already.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Resistance when cold.
    pub cold: Measured<Resistance>,
    /// Temperature then.
    pub cold_at: Measured<Temperature>,
    /// Resistance when hot.
    pub hot: Option<Measured<Resistance>>,
    /// The metal of the wire.
    pub conductor: Conductor,
    /// Temperatures not to be exceeded, with their names.
    pub limits: Vec<(String, Temperature)>,
}

/// What follows.
#[derive(Debug, Clone, PartialEq)]
pub struct Heat {
    /// Temperature of the winding, a mean over its length.
    pub temperature: Option<Measured<Temperature>>,
    /// Level lost to the higher resistance at the same voltage; positive is lost.
    pub db_lost: Option<Measured<f64>>,
    /// How far it is from each limit, the nearest first.
    pub margins: Vec<Margin>,
    /// What the winder must be told.
    pub findings: Vec<Finding>,
}

/// One limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Margin {
    /// Its name.
    pub what: String,
    /// The limit.
    pub limit: Temperature,
    /// How much colder than it the coil is; negative if it is hotter.
    pub left: Option<Measured<Temperature>>,
    /// Probability that the limit is exceeded.
    pub exceeded: Option<f64>,
    /// Resistance at the limit: stop when it is reached.
    pub stop: Measured<Resistance>,
}

/// Above this the law of resistance is no longer taken as linear. Source: NBS Handbook 100 (1966).
const LINEAR_TO: f64 = 200.0;
/// No coil is hotter: enamel and adhesive are gone.
const NO_COIL_ABOVE: f64 = 400.0;

/// Temperature, loss and margins.
///
/// ```text
/// T = (R/R₀ − 1)·(1 + α·(T₀ − 20))/α + T₀          dB lost = 20·log₁₀(R/R₀)
/// R_stop = R₀·(1 + α·(T_lim − 20))/(1 + α·(T₀ − 20))
/// ```
///
/// α at 20 °C. The temperature is the winding's mean; its hottest turn is hotter. Worked: copper of 6.00 Ω at 20 °C that has
/// 9.00 Ω is at 147.2 °C and has lost 3.52 dB.
///
/// # Sources
/// Linear law of resistance: NBS Handbook 100 (1966).
pub fn heat(q: &Question) -> Heat {
    let alpha = q.conductor.alpha20();
    let hot = q.hot.unwrap_or(q.cold);
    let limits: Vec<f64> = q.limits.iter().map(|(_, t)| t.c()).collect();
    let p = Inputs::new(vec![q.cold.input(), q.cold_at.input(), hot.input()]).propagate(|x, out| {
        let (cold, at, hot) = (x[0], x[1], x[2]);
        let kelvin = (1.0 + alpha * (at - 20.0)) / alpha;
        let t = (hot / cold - 1.0) * kelvin + at;
        out.extend([t, 20.0 * libm::log10(hot / cold)]);
        out.extend(limits.iter().map(|limit| cold * (1.0 + (limit - at) / kelvin)));
    });
    let temperature: Option<Measured<Temperature>> = q.hot.map(|_| p.measured(0));
    let mut margins: Vec<Margin> = q
        .limits
        .iter()
        .enumerate()
        .map(|(i, (what, limit))| {
            let left = temperature.map(|t| Measured::new(*limit - t.value, t.u));
            Margin {
                what: what.clone(),
                limit: *limit,
                left,
                exceeded: left.map(|m| {
                    if m.u.c() > 0.0 { normal_probability(-(m.value / m.u)) } else { f64::from(m.value.c() < 0.0) }
                }),
                stop: p.measured(2 + i),
            }
        })
        .collect();
    margins.sort_by(|a, b| a.limit.c().total_cmp(&b.limit.c()));
    Heat { db_lost: q.hot.map(|_| p.measured(1)), findings: findings(q, temperature, &margins), temperature, margins }
}

fn findings(q: &Question, temperature: Option<Measured<Temperature>>, margins: &[Margin]) -> Vec<Finding> {
    let mut all = Vec::new();
    let mut say = |code: &str, level, text: String, figure: f64, limit: f64| {
        all.push(Finding { code: code.to_owned(), level, text, figure: Some(figure), limit: Some(limit) });
    };
    let Some(t) = temperature else { return all };
    let (c, u) = (t.value.c(), t.u.c());
    for m in margins {
        let limit = m.limit.c();
        if c > limit {
            say(
                "limit_exceeded",
                Level::Stop,
                format!("{c:.0} °C is {:.0} °C above the {limit:.0} °C of {}", c - limit, m.what),
                c,
                limit,
            );
        } else if m.exceeded.is_some_and(|p| p > 0.05) {
            say(
                "limit_may_be_exceeded",
                Level::Watch,
                format!("{c:.0} ± {u:.0} °C may already be above the {limit:.0} °C of {}", m.what),
                c,
                limit,
            );
        }
    }
    let cold = q.cold_at.value.c();
    if c < cold - 3.0 * libm::hypot(u, q.cold_at.u.c()) {
        say(
            "colder_than_cold",
            Level::Watch,
            format!(
                "the hot reading gives {c:.0} °C, colder than the {cold:.0} °C of the cold one: were they exchanged, or is a turn shorted?"
            ),
            c,
            cold,
        );
    }
    if c > NO_COIL_ABOVE {
        say(
            "no_coil_is_so_hot",
            Level::Watch,
            format!("{c:.0} °C: no enamel bears that; an open or loose joint, or a wrong cold reading"),
            c,
            NO_COIL_ABOVE,
        );
    } else if c > LINEAR_TO {
        say(
            "beyond_the_linear_law",
            Level::Note,
            format!("{c:.0} °C is beyond the {LINEAR_TO:.0} °C to which the law of resistance is published as linear"),
            c,
            LINEAR_TO,
        );
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn question(conductor: Conductor, cold: f64, at: f64, hot: f64) -> Question {
        Question {
            cold: Measured::certain(Resistance::from_ohm(cold)),
            cold_at: Measured::certain(Temperature::from_c(at)),
            hot: Some(Measured::certain(Resistance::from_ohm(hot))),
            conductor,
            limits: vec![
                ("adhesive".into(), Temperature::from_c(180.0)),
                ("enamel".into(), Temperature::from_c(155.0)),
            ],
        }
    }

    fn temperature(conductor: Conductor, cold: f64, at: f64, hot: f64) -> f64 {
        heat(&question(conductor, cold, at, hot)).temperature.unwrap().value.c()
    }

    /// Factors 254.5/(234.5 + t) to 20 °C for copper as IEC 60228 prints them to three decimals for 10, 15, 25 and 30 °C
    /// (1.041, 1.020, 0.981, 0.962: from memory), and that formula itself up to 200 °C. Its 234.5 is given to four digits,
    /// ± 0.05, which is ± 0.02 % of a temperature difference; the other handbook's α makes 234.45.
    #[test]
    fn copper_follows_the_published_temperature_tables() {
        for (t, printed) in [(10.0, 1.041), (15.0, 1.020), (25.0, 0.981), (30.0, 0.962)] {
            let met = temperature(Conductor::Copper, 1.0, 20.0, 1.0 / printed);
            // Half a unit of the third decimal is 0.13 °C.
            assert!((met - t).abs() < 0.14, "{t}: {met}");
        }
        for t in [0.0, 10.0, 25.0, 100.0, 150.0, 200.0] {
            let met = temperature(Conductor::Copper, 1.0, 20.0, (234.5 + t) / 254.5);
            assert!((met - t).abs() <= 0.0003 * (t - 20.0_f64).abs() + 1e-9, "{t}: {met}");
        }
    }

    /// The same for aluminium, 248/(228 + t) (IEC 60228, from memory): 1/α = 248.14, so 0.06 % of the difference.
    #[test]
    fn aluminium_follows_its_constant() {
        for t in [0.0, 50.0, 100.0, 150.0] {
            let met = temperature(Conductor::Aluminium, 1.0, 20.0, (228.0 + t) / 248.0);
            assert!((met - t).abs() <= 0.0008 * (t - 20.0_f64).abs() + 1e-9, "{t}: {met}");
        }
    }

    /// Source: NBS Handbook 100 (1966), α20 0.00393: 6.00 Ω at 25 °C is 5.8844 Ω at 20 °C. Half a unit of the last digit
    /// is 0.002 °C.
    #[test]
    fn a_coil_at_the_bench_is_where_it_was_measured() {
        assert!((temperature(Conductor::Copper, 5.8844, 20.0, 6.00) - 25.0).abs() < 0.0025);
        assert!((temperature(Conductor::Copper, 6.00, 25.0, 5.8844) - 20.0).abs() < 0.0025);
    }

    #[test]
    fn the_stop_reading_is_the_limit_read_backwards() {
        for (at, limit) in [(20.0, 180.0), (26.0, 155.0), (15.0, 105.0)] {
            let mut q = question(Conductor::Copper, 5.31, at, 6.0);
            q.limits = vec![("adhesive".into(), Temperature::from_c(limit))];
            let stop = heat(&q).margins[0].stop.value.ohm();
            assert!((temperature(Conductor::Copper, 5.31, at, stop) - limit).abs() < 1e-9);
        }
    }

    /// Arithmetic: half as much again is 20·log₁₀ 1.5 = 3.5218 dB.
    #[test]
    fn lost_level_is_positive() {
        let h = heat(&question(Conductor::Copper, 6.0, 20.0, 9.0));
        assert!((h.db_lost.unwrap().value - 3.52183).abs() < 1e-5);
        assert_eq!(h.margins[0].what, "enamel");
        assert!((h.margins[0].left.unwrap().value.c() - 7.77).abs() < 0.01);
    }

    #[test]
    fn too_hot_too_cold_and_impossible_are_told() {
        let codes = |hot: f64| -> Vec<String> {
            heat(&question(Conductor::Copper, 6.0, 20.0, hot)).findings.into_iter().map(|f| f.code).collect()
        };
        assert_eq!(codes(9.0), Vec::<&str>::new());
        assert_eq!(codes(9.5), ["limit_exceeded"]);
        assert_eq!(codes(10.5), ["limit_exceeded", "limit_exceeded", "beyond_the_linear_law"]);
        assert_eq!(codes(5.0), ["colder_than_cold"]);
        assert_eq!(codes(60.0).last().map(String::as_str), Some("no_coil_is_so_hot"));
    }

    #[test]
    fn doubt_of_the_readings_becomes_doubt_of_the_temperature() {
        let mut q = question(Conductor::Copper, 6.0, 20.0, 9.1);
        q.hot = Some(Measured::new(Resistance::from_ohm(9.1), Resistance::from_ohm(0.05)));
        let h = heat(&q);
        let u = 0.05 / 6.0 / 0.00393;
        assert!((h.temperature.unwrap().u.c() - u).abs() < 1e-9);
        assert_eq!(h.findings[0].code, "limit_may_be_exceeded");
    }
}
