//! `coil.inductance`: a coil in, its inductance in air and what closed rings make of it out. No store, no clock.

use crate::app::App;
use crate::match_words::within;
use crate::{sound_words, view, winding_words};
use coilwright_core::coil::Design;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::finding::Finding;
use coilwright_core::inductance::{thick_coil, wheeler};
use coilwright_core::measured::Measured;
use coilwright_core::motor::{FIELD_OVER_PLATE, Field};
use coilwright_core::mutual::Section;
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::ring::{MetalFormer, Ring, shorted_turns};
use coilwright_core::sound::DAMPING_U;
use coilwright_proto::error::RpcError;
use coilwright_proto::inductance::{
    AtFrequency, CoilInductance, CoilInducted, CoilState, DampingAnswer, DiagnosisAnswer, RingAnswer,
};
use coilwright_proto::quantity::{Figure, Setting};

/// Nodes of the integrals: 1e-9 on voice-coil shapes.
const POINTS: usize = 32;

/// The round wire and its insulation against an even current: 1 to 2 % below 50 turns, less above (Rosa 1906).
const MODEL_U: f64 = 0.005;

/// Former beyond the wire at the winding's edge; common practice, no source.
const EDGE: f64 = 2e-3;

pub fn answer(app: &App, asked: CoilInductance) -> Result<CoilInducted, RpcError> {
    let frequencies = frequencies(&asked)?;
    let (spec, d) = view::designed(&app.catalog, &asked.coil, "/coil")?;
    let mut told = Told { findings: Vec::new(), origins: d.origins.clone() };
    let (n, winding) = one_block(&asked, &d)?;
    let exact = thick_coil(n, winding.inner, winding.outer, winding.length, POINTS);
    let u = (d.inductance_air.u.h() / d.inductance_air.value.h()).hypot(MODEL_U) * exact;
    let estimate = wheeler(n, (winding.inner + winding.outer) / 2.0, winding.length, winding.outer - winding.inner);
    let former = former_ring(&spec, &d, winding, asked.former_edge_mm.map(|s| s.quantity().m()), &mut told);
    let shorted = shorted(&spec, &d, winding, asked.shorted_turns.unwrap_or(1))?;
    let alone = Measured::new(exact, u);
    let diagnosis = asked.measured_uh.map(|m| {
        let f = asked.measured_at_hz.map_or(1e3, |s| s.value);
        diagnose(m.measured().value.h(), m.u.unwrap_or(0.0) * 1e-6, f, alone, former.as_ref(), &shorted.1, &mut told)
    });
    let sentence = sentence(&spec, exact, former.as_ref(), &shorted, diagnosis.as_deref());
    Ok(CoilInducted {
        exact_uh: Figure::of(1e6 * exact, 1e6 * u),
        wheeler_estimate_uh: Setting::of(1e6 * estimate),
        wheeler_over_pct: Setting::of(100.0 * (estimate / exact - 1.0)),
        former: former.as_ref().map(|r| ring(1, r)),
        shorted: ring(shorted.0, &shorted.1),
        damping: damping(&spec, &d, asked.bl_tm.map(|r| r.measured()), &mut told),
        at: frequencies
            .into_iter()
            .map(|f| {
                let (short, closed) = (shorted.1.seen(exact, f), former.as_ref().map(|r| r.seen(exact, f)));
                AtFrequency {
                    frequency_hz: Setting::of(f),
                    shorted_uh: Setting::of(1e6 * short.inductance),
                    shorted_added_ohm: Setting::of(short.added_resistance),
                    closed_uh: closed.map(|c| Setting::of(1e6 * c.inductance)),
                    closed_added_ohm: closed.map(|c| Setting::of(c.added_resistance)),
                }
            })
            .collect(),
        sentence,
        diagnosis,
        findings: told.findings.into_iter().map(view::finding).collect(),
        origins: told.origins.into_iter().map(view::origin).collect(),
    })
}

