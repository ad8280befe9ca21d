//! From the shop's own types to the words on the wire, and from the words of a request to the shop's ids and figures.

use crate::view;
use coilwright_catalog::Catalog;
use coilwright_core::enough::Word;
use coilwright_core::finding::Finding;
use coilwright_core::wire::Wire as CoreWire;
use coilwright_proto::coil::FindingAnswer;
use coilwright_proto::error::RpcError;
use coilwright_proto::job::JobStatus;
use coilwright_proto::money::Money as MoneyWords;
use coilwright_proto::quantity::{C, Figure, M, Ohm, Reading, Setting, Unit};
use coilwright_proto::reference::{Ref, WireRef};
use coilwright_proto::shop::{ShopFigure, ShopFiguresAnswer};
use coilwright_proto::spool::EnoughWord;
use coilwright_shop::entry::{ClockQuality, Moment, Stamp};
use coilwright_shop::fact::{OhmReading, Wire};
use coilwright_shop::figures::Figures;
use coilwright_shop::id::{HoldId, JobId, NotAnId, SpoolId};
use coilwright_shop::job::Status;
use coilwright_shop::spool::Spool;
use coilwright_shop::state::State;
use coilwright_shop::uncertain::{Money, Uncertain};
use std::str::FromStr;

/// A spool's id at a place of its own in the params.
pub fn spool_id_at(text: &str, at: &str) -> Result<SpoolId, RpcError> {
    id(text, at, "spool list")
}
/// A job's id at a place of its own in the params.
pub fn job_id_at(text: &str, at: &str) -> Result<JobId, RpcError> {
    id(text, at, "job list")
}
/// A spool's id.
pub fn spool_id(text: &str) -> Result<SpoolId, RpcError> {
    id(text, "/spool", "spool list")
}
/// A job's id.
pub fn job_id(text: &str) -> Result<JobId, RpcError> {
    id(text, "/job", "job list")
}
/// A hold's id.
pub fn hold_id(text: &str) -> Result<HoldId, RpcError> {
    id(text, "/hold", "spool show")
}

fn id<I: FromStr<Err = NotAnId>>(text: &str, at: &str, list: &str) -> Result<I, RpcError> {
    text.parse().map_err(|e: NotAnId| {
        RpcError::params(at, e.to_string()).met(text).next(format!("see `{list}` for those there are"))
    })
}

/// "There is no such spool, job."
pub fn no_such(what: &str, id: &str) -> RpcError {
    let mut e = RpcError::not_found(format!("/{what}"), format!("there is no {what} {id}"))
        .met(id)
        .next(format!("see `{what} list` for those there are"));
    // As the shop's own decisions say it.
    e.data.reason = Some("not_found".into());
    e
}

/// A value with its uncertainty as it stands in facts.
pub fn figure<U: Unit>(v: Uncertain) -> Figure<U> {
    Figure::of(v.value, v.u)
}

/// A reading of a request; without a stated uncertainty it gets `usual`.
pub fn uncertain<U: Unit>(r: Reading<U>, usual: impl FnOnce(f64) -> f64) -> Uncertain {
    Uncertain::new(r.value, r.u.unwrap_or_else(|| usual(r.value)))
}

/// What was noticed, on the wire.
pub fn findings(all: &[Finding]) -> Vec<FindingAnswer> {
    all.iter().cloned().map(view::finding).collect()
}

/// What is left on a spool.
pub fn left(spool: &Spool) -> Figure<M> {
    spool.estimate().left.into()
}

/// Metres as a bare number.
pub fn metres(length: coilwright_core::quantity::Length) -> Setting<M> {
    Setting::of(length.m())
}

/// The word for how much is left.
pub fn enough(word: Word) -> EnoughWord {
    match word {
        Word::Enough => EnoughWord::Enough,
        Word::Doubtful => EnoughWord::Doubtful,
        Word::Short => EnoughWord::Short,
    }
}

/// Where a job stands.
pub fn status(s: Status) -> JobStatus {
    match s {
        Status::Open => JobStatus::Open,
        Status::InWork => JobStatus::InWork,
        Status::Ready => JobStatus::Ready,
        Status::Closed => JobStatus::Closed,
        Status::Cancelled => JobStatus::Cancelled,
    }
}

