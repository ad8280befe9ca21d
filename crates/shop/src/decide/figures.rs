//! The shop sets what it decides by.

use super::{Decision, Ruling, bounds, number, said, still_at};
use crate::entry::{Moment, Seq};
use crate::fact::Fact;
use crate::figures::FiguresSet;
use crate::refusal::Refusal;
use crate::state::State;
use crate::uncertain::Money;

/// Figures to set.
#[derive(Debug, Clone, PartialEq)]
pub struct SetFigures {
    /// Those that are here.
    pub set: FiguresSet,
    /// Only if the figures still are at this revision.
    pub if_rev: Option<Seq>,
}

/// Sets figures.
///
/// # Errors
/// None given, or one out of range. A time zone is only checked for being named: the zones are not known here.
pub fn set_figures(state: &State, ask: &SetFigures, _at: &Moment) -> Ruling {
    still_at(state.figures().rev, ask.if_rev, "the shop's figures")?;
    let set = &ask.set;
    if set.names().is_empty() {
        let detail = "no figure was given".to_owned();
        return Err(Refusal::wrong("nothing_set", "", detail, "see `shop figures` for their names"));
    }
    let bounded = [
        (set.confidence, "/confidence", 0.5, 0.999_999),
        (set.plan_risk_pct, "/plan_risk_pct", 0.0001, 50.0),
        (set.g_per_m_u_pct, "/g_per_m_u_pct", 0.0, 50.0),
        (set.ohm_per_m_u_pct, "/ohm_per_m_u_pct", 0.0, 50.0),
        (set.marked_u_pct, "/marked_u_pct", 0.0, 50.0),
        (set.tare_u_g, "/tare_u_g", 0.0, bounds::MASS_G),
        (set.micrometer_u_mm, "/micrometer_u_mm", bounds::TINY, 1.0),
        (set.caliper_u_mm, "/caliper_u_mm", bounds::TINY, 10.0),
        (set.rule_u_mm, "/rule_u_mm", bounds::TINY, 1000.0),
        (set.temperature_u_c, "/temperature_u_c", 0.0, 50.0),
        (set.same_weighing_s, "/same_weighing_s", 0.0, 86_400.0),
        (set.scrap_pct, "/scrap_pct", 0.0, 99.0),
        (set.weigh_every_days, "/weigh_every_days", 1.0, 3650.0),
    ];
    for (value, pointer, least, most) in bounded {
        value.map(|v| number(v, pointer, least, most)).transpose()?;
    }
    if let Some(scale) = set.scale {
        number(scale.u_g, "/scale/u_g", 0.0, bounds::MASS_G)?;
        number(scale.resolution_g, "/scale/resolution_g", bounds::TINY, bounds::MASS_G)?;
    }
    if let Some(meter) = set.meter {
        number(meter.pct, "/meter/pct", 0.0, 100.0)?;
        number(meter.digits, "/meter/digits", 0.0, 1000.0)?;
        number(meter.resolution_ohm, "/meter/resolution_ohm", bounds::TINY, bounds::OHM)?;
    }
    for (i, r) in set.reference_resistors.iter().flatten().enumerate() {
        number(r.ohm, &format!("/reference_resistors/{i}/ohm"), bounds::TINY, bounds::OHM)?;
        number(r.pct, &format!("/reference_resistors/{i}/pct"), bounds::TINY, 20.0)?;
    }
    for (i, coil) in set.usual_coils.iter().flatten().enumerate() {
        said(&coil.title, &format!("/usual_coils/{i}/title"), "the coil's title")?;
        number(coil.need_m, &format!("/usual_coils/{i}/need_m"), bounds::TINY, bounds::LENGTH_M)?;
    }
    for (i, hours) in set.winder_hours.iter().flatten().enumerate() {
        number(*hours, &format!("/winder_hours/{i}"), 0.0, 24.0)?;
    }
    for (i, mm) in set.mandrels_mm.iter().flatten().enumerate() {
        number(*mm, &format!("/mandrels_mm/{i}"), bounds::TINY, 1e4)?;
    }
    for (i, mm) in set.shims_mm.iter().flatten().enumerate() {
        number(*mm, &format!("/shims_mm/{i}"), bounds::TINY, 10.0)?;
    }
    if let Some(rates) = &set.rates {
        money(&rates.hour, "/rates/hour")?;
        number(rates.overhead_pct, "/rates/overhead_pct", 0.0, 1000.0)?;
        number(rates.margin_pct, "/rates/margin_pct", 0.0, 99.0)?;
    }
    set.time_zone.as_deref().map(|z| said(z, "/time_zone", "the time zone")).transpose()?;
    set.currency.as_deref().map(|c| currency(c, "/currency")).transpose()?;
    Ok(Decision::of(vec![Fact::FiguresSet(Box::new(set.clone()))]))
}

/// A decimal amount in a currency.
pub(super) fn money(money: &Money, pointer: &str) -> Result<(), Refusal> {
    currency(&money.currency, &format!("{pointer}/currency"))?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let (whole, part) = money.amount.split_once('.').unwrap_or((&money.amount, "0"));
    if digits(whole) && digits(part) {
        return Ok(());
    }
    let detail = format!("`{}` is no decimal amount", money.amount);
    Err(Refusal::wrong("no_amount", &format!("{pointer}/amount"), detail, "write it like 48.00")
        .met(money.amount.clone()))
}

fn currency(code: &str, pointer: &str) -> Result<(), Refusal> {
    if code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase()) {
        return Ok(());
    }
    let detail = format!("`{code}` is no currency code");
    Err(Refusal::wrong("no_currency", pointer, detail, "write three capital letters, like EUR").met(code))
}