/// The winding as one block: the turns that one current goes round, and their section.
///
/// Two windings over or beside each other fill one section in series, and in parallel half the turns of it.
fn one_block(asked: &CoilInductance, d: &Design) -> Result<(f64, Section), RpcError> {
    winding_words::driven(&asked.coil, "/coil")?;
    if d.laid.inside > 0 || asked.coil.winding.space_mm.is_some_and(|s| s.value > 0.0) {
        let what =
            if d.laid.inside > 0 { "layers on both sides of the former" } else { "windings with a space between" };
        return Err(RpcError::params("/coil/winding", format!("{what} are not one block, and this knows only one"))
            .next("`coil.design` gives the inductance in air of such a coil"));
    }
    let laid = &d.laid;
    let most = f64::from(d.turns_per_layer.iter().copied().max().unwrap_or(0));
    let wires = f64::from(laid.beside) * f64::from(laid.hands) * most;
    let section = Section {
        inner: d.base_diameter.value.m() / 2.0,
        outer: d.outside_nested.value.m() / 2.0,
        length: wires * d.pitch.value.m(),
    };
    Ok((laid.turns_around(&d.turns_per_layer), section))
}

/// What must be said beside the figures.
struct Told {
    findings: Vec<Finding>,
    origins: Vec<Origin>,
}

fn frequencies(asked: &CoilInductance) -> Result<Vec<f64>, RpcError> {
    for (pointer, met, min, max, unit) in [
        ("/measured_uh", asked.measured_uh.map(|r| r.value), 0.01, 1e7, "µH"),
        ("/bl_tm", asked.bl_tm.map(|r| r.value), 0.01, 500.0, "T·m"),
        ("/former_edge_mm", asked.former_edge_mm.map(|s| s.value), 0.0, 500.0, "mm"),
    ] {
        if let Some(met) = met {
            within(pointer, met, min, max, unit)?;
        }
    }
    let asked_at = asked.measured_at_hz.iter().map(|f| ("/measured_at_hz".to_owned(), f.value));
    let list = asked.frequencies_hz.iter().flatten().enumerate();
    let all = asked_at.chain(list.map(|(i, f)| (format!("/frequencies_hz/{i}"), f.value)));
    for (pointer, f) in all {
        if !(1.0..=1e6).contains(&f) {
            return Err(RpcError::params(pointer, format!("{f} Hz is no frequency to measure a coil at"))
                .met(f)
                .allowed("1 Hz to 1 MHz")
                .next("1 kHz and 10 kHz are usual on a bridge"));
        }
    }
    let listed = asked.frequencies_hz.as_ref().map(|l| l.iter().map(|f| f.value).collect::<Vec<_>>());
    if let Some(list) = listed.as_ref().filter(|l| l.is_empty() || l.len() > 100) {
        return Err(RpcError::params("/frequencies_hz", "1 to 100 frequencies are looked at")
            .met(list.len())
            .allowed("1 to 100")
            .next("leave it out for 1 kHz and 10 kHz"));
    }
    Ok(listed.unwrap_or_else(|| vec![1e3, 1e4]))
}

/// The metal former as if it were closed, with where the winding sits on it.
fn former_ring(spec: &CoilSpec, d: &Design, winding: Section, edge: Option<f64>, told: &mut Told) -> Option<Ring> {
    let f = &spec.former;
    let resistivity = f.material.resistivity?;
    let Some(height) = f.height.map(|h| h.value.m()) else {
        told.findings.push(Finding::note(
            "not_computed",
            "without coil.former.height_mm there is no ring to compute for a closed former".into(),
        ));
        return None;
    };
    let width = d.width.value.m();
    let room = height - width;
    if room < 0.0 {
        told.findings.push(
            Finding::watch(
                "former_below_winding",
                format!(
                    "the former is {:.2} mm tall and the winding {:.2} mm wide: it is taken to sit in the middle",
                    1e3 * height,
                    1e3 * width
                ),
            )
            .figures(1e3 * height, 1e3 * width),
        );
    }
    let beyond = edge.unwrap_or_else(|| {
        let taken = EDGE.min(room.max(0.0) / 2.0);
        told.origins.push(Origin {
            param: "former_edge_mm".into(),
            value: 1e3 * taken,
            u: 0.0,
            unit: "mm",
            mark: Mark::CommonPractice,
            source: "former beyond the wire at the winding's edge; no source".into(),
        });
        taken
    });
    let offset = if room > 0.0 { (room / 2.0 - beyond).abs() } else { 0.0 };
    let metal = MetalFormer {
        diameter: (f.inside_diameter.value + f.wall.value).m(),
        // Vent holes let as much less current round as they take of the wall.
        wall: f.wall.value.m() * f.kept(),
        height,
        resistivity: resistivity.ohm_m(),
    };
    Some(metal.closed(winding, offset, POINTS))
}

