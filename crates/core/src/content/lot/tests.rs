//! What one spool tells another: against a joint fit of both, and laws.

use super::*;
use crate::content::{Reading, estimate};
use crate::quantity::{Length, LinearResistance, Mass, Resistance};

const TABLE: [(f64, f64); 2] = [(0.36698, 0.015 * 0.36698), (0.42957, 0.013 * 0.42957)];

fn table(tare_g: f64) -> Prior {
    let [(m, um), (r, ur)] = TABLE;
    Prior {
        g_per_m: Measured::new(LinearMass::from_g_per_m(m), LinearMass::from_g_per_m(um)),
        tare: Some(Measured::new(Mass::from_g(tare_g), Mass::from_g(1.0))),
        ohm_per_m: Some(Measured::new(LinearResistance::from_ohm_per_m(r), LinearResistance::from_ohm_per_m(ur))),
        correlation: 0.0,
        draw_doubt: 0.01,
        unwritten: 0.0,
    }
}
fn weighed(g: f64) -> Event {
    Event::Read(Reading::Weighed(Measured::new(Mass::from_g(g), Mass::from_g(0.1))))
}
fn measured(ohm: f64, u: f64) -> Event {
    Event::Read(Reading::Resistance(Measured::new(Resistance::from_ohm(ohm), Resistance::from_ohm(u))))
}
fn m(value: f64, u: f64) -> Measured<Length> {
    Measured::new(Length::from_m(value), Length::from_m(u))
}
/// Wound empty: 14 coils between two weighings, then the bare reel on the scale; its resistance read once.
fn first() -> Vec<Event> {
    let mut events = vec![weighed(170.1), measured(100.4, 0.5)];
    events.extend([Event::Drawn(m(14.57, 0.12)); 14]);
    events.extend([weighed(94.9), Event::Unaccounted, Event::Read(Reading::Length(m(0.0, 0.01))), weighed(80.6)]);
    events
}

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "got {got}, expected {want} ± {tolerance}");
}

/// Both spools at once by scipy's least squares (`tests/recompute/lot.py` prints these figures). What is handed over is made
/// linear at the first spool's own fit: some (1 %)² of the figures, so 2 % of an uncertainty is allowed, and of the
/// uncertainty itself 1 %.
#[test]
fn handed_over_it_is_the_joint_fit_of_both_spools() {
    let told = evidence(&table(80.0), &first()).unwrap();
    let check = |events: &[Event], told: &Evidence, left: [f64; 2], g_per_m: [f64; 2], ohm_per_m: [f64; 2]| {
        let c = estimate(&informed(&table(97.0), told), events).unwrap();
        let figures = [
            (c.left.value.m(), c.left.u.m(), left),
            (c.g_per_m.value.g_per_m(), c.g_per_m.u.g_per_m(), g_per_m),
            (c.ohm_per_m.unwrap().value.ohm_per_m(), c.ohm_per_m.unwrap().u.ohm_per_m(), ohm_per_m),
        ];
        for (got, got_u, [want, want_u]) in figures {
            println!("{got} ± {got_u}, scipy {want} ± {want_u}");
            near(got, want, 0.02 * want_u);
            near(got_u, want_u, 0.01 * want_u);
        }
    };
    let alone = Evidence::default();
    let one = [weighed(203.5)];
    let both = [weighed(203.5), measured(121.9, 0.6)];
    check(&one, &alone, [290.206551, 5.142863], [0.366980, 0.005505], [0.429570, 0.005584]);
    check(&one, &told, [287.705790, 4.476591], [0.370170, 0.004580], [0.423974, 0.005074]);
    check(&both, &alone, [286.234233, 3.136105], [0.370600, 0.004134], [0.426331, 0.004540]);
    check(&both, &told, [287.593050, 2.966854], [0.370258, 0.003758], [0.423881, 0.004241]);
    check(&one, &(told + told), [287.470667, 4.261794], [0.370473, 0.004236], [0.421509, 0.004822]);
}

#[test]
fn nothing_told_leaves_the_table_bit_for_bit() {
    assert_eq!(informed(&table(97.0), &Evidence::default()), table(97.0));
}

/// A weighing of an unknown length, with a tare that is known or not, is worth nothing to others: only the table gave it
/// its length.
#[test]
fn a_spool_that_knows_its_figures_by_the_table_only_tells_nothing() {
    assert_eq!(evidence(&table(97.0), &[weighed(203.5)]), None);
    assert_eq!(evidence(&table(97.0), &[]), None);
    assert_eq!(evidence(&Prior { tare: None, ..table(97.0) }, &[weighed(203.5), weighed(203.6)]), None);
}

/// A weighing and a resistance of an unknown length fix the ratio of the two figures, not the figures.
#[test]
fn however_many_tell_the_ratio_only_the_figures_stay_the_tables() {
    let told = evidence(&table(97.0), &[weighed(203.5), measured(124.7, 0.6)]).unwrap();
    let many = (0..100).fold(Evidence::default(), |sum, _| sum + told);
    let prior = informed(&table(97.0), &many);
    // Known as well as both tables together tell it, each of the two weighed by its variance: 1/√(1/1.5² + 1/1.3²) % by
    // arithmetic, the scatter of the spool's own put back on.
    let (m, r) = (0.015f64.powi(2) - SCATTER.powi(2), 0.013f64.powi(2) - SCATTER.powi(2));
    let common = 1.0 / (1.0 / m + 1.0 / r);
    let u = (common + SCATTER.powi(2)).sqrt();
    near(prior.g_per_m.u.g_per_m() / prior.g_per_m.value.g_per_m(), u, 0.02 * u);
    near(prior.correlation, common / (u * u), 0.02);
}

#[test]
fn a_spool_that_contradicts_itself_or_the_table_speaks_for_itself_only() {
    let mut torn = first();
    torn.insert(1, weighed(150.0));
    assert_eq!(evidence(&table(80.0), &torn), None);
    let heavy = |g: f64| 80.0 + 1.12 * (g - 80.0);
    let mut other = vec![weighed(heavy(170.1))];
    other.extend([Event::Drawn(m(14.57, 0.02)); 14]);
    other.extend([weighed(heavy(94.9)), Event::Unaccounted, Event::Read(Reading::Length(m(0.0, 0.01))), weighed(80.0)]);
    let prior = Prior { draw_doubt: 0.001, ..table(80.0) };
    assert_eq!(evidence(&prior, &other), None);
}

/// Ω/m measured on the spool itself to 0.3 % stays; its g/m learns.
#[test]
fn a_figure_measured_on_the_spool_itself_stays() {
    let told = evidence(&table(80.0), &first()).unwrap();
    let own = LinearResistance::from_ohm_per_m(0.4275);
    let prior = Prior { ohm_per_m: Some(Measured::new(own, own * 0.003)), ..table(97.0) };
    let then = informed(&prior, &told);
    assert_eq!((then.ohm_per_m, then.correlation), (prior.ohm_per_m, 0.0));
    assert!(then.g_per_m.u < prior.g_per_m.u);
}
