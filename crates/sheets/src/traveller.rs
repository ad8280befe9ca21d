//! The job traveller: one A5 page that goes with a coil from the shelf to the driver.

use crate::cross_section::{CrossSection, Layout, clearance_sentences, cross_section};
use crate::number::{Figure, fixed, mm, short};
use crate::page::sheet;
use crate::qr;
use crate::refusal::{CannotDraw, share, sound, sound_figure};
use crate::steps::{PRECEDENCE, Step};
use crate::svg::wrap;
use crate::word::Word;
use maud::{Markup, PreEscaped, html};

/// Everything on the page. What is `None` or empty is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Traveller {
    /// Job id; also in the QR code as `coilwright:job/ID`.
    pub job: String,
    /// What the job is called.
    pub title: String,
    /// Due date as it is to be printed.
    pub due_on: Option<String>,
    /// How many coils the job has.
    pub coils: u32,
    /// Which of them this page goes with, counted from 1.
    pub coil_no: Option<u32>,
    /// The coil.
    pub drawing: CrossSection,
    /// Length of the flat blank, mm.
    pub blank_length_mm: Option<f64>,
    /// Width of the flat blank (the former's height), mm.
    pub blank_width_mm: Option<f64>,
    /// Slit between the ends, mm; 0 where they butt.
    pub slit_mm: Option<f64>,
    /// Diameter of the mandrel, mm.
    pub mandrel_mm: Option<f64>,
    /// Release shims, mm per side.
    pub shims_mm: Vec<f64>,
    /// Hanging weight by layer, g, innermost first.
    pub tension_g: Vec<f64>,
    /// The wire to take.
    pub spool: Option<SpoolUse>,
    /// What the meter should show.
    pub meter: Option<Meter>,
    /// Which way round.
    pub polarity: Option<Polarity>,
    /// Findings to be known before starting, a line each.
    pub notes: Vec<String>,
    /// The steps; [`crate::steps::usual_steps`] makes the usual ones.
    pub steps: Vec<Step>,
}

/// One spool and what one coil takes from it.
#[derive(Debug, Clone, PartialEq)]
pub struct SpoolUse {
    /// Spool id.
    pub id: String,
    /// Where it stands.
    pub place: Option<String>,
    /// Length on it now, m.
    pub left_m: Figure,
    /// Length this coil needs, m.
    pub need_m: f64,
    /// Length on it afterwards, m.
    pub after_m: Figure,
    /// The word.
    pub word: Word,
    /// Probability that the spool holds what the coil needs.
    pub probability: f64,
}

/// The resistance reading to expect at the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// Temperature at the bench, °C.
    pub bench_c: f64,
    /// What the shorted test leads show, Ω; contained in `expect_ohm`.
    pub test_leads_ohm: f64,
    /// What the meter should show, Ω.
    pub expect_ohm: Figure,
    /// Readings to accept, from and to, Ω.
    pub accept_ohm: Option<(f64, f64)>,
    /// Whether this meter can decide between good and bad.
    pub can_decide: Option<bool>,
}

/// How the coil was connected before it burnt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Polarity {
    /// Which lead is the start lead: `plus` or `minus`, in words.
    pub start_lead: String,
    /// Hand of the winding.
    pub hand: String,
    /// Polarity of the gap.
    pub gap_polarity: String,
}

const STYLE: &str = "\
@page{size:148mm 210mm;margin:5mm}\
*{box-sizing:border-box}\
body{font:6.2pt/1.22 'DejaVu Sans',Verdana,Arial,sans-serif;color:#000;background:#fff;width:138mm;margin:0 auto}\
header{display:flex;justify-content:space-between;gap:3mm;border-bottom:.5mm solid #000;padding-bottom:1mm}\
header svg{flex:none}\
h1{font-size:11pt;line-height:1.12;margin:0 0 .6mm;overflow-wrap:anywhere}\
h2{font-size:6.8pt;margin:1.3mm 0 .3mm;border-bottom:.18mm solid #000}\
header p,section p{margin:.2mm 0;overflow-wrap:anywhere}\
.both{display:flex;gap:2mm}\
.both>figure{flex:none;width:88mm;margin:1mm 0 0}\
.both>figure svg{display:block}\
.figures{flex:1;min-width:0}\
dl{display:grid;grid-template-columns:auto 1fr;gap:0 1.5mm;margin:0}\
dt{white-space:nowrap}dd{margin:0;text-align:right;font-weight:bold;overflow-wrap:anywhere}\
.layers{display:flex;flex-wrap:wrap;gap:0 3mm;margin:0;padding:0;list-style:none}\
.notes{border:.35mm solid #000;padding:.4mm 1mm;margin:1mm 0}\
ol{list-style:none;margin:0;padding:0}\
ol.steps li{display:flex;gap:1.2mm;margin:.25mm 0;break-inside:avoid}\
input{flex:none;appearance:none;width:2.7mm;height:2.7mm;margin:.1mm 0 0;border:.3mm solid #000;font-size:7pt;line-height:2.1mm;text-align:center}\
input:checked::after{content:'×'}\
.caution{font-style:italic}\
.caution b{font-style:normal}\
.blank{display:inline-block;border-bottom:.18mm solid #000;width:11mm}\
footer{margin-top:1mm;border-top:.18mm solid #000;padding-top:.5mm}\
.dense{font-size:5.7pt;line-height:1.14}.dense .figures{font-size:6.2pt;line-height:1.22}\
@media screen{body{padding:6mm 0}}";