/// Neighbouring turns of the outermost layer, in the middle of the width: how many, and their ring.
fn shorted(spec: &CoilSpec, d: &Design, winding: Section, turns: u32) -> Result<(u32, Ring), RpcError> {
    let most = d.turns_per_layer.last().copied().unwrap_or(1);
    if turns == 0 || turns > most {
        return Err(RpcError::params(
            "/shorted_turns",
            format!("{turns} turns cannot be shorted in a layer of {most}"),
        )
        .met(turns)
        .allowed(format!("1 to {most}"))
        .next("leave it out for one turn"));
    }
    let radius = d.layer_diameters.last().map_or(winding.outer, |l| l.value.m() / 2.0);
    let wound = spec.wire.ohm_per_m().value.ohm_per_m() * (1.0 + d.assumed.resistance_excess.value);
    Ok((
        turns,
        shorted_turns(
            turns,
            radius,
            spec.wire.bare.value.m() / 2.0,
            d.pitch.value.m() * f64::from(d.laid.hands),
            wound,
            winding,
        ),
    ))
}

fn ring(turns: u32, r: &Ring) -> RingAnswer {
    RingAnswer {
        turns,
        ring_ohm: Setting::of(r.resistance),
        ring_uh: Setting::of(1e6 * r.inductance),
        coupling: Setting::of(r.coupling),
        corner_hz: Setting::of(r.corner()),
    }
}

fn damping(spec: &CoilSpec, d: &Design, bl: Option<Measured<f64>>, told: &mut Told) -> Option<DampingAnswer> {
    let f = &spec.former;
    let metal = MetalFormer::of(f)?;
    let Some(plate) = spec.gap.as_ref().and_then(|g| g.plate).map(|p| p.value.m()) else {
        told.findings
            .push(Finding::note("not_computed", "without coil.gap.plate_mm there is no damping by the former".into()));
        return None;
    };
    let closed = metal.damping_closed(plate);
    let slit = f.height.map(|_| metal.damping_slit(plate));
    let within = |r: f64, share: f64| Measured::new(r, r * share);
    let width = d.width.value.m();
    let in_field = d.in_field(Field::for_widths(Some(plate), FIELD_OVER_PLATE.0, &[width]));
    let field = bl.map(|bl| {
        let b = bl.value / in_field;
        Measured::new(b, b * (bl.u / bl.value).hypot(FIELD_OVER_PLATE.1 / FIELD_OVER_PLATE.0))
    });
    // The field enters squared: twice its own share.
    let in_it = |r: f64| field.map(|b| within(r * b.value * b.value, DAMPING_U.hypot(2.0 * b.u / b.value)));
    Some(DampingAnswer {
        closed_per_t2: sound_words::figure(within(closed, DAMPING_U)),
        slit: f.slit.m() > 0.0,
        slit_per_t2: slit.map(|s| sound_words::figure(within(s, DAMPING_U))),
        field_t: field.map(sound_words::figure),
        closed_n_s_per_m: in_it(closed).map(sound_words::figure),
        slit_n_s_per_m: slit.and_then(in_it).map(sound_words::figure),
    })
}

