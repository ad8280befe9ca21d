//! The search itself: wire by wire, layer by layer, the counts that meet the target solved for.

use super::near::{FIT_SCALE, MASS_SCALE, Miss, Nearest, WIDTH_SCALE};
use super::row::{FormerFrame, Row, WireFrame, whole};
use crate::driver::Driver;
use crate::motor::OVERHUNG_OVER_PLATE;
use crate::sound::{self, Part, Sound, UNHEARD};

/// Resistance that is wanted, and how far it may be off, as a fraction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// At 20 °C with leads, Ω.
    pub dcr: f64,
    /// Fraction.
    pub tolerance: f64,
}

/// What a coil must keep to. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Resistance.
    pub target: Target,
    /// Bore of the top plate, if it is known.
    pub bore: Option<f64>,
    /// Least clearance at the cross-over, one side.
    pub min_outer: f64,
    /// Least width of the winding.
    pub width_min: f64,
    /// Greatest width.
    pub width_max: f64,
    /// Layer counts allowed: bit n for n layers, 1 to 12.
    pub layers: u16,
    /// Greatest mass of winding, adhesive and former; infinity for none.
    pub mass_max: f64,
}

/// The sound to come close to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundBounds {
    /// The driver.
    pub driver: Driver,
    /// Its original coil, `in_field` for a field that both coils fill.
    pub original: Part,
    /// The original's wire in a field that it may or may not fill.
    pub in_tall_field: f64,
    /// Whether the original is overhung.
    pub overhung: bool,
    /// Thickness of the top plate, if it is known.
    pub plate: Option<f64>,
    /// Height of the field.
    pub field: f64,
    /// Greatest change of level for 1 W, dB.
    pub level_db: f64,
    /// Greatest change of Qts, as a fraction.
    pub qts: f64,
    /// Greatest change of resonance, as a fraction.
    pub fs: f64,
}

/// A coil that meets all of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Place of the wire in the list.
    pub wire: usize,
    /// Place of the former in the list.
    pub former: usize,
    /// Layers.
    pub layers: u32,
    /// Turns of the first layer.
    pub first: u32,
    /// Least width within the range that holds these turns and no more: the one to wind.
    pub width: f64,
    /// The widths up to here (not included, unless it is the range's end) hold the same turns.
    pub width_most: f64,
    /// Resistance at 20 °C with leads.
    pub dcr: f64,
    /// Clearance at the cross-over, one side; infinite without a bore.
    pub clearance_outer: f64,
    /// Mass of winding, adhesive and former.
    pub mass: f64,
    /// How far from what is wanted: 0 is a perfect copy, 1 at the edge of the tolerance or of what is heard.
    pub distance: f64,
}

/// How much was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Searched {
    /// Wires times formers times layer counts.
    pub combinations: u64,
    /// Combinations that the gap ruled out at once.
    pub too_fat: u64,
    /// Whole counts of turns that the width range holds, all combinations together: what a trial of each would try.
    pub candidates: u64,
    /// Coils that meet everything.
    pub feasible: u64,
}

/// Layers beyond which nobody winds, and the search does not look.
const MOST_LAYERS: u32 = 12;

/// Looks through all of `wires` on all of `formers`; tells each coil that meets the bounds to `hit`, and keeps the nearest
/// of the combinations of which none does.
///
/// A combination is one wire on one former in so many layers; each whole count of turns that it can have in the width range
/// is decided. The fit is decided by the middle value of the wire's diameter, as a coil's design does.
pub fn search(
    wires: &[WireFrame],
    formers: &[FormerFrame],
    bounds: &Bounds,
    sound: Option<&SoundBounds>,
    mut hit: impl FnMut(Hit),
    near: &mut Nearest,
) -> Searched {
    let mut searched = Searched::default();
    let most_layers = (1..=MOST_LAYERS).rev().find(|n| bounds.layers >> n & 1 == 1).unwrap_or(0);
    let bore = bounds.bore.unwrap_or(f64::INFINITY);
    let Target { dcr, tolerance } = bounds.target;
    // What fits goes first: then the nearest misses are near enough to leave most of what is too fat unlooked at.
    for (former_at, former) in formers.iter().enumerate() {
        for (wire_at, wire) in wires.iter().enumerate() {
            let mut row = Row::bare(wire, former);
            let lengths = (wire.length_for(dcr * (1.0 - tolerance)), wire.length_for(dcr * (1.0 + tolerance)));
            let span = Span::of(&row, wire, bounds);
            for layers in 1..=most_layers {
                let clearance = (bore - row.crossover_of(f64::from(layers))) / 2.0;
                if bounds.min_outer - clearance > HAIR {
                    // More layers are only fatter.
                    break;
                }
                row.add_layer();
                if bounds.layers >> layers & 1 == 0 {
                    continue;
                }
                let look = span.look(wire_at, former_at, layers, row, bounds, sound, former);
                let found = look.solve(lengths, clearance, &mut hit);
                searched.feasible += found;
                if found == 0 {
                    look.nearest(clearance, 0.0, near);
                }
            }
        }
    }
    for (former_at, former) in formers.iter().enumerate() {
        for (wire_at, wire) in wires.iter().enumerate() {
            let row = Row::bare(wire, former);
            let span = Span::of(&row, wire, bounds);
            for layers in (1..=most_layers).filter(|n| bounds.layers >> n & 1 == 1) {
                searched.combinations += 1;
                let fewest = span.fewest.max(if layers > 1 { 1.0 + wire.less } else { 1.0 });
                searched.candidates += (span.most - fewest + 1.0).max(0.0) as u64;
                let clearance = (bore - row.crossover_of(f64::from(layers))) / 2.0;
                let too_fat = bounds.min_outer - clearance;
                if too_fat > HAIR {
                    searched.too_fat += 1;
                    if near.may_take(too_fat / FIT_SCALE) {
                        let row = row.with_layers(layers);
                        span.look(wire_at, former_at, layers, row, bounds, sound, former)
                            .nearest(clearance, too_fat, near);
                    }
                }
            }
        }
    }
    searched
}

