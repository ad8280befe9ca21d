//! What is taken where nothing was said, each with its mark: the trade's habits in one place.

use super::spec::{AssumeSpec, CoilSpec, Gap, Taught, UpperLayers};
use crate::conductor::Conductor;
use crate::measured::Measured;
use crate::origin::{Mark, Origin};
use crate::quantity::{Density, Length, Quantity};

/// Assumptions with nothing left open.
#[derive(Debug, Clone, PartialEq)]
pub struct Assume {
    /// Pitch over overall diameter, k.
    pub pitch_factor: Measured<f64>,
    /// Radial step from layer to layer over overall diameter, b.
    pub nesting: Measured<f64>,
    /// Excess of the wound resistance per metre over the wire's, as a fraction.
    pub resistance_excess: Measured<f64>,
    /// Elongation of the wire in winding, as a fraction.
    pub elongation: Measured<f64>,
    /// Film of glue between former and first layer.
    pub glue: Measured<Length>,
    /// Skin of adhesive over the winding, on one side.
    pub skin: Measured<Length>,
    /// Collar or wrap over the winding, on one side.
    pub wrap: Measured<Length>,
    /// How the layers above the first are counted.
    pub upper_layers: UpperLayers,
    /// Density of the cured adhesive.
    pub adhesive: Density,
    /// Magnet wire between winding and terminals.
    pub leads: Measured<Length>,
    /// Wire beyond the winding at both ends.
    pub tails: Measured<Length>,
    /// Wire lost in threading.
    pub threading: Measured<Length>,
    /// Density of a bond coat.
    pub bond: Measured<Density>,
    /// Relative uncertainty of the resistance where the shop's own coils taught it: they had everything in them that the
    /// propagation would count once more.
    pub dcr_u: Option<f64>,
}

/// First values (value, u) of what a shop's own coils can teach.
pub const PITCH_FACTOR: (f64, f64) = (1.02, 0.01);
/// Radial step over overall diameter.
pub const NESTING: (f64, f64) = (0.90, 0.04);
/// Elongation in winding, in per cent.
pub const ELONGATION_PCT: (f64, f64) = (0.2, 0.2);
/// Both tails together, in metres.
pub const TAILS_M: (f64, f64) = (0.40, 0.05);
/// Threading, in metres.
pub const THREADING_M: (f64, f64) = (0.60, 0.10);

/// The member that learned resistance stands for.
const EXCESS: &str = "assume.resistance_excess_pct";

/// A learned figure in the unit of its first value.
#[derive(Debug, Clone, Copy)]
struct Learned {
    value: f64,
    u: f64,
    coils: u64,
}

impl<Q: Quantity> Taught<Q> {
    /// Carried through a formula of this slope.
    fn of(&self, formula: impl Fn(f64) -> f64, slope: f64) -> Learned {
        Learned { value: formula(self.next.value.si()), u: self.next.u.si() * slope, coils: self.coils }
    }
}

/// Relative standard uncertainty of a mass of adhesive: common practice, no source.
pub const ADHESIVE_U: f64 = 0.20;

/// Collects what was taken and why.
pub(super) struct Origins(pub Vec<Origin>);

