//! Written quantities as a workshop's people write them: accepted, refused, carried through and thrown at random.

use super::*;
use crate::quantity::{LinearMass, LinearResistance, Mass, Quantity};

/// SplitMix64: enough randomness for tests, repeatable from its seed.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// A positive number of any size a workshop meets, with up to `decimals` digits after the point.
    fn number(&mut self, decimals: u32) -> f64 {
        let scale = 10u64.pow(self.below(decimals as usize + 1) as u32);
        (self.next() % 10_000_000) as f64 / scale as f64
    }
}

const KINDS: [Kind; 10] = [
    Kind::Length,
    Kind::Mass,
    Kind::Resistance,
    Kind::Temperature,
    Kind::Ratio,
    Kind::Duration,
    Kind::LinearResistance,
    Kind::LinearMass,
    Kind::Force,
    Kind::Inductance,
];

#[track_caller]
fn is(text: &str, kind: Kind, si: f64) {
    let typed = parse(text, kind).unwrap_or_else(|why| panic!("{text}: {why}"));
    assert!((typed.si - si).abs() <= 4.0 * f64::EPSILON * si.abs(), "{text}: {} against {si}", typed.si);
}

#[track_caller]
fn refused(text: &str, kind: Kind, sentence: &str) {
    assert_eq!(parse(text, kind).unwrap_err().to_string(), sentence);
}

#[test]
fn lengths_are_read() {
    for text in
        ["0.25 mm", "0,25mm", " 0.25\u{a0}mm ", "250 µm", "250 μm", "250um", "2.5e-4 m", "0.025\u{202f}cm", "0.25 MM"]
    {
        is(text, Kind::Length, 0.25e-3);
    }
    for text in ["2 in", "2\"", "2 ″", "2 inches", "2 in.", "2000 mil", "2000 thou", "5.08 cm"] {
        is(text, Kind::Length, 50.8e-3);
    }
    is("1 1/2 in", Kind::Length, 38.1e-3);
    is("1½ in", Kind::Length, 38.1e-3);
    is("1000 ft", Kind::Length, 304.8);
    is("\u{2212}0.05 mm", Kind::Length, -0.05e-3);
}

#[test]
fn masses_are_read() {
    is("412.6 g", Kind::Mass, 0.4126);
    is("1.234,5 g", Kind::Mass, 1.2345);
    is("1,234.5 g", Kind::Mass, 1.2345);
    is("1 234 g", Kind::Mass, 1.234);
    is("1/4 lb", Kind::Mass, 0.113_398_092_5);
    is("¼ lb", Kind::Mass, 0.113_398_092_5);
    is("16 oz", Kind::Mass, 0.453_592_37);
    is("500 mg", Kind::Mass, 0.5e-3);
    is("1 LB", Kind::Mass, 0.453_592_37);
}

#[test]
fn the_other_kinds_are_read() {
    for text in ["6,2 \u{3a9}", "6.2\u{2126}", "6.2 ohm", "6200 mΩ", "0.0062 kohm", "6.2 OHM"] {
        is(text, Kind::Resistance, 6.2);
    }
    for text in ["23 °C", "23C", "23 ℃", "23 degC", "23 º C", "73.4 °F", "73.4 deg F"] {
        is(text, Kind::Temperature, 23.0);
    }
    is("-40 °F", Kind::Temperature, -40.0);
    is("3 %", Kind::Ratio, 0.03);
    is("90 min", Kind::Duration, 5400.0);
    is("1,5 h", Kind::Duration, 5400.0);
    is("2 days", Kind::Duration, 172_800.0);
    for text in ["0.34026 ohm/m", "340.26 Ω/km", "340.26 ohm / km", "103.711248 ohm/1000ft", "103.711248 Ω/1000 ft"] {
        is(text, Kind::LinearResistance, 0.34026);
    }
    is("0.46312 kg/km", Kind::LinearMass, 0.46312e-3);
    is("1 lb/1000ft", Kind::LinearMass, 0.453_592_37 / 304.8);
    is("233 gf", Kind::Force, 2.284_949_45);
    is("378.9 µH", Kind::Inductance, 378.9e-6);
}

#[test]
fn a_wire_gauge_is_a_bare_diameter() {
    for text in ["36 AWG", "AWG 36", "awg36", "36awg", "AWG #36"] {
        is(text, Kind::Length, 0.127e-3);
    }
    is("4/0 AWG", Kind::Length, 11.684e-3);
    let typed = parse("30 AWG", Kind::Length).unwrap();
    assert_eq!((typed.number, typed.unit, typed.resolution), (30.0, "AWG", 0.0));
    refused("30 AWG", Kind::Mass, "30 AWG is a length; a mass is wanted");
    refused("99 AWG", Kind::Length, "`99 AWG` is no wire size; write one from 4/0 AWG to 56 AWG");
}

