//! What a winder must be told about a coil, each with its figure and the limit it is held against.

use super::figures::{AsIs, Figures, Shape, Spacing};
use super::kind_findings;
use super::laid::Laid;
use super::spec::{CoilSpec, Target};
use super::windings::Windings;
use crate::measured::Measured;
use crate::meter::Meter;
use crate::quantity::{Length, Resistance, Temperature};
use crate::reading;
use crate::wire::Standing;

pub use crate::finding::{Finding, Level};

/// Factor on a standard uncertainty that leaves 5 % on one side of a normal distribution.
pub const ONE_SIDED_95: f64 = 1.64;

/// Former that should stand beyond the wire at the winding's edge; common practice, no source.
const FORMER_BEYOND_MM: f64 = 2.0;

/// What the judgements look at.
pub(super) struct Judged<'a> {
    pub spec: &'a CoilSpec,
    pub turns: &'a [u32],
    pub laid: &'a Laid,
    pub spacing: Spacing,
    pub figures: &'a Figures,
    pub dcr: Measured<Resistance>,
    /// Least clearances (inner, outer).
    pub least: Option<(Length, Length)>,
    pub windings: Option<&'a Windings>,
    pub shape: Shape,
    pub as_is: AsIs,
}

impl Judged<'_> {
    /// Layers outside the former.
    fn outer_layers(&self) -> f64 {
        (self.laid.layers - self.laid.inside) as f64
    }

    /// What stands over the layers at the cross-over besides their wires, on the diameter: skin, wrap, paper, and the
    /// thickest place of a former that is used again. Millimetres.
    fn over_mm(&self) -> f64 {
        let x = &self.shape;
        let paper = (self.outer_layers() - 1.0) * x.paper;
        1e3 * (2.0 * (x.skin + x.wrap + paper) + self.as_is.fit_over)
    }

    /// Extents of one wire away from the former and along it, millimetres.
    pub fn wire_mm(&self) -> (f64, f64) {
        let away = 1e3 * self.shape.overall;
        (away, if self.as_is.ribbon { 1e3 * self.shape.axial } else { away })
    }

    /// Radial room that a return lead takes: rectangular wire lies flat.
    fn lead_mm(&self) -> f64 {
        let (away, along) = self.wire_mm();
        away.min(along)
    }
}

/// All findings, the serious ones first.
pub(super) fn judge(j: &Judged) -> Vec<Finding> {
    let mut all = Vec::new();
    fit(j, &mut all);
    winding(j, &mut all);
    field(j, &mut all);
    former(j, &mut all);
    resistance(j, &mut all);
    kind_findings::told(j, &mut all);
    if j.spec.standing == Standing::Computed {
        all.push(note(
            "wire_computed",
            "this wire is computed from a listed one in another conductor: no source says that it can be bought".into(),
            None,
            None,
        ));
    }
    missing(j, &mut all);
    all.sort_by_key(|f| f.level);
    all
}

