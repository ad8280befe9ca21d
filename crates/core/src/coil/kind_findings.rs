//! What a winder must be told of a winding that is not plain, of a former that is used again, and of a cone.

use super::findings::{Judged, ONE_SIDED_95};
use super::lay::{Arrangement, Connect};
use crate::finding::{Finding, Level};
use crate::quantity::Quantity;

/// Former that is out of round by more than this asks for a look: common practice, no source.
const OUT_OF_ROUND_MM: f64 = 0.10;

/// Six diameters and the former's stated outside further apart than this: common practice, no source.
const WALL_DOUBT_MM: f64 = 0.05;

pub(super) fn told(j: &Judged, all: &mut Vec<Finding>) {
    lengths(j, all);
    dual(j, all);
    inside_outside(j, all);
    ribbon(j, all);
    bonded(j, all);
    paper(j, all);
    former(j, all);
}

/// Several unbroken lengths for one coil.
fn lengths(j: &Judged, all: &mut Vec<Finding>) {
    let pieces = j.laid.pieces();
    if pieces < 2 {
        return;
    }
    let at_once = j.laid.hands;
    let how = if at_once == pieces {
        format!(
            "{at_once} at once: wind {} off the spool onto {} first, and brake every wire by itself with the hanging weight",
            if pieces == 2 { "one of them".into() } else { format!("{} of them", pieces - 1) },
            if pieces == 2 { "a reel of its own" } else { "reels of their own" },
        )
    } else if at_once > 1 {
        format!(
            "{at_once} at once, first those of the first winding; every wire is braked by itself with the hanging weight"
        )
    } else {
        "one after the other".into()
    };
    let need = j.figures.need;
    all.push(
        Finding::note(
            "several_lengths",
            format!("one coil takes {pieces} unbroken lengths of wire, {need:.2} m together, from one spool so that they match, {how}"),
        )
        .figures(f64::from(pieces), 1.0),
    );
}

fn dual(j: &Judged, all: &mut Vec<Finding>) {
    let Some(w) = j.windings else { return };
    let [first, second] = w.each.as_slice() else { return };
    if j.laid.connect == Connect::Apart {
        all.push(Finding::note(
            "windings_apart",
            "resistance and inductance are those of the first winding by itself; `windings` has the other one and both joined; \
             say `connect`: `series` or `parallel` to have the coil judged as it is driven"
                .into(),
        ));
        let target = j.spec.target.as_ref().and_then(|t| t.dcr.zip(t.tolerance));
        if let Some((wanted, tolerance)) = target {
            let off = 100.0 * (second.dcr.value / wanted - 1.0);
            let limit = 100.0 * tolerance;
            if off.abs() > limit * (1.0 + 1e-9) {
                all.push(
                    Finding::stop(
                        "dcr_outside_target",
                        format!(
                            "the second winding: {:.3} Ω is {off:+.1} % off the {} Ω wanted",
                            second.dcr.value.ohm(),
                            wanted.ohm()
                        ),
                    )
                    .figures(off, limit),
                );
            }
        }
    }
    let apart = 100.0 * (second.dcr.value / first.dcr.value - 1.0);
    let doubt = 100.0 * ONE_SIDED_95 * 0.003;
    if apart.abs() > doubt {
        let share = first.dcr.value / (first.dcr.value + second.dcr.value);
        all.push(
            Finding::note(
                "windings_differ",
                format!(
                    "the outer winding has {apart:+.1} % of resistance against the inner one; in parallel it takes {:.1} % of the current",
                    100.0 * share
                ),
            )
            .figures(apart, doubt),
        );
    }
    if j.spec.winding.lay.arrangement == Some(Arrangement::InHand) {
        all.push(Finding::note(
            "mark_the_wires",
            "two wires laid together look alike: mark the start and the finish of each before winding, and check with a meter \
             that start and finish belong together and that the two do not touch"
                .into(),
        ));
    }
}

fn inside_outside(j: &Judged, all: &mut Vec<Finding>) {
    if j.laid.inside == 0 {
        return;
    }
    let metal = j.spec.former.material.is_metal();
    let text = format!(
        "{} of {} layers are wound on the mandrel itself and the former goes over them; the wire comes out through a hole in the former: {}",
        j.laid.inside,
        j.laid.layers,
        if metal { "round its edge and line it, bare metal there is a short" } else { "round its edge" }
    );
    all.push(if metal {
        Finding::watch("wire_through_former", text)
    } else {
        Finding::note("wire_through_former", text)
    });
}

fn ribbon(j: &Judged, all: &mut Vec<Finding>) {
    let Some(r) = j.spec.winding.lay.ribbon else { return };
    if r.width.value < r.thickness.value {
        all.push(
            Finding::note(
                "lies_flat",
                format!(
                    "the wire is {:.3} mm away from the former and {:.3} mm along it: it lies flat, it does not stand on edge",
                    r.width.value.mm(),
                    r.thickness.value.mm()
                ),
            )
            .figures(r.width.value.mm(), r.thickness.value.mm()),
        );
    }
    let Some(measured) = r.ohm_per_m.map(|m| m.value.ohm_per_m()) else { return };
    let by_area = j.spec.wire.conductor.resistivity().si() / r.area();
    let off = 100.0 * (measured / by_area - 1.0);
    // Dimensions to 3 % of area, what a micrometer leaves of a thin wire; common practice, no source.
    if off.abs() > 3.0 {
        all.push(
            Finding::watch(
                "ribbon_unlike_its_area",
                format!("{measured:.4} Ω/m measured is {off:+.1} % off what {:.4} mm² would have: measure width, thickness and corners again, or the reading", 1e6 * r.area()),
            )
            .figures(off, 3.0),
        );
    }
}

