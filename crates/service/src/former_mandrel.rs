//! `former.mandrel`: mandrel, release shims and film from the shop's own drawer, and what the oven does to them.

use crate::app::App;
use crate::view;
use coilwright_core::conductor::Conductor;
use coilwright_core::finding::{Finding, Level};
use coilwright_core::mandrel::{Choice, Stock, TOLERANCE_MM, choices, oven};
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::quantity::{Length, Temperature};
use coilwright_proto::error::RpcError;
use coilwright_proto::former::{
    FormerMandrel, FormerMandrelAnswer, MandrelChoice, MandrelMaterial, MandrelOven, MandrelToTurn,
};
use coilwright_proto::quantity::{Mm, Setting, bare};

/// Most choices told.
const MOST: usize = 5;
const BENCH_C: f64 = 23.0;
/// A coil this much larger after the cure is worth a word, in mm: a tenth of a usual clearance.
const WORTH_A_WORD_MM: f64 = 0.015;

pub fn answer(app: &App, asked: FormerMandrel) -> Result<FormerMandrelAnswer, RpcError> {
    let published = app.store.state();
    let figures = published.state.figures();
    let wanted = number(asked.inside_diameter_mm, "/inside_diameter_mm", 3.0, 500.0)?;
    let mut origins = Vec::new();
    let own = |given: &Option<Vec<Setting<Mm>>>, stock: &[f64], at: &str, most: f64| match given {
        None => Ok(stock.iter().map(|mm| Length::from_mm(*mm)).collect()),
        Some(list) => list.iter().enumerate().map(|(i, mm)| number(*mm, &format!("{at}/{i}"), 0.001, most)).collect(),
    };
    let stock = Stock {
        mandrels: own(&asked.mandrels_mm, &figures.mandrels_mm.value, "/mandrels_mm", 500.0)?,
        shims: own(&asked.shims_mm, &figures.shims_mm.value, "/shims_mm", 5.0)?,
        film: asked.film_mm.map(|mm| number(mm, "/film_mm", 0.005, 1.0)).transpose()?,
    };
    if stock.mandrels.len() > 1000 || stock.shims.len() > 50 {
        return Err(RpcError::params("/mandrels_mm", "that is more than a drawer holds")
            .allowed("1000 mandrels, 50 shims")
            .next("leave out those that are far from the diameter wanted"));
    }
    let tolerance = match asked.tolerance_mm {
        Some(mm) => number(mm, "/tolerance_mm", 0.0, 1.0)?,
        None => {
            origins.push(habit("tolerance_mm", TOLERANCE_MM, "mm", Mark::CommonPractice, "no source"));
            Length::from_mm(TOLERANCE_MM)
        }
    };
    let mut best = choices(&stock, wanted, tolerance, MOST);
    let fits = |c: &Choice| c.off.abs().mm() <= tolerance.mm() + 1e-8;
    if best.iter().any(fits) {
        best.retain(fits);
    }
    let mut findings = Vec::new();
    match best.first() {
        None => findings.push(finding(
            "no_mandrels",
            Level::Watch,
            "no mandrel is in the shop's drawer: note those you have with `shop set --mandrels-mm`".into(),
            None,
        )),
        Some(c) if !fits(c) => findings.push(finding(
            "none_fits",
            Level::Watch,
            format!(
                "nothing in the drawer comes within {:.3} mm: the nearest is off by {:+.3} mm",
                tolerance.mm(),
                c.off.mm()
            ),
            Some((c.off.mm(), tolerance.mm())),
        )),
        Some(c) if !c.releases() => findings.push(finding(
            "no_release_shim",
            Level::Watch,
            "no shim lies between mandrel and former: a cured coil may not come off".into(),
            None,
        )),
        Some(_) => {}
    }
    let to_turn =
        if best.first().is_some_and(|c| fits(c) && c.releases()) { Vec::new() } else { to_turn(&stock, wanted) };
    let oven = in_oven(&asked, wanted, &mut origins, &mut findings)?;
    Ok(FormerMandrelAnswer {
        inside_diameter_mm: bare(wanted),
        sentence: sentence(&best, &to_turn, &fits, wanted),
        choices: best.iter().map(|c| choice(c, fits(c))).collect(),
        to_turn,
        findings: findings.into_iter().map(view::finding).collect(),
        cautions: cautions(oven.is_some()),
        origins: origins.into_iter().map(view::origin).collect(),
        seq: published.head.seq,
        oven,
    })
}

