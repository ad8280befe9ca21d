//! The one clock of the asking requests: today in the shop's time zone, unless the request says which day.

use coilwright_proto::error::RpcError;
use coilwright_shop::state::State;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// Years by which a named day may come before all that is in use: a clock set wrongly is off by years, not by more.
const YEARS_BEFORE: i16 = 10;
/// Years ahead of today beyond which nobody plans.
const YEARS_AHEAD: i16 = 100;

/// The day a request looks on: the one it names, or today.
///
/// # Errors
/// A text that is no date, a day long before there was anything to look at, or one too far ahead.
pub fn as_of(state: &State, asked: Option<&str>, at: &str) -> Result<Date, RpcError> {
    let Some(text) = asked else { return Ok(today(state)) };
    let day = date(text, at)?;
    let today = today(state);
    let began = oldest(state).map_or(today, |day| day.min(today));
    let years = |from: Date, n: i16| from.checked_add(jiff::Span::new().years(n)).unwrap_or(from);
    let (first, last) = (years(began, -YEARS_BEFORE), years(today, YEARS_AHEAD));
    if (first..=last).contains(&day) {
        return Ok(day);
    }
    let why = if day < first {
        format!("{day} is long before anything here: the oldest spool or job in use is of {began}")
    } else {
        format!("{day} is too far ahead: nothing here lasts until then")
    };
    Err(RpcError::params(at, why)
        .met(text)
        .allowed(format!("{first} to {last}"))
        .next("leave it out for today, or name a day near the shop's own"))
}

/// The day on which the oldest spool or job in use came.
fn oldest(state: &State) -> Option<Date> {
    let spools = state.spools().map(|s| s.received_at);
    Some(of(state, spools.chain(state.jobs().map(|j| j.opened_at)).min()?))
}

/// Today where the shop is. A zone that is not known counts as UTC: it was checked when it was set.
pub fn today(state: &State) -> Date {
    of(state, Timestamp::now())
}

/// The day of a moment where the shop is.
pub fn of(state: &State, at: Timestamp) -> Date {
    at.to_zoned_datetime(zone(state)).date()
}

fn zone(state: &State) -> TimeZone {
    TimeZone::get(&state.figures().time_zone.value).unwrap_or(TimeZone::UTC)
}

/// A date of a request.
///
/// # Errors
/// A text that is none.
pub fn date(text: &str, at: &str) -> Result<Date, RpcError> {
    text.parse().map_err(|_| {
        RpcError::params(at, format!("`{text}` is no date"))
            .met(text)
            .allowed("year-month-day like 2026-12-18")
            .next("write it like 2026-12-18")
    })
}

/// Days from one date to another; negative if it is past.
pub fn days_between(from: Date, to: Date) -> i32 {
    from.until(to).map_or(0, |span| span.get_days())
}

/// A number of days after a date; the date itself where the calendar ends.
pub fn days_after(from: Date, days: i32) -> Date {
    from.checked_add(jiff::Span::new().days(days)).unwrap_or(from)
}
