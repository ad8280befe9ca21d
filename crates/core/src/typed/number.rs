//! A number as a person writes it: decimal comma or point, thousands set apart, fractions, powers of ten.

/// A number and the worth of one step of its last digit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number {
    pub value: f64,
    pub resolution: f64,
}

/// Why a text is no number, or more than one.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Misread {
    NotANumber,
    Ambiguous { decimal: String, thousands: String },
    ZeroDenominator,
    NotFinite,
}

/// Cuts a text where its number ends: everything before it that can belong to a number, then the unit.
///
/// Greedy on purpose: `1-1/2 in` gives the number text `1-1/2`, which [`read`] then refuses as a whole.
pub(super) fn split(text: &str) -> (&str, &str) {
    let mut characters = text.char_indices();
    let end = characters.find(|&(at, c)| {
        let after = text.get(at + c.len_utf8()..).unwrap_or_default();
        !belongs_to_number(c, after, at == 0)
    });
    let (number, unit) = end.and_then(|(at, _)| text.split_at_checked(at)).unwrap_or((text, ""));
    (number.trim_end(), unit.trim())
}

fn belongs_to_number(c: char, after: &str, first: bool) -> bool {
    match c {
        '0'..='9' | '+' | '-' | '.' | ',' | '\'' | '/' | ' ' => true,
        'e' | 'E' => {
            let exponent = after.strip_prefix(['+', '-']).unwrap_or(after);
            !first && exponent.starts_with(|c: char| c.is_ascii_digit())
        }
        _ => false,
    }
}

/// Reads a number text as [`split`] cut it.
pub(super) fn read(text: &str) -> Result<Number, Misread> {
    let (sign, body) = match text.strip_prefix(['+', '-']) {
        Some(body) if text.starts_with('-') => ("-", body.trim_start()),
        Some(body) => ("", body.trim_start()),
        None => ("", text),
    };
    let magnitude = match body.split_once('/') {
        Some((above, below)) => fraction(above.trim(), below.trim())?,
        None => decimal(sign, body)?,
    };
    let value = if sign == "-" { -magnitude.value } else { magnitude.value };
    Ok(Number { value, ..magnitude })
}

/// `1/4`, or `1 1/2` with a proper fraction (`1 234/5` could be a number with its thousands set apart).
fn fraction(above: &str, below: &str) -> Result<Number, Misread> {
    let denominator = whole(below)?;
    if denominator == 0.0 {
        return Err(Misread::ZeroDenominator);
    }
    let value = match above.split_once(' ') {
        None => whole(above)? / denominator,
        Some((units, numerator)) => {
            let numerator = whole(numerator)?;
            if numerator >= denominator {
                return Err(Misread::NotANumber);
            }
            whole(units)? + numerator / denominator
        }
    };
    finite(value, 1.0 / denominator)
}

fn decimal(sign: &str, body: &str) -> Result<Number, Misread> {
    let (mantissa, exponent) = match body.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (body, None),
    };
    let (whole, part) = match separated(mantissa)? {
        Mantissa::One { whole, part } => (whole, part),
        Mantissa::Two { before, after } => {
            let power = exponent.map(|e| format!("e{e}")).unwrap_or_default();
            return Err(Misread::Ambiguous {
                decimal: format!("{sign}{before}.{after}{power}"),
                thousands: format!("{sign}{before}{after}{power}"),
            });
        }
    };
    let power = match exponent {
        Some(text) => power_of_ten(text)?,
        None => 0,
    };
    let last_digit = power.saturating_sub(i64::try_from(part.len()).unwrap_or(i64::MAX));
    finite(to_f64(&format!("{whole}.{part}e{power}"))?, to_f64(&format!("1e{last_digit}"))?)
}

enum Mantissa {
    One { whole: String, part: String },
    Two { before: String, after: String },
}

/// Decides which of the separators, if any, is the decimal one.
fn separated(text: &str) -> Result<Mantissa, Misread> {
    let is_separator = |c: char| matches!(c, '.' | ',' | '\'' | ' ');
    let separators: Vec<char> = text.chars().filter(|&c| is_separator(c)).collect();
    let runs: Vec<&str> = text.split(is_separator).collect();
    let Some((last_run, earlier_runs)) = runs.split_last() else {
        return Err(Misread::NotANumber);
    };
    let all_digits = runs.iter().all(|run| run.chars().all(|c| c.is_ascii_digit()));
    if !all_digits || last_run.is_empty() {
        return Err(Misread::NotANumber);
    }

    let one = |whole: String, part: &str| Ok(Mantissa::One { whole, part: part.to_owned() });
    match separators.as_slice() {
        [] => one(text.to_owned(), ""),
        ['.'] => one(earlier_runs.concat(), last_run),
        [','] if grouped(&runs) => Ok(Mantissa::Two { before: earlier_runs.concat(), after: (*last_run).to_owned() }),
        [','] => one(earlier_runs.concat(), last_run),
        [first, rest @ ..] if rest.iter().all(|c| c == first) && grouped(&runs) => one(runs.concat(), ""),
        [first, middle @ .., last @ ('.' | ',')]
            if first != last && middle.iter().all(|c| c == first) && grouped(earlier_runs) =>
        {
            one(earlier_runs.concat(), last_run)
        }
        _ => Err(Misread::NotANumber),
    }
}

