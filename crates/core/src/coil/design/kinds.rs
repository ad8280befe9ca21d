//! Windings that are not plain: laws that hold whatever the figures, and texts that stop nonsense.

use super::tests::{bass_coil, mm};
use super::*;
use crate::coil::findings::Level;
use crate::coil::lay::{Arrangement, Bond, Connect, Kind, Lay, Ribbon};
use crate::conductor::Conductor;
use crate::former::Vents;
use crate::quantity::{LinearResistance, Temperature};

fn with(lay: Lay, layers: u32) -> CoilSpec {
    let mut c = bass_coil();
    (c.winding.lay, c.winding.layers, c.target) = (lay, layers, None);
    c
}

fn dual(arrangement: Arrangement, connect: Connect) -> Lay {
    Lay { kind: Kind::Dual, arrangement: Some(arrangement), connect: Some(connect), ..Lay::default() }
}

const ALL: [Arrangement; 3] = [Arrangement::Stacked, Arrangement::SideBySide, Arrangement::InHand];

#[track_caller]
fn close(got: f64, want: f64) {
    assert!((got / want - 1.0).abs() < 1e-12, "got {got}, expected {want}");
}

/// Kirchhoff: resistances add in series, conductances in parallel; two equal windings have half of one in parallel.
#[test]
fn a_dual_coil_in_series_is_the_sum_and_equal_windings_in_parallel_the_half() {
    for arrangement in ALL {
        let d = design(&with(dual(arrangement, Connect::Series), 4)).unwrap();
        let w = d.windings.as_ref().unwrap();
        let [a, b] = [0, 1].map(|i| w.each[i].dcr.value.ohm());
        close(w.series.dcr.value.ohm(), a + b);
        close(w.parallel.dcr.value.ohm(), a * b / (a + b));
        close(d.dcr.value.ohm(), a + b);
        let [fa, fb] = [0, 1].map(|i| w.each[i].field.unwrap().value.m());
        close(w.series.field.unwrap().value.m(), fa + fb);
        if arrangement != Arrangement::Stacked {
            close(w.parallel.dcr.value.ohm(), a / 2.0);
            close(w.parallel.field.unwrap().value.m(), fa);
        }
        let p = design(&with(dual(arrangement, Connect::Parallel), 4)).unwrap();
        close(p.dcr.value.ohm(), w.parallel.dcr.value.ohm());
        let ratio = d.inductance_air.value / p.inductance_air.value;
        assert!((ratio - 4.0).abs() < 1e-3, "{arrangement:?}: {ratio}");
    }
}

/// A stacked dual coil in series is the plain coil of all its layers, but for a second pair of leads and of ends.
#[test]
fn a_stacked_dual_coil_in_series_is_the_plain_coil_cut_in_two() {
    let plain = design(&with(Lay::default(), 4)).unwrap();
    let d = design(&with(dual(Arrangement::Stacked, Connect::Series), 4)).unwrap();
    close(d.length.value.m(), plain.length.value.m());
    close(d.outside_crossover.value.mm(), plain.outside_crossover.value.mm());
    close(d.need.value.m(), plain.need.value.m() + 1.0);
    close(d.dcr.value.ohm(), plain.dcr.value.ohm() + 0.12 * 0.34026);
    let by_blocks = d.inductance_air.value / plain.inductance_air.value;
    assert!((by_blocks - 1.0).abs() < 2e-3, "two coupled blocks against one: {by_blocks}");
    let each = &d.windings.unwrap().each;
    assert!(each[1].dcr.value > each[0].dcr.value, "the outer winding is longer");
    close(each[0].need.value.m() + each[1].need.value.m(), d.need.value.m());
}

/// m wires in hand: N = ⌊(W − o − (m−1)p)/(m·p)⌋, R = r·(L + leads)/m, m lengths (arithmetic on this page).
#[test]
fn wires_in_hand_share_the_width_and_the_resistance() {
    let mut c = with(Lay { wires_in_hand: Some(3), ..Lay::default() }, 2);
    let d = design(&c).unwrap();
    let (o, p): (f64, f64) = (0.27686, 0.27686 * 1.02);
    let n = ((15.0 - o - 2.0 * p) / (3.0 * p)).floor() as u32;
    assert_eq!(d.turns_per_layer, [n, n - 1]);
    let one: f64 = [51.26_f64 + o, 51.26 + o + 1.8 * o]
        .iter()
        .zip([n, n - 1])
        .map(|(d, n)| f64::from(n) * ((core::f64::consts::PI * d).powi(2) + (3.0 * p).powi(2)).sqrt() / 1e3)
        .sum();
    close(d.length.value.m(), 3.0 * one);
    close(d.need.value.m(), 3.0 * (one + 1.0));
    close(d.dcr.value.ohm(), 0.34026 * (one * 1.01 + 0.12) / 3.0);
    assert_eq!(d.laid.pieces(), 3);
    // A real count in the same width: W = (3N + 2)·p + o.
    c.winding.turns_per_layer = Some(vec![16, 15]);
    let d = design(&c).unwrap();
    close(d.pitch.value.mm(), (15.0 - o) / 50.0);
    close(d.wound_width.value.mm(), 15.0);
}