/// Lines of notes that the page has room for, and characters of a line.
const NOTE_LINES: usize = 7;
const NOTE_COLUMNS: usize = 105;

/// Makes the page.
///
/// With the usual steps it prints on one side of A5: what is too long is cut with an ellipsis, notes beyond seven lines
/// are counted.
///
/// # Errors
/// [`CannotDraw`] for a coil that cannot be drawn, for numbers that are none, for a job id too long for its code.
pub fn traveller(t: &Traveller) -> Result<String, CannotDraw> {
    check(t)?;
    let drawing = cross_section(&t.drawing, Layout::Panel)?;
    let code = qr::alone("job", &format!("coilwright:job/{}", t.job), 16.0)?;
    let (notes, dense) = notes(t);
    let body = html! {
      div.dense[dense] {
        (header(t, &code))
        div.both {
            figure { (PreEscaped(&drawing)) }
            div.figures {
                (former(t))
                (winding(t))
                @if let Some(s) = &t.spool { (spool(s)) }
                @if let Some(m) = &t.meter { (meter(m, t.drawing.dcr_ohm)) }
                @if let Some(p) = &t.polarity { (polarity(p)) }
            }
        }
        (notes)
        section {
            h2 { "Steps" }
            ol.steps { @for s in &t.steps { (step(s)) } }
            p { (PRECEDENCE) }
        }
        (as_wound(t))
      }
    };
    Ok(sheet(&format!("Job {}: {}", t.job, t.title), STYLE, body))
}

fn check(t: &Traveller) -> Result<(), CannotDraw> {
    let lengths = [
        ("blank_length_mm", t.blank_length_mm),
        ("blank_width_mm", t.blank_width_mm),
        ("slit_mm", t.slit_mm),
        ("mandrel_mm", t.mandrel_mm),
    ];
    for (name, v) in lengths.into_iter().filter_map(|(name, v)| v.map(|v| (name, v))) {
        sound(name, v)?;
    }
    t.shims_mm.iter().try_for_each(|&v| sound("shims_mm", v))?;
    t.tension_g.iter().try_for_each(|&v| sound("tension_g", v))?;
    if let Some(s) = &t.spool {
        sound_figure("spool.left_m", s.left_m)?;
        sound_figure("spool.after_m", s.after_m)?;
        sound("spool.need_m", s.need_m)?;
        share("spool.probability", s.probability)?;
    }
    if let Some(m) = &t.meter {
        sound("meter.bench_c", m.bench_c)?;
        sound("meter.test_leads_ohm", m.test_leads_ohm)?;
        sound_figure("meter.expect_ohm", m.expect_ohm)?;
        if let Some((from, to)) = m.accept_ohm {
            sound("meter.accept_ohm", from)?;
            sound("meter.accept_ohm", to)?;
        }
    }
    Ok(())
}

/// What must be known before starting, and whether it is so much that the page needs smaller lettering.
///
/// Findings that would push the steps off the page are counted, never dropped in silence.
fn notes(t: &Traveller) -> (Markup, bool) {
    let clearances = clearance_sentences(&t.drawing).join(" ");
    let mut room = NOTE_LINES;
    let mut shown = Vec::new();
    for note in &t.notes {
        let lines = note.chars().count().div_ceil(NOTE_COLUMNS).clamp(1, 2);
        if lines > room {
            break;
        }
        room -= lines;
        shown.push(cut(note, 2 * NOTE_COLUMNS - 10));
    }
    let more = t.notes.len() - shown.len();
    let out = html! {
        @if !(t.notes.is_empty() && clearances.is_empty()) {
            section.notes {
                @if !clearances.is_empty() { p { b { (clearances) } } }
                @for note in &shown { p { (note) } }
                @if more > 0 { p { b { "And " (more) " more: read the job's findings before starting." } } }
            }
        }
    };
    (out, room < NOTE_LINES - 2)
}

fn header(t: &Traveller, code: &str) -> Markup {
    let which = match t.coil_no {
        Some(n) => format!("coil {n} of {}", t.coils),
        None if t.coils == 1 => "1 coil".into(),
        None => format!("{} coils", t.coils),
    };
    html! {
        header {
            div {
                h1 { "Job " (t.job) ": " (cut(&t.title, 72)) }
                p {
                    b { (which) }
                    @if let Some(due) = &t.due_on { " · due " b { (due) } }
                    " · wire " b { (cut(&t.drawing.wire, 60)) }
                    " · former " b { (cut(&t.drawing.former, 60)) }
                }
                @if !t.drawing.subtitle.is_empty() { p { (cut(&t.drawing.subtitle, 120)) } }
            }
            (PreEscaped(code))
        }
    }
}

