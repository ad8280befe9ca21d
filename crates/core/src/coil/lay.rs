//! How the wires lie: one winding or two, one wire or several in hand, on one side of the former or both, round or flat.

use super::spec::Winding;
use crate::conductor::Conductor;
use crate::measured::Measured;
use crate::quantity::{Density, Length, LinearMass, LinearResistance, Temperature};
use crate::wire::{Wire, WireError, WireFigures};

/// What is asked of the winding beyond layers and width. By default one wire, laid plainly.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lay {
    /// The kind of winding.
    pub kind: Kind,
    /// Wires laid side by side at once; one if absent.
    pub wires_in_hand: Option<u32>,
    /// How the two windings of a dual coil lie to each other.
    pub arrangement: Option<Arrangement>,
    /// How the two windings of a dual coil are joined; by themselves if absent.
    pub connect: Option<Connect>,
    /// Layers of the inner winding of a stacked dual coil, or inside the former; half of all if absent.
    pub inner_layers: Option<u32>,
    /// Free width between two windings side by side.
    pub space: Option<Measured<Length>>,
    /// Thickness of the paper between layers.
    pub paper: Option<Measured<Length>>,
    /// Bond coat of a self-bonding wire.
    pub bond: Option<Bond>,
    /// The rectangular wire of an edge-wound coil.
    pub ribbon: Option<Ribbon>,
}

/// Kinds of winding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Kind {
    /// One winding on the outside of the former.
    #[default]
    Plain,
    /// Two windings with leads of their own.
    Dual,
    /// One winding, its first layers inside the former and the others outside.
    InsideOutside,
    /// Rectangular wire.
    EdgeWound,
}

/// How two windings lie to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrangement {
    /// The second on top of the first.
    Stacked,
    /// Beside each other along the former.
    SideBySide,
    /// Laid together, wire beside wire.
    InHand,
}

/// How two windings are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Connect {
    /// Not at all: figures are those of the first winding alone.
    Apart,
    /// One after the other.
    Series,
    /// Beside each other.
    Parallel,
}

/// The bond coat of a self-bonding wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bond {
    /// Diameter over the bond coat; for a ribbon its own dimensions are taken over it.
    pub overall: Option<Measured<Length>>,
    /// Temperature that the winding reaches when it is baked by current.
    pub bake: Option<Temperature>,
    /// Density of the bond coat.
    pub density: Option<Measured<Density>>,
}

/// A rectangular wire: `width` stands away from the former, `thickness` lies along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ribbon {
    /// Bare, away from the former.
    pub width: Measured<Length>,
    /// Bare, along the former.
    pub thickness: Measured<Length>,
    /// Over the insulation, away from the former.
    pub over_width: Measured<Length>,
    /// Over the insulation, along the former.
    pub over_thickness: Measured<Length>,
    /// Radius of its corners.
    pub corner_radius: Length,
    /// Resistance of a metre at 20 °C, measured on this wire.
    pub ohm_per_m: Option<Measured<LinearResistance>>,
    /// Mass of a metre with its insulation.
    pub g_per_m: Option<Measured<LinearMass>>,
}

/// Share of a square that four rounded corners of radius 1 take away, 4 − π.
const CORNERS: f64 = 4.0 - core::f64::consts::PI;

impl Ribbon {
    /// Section of the metal, m².
    ///
    /// ```text
    /// A = w·t − (4 − π)·r²
    /// ```
    pub fn area(&self) -> f64 {
        self.width.value.m() * self.thickness.value.m() - CORNERS * self.corner_radius.m() * self.corner_radius.m()
    }

    /// Section over the insulation, m²; its corners are rounded by the bare radius and the insulation together.
    pub fn over_area(&self) -> f64 {
        let insulation = (self.over_thickness.value - self.thickness.value).m() / 2.0;
        let r = self.corner_radius.m() + insulation;
        self.over_width.value.m() * self.over_thickness.value.m() - CORNERS * r * r
    }

