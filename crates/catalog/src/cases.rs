//! Worked examples of a plugin: replayed at load, and the gate that it must pass.

use crate::fault::Fault;
use crate::manifest::line_of;
use crate::nearest::nearest;
use crate::script::case;
use crate::supply_table::OfferRecord;
use crate::together::Plugin;
use crate::wire_table::WireRecord;
use coilwright_core::wire::{Limits, Standing};
use serde::Deserialize;
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// An example that was replayed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseResult {
    /// The file within the plugin's folder.
    pub file: String,
    /// What the example is about.
    pub title: String,
    /// How many figures are promised.
    pub figures: usize,
    /// Each of them that could be compared, met and promised.
    pub compared: Vec<Compared>,
}

/// A figure of an example.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Compared {
    /// Its name, or the JSON pointer to it.
    pub figure: String,
    /// What came out.
    pub met: String,
    /// What was promised, with its tolerance.
    pub promised: String,
    /// Whether that is near enough.
    pub held: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CaseFile<'a> {
    #[serde(borrow)]
    pub(crate) cases: Vec<&'a RawValue>,
}

/// One example: a wire, a former, an offer or an adhesive by its id, and what its figures are expected to be.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case<'a> {
    title: String,
    /// Where the expected figures come from.
    source: String,
    wire: Option<String>,
    former: Option<String>,
    offer: Option<String>,
    adhesive: Option<String>,
    /// `listed` or `computed`, where that matters.
    standing: Option<Standing>,
    #[serde(borrow)]
    expect: BTreeMap<String, &'a RawValue>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    value: f64,
    /// Greatest difference on either side, in the figure's unit.
    tolerance: f64,
}

/// Replays one file of a plugin's examples, which are about what the plugin has itself; `wires` are those of all plugins,
/// for the length of wire on a spool that is offered.
///
/// Answers every example that could be replayed, and every fault met: an unreadable file, an unknown id or figure, a figure
/// outside its tolerance (with the figure met and the figure promised).
pub(crate) fn replay(
    file: &str,
    text: &str,
    own: &Plugin,
    wires: &BTreeMap<&str, &WireRecord>,
) -> (Vec<CaseResult>, Vec<Fault>) {
    let (mut tried, mut faults) = (Vec::new(), Vec::new());
    let parsed: CaseFile<'_> = match serde_json::from_str(text) {
        Ok(parsed) => parsed,
        Err(e) => return (tried, vec![json_fault(file, 0, &e)]),
    };
    for raw in parsed.cases.into_iter().filter(|raw| !case::is_of_script(raw)) {
        match replay_one(file, text, raw, own, wires) {
            Ok((result, found)) => {
                tried.push(result);
                faults.extend(found);
            }
            Err(found) => faults.extend(found),
        }
    }
    (tried, faults)
}

