//! The passport of a finished job: one A5 page that goes to the customer with the driver, with what was measured of each coil.

use crate::number::{Figure, fixed, short};
use crate::page::sheet;
use crate::qr;
use crate::refusal::{CannotDraw, sound, sound_figure};
use crate::steps::PRECEDENCE;
use crate::svg::wrap;
use maud::{Markup, PreEscaped, html};

/// Everything on the page. What is `None` or empty is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Passport {
    /// Job id; also in the QR code as `coilwright:job/ID`.
    pub job: String,
    /// What the job is called.
    pub title: String,
    /// When it was taken, as it is to be printed.
    pub opened_on: String,
    /// When it was handed over.
    pub closed_on: String,
    /// What the coil is wound on, in words and figures.
    pub former: Vec<(String, String)>,
    /// Turns as planned, from the inside out.
    pub turns: Vec<u32>,
    /// What the coil was to measure at 20 °C, from and to, Ω.
    pub wanted_ohm: Option<(f64, f64)>,
    /// What its plan said, Ω at 20 °C.
    pub planned_ohm: Option<Figure>,
    /// What was noted before teardown, by name.
    pub before: Vec<(String, String)>,
    /// Dimensions measured in the motor: name, mm, how often.
    pub motor: Vec<(String, Figure, usize)>,
    /// The coils, by number.
    pub coils: Vec<Wound>,
    /// Who signed for what, a sentence each.
    pub signed: Vec<String>,
    /// What was said at the end.
    pub note: String,
    /// What the next hand must mind.
    pub cautions: Vec<String>,
}

/// One coil as it is handed over.
#[derive(Debug, Clone, PartialEq)]
pub struct Wound {
    /// Its number.
    pub coil_no: u32,
    /// Turns as counted, from the inside out; none where they were not counted.
    pub turns: Vec<u32>,
    /// Resistance measured last, Ω at 20 °C.
    pub dcr_ohm: Option<Figure>,
    /// Whether it misses what was wanted.
    pub off_target: bool,
    /// Width of the winding, mm.
    pub width_mm: Option<f64>,
    /// Diameter over the winding, mm.
    pub outside_mm: Option<f64>,
    /// Mandrel used, mm.
    pub mandrel_mm: Option<f64>,
    /// Who wound it.
    pub winder: String,
    /// When.
    pub wound_on: String,
    /// Wire and spool, in words.
    pub wire: String,
    /// Adhesive and batch, in words.
    pub adhesive: String,
    /// What was noted at each step after winding, a line each.
    pub steps: Vec<String>,
}

const STYLE: &str = "\
@page{size:148mm 210mm;margin:5mm}\
*{box-sizing:border-box}\
body{font:6.6pt/1.25 'DejaVu Sans',Verdana,Arial,sans-serif;color:#000;background:#fff;width:138mm;margin:0 auto}\
header{display:flex;justify-content:space-between;gap:3mm;border-bottom:.5mm solid #000;padding-bottom:1mm}\
header svg{flex:none}\
h1{font-size:12pt;line-height:1.12;margin:0 0 .8mm;overflow-wrap:anywhere}\
h2{font-size:7.4pt;margin:1.6mm 0 .4mm;border-bottom:.18mm solid #000}\
p{margin:.25mm 0;overflow-wrap:anywhere}\
.both{display:flex;gap:5mm}.both>section{flex:1;min-width:0}\
dl{display:grid;grid-template-columns:auto 1fr;gap:0 2mm;margin:0}\
dt{white-space:nowrap}dd{margin:0;text-align:right;font-weight:bold;overflow-wrap:anywhere}\
.coil{break-inside:avoid;border-bottom:.1mm solid #000;padding:.4mm 0}\
.signed{border:.35mm solid #000;padding:.5mm 1mm;margin:1.2mm 0}\
footer{margin-top:1.4mm;border-top:.18mm solid #000;padding-top:.6mm}\
@media screen{body{padding:6mm 0}}";

/// Coils that the page has room for; those beyond are counted, never dropped in silence.
pub const MOST_COILS: usize = 5;
/// Characters of a line, and lines of one coil's steps (of up to two coils, of more), of all signatures and of the note.
const COLUMNS: usize = 104;
const STEP_LINES: (usize, usize) = (8, 2);
const SIGNED_LINES: usize = 5;
const NOTE_LINES: usize = 2;