fn number(mm: Setting<Mm>, at: &str, least: f64, most: f64) -> Result<Length, RpcError> {
    if (least..=most).contains(&mm.value) {
        return Ok(mm.quantity());
    }
    Err(RpcError::params(at, format!("{} mm is not possible here", mm.value))
        .met(mm.value)
        .allowed(format!("{least} to {most} mm"))
        .next("check the number and its unit"))
}

/// A mandrel for each shim in the drawer; `M = ID − 2·shim`.
fn to_turn(stock: &Stock, wanted: Length) -> Vec<MandrelToTurn> {
    let turned = |s: &Length| MandrelToTurn { mandrel_mm: bare(wanted - *s * 2.0), shim_mm: bare(*s) };
    stock.shims.iter().take(MOST).map(turned).collect()
}

fn choice(c: &Choice, fits: bool) -> MandrelChoice {
    MandrelChoice {
        mandrel_mm: bare(c.mandrel),
        shims_mm: c.shims.iter().map(|s| bare(*s)).collect(),
        film_wraps: c.wraps,
        inside_diameter_mm: bare(c.inside),
        off_mm: bare(c.off),
        fits,
        sentence: built(c),
    }
}

fn built(c: &Choice) -> String {
    let shims: Vec<String> = c.shims.iter().map(|s| format!("{:.3} mm", s.mm())).collect();
    let shims = match shims.len() {
        0 => "without shims".into(),
        1 => format!("with a shim of {} on each side", shims.join(" and ")),
        _ => format!("with shims of {} on each side", shims.join(" and ")),
    };
    let film = match c.wraps {
        0 => String::new(),
        1 => ", over 1 wrap of film".into(),
        n => format!(", over {n} wraps of film"),
    };
    format!("mandrel {:.3} mm {shims}{film}: {:.3} mm inside, {:+.3} mm", c.mandrel.mm(), c.inside.mm(), c.off.mm())
}

fn sentence(best: &[Choice], to_turn: &[MandrelToTurn], fits: &impl Fn(&Choice) -> bool, wanted: Length) -> String {
    match (best.first(), to_turn.first()) {
        (Some(c), None) if fits(c) => format!("Take the {}.", built(c)),
        (_, Some(t)) => format!(
            "For {:.3} mm inside turn a mandrel of {:.3} mm and use the {:.3} mm shim on each side.",
            wanted.mm(),
            t.mandrel_mm.value,
            t.shim_mm.value
        ),
        (Some(c), None) => format!("The nearest is the {}.", built(c)),
        (None, None) => format!("Turn a mandrel of {:.3} mm less twice the shim you will use.", wanted.mm()),
    }
}

