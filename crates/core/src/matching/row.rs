//! One wire on one former in so many layers: all its figures as functions of the first layer's turns.

use crate::coil::assume::Assume;
use crate::coil::spec::{CoilSpec, UpperLayers};
use crate::former::blank_length;
use crate::wire::Wire;
use core::f64::consts::{FRAC_PI_4, PI};

/// A wire and the habits it is wound with. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WireFrame {
    /// o: overall diameter.
    pub overall: f64,
    /// p: pitch.
    pub pitch: f64,
    /// b·o: radial step from layer to layer.
    pub step: f64,
    /// Resistance per metre at 20 °C.
    pub ohm_per_m: f64,
    /// 1 + ε_R.
    pub excess: f64,
    /// Mass per metre.
    pub kg_per_m: f64,
    /// 1/(1 + ε_L).
    pub shrink: f64,
    /// Magnet wire to the terminals.
    pub leads: f64,
    /// Turns that a layer above the first has less: 0 or 1.
    pub less: f64,
    /// Film of glue.
    pub glue: f64,
    /// Skin of adhesive, one side.
    pub skin: f64,
    /// Skin and wrap, one side.
    pub over: f64,
    /// Density of the adhesive.
    pub adhesive: f64,
}

impl WireFrame {
    /// A wire with what is assumed for it.
    pub fn new(wire: &Wire, a: &Assume) -> WireFrame {
        let overall = wire.overall.value.m();
        WireFrame {
            overall,
            pitch: a.pitch_factor.value * overall,
            step: a.nesting.value * overall,
            ohm_per_m: wire.ohm_per_m().value.ohm_per_m(),
            excess: 1.0 + a.resistance_excess.value,
            kg_per_m: wire.g_per_m().value.kg_per_m(),
            shrink: 1.0 / (1.0 + a.elongation.value),
            leads: a.leads.value.m(),
            less: if a.upper_layers == UpperLayers::OneLess { 1.0 } else { 0.0 },
            glue: a.glue.value.m(),
            skin: a.skin.value.m(),
            over: (a.skin.value + a.wrap.value).m(),
            adhesive: a.adhesive.kg_per_m3(),
        }
    }
}

impl WireFrame {
    /// Wire in a winding that would have a resistance.
    pub fn length_for(&self, dcr: f64) -> f64 {
        (dcr / self.ohm_per_m - self.leads) / self.excess
    }
}

/// A former. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormerFrame {
    /// Outside diameter: inside diameter and two walls.
    pub outside: f64,
    /// Mass; 0 where the height is not known.
    pub mass: f64,
    /// Mechanical resistance per square tesla, where it is known.
    pub damping: Option<f64>,
}

impl FormerFrame {
    /// The former of a coil; `plate` is the thickness of the top plate.
    pub fn of(spec: &CoilSpec, plate: Option<f64>) -> FormerFrame {
        let f = &spec.former;
        let (inside, wall) = (f.inside_diameter.value.m(), f.wall.value.m());
        let height = f.height.map_or(0.0, |h| h.value.m());
        FormerFrame {
            outside: inside + 2.0 * wall,
            mass: f.material.density.value.kg_per_m3() * blank_length(inside, wall, f.slit.m()) * wall * height,
            damping: crate::substitution::damping(f, inside + wall, plate),
        }
    }
}

/// One wire on one former in so many layers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    wire: WireFrame,
    base: f64,
    layers: f64,
    /// Wire in one turn of the first layer, and in one turn of each layer above it together.
    first: f64,
    above: f64,
    /// Sum of the layers' mean diameters.
    diameters: f64,
}

impl Row {
    /// No layer yet.
    pub fn bare(wire: &WireFrame, former: &FormerFrame) -> Row {
        let base = former.outside + 2.0 * wire.glue;
        Row { wire: *wire, base, layers: 0.0, first: 0.0, above: 0.0, diameters: 0.0 }
    }

