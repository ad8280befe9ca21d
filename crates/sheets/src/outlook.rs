//! The outlook: how much wire will be left day by day, with its band, and where the first job runs short.

use crate::bars::grid_step;
use crate::number::{Figure, fixed, plain, short};
use crate::refusal::{CannotDraw, out_of_range, share, sound, sound_figure};
use crate::svg::{Anchor, Svg, id_of};
use crate::word::percent;
use maud::{PreEscaped, html};

/// A series of what is left.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// What it is the outlook of.
    pub title: String,
    /// The points, days rising.
    pub points: Vec<Point>,
    /// The first job that runs short.
    pub first_short: Option<FirstShort>,
    /// What it comes to, in one sentence.
    pub sentence: String,
}

/// What is left from one day on.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Days since the first point.
    pub day: f64,
    /// The date, as it is to be printed.
    pub on: String,
    /// What is left from then on, m.
    pub left_m: Figure,
    /// What of it is long enough to be of use, m.
    pub usable_m: Option<f64>,
}

/// The first job that runs short.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstShort {
    /// Job id.
    pub job: String,
    /// Days since the first point.
    pub day: f64,
    /// The date, as it is to be printed.
    pub on: String,
    /// Probability that it runs short.
    pub probability: f64,
}

const SIZE: (f64, f64) = (180.0, 84.0);
const LEFT: f64 = 16.0;
const RIGHT: f64 = 174.0;
const TOP: f64 = 10.0;
const FOOT: f64 = 70.0;
const TEXT: f64 = 2.6;
const MOST_POINTS: usize = 4000;
/// Half width of the band, in standard uncertainties.
const BAND: f64 = 2.0;

/// The outlook as a `figure`: drawing, the sentence, table.
///
/// What is left is drawn as a stair, because wire leaves at once when a coil is wound; the band is ± 2 u.
///
/// # Errors
/// [`CannotDraw`] for no points, more than 4000, days that do not rise, numbers that are none.
pub fn outlook(o: &Outlook) -> Result<String, CannotDraw> {
    check(o)?;
    let usable = o.points.iter().any(|p| p.usable_m.is_some());
    let out = html! {
        figure {
            (PreEscaped(draw(o)))
            figcaption { (o.sentence) }
            table {
                caption { (o.title) }
                thead {
                    tr {
                        th scope="col" { "From" }
                        th scope="col" { "Left" }
                        @if usable { th scope="col" { "Of use" } }
                    }
                }
                tbody {
                    @for p in &o.points {
                        tr {
                            th scope="row" { (p.on) }
                            td.n { (p.left_m.with_unit("m", 2)) }
                            @if usable { td.n { @if let Some(m) = p.usable_m { (fixed(m, 2)) " m" } } }
                        }
                    }
                }
            }
            @if let Some(f) = &o.first_short {
                p { "First job to run short: " (f.job) " on " (f.on) ", probability " (percent(f.probability)) "." }
            }
        }
    };
    Ok(out.into_string())
}

/// The drawing alone, as SVG.
///
/// # Errors
/// As [`outlook`].
pub fn chart(o: &Outlook) -> Result<String, CannotDraw> {
    check(o)?;
    Ok(draw(o))
}

fn check(o: &Outlook) -> Result<(), CannotDraw> {
    if o.points.is_empty() || o.points.len() > MOST_POINTS {
        return Err(out_of_range("points", o.points.len() as f64, "1 to 4000 points"));
    }
    let mut before = f64::NEG_INFINITY;
    for p in &o.points {
        sound("day", p.day)?;
        if p.day < before {
            return Err(out_of_range("day", p.day, "days that rise"));
        }
        before = p.day;
        sound_figure("left_m", p.left_m)?;
        p.usable_m.map_or(Ok(()), |m| sound("usable_m", m))?;
    }
    o.first_short.as_ref().map_or(Ok(()), |f| {
        sound("first_short.day", f.day)?;
        share("first_short.probability", f.probability)
    })
}