/// Sets a reading against every state that the coil may be in.
fn diagnose(
    read: f64,
    read_u: f64,
    f: f64,
    alone: Measured<f64>,
    former: Option<&Ring>,
    shorted: &Ring,
    told: &mut Told,
) -> Vec<DiagnosisAnswer> {
    let state = |state, inductance: f64| {
        let u = alone.u * inductance / alone.value;
        let off = (read - inductance) / u.hypot(read_u);
        DiagnosisAnswer {
            state,
            expect_uh: Figure::of(1e6 * inductance, 1e6 * u),
            off_u: off,
            agrees: off.abs() <= 2.0,
        }
    };
    let mut all = vec![state(CoilState::Sound, alone.value)];
    all.extend(former.map(|r| state(CoilState::FormerClosed, r.seen(alone.value, f).inductance)));
    all.push(state(CoilState::TurnsShorted, shorted.seen(alone.value, f).inductance));
    let agreeing = all.iter().filter(|d| d.agrees).count();
    if agreeing == 0 {
        told.findings.push(
            Finding::watch("agrees_with_none", format!("{:.1} µH agree with no state of this coil: check turns and diameters, and that it was measured off the motor", 1e6 * read))
                .figures(1e6 * read, 1e6 * alone.value),
        );
    } else if agreeing > 1 {
        // What a ring takes grows with frequency until its corner, where it is half of all it can take.
        let rings = all.iter().filter(|d| d.agrees).filter_map(|d| match d.state {
            CoilState::Sound => None,
            CoilState::FormerClosed => former.map(Ring::corner),
            CoilState::TurnsShorted => Some(shorted.corner()),
        });
        let better = rings.fold(0.0, f64::max);
        told.findings.push(
            Finding::note(
                "bridge_cannot_decide",
                format!(
                    "at {f:.0} Hz this reading agrees with {agreeing} states: they part the further the nearer the frequency comes to {:.1} kHz",
                    better / 1e3
                ),
            )
            .figures(f, better),
        );
    }
    all
}

fn sentence(
    spec: &CoilSpec,
    exact: f64,
    former: Option<&Ring>,
    (turns, shorted): &(u32, Ring),
    diagnosis: Option<&[DiagnosisAnswer]>,
) -> String {
    let drop = |r: &Ring, f: f64| 100.0 * (1.0 - r.seen(1.0, f).inductance);
    let mut said = format!("{:.1} µH in air", 1e6 * exact);
    if let Some(r) = former {
        let now = if spec.former.slit.m() > 0.0 {
            "were its slit closed, the former would take"
        } else {
            "the closed former takes"
        };
        said.push_str(&format!("; {now} {:.0} % of it at 1 kHz and {:.0} % at 10 kHz", drop(r, 1e3), drop(r, 1e4)));
    }
    let word = if *turns == 1 { "one shorted turn".into() } else { format!("{turns} shorted turns") };
    said.push_str(&format!(
        "; {word} would take {:.2} % at 1 kHz and {:.1} % at 10 kHz",
        drop(shorted, 1e3),
        drop(shorted, 1e4)
    ));
    if let Some(all) = diagnosis {
        let names: Vec<&str> = all
            .iter()
            .filter(|d| d.agrees)
            .map(|d| match d.state {
                CoilState::Sound => "a sound coil",
                CoilState::FormerClosed => "a closed former",
                CoilState::TurnsShorted => "shorted turns",
            })
            .collect();
        said.push_str(&match names.as_slice() {
            [] => "; the reading agrees with none of these".into(),
            names => format!("; the reading agrees with {}", names.join(" and with ")),
        });
    }
    said + "."
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_bridge_reading_is_set_against_every_state() {
        let ring = Ring { resistance: 0.05, inductance: 2e-7, coupling: 0.9 };
        let mut told = Told { findings: Vec::new(), origins: Vec::new() };
        let alone = Measured::new(5e-4, 1e-6);
        let f = ring.corner();
        assert!((f - 0.05 / (2.0 * PI * 2e-7)).abs() < 1e-6);
        let all = diagnose(5e-4, 1e-6, f, alone, None, &ring, &mut told);
        assert_eq!(all.iter().map(|d| d.agrees).collect::<Vec<_>>(), [true, false]);
        // Half of k² at the corner.
        assert!((all[1].expect_uh.value - 500.0 * (1.0 - 0.405)).abs() < 1e-9);
        let none = diagnose(4e-4, 1e-6, f, alone, None, &ring, &mut told);
        assert!(none.iter().all(|d| !d.agrees) && told.findings[0].code == "agrees_with_none");
        let both = diagnose(5e-4, 1e-6, 10.0, alone, None, &ring, &mut told);
        assert!(both.iter().all(|d| d.agrees) && told.findings[1].code == "bridge_cannot_decide");
    }
}