/// A clearance is short only beyond the last digit anybody sets, as in a coil's design.
const HAIR: f64 = 1e-9;

/// The counts of turns that the range of widths holds of one wire, whatever its layers.
#[derive(Clone, Copy)]
struct Span {
    width_min: f64,
    fewest: f64,
    most: f64,
}

impl Span {
    fn of(row: &Row, wire: &WireFrame, bounds: &Bounds) -> Span {
        // No coil is narrower than two wires.
        let width_min = bounds.width_min.max(2.0 * wire.overall);
        Span { width_min, fewest: row.turns_in(width_min), most: row.turns_in(bounds.width_max) }
    }

    #[allow(clippy::too_many_arguments)]
    fn look<'a>(
        &self,
        wire: usize,
        former: usize,
        layers: u32,
        row: Row,
        bounds: &'a Bounds,
        sound: Option<&'a SoundBounds>,
        on: &FormerFrame,
    ) -> Look<'a> {
        Look {
            wire,
            former,
            layers,
            row,
            width_min: self.width_min,
            fewest: self.fewest.max(row.fewest()),
            most: self.most,
            bounds,
            sound,
            mass: on.mass,
            damping: on.damping,
        }
    }
}

/// One combination under the eye.
struct Look<'a> {
    wire: usize,
    former: usize,
    layers: u32,
    row: Row,
    width_min: f64,
    fewest: f64,
    most: f64,
    bounds: &'a Bounds,
    sound: Option<&'a SoundBounds>,
    mass: f64,
    damping: Option<f64>,
}

/// How far beyond its limits a coil is; all 0 if it keeps to them.
#[derive(Clone, Copy, Default)]
struct Beyond {
    mass: f64,
    level: f64,
    qts: f64,
    fs: f64,
    /// Distance to the original by ear.
    apart: f64,
}