fn draw(o: &Outlook) -> String {
    let id = id_of("outlook", &format!("{o:?}"));
    let desc = format!("{} The table after the drawing has the figures.", o.sentence);
    let mut svg = Svg::sheet(&id, SIZE.0, SIZE.1, &o.title, &desc);
    let first = o.points.first().map_or(0.0, |p| p.day);
    let last = o.points.last().map_or(1.0, |p| p.day);
    let last = o.first_short.as_ref().map_or(last, |f| last.max(f.day)).max(first + 1.0);
    let most = o.points.iter().map(|p| p.left_m.value + BAND * p.left_m.u).fold(1e-9, f64::max);
    let x = |day: f64| LEFT + (RIGHT - LEFT) * (day - first) / (last - first);
    // Nobody winds from less than nothing: the band ends at zero.
    let y = |m: f64| FOOT - (FOOT - TOP) * m.clamp(0.0, most) / most;

    let step = grid_step(most);
    for i in 0..=(most / step + 1e-9) as usize {
        let m = i as f64 * step;
        svg.line((LEFT, y(m)), (RIGHT, y(m)), if i == 0 { 0.35 } else { 0.1 });
        svg.label((LEFT - 1.0, y(m) + 0.9), TEXT, Anchor::End, &if i == 0 { "0 m".into() } else { short(m, 2) });
    }

    let stair = |of: &dyn Fn(&Point) -> f64| -> Vec<(f64, f64)> {
        let mut at: Vec<(f64, f64)> = Vec::new();
        for p in &o.points {
            if let Some(&(_, level)) = at.last() {
                at.push((x(p.day), level));
            }
            at.push((x(p.day), y(of(p))));
        }
        at.extend(at.last().copied().map(|(_, level)| (RIGHT, level)));
        at
    };
    let mut band = stair(&|p| p.left_m.value + BAND * p.left_m.u);
    band.extend(stair(&|p| p.left_m.value - BAND * p.left_m.u).into_iter().rev());
    svg.path(&format!("{}Z", polyline(&band)), "#dcdcdc", 0.12);
    svg.tag("path")
        .set("data-line", "left")
        .set("d", &polyline(&stair(&|p| p.left_m.value)))
        .set("fill", "none")
        .set("stroke", "#000")
        .num("stroke-width", 0.6)
        .done();
    if o.points.iter().all(|p| p.usable_m.is_some()) {
        svg.tag("path")
            .set("data-line", "usable")
            .set("d", &polyline(&stair(&|p| p.usable_m.unwrap_or(0.0))))
            .set("fill", "none")
            .set("stroke", "#000")
            .num("stroke-width", 0.4)
            .set("stroke-dasharray", "1.6 1")
            .done();
        svg.line_as((96.0, 4.6), (106.0, 4.6), 0.4, "1.6 1");
        svg.label((107.5, 5.5), TEXT, Anchor::Start, "long enough to be of use");
    }
    svg.rect((LEFT, 3.2), (LEFT + 10.0, 6.0), "#dcdcdc", 0.12);
    svg.line((LEFT, 4.6), (LEFT + 10.0, 4.6), 0.6);
    svg.label((LEFT + 11.5, 5.5), TEXT, Anchor::Start, "left, with a band of ± 2 u");

    dates(&mut svg, o, &x);
    if let Some(f) = &o.first_short {
        let at = x(f.day);
        svg.line_as((at, TOP - 3.0), (at, FOOT), 0.35, "3 0.8 0.5 0.8");
        let anchor = if at > (LEFT + RIGHT) / 2.0 { Anchor::End } else { Anchor::Start };
        let off = if anchor == Anchor::End { -1.0 } else { 1.0 };
        let text = format!("{} runs short on {} ({})", f.job, f.on, percent(f.probability));
        svg.bold((at + off, TOP - 1.2), TEXT, anchor, &text);
    }
    svg.finish()
}

/// As many dates as have room.
fn dates(svg: &mut Svg, o: &Outlook, x: &dyn Fn(f64) -> f64) {
    let mut free = f64::NEG_INFINITY;
    for p in &o.points {
        let at = x(p.day);
        svg.line((at, FOOT), (at, FOOT + 1.0), 0.2);
        let half = crate::svg::text_width(&p.on, TEXT) / 2.0;
        if at - half > free && at + half < SIZE.0 {
            svg.label((at.max(half + 0.5), FOOT + 4.4), TEXT, Anchor::Middle, &p.on);
            free = at + half + 2.0;
        }
    }
}

fn polyline(at: &[(f64, f64)]) -> String {
    let each: Vec<String> = at.iter().map(|(x, y)| format!("{} {}", plain(*x), plain(*y))).collect();
    format!("M{}", each.join("L"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use roxmltree::Document;

    fn series() -> Outlook {
        let at = |day: f64, value, u| Point {
            day,
            on: format!("2031-05-{:02}", day as u32 + 1),
            left_m: Figure { value, u },
            usable_m: Some(value - 10.0),
        };
        Outlook {
            title: "cu-awg31-single".into(),
            points: vec![at(0.0, 100.0, 1.0), at(4.0, 71.0, 1.2), at(9.0, 28.0, 1.6), at(11.0, 13.5, 1.8)],
            first_short: Some(FirstShort { job: "j-9".into(), day: 14.0, on: "2031-05-15".into(), probability: 0.83 }),
            sentence: "Enough until j-9 on 2031-05-15, which runs short with 83 %.".into(),
        }
    }

    #[test]
    fn the_stair_goes_through_every_point() {
        let out = outlook(&series()).unwrap();
        let doc = Document::parse(&out).unwrap();
        let line = doc.descendants().find(|n| n.attribute("data-line") == Some("left")).unwrap();
        let at: Vec<(f64, f64)> = line.attribute("d").unwrap()[1..]
            .split('L')
            .map(|p| p.split_once(' ').unwrap())
            .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
            .collect();
        assert_eq!(at.len(), 8);
        let most = 102.0;
        for (i, (day, left)) in [(0.0, 100.0), (4.0, 71.0), (9.0, 28.0), (11.0, 13.5)].into_iter().enumerate() {
            let (x, y) = at[2 * i];
            assert!((x - (LEFT + (RIGHT - LEFT) * day / 14.0)).abs() < 1e-3);
            assert!((y - (FOOT - (FOOT - TOP) * left / most)).abs() < 1e-3);
        }
        assert!(out.contains("First job to run short: j-9 on 2031-05-15, probability 83.0 %."));
        assert!(out.contains("13.5 ± 1.8 m"));
    }

    #[test]
    fn markup_is_inert_and_nonsense_is_refused() {
        let mut o = series();
        for s in [&mut o.title, &mut o.sentence, &mut o.points[0].on] {
            *s = "<script>x</script>".into();
        }
        let out = outlook(&o).unwrap();
        assert!(!out.contains("<script"));
        Document::parse(&out).unwrap();
        o.points[1].day = -1.0;
        assert!(outlook(&o).is_err());
        o.points.clear();
        assert!(outlook(&o).is_err());
        let mut o = series();
        o.points[2].left_m.u = f64::NAN;
        assert!(outlook(&o).is_err());
    }

    #[test]
    fn a_single_point_is_an_outlook() {
        let mut o = series();
        o.points.truncate(1);
        o.first_short = None;
        let out = outlook(&o).unwrap();
        assert!(!out.contains("NaN") && !out.contains("inf"));
    }
}