/// An amount of money for the journal.
///
/// # Errors
/// If the amount is no decimal number or the currency no three capital letters.
pub fn money(m: &MoneyWords, at: &str) -> Result<Money, RpcError> {
    let digits = m.amount.strip_prefix('-').unwrap_or(&m.amount);
    let (whole, cents) = digits.split_once('.').unwrap_or((digits, "0"));
    let all_digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    if !all_digits(whole) || !all_digits(cents) || whole.len() > 12 || cents.len() > 4 {
        return Err(RpcError::params(format!("{at}/amount"), format!("`{}` is no amount of money", m.amount))
            .met(m.amount.as_str())
            .allowed("a decimal number like 138.28")
            .next("write it with a point and without thousands"));
    }
    if m.currency.len() != 3 || !m.currency.bytes().all(|b| b.is_ascii_uppercase()) {
        return Err(RpcError::params(format!("{at}/currency"), format!("`{}` is no currency", m.currency))
            .met(m.currency.as_str())
            .allowed("three capital letters like EUR")
            .next("write the currency's code of ISO 4217"));
    }
    Ok(Money { amount: m.amount.clone(), currency: m.currency.clone() })
}

/// The same on the wire.
pub fn money_words(m: &Money) -> MoneyWords {
    MoneyWords { amount: m.amount.clone(), currency: m.currency.clone() }
}

/// The name by which spools and jobs know a wire: its id, or its diameters where it was written out.
pub fn wire_key(wanted: &WireRef, wire: &CoreWire) -> String {
    match wanted {
        Ref::Id(id) => id.clone(),
        Ref::Inline(_) => described(wire),
    }
}

fn described(wire: &CoreWire) -> String {
    format!("{} {:.5}/{:.5} mm", wire.conductor.name(), wire.bare.value.mm(), wire.overall.value.mm())
}

/// A wire as a spool remembers it. A wire of the catalog gets the shop's usual uncertainty per metre, since spools of one
/// size differ; a wire written out is this very one, known as well as its figures say.
pub fn shop_wire(catalog: &Catalog, wanted: &WireRef, figures: &Figures) -> Result<Wire, RpcError> {
    let (wire, _) = view::wire(catalog, wanted, "/wire")?;
    let (g, ohm) = (wire.g_per_m(), wire.ohm_per_m());
    let (id, label, usual) = match wanted {
        Ref::Id(id) => (Some(id.clone()), catalog.wire(id).map_or_else(|| id.clone(), |w| w.label.clone()), true),
        Ref::Inline(_) => (None, described(&wire), false),
    };
    let known = |value: f64, u: f64, pct: f64| Uncertain::new(value, if usual { value * pct / 100.0 } else { u });
    Ok(Wire {
        id,
        label,
        conductor: wire.conductor.word().into(),
        g_per_m: known(g.value.g_per_m(), g.u.g_per_m(), figures.g_per_m_u_pct.value),
        ohm_per_m: known(ohm.value.ohm_per_m(), ohm.u.ohm_per_m(), figures.ohm_per_m_u_pct.value),
        alpha_per_k: wire.conductor.alpha20(),
        overall_mm: Some(wire.overall.value.mm()),
        bare_mm: Some(wire.bare.value.mm()),
    })
}

/// What a meter showed, with the usual uncertainty of meter and thermometer where none was stated. A stated uncertainty of
/// the meter is that of the reading with its test leads taken off, so the test leads carry none of their own then.
pub fn ohm_reading(
    figures: &Figures,
    ohm: Setting<Ohm>,
    test_leads: Option<Setting<Ohm>>,
    temperature: Setting<C>,
    meter_u: Option<Setting<Ohm>>,
) -> OhmReading {
    let leads = test_leads.map_or(0.0, |s| s.value);
    let u = meter_u.map_or_else(|| figures.meter.value.reading_u_ohm(ohm.value), |s| s.value);
    OhmReading {
        ohm: Uncertain::new(ohm.value, u),
        test_leads_ohm: Uncertain::new(leads, 0.0),
        temperature_c: Uncertain::new(
            temperature.value,
            if meter_u.is_some() { 0.0 } else { figures.temperature_u_c.value },
        ),
    }
}