fn in_oven(
    asked: &FormerMandrel,
    inside: Length,
    origins: &mut Vec<Origin>,
    findings: &mut Vec<Finding>,
) -> Result<Option<MandrelOven>, RpcError> {
    let Some(cure) = asked.cure_c else { return Ok(None) };
    let bench = asked.bench_c.map_or(BENCH_C, |c| c.value);
    for (at, c) in [("/cure_c", cure.value), ("/bench_c", bench)] {
        if !(-20.0..=400.0).contains(&c) {
            return Err(RpcError::params(at, format!("{c} °C is no temperature of a bench or an oven"))
                .met(c)
                .allowed("−20 to 400 °C")
                .next("check the number and its unit"));
        }
    }
    if asked.bench_c.is_none() {
        origins.push(habit("bench_c", BENCH_C, "°C", Mark::CommonPractice, "no source"));
    }
    let mandrel = match (asked.mandrel_expansion_per_k, asked.mandrel_material) {
        (Some(_), Some(_)) => {
            return Err(
                RpcError::params("/mandrel_material", "the expansion says it already").next("leave one of them out")
            );
        }
        (Some(per_k), None) if (0.0..=1e-4).contains(&per_k.value) => per_k.value,
        (Some(per_k), None) => {
            return Err(RpcError::params("/mandrel_expansion_per_k", format!("{} per K is no solid's", per_k.value))
                .met(per_k.value)
                .allowed("0 to 1e-4 per K")
                .next("aluminium has 23e-6"));
        }
        (None, material) => {
            let (value, mark, source) = match material.unwrap_or(MandrelMaterial::Aluminium) {
                MandrelMaterial::Aluminium => {
                    (23e-6, Mark::Published, "Industrial Power Engineering and Applications Handbook, p. 969–970")
                }
                MandrelMaterial::Steel => (11.5e-6, Mark::Memory, "plain carbon steels 11 to 12e-6"),
                MandrelMaterial::Brass => (19e-6, Mark::Memory, "brasses 18 to 20e-6"),
            };
            origins.push(habit("mandrel_expansion_per_k", value, "1/K", mark, source));
            value
        }
    };
    let conductor: Conductor = asked.conductor.map_or(Conductor::Copper, Into::into);
    let o =
        oven(mandrel, conductor.expansion_per_k(), inside, Temperature::from_c(bench), Temperature::from_c(cure.value));
    let sentence = if o.larger.mm() > 0.0 {
        format!(
            "At {:.0} °C the mandrel grows {:.3} mm, the winding {:.3} mm: it is stretched while the adhesive sets and comes out {:.3} mm larger inside.",
            cure.value,
            o.mandrel.mm(),
            o.winding.mm(),
            o.larger.mm()
        )
    } else {
        format!(
            "At {:.0} °C the winding grows {:.3} mm, the mandrel {:.3} mm: it loosens by {:.3} mm and comes out as wound.",
            cure.value,
            o.winding.mm(),
            o.mandrel.mm(),
            o.play.mm()
        )
    };
    if o.larger.mm() > WORTH_A_WORD_MM {
        findings.push(finding(
            "oven_stretches",
            Level::Watch,
            format!(
                "cured at {:.0} °C on this mandrel the coil comes out {:.3} mm larger: wind on {:.3} mm less, cure cooler, or take the coil off before the hot cure",
                cure.value, o.larger.mm(), o.larger.mm()
            ),
            Some((o.larger.mm(), WORTH_A_WORD_MM)),
        ));
    }
    Ok(Some(MandrelOven {
        mandrel_growth_mm: bare(o.mandrel),
        winding_growth_mm: bare(o.winding),
        larger_mm: bare(o.larger),
        play_mm: bare(o.play),
        sentence,
    }))
}

fn habit(param: &str, value: f64, unit: &'static str, mark: Mark, source: &str) -> Origin {
    Origin { param: param.into(), value, u: 0.0, unit, mark, source: source.into() }
}

fn finding(code: &str, level: Level, text: String, figures: Option<(f64, f64)>) -> Finding {
    Finding { code: code.into(), level, text, figure: figures.map(|f| f.0), limit: figures.map(|f| f.1) }
}

fn cautions(oven: bool) -> Vec<String> {
    let mut all = vec![
        "Cut edges of metal strip and shims are sharp: wear gloves to cut them, never near a turning mandrel."
            .to_owned(),
        "A powered winder needs its guard and a foot switch that stops it when released; no gloves near it.".to_owned(),
    ];
    if oven {
        all.push("The mandrel comes out of the oven hot for long: let it cool before the shims are drawn. No flammables in the oven, a thermostat, never an oven for food; the adhesive's safety data sheet wins.".to_owned());
    }
    all
}