#[test]
fn layers_inside_the_former_take_room_from_the_pole() {
    let mut c = with(Lay { kind: Kind::InsideOutside, ..Lay::default() }, 4);
    let (o, base) = (0.27686, 51.26);
    let d = design(&c).unwrap();
    let inner = 51.0 - 4.0 * o - 0.02;
    close(d.layer_diameters[0].value.mm(), inner + o);
    close(d.layer_diameters[2].value.mm(), base + o);
    close(d.outside_crossover.value.mm(), base + 4.0 * o + 0.04);
    close(d.mandrel.mm(), inner - 0.1);
    assert_eq!(d.turns_per_layer, [52, 51, 52, 51]);
    assert_eq!(d.laid.pieces(), 1);
    let stop = d.findings.iter().find(|f| f.level == Level::Stop).expect("the pole is in the way");
    assert_eq!((stop.code.as_str(), stop.text.contains("inner winding")), ("former_below_pole", true));
    c.gap.as_mut().unwrap().pole = Some(mm(49.0));
    close(design(&c).unwrap().clearance_inner.unwrap().value.mm(), (inner - 49.0) / 2.0);
}

fn ribbon(ohm: Option<f64>) -> Ribbon {
    Ribbon {
        width: mm(0.60),
        thickness: mm(0.10),
        over_width: mm(0.63),
        over_thickness: mm(0.13),
        corner_radius: Length::from_mm(0.05),
        ohm_per_m: ohm
            .map(|r| Measured::new(LinearResistance::from_ohm_per_m(r), LinearResistance::from_ohm_per_m(0.01 * r))),
        g_per_m: None,
    }
}

/// p = k·t_ins, N = ⌊(W − t_ins)/p⌋, D₁ = D₀ + w_ins, A = w·t − 0.8584·r² (arithmetic on this page).
#[test]
fn an_edge_wound_coil_stands_on_its_thin_side() {
    let r = ribbon(Some(0.297));
    assert!((1e6 * r.area() - (0.06 - 0.8584 * 0.0025)).abs() < 1e-7);
    let mut c = with(Lay { kind: Kind::EdgeWound, ribbon: Some(r), ..Lay::default() }, 1);
    c.wire = r.wire(Conductor::Copper).unwrap();
    c.gap = None;
    let d = design(&c).unwrap();
    let p: f64 = 1.02 * 0.13;
    let n = ((15.0 - 0.13) / p).floor();
    assert_eq!(f64::from(d.turns), n);
    close(d.layer_diameters[0].value.mm(), 51.26 + 0.63);
    let length = n * ((core::f64::consts::PI * (51.26 + 0.63)).powi(2) + p * p).sqrt() / 1e3;
    close(d.length.value.m(), length);
    close(d.dcr.value.ohm(), 0.297 * (length * 1.01 + 0.12));
    close(d.outside_crossover.value.mm(), 51.26 + 2.0 * 0.63 + 0.04);
    // 8.89 g/cm³ on the metal's section, elongated by 0.2 %.
    close(d.mass.conductor.value.g(), 8.89 * 1e6 * r.area() * (length / 1.002 + 0.12));
}

/// Published coil (a coil maker's page on flat-wire coils): flattened wire is a fifth off its round area, so none is taken.
#[test]
fn a_rectangular_wire_without_measured_ohms_is_refused() {
    let e = design(&with(Lay { kind: Kind::EdgeWound, ribbon: Some(ribbon(None)), ..Lay::default() }, 1)).unwrap_err();
    assert!(matches!(&e, DesignError::Lay(l) if l.pointer == "/winding/ribbon/ohm_per_m"), "{e}");
}