/// Makes the page: one side of A5.
///
/// # Errors
/// [`CannotDraw`] for numbers that are none, for a job id too long for its code.
pub fn passport(p: &Passport) -> Result<String, CannotDraw> {
    check(p)?;
    let code = qr::alone("job", &format!("coilwright:job/{}", p.job), 16.0)?;
    let more = p.coils.len().saturating_sub(MOST_COILS);
    let step_lines = if p.coils.len() > 2 { STEP_LINES.1 } else { STEP_LINES.0 };
    let body = html! {
        header {
            div {
                h1 { "Passport " (p.job) ": " (cut(&p.title, 64)) }
                p { "taken " b { (p.opened_on) } " · handed over " b { (p.closed_on) } }
            }
            (PreEscaped(code))
        }
        (signed(p))
        div.both {
            section { h2 { "Coil as planned" } (planned(p)) }
            section { h2 { "Noted before teardown" } (noted(p)) }
        }
        section {
            h2 { "As wound and measured" }
            @for c in p.coils.iter().take(MOST_COILS) { (coil(c, step_lines)) }
            @if more > 0 { p { b { "And " (more) " more: ask for the passport of each by its number." } } }
        }
        @if !p.note.is_empty() { section { h2 { "Note" } (lines(&p.note, NOTE_LINES)) } }
        footer {
            @for c in &p.cautions { p { b { "Caution: " } (c) } }
            p { (PRECEDENCE) }
            p { "± is the standard uncertainty; resistances at 20 °C, leads included, test leads taken off." }
        }
    };
    Ok(sheet(&format!("Passport {}: {}", p.job, p.title), STYLE, body))
}

fn check(p: &Passport) -> Result<(), CannotDraw> {
    if let Some((from, to)) = p.wanted_ohm {
        sound("wanted_ohm", from)?;
        sound("wanted_ohm", to)?;
    }
    p.planned_ohm.map_or(Ok(()), |f| sound_figure("planned_ohm", f))?;
    p.motor.iter().try_for_each(|(_, mm, _)| sound_figure("motor", *mm))?;
    for c in &p.coils {
        c.dcr_ohm.map_or(Ok(()), |f| sound_figure("coils.dcr_ohm", f))?;
        let lengths =
            [("coils.width_mm", c.width_mm), ("coils.outside_mm", c.outside_mm), ("coils.mandrel_mm", c.mandrel_mm)];
        for (name, v) in lengths.into_iter().filter_map(|(name, v)| v.map(|v| (name, v))) {
            sound(name, v)?;
        }
    }
    Ok(())
}

/// Whoever signed for something must be seen by whoever reads on.
fn signed(p: &Passport) -> Markup {
    let mut room = SIGNED_LINES;
    let mut shown = Vec::new();
    for text in &p.signed {
        let all = wrap(text, COLUMNS, 2);
        if all.len() > room {
            break;
        }
        room -= all.len();
        shown.push(all.join(" "));
    }
    let more = p.signed.len() - shown.len();
    html! {
        @if !p.signed.is_empty() {
            section.signed {
                @for text in &shown { p { b { "Signed: " } (text) } }
                @if more > 0 { p { b { "And " (more) " more signatures: see the job." } } }
            }
        }
    }
}

fn planned(p: &Passport) -> Markup {
    let mut rows: Vec<(String, String)> = p.former.iter().map(|(n, v)| (cut(n, 24), cut(v, 44))).collect();
    if !p.turns.is_empty() {
        rows.push(("Turns by layer".into(), joined(&p.turns)));
    }
    rows.extend(p.wanted_ohm.map(|(from, to)| ("Wanted".into(), format!("{} to {} Ω", fixed(from, 3), fixed(to, 3)))));
    rows.extend(p.planned_ohm.map(|f| ("Planned".into(), f.with_unit("Ω", 3))));
    list(&rows)
}

fn noted(p: &Passport) -> Markup {
    let mut rows: Vec<(String, String)> = p.before.iter().map(|(n, v)| (cut(n, 24), cut(v, 44))).collect();
    rows.extend(p.motor.iter().map(|(name, mm, times)| {
        let often = if *times == 1 { "once".to_owned() } else { format!("{times} times") };
        (cut(name, 24), format!("{}, {often}", mm.with_unit("mm", 3)))
    }));
    if rows.is_empty() {
        rows.push(("Nothing".into(), "was noted".into()));
    }
    list(&rows)
}

fn coil(c: &Wound, step_lines: usize) -> Markup {
    let mm = |name: &str, v: Option<f64>| v.map(|v| format!("{name} {} mm", short(v, 3)));
    let measured = c.dcr_ohm.map_or_else(|| "not measured".to_owned(), |f| f.with_unit("Ω", 3));
    let about: Vec<String> = [
        (!c.turns.is_empty()).then(|| format!("{} turns", joined(&c.turns))),
        mm("mandrel", c.mandrel_mm),
        mm("width", c.width_mm),
        mm("over the winding", c.outside_mm),
        (!c.winder.is_empty()).then(|| format!("wound by {}", cut(&c.winder, 32))),
        (!c.wound_on.is_empty()).then(|| format!("on {}", c.wound_on)),
        Some(cut(&c.wire, 70)).filter(|w| !w.is_empty()),
        Some(cut(&c.adhesive, 70)).filter(|a| !a.is_empty()),
    ]
    .into_iter()
    .flatten()
    .collect();
    html! {
        div.coil {
            p {
                b { "Coil " (c.coil_no) ": " (measured) }
                @if c.off_target { " " b { "OUT OF TOLERANCE, see above what was wanted" } }
            }
            p { (about.join(" · ")) }
            @if !c.steps.is_empty() { (lines(&c.steps.join(" · "), step_lines)) }
        }
    }
}

