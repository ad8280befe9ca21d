use super::*;
use crate::coil::lay::Lay;
use crate::coil::spec::{AssumeSpec, Gap, Winding};
use crate::conductor::Conductor;
use crate::former::{FormerMaterial, Particulars};
use crate::quantity::{Density, Length, LinearMass, LinearResistance, Resistivity};
use crate::wire::{Standing, Wire, WireFigures};

fn mm(x: f64) -> Measured<Length> {
    Measured::certain(Length::from_mm(x))
}

/// The 51 mm coil of two layers, with AWG 30 or another wire.
fn coil(bare: f64, overall: f64, ohm: f64, g: f64, metal: bool) -> CoilSpec {
    let wire = Wire::new(WireFigures {
        conductor: Conductor::Copper,
        bare: mm(bare),
        bare_limits: None,
        overall: mm(overall),
        overall_limits: None,
        ohm_per_m: Some(Measured::certain(LinearResistance::from_ohm_per_m(ohm))),
        ohm_per_m_limits: None,
        g_per_m: Some(Measured::certain(LinearMass::from_g_per_m(g))),
    });
    CoilSpec {
        wire: wire.unwrap(),
        standing: Standing::Inline,
        former: Former {
            material: FormerMaterial {
                density: Measured::certain(Density::from_g_per_cm3(if metal { 2.70 } else { 1.42 })),
                resistivity: metal.then(|| Resistivity::from_ohm_m(2.8e-8)),
                heat_limit: None,
                expansion_per_k: None,
            },
            inside_diameter: mm(51.0),
            wall: mm(0.12),
            height: Some(mm(38.0)),
            slit: Length::from_mm(if metal { 1.0 } else { 0.0 }),
            shims: Length::ZERO,
            particulars: Particulars::default(),
        },
        winding: Winding { layers: 2, width: Some(mm(15.0)), turns_per_layer: None, lay: Lay::default() },
        leads: None,
        tails: None,
        threading: None,
        gap: Some(Gap { pole: None, bore: None, plate: Some(mm(8.0)), min_inner: None, min_outer: None }),
        target: None,
        bench: None,
        hot: None,
        offset: None,
        assume: AssumeSpec::default(),
    }
}

fn awg30(metal: bool) -> CoilSpec {
    coil(0.25400, 0.27686, 0.34026, 0.46312, metal)
}
fn awg31(metal: bool) -> CoilSpec {
    coil(0.22606, 0.24638, 0.42957, 0.36698, metal)
}

const DRIVER: DriverInputs = [
    Some(Input { value: 5.8, u: 0.05 }),
    Some(Input { value: 7.2, u: 0.1 }),
    Some(Input { value: 0.0285, u: 0.0005 }),
    Some(Input { value: 38.0, u: 0.5 }),
    Some(Input { value: 4.1, u: 0.2 }),
    None,
    None,
    Some(Input { value: 0.0214, u: 0.0005 }),
];

/// Two coils of one design from one spool: whatever is common falls out, and the winding's own 0.3 % of resistance stays.
#[test]
fn a_pair_of_one_spool_differs_by_three_in_a_thousand() {
    let (a, b) = (awg30(true), awg30(true));
    let c = compare(&DRIVER, [&a, &b], true).unwrap();
    assert!(c.dcr_change.value.abs() < 1e-12 && c.mass_change.value.abs() < 1e-15);
    assert!((c.dcr_change.u / c.dcr[0].value - ALIKE_U).abs() < 2e-5, "{:?}", c.dcr_change);
    assert!(c.dcr_change.u < 0.25 * c.dcr_change_if_apart, "{} against {}", c.dcr_change.u, c.dcr_change_if_apart);
    assert!(c.change.db_1w.unwrap().u < 0.03);
}

#[test]
fn of_two_spools_the_wires_errors_stay() {
    let (a, b) = (awg30(true), awg30(true));
    let c = compare(&DRIVER, [&a, &b], false).unwrap();
    assert!(c.dcr_change.u > 3.0 * ALIKE_U * c.dcr[0].value, "{:?}", c.dcr_change);
    assert!(c.dcr_change.u < c.dcr_change_if_apart);
}

#[test]
fn a_thinner_wire_in_the_same_width_is_stronger_and_has_more_resistance() {
    let (a, b) = (awg30(true), awg31(true));
    let c = compare(&DRIVER, [&a, &b], false).unwrap();
    // Both overhung: Bl goes by pitch and mean diameter.
    let by_rule = (0.27686 / 0.24638) * (51.26 + 1.9 * 0.24638) / (51.26 + 1.9 * 0.27686);
    assert!((c.bl_ratio.value / by_rule - 1.0).abs() < 1e-12, "{}", c.bl_ratio.value);
    assert!(c.re_ratio.value > 1.4 && c.mass_change.value < 0.0 && c.change.fs.unwrap().value > 0.0);
    assert_eq!(c.exchange, Exchange::None);
    assert!(c.former_counted);
}

#[test]
fn film_in_place_of_foil_takes_its_damping_away() {
    let (a, b) = (awg30(true), awg30(false));
    let c = compare(&DRIVER, [&a, &b], true).unwrap();
    let told = |code: &str| c.findings.iter().any(|f| f.code == code);
    assert!(matches!(c.exchange, Exchange::Contradiction { .. } | Exchange::Balanced { .. }));
    assert!(told("former_damping_contradicts") || told("former_damping_exchanged"));
    // Without Bl only the direction.
    let mut no_bl = DRIVER;
    no_bl[1] = None;
    let c = compare(&no_bl, [&a, &b], true).unwrap();
    assert_eq!(c.exchange, Exchange::Direction(false));
    assert!(c.findings.iter().any(|f| f.code == "former_damping_direction" && f.text.contains("rises")));
}

#[test]
fn a_driver_that_moves_less_than_its_coil_is_refused() {
    let mut light = DRIVER;
    light[2] = Some(Input::certain(0.004));
    let (a, b) = (awg30(true), awg31(true));
    assert!(matches!(compare(&light, [&a, &b], false), Err(Incomparable::TooLight { .. })));
}

#[test]
fn an_original_that_cannot_be_the_drivers_is_told() {
    let mut other = DRIVER;
    other[0] = Some(Input::certain(3.2));
    let (a, b) = (awg30(true), awg31(true));
    let c = compare(&other, [&a, &b], false).unwrap();
    assert!(c.findings.iter().any(|f| f.code == "original_not_as_described"), "{:?}", c.findings);
    // The ratio of the two still goes upon the driver's own resistance.
    assert!((c.substitute.re.value / 3.2 - c.dcr[1].value / c.dcr[0].value).abs() < 1e-12);
}

#[test]
fn the_sentence_speaks_of_what_is_heard() {
    let (a, b) = (awg30(true), awg30(true));
    let same = compare(&DRIVER, [&a, &b], true).unwrap();
    assert!(
        sentence(&same, Some(8.0)).starts_with("Nobody will hear the difference"),
        "{}",
        sentence(&same, Some(8.0))
    );
    let c = awg31(true);
    let thinner = compare(&DRIVER, [&a, &c], false).unwrap();
    let text = sentence(&thinner, Some(8.0));
    assert!(text.contains("the load changed") && text.contains("Qts"), "{text}");
    let nothing = compare(&[None; 8], [&a, &c], false).unwrap();
    assert!(sentence(&nothing, None).contains("without the moving mass"), "{}", sentence(&nothing, None));
}
