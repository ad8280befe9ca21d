//! The units a workshop writes, each with its kind and its factor to SI by definition.

/// What a written quantity can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// In metres.
    Length,
    /// In kilograms.
    Mass,
    /// In ohms.
    Resistance,
    /// In degrees Celsius.
    Temperature,
    /// A share of one: 3 % is 0.03.
    Ratio,
    /// In seconds.
    Duration,
    /// Resistance of a length, in ohms per metre.
    LinearResistance,
    /// Mass of a length, in kilograms per metre.
    LinearMass,
    /// In newtons.
    Force,
    /// In henries.
    Inductance,
    /// In hertz.
    Frequency,
    /// Force per current, in tesla metres.
    ForceFactor,
    /// In square metres.
    Area,
}

impl Kind {
    /// The kind in a sentence, with its article.
    pub fn in_words(self) -> &'static str {
        match self {
            Kind::Length => "a length",
            Kind::Mass => "a mass",
            Kind::Resistance => "a resistance",
            Kind::Temperature => "a temperature",
            Kind::Ratio => "a ratio",
            Kind::Duration => "a duration",
            Kind::LinearResistance => "a resistance per length",
            Kind::LinearMass => "a mass per length",
            Kind::Force => "a force",
            Kind::Inductance => "an inductance",
            Kind::Frequency => "a frequency",
            Kind::ForceFactor => "a force per current",
            Kind::Area => "an area",
        }
    }

    /// One quantity of this kind as it may be written.
    pub fn example(self) -> &'static str {
        match self {
            Kind::Length => "0.25 mm",
            Kind::Mass => "412.6 g",
            Kind::Resistance => "6.2 ohm",
            Kind::Temperature => "23 °C",
            Kind::Ratio => "3 %",
            Kind::Duration => "20 min",
            Kind::LinearResistance => "0.34 ohm/m",
            Kind::LinearMass => "0.463 g/m",
            Kind::Force => "2.3 N",
            Kind::Inductance => "380 uH",
            Kind::Frequency => "38 Hz",
            Kind::ForceFactor => "7.2 T·m",
            Kind::Area => "214 cm2",
        }
    }

    /// The units of this kind, in their plain spelling.
    pub fn units(self) -> impl Iterator<Item = &'static str> {
        UNITS.iter().filter(move |unit| unit.kind == self).map(|unit| unit.name).chain(
            // A gauge is no factor, but it is a way to write a length.
            (self == Kind::Length).then_some("AWG"),
        )
    }
}

/// A unit: `si = (number − zero) · factor`.
#[derive(Debug, PartialEq)]
pub(super) struct Unit {
    pub name: &'static str,
    pub kind: Kind,
    pub factor: f64,
    pub zero: f64,
    also: &'static [&'static str],
}