impl Origins {
    /// `given`, or the default `value ± u` in `unit` (of which one is `scale` SI units), noted with its mark and source.
    #[allow(clippy::too_many_arguments)]
    fn fill<Q: Quantity>(
        &mut self,
        given: Option<Measured<Q>>,
        param: &str,
        (value, u): (f64, f64),
        (unit, scale): (&'static str, f64),
        mark: Mark,
        source: &str,
    ) -> Measured<Q> {
        given.unwrap_or_else(|| {
            self.note(param, (value, u), unit, mark, source);
            Measured::new(Q::from_si(value * scale), Q::from_si(u * scale))
        })
    }

    /// As [`Origins::fill`] for what is assumed rather than measured: stating a value does not make it better known, so
    /// one without an uncertainty of its own keeps the usual one.
    #[allow(clippy::too_many_arguments)]
    fn assume<Q: Quantity>(
        &mut self,
        given: Option<Measured<Q>>,
        param: &str,
        (value, u): (f64, f64),
        (unit, scale): (&'static str, f64),
        mark: Mark,
        source: &str,
    ) -> Measured<Q> {
        let given = given.map(|g| if g.u.si() == 0.0 { Measured::new(g.value, Q::from_si(u * scale)) } else { g });
        self.fill(given, param, (value, u), (unit, scale), mark, source)
    }

    /// As [`Origins::assume`] for what a shop's own coils can teach: `first` gives way to `learned`.
    fn learnable<Q: Quantity>(
        &mut self,
        given: Option<Measured<Q>>,
        param: &str,
        (first, learned): ((f64, f64), Option<Learned>),
        unit: (&'static str, f64),
        mark: Mark,
        source: &str,
    ) -> Measured<Q> {
        let Some(l) = learned.filter(|_| given.is_none()) else {
            return self.assume(given, param, first, unit, mark, source);
        };
        let coils = if l.coils == 1 { "1 coil".to_owned() } else { format!("{} coils", l.coils) };
        let spool =
            if param == EXCESS { "; wire of a spool not wound from before may differ by another 1.3 %" } else { "" };
        let source = format!("{coils} of this shop; first value {}{spool}", crate::typed::shown(first.0, first.1));
        self.fill(None, param, (l.value, l.u), unit, Mark::Learned, &source)
    }

    /// Notes that `value ± u` was taken for `param`.
    pub(super) fn note(&mut self, param: &str, (value, u): (f64, f64), unit: &'static str, mark: Mark, source: &str) {
        self.0.push(Origin { param: param.into(), value, u, unit, mark, source: source.into() });
    }
}

/// What is assumed for `spec`, given or by default.
pub fn assumed(spec: &CoilSpec) -> Assume {
    complete(spec, &mut Origins(Vec::new()))
}

/// Least clearances (inner, outer) in a gap around a former of this inside diameter, given or by default.
pub fn least(gap: &Gap, inside: Length) -> (Length, Length) {
    least_clearances(gap, inside, &mut Origins(Vec::new()))
}

/// Fills what `spec` leaves open.
pub(super) fn complete(spec: &CoilSpec, origins: &mut Origins) -> Assume {
    const MM: (&str, f64) = ("mm", 1e-3);
    const M: (&str, f64) = ("m", 1.0);
    const PCT: (&str, f64) = ("%", 1e-2);
    const RATIO: (&str, f64) = ("", 1.0);
    let habit = Mark::CommonPractice;
    let a: &AssumeSpec = &spec.assume;
    let lay = &spec.winding.lay;
    let papered = lay.paper.is_some_and(|p| p.value > Length::ZERO);
    let (pitch, pitch_from) = match lay.bond {
        Some(_) => ((0.99, 0.006), "self-bonding wire after its bake: 0.98 to 1.00; no source"),
        None => (PITCH_FACTOR, "turns laid by hand side by side; no source"),
    };
    let (nesting, nesting_from) = if lay.ribbon.is_some() {
        ((1.0, 0.01), "flat faces have no groove to sink into")
    } else if papered {
        ((1.0, 0.01), "paper bridges the grooves of the layer below")
    } else {
        (
            (0.90, 0.04),
            "geometry of two helices of opposite hand that climb over each other twice a turn: 0.87 to 0.955",
        )
    };
    // A self-bonding winding holds by its own coat: no film below it, no skin above it.
    let (glue, skin, wet) = match lay.bond {
        Some(_) => ((0.0, 0.0), (0.0, 0.0), "self-bonding wire: no adhesive"),
        None => ((0.01, 0.005), (0.02, 0.01), "no source"),
    };
    // What round wire wet with adhesive taught says nothing of another kind of wire or of paper.
    let usual = lay.bond.is_none() && lay.ribbon.is_none();
    let pitch_taught = a.learned.pitch_factor.filter(|_| usual);
    let nesting_taught = a.learned.nesting.filter(|_| usual && !papered);
    let copper = spec.wire.conductor == Conductor::Copper;
    let (excess, excess_from) = if copper {
        (1.0, "copper: common practice, no source")
    } else {
        (0.5, "aluminium: common practice, no source; taken for copper-clad aluminium too")
    };
    let l = &a.learned;
    let taught = l.dcr_ratio.filter(|_| a.resistance_excess.is_none());
    let excess_first = (excess, 0.5);
    // (1 + ε)·ratio = 1 + ε'
    let excess_learned = l.dcr_ratio.map(|t| t.of(|r| 100.0 * ((1.0 + excess / 100.0) * r - 1.0), 100.0 + excess));
    Assume {
        pitch_factor: origins.learnable(
            a.pitch_factor,
            "assume.pitch_factor",
            (pitch, pitch_taught.map(|t| t.of(|k| k, 1.0))),
            RATIO,
            habit,
            pitch_from,
        ),
        nesting: origins.learnable(
            a.nesting,
            "assume.nesting",
            (nesting, nesting_taught.map(|t| t.of(|b| b, 1.0))),
            RATIO,
            Mark::Derived,
            nesting_from,
        ),
        resistance_excess: origins.learnable(
            a.resistance_excess,
            EXCESS,
            (excess_first, excess_learned),
            PCT,
            habit,
            excess_from,
        ),
        elongation: origins.learnable(
            a.elongation,
            "assume.elongation_pct",
            (ELONGATION_PCT, l.more_elongation.map(|t| t.of(|more| ELONGATION_PCT.0 + 100.0 * more, 100.0))),
            PCT,
            habit,
            "no source",
        ),
        glue: origins.assume(a.glue, "assume.glue_mm", glue, MM, habit, wet),
        skin: origins.assume(
            a.skin,
            "assume.skin_mm",
            skin,
            MM,
            habit,
            if lay.bond.is_some() { wet } else { "no source; 0 if the winding is wiped" },
        ),
        wrap: a.wrap.unwrap_or(Measured::certain(Length::ZERO)),
        upper_layers: a.upper_layers.unwrap_or_else(|| {
            if spec.winding.layers > 1 && spec.winding.turns_per_layer.is_none() {
                origins.note(
                    "assume.alternate_layer_turns",
                    (-1.0, 0.0),
                    "turn",
                    habit,
                    "one_less: upper layers start and end one groove in; no source",
                );
            }
            UpperLayers::OneLess
        }),
        adhesive: a.adhesive.unwrap_or_else(|| {
            origins.note(
                "assume.adhesive_g_per_cm3",
                (1.15, 0.0),
                "g/cm³",
                Mark::Memory,
                "slow epoxies 1.15 to 1.25; the mass carries 20 % for the void's share",
            );
            Density::from_g_per_cm3(1.15)
        }),
        leads: origins.fill(spec.leads, "leads_m", (0.12, 0.02), M, habit, "two leads of 6 cm; no source"),
        tails: origins.fill(
            spec.tails,
            "tails_m",
            // Long leads make long tails.
            spec.leads.map(|l| (l.value.m(), l.u.m())).filter(|(leads, _)| *leads > TAILS_M.0).unwrap_or(TAILS_M),
            M,
            habit,
            "both ends together, leads within them: 0.3 to 0.5; no source",
        ),
        threading: match spec.threading {
            // Measured or decided for this coil: unlike an assumption it keeps its own doubt.
            Some(given) => given,
            None => origins.learnable(
                None,
                "threading_m",
                (THREADING_M, l.more_threading.map(|t| t.of(|more| THREADING_M.0 + more, 1.0))),
                M,
                habit,
                "machine and hand: 0.5 to 1.0; no source",
            ),
        },
        dcr_u: taught.map(|t| t.next.u / t.next.value),
        bond: match lay.bond {
            None => Measured::certain(Density::from_g_per_cm3(0.0)),
            Some(bond) => origins.fill(
                bond.density,
                "winding.bond.g_per_cm3",
                (1.10, 0.05),
                ("g/cm³", 1e3),
                Mark::Memory,
                "thermoplastic bond coats 1.0 to 1.2",
            ),
        },
    }
}

/// Least clearances (inner, outer) to start from, by the former's inside diameter; the original coil overrides them.
///
/// Common practice, no source: 19–25 mm 0.10/0.15, 38 mm 0.15/0.20, 51 mm 0.20/0.25, 65–75 mm 0.25/0.35, 100 mm
/// 0.25/0.40. Between these sizes the step lies midway.
pub(super) fn least_clearances(gap: &Gap, inside: Length, origins: &mut Origins) -> (Length, Length) {
    let (inner, outer) = match inside.mm() {
        d if d < 31.5 => (0.10, 0.15),
        d if d < 44.5 => (0.15, 0.20),
        d if d < 58.0 => (0.20, 0.25),
        d if d < 87.5 => (0.25, 0.35),
        _ => (0.25, 0.40),
    };
    let mut take = |given: Option<Length>, param: &str, mm: f64| {
        given.unwrap_or_else(|| {
            origins.note(
                param,
                (mm, 0.0),
                "mm",
                Mark::CommonPractice,
                "starting value for this former diameter; no source; the original coil overrides it",
            );
            Length::from_mm(mm)
        })
    };
    (take(gap.min_inner, "gap.min_inner_mm", inner), take(gap.min_outer, "gap.min_outer_mm", outer))
}
