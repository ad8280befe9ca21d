//! Driver data and comparisons of two coils, between the words of the wire and the calculation.

use crate::view;
use coilwright_core::coil::Design;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::driver::Impossible;
use coilwright_core::measured::{Input, Measured};
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::substitution::{Comparison, DriverInputs, Figures, Incomparable, compare};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Figure, Reading, Unit};
use coilwright_proto::reference::Ref;
use coilwright_proto::sound::{DriverParams, SoundChange, SoundFigures};

/// The driver's data as inputs of the calculation, in SI units.
pub fn inputs(d: &DriverParams) -> DriverInputs {
    fn input<U: Unit>(r: Option<Reading<U>>) -> Option<Input> {
        r.map(|r| r.measured().input())
    }
    [
        input(d.re_ohm),
        input(d.bl_tm),
        input(d.mms_g),
        input(d.fs_hz),
        input(d.qms),
        input(d.qes),
        input(d.qts),
        input(d.sd_cm2),
    ]
}

/// Compares two coils; `at` are the pointers to the driver and to the two.
///
/// # Errors
/// No coil, or no driver, with the pointer to what is wrong.
pub fn compared(
    driver: &DriverInputs,
    coils: [&CoilSpec; 2],
    same_wire: bool,
    at: [&str; 3],
) -> Result<Comparison, RpcError> {
    compare(driver, coils, same_wire).map_err(|e| refused(e, at))
}

fn refused(e: Incomparable, [driver, first, second]: [&str; 3]) -> RpcError {
    let text = e.to_string();
    match e {
        Incomparable::Coil(side, e) => view::refused(e, if side == 0 { first } else { second }),
        Incomparable::Driver(Impossible::OutOfRange { figure, met, min, max }) => {
            RpcError::params(format!("{driver}/{}", member(figure)), text)
                .met(met)
                .allowed(format!("{min} to {max}"))
                .next("check the number and its unit")
        }
        Incomparable::Driver(Impossible::QtsTooHigh { qts, value, .. }) => {
            RpcError::params(format!("{driver}/qts"), text)
                .met(qts)
                .allowed(format!("below {value:.3}"))
                .next("check which figure is which; leave out the one that is least sure")
        }
        Incomparable::TooLight { coil_g, mms_g } => RpcError::params(format!("{driver}/mms_g"), text)
            .met(mms_g)
            .allowed(format!("more than {coil_g:.2} g"))
            .next("check Mms and the dimensions of the original coil"),
    }
}

/// The param that the trade's name of a figure stands for.
fn member(figure: &str) -> &'static str {
    match figure {
        "Re" => "re_ohm",
        "Bl" => "bl_tm",
        "Mms" => "mms_g",
        "fs" => "fs_hz",
        "Qms" => "qms",
        "Qes" => "qes",
        "Qts" => "qts",
        _ => "sd_cm2",
    }
}

/// A bare number of a calculation, in the unit of the wire.
pub fn figure<U: Unit>(m: Measured<f64>) -> Figure<U> {
    Figure::of(m.value / U::SCALE, m.u / U::SCALE)
}

/// A ratio as a change in per cent.
pub fn pct<U: Unit>(ratio: Measured<f64>) -> Figure<U> {
    Figure::of(100.0 * (ratio.value - 1.0), 100.0 * ratio.u)
}

/// A driver's figures with one coil.
pub fn figures(f: &Figures) -> SoundFigures {
    SoundFigures {
        re_ohm: figure(f.re),
        bl_tm: f.bl.map(figure),
        mms_g: f.mms.map(figure),
        fs_hz: f.fs.map(figure),
        qes: f.qes.map(figure),
        qms: f.qms.map(figure),
        qts: f.qts.map(figure),
        db_1w: f.db_1w.map(figure),
        db_2v83: f.db_2v83.map(figure),
    }
}

/// The second coil less the first.
pub fn change(c: &Comparison) -> SoundChange {
    let f = &c.change;
    SoundChange {
        re_ohm: figure(f.re),
        re_pct: pct(c.re_ratio),
        bl_pct: pct(c.bl_ratio),
        coil_g: figure(c.mass_change),
        bl_tm: f.bl.map(figure),
        mms_g: f.mms.map(figure),
        fs_hz: f.fs.map(figure),
        qes: f.qes.map(figure),
        qms: f.qms.map(figure),
        qts: f.qts.map(figure),
        qts_pct: c.qts_ratio.map(pct),
        db_1w: f.db_1w.map(figure),
        db_2v83: f.db_2v83.map(figure),
    }
}

/// What two coils were planned with that the shop's own coils taught: what both have in common once, the rest with the
/// coil's name before it.
pub fn learned(coils: [(&str, &Design); 2]) -> Vec<Origin> {
    let [one, other] = coils.map(|(_, d)| d.origins.iter().filter(|o| o.mark == Mark::Learned).collect::<Vec<_>>());
    let mut all: Vec<Origin> = one.iter().filter(|o| other.contains(o)).map(|o| (*o).clone()).collect();
    for ((name, _), (own, others)) in coils.iter().zip([(&one, &other), (&other, &one)]) {
        let alone = own.iter().filter(|o| !others.contains(o));
        all.extend(alone.map(|o| Origin { param: format!("{name}.{}", o.param), ..(*o).clone() }));
    }
    all
}

/// Whether two coils name one wire.
pub fn same_wire<T: PartialEq>(one: &Ref<T>, other: &Ref<T>) -> bool {
    one == other
}