const fn unit(name: &'static str, kind: Kind, factor: f64, also: &'static [&'static str]) -> Unit {
    Unit { name, kind, factor, zero: 0.0, also }
}

/// Metres in a foot, exact; kilograms in a pound, exact: international yard and pound agreement of 1959 (Federal
/// Register 59-5442, 1 July 1959). An inch is a twelfth of the foot, 25.4 mm exactly; an ounce a sixteenth of the pound.
const FOOT: f64 = 0.3048;
const POUND: f64 = 0.453_592_37;

/// Newtons in a gram-force: the standard acceleration of free fall, 9.806 65 m/s² exactly (3rd CGPM, 1901), times 1 g.
const GRAM_FORCE: f64 = 9.806_65e-3;

/// Spellings are those left after look-alike characters were brought together: Ω is `ohm`, µ is `u`, ″ is `"`.
static UNITS: [Unit; 49] = [
    unit("mm", Kind::Length, 1e-3, &["millimetre", "millimetres", "millimeter", "millimeters"]),
    unit("um", Kind::Length, 1e-6, &["micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers"]),
    unit("cm", Kind::Length, 1e-2, &["centimetre", "centimetres", "centimeter", "centimeters"]),
    unit("m", Kind::Length, 1.0, &["metre", "metres", "meter", "meters"]),
    unit("km", Kind::Length, 1e3, &[]),
    unit("in", Kind::Length, 0.0254, &["\"", "inch", "inches"]),
    unit("mil", Kind::Length, 25.4e-6, &["mils", "thou"]),
    unit("ft", Kind::Length, FOOT, &["foot", "feet"]),
    unit("g", Kind::Mass, 1e-3, &["gram", "grams", "gramme", "grammes"]),
    unit("mg", Kind::Mass, 1e-6, &["milligram", "milligrams"]),
    unit("kg", Kind::Mass, 1.0, &["kilogram", "kilograms", "kilo", "kilos"]),
    unit("lb", Kind::Mass, POUND, &["lbs", "pound", "pounds"]),
    unit("oz", Kind::Mass, POUND / 16.0, &["ounce", "ounces"]),
    unit("ohm", Kind::Resistance, 1.0, &["ohms"]),
    unit("mohm", Kind::Resistance, 1e-3, &["mohms", "milliohm", "milliohms"]),
    unit("kohm", Kind::Resistance, 1e3, &["kohms", "kiloohm", "kiloohms"]),
    // Insulation is measured in it, and without it `Mohm` would be taken for a slip of the shift key in `mohm`.
    unit("Mohm", Kind::Resistance, 1e6, &["Mohms", "megohm", "megohms"]),
    unit("°C", Kind::Temperature, 1.0, &["degC", "deg C", "C", "celsius"]),
    Unit {
        name: "°F",
        kind: Kind::Temperature,
        factor: 5.0 / 9.0,
        zero: 32.0,
        also: &["degF", "deg F", "F", "fahrenheit"],
    },
    unit("%", Kind::Ratio, 1e-2, &["percent", "per cent", "pct"]),
    unit("s", Kind::Duration, 1.0, &["sec", "secs", "second", "seconds"]),
    unit("min", Kind::Duration, 60.0, &["mins", "minute", "minutes"]),
    unit("h", Kind::Duration, 3600.0, &["hr", "hrs", "hour", "hours"]),
    unit("d", Kind::Duration, 86_400.0, &["day", "days"]),
    unit("ohm/m", Kind::LinearResistance, 1.0, &["ohms/m"]),
    unit("mohm/m", Kind::LinearResistance, 1e-3, &[]),
    unit("ohm/km", Kind::LinearResistance, 1e-3, &["ohms/km"]),
    unit("ohm/ft", Kind::LinearResistance, 1.0 / FOOT, &["ohms/ft"]),
    unit("ohm/1000ft", Kind::LinearResistance, 1.0 / (1000.0 * FOOT), &["ohms/1000ft", "ohm/kft", "ohms/kft"]),
    unit("g/m", Kind::LinearMass, 1e-3, &[]),
    unit("mg/m", Kind::LinearMass, 1e-6, &[]),
    unit("kg/m", Kind::LinearMass, 1.0, &[]),
    unit("kg/km", Kind::LinearMass, 1e-3, &[]),
    unit("g/km", Kind::LinearMass, 1e-6, &[]),
    unit("lb/1000ft", Kind::LinearMass, POUND / (1000.0 * FOOT), &["lbs/1000ft", "lb/kft", "lbs/kft"]),
    unit("N", Kind::Force, 1.0, &["newton", "newtons"]),
    unit("cN", Kind::Force, 1e-2, &[]),
    unit("mN", Kind::Force, 1e-3, &[]),
    unit("gf", Kind::Force, GRAM_FORCE, &[]),
    unit("H", Kind::Inductance, 1.0, &["henry", "henries"]),
    unit("mH", Kind::Inductance, 1e-3, &[]),
    unit("uH", Kind::Inductance, 1e-6, &[]),
    unit("Hz", Kind::Frequency, 1.0, &["hertz"]),
    unit("kHz", Kind::Frequency, 1e3, &["kilohertz"]),
    unit("T·m", Kind::ForceFactor, 1.0, &["Tm", "T m"]),
    unit("N/A", Kind::ForceFactor, 1.0, &[]),
    unit("cm2", Kind::Area, 1e-4, &["cm²", "cm^2"]),
    unit("mm2", Kind::Area, 1e-6, &["mm²", "mm^2"]),
    unit("m2", Kind::Area, 1.0, &["m²", "m^2"]),
];

impl Unit {
    fn spellings(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.name).chain(self.also.iter().copied())
    }
}