impl Look<'_> {
    /// Tells every count that meets the target; answers how many there are.
    ///
    /// `lengths` are those of wire that the least and the greatest resistance ask for.
    fn solve(&self, (least, greatest): (f64, f64), clearance: f64, hit: &mut impl FnMut(Hit)) -> u64 {
        let Target { dcr, tolerance } = self.bounds.target;
        // Rounded outwards: what is solved for is then checked as a design is.
        let low = whole(self.row.turns_of(least)).max(self.fewest);
        let high = (whole(self.row.turns_of(greatest)) + 1.0).min(self.most);
        let (mut n, mut found) = (low, 0);
        while n <= high {
            let got = self.row.dcr(n);
            let off = got / dcr - 1.0;
            if off.abs() <= tolerance * (1.0 + 1e-9) {
                let (width, width_most) = self.widths(n);
                let mass = self.row.mass(n, width) + self.mass;
                let beyond = self.beyond(n, width, got, mass);
                if beyond.mass <= 0.0 && beyond.level <= 0.0 && beyond.qts <= 0.0 && beyond.fs <= 0.0 {
                    found += 1;
                    hit(Hit {
                        wire: self.wire,
                        former: self.former,
                        layers: self.layers,
                        first: n as u32,
                        width,
                        width_most,
                        dcr: got,
                        clearance_outer: clearance,
                        mass,
                        distance: libm::sqrt(beyond.apart * beyond.apart + off / tolerance * (off / tolerance)),
                    });
                }
            }
            n += 1.0;
        }
        found
    }

    /// The widths within the range that hold `n` turns and no more.
    fn widths(&self, n: f64) -> (f64, f64) {
        (self.row.width(n).max(self.width_min), self.row.width(n + 1.0).min(self.bounds.width_max))
    }

    fn beyond(&self, n: f64, width: f64, dcr: f64, mass: f64) -> Beyond {
        let mut beyond = Beyond { mass: (mass - self.bounds.mass_max).max(0.0), ..Beyond::default() };
        if let Some(s) = self.sound {
            let (before, after, force) = s.with(&self.row, n, width, dcr, mass, self.damping);
            let over = |change: Option<f64>, limit: f64| change.map_or(0.0, |c| (c.abs() - limit).max(0.0));
            beyond.level = over(after.db_over(&before), s.level_db);
            beyond.qts = over(after.qts_change(&before), s.qts);
            beyond.fs = over(after.fs.zip(before.fs).map(|(a, b)| a / b - 1.0), s.fs);
            beyond.apart = after.apart(&before, force);
        }
        beyond
    }

    /// The count that misses least: the one nearest to the resistance within the width range, or where a width beyond the
    /// range is the lesser evil, that width.
    fn nearest(&self, clearance: f64, too_fat: f64, near: &mut Nearest) {
        let Target { dcr, tolerance } = self.bounds.target;
        let wanted = whole(self.row.turns_for(dcr) + 0.5).max(self.row.fewest());
        if self.most < self.fewest {
            return self.miss(wanted, true, clearance, too_fat, near);
        }
        let inside = wanted.clamp(self.fewest, self.most);
        let off = ((self.row.dcr(inside) / dcr - 1.0).abs() - tolerance) / tolerance;
        let by_range = self.out_of_range(wanted) / WIDTH_SCALE;
        let by_width = by_range > 0.0 && by_range < off;
        // What is missed already keeps most out before the rest is reckoned.
        if !near.may_take((too_fat / FIT_SCALE).max(if by_width { by_range } else { off })) {
            return;
        }
        self.miss(if by_width { wanted } else { inside }, by_width, clearance, too_fat, near);
    }

    fn out_of_range(&self, n: f64) -> f64 {
        let width = self.row.width(n);
        // A width that is too small for n turns, or so large that more fit.
        (width - self.bounds.width_max).max(self.width_min - self.row.width(n + 1.0)).max(0.0)
    }

    fn miss(&self, n: f64, by_width: bool, clearance: f64, too_fat: f64, near: &mut Nearest) {
        let Target { dcr, tolerance } = self.bounds.target;
        let (got, width) = (self.row.dcr(n), if by_width { self.row.width(n) } else { self.widths(n).0 });
        let off = got / dcr - 1.0;
        let dcr_off = if off.abs() > tolerance * (1.0 + 1e-9) { off } else { 0.0 };
        let mass = self.row.mass(n, width) + self.mass;
        let beyond = self.beyond(n, width, got, mass);
        let square = |x: f64| x * x;
        let score = square(too_fat / FIT_SCALE)
            + square(if dcr_off == 0.0 { 0.0 } else { dcr_off.abs() / tolerance - 1.0 })
            + square(if by_width { self.out_of_range(n) / WIDTH_SCALE } else { 0.0 })
            + square(beyond.mass / (MASS_SCALE * self.bounds.mass_max))
            + square(beyond.level / UNHEARD.0)
            + square(beyond.qts / UNHEARD.1)
            + square(beyond.fs / UNHEARD.1);
        near.take(Miss {
            wire: self.wire,
            former: self.former,
            layers: self.layers,
            first: n as u32,
            width,
            dcr: got,
            clearance_outer: clearance,
            too_fat,
            dcr_off,
            width_wanted: if by_width { width } else { 0.0 },
            too_heavy: beyond.mass,
            level_off: beyond.level,
            qts_off: beyond.qts,
            fs_off: beyond.fs,
            score: libm::sqrt(score),
        });
    }
}

impl SoundBounds {
    /// The driver with its original and with this coil, and the ratio of their forces per ampere.
    fn with(&self, row: &Row, n: f64, width: f64, dcr: f64, mass: f64, damping: Option<f64>) -> (Sound, Sound, f64) {
        let filled = self.plate.is_none_or(|plate| self.overhung && width >= OVERHUNG_OVER_PLATE * plate);
        let (old, in_field) = if filled {
            (self.original.in_field, row.in_filled_field(self.field))
        } else {
            (self.in_tall_field, row.in_tall_field(n, width, self.field))
        };
        let (old, new) = (Part { in_field: old, ..self.original }, Part { dcr, mass, in_field, damping });
        let (after, _) = sound::substitute(&self.driver, &old, &new, 1.0, self.plate.is_some());
        (sound::original(&self.driver), after, new.in_field / old.in_field)
    }
}