/// Everything the shop decides by.
pub fn figures(state: &State, seq: u64) -> ShopFiguresAnswer {
    let f = state.figures();
    let all = serde_json::to_value(f).unwrap_or_default();
    let figures = all.as_object().into_iter().flatten().filter_map(|(name, s)| {
        Some(ShopFigure {
            name: name.clone(),
            value: s.get("value")?.clone(),
            origin: s.get("origin")?.as_str()?.to_owned(),
            set_by: s.get("seq").and_then(serde_json::Value::as_u64),
        })
    });
    ShopFiguresAnswer { figures: figures.collect(), rev: f.rev, seq }
}

const DEFAULT_LIMIT: u32 = 100;
const MOST: u32 = 1000;

/// One page of things in order of their numbers, and the number to go on after if there are more.
///
/// # Errors
/// A limit out of bounds, or a cursor that is no id.
pub fn page<'a, T>(
    all: impl Iterator<Item = &'a T>,
    number: impl Fn(&T) -> u64,
    limit: Option<u32>,
    cursor: Option<&str>,
    read: fn(&str) -> Option<u64>,
) -> Result<(Vec<&'a T>, Option<u64>), RpcError> {
    let (limit, after) = bounds(limit, cursor, read)?;
    let mut rest = all.filter(|t| number(t) > after);
    let page: Vec<&T> = rest.by_ref().take(limit).collect();
    let next = rest.next().and(page.last().map(|t| number(t)));
    Ok((page, next))
}

/// One page of all that ever were, from the number 1 to `last`; `find` gives what is wanted of them. Ends looking once the
/// page is full and one more is known to follow.
///
/// # Errors
/// As [`page`], or what `find` met.
pub fn page_of_all<T>(
    last: u64,
    find: impl Fn(u64) -> Result<Option<T>, RpcError>,
    limit: Option<u32>,
    cursor: Option<&str>,
    read: fn(&str) -> Option<u64>,
) -> Result<(Vec<T>, Option<u64>), RpcError> {
    let (limit, after) = bounds(limit, cursor, read)?;
    let (mut page, mut end) = (Vec::new(), None);
    for number in after.saturating_add(1)..=last {
        let Some(found) = find(number)? else { continue };
        if page.len() == limit {
            return Ok((page, end));
        }
        page.push(found);
        end = Some(number);
    }
    Ok((page, None))
}

/// How many a page holds, and after which number it begins.
fn bounds(limit: Option<u32>, cursor: Option<&str>, read: fn(&str) -> Option<u64>) -> Result<(usize, u64), RpcError> {
    let limit = limit.unwrap_or(DEFAULT_LIMIT);
    if !(1..=MOST).contains(&limit) {
        return Err(RpcError::params("/limit", format!("a page holds 1 to {MOST} items"))
            .met(limit)
            .allowed(format!("1 to {MOST}"))
            .next("ask for fewer and go on with the answer's `next_cursor`"));
    }
    let after = match cursor {
        None => 0,
        Some(c) => read(c).ok_or_else(|| {
            RpcError::params("/cursor", format!("`{c}` is no cursor of this list"))
                .met(c)
                .next("ask again without `cursor`")
        })?,
    };
    Ok((limit as usize, after))
}

/// The number in a spool's id.
pub fn spool_id_number(text: &str) -> Option<u64> {
    text.parse::<SpoolId>().ok().map(|id| id.0)
}
/// The number in a job's id.
pub fn job_id_number(text: &str) -> Option<u64> {
    text.parse::<JobId>().ok().map(|id| id.0)
}

/// Any moment after the last entry: only the order matters to an estimate.
pub fn a_moment(state: &State) -> Moment {
    let stamp =
        Stamp { at: jiff::Timestamp::UNIX_EPOCH, quality: ClockQuality::Plausible, boot: String::new(), mono_ms: 0 };
    Moment { seq: state.seq() + 1, stamp, who: String::new() }
}