#[test]
fn the_last_digit_written_is_kept() {
    for (text, kg) in [("412.60 g", 0.01e-3), ("0,4126 kg", 1e-4), ("412 g", 1e-3), ("1/4 lb", 0.453_592_37 / 4.0)] {
        let resolution = parse(text, Kind::Mass).unwrap().resolution;
        assert!((resolution - kg).abs() < 1e-15, "{text}: {resolution}");
    }
    assert!((parse("73.4 °F", Kind::Temperature).unwrap().resolution - 0.1 / 1.8).abs() < 1e-15);
}

/// The same quantity in text and as a bare number must give the same digest of what was asked.
#[test]
fn text_and_bare_number_are_the_same_to_the_last_bit() {
    let seed = 0x5eed_0001;
    let mut dice = Dice(seed);
    for _ in 0..10_000 {
        let n = dice.number(6);
        let si = |unit: &str, kind| parse(&format!("{n} {unit}"), kind).unwrap().si;
        assert_eq!(si("g", Kind::Mass), Mass::from_g(n).si(), "seed {seed:#x}: {n}");
        assert_eq!(si("mm", Kind::Length), crate::quantity::Length::from_mm(n).si(), "seed {seed:#x}: {n}");
        assert_eq!(si("g/m", Kind::LinearMass), LinearMass::from_g_per_m(n).si(), "seed {seed:#x}: {n}");
        assert_eq!(
            si("ohm/m", Kind::LinearResistance),
            LinearResistance::from_ohm_per_m(n).si(),
            "seed {seed:#x}: {n}"
        );
    }
}

#[test]
fn a_comma_before_three_digits_is_refused_with_both_readings() {
    refused("1,234 g", Kind::Mass, "`1,234 g` can be read as 1.234 g or as 1234 g; write the one that is meant");
    refused(
        "-12,500ohm",
        Kind::Resistance,
        "`-12,500ohm` can be read as -12.500 ohm or as -12500 ohm; write the one that is meant",
    );
}

#[test]
fn the_wrong_kind_is_named_in_words() {
    refused("3 in", Kind::Mass, "3 in is a length; a mass is wanted");
    refused("5 m", Kind::Duration, "5 m is a length; a duration is wanted");
    refused("0.34 ohm", Kind::LinearResistance, "0.34 ohm is a resistance; a resistance per length is wanted");
    refused("290 K", Kind::Temperature, "290 K may be a difference of temperatures; write a temperature in °C or °F");
}

#[test]
fn what_is_missing_is_said_with_an_example() {
    refused("  ", Kind::Mass, "nothing is written; a mass is wanted, for example 412.6 g");
    refused("412", Kind::Mass, "`412` has no unit; write a mass like 412.6 g (units: g, mg, kg, lb, oz)");
    for text in ["g", "nan g", "inf g", "-g", "٣ g"] {
        assert!(matches!(parse(text, Kind::Mass), Err(NotUnderstood::NoNumber { .. })), "{text}");
    }
    refused("1,2,3 g", Kind::Mass, "`1,2,3` is not a number; write it like 1234.5, 0,25, 1 1/2 or 1e-3");
    refused("1/0 lb", Kind::Mass, "`1/0 lb` divides by zero");
    refused("1e400 g", Kind::Mass, "`1e400 g` is too large to be a number here");
    refused("1e308 km", Kind::Length, "`1e308 km` is too large to be a number here");
    refused(&"9".repeat(65), Kind::Mass, "longer than 64 characters; write one number with its unit");
}

#[test]
fn an_unknown_unit_names_the_nearest() {
    let nearest = |text, kind| match parse(text, kind) {
        Err(NotUnderstood::UnknownUnit { nearest, .. }) => nearest,
        other => panic!("{text}: {other:?}"),
    };
    assert_eq!(nearest("3 stone", Kind::Mass), None);
    assert_eq!(nearest("3 kgs", Kind::Mass), Some("kg"));
    assert_eq!(nearest("3 ounzes", Kind::Mass), Some("oz"));
    assert_eq!(nearest("3 mmm", Kind::Length), Some("mm"));
    assert_eq!(nearest("3 om", Kind::Resistance), Some("ohm"));
    assert_eq!(nearest("5 m m", Kind::Length), Some("mm"));
    refused("3 kgs", Kind::Mass, "`kgs` is no unit known here (perhaps kg); a mass takes g, mg, kg, lb, oz");
    assert_eq!(parse("3 x", Kind::Mass).unwrap_err().allowed(), ["g", "mg", "kg", "lb", "oz"]);
}

#[test]
fn control_characters_do_not_reach_the_message() {
    let why = parse("3 g\u{1b}[31m", Kind::Mass).unwrap_err().to_string();
    assert!(!why.contains(|c: char| c.is_control()), "{why:?}");
}