fn bonded(j: &Judged, all: &mut Vec<Finding>) {
    let Some(bond) = &j.spec.winding.lay.bond else { return };
    match bond.bake {
        Some(t) => {
            let ratio = j.spec.wire.conductor.resistance_ratio(t);
            let hot = ratio * j.figures.dcr;
            all.push(
                Finding::note(
                    "bake_by_current",
                    format!(
                        "bake by current until the meter shows {hot:.2} Ω, {ratio:.3} times the resistance at 20 °C: the winding has {:.0} °C then; do not touch it, and let the fumes be drawn off",
                        t.c()
                    ),
                )
                .figures(hot, j.figures.dcr),
            );
            if let Some(limit) = j.spec.former.material.heat_limit.filter(|limit| t > *limit) {
                all.push(
                    Finding::watch(
                        "bake_above_former",
                        format!("baking at {:.0} °C is above the {:.0} °C that the former bears in continuous use: keep it short", t.c(), limit.c()),
                    )
                    .figures(t.c(), limit.c()),
                );
            }
        }
        None => all.push(Finding::note("not_computed", "without winding.bond.bake_c there is no bake".into())),
    }
    if let Some(over) = bond.overall.filter(|o| o.value < j.spec.wire.overall.value) {
        all.push(
            Finding::stop(
                "bond_below_enamel",
                format!(
                    "{:.4} mm over the bond coat is less than the {:.4} mm over the enamel below it",
                    over.value.mm(),
                    j.spec.wire.overall.value.mm()
                ),
            )
            .figures(over.value.mm(), j.spec.wire.overall.value.mm()),
        );
    }
}

fn paper(j: &Judged, all: &mut Vec<Finding>) {
    if j.shape.paper <= 0.0 {
        return;
    }
    let papers = (j.turns.len() as f64 - if j.laid.inside > 0 { 2.0 } else { 1.0 }).max(0.0);
    all.push(
        Finding::note(
            "paper_is_soaked",
            format!(
                "{papers:.0} layers of paper of {:.3} mm: their volume is counted as adhesive, they soak it up",
                1e3 * j.shape.paper
            ),
        )
        .figures(papers, 0.0),
    );
}

fn former(j: &Judged, all: &mut Vec<Finding>) {
    let f = &j.spec.former;
    if let Some(outside) = f.particulars.outside() {
        let (most, least) = (outside.greatest.mm(), outside.least.mm());
        if most - least > OUT_OF_ROUND_MM {
            all.push(
                Finding::watch(
                    "former_out_of_round",
                    format!("the former is {:.3} mm out of round ({least:.3} to {most:.3} mm): the fit is reckoned with the greatest", most - least),
                )
                .figures(most - least, OUT_OF_ROUND_MM),
            );
        }
        let stated = (f.inside_diameter.value + f.wall.value * 2.0).mm();
        let off = outside.mean.value.mm() - stated;
        if off.abs() > WALL_DOUBT_MM {
            all.push(
                Finding::watch(
                    "former_unlike_its_wall",
                    format!("six diameters have the mean {:.3} mm, inside diameter and wall make {stated:.3} mm: glue left on it, or one of them was measured wrongly; the six rule", outside.mean.value.mm()),
                )
                .figures(off, WALL_DOUBT_MM),
            );
        }
        all.push(Finding::note(
            "former_used_again",
            "the former is used again: no blank is cut; clean off the old glue before the six diameters are taken"
                .into(),
        ));
    }
    if let Some(phi) = f.particulars.cone {
        let width = 1e3 * j.figures.width;
        let grows = 2.0 * width * libm::tan(phi);
        // What the cone grows is missing on the outside at its wide end, and its turns there are longer.
        let room =
            j.spec.gap.as_ref().and_then(|g| g.bore).zip(j.least).map(|(bore, (_, least))| {
                (bore.value.mm() - 1e3 * j.figures.outside_crossover - grows) / 2.0 - least.mm()
            });
        if let Some(room) = room.filter(|r| *r < 0.0) {
            all.push(Finding {
                code: "cone_too_wide".into(),
                level: Level::Stop,
                text: format!("over the winding's width the cone grows by {grows:.2} mm in diameter: its wide end misses the least clearance in the bore by {:.2} mm", -room),
                figure: Some(room),
                limit: Some(0.0),
            });
        }
        all.push(
            Finding::note(
                "former_is_a_cone",
                format!("the blank is a sector for a cone; the winding is reckoned on its narrow end as on a cylinder: over its width the cone grows by {grows:.2} mm in diameter"),
            )
            .figures(grows, 0.0),
        );
    }
    if f.particulars.vents.is_some() && f.height.is_none() {
        all.push(Finding::note(
            "not_computed",
            "without former.height_mm nobody can tell what share of the wall the vent holes take".into(),
        ));
    }
}