fn former(t: &Traveller) -> Markup {
    let blank = match (t.blank_length_mm, t.blank_width_mm) {
        (Some(l), Some(w)) => Some(format!("{} × {} mm", mm(l), short(w, 2))),
        (Some(l), None) => Some(format!("{} mm long", mm(l))),
        (None, Some(w)) => Some(format!("{} mm wide", short(w, 2))),
        (None, None) => None,
    };
    let slit = t.slit_mm.map(|s| if s > 0.0 { format!("{} mm open", mm(s)) } else { "none: ends butt".into() });
    let shims = (!t.shims_mm.is_empty()).then(|| {
        let each: Vec<String> = t.shims_mm.iter().map(|&s| mm(s)).collect();
        format!("{} mm per side", each.join(" + "))
    });
    let rows = [
        ("Blank", blank),
        ("Slit", slit),
        ("Mandrel", t.mandrel_mm.map(|m| format!("Ø {} mm", mm(m)))),
        ("Shims", shims),
    ];
    html! { section { h2 { "Former" } (list(&rows)) } }
}

fn winding(t: &Traveller) -> Markup {
    let layers = t.drawing.turns_per_layer.iter().enumerate().map(|(i, turns)| {
        let weight = t.tension_g.get(i).map(|g| format!(", {} g", short(*g, 0)));
        (i + 1, turns, weight.unwrap_or_default())
    });
    html! {
        section {
            h2 { "Layers: turns" @if !t.tension_g.is_empty() { ", hanging weight" } }
            ol.layers { @for (no, turns, weight) in layers { li { (no) ": " b { (turns) (weight) } } } }
            (list(&[("Width", Some(format!("{} mm", mm(t.drawing.width_mm))))]))
        }
    }
}

fn spool(s: &SpoolUse) -> Markup {
    let rows = [
        ("Place", s.place.as_deref().map(|p| cut(p, 40))),
        ("On it", Some(s.left_m.with_unit("m", 2))),
        ("This coil", Some(format!("{} m", fixed(s.need_m, 2)))),
        ("Left after", Some(s.after_m.with_unit("m", 2))),
        ("Is it enough", Some(s.word.with(s.probability))),
    ];
    html! { section { h2 { "Spool " (cut(&s.id, 28)) } (list(&rows)) } }
}

fn meter(m: &Meter, cold: Option<Figure>) -> Markup {
    let decide = m.can_decide.map(|can| if can { "yes" } else { "no: use a finer meter" }.to_string());
    let accept = m.accept_ohm.map(|(from, to)| format!("{} to {} Ω", fixed(from, 2), fixed(to, 2)));
    let rows = [
        ("Should show", Some(m.expect_ohm.with_unit("Ω", 3))),
        ("Accept", accept),
        ("Can it decide", decide),
        ("Test leads in it", Some(format!("{} Ω", fixed(m.test_leads_ohm, 2)))),
        ("Coil at 20 °C", cold.map(|r| r.with_unit("Ω", 3))),
    ];
    html! { section { h2 { "Meter at " (short(m.bench_c, 1)) " °C" } (list(&rows)) } }
}

fn polarity(p: &Polarity) -> Markup {
    let rows = [
        ("Start lead", Some(cut(&p.start_lead, 40))),
        ("Winding hand", Some(cut(&p.hand, 40))),
        ("Gap", Some(cut(&p.gap_polarity, 40))),
    ];
    html! { section { h2 { "Polarity" } (list(&rows)) } }
}

fn list(rows: &[(&str, Option<String>)]) -> Markup {
    html! { dl { @for (name, value) in rows { @if let Some(v) = value { dt { (name) } dd { (v) } } } } }
}

fn step(s: &Step) -> Markup {
    html! {
        li {
            input type="checkbox" aria-label=(s.text);
            span {
                (s.text)
                @if let Some(c) = &s.caution { " " span.caution { b { "Caution: " } (c) } }
            }
        }
    }
}

/// What the winder writes down, for the record.
fn as_wound(t: &Traveller) -> Markup {
    let layers = if t.drawing.turns_per_layer.len() == 1 { "Turns" } else { "Turns by layer" };
    html! {
        footer {
            b { "As wound. " }
            (layers) " " span.blank {} " Reading " span.blank {} " Ω at " span.blank {} " °C, spool after " span.blank {}
            " g, winder " span.blank {}
        }
    }
}

/// At most `most` characters, with an ellipsis where something is cut.
fn cut(text: &str, most: usize) -> String {
    wrap(text, most, 1).pop().unwrap_or_default()
}

#[cfg(test)]
mod tests;