#[test]
fn every_unit_reads_back_what_was_written_in_it() {
    let seed = 0x5eed_0002;
    let mut dice = Dice(seed);
    for kind in KINDS {
        for unit in kind.units().filter(|&unit| unit != "AWG") {
            let worth_of_one =
                parse(&format!("1 {unit}"), kind).unwrap().si - parse(&format!("0 {unit}"), kind).unwrap().si;
            for _ in 0..500 {
                let n = dice.number(6);
                let point = n.to_string();
                let typed = parse(&format!("{point} {unit}"), kind).unwrap();
                assert_eq!((typed.number, typed.unit, typed.kind), (n, unit, kind), "seed {seed:#x}: {point} {unit}");
                let zero = parse(&format!("0 {unit}"), kind).unwrap().si;
                let expected = n * worth_of_one + zero;
                assert!(
                    (typed.si - expected).abs() <= 1e-12 * expected.abs().max(1e-6),
                    "seed {seed:#x}: {point} {unit}"
                );

                let power = parse(&format!("{n:e}{unit}"), kind).unwrap();
                assert_eq!(power.si, typed.si, "seed {seed:#x}: {n:e}{unit}");

                // With a decimal comma: the same, or refused as ambiguous, never another number.
                match parse(&format!("{} {unit}", point.replace('.', ",")), kind) {
                    Ok(comma) => assert_eq!(comma, typed, "seed {seed:#x}: {point} {unit}"),
                    Err(why) => assert!(matches!(why, NotUnderstood::Ambiguous { .. }), "seed {seed:#x}: {why}"),
                }
            }
        }
    }
}

#[test]
fn thousands_set_apart_change_nothing() {
    let seed = 0x5eed_0003;
    let mut dice = Dice(seed);
    for _ in 0..5_000 {
        let (millions, thousands, units, part) =
            (1 + dice.below(999), dice.below(1000), dice.below(1000), dice.below(100));
        let plain = parse(&format!("{millions}{thousands:03}{units:03}.{part:02} g"), Kind::Mass).unwrap();
        for (group, point) in
            [(",", "."), (".", ","), (" ", "."), (" ", ","), ("'", "."), ("\u{202f}", ","), ("’", ",")]
        {
            let text = format!("{millions}{group}{thousands:03}{group}{units:03}{point}{part:02} g");
            assert_eq!(parse(&text, Kind::Mass), Ok(plain), "seed {seed:#x}: {text}");
        }
    }
}

/// 100 000 texts: pieces that matter to the grammar and any character at all, up to well over the longest read.
#[test]
fn no_text_breaks_it() {
    const PIECES: [&str; 44] = [
        "0", "1", "9", "12", "234", "1000", ".", ",", "'", "’", " ", "\u{a0}", "/", "+", "-", "\u{2212}", "e", "E",
        "e-3", "e99", "AWG", "awg", "#", "mm", "m", "µ", "Ω", "ohm", "/m", "/1000ft", "g", "lb", "°", "C", "F", "K",
        "%", "\"", "½", "⁄", "in.", "\0", "é", "𝟗",
    ];
    let seed = 0x5eed_0004;
    let mut dice = Dice(seed);
    let (mut understood, mut refused) = (0, 0);
    for _ in 0..100_000 {
        let kind = KINDS[dice.below(KINDS.len())];
        // One in four is something sensible, most often spoilt in one place.
        let mut text = String::new();
        let most = if dice.below(50) == 0 { 80 } else { 7 };
        let mut pieces = dice.below(most);
        if dice.below(4) == 0 {
            let unit = kind.units().nth(dice.below(kind.units().count())).unwrap();
            text = format!("{} {unit}", dice.number(6));
            pieces = dice.below(3);
        }
        for _ in 0..pieces {
            let places: Vec<usize> = text.char_indices().map(|(at, _)| at).chain([text.len()]).collect();
            let at = places[dice.below(places.len())];
            match dice.below(20) {
                0 => text.insert(at, char::from_u32((dice.next() % 0x11_0000) as u32).unwrap_or('\u{fffd}')),
                1 => text.insert(at, (dice.below(256) as u8) as char),
                _ => text.insert_str(at, PIECES[dice.below(PIECES.len())]),
            }
        }
        match parse(&text, kind) {
            Ok(typed) => {
                understood += 1;
                assert_eq!(typed.kind, kind, "seed {seed:#x}: {text:?}");
                assert!(typed.si.is_finite() && typed.number.is_finite(), "seed {seed:#x}: {text:?}");
                assert!(typed.resolution.is_finite() && typed.resolution >= 0.0, "seed {seed:#x}: {text:?}");
            }
            Err(why) => {
                refused += 1;
                assert!(!why.to_string().is_empty(), "seed {seed:#x}: {text:?}");
            }
        }
    }
    assert!(understood > 5_000 && refused > 50_000, "seed {seed:#x}: {understood} understood, {refused} refused");
}

#[test]
fn any_figure_can_be_shown() {
    let seed = 0x5eed_0005;
    let mut dice = Dice(seed);
    for _ in 0..20_000 {
        let (value, u) = (f64::from_bits(dice.next()), f64::from_bits(dice.next()));
        let text = shown(value, u);
        assert!(!text.is_empty() && text.len() < 60, "seed {seed:#x}: {value:e} {u:e} {text}");
    }
}
