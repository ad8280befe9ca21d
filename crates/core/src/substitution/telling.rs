//! What a comparison means in words, what must be told beside it, and what it took for granted.

use super::{ALIKE_U, Comparison, DriverInputs, Frame};
use crate::driver::USUAL_QMS;
use crate::finding::Finding;
use crate::measured::Measured;
use crate::motor::FIELD_OVER_PLATE;
use crate::origin::{Mark, Origin};
use crate::sound::{AIR, DAMPING_U, Exchange, UNHEARD};

/// A change of level that is just heard side by side, dB; common practice, no source.
const JUST_HEARD_DB: f64 = 1.0;
/// A change of Qts that changes the character of the bass; common practice, no source.
const OTHER_BASS: f64 = 0.20;

/// The comparison in a sentence for the winder and his customer. `rated` is the driver's rated impedance, Ω.
pub fn sentence(c: &Comparison, rated: Option<f64>) -> String {
    let mut said = Vec::new();
    let level = c.change.db_1w.map(|m| m.value);
    let bass = c.qts_ratio.map(|r| r.value - 1.0);
    match (level, bass) {
        (Some(db), Some(q)) if db.abs() < UNHEARD.0 && q.abs() < UNHEARD.1 => {
            said.push(format!("nobody will hear the difference: {db:+.2} dB for 1 W, Qts {:+.1} %", 100.0 * q));
        }
        _ => {
            if let Some(db) = level {
                let word = match db.abs() {
                    d if d < UNHEARD.0 => "as loud, nobody will hear it",
                    d if d < JUST_HEARD_DB => "hardly heard even side by side",
                    d if d < 2.0 => "just heard side by side",
                    _ => "heard",
                };
                let way = if db < 0.0 { "quieter" } else { "louder" };
                said.push(format!("{:.1} dB {way} for 1 W ({word})", db.abs()));
            }
            if let Some(q) = bass {
                let word = match q {
                    q if q.abs() < UNHEARD.1 => "the same bass",
                    q if q >= OTHER_BASS => "fuller, looser bass",
                    q if q <= -OTHER_BASS => "leaner, tighter bass",
                    q if q > 0.0 => "a little fuller bass",
                    _ => "a little leaner bass",
                };
                said.push(format!("Qts {:+.1} %: {word}", 100.0 * q));
            }
            if level.is_none() {
                let (bl, re) = (100.0 * (c.bl_ratio.value - 1.0), 100.0 * (c.re_ratio.value - 1.0));
                said.push(format!(
                    "force per ampere {bl:+.1} %, resistance {re:+.1} %: without the moving mass no more can be said"
                ));
            }
        }
    }
    if let Some(fs) = c.change.fs.filter(|f| f.value.abs() >= 0.5) {
        said.push(format!("resonance {:+.1} Hz", fs.value));
    }
    if let Some(rated) = rated {
        let ratio = c.substitute.re.value / rated;
        if ratio < 0.70 {
            said.push(format!(
                "the load changed: {:.2} Ω is {ratio:.2} of the rated {rated} Ω, too low for it",
                c.substitute.re.value
            ));
        } else if ratio > 0.85 {
            said.push(format!(
                "the load changed: {:.2} Ω is {ratio:.2} of the rated {rated} Ω, above the usual 0.70 to 0.85",
                c.substitute.re.value
            ));
        }
    }
    let text = said.join("; ") + ".";
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

pub(super) fn findings(c: &Comparison, frame: &Frame) -> Vec<Finding> {
    let mut all = Vec::new();
    let d = &c.driver;
    let (given, wound) = (d.re, c.dcr[0]);
    let off = 100.0 * (wound.value / given - 1.0);
    // Three standard uncertainties: the described coil is hardly the one that was measured.
    if !d.taken.re_of_coil && (wound.value - given).abs() > 3.0 * wound.u.max(0.01 * given) {
        all.push(
            Finding::watch(
                "original_not_as_described",
                format!("the original as described comes to {:.2} ± {:.2} Ω, the driver's data say {given:.2} Ω ({off:+.1} %): look at its wire, turns and layers again", wound.value, wound.u),
            )
            .figures(wound.value, given),
        );
    }
    if let Some((what, given, derived)) = d.taken.disagrees {
        all.push(
            Finding::watch(
                "driver_data_disagree",
                format!("the data give a {what} of {derived:.3} by themselves, but {given:.3} is stated: one of the figures is not of this driver"),
            )
            .figures(given, derived),
        );
    }
    formers(c, frame, &mut all);
    if d.bl.is_none() || d.mms.is_none() || d.fs.is_none() {
        let lacks: Vec<&str> = [("Bl or a quality", d.bl.is_none()), ("Mms", d.mms.is_none()), ("fs", d.fs.is_none())]
            .into_iter()
            .filter_map(|(what, lacks)| lacks.then_some(what))
            .collect();
        all.push(Finding::note(
            "not_computed",
            format!("without {} of the driver only part of the comparison can be made", lacks.join(", ")),
        ));
    }
    if !frame.plate_known {
        all.push(Finding::note(
            "taken_as_overhung",
            "without gap.plate_mm both windings are taken to be longer than the field".into(),
        ));
    }
    all.sort_by_key(|f| f.level);
    all
}

fn formers(c: &Comparison, frame: &Frame, all: &mut Vec<Finding>) {
    if frame.former_left_out {
        all.push(Finding::watch(
            "former_mass_left_out",
            "the two formers differ, and without the height of both their mass is not counted".into(),
        ));
    }
    match c.exchange {
        Exchange::None => {}
        Exchange::Balanced { old, new } => all.push(
            Finding::note(
                "former_damping_exchanged",
                format!("the former's own damping goes from {old:.3} to {new:.3} N·s/m, good to ± {:.0} %, and moves Qms with it", 100.0 * DAMPING_U),
            )
            .figures(new, old),
        ),
        Exchange::Direction(more) => all.push(Finding::watch(
            "former_damping_direction",
            format!(
                "the other former damps {} than the original's, so Qms {}: by how much is not known without Bl, plate and the formers' heights, and is left out",
                if more { "more" } else { "less" },
                if more { "falls" } else { "rises" }
            ),
        )),
        Exchange::Contradiction { old, all: losses } => all.push(
            Finding::watch(
                "former_damping_contradicts",
                format!("the original's former alone should add {old:.2} N·s/m, more than the {losses:.2} N·s/m that Qms allows for everything: Qms, or whether the former was slit, is not as stated; its exchange is left out, Qms would rise with a former that damps less"),
            )
            .figures(old, losses),
        ),
        Exchange::Unknown => all.push(Finding::watch(
            "former_damping_unknown",
            "two metal formers, and without gap.plate_mm and the height of both it is not known which damps more: Qms is carried over by mass alone".into(),
        )),
    }
}

pub(super) fn origins(c: &Comparison, given: &DriverInputs, same_wire: bool) -> Vec<Origin> {
    let mut all = Vec::new();
    let mut take = |param: &str, (value, u): (f64, f64), unit: &'static str, mark, source: &str| {
        all.push(Origin { param: param.into(), value, u, unit, mark, source: source.into() });
    };
    let (d, before) = (&c.driver, &c.original);
    let derived = |m: Option<Measured<f64>>| m.map_or((f64::NAN, 0.0), |m| (m.value, m.u));
    if d.taken.re_of_coil {
        take("driver.re_ohm", (before.re.value, before.re.u), "Ω", Mark::Derived, "the original coil as described");
    }
    if d.taken.qms_usual {
        take("driver.qms", (USUAL_QMS, 0.0), "", Mark::CommonPractice, "nobody measured it; no source");
    }
    if d.taken.qms_from_q {
        take("driver.qms", derived(before.qms), "", Mark::Derived, "1/Qms = 1/Qts − 1/Qes");
    }
    if d.taken.bl_from_q {
        take("driver.bl_tm", derived(before.bl), "T·m", Mark::Derived, "Bl² = 2πfs·Mms·Re/Qes");
    }
    if d.taken.qes_derived {
        take("driver.qes", derived(before.qes), "", Mark::Derived, "from the driver's other data (Small 1972)");
    }
    take(
        "field_over_plate",
        FIELD_OVER_PLATE,
        "",
        Mark::CommonPractice,
        "height of the field over the plate's thickness; no source",
    );
    if matches!(c.exchange, Exchange::Balanced { .. }) {
        take(
            "former_damping",
            (1.0, DAMPING_U),
            "",
            Mark::CommonPractice,
            "factor on the formers' damping by the formula; no source",
        );
    }
    if same_wire {
        take(
            "alike",
            (1.0, ALIKE_U),
            "",
            Mark::CommonPractice,
            "resistance of two coils wound alike from one spool, on one meter; no source",
        );
    }
    if given[7].is_some() && c.original.db_1w.is_some() {
        take(
            "air_kg_per_m3",
            (AIR.0, 0.0),
            "kg/m³",
            Mark::CommonPractice,
            "at which levels are stated; sound travels at 345 m/s",
        );
    }
    all
}
