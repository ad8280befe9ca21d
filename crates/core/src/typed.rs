//! Quantities as people write them: a number with its unit in text, understood or refused with what to write instead.
//!
//! One small grammar, no expression language: `412.6 g`, `0,25mm`, `1 1/2 in`, `AWG 30`, `1e-3 m`. Text always carries
//! its unit; a number that can be read in two ways is refused with both readings.

mod gauge;
mod number;
mod refusal;
mod shown;
mod units;

pub use refusal::NotUnderstood;
pub use shown::shown;
pub use units::Kind;

use crate::wire::awg_diameter;
use number::Misread;

/// The longest text that is looked at, in characters; the longest sensible one has about thirty.
pub const LONGEST: usize = 64;

/// A quantity as it was written and understood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typed {
    /// The value in the coherent SI unit of its kind; temperatures in °C, as `quantity::Temperature` holds them.
    pub si: f64,
    /// What one step of the last digit written is worth, in the same unit as `si`.
    ///
    /// `0,4126 kg` gives 0.0001 kg; of a fraction it is one part of the denominator (`1/4 lb`: a quarter pound). A wire
    /// gauge is the name of a size, not a reading: 0.
    pub resolution: f64,
    /// What it is.
    pub kind: Kind,
    /// The number as understood, in `unit`: what an answer echoes. 4/0 AWG is −3.
    pub number: f64,
    /// The unit as understood, in its plain spelling.
    pub unit: &'static str,
}

/// Reads one quantity of the wanted kind.
///
/// - Decimal point or comma. A comma with three digits after it and one to three before it (`1,234 g`) may be a decimal
///   comma or a thousands separator and is refused. A single point is always decimal, as in the whole of the protocol.
/// - Thousands may be set apart by comma, point, apostrophe or space where only one reading is left: `1,234.5 g`,
///   `1.234,5 g`, `1,234,567 g`, `1 234 g`, `1'234 g`.
/// - Fractions `1/4 lb`, `1 1/2 in`, `1½ in`; powers of ten `1e-3 m`; the Unicode minus; spaces of any width.
/// - American wire gauge for a length (`30 AWG`, `AWG 30`, `4/0 AWG`, `30.5 AWG`): the **bare** diameter by the formula of ASTM B258,
///   not a table's rounded one.
///
/// The unit's factor is applied as the named constructors of `quantity` apply it, so that `"412.6 g"` and the number
/// 412.6 in a member `gross_g` are the same to the last bit. Negative values are left to the caller.
///
/// # Errors
/// [`NotUnderstood`], which says what was met, what is allowed, and where possible what was probably meant.
pub fn parse(text: &str, kind: Kind) -> Result<Typed, NotUnderstood> {
    if text.chars().nth(LONGEST).is_some() {
        return Err(NotUnderstood::TooLong { most: LONGEST });
    }
    let plain = in_plain_characters(text);
    let met = plain.as_str();
    if met.is_empty() {
        return Err(NotUnderstood::Empty { kind });
    }
    if let Some(size) = gauge::size_text(met) {
        return gauge_size(met, size, kind);
    }

    let (number, unit) = number::split(met);
    if !number.contains(|c: char| c.is_ascii_digit()) {
        return Err(NotUnderstood::NoNumber { met: met.into(), kind });
    }
    if unit.is_empty() {
        return Err(NotUnderstood::NoUnit { met: met.into(), kind });
    }
    let Some(unit) = units::find(unit) else {
        return Err(unknown_unit(met, unit, kind));
    };
    if unit.kind != kind {
        return Err(NotUnderstood::WrongKind { met: met.into(), is: unit.kind, wanted: kind });
    }

    let read = number::read(number).map_err(|why| misread(why, met, number))?;
    let typed = Typed {
        si: (read.value - unit.zero) * unit.factor,
        resolution: read.resolution * unit.factor,
        kind,
        number: read.value,
        unit: unit.name,
    };
    if typed.si.is_finite() && typed.resolution.is_finite() {
        Ok(typed)
    } else {
        Err(NotUnderstood::NotFinite { met: met.into() })
    }
}

fn gauge_size(met: &str, size: &str, kind: Kind) -> Result<Typed, NotUnderstood> {
    if kind != Kind::Length {
        return Err(NotUnderstood::WrongKind { met: met.into(), is: Kind::Length, wanted: kind });
    }
    let n = gauge::size(size).ok_or_else(|| NotUnderstood::Gauge { met: met.into() })?;
    Ok(Typed { si: awg_diameter(n).m(), resolution: 0.0, kind, number: n, unit: "AWG" })
}

fn unknown_unit(met: &str, unit: &str, kind: Kind) -> NotUnderstood {
    if kind == Kind::Temperature && matches!(unit, "K" | "°K" | "kelvin") {
        return NotUnderstood::Kelvin { met: met.into() };
    }
    NotUnderstood::UnknownUnit { unit: unit.into(), nearest: units::nearest(unit, kind), kind }
}

fn misread(why: Misread, met: &str, number: &str) -> NotUnderstood {
    let met = met.to_owned();
    match why {
        Misread::NotANumber => NotUnderstood::NotANumber { met: number.to_owned() },
        Misread::ZeroDenominator => NotUnderstood::ZeroDenominator { met },
        Misread::NotFinite => NotUnderstood::NotFinite { met },
        Misread::Ambiguous { decimal, thousands } => {
            let unit = met.get(number.len()..).unwrap_or_default().trim();
            NotUnderstood::Ambiguous {
                decimal: format!("{decimal} {unit}"),
                thousands: format!("{thousands} {unit}"),
                met,
            }
        }
    }
}

/// Brings the look-alikes that keyboards, spreadsheets and data sheets produce down to one character each, and runs of
/// white space to one space; a character that cannot be shown becomes U+FFFD, so that no message carries it on.
fn in_plain_characters(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            _ if c.is_whitespace() => plain.push(' '),
            '\u{200b}' | '\u{2060}' | '\u{feff}' => plain.push(' '),
            _ if c.is_control() => plain.push('\u{fffd}'),
            '\u{2212}' => plain.push('-'),
            '\u{2019}' => plain.push('\''),
            '\u{2033}' | '\u{201c}' | '\u{201d}' => plain.push('"'),
            '\u{2044}' => plain.push('/'),
            '\u{b5}' | '\u{3bc}' => plain.push('u'),
            '\u{3a9}' | '\u{2126}' => plain.push_str("ohm"),
            '\u{ba}' => plain.push('°'),
            '\u{2103}' => plain.push_str("°C"),
            '\u{2109}' => plain.push_str("°F"),
            '¼' => plain.push_str(" 1/4"),
            '½' => plain.push_str(" 1/2"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            _ => plain.push(c),
        }
    }
    plain.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