#[test]
fn self_bonding_wire_is_as_thick_as_its_bond_coat_and_takes_no_adhesive() {
    let bond = Bond { overall: Some(mm(0.300)), bake: Some(Temperature::from_c(180.0)), density: None };
    let d = design(&with(Lay { bond: Some(bond), ..Lay::default() }, 2)).unwrap();
    assert_eq!(d.mass.adhesive.value.g(), 0.0);
    assert_eq!(d.turns_per_layer[0], ((15.0 - 0.3) / (0.99 * 0.3) + 1e-9) as u32);
    let per_m = 0.46312 + core::f64::consts::FRAC_PI_4 * 1.10 * (0.3f64.powi(2) - 0.27686f64.powi(2));
    close(d.mass.wire.value.g(), per_m * (d.length.value.m() / 1.002 + 0.12));
    close(d.bake_ratio.unwrap(), 1.0 + 0.00393 * 160.0);
    close(d.outside_crossover.value.mm(), 51.24 + 4.0 * 0.3);
}

#[test]
fn paper_lifts_every_layer_and_a_former_used_again_counts_its_thickest_place() {
    let d = design(&with(Lay { paper: Some(mm(0.05)), ..Lay::default() }, 4)).unwrap();
    close(d.layer_diameters[3].value.mm(), 51.26 + 0.27686 + 6.0 * (0.27686 + 0.05));
    close(d.outside_crossover.value.mm(), 51.26 + 8.0 * 0.27686 + 0.04 + 6.0 * 0.05);
    let mut c = with(Lay::default(), 2);
    c.former.particulars.reused = Some([51.20, 51.24, 51.22, 51.26, 51.20, 51.20].map(mm));
    let d = design(&c).unwrap();
    close(d.base_diameter.value.mm(), 51.24);
    close(d.outside_crossover.value.mm(), 51.28 + 4.0 * 0.27686 + 0.04);
    assert_eq!((d.blank_length, d.blank_width), (None, None));
    c.former.particulars.reused = None;
    let whole = design(&c).unwrap().mass.former.unwrap().value.g();
    c.former.particulars.vents = Some(Vents { count: 8, diameter: Length::from_mm(4.0) });
    // n·πd²/4 over π·(ID + t)·height.
    let open = 8.0 * 16.0 / 4.0 / (51.12 * 38.0);
    close(design(&c).unwrap().mass.former.unwrap().value.g(), whole * (1.0 - open));
}

#[test]
fn what_cannot_be_laid_is_refused_at_its_param() {
    let refused = |lay: Lay, layers: u32| match design(&with(lay, layers)) {
        Err(DesignError::Lay(e)) => e.pointer,
        other => panic!("not refused: {other:?}"),
    };
    let plain = Lay::default;
    let stacked = || dual(Arrangement::Stacked, Connect::Series);
    assert_eq!(refused(Lay { wires_in_hand: Some(0), ..plain() }, 2), "/winding/wires_in_hand");
    assert_eq!(refused(Lay { wires_in_hand: Some(9), ..plain() }, 2), "/winding/wires_in_hand");
    assert_eq!(refused(Lay { kind: Kind::Dual, ..plain() }, 2), "/winding/arrangement");
    assert_eq!(refused(Lay { connect: Some(Connect::Series), ..plain() }, 2), "/winding/connect");
    assert_eq!(refused(stacked(), 3), "/winding/inner_layers");
    assert_eq!(refused(Lay { inner_layers: Some(4), ..stacked() }, 4), "/winding/inner_layers");
    assert_eq!(refused(Lay { inner_layers: Some(1), ..plain() }, 4), "/winding/inner_layers");
    assert_eq!(refused(Lay { kind: Kind::InsideOutside, ..plain() }, 1), "/winding/inner_layers");
    assert_eq!(refused(Lay { space: Some(mm(1.0)), ..plain() }, 2), "/winding/space_mm");
    assert_eq!(refused(Lay { paper: Some(mm(0.05)), ..plain() }, 1), "/winding/paper_mm");
    assert_eq!(refused(Lay { kind: Kind::EdgeWound, ..plain() }, 1), "/winding/ribbon");
    let round = Ribbon { corner_radius: Length::from_mm(0.06), ..ribbon(Some(0.3)) };
    assert_eq!(
        refused(Lay { kind: Kind::EdgeWound, ribbon: Some(round), ..plain() }, 1),
        "/winding/ribbon/corner_radius_mm"
    );
    let bond = Some(Bond { overall: None, bake: None, density: None });
    assert_eq!(refused(Lay { bond, ..plain() }, 2), "/winding/bond/overall_mm");
}