fn fit(j: &Judged, all: &mut Vec<Finding>) {
    let (Some(gap), Some((least_inner, least_outer))) = (&j.spec.gap, j.least) else { return };
    let layers = j.outer_layers();
    if gap.pole.is_some() {
        let (inner, least) = (1e3 * j.figures.clearance_inner, least_inner.mm());
        let innermost = if j.laid.inside > 0 { "inner winding" } else { "former" };
        if inner < 0.0 {
            all.push(stop(
                "former_below_pole",
                format!("the {innermost} does not go over the pole: it is {:.3} mm too small on each side", -inner),
                inner,
                least,
            ));
        } else if short_of(inner, least) {
            all.push(stop(
                "inner_clearance_small",
                format!(
                    "clearance between pole and {innermost} is {inner:.3} mm, {:.3} mm less than the {least:.2} mm wanted",
                    least - inner
                ),
                inner,
                least,
            ));
        }
    }
    let Some(bore) = gap.bore else { return };
    let (outer, least) = (1e3 * j.figures.clearance_outer, least_outer.mm());
    let largest_that_fits = (bore.value.mm() - 2.0 * least - j.over_mm() - 1e3 * j.figures.base) / (2.0 * layers);
    if short_of(outer, least) {
        let room = if largest_that_fits > 0.0 {
            format!("the largest overall diameter that fits with {layers} layers is {largest_that_fits:.3} mm")
        } else {
            "no wire fits on this former in this gap".into()
        };
        let how = if outer < 0.0 {
            format!("rubs: {:.3} mm too fat at the cross-over", -outer)
        } else {
            format!("clearance at the cross-over is {outer:.3} mm")
        };
        all.push(stop(
            "too_fat_for_gap",
            format!("{how}, {:.3} mm short of the {least:.2} mm wanted; {room}", least - outer),
            outer,
            least,
        ));
    } else if let Some(limits) = j.spec.wire.overall_limits {
        let with_largest = outer - layers * (limits.max.mm() - j.spec.wire.overall.value.mm());
        if short_of(with_largest, least) {
            let skin = 1e3 * j.shape.skin;
            let wipe =
                if skin > 0.0 { format!("; wiping the skin off gives {skin:.3} mm more") } else { String::new() };
            all.push(watch(
                "largest_wire_misses",
                format!("fits by the middle value, but wire at its greatest allowed diameter ({:.4} mm) would leave {with_largest:.3} mm, {:.3} mm short of the {least:.2} mm wanted{wipe}", limits.max.mm(), least - with_largest),
                with_largest,
                least,
            ));
        }
    }
    if j.laid.ends_far() {
        let beside = outer - j.lead_mm();
        all.push(watch(
            "odd_layers",
            format!("an odd number of layers ends on the far side: its return lead comes back through the gap and leaves {beside:.3} mm beside it on one side; 2 or 4 layers are usual"),
            beside,
            least,
        ));
    }
    if j.spec.bench.and(j.spec.hot).is_some() {
        let hot = 1e3 * j.figures.clearance_outer_hot;
        if hot <= 0.0 && outer > 0.0 {
            all.push(stop(
                "rubs_when_hot",
                format!("the hot coil fills the gap: {hot:.3} mm left of {outer:.3} mm cold"),
                hot,
                0.0,
            ));
        } else if outer > 0.0 && hot < 0.5 * least {
            all.push(watch(
                "little_room_when_hot",
                format!("the hot coil leaves {hot:.3} mm, less than half the {least:.2} mm wanted cold"),
                hot,
                0.5 * least,
            ));
        }
    }
}

fn winding(j: &Judged, all: &mut Vec<Finding>) {
    let (_, o) = j.wire_mm();
    let pitch = 1e3 * j.figures.pitch;
    if j.spacing == Spacing::CountInWidth && pitch < o * 0.995 {
        let most = j.turns.iter().max().copied().unwrap_or(0);
        all.push(stop(
            "turns_do_not_fit",
            format!("{most} turns in {:.2} mm need a pitch of {pitch:.4} mm, but the wire is {o:.4} mm thick over its enamel: count again, or the wire is thinner", 1e3 * j.figures.width),
            pitch,
            o,
        ));
    }
    if j.spacing == Spacing::CountInWidth && pitch > 1.5 * o {
        all.push(watch("open_turns", format!("at this count and width the turns lie {pitch:.3} mm apart, wire of {o:.3} mm: they do not touch; count again, or the width is not the winding's"), pitch, 1.5 * o));
    }
    if j.laid.ends_far() && j.spec.gap.as_ref().and_then(|g| g.bore).is_none() {
        all.push(watch("odd_layers", "an odd number of layers ends on the far side: its return lead comes back through the gap; 2 or 4 layers are usual".into(), f64::from(j.turns.len() as u32), 2.0));
    }
    if j.spacing == Spacing::WidthFilled
        && j.laid.hands * j.laid.beside == 1
        && let [first, second, ..] = j.turns
    {
        let spare = 1e3 * (j.figures.width - j.figures.wound_width);
        if second < first && spare >= 0.5 * pitch {
            all.push(note(
                "room_for_another_turn",
                format!("{spare:.3} mm of the width stay free, half a pitch or more: the upper layers could hold {first} turns instead of {second}"),
                Some(spare),
                Some(0.5 * pitch),
            ));
        }
    }
}