    /// The ribbon as a wire: round diameters of the same sections carry mass and tension, the resistance is the measured
    /// one. A flattened wire does not keep its round area, so no diameter may stand for a resistance.
    ///
    /// # Errors
    /// Sections, resistance and mass that contradict each other.
    pub fn wire(&self, conductor: Conductor) -> Result<Wire, WireError> {
        let round = |area: f64| Length::from_m(libm::sqrt(area / core::f64::consts::FRAC_PI_4));
        let share = |m: Measured<Length>| if m.u > Length::ZERO { m.u / m.value } else { 0.006 };
        let relative = 0.5 * libm::hypot(share(self.width), share(self.thickness));
        let (bare, overall) = (round(self.area()), round(self.over_area()));
        Wire::new(WireFigures {
            conductor,
            bare: Measured::new(bare, bare * relative),
            bare_limits: None,
            overall: Measured::new(overall, overall * relative),
            overall_limits: None,
            ohm_per_m: self.ohm_per_m,
            ohm_per_m_limits: None,
            g_per_m: self.g_per_m,
        })
    }
}

/// A winding that cannot be laid as it was asked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{text}")]
pub struct LayError {
    /// JSON pointer of the parameter, within the coil.
    pub pointer: &'static str,
    /// What is wrong, in the trade's words.
    pub text: String,
    /// What to do about it.
    pub next: &'static str,
}

fn no<T>(pointer: &'static str, text: impl Into<String>, next: &'static str) -> Result<T, LayError> {
    Err(LayError { pointer, text: text.into(), next })
}

/// Layers inside a former that they would fill.
pub(super) fn no_room_inside(layers: usize, inside: Length) -> LayError {
    LayError {
        pointer: "/winding/inner_layers",
        text: format!(
            "{layers} layers of this wire fill a former of {:.2} mm inside: nothing is left for a pole",
            inside.mm()
        ),
        next: "lay fewer layers inside the former, or take a thinner wire",
    }
}

/// Most wires laid at once: more than a hand can guide.
const MOST_IN_HAND: u32 = 8;

/// Checks that what is asked for goes together.
///
/// # Errors
/// The first thing that does not.
pub fn check(w: &Winding) -> Result<(), LayError> {
    let lay = &w.lay;
    let hands = lay.wires_in_hand.unwrap_or(1);
    if !(1..=MOST_IN_HAND).contains(&hands) {
        return no(
            "/winding/wires_in_hand",
            format!("{hands} wires in hand cannot be laid at once: 1 to {MOST_IN_HAND}"),
            "leave it out for one wire; 2 is bifilar",
        );
    }
    let dual = lay.kind == Kind::Dual;
    if !dual && lay.arrangement.is_some() {
        return no(
            "/winding/arrangement",
            "only a dual coil has two windings to arrange",
            "add `kind`: `dual`, or leave it out",
        );
    }
    if !dual && lay.connect.is_some() {
        return no(
            "/winding/connect",
            "only a dual coil has two windings to join",
            "add `kind`: `dual`, or leave it out",
        );
    }
    match lay.kind {
        Kind::Dual => dual_lies(w, hands)?,
        Kind::InsideOutside => shared(w, "inside the former", "outside")?,
        Kind::EdgeWound => edge(lay, hands)?,
        Kind::Plain => {}
    }
    if lay.inner_layers.is_some() && !(lay.kind == Kind::InsideOutside || lay.arrangement == Some(Arrangement::Stacked))
    {
        return no(
            "/winding/inner_layers",
            "only a stacked dual coil, or one inside and outside the former, has inner layers",
            "leave it out",
        );
    }
    if lay.space.is_some() && lay.arrangement != Some(Arrangement::SideBySide) {
        return no("/winding/space_mm", "only windings side by side have a space between them", "leave it out");
    }
    if lay.ribbon.is_some() && lay.kind != Kind::EdgeWound {
        return no(
            "/winding/ribbon",
            "a rectangular wire is wound on edge",
            "add `kind`: `edge_wound`, or leave it out",
        );
    }
    if lay.paper.is_some_and(|p| p.value > Length::ZERO) && w.layers < 2 {
        return no("/winding/paper_mm", "one layer has no other to lay paper between", "leave it out, or add a layer");
    }
    bonded(w)
}

