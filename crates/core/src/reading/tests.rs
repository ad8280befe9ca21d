use super::*;
use crate::enough::normal_probability;

const OHM: fn(f64) -> Resistance = Resistance::from_ohm;

fn question(meter: Meter) -> Question {
    Question {
        dcr: Measured::new(OHM(5.80), OHM(0.05)),
        wanted: OHM(5.80),
        tolerance: 0.03,
        conductor: Conductor::Copper,
        temperature: Measured::new(Temperature::from_c(25.0), Temperature::from_c(0.5)),
        test_leads: Measured::new(OHM(0.21), OHM(0.005)),
        meter,
    }
}

fn coarse() -> Meter {
    Meter::Class { share: 0.008, digits: 3.0, resolution: OHM(0.1) }
}

fn compared(reference: f64, share: f64) -> Meter {
    Meter::Comparison { reference: OHM(reference), share, resolution: OHM(0.01), shown: None }
}

fn has(r: &Reading, code: &str) -> bool {
    r.findings.iter().any(|f| f.code == code)
}

/// Copper at 25 °C is 1.01965 of itself at 20 °C. Source: NBS Handbook 100 (1966), α20 0.00393.
#[test]
fn the_reading_is_warm_and_has_the_test_leads_in_it() {
    let r = reading(&question(Meter::HANDHELD));
    assert!((r.expect.value.ohm() - (5.80 * 1.01965 + 0.21)).abs() < 1e-12);
    let u = ((0.05f64 * 1.01965).powi(2) + (5.80f64 * 0.00393 * 0.5).powi(2) + 0.005f64.powi(2)).sqrt();
    assert!((r.expect.u.ohm() - u).abs() < 1e-9, "{}", r.expect.u.ohm());
}

/// The worked number: limits of 3 % narrowed by 1.64 of √(meter² + temperature² + leads²), by hand.
#[test]
fn what_is_accepted_is_narrowed_by_the_doubt_of_the_reading() {
    let r = reading(&question(Meter::HANDHELD));
    let (least, most) = r.accept.expect("it can decide");
    let coil = 5.80 * 1.01965;
    let meter = (0.008 * (coil + 0.21) + 0.03) / 3f64.sqrt();
    let u = (meter.powi(2) + (5.80f64 * 0.00393 * 0.5).powi(2) + 0.005f64.powi(2)).sqrt();
    assert!((r.reading_u.ohm() - u).abs() < 1e-12);
    assert!((least.ohm() - (0.97 * coil + 0.21 + 1.64 * u)).abs() < 1e-12, "{least:?}");
    assert!((most.ohm() - (1.03 * coil + 0.21 - 1.64 * u)).abs() < 1e-12, "{most:?}");
    assert!((least.ohm() - 6.024).abs() < 0.0005 && (most.ohm() - 6.224).abs() < 0.0005, "{least:?} {most:?}");
}

#[test]
fn a_coarse_meter_cannot_decide_and_says_what_can() {
    let says = |q: Question| {
        let r = reading(&q);
        assert_eq!(r.accept, None);
        r.findings.iter().find(|f| f.code == "meter_cannot_decide").expect("told").text.clone()
    };
    assert!(says(question(coarse())).contains("use a meter of 0.8 % + 3 digits at 0.01 Ω a digit"));
    let tight = says(Question { tolerance: 0.012, ..question(Meter::HANDHELD) });
    assert!(tight.contains("5.8 Ω known to 1 %"), "{tight}");
    let hopeless = says(Question { tolerance: 0.002, ..question(Meter::HANDHELD) });
    assert!(hopeless.contains("none of the usual ways can"), "{hopeless}");
}

/// A meter that reads 4 % high at a known resistor reads the coil 4 % high too, and is not believed for that.
#[test]
fn a_resistor_of_known_value_takes_the_meters_scale_out() {
    let shown = Meter::Comparison {
        reference: OHM(5.6),
        share: 0.01,
        resolution: OHM(0.01),
        shown: Some(OHM(5.6 * 1.04 + 0.21)),
    };
    let (with, without) = (reading(&question(shown)), reading(&question(compared(5.6, 0.01))));
    assert!((with.expect.value.ohm() - (5.80 * 1.01965 * 1.04 + 0.21)).abs() < 1e-12);
    assert!((with.wrong_reject - without.wrong_reject).abs() < 0.002, "the verdict is as good as before");
    assert!(!has(&with, "reference_far_off") && has(&reading(&question(compared(22.0, 0.01))), "reference_far_off"));
}

/// A finer meter makes fewer errors of either kind, and a coil that is bad by plan is told from a meter that is.
#[test]
fn a_finer_meter_is_wrong_less_often() {
    let of = |meter| reading(&question(meter));
    let (rough, fine) = (of(Meter::HANDHELD), of(compared(5.8, 0.001)));
    assert!(fine.wrong_reject < 0.5 * rough.wrong_reject, "{} {}", fine.wrong_reject, rough.wrong_reject);
    let off = reading(&Question { dcr: Measured::new(OHM(6.1), OHM(0.05)), ..question(Meter::HANDHELD) });
    assert!(has(&off, "expected_off_target") && !has(&off, "accept_band_narrower_than_coils"));
}

/// The band of acceptance against coil and reading together: normal, so the share outside is known in closed form.
#[test]
fn a_band_narrower_than_the_coils_is_told_with_the_share_outside() {
    let q = Question { dcr: Measured::new(OHM(5.80), OHM(0.08)), ..question(Meter::HANDHELD) };
    let r = reading(&q);
    let told = r.findings.iter().find(|f| f.code == "accept_band_narrower_than_coils").expect("told");
    let half = 0.5 * (r.accept.unwrap().1 - r.accept.unwrap().0).ohm();
    let outside = 2.0 * normal_probability(-half / (0.08f64 * 1.01965).hypot(r.reading_u.ohm()));
    assert!((told.figure.unwrap() - 100.0 * outside).abs() < 1e-6, "{told:?} {outside}");
    let alike = Question { dcr: Measured::new(OHM(5.80), OHM(0.01)), ..question(compared(5.8, 0.001)) };
    assert!(!has(&reading(&alike), "accept_band_narrower_than_coils"));
}