/// Where the winding stands in the field of the top plate.
fn field(j: &Judged, all: &mut Vec<Finding>) {
    let Some(plate) = j.spec.gap.as_ref().and_then(|g| g.plate).map(|p| p.value.mm()) else { return };
    let width = 1e3 * j.figures.width;
    let offset = j.spec.offset.map_or(0.0, |o| o.mm().abs());
    let apart = (width + plate) / 2.0;
    let travel = (width - plate).abs() / 2.0 - offset;
    if offset >= apart {
        all.push(stop("outside_the_field", format!("the winding stands {offset:.2} mm off the middle of the plate: no wire of it is in the field, which ends at {apart:.2} mm"), offset, apart));
    } else if travel < 0.0 && offset > 0.0 {
        all.push(watch("off_the_middle", format!("at rest, {offset:.2} mm off the middle, part of the winding has left the field already: there are {travel:.2} mm of travel on that side"), travel, 0.0));
    }
    if width < plate {
        all.push(note(
            "underhung",
            format!("the winding is narrower than the plate ({width:.2} against {plate:.2} mm): an underhung coil"),
            Some(width),
            Some(plate),
        ));
    }
}

fn former(j: &Judged, all: &mut Vec<Finding>) {
    let f = &j.spec.former;
    if f.material.is_metal() && f.slit <= Length::ZERO {
        all.push(watch(
            "closed_metal_former",
            "the metal former is closed: a shorted turn that damps the driver and lowers its inductance; some originals are made so on purpose, so ask before changing it, and slit it otherwise (0.5 to 1.5 mm)".into(),
            f.slit.mm(),
            0.5,
        ));
    }
    if let Some(h) = f.height {
        let beyond = h.value.mm() - 1e3 * j.figures.width;
        if beyond < 0.0 {
            all.push(stop(
                "former_below_winding",
                format!(
                    "the former is {:.2} mm lower than the winding is wide: there is nothing under its edge",
                    -beyond
                ),
                beyond,
                0.0,
            ));
        } else if beyond < FORMER_BEYOND_MM {
            all.push(watch("former_too_low", format!("the former stands {beyond:.2} mm beyond the winding altogether; about {FORMER_BEYOND_MM:.0} mm at the winding's edge, besides the neck to the cone, are usual"), beyond, FORMER_BEYOND_MM));
        }
    }
    if let (Some(hot), Some(limit)) = (j.spec.hot, f.material.heat_limit)
        && hot > limit
    {
        all.push(watch(
            "former_too_hot",
            format!("{:.0} °C is above the {:.0} °C that the former bears in continuous use", hot.c(), limit.c()),
            hot.c(),
            limit.c(),
        ));
    }
}

fn resistance(j: &Judged, all: &mut Vec<Finding>) {
    let Some(target) = &j.spec.target else { return };
    let (dcr, u) = (j.dcr.value.ohm(), j.dcr.u.ohm());
    if let (Some(wanted), Some(tolerance)) = (target.dcr.map(|r| r.ohm()), target.tolerance) {
        let off = 100.0 * (dcr / wanted - 1.0);
        let limit = 100.0 * tolerance;
        let (least, most) = (wanted * (1.0 - tolerance), wanted * (1.0 + tolerance));
        if off.abs() > limit * (1.0 + 1e-9) {
            all.push(stop(
                "dcr_outside_target",
                format!("{dcr:.3} Ω is {off:+.1} % off the {wanted} Ω wanted; {least:.3} to {most:.3} Ω would do"),
                off,
                limit,
            ));
        } else if dcr - ONE_SIDED_95 * u < least || dcr + ONE_SIDED_95 * u > most {
            all.push(watch("dcr_may_miss_target", format!("{dcr:.3} ± {u:.3} Ω lies within {least:.3} to {most:.3} Ω by its middle value, but not with 95 % certainty on either side"), off, limit));
        }
        if let Some(by_wire) = j.spec.wire.resistance_limit_pct()
            && by_wire > limit
        {
            all.push(watch("wire_tolerance_wider_than_target", format!("the wire alone may be ± {by_wire:.1} % off in resistance, wider than the ± {limit:.1} % wanted: measure the ohms per metre of this spool once"), by_wire, limit));
        }
    }
    meter(j, target, all);
    rated(dcr, target, all);
}

/// Doubt of a bench's temperature, kelvin; common practice, no source.
const BENCH_U: f64 = 1.0;