fn replay_one(
    file: &str,
    text: &str,
    raw: &RawValue,
    own: &Plugin,
    wires: &BTreeMap<&str, &WireRecord>,
) -> Result<(CaseResult, Vec<Fault>), Vec<Fault>> {
    let line = line_within(text, raw.get());
    let at = |message: String| Fault::new(message).file(file).line(line);
    let case: Case<'_> = serde_json::from_str(raw.get()).map_err(|e| vec![json_fault(file, line - 1, &e)])?;
    let figures: Vec<(&'static str, Option<f64>)> = match (&case.wire, &case.former, &case.offer, &case.adhesive) {
        (Some(id), None, None, None) => {
            let record = own.wires.iter().find(|w| w.id == *id);
            let Some(record) = record else {
                return Err(vec![unknown(at, "wire", id, own.wires.iter().map(|w| w.id.as_str()))]);
            };
            if let Some(promised) = case.standing
                && promised != record.standing
            {
                let message = format!("{}: {id} stands as {:?}, promised {promised:?}", case.title, record.standing);
                return Err(vec![at(message).column("standing")]);
            }
            wire_figures(record)
        }
        (None, Some(id), None, None) => {
            let record = own.formers.iter().find(|f| f.id == *id);
            let Some(record) = record else {
                return Err(vec![unknown(at, "former", id, own.formers.iter().map(|f| f.id.as_str()))]);
            };
            record.numbers.iter().map(|n| (n.figure, Some(n.value))).collect()
        }
        (None, None, Some(id), None) => {
            let record = own.offers.iter().find(|o| o.id == *id);
            let Some(record) = record else {
                return Err(vec![unknown(at, "offer", id, own.offers.iter().map(|o| o.id.as_str()))]);
            };
            offer_figures(record, wires.get(record.wire.as_str()).copied())
        }
        (None, None, None, Some(id)) => {
            let record = own.adhesives.iter().find(|a| a.id == *id);
            let Some(record) = record else {
                return Err(vec![unknown(at, "adhesive", id, own.adhesives.iter().map(|a| a.id.as_str()))]);
            };
            record.figures()
        }
        _ => {
            let message = format!("{}: the example needs one of `wire`, `former`, `offer` and `adhesive`", case.title);
            return Err(vec![at(message)]);
        }
    };
    let mut faults = Vec::new();
    if case.source.trim().is_empty() {
        let fault = at(format!("{}: the source is empty", case.title)).column("source");
        faults.push(fault.next("say where the expected figures come from: by hand, a data sheet, a measurement"));
    }
    if case.expect.is_empty() {
        faults.push(
            at(format!("{}: nothing is expected", case.title))
                .column("expect")
                .next("name a figure, its value and its tolerance"),
        );
    }
    let mut compared = Vec::new();
    for (name, raw) in &case.expect {
        faults.extend(compare(&case.title, name, raw, &figures, &mut compared).err().map(|fault| {
            let fault = fault.file(file);
            Fault { line: Some(fault.line.unwrap_or(0) + line_within(text, raw.get())), ..fault }.column(name)
        }));
    }
    Ok((CaseResult { file: file.to_owned(), title: case.title, figures: case.expect.len(), compared }, faults))
}

