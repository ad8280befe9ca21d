//! Plan bars: each spool a bar as long as its wire, the coils laid on it, what is left at the end, and the word.

use crate::number::{Figure, fixed};
use crate::refusal::{CannotDraw, out_of_range, share, sound, sound_figure};
use crate::svg::{Anchor, Svg, id_of, text_width, wrap};
use crate::word::Word;
use maud::{PreEscaped, html};

/// A plan, spool by spool.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanBars {
    /// What the plan is called.
    pub title: String,
    /// The spools, in the order of printing.
    pub spools: Vec<SpoolBar>,
}

/// One spool of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SpoolBar {
    /// Spool id.
    pub spool: String,
    /// Wire on it.
    pub wire: String,
    /// Length on it before the plan, m.
    pub left_m: Figure,
    /// What is wound from it, in order.
    pub coils: Vec<CoilBar>,
    /// Length left when all is wound, m (below zero: missing).
    pub end_m: f64,
    /// The word for it.
    pub word: Word,
    /// Probability that all its coils can be wound.
    pub probability: f64,
}

/// One coil of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct CoilBar {
    /// Job id.
    pub job: String,
    /// Length it needs, m.
    pub need_m: f64,
}

/// Most spools in one drawing.
const MOST_SPOOLS: usize = 400;
/// Most coils in one drawing.
const MOST_COILS: usize = 5000;

const WIDTH: f64 = 180.0;
const ROW: f64 = 9.0;
const TOP: f64 = 9.0;
const BAR_LEFT: f64 = 34.0;
const BAR_RIGHT: f64 = 136.0;
const BAR: f64 = 5.0;
const TEXT: f64 = 2.6;

/// The plan as a `figure`: drawing, one sentence, table. Goes into any page, or through [`crate::page::page`].
///
/// Neighbouring jobs differ by hatching, and every block that has room for it carries its job.
///
/// # Errors
/// [`CannotDraw`] for numbers that are none, and for more than 400 spools or 5000 coils.
pub fn plan_bars(plan: &PlanBars) -> Result<String, CannotDraw> {
    check(plan)?;
    let summary = summary(plan);
    let svg = draw(plan, &summary);
    let out = html! {
        figure {
            (PreEscaped(svg))
            figcaption { (summary) }
            table {
                caption { (plan.title) }
                thead {
                    tr {
                        @for head in ["Spool", "Wire", "On it", "Coils", "Used", "Left at the end", "Holds all its coils"] {
                            th scope="col" { (head) }
                        }
                    }
                }
                tbody {
                    @for s in &plan.spools {
                        tr {
                            th scope="row" { (s.spool) }
                            td { (s.wire) }
                            td.n { (s.left_m.with_unit("m", 2)) }
                            td.w { (coils(s)) }
                            td.n { (fixed(used(s), 2)) " m" }
                            td.n { (fixed(s.end_m, 2)) " m" }
                            td { (s.word.with(s.probability)) }
                        }
                    }
                }
            }
        }
    };
    Ok(out.into_string())
}

fn check(plan: &PlanBars) -> Result<(), CannotDraw> {
    let coils: usize = plan.spools.iter().map(|s| s.coils.len()).sum();
    if plan.spools.len() > MOST_SPOOLS {
        return Err(out_of_range("spools", plan.spools.len() as f64, "at most 400 spools"));
    }
    if coils > MOST_COILS {
        return Err(out_of_range("coils", coils as f64, "at most 5000 coils"));
    }
    for s in &plan.spools {
        sound_figure("left_m", s.left_m)?;
        sound("end_m", s.end_m)?;
        share("probability", s.probability)?;
        for c in &s.coils {
            if c.need_m < 0.0 {
                return Err(out_of_range("need_m", c.need_m, "a length that is not negative"));
            }
            sound("need_m", c.need_m)?;
        }
    }
    Ok(())
}

fn used(s: &SpoolBar) -> f64 {
    s.coils.iter().map(|c| c.need_m).sum()
}

/// Coils of one job that follow each other, as (job, count, first metre, last metre).
fn runs(s: &SpoolBar) -> Vec<(&str, usize, f64, f64)> {
    let mut runs: Vec<(&str, usize, f64, f64)> = Vec::new();
    let mut at = 0.0;
    for c in &s.coils {
        let end = at + c.need_m;
        match runs.last_mut() {
            Some(last) if last.0 == c.job => {
                last.1 += 1;
                last.3 = end;
            }
            _ => runs.push((&c.job, 1, at, end)),
        }
        at = end;
    }
    runs
}

fn coils(s: &SpoolBar) -> String {
    if s.coils.is_empty() {
        return "none".into();
    }
    let each: Vec<String> = runs(s).into_iter().map(|(job, n, _, _)| format!("{n} of {job}")).collect();
    each.join(", ")
}