/// Whether the usual meter can tell coils of this plan apart from bad ones, told before they are wound.
fn meter(j: &Judged, target: &Target, all: &mut Vec<Finding>) {
    let (Some(wanted), Some(tolerance)) = (target.dcr, target.tolerance) else { return };
    if (j.dcr.value / wanted - 1.0).abs() > tolerance {
        return;
    }
    let asked = reading::Question {
        dcr: j.dcr,
        wanted,
        tolerance,
        conductor: j.spec.wire.conductor,
        temperature: Measured::new(j.spec.bench.unwrap_or(Temperature::from_c(20.0)), Temperature::from_c(BENCH_U)),
        test_leads: Measured::certain(Resistance::ZERO),
        meter: Meter::HANDHELD,
    };
    let name = Meter::HANDHELD.name();
    let allowed = wanted.ohm() * tolerance;
    match reading::outside_band(&asked) {
        None => all.push(watch(
            "meter_cannot_decide",
            format!("{name} cannot tell whether a coil is within ± {allowed:.3} Ω: plan for a comparison with a known resistor, see `coil.reading`"),
            ONE_SIDED_95 * Meter::HANDHELD.u(wanted, Resistance::ZERO).ohm(),
            allowed,
        )),
        Some((band, outside)) if outside > reading::SELDOM => all.push(note(
            "accept_band_narrower_than_coils",
            format!(
                "{name} can accept readings within ± {band:.3} Ω, and coils of this plan differ by ± {:.3} Ω (1.64 u): of 100 about {:.0} would read outside; a comparison with a known resistor or ohms per metre measured on the spool tell more, see `coil.reading`",
                ONE_SIDED_95 * j.dcr.u.ohm(),
                100.0 * outside
            ),
            Some(ONE_SIDED_95 * j.dcr.u.ohm()),
            Some(band),
        )),
        Some(_) => {}
    }
}

/// Re over the rated impedance. The least |Z| must be at least 80 % of the rated value (IEC 60268-5), and lies 5 to 15 %
/// above Re (from memory), hence a band of 0.70 to 0.85.
fn rated(dcr: f64, target: &Target, all: &mut Vec<Finding>) {
    let Some(rated) = target.rated.map(|r| r.ohm()) else { return };
    let ratio = dcr / rated;
    if ratio < 0.70 {
        all.push(watch("below_rated_impedance", format!("{dcr:.2} Ω is {ratio:.2} of the rated {rated} Ω: the impedance would fall below 80 % of it, the rated value is not met"), ratio, 0.70));
    } else if ratio < 0.76 {
        all.push(note("measure_least_impedance", format!("{dcr:.2} Ω is {ratio:.2} of the rated {rated} Ω: measure the least impedance, it must not fall below 80 %"), Some(ratio), Some(0.76)));
    } else if ratio > 0.85 {
        all.push(watch("above_rated_impedance", format!("{dcr:.2} Ω is {ratio:.2} of the rated {rated} Ω, above the usual 0.70 to 0.85: the load on the amplifier and the level change"), ratio, 0.85));
    }
}

/// Names what could not be computed for want of a parameter.
fn missing(j: &Judged, all: &mut Vec<Finding>) {
    let s = j.spec;
    let gap = s.gap.as_ref();
    let mut lacks = |param: &str, leaves_out: &str| {
        all.push(note("not_computed", format!("without {param} there is no {leaves_out}"), None, None));
    };
    if gap.and_then(|g| g.pole).is_none() {
        lacks("gap.pole_mm", "clearance_inner_mm");
    }
    if gap.and_then(|g| g.bore).is_none() {
        lacks("gap.bore_mm", "clearance_outer_mm, clearance_outer_hot_mm");
    } else if s.hot.is_none() {
        lacks("hot_c", "clearance_outer_hot_mm");
    }
    if gap.and_then(|g| g.plate).is_none() {
        lacks("gap.plate_mm", "overhang_mm");
    }
    if s.former.height.is_none() {
        lacks("former.height_mm", "blank.width_mm, mass.former_g");
    }
    if s.bench.is_none() {
        lacks("bench_c", "dcr_bench_ohm, clearance_outer_hot_mm");
    }
}

/// A clearance counts as short only beyond the last digit anybody sets: 1e-6 mm.
fn short_of(clearance_mm: f64, least_mm: f64) -> bool {
    clearance_mm < least_mm - 1e-6
}

fn stop(code: &str, text: String, figure: f64, limit: f64) -> Finding {
    Finding::stop(code, text).figures(figure, limit)
}
fn watch(code: &str, text: String, figure: f64, limit: f64) -> Finding {
    Finding::watch(code, text).figures(figure, limit)
}
fn note(code: &str, text: String, figure: Option<f64>, limit: Option<f64>) -> Finding {
    Finding { figure, limit, ..Finding::note(code, text) }
}
