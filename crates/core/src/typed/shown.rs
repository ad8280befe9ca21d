//! A figure rounded for people: as many digits as its uncertainty lets it have.

/// A value with its standard uncertainty, rounded for reading: `5.80 ± 0.07`, `1034 ± 22`.
///
/// The uncertainty gets two figures when it leads with 1 or 2 (after rounding), else one; the value is rounded to the
/// same place. An uncertainty of zero, or none that is a positive number, gives the value alone with six figures at
/// most, whole digits never rounded away. Very large and very small figures are written with a common power of ten:
/// `(1.26 ± 0.05)e-6`. A value that is no number is `unknown`.
///
/// For display only: what is stored, sent or computed with keeps all its digits.
pub fn shown(value: f64, u: f64) -> String {
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    // Below the last digit a float holds there is nothing to round to.
    if !u.is_finite() || u <= value.abs() * f64::EPSILON {
        return plain(value);
    }
    let size = leading(value.abs().max(u));
    if (-4..9).contains(&size) {
        let (value, u) = rounded(value, u);
        format!("{value} ± {u}")
    } else {
        // In two steps, so that neither factor overflows.
        let scale = |x: f64| x / libm::exp10(f64::from(size / 2)) / libm::exp10(f64::from(size - size / 2));
        let (value, u) = rounded(scale(value), scale(u));
        format!("({value} ± {u})e{size}")
    }
}

/// Value and uncertainty as text, both to the place that the uncertainty decides.
fn rounded(value: f64, u: f64) -> (String, String) {
    let two_figures = format!("{u:.1e}");
    let leads_low = two_figures.starts_with(['1', '2']);
    let place = exponent(&two_figures) - i32::from(leads_low);
    (to_place(value, place), to_place(u, place))
}

/// Text of a number rounded to a power of ten.
fn to_place(x: f64, place: i32) -> String {
    let text = match usize::try_from(-place) {
        Ok(decimals) => format!("{x:.decimals$}"),
        Err(_) => {
            let step = libm::exp10(f64::from(place));
            format!("{:.0}", libm::round(x / step) * step)
        }
    };
    without_sign_of_zero(text)
}

fn plain(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let size = leading(value);
    if !(-4..15).contains(&size) {
        let text = format!("{value:.5e}");
        return match text.split_once('e') {
            Some((mantissa, power)) => format!("{}e{power}", trimmed(mantissa)),
            None => text,
        };
    }
    let decimals = usize::try_from(5 - size).unwrap_or(0);
    without_sign_of_zero(trimmed(&format!("{value:.decimals$}")).to_owned())
}

/// The power of ten of the first digit.
fn leading(x: f64) -> i32 {
    exponent(&format!("{x:e}"))
}

/// Taken from the printed text, which is rounded correctly, where a logarithm may fall on the wrong side of a power.
fn exponent(text: &str) -> i32 {
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

fn trimmed(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

fn without_sign_of_zero(text: String) -> String {
    match text.strip_prefix('-') {
        Some(digits) if !digits.contains(|c: char| ('1'..='9').contains(&c)) => digits.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn shows(value: f64, u: f64, text: &str) {
        assert_eq!(shown(value, u), text);
    }

    #[test]
    fn uncertainty_leading_with_one_or_two_keeps_two_figures() {
        shows(6.2371, 0.0123, "6.237 ± 0.012");
        shows(1033.52, 22.4, "1034 ± 22");
        shows(12.617, 0.21, "12.62 ± 0.21");
        shows(41234.0, 1234.0, "41200 ± 1200");
    }

    #[test]
    fn other_uncertainties_keep_one_figure() {
        shows(5.799, 0.073, "5.80 ± 0.07");
        shows(412.3, 9.0, "412 ± 9");
        shows(41234.0, 345.0, "41200 ± 300");
    }

    #[test]
    fn a_figure_that_rounds_up_decides_the_place() {
        shows(5.0, 0.96, "5.0 ± 1.0");
        shows(5.0, 0.0999, "5.00 ± 0.10");
        shows(5.0, 0.0296, "5.00 ± 0.03");
        shows(5.0, 0.996, "5.0 ± 1.0");
    }

    #[test]
    fn signs_and_zero_are_kept_plain() {
        shows(-0.0123, 0.0051, "-0.012 ± 0.005");
        shows(-0.04, 1.2, "0.0 ± 1.2");
        shows(0.0, 0.5, "0.0 ± 0.5");
        shows(-20.0, 400.0, "0 ± 400");
    }

    #[test]
    fn without_uncertainty_the_value_stands_alone() {
        shows(17.756, 0.0, "17.756");
        shows(0.1 + 0.2, 0.0, "0.3");
        shows(103.0, 0.0, "103");
        shows(1_234_567.8, 0.0, "1234568");
        shows(0.0, 0.0, "0");
        shows(-0.0, f64::NAN, "0");
        shows(5.8, -1.0, "5.8");
        shows(1.25e-9, 0.0, "1.25e-9");
        shows(f64::NAN, 1.0, "unknown");
    }

    #[test]
    fn very_large_and_very_small_figures_share_a_power_of_ten() {
        shows(1.2566e-6, 5e-8, "(1.26 ± 0.05)e-6");
        shows(5.8e12, 1.23e11, "(5.80 ± 0.12)e12");
        shows(f64::MAX, f64::MAX / 8.0, "(1.80 ± 0.22)e308");
        shows(f64::MIN_POSITIVE, f64::MIN_POSITIVE / 2.0, "(2.2 ± 1.1)e-308");
    }
}
