//! The one clock of the asking requests: today in the shop's time zone, unless the request says which day.

use coilwright_proto::error::RpcError;
use coilwright_shop::state::State;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// The day a request looks on: the one it names, or today.
///
/// # Errors
/// A text that is no date.
pub fn as_of(state: &State, asked: Option<&str>, at: &str) -> Result<Date, RpcError> {
    match asked {
        Some(text) => date(text, at),
        None => Ok(today(state)),
    }
}

/// Today where the shop is. A zone that is not known counts as UTC: it was checked when it was set.
pub fn today(state: &State) -> Date {
    let zone = TimeZone::get(&state.figures().time_zone.value).unwrap_or(TimeZone::UTC);
    Timestamp::now().to_zoned_datetime(zone).date()
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