fn compare(
    title: &str,
    name: &str,
    raw: &RawValue,
    figures: &[(&'static str, Option<f64>)],
    compared: &mut Vec<Compared>,
) -> Result<(), Fault> {
    let Some((_, met)) = figures.iter().find(|(figure, _)| *figure == name) else {
        let fault = Fault::new(format!("{title}: there is no figure `{name}`"));
        let names = || figures.iter().map(|(f, _)| *f);
        return Err(match nearest(name, names(), 1).first() {
            Some(near) => fault.next(format!("did you mean `{near}`?")),
            None => fault.next(format!("the figures are: {}", names().collect::<Vec<_>>().join(", "))),
        });
    };
    let expected: Expected = serde_json::from_str(raw.get()).map_err(|e| {
        let fault = understood(&e);
        Fault { message: format!("{title}: {}", fault.message), ..fault }
    })?;
    if expected.tolerance <= 0.0 {
        return Err(Fault::new(format!("{title}: a tolerance of {} can hold for nothing", expected.tolerance)));
    }
    let held = met.is_some_and(|met| (met - expected.value).abs() <= expected.tolerance);
    compared.push(Compared {
        figure: name.to_owned(),
        met: met.map_or("not known".into(), figure),
        promised: format!("{} ± {}", expected.value, expected.tolerance),
        held,
    });
    let Some(met) = met else {
        return Err(Fault::new(format!("{title}: {name} is not known, promised {}", expected.value)));
    };
    if held {
        return Ok(());
    }
    Err(Fault::new(format!("{title}: {name} is {met}, promised {} ± {}", expected.value, expected.tolerance))
        .next("correct the table or the example, whichever is wrong"))
}

/// A figure as it stands in a table of examples: eight digits, no zeros that say nothing.
pub(crate) fn figure(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && !(1e-4..1e8).contains(&size) {
        return format!("{value:.7e}");
    }
    let digits = if size == 0.0 { 0.0 } else { (7.0 - size.log10().floor()).clamp(0.0, 12.0) };
    let text = format!("{value:.*}", digits as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The figures of a wire that an example may name.
fn wire_figures(record: &WireRecord) -> Vec<(&'static str, Option<f64>)> {
    let wire = &record.wire;
    let ohm = wire.ohm_per_m_limits.map(|Limits { min, max }| (min.ohm_per_m(), max.ohm_per_m()));
    let bare = wire.bare_limits.map(|Limits { min, max }| (min.mm(), max.mm()));
    let overall = wire.overall_limits.map(|Limits { min, max }| (min.mm(), max.mm()));
    vec![
        ("bare_mm", Some(wire.bare.value.mm())),
        ("bare_min_mm", bare.map(|l| l.0)),
        ("bare_max_mm", bare.map(|l| l.1)),
        ("overall_mm", Some(wire.overall.value.mm())),
        ("overall_min_mm", overall.map(|l| l.0)),
        ("overall_max_mm", overall.map(|l| l.1)),
        ("ohm_per_m", Some(wire.ohm_per_m().value.ohm_per_m())),
        ("ohm_per_m_min", ohm.map(|l| l.0)),
        ("ohm_per_m_max", ohm.map(|l| l.1)),
        ("g_per_m", Some(wire.g_per_m().value.g_per_m())),
    ]
}

/// The figures of an offer that an example may name; `length_m` is the net mass over the wire's mass per metre. Its price
/// is none of them: money is compared as text, within no tolerance.
fn offer_figures(offer: &OfferRecord, wire: Option<&WireRecord>) -> Vec<(&'static str, Option<f64>)> {
    let length = wire.map(|w| offer.net.value / w.wire.g_per_m().value);
    let net_u = Some(offer.net.u.g()).filter(|u| *u > 0.0);
    vec![
        ("net_g", Some(offer.net.value.g())),
        ("net_u_g", net_u),
        ("tare_g", offer.tare.map(|tare| tare.g())),
        ("length_m", length.map(|length| length.m())),
        ("lead_days", Some(f64::from(offer.lead_days))),
        ("lead_days_p90", Some(f64::from(offer.lead_days_p90))),
    ]
}

fn unknown<'a>(at: impl Fn(String) -> Fault, what: &str, id: &str, known: impl Iterator<Item = &'a str>) -> Fault {
    let fault = at(format!("this plugin has no {what} `{id}`")).column(what);
    match nearest(id, known, 1).first() {
        Some(near) => fault.next(format!("did you mean `{near}`?")),
        None => fault,
    }
}

/// Line of a part of `text`, from 1.
pub(crate) fn line_within(text: &str, part: &str) -> u64 {
    line_of(text, (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize))
}

pub(crate) fn json_fault(file: &str, lines_before: u64, error: &serde_json::Error) -> Fault {
    understood(error).file(file).line(lines_before + error.line() as u64)
}

/// The parser's words with what to do; an unknown key is told with the nearest known one.
fn understood(error: &serde_json::Error) -> Fault {
    let text = without_place(error);
    let quoted: Vec<&str> = text.split('`').skip(1).step_by(2).collect();
    match quoted.as_slice() {
        [unknown, known @ ..] if text.starts_with("unknown field") => {
            let fault = Fault::new(format!("no key is called `{unknown}` here"));
            match nearest(unknown, known.iter().copied(), 1).first() {
                Some(near) => fault.next(format!("did you mean `{near}`?")),
                None => fault.next(format!("the keys here are: {}", known.join(", "))),
            }
        }
        [missing] if text.starts_with("missing field") => Fault::new(format!("the key `{missing}` is missing"))
            .next("add it; the rest of the example is not looked at before"),
        _ if error.is_data() => {
            Fault::new(text).next("text stands in quotation marks, numbers do not, with a decimal point")
        }
        _ => Fault::new(text).next(
            "look here and at the line before: is a comma, a bracket or a quotation mark missing, or one too many?",
        ),
    }
}

/// The parser's words without its own line, which may count within a part of the file.
fn without_place(error: &serde_json::Error) -> String {
    let text = error.to_string();
    text.rsplit_once(" at line ").map_or(text.clone(), |(message, _)| message.to_owned())
}
