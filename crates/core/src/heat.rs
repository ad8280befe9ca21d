//! The temperature of a working coil from its resistance, what it costs in level, and when to stop.

use crate::conductor::Conductor;
use crate::enough::normal_probability;
use crate::finding::Finding;
use crate::measured::{Inputs, Measured};
use crate::quantity::{Resistance, Temperature};

/// A coil measured cold and, if it was, hot, by one meter on one pair of test leads.
///
/// The doubt of a reading is what sets two readings of that meter apart: an error of its scale is in both and falls out.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What the meter shows when the coil is cold, test leads included.
    pub cold: Measured<Resistance>,
    /// Temperature then.
    pub cold_at: Measured<Temperature>,
    /// What it shows when the coil is hot.
    pub hot: Option<Measured<Resistance>>,
    /// What the test leads show when shorted.
    pub test_leads: Measured<Resistance>,
    /// The metal of the wire.
    pub conductor: Conductor,
    /// Temperatures not to be exceeded.
    pub limits: Vec<Temperature>,
}

/// What follows.
#[derive(Debug, Clone, PartialEq)]
pub struct Heat {
    /// Temperature of the winding, a mean over its length.
    pub temperature: Option<Measured<Temperature>>,
    /// Level lost to the higher resistance at the same voltage; positive is lost.
    pub db_lost: Option<Measured<f64>>,
    /// How far it is from each limit, the lowest limit first.
    pub margins: Vec<Margin>,
    /// What the winder must be told.
    pub findings: Vec<Finding>,
}

/// One limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Margin {
    /// The limit.
    pub limit: Temperature,
    /// How much colder than it the coil is; negative if it is hotter.
    pub left: Option<Measured<Temperature>>,
    /// Probability that the limit is exceeded.
    pub exceeded: Option<f64>,
    /// What the meter shows at the limit: stop when it is reached.
    pub stop: Measured<Resistance>,
}

/// Above this the law of resistance is no longer published as linear. Source: NBS Handbook 100 (1966).
const LINEAR_TO: f64 = 200.0;
/// No coil is hotter: enamel and adhesive are gone.
const NO_COIL_ABOVE: f64 = 400.0;
/// Probability above which a limit counts as perhaps exceeded.
const PERHAPS: f64 = 0.05;

/// Temperature, loss and margins.
///
/// ```text
/// T = (R/R₀ − 1)·(1 + α·(T₀ − 20))/α + T₀          dB lost = 20·log₁₀(R/R₀)
/// R_stop = R₀·(1 + α·(T_lim − 20))/(1 + α·(T₀ − 20))
/// ```
///
/// R, R₀ without test leads, α at 20 °C. The temperature is the winding's mean; its hottest turn is hotter. Worked: copper
/// of 6.00 Ω at 20 °C that has 9.00 Ω is at 147.2 °C and has lost 3.52 dB.
///
/// # Sources
/// Linear law of resistance: NBS Handbook 100 (1966).
pub fn heat(q: &Question) -> Heat {
    let alpha = q.conductor.alpha20();
    let hot = q.hot.unwrap_or(q.cold);
    let mut limits: Vec<f64> = q.limits.iter().map(|t| t.c()).collect();
    limits.sort_by(f64::total_cmp);
    let inputs = vec![q.cold.input(), q.cold_at.input(), hot.input(), q.test_leads.input()];
    let p = Inputs::new(inputs).propagate(|x, out| {
        let (cold, at, hot) = (x[0] - x[3], x[1], x[2] - x[3]);
        let kelvin = (1.0 + alpha * (at - 20.0)) / alpha;
        out.push((hot / cold - 1.0) * kelvin + at);
        out.push(20.0 * libm::log10(hot / cold));
        out.extend(limits.iter().map(|limit| cold * (1.0 + (limit - at) / kelvin) + x[3]));
    });
    let temperature: Option<Measured<Temperature>> = q.hot.map(|_| p.measured(0));
    let margins: Vec<Margin> = limits
        .iter()
        .enumerate()
        .map(|(i, limit)| {
            let limit = Temperature::from_c(*limit);
            let left = temperature.map(|t| Measured::new(limit - t.value, t.u));
            Margin { limit, left, exceeded: left.map(below_zero), stop: p.measured(2 + i) }
        })
        .collect();
    Heat { db_lost: q.hot.map(|_| p.measured(1)), findings: findings(q, temperature, &margins), temperature, margins }
}

fn below_zero(left: Measured<Temperature>) -> f64 {
    if left.u.c() > 0.0 { normal_probability(-(left.value / left.u)) } else { f64::from(left.value.c() < 0.0) }
}