/// The unit that a text spells.
///
/// Upper and lower case are told apart where that is all that parts two units (`mohm`, `Mohm`; `h`, `H`), else `MM`,
/// `Kg` and `kOhm` are taken; a single letter must be right.
pub(super) fn find(text: &str) -> Option<&'static Unit> {
    let text = tight(text);
    let spelled = |same: &dyn Fn(&str) -> bool| UNITS.iter().filter(|u| u.spellings().any(same)).collect::<Vec<_>>();
    if let [unit, ..] = spelled(&|s| s == text).as_slice() {
        return Some(unit);
    }
    if text.len() < 2 {
        return None;
    }
    match spelled(&|s| s.eq_ignore_ascii_case(&text)).as_slice() {
        [unit] => Some(unit),
        several => {
            // `mOhm` keeps the letter that matters; `MOHM` may be either.
            let shouted = !text.contains(|c: char| c.is_ascii_lowercase());
            let mut first_letter_right = several.iter().filter(|u| u.name.chars().next() == text.chars().next());
            match (shouted, first_letter_right.next(), first_letter_right.next()) {
                (false, Some(unit), None) => Some(unit),
                _ => None,
            }
        }
    }
}

/// The unit of the wanted kind whose spelling is nearest to a text that spells none, if it is near enough to be meant.
pub(super) fn nearest(text: &str, kind: Kind) -> Option<&'static str> {
    let lower = tight(text).to_lowercase();
    let length = lower.chars().count();
    let spellings = UNITS.iter().filter(|unit| unit.kind == kind).flat_map(|u| u.spellings().map(move |s| (u.name, s)));
    spellings
        .map(|(name, spelling)| (distance(&lower, &spelling.to_lowercase()), name))
        .min_by_key(|&(steps, _)| steps)
        .filter(|&(steps, _)| steps < length && steps <= if length <= 4 { 1 } else { 2 })
        .map(|(_, name)| name)
}

/// Without spaces around a stroke, a degree sign or a thousand, and without the point of an abbreviation (`in.`).
fn tight(text: &str) -> String {
    let mut tight = text.to_owned();
    for (loose, close) in [(" /", "/"), ("/ ", "/"), ("° ", "°"), ("1000 ft", "1000ft")] {
        tight = tight.replace(loose, close);
    }
    match tight.strip_suffix('.') {
        Some(word) if word.ends_with(|c: char| c.is_ascii_alphabetic()) => word.to_owned(),
        _ => tight,
    }
}

/// Letters to insert, drop, change or swap with their neighbour to turn one word into the other (optimal string
/// alignment).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    let mut previous_letter = None;
    for (i, x) in a.chars().enumerate() {
        let mut row = vec![i + 1];
        for (j, &y) in b.iter().enumerate() {
            let mut steps = (last[j] + usize::from(x != y)).min(last[j + 1] + 1).min(row[j] + 1);
            if j > 0 && Some(y) == previous_letter && x == b[j - 1] {
                steps = steps.min(before_last[j - 1] + 1);
            }
            row.push(steps);
        }
        before_last = std::mem::replace(&mut last, row);
        previous_letter = Some(x);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_units_share_a_spelling() {
        let mut spellings: Vec<&str> = UNITS.iter().flat_map(Unit::spellings).collect();
        spellings.sort_unstable();
        assert!(spellings.windows(2).all(|pair| pair[0] != pair[1]));
    }

    #[test]
    fn every_example_is_written_in_a_unit_of_its_kind() {
        for unit in &UNITS {
            let (_, example) = unit.kind.example().split_once(' ').unwrap();
            assert_eq!(find(example).map(|found| found.kind), Some(unit.kind));
        }
    }

    #[test]
    fn case_is_forgiven_only_where_one_unit_is_meant() {
        let name = |text| find(text).map(|unit| unit.name);
        assert_eq!((name("MM"), name("Kg"), name("kOhm")), (Some("mm"), Some("kg"), Some("kohm")));
        assert_eq!((name("mOhm"), name("MOhm"), name("MOHM")), (Some("mohm"), Some("Mohm"), None));
        assert_eq!((name("h"), name("H"), name("M"), name("G")), (Some("h"), Some("H"), None, None));
    }

    #[test]
    fn distance_counts_single_slips() {
        for (a, b, steps) in [("mm", "mm", 0), ("mn", "mm", 1), ("ohsm", "ohms", 1), ("grm", "gram", 1), ("", "ab", 2)]
        {
            assert_eq!((distance(a, b), distance(b, a)), (steps, steps), "{a} {b}");
        }
    }
}