fn summary(plan: &PlanBars) -> String {
    let coils: usize = plan.spools.iter().map(|s| s.coils.len()).sum();
    let with = plan.spools.iter().filter(|s| !s.coils.is_empty());
    let count = |word| with.clone().filter(|s| s.word == word).count();
    let many = |n: usize, what: &str| if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") };
    format!(
        "{} on {} of {}: {} enough, {} doubtful, {} short.",
        many(coils, "coil"),
        with.clone().count(),
        many(plan.spools.len(), "spool"),
        count(Word::Enough),
        count(Word::Doubtful),
        count(Word::Short)
    )
}

fn draw(plan: &PlanBars, summary: &str) -> String {
    let id = id_of("bars", &format!("{plan:?}"));
    let high = TOP + ROW * plan.spools.len().max(1) as f64 + 3.0;
    let desc =
        format!("{summary} One bar a spool, as long as the wire on it; the table after the drawing has the figures.");
    let mut svg = Svg::sheet(&id, WIDTH, high, &plan.title, &desc);
    let longest = plan.spools.iter().map(|s| (s.left_m.value + s.left_m.u).max(used(s))).fold(1e-9, f64::max);
    let step = grid_step(longest);
    let x = |m: f64| BAR_LEFT + (BAR_RIGHT - BAR_LEFT) * m.max(0.0) / longest;

    for i in 0..=(longest / step + 1e-9) as usize {
        let m = i as f64 * step;
        svg.line((x(m), TOP - 2.0), (x(m), high - 2.0), 0.1);
        let unit = if i == 0 { "0 m".into() } else { crate::number::short(m, 2) };
        svg.label((x(m), TOP - 2.8), TEXT, Anchor::Middle, &unit);
    }
    for (i, s) in plan.spools.iter().enumerate() {
        row(&mut svg, s, TOP + ROW * i as f64, &x);
    }
    if plan.spools.is_empty() {
        svg.label((BAR_LEFT, TOP + 5.0), TEXT, Anchor::Start, "no spools");
    }
    svg.finish()
}

fn row(svg: &mut Svg, s: &SpoolBar, y: f64, x: &dyn Fn(f64) -> f64) {
    let (top, foot) = (y + 1.6, y + 1.6 + BAR);
    svg.tag("g").set("data-spool", &s.spool).open();
    let name =
        |text: &str, size: f64| wrap(text, ((BAR_LEFT - 3.0) / (size * 0.6)) as usize, 1).pop().unwrap_or_default();
    svg.bold((1.0, y + 3.8), TEXT, Anchor::Start, &name(&s.spool, TEXT));
    svg.label((1.0, y + 7.0), TEXT * 0.8, Anchor::Start, &name(&s.wire, TEXT * 0.8));
    svg.rect((x(0.0), top), (x(s.left_m.value), foot), "#fff", 0.35);
    for (i, (job, n, from, to)) in runs(s).into_iter().enumerate() {
        block(svg, (x(from), top), (x(to), foot), i);
        for coil in 1..n {
            let at = x(from + (to - from) * coil as f64 / n as f64);
            svg.line((at, top), (at, foot), 0.12);
        }
        let text = if n == 1 { job.to_string() } else { format!("{n} × {job}") };
        if text_width(&text, TEXT) + 1.0 < x(to) - x(from) {
            svg.label(((x(from) + x(to)) / 2.0, top + 3.4), TEXT, Anchor::Middle, &text);
        }
    }
    // One standard uncertainty on either side of the end of the wire.
    let (low, high) = (x(s.left_m.value - s.left_m.u), x(s.left_m.value + s.left_m.u));
    let middle = (top + foot) / 2.0;
    svg.line((low, middle), (high, middle), 0.3);
    for end in [low, high] {
        svg.line((end, middle - 1.0), (end, middle + 1.0), 0.3);
    }
    svg.line((x(s.left_m.value), top - 0.7), (x(s.left_m.value), foot + 0.7), 0.6);
    let end = if s.end_m < 0.0 {
        format!("{} m missing", fixed(-s.end_m, 1))
    } else {
        format!("{} m left", fixed(s.end_m, 1))
    };
    svg.label((BAR_RIGHT + 3.0, y + 3.8), TEXT, Anchor::Start, &end);
    svg.bold((BAR_RIGHT + 3.0, y + 7.0), TEXT, Anchor::Start, &s.word.with(s.probability));
    svg.end();
}

/// Three fills that differ in print: strokes one way, strokes the other way, both.
fn block(svg: &mut Svg, a: (f64, f64), b: (f64, f64), kind: usize) {
    svg.rect(a, b, "#ececec", 0.0);
    let kind = kind % 3;
    if kind != 1 {
        svg.hatch(a, b, 1.6, true, 0.16);
    }
    if kind != 0 {
        svg.hatch(a, b, 1.6, false, 0.16);
    }
    svg.rect(a, b, "none", 0.25);
}

