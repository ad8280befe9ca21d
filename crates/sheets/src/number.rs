//! How numbers are written on a sheet: decimal point, true minus sign, no more digits than mean something.

/// A coordinate or size for the SVG itself: at most four decimals, none that say nothing.
pub(crate) fn plain(v: f64) -> String {
    let mut s = format!("{v:.4}");
    trim(&mut s, 0);
    if s == "-0" { "0".into() } else { s }
}

/// Millimetres: three decimals at most, two at least: `52.407`, `0.25`, `50.50`.
pub(crate) fn mm(v: f64) -> String {
    trimmed(v, 3, 2)
}

/// Diameters and pitches of wire in mm, where a ten-thousandth counts: `0.2769`, `0.254`.
pub(crate) fn wire_mm(v: f64) -> String {
    trimmed(v, 4, 3)
}

/// Whole-ish figures: up to `most` decimals, trailing zeros cut.
pub(crate) fn short(v: f64, most: usize) -> String {
    trimmed(v, most, 0)
}

/// Exactly `decimals` decimals, with a true minus sign.
pub(crate) fn fixed(v: f64, decimals: usize) -> String {
    typeset(format!("{v:.decimals$}"))
}

fn trimmed(v: f64, most: usize, least: usize) -> String {
    let mut s = format!("{v:.most$}");
    trim(&mut s, least);
    typeset(s)
}

fn trim(s: &mut String, least: usize) {
    let Some(dot) = s.find('.') else { return };
    while s.ends_with('0') && s.len() > dot + 1 + least {
        s.pop();
    }
    if s.ends_with('.') {
        s.pop();
    }
}

fn typeset(s: String) -> String {
    let zero = s.chars().all(|c| matches!(c, '-' | '0' | '.'));
    match s.strip_prefix('-') {
        Some(rest) if zero => rest.to_string(),
        Some(rest) => format!("−{rest}"),
        None => s,
    }
}

/// A value with its standard uncertainty (k = 1), in one unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty, not negative; 0 where none is known.
    pub u: f64,
}

impl Figure {
    /// `5.80 ± 0.07 Ω`: both to the decimals that give `u` two digits (at most `most` decimals).
    pub(crate) fn with_unit(self, unit: &str, most: usize) -> String {
        let decimals = if self.u > 0.0 && self.u.is_finite() {
            let lead = libm::floor(libm::log10(self.u));
            (1.0 - lead).clamp(0.0, most as f64) as usize
        } else {
            most
        };
        if self.u > 0.0 {
            format!("{} ± {} {unit}", fixed(self.value, decimals), fixed(self.u, decimals))
        } else {
            format!("{} {unit}", fixed(self.value, decimals))
        }
    }

    pub(crate) fn is_sound(self) -> bool {
        self.value.is_finite() && self.u.is_finite() && self.u >= 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn millimetres_keep_two_decimals_and_show_a_third_only_if_it_says_something() {
        assert_eq!(mm(50.5), "50.50");
        assert_eq!(mm(52.4071), "52.407");
        assert_eq!(mm(-0.0731), "−0.073");
        assert_eq!(mm(-0.0001), "0.00");
        assert_eq!(short(8.0, 2), "8");
        assert_eq!(plain(-0.00001), "0");
    }

    #[test]
    fn a_figure_shows_two_digits_of_its_uncertainty() {
        assert_eq!(Figure { value: 5.7987, u: 0.0712 }.with_unit("Ω", 3), "5.799 ± 0.071 Ω");
        assert_eq!(Figure { value: 12.62, u: 0.21 }.with_unit("m", 2), "12.62 ± 0.21 m");
        assert_eq!(Figure { value: 140.2, u: 12.0 }.with_unit("m", 2), "140 ± 12 m");
        assert_eq!(Figure { value: 5.8, u: 0.0 }.with_unit("Ω", 3), "5.800 Ω");
    }
}