fn findings(q: &Question, temperature: Option<Measured<Temperature>>, margins: &[Margin]) -> Vec<Finding> {
    let Some(t) = temperature else { return Vec::new() };
    let (c, u) = (t.value.c(), t.u.c());
    let mut all: Vec<Finding> = margins
        .iter()
        .filter_map(|m| {
            let limit = m.limit.c();
            let finding = if c > limit {
                Finding::stop("limit_exceeded", format!("{c:.0} ± {u:.0} °C is above the limit of {limit:.0} °C: let the coil cool"))
            } else if m.exceeded.is_some_and(|p| p > PERHAPS) {
                Finding::watch("limit_may_be_exceeded", format!("{c:.0} ± {u:.0} °C may be above the limit of {limit:.0} °C already, which nobody sees from outside; the hottest turn is hotter than this mean"))
            } else {
                return None;
            };
            Some(finding.figures(c, limit))
        })
        .collect();
    let cold = q.cold_at.value.c();
    if c < cold - 3.0 * libm::hypot(u, q.cold_at.u.c()) {
        all.push(
            Finding::watch("colder_than_cold", format!("the hot reading gives {c:.0} °C, colder than the {cold:.0} °C of the cold one: were the two exchanged, or are turns shorted?"))
                .figures(c, cold),
        );
    }
    if c > NO_COIL_ABOVE {
        all.push(
            Finding::watch(
                "no_coil_is_so_hot",
                format!("{c:.0} °C: no enamel bears that; a loose or broken joint, or a wrong cold reading"),
            )
            .figures(c, NO_COIL_ABOVE),
        );
    } else if c > LINEAR_TO {
        all.push(
            Finding::note(
                "beyond_the_linear_law",
                format!(
                    "{c:.0} °C is beyond the {LINEAR_TO:.0} °C to which the resistance of copper is published as linear"
                ),
            )
            .figures(c, LINEAR_TO),
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
            test_leads: Measured::certain(Resistance::ZERO),
            conductor,
            limits: vec![Temperature::from_c(180.0), Temperature::from_c(155.0)],
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
        for (at, limit, leads) in [(20.0, 180.0, 0.0), (26.0, 155.0, 0.21), (15.0, 105.0, 0.4)] {
            let mut q = question(Conductor::Copper, 5.31 + leads, at, 6.0);
            q.test_leads = Measured::certain(Resistance::from_ohm(leads));
            q.limits = vec![Temperature::from_c(limit)];
            let stop = heat(&q).margins[0].stop.value;
            q.hot = Some(Measured::certain(stop));
            assert!((heat(&q).temperature.unwrap().value.c() - limit).abs() < 1e-9);
        }
    }

    /// Arithmetic: half as much again is 20·log₁₀ 1.5 = 3.5218 dB, and 127.23 K.
    #[test]
    fn lost_level_is_positive_and_the_lowest_limit_comes_first() {
        let h = heat(&question(Conductor::Copper, 6.0, 20.0, 9.0));
        assert!((h.db_lost.unwrap().value - 3.52183).abs() < 1e-5);
        assert_eq!(h.margins[0].limit.c(), 155.0);
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

    /// By hand: 0.05 Ω of 6 Ω is 2.12 K; at 151.9 °C the limit of 155 °C is 1.46 of that away, 7 % beyond.
    #[test]
    fn doubt_of_the_readings_becomes_doubt_of_the_temperature() {
        let mut q = question(Conductor::Copper, 6.0, 20.0, 9.11);
        q.hot = Some(Measured::new(Resistance::from_ohm(9.11), Resistance::from_ohm(0.05)));
        let h = heat(&q);
        assert!((h.temperature.unwrap().u.c() - 0.05 / 6.0 / 0.00393).abs() < 1e-9);
        assert!((h.margins[0].exceeded.unwrap() - 0.073).abs() < 0.002, "{:?}", h.margins[0]);
        assert_eq!(h.findings[0].code, "limit_may_be_exceeded");
    }

    /// Without a hot reading there is the stop reading alone.
    #[test]
    fn a_cold_coil_has_its_stop_reading() {
        let mut q = question(Conductor::Copper, 6.0, 20.0, 0.0);
        q.hot = None;
        let h = heat(&q);
        assert!(h.temperature.is_none() && h.db_lost.is_none() && h.findings.is_empty());
        assert!((h.margins[0].stop.value.ohm() - 6.0 * (1.0 + 0.00393 * 135.0)).abs() < 1e-12);
        assert!(h.margins[0].left.is_none());
    }
}