/// A round step that gives four to ten lines.
pub(crate) fn grid_step(longest: f64) -> f64 {
    let rough = longest / 8.0;
    let ten = libm::pow(10.0, libm::floor(libm::log10(rough.max(1e-9))));
    [1.0, 2.0, 5.0].into_iter().map(|k| k * ten).find(|s| *s >= rough).unwrap_or(10.0 * ten)
}

#[cfg(test)]
mod tests {
    use super::*;
    use roxmltree::Document;

    fn plan() -> PlanBars {
        let coil = |job: &str, need_m| CoilBar { job: job.into(), need_m };
        PlanBars {
            title: "Plan of week 19".into(),
            spools: vec![
                SpoolBar {
                    spool: "s-1".into(),
                    wire: "cu-awg30-single".into(),
                    left_m: Figure { value: 60.0, u: 1.4 },
                    coils: vec![coil("j-4", 17.75), coil("j-4", 17.75), coil("j-5", 14.6)],
                    end_m: 9.9,
                    word: Word::Enough,
                    probability: 0.9997,
                },
                SpoolBar {
                    spool: "s-2".into(),
                    wire: "cu-awg31-single".into(),
                    left_m: Figure { value: 12.62, u: 0.21 },
                    coils: vec![coil("j-6", 14.6)],
                    end_m: -1.98,
                    word: Word::Short,
                    probability: 0.0,
                },
                SpoolBar {
                    spool: "s-3".into(),
                    wire: "cu-awg31-single".into(),
                    left_m: Figure { value: 31.0, u: 1.0 },
                    coils: vec![],
                    end_m: 31.0,
                    word: Word::Enough,
                    probability: 1.0,
                },
            ],
        }
    }

    #[test]
    fn bars_are_as_long_as_the_wire_and_the_coils() {
        let out = plan_bars(&plan()).unwrap();
        let doc = Document::parse(&out).unwrap();
        let row = |id: &str| doc.descendants().find(|n| n.attribute("data-spool") == Some(id)).unwrap();
        let widths = |id: &str| -> Vec<f64> {
            let rects = row(id).children().filter(|n| n.tag_name().name() == "rect");
            let outlined = rects.filter(|n| n.attribute("stroke") == Some("#000"));
            outlined.map(|n| n.attribute("width").unwrap().parse().unwrap()).collect()
        };
        let (one, two, three) = (widths("s-1"), widths("s-2"), widths("s-3"));
        let mm_per_m = one[0] / 60.0;
        assert_eq!((one.len(), two.len(), three.len()), (3, 2, 1));
        for (met, metres) in [(one[1], 35.5), (one[2], 14.6), (two[0], 12.62), (two[1], 14.6), (three[0], 31.0)] {
            assert!((met - metres * mm_per_m).abs() < 2e-4, "{met} for {metres} m");
        }
    }

    #[test]
    fn the_table_and_the_sentence_say_what_the_drawing_shows() {
        let out = plan_bars(&plan()).unwrap();
        for part in [
            "4 coils on 2 of 3 spools: 1 enough, 0 doubtful, 1 short.",
            "60.0 ± 1.4 m",
            "2 of j-4, 1 of j-5",
            "−1.98 m",
            "short (under 0.1 %)",
            "2.0 m missing",
        ] {
            assert!(out.contains(part), "{part:?} is missing");
        }
        assert_eq!(out.matches("scope=\"row\"").count(), 3);
    }

    #[test]
    fn markup_is_inert_and_nonsense_is_refused() {
        let mut p = plan();
        let evil = "<script>x</script>\"'".to_string();
        p.title = evil.clone();
        let s = &mut p.spools[0];
        (s.spool, s.wire, s.coils[0].job) = (evil.clone(), evil.clone(), evil);
        let out = plan_bars(&p).unwrap();
        assert!(!out.contains("<script"));
        Document::parse(&out).unwrap();
        p.spools[0].probability = 1.5;
        assert!(plan_bars(&p).is_err());
        let mut p = plan();
        p.spools[1].coils[0].need_m = -1.0;
        assert!(plan_bars(&p).is_err());
        p.spools.clear();
        assert!(plan_bars(&p).unwrap().contains("0 coils on 0 of 0 spools"));
    }

    #[test]
    fn the_grid_has_a_few_round_lines() {
        for longest in [0.3, 1.0, 7.0, 61.4, 999.0, 25_000.0] {
            let lines = longest / grid_step(longest);
            assert!((2.9..=10.0).contains(&lines), "{longest} m gives {lines} lines");
        }
    }
}
