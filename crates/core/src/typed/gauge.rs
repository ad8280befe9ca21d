//! American wire gauge sizes as they are written.

/// What stands beside the letters `AWG` in a text, or nothing if they are not there.
pub(super) fn size_text(text: &str) -> Option<&str> {
    let (head, tail) = (text.get(..3), text.len().checked_sub(3).and_then(|at| text.get(at..)));
    if head.is_some_and(|head| head.eq_ignore_ascii_case("awg")) {
        text.get(3..).map(str::trim)
    } else if tail.is_some_and(|tail| tail.eq_ignore_ascii_case("awg")) {
        text.get(..text.len() - 3).map(str::trim)
    } else {
        None
    }
}

/// The size as a number: `30`, `#30`, `30.5`, `30 1/2`, `00`, `2/0`. From 4/0 to 56, the sizes that ASTM B258 lists
/// (the ends of the range from memory).
pub(super) fn size(text: &str) -> Option<f64> {
    let text = text.strip_prefix('#').unwrap_or(text).trim_start();
    let n = match text {
        "1/0" => 0.0,
        "00" | "2/0" => -1.0,
        "000" | "3/0" => -2.0,
        "0000" | "4/0" => -3.0,
        _ => super::number::read(text).ok().map(|read| read.value).filter(|&n| n >= 0.0)?,
    };
    (n <= 56.0).then_some(n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::awg_diameter;

    #[test]
    fn sizes_are_read_as_they_are_written() {
        for (text, n) in
            [("30", 30.0), ("#30", 30.0), ("30.5", 30.5), ("30,5", 30.5), ("30 1/2", 30.5), ("0", 0.0), ("1/0", 0.0)]
        {
            assert_eq!(size(text), Some(n), "{text}");
        }
        assert_eq!((size("00"), size("3/0"), size("0000")), (Some(-1.0), Some(-2.0), Some(-3.0)));
        assert_eq!((size("57"), size("-1"), size("5/0"), size("thin"), size("")), (None, None, None, None, None));
    }

    /// Diameters in mil of NBS Handbook 100 (1966), Table 5, sizes 16 to 40: printed to 0.1 mil, so that the formula must
    /// lie within half of that.
    #[test]
    fn formula_agrees_with_the_printed_table() {
        let printed_mil = [
            50.8, 45.3, 40.3, 35.9, 32.0, 28.5, 25.3, 22.6, 20.1, 17.9, 15.9, 14.2, 12.6, 11.3, 10.0, 8.9, 8.0, 7.1,
            6.3, 5.6, 5.0, 4.5, 4.0, 3.5, 3.1,
        ];
        for (n, printed) in (16..=40).zip(printed_mil) {
            let mil = awg_diameter(f64::from(n)).mm() / 0.0254;
            assert!((mil - printed).abs() <= 0.05 + 1e-9, "AWG {n}: {mil} against {printed}");
        }
    }

    /// The progression is defined by its ends: 4/0 is 460 mil, 36 is 5 mil (ASTM B258).
    #[test]
    fn the_two_defining_sizes_are_met() {
        assert!((awg_diameter(-3.0).mm() / 0.0254 - 460.0).abs() < 1e-9);
        assert!((awg_diameter(36.0).mm() / 0.0254 - 5.0).abs() < 1e-12);
    }
}