/// Whether runs of digits are thousands set apart: one to three digits without a leading zero, then threes.
fn grouped(runs: &[&str]) -> bool {
    match runs {
        [first, rest @ ..] => {
            (1..=3).contains(&first.len()) && !first.starts_with('0') && rest.iter().all(|run| run.len() == 3)
        }
        [] => false,
    }
}

fn whole(digits: &str) -> Result<f64, Misread> {
    if digits.is_empty() || !digits.chars().all(|c| c.is_ascii_digit()) {
        return Err(Misread::NotANumber);
    }
    to_f64(digits)
}

/// The power after `e`; one of more digits than fit is only ever zero or infinity, which its sign already decides.
fn power_of_ten(text: &str) -> Result<i64, Misread> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    if digits.is_empty() || !digits.chars().all(|c| c.is_ascii_digit()) {
        return Err(Misread::NotANumber);
    }
    let magnitude = digits.parse::<i64>().unwrap_or(i64::MAX).min(1_000_000);
    Ok(if text.starts_with('-') { -magnitude } else { magnitude })
}

fn to_f64(text: &str) -> Result<f64, Misread> {
    text.parse().map_err(|_| Misread::NotANumber)
}

fn finite(value: f64, resolution: f64) -> Result<Number, Misread> {
    if value.is_finite() && resolution.is_finite() { Ok(Number { value, resolution }) } else { Err(Misread::NotFinite) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn reads(text: &str, value: f64, resolution: f64) {
        assert_eq!(read(text), Ok(Number { value, resolution }), "{text}");
    }

    #[test]
    fn one_separator_is_a_decimal_one_where_it_cannot_be_a_thousands_separator() {
        reads("12", 12.0, 1.0);
        reads("1.234", 1.234, 0.001);
        reads("0,254", 0.254, 0.001);
        reads("1234,567", 1234.567, 0.001);
        reads("6,2", 6.2, 0.1);
        reads(",5", 0.5, 0.1);
        reads(".5", 0.5, 0.1);
    }

    #[test]
    fn thousands_are_read_where_only_one_reading_is_left() {
        reads("1,234.5", 1234.5, 0.1);
        reads("1.234,5", 1234.5, 0.1);
        reads("1,234,567", 1_234_567.0, 1.0);
        reads("1.234.567", 1_234_567.0, 1.0);
        reads("1,234,567.25", 1_234_567.25, 0.01);
        reads("1 234,567", 1234.567, 0.001);
        reads("1'234", 1234.0, 1.0);
        reads("1 234", 1234.0, 1.0);
    }

    #[test]
    fn a_comma_before_three_digits_is_refused_with_both_readings() {
        let ambiguous = |decimal: &str, thousands: &str| {
            Err(Misread::Ambiguous { decimal: decimal.into(), thousands: thousands.into() })
        };
        assert_eq!(read("1,234"), ambiguous("1.234", "1234"));
        assert_eq!(read("-12,500"), ambiguous("-12.500", "-12500"));
        assert_eq!(read("1,234e3"), ambiguous("1.234e3", "1234e3"));
    }

    #[test]
    fn powers_of_ten_move_the_last_digit_too() {
        reads("1e-3", 1e-3, 1e-3);
        reads("1.25E+2", 125.0, 1.0);
        reads("2,50e-6", 2.5e-6, 1e-8);
        reads("1e-999999999999999999999", 0.0, 0.0);
    }

    #[test]
    fn fractions_step_by_their_denominator() {
        reads("1/4", 0.25, 0.25);
        reads("1 1/2", 1.5, 0.5);
        reads("-3 5/16", -3.3125, 0.0625);
        assert_eq!(read("1/0"), Err(Misread::ZeroDenominator));
        assert_eq!(read("1 234/5"), Err(Misread::NotANumber));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in
            ["", "-", "--5", "5.", "1,,2", "1,23,456", "12 34", "1,234.567,8", "0,123.4", "1-1/2", "1/2/3", "1e", "/2"]
        {
            assert_eq!(read(text), Err(Misread::NotANumber), "{text}");
        }
        assert_eq!(read("1e999"), Err(Misread::NotFinite));
    }

    #[test]
    fn the_number_ends_where_the_unit_begins() {
        assert_eq!(split("1e-3 m"), ("1e-3", "m"));
        assert_eq!(split("1 1/2 in"), ("1 1/2", "in"));
        assert_eq!(split("5 ohm/1000ft"), ("5", "ohm/1000ft"));
        assert_eq!(split("2eggs"), ("2", "eggs"));
        assert_eq!(split("e5"), ("", "e5"));
    }
}