fn joined(turns: &[u32]) -> String {
    let all: Vec<String> = turns.iter().map(u32::to_string).collect();
    all.join(" + ")
}

fn list(rows: &[(String, String)]) -> Markup {
    html! { dl { @for (name, value) in rows { dt { (name) } dd { (value) } } } }
}

fn lines(text: &str, most: usize) -> Markup {
    html! { p { (wrap(text, COLUMNS, most).join(" ")) } }
}

/// At most `most` characters, with an ellipsis where something is cut.
fn cut(text: &str, most: usize) -> String {
    wrap(text, most, 1).pop().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job() -> Passport {
        let wound = Wound {
            coil_no: 1,
            turns: vec![52, 51],
            dcr_ohm: Some(Figure { value: 5.802, u: 0.021 }),
            off_target: false,
            width_mm: Some(15.02),
            outside_mm: Some(52.31),
            mandrel_mm: Some(50.9),
            winder: "ada".into(),
            wound_on: "2031-05-12".into(),
            wire: "AWG 30 single copper from s-17, lot 8".into(),
            adhesive: "slow two-part epoxy, batch b-7".into(),
            steps: vec!["trimmed: not needed".into(), "tested: isolation > 10 MΩ".into()],
        };
        Passport {
            job: "j-4".into(),
            title: "Ossipan B12".into(),
            opened_on: "2031-05-02".into(),
            closed_on: "2031-05-16".into(),
            former: vec![("Former".into(), "aluminium foil".into())],
            turns: vec![52, 51],
            wanted_ohm: Some((5.626, 5.974)),
            planned_ohm: Some(Figure { value: 5.799, u: 0.071 }),
            before: vec![("Start lead".into(), "plus".into())],
            motor: vec![("pole".into(), Figure { value: 50.51, u: 0.017 }, 3)],
            coils: vec![wound],
            signed: vec!["ada against enough_wire: a joint is agreed".into()],
            note: "collected".into(),
            cautions: vec!["one cell of 1.5 V at most".into()],
        }
    }

    #[test]
    fn the_page_says_what_was_measured_and_who_signed() {
        let out = passport(&job()).unwrap();
        for part in [
            "Passport j-4: Ossipan B12",
            "2031-05-16",
            "52 + 51",
            "5.626 to 5.974 Ω",
            "5.799 ± 0.071 Ω",
            "Coil 1: 5.802 ± 0.021 Ω",
            "wound by ada",
            "2031-05-12",
            "slow two-part epoxy, batch b-7",
            "isolation &gt; 10 MΩ",
            "50.510 ± 0.017 mm, 3 times",
            "a joint is agreed",
            "one cell of 1.5 V",
            "safety data sheet",
            "QR code: coilwright:job/j-4",
        ] {
            assert!(out.contains(part), "{part:?} is missing: {out}");
        }
        assert!(!out.contains("OUT OF TOLERANCE"));
    }

    #[test]
    fn coils_and_signatures_beyond_the_page_are_counted() {
        let one = job().coils[0].clone();
        let coils = (1..=11).map(|coil_no| Wound { coil_no, ..one.clone() }).collect();
        let signed = vec!["x".repeat(90); 7];
        let out = passport(&Passport { coils, signed, ..job() }).unwrap();
        assert!(out.contains("And 6 more: ask for the passport of each") && out.contains("And 2 more signatures"));
        assert!(out.contains("Coil 5:") && !out.contains("Coil 6:"));
    }

    #[test]
    fn whatever_a_text_holds_stays_text_and_numbers_must_be_some() {
        let bad = "<script>alert(1)</script>";
        let coil = Wound { winder: bad.into(), off_target: true, wire: bad.into(), ..job().coils[0].clone() };
        let out = passport(&Passport { title: bad.into(), note: bad.into(), coils: vec![coil], ..job() }).unwrap();
        assert!(!out.contains("<script") && out.contains("&lt;script&gt;"));
        let nan = Passport { planned_ohm: Some(Figure { value: f64::NAN, u: 0.1 }), ..job() };
        assert!(passport(&nan).is_err());
    }
}
