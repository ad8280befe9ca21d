//! What was noted before teardown, between the words on the wire and the shop's own: shared by the requests about jobs.

use crate::words;
use coilwright_core::measured::{Input, half_width_to_u, mean_of_three};
use coilwright_proto::error::RpcError;
use coilwright_proto::job::{self as say, Before, MotorFigure};
use coilwright_proto::quantity::{Figure, Mm, Reading, Setting};
use coilwright_shop::fact;
use coilwright_shop::figures::Figures;
use std::collections::BTreeMap;

/// How the coil was connected, as sheets say it: the start lead, the hand of the winding, the polarity of the gap.
pub fn polarity(b: &fact::Before) -> [Option<&'static str>; 3] {
    [
        b.start_lead.map(|l| if l == fact::Lead::Plus { "plus" } else { "minus" }),
        b.hand.map(|h| if h == fact::Hand::Clockwise { "clockwise" } else { "counterclockwise" }),
        b.gap_polarity.map(|g| if g == fact::GapPolarity::PoleNorth { "pole north" } else { "pole south" }),
    ]
}

/// What was noted before teardown, for the journal.
///
/// # Errors
/// A dimension that is none.
pub fn noted(figures: &Figures, b: &Before) -> Result<fact::Before, RpcError> {
    let dimensions = [
        ("pole_mm", &b.pole_mm),
        ("bore_mm", &b.bore_mm),
        ("plate_mm", &b.plate_mm),
        ("former_inside_mm", &b.former_inside_mm),
        ("former_wall_mm", &b.former_wall_mm),
        ("width_mm", &b.width_mm),
    ];
    let mut measured_mm = BTreeMap::new();
    for (name, each) in dimensions {
        let none = |(_, m): &(usize, &Setting<Mm>)| !(1e-3..=1e4).contains(&m.value);
        if let Some((i, met)) = each.iter().flatten().enumerate().find(none) {
            return Err(RpcError::params(
                format!("/before/{name}/{i}"),
                format!("{} mm is no such dimension", met.value),
            )
            .met(met.value)
            .allowed("0.001 to 10000 mm")
            .next("check the number and its unit"));
        }
        if let Some(each) = each.as_ref().filter(|e| !e.is_empty()) {
            measured_mm.insert(name.to_owned(), each.iter().map(|s| s.value).collect());
        }
    }
    Ok(fact::Before {
        measured_mm,
        dcr_ohm: b.dcr_ohm.map(|r| words::uncertain(r, |v| figures.meter.value.reading_u_ohm(v))),
        start_lead: b.start_lead.map(|l| match l {
            say::Lead::Plus => fact::Lead::Plus,
            say::Lead::Minus => fact::Lead::Minus,
        }),
        hand: b.hand.map(|h| match h {
            say::Hand::Clockwise => fact::Hand::Clockwise,
            say::Hand::Counterclockwise => fact::Hand::Counterclockwise,
        }),
        gap_polarity: b.gap_polarity.map(|g| match g {
            say::GapPolarity::PoleNorth => fact::GapPolarity::PoleNorth,
            say::GapPolarity::PoleSouth => fact::GapPolarity::PoleSouth,
        }),
        rest_height_mm: b.rest_height_mm.map(|s| s.value),
        free_fall: b.free_fall,
        photo: b.photo.clone().unwrap_or_default(),
        note: b.note.clone().unwrap_or_default(),
    })
}

/// The dimensions noted before teardown, each as one figure. Three readings: their mean, GUM-style; fewer or more: the
/// mean with a calliper's own doubt.
pub fn motor(b: &fact::Before) -> Vec<MotorFigure> {
    let one = |(name, each): (&String, &Vec<f64>)| {
        let figure = match each.as_slice() {
            [a, b, c] => mean_of_three([*a, *b, *c], CALLIPER_STEP_MM, CALLIPER_LIMIT_MM),
            _ => Input { value: each.iter().sum::<f64>() / each.len() as f64, u: half_width_to_u(CALLIPER_LIMIT_MM) },
        };
        MotorFigure { name: name.clone(), times: each.len(), mm: Figure::of(figure.value, figure.u) }
    };
    b.measured_mm.iter().map(one).collect()
}

/// A calliper's step and limit: common practice, no source.
const CALLIPER_STEP_MM: f64 = 0.01;
const CALLIPER_LIMIT_MM: f64 = 0.03;

/// The same on the wire.
pub fn in_words(b: &fact::Before) -> Before {
    let text = |t: &String| (!t.is_empty()).then(|| t.clone());
    let mm = |name: &str| Some(b.measured_mm.get(name)?.iter().map(|m| Setting::of(*m)).collect());
    Before {
        start_lead: b.start_lead.map(|l| match l {
            fact::Lead::Plus => say::Lead::Plus,
            fact::Lead::Minus => say::Lead::Minus,
        }),
        hand: b.hand.map(|h| match h {
            fact::Hand::Clockwise => say::Hand::Clockwise,
            fact::Hand::Counterclockwise => say::Hand::Counterclockwise,
        }),
        gap_polarity: b.gap_polarity.map(|g| match g {
            fact::GapPolarity::PoleNorth => say::GapPolarity::PoleNorth,
            fact::GapPolarity::PoleSouth => say::GapPolarity::PoleSouth,
        }),
        rest_height_mm: b.rest_height_mm.map(Setting::of),
        free_fall: b.free_fall,
        dcr_ohm: b.dcr_ohm.map(|r| Reading::known(r.value, r.u)),
        pole_mm: mm("pole_mm"),
        bore_mm: mm("bore_mm"),
        plate_mm: mm("plate_mm"),
        former_inside_mm: mm("former_inside_mm"),
        former_wall_mm: mm("former_wall_mm"),
        width_mm: mm("width_mm"),
        photo: text(&b.photo),
        note: text(&b.note),
    }
}