    /// One more layer: D_i = D₀ + o + 2(i−1)·b·o.
    pub fn add_layer(&mut self) {
        let d = self.base + self.wire.overall + 2.0 * self.layers * self.wire.step;
        let around = PI * d;
        let turn = libm::sqrt(around * around + self.wire.pitch * self.wire.pitch);
        if self.layers == 0.0 {
            self.first = turn;
        } else {
            self.above += turn;
        }
        self.diameters += d;
        self.layers += 1.0;
    }

    /// The same with this many layers.
    pub fn with_layers(mut self, layers: u32) -> Row {
        while self.layers < f64::from(layers) {
            self.add_layer();
        }
        self
    }

    /// Outside diameter at the cross-over, skin and wrap included.
    pub fn crossover(&self) -> f64 {
        self.crossover_of(self.layers)
    }

    /// The same with another number of layers: it needs nothing of the layers themselves.
    pub fn crossover_of(&self, layers: f64) -> f64 {
        self.base + 2.0 * layers * self.wire.overall + 2.0 * self.wire.over
    }

    /// Wire in the winding with `n` turns on the first layer.
    pub fn length(&self, n: f64) -> f64 {
        n * (self.first + self.above) - self.wire.less * self.above
    }

    /// Resistance at 20 °C with leads.
    pub fn dcr(&self, n: f64) -> f64 {
        self.wire.ohm_per_m * (self.length(n) * self.wire.excess + self.wire.leads)
    }

    /// Turns on the first layer that would give a resistance, as a real number.
    pub fn turns_for(&self, dcr: f64) -> f64 {
        self.turns_of(self.wire.length_for(dcr))
    }

    /// Turns on the first layer that take a length of wire, as a real number.
    pub fn turns_of(&self, length: f64) -> f64 {
        (length + self.wire.less * self.above) / (self.first + self.above)
    }

    /// Width that `n` turns take: N·p + o.
    pub fn width(&self, n: f64) -> f64 {
        n * self.wire.pitch + self.wire.overall
    }

    /// Turns that a width holds, as [`crate::coil::count::turns_in`] counts them.
    pub fn turns_in(&self, width: f64) -> f64 {
        whole((width - self.wire.overall) / self.wire.pitch + 1e-9)
    }

    /// Least turns on the first layer that leave one on every layer.
    pub fn fewest(&self) -> f64 {
        if self.layers > 1.0 { 1.0 + self.wire.less } else { 1.0 }
    }

    /// Turns of a layer above the first.
    pub fn upper(&self, n: f64) -> f64 {
        n - self.wire.less
    }

    /// Mass that moves with the winding: wire with leads, and adhesive; the former not.
    pub fn mass(&self, n: f64, width: f64) -> f64 {
        let w = &self.wire;
        let wound = self.length(n) * w.shrink;
        let build = w.overall + w.step * (self.layers - 1.0);
        let void = PI * (self.base + build) * width * build - wound * FRAC_PI_4 * w.overall * w.overall;
        let film = PI * self.base * width * w.glue;
        let skin = PI * (self.base + 2.0 * build) * width * w.skin;
        w.kg_per_m * (wound + w.leads) + w.adhesive * (void.max(0.0) + film + skin)
    }

    /// Wire in a field that is filled, `height` tall.
    pub fn in_filled_field(&self, height: f64) -> f64 {
        height / self.wire.pitch * PI * self.diameters
    }

    /// Wire in a field of `height` that the winding may or may not fill.
    pub fn in_tall_field(&self, n: f64, width: f64, height: f64) -> f64 {
        let first = self.base + self.wire.overall;
        let all = PI * (n * self.diameters - self.wire.less * (self.diameters - first));
        all * (height / width).min(1.0)
    }
}

/// The whole part of a count that is not negative; of a negative one no more than 0 is made. A cast is several times
/// quicker than a floor where the machine has no instruction for it.
pub(super) fn whole(x: f64) -> f64 {
    x as i64 as f64
}