fn dual_lies(w: &Winding, hands: u32) -> Result<(), LayError> {
    match w.lay.arrangement {
        None => no(
            "/winding/arrangement",
            "the two windings of a dual coil may lie in three ways",
            "say `stacked` (one over the other), `side_by_side`, or `in_hand` (both wires laid at once)",
        ),
        Some(Arrangement::Stacked) => shared(w, "in the inner winding", "in the outer one"),
        Some(Arrangement::InHand) if w.lay.wires_in_hand.is_some() && hands != 2 => no(
            "/winding/wires_in_hand",
            format!("the two windings of a dual coil laid in hand are two wires, not {hands}"),
            "leave it out",
        ),
        Some(_) => Ok(()),
    }
}

/// Layers that are shared between two places: each must get at least one.
fn shared(w: &Winding, inner: &str, outer: &str) -> Result<(), LayError> {
    let layers = w.layers;
    match w.lay.inner_layers {
        Some(n) if n == 0 || n >= layers => no(
            "/winding/inner_layers",
            format!("{n} of {layers} layers cannot lie {inner}: at least one lies there and one {outer}"),
            "count the layers of both places together in `layers`",
        ),
        None if layers % 2 == 1 => no(
            "/winding/inner_layers",
            format!("{layers} layers cannot be shared evenly: say how many lie {inner}"),
            "add `inner_layers`",
        ),
        _ => Ok(()),
    }
}

fn edge(lay: &Lay, hands: u32) -> Result<(), LayError> {
    let Some(r) = &lay.ribbon else {
        return no(
            "/winding/ribbon",
            "an edge-wound coil needs the dimensions of its rectangular wire",
            "add `ribbon` with `width_mm`, `thickness_mm`, `over_width_mm`, `over_thickness_mm` and `ohm_per_m`",
        );
    };
    if hands > 1 {
        return no("/winding/wires_in_hand", "rectangular wire is laid one at a time", "leave it out");
    }
    if r.ohm_per_m.is_none() {
        return no(
            "/winding/ribbon/ohm_per_m",
            "the ohms per metre of a rectangular wire must be measured: flattening does not keep the area, and the round \
             wire it was made from may be a fifth off",
            "measure the resistance of a metre or more, both ends out, and give it at 20 °C",
        );
    }
    let (w, t) = (r.width.value.mm(), r.thickness.value.mm());
    if r.over_width.value < r.width.value || r.over_thickness.value < r.thickness.value {
        return no(
            "/winding/ribbon",
            "the insulated rectangular wire is thinner than the bare one",
            "check which dimension is which: `over_…` are taken over the insulation",
        );
    }
    let (radius, most) = (r.corner_radius.mm(), w.min(t) / 2.0);
    if radius > most * (1.0 + 1e-9) {
        return no(
            "/winding/ribbon/corner_radius_mm",
            format!("a corner radius of {radius} mm does not go into a wire of {w} × {t} mm: at most {most} mm"),
            "measure it again, or leave it out for sharp corners",
        );
    }
    Ok(())
}

fn bonded(w: &Winding) -> Result<(), LayError> {
    let Some(bond) = &w.lay.bond else { return Ok(()) };
    let ribbon = w.lay.kind == Kind::EdgeWound;
    if ribbon && bond.overall.is_some() {
        return no(
            "/winding/bond/overall_mm",
            "the dimensions of the rectangular wire are taken over its bond coat already",
            "leave it out",
        );
    }
    if !ribbon && bond.overall.is_none() {
        return no(
            "/winding/bond/overall_mm",
            "self-bonding wire lies as thick as it is over the bond coat, which is not said",
            "measure the wire over its bond coat",
        );
    }
    if w.lay.paper.is_some_and(|p| p.value > Length::ZERO) {
        return no(
            "/winding/paper_mm",
            "self-bonding wire holds by turns that touch: paper between the layers keeps them apart",
            "leave the paper out, or wind wet with adhesive",
        );
    }
    Ok(())
}
