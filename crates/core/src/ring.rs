//! A closed metal former, or a turn shorted by bare enamel, as the winding sees it: a ring on the same axis.

use crate::former::Former;
use crate::inductance::{MU0, thick_coil, thin_coil};
use crate::mutual::{Section, Sheet, sheet_and_winding};
use core::f64::consts::PI;

/// A metal former. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MetalFormer {
    /// Mean diameter D: inside diameter plus wall.
    pub diameter: f64,
    /// Wall t.
    pub wall: f64,
    /// Height h.
    pub height: f64,
    /// Resistivity ρ.
    pub resistivity: f64,
}

/// A closed ring: its resistance, its inductance, and how strongly it is coupled with the winding. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Resistance around, Ω.
    pub resistance: f64,
    /// Inductance, H.
    pub inductance: f64,
    /// Coupling k with the winding, 0 to 1.
    pub coupling: f64,
}

/// What an impedance bridge sees of a winding at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Inductance, H.
    pub inductance: f64,
    /// Resistance beyond the winding's own, Ω.
    pub added_resistance: f64,
}

/// The winding's inductance by the exact integral, one turn: L/N².
pub fn per_turn_squared(winding: Section, points: usize) -> f64 {
    thick_coil(1.0, winding.inner, winding.outer, winding.length, points)
}

impl MetalFormer {
    /// A former as a ring, if it is of metal; as tall as it is said, or without end where nothing is said.
    pub fn of(f: &Former) -> Option<MetalFormer> {
        Some(MetalFormer {
            diameter: (f.inside_diameter.value + f.wall.value).m(),
            // Vent holes let as much less current round as they take of the wall.
            wall: f.wall.value.m() * f.kept(),
            height: f.height.map_or(f64::INFINITY, |h| h.value.m()),
            resistivity: f.material.resistivity?.ohm_m(),
        })
    }

    /// The former as a closed ring under a winding, whose middle lies `offset` from the former's.
    ///
    /// ```text
    /// R_s = ρπD/(t·h)      L_s = μ0π(D/2)²/h·K(D/h)      k = M/√(L_s·L/N²)
    /// ```
    ///
    /// K is Nagaoka's coefficient; M and L/N² are exact integrals. L_s equals L/N² only where the former is as tall as the
    /// winding. The ring's current is taken as spread evenly over its height: in a former much taller than the winding it
    /// draws together under it, which raises both R_s and k.
    pub fn closed(&self, winding: Section, offset: f64, points: usize) -> Ring {
        let sheet = Sheet { radius: self.diameter / 2.0, length: self.height };
        let inductance = thin_coil(1.0, sheet.radius, sheet.length);
        let mutual = sheet_and_winding(sheet, winding, offset, points);
        Ring {
            resistance: self.resistivity * PI * self.diameter / (self.wall * self.height),
            inductance,
            coupling: mutual / libm::sqrt(inductance * per_turn_squared(winding, points)),
        }
    }

    /// Mechanical resistance per square tesla that the former adds while closed, N·s/m per T².
    ///
    /// ```text
    /// r_m/B² = πD·t·h_g/ρ
    /// ```
    ///
    /// `plate` is h_g, the height of the field; no more of it counts than the former is tall. Worked: 51.12 mm, 0.12 mm
    /// foil of 2.8e-8 Ω·m, 8 mm plate: 5.51, so 5.5 N·s/m in a field of 1 T.
    pub fn damping_closed(&self, plate: f64) -> f64 {
        PI * self.diameter * self.wall * plate.min(self.height) / self.resistivity
    }

    /// The same with a slit: the current returns above and below the field, so most of the damping stays.
    ///
    /// ```text
    /// slit = closed·(1 − h_g/h)
    /// ```
    pub fn damping_slit(&self, plate: f64) -> f64 {
        self.damping_closed(plate) * (1.0 - plate.min(self.height) / self.height)
    }
}

/// `turns` neighbouring turns of one layer, shorted, in the middle of the winding's width.
///
/// ```text
/// one turn:  L_t = μ0·a·(ln(8a/r) − 1.75)       R = r20·2πa per turn
/// ```
///
/// `radius` a of the layer, `wire` r the bare radius, `pitch` from turn to turn, `ohm_per_m` as wound; metres, ohms.
/// Several turns are taken as a winding of their own with an even current.
///
/// # Sources
/// Loop of round wire with even current: Maxwell; Rosa & Grover, Bulletin of the Bureau of Standards 8 (1912).
pub fn shorted_turns(turns: u32, radius: f64, wire: f64, pitch: f64, ohm_per_m: f64, winding: Section) -> Ring {
    let n = f64::from(turns);
    let own = if turns == 1 {
        MU0 * radius * (libm::log(8.0 * radius / wire) - 1.75)
    } else {
        thick_coil(n, radius - wire, radius + wire, n * pitch, 16)
    };
    let sheet = Sheet { radius, length: n * pitch };
    let mutual = n * sheet_and_winding(sheet, winding, 0.0, 16);
    Ring {
        resistance: n * ohm_per_m * 2.0 * PI * radius,
        inductance: own,
        coupling: (mutual / libm::sqrt(own * per_turn_squared(winding, 16))).min(1.0),
    }
}

impl Ring {
    /// Frequency above which the ring's inductance rules its current, Hz: R/(2πL).
    pub fn corner(&self) -> f64 {
        self.resistance / (2.0 * PI * self.inductance)
    }

    /// The winding with this ring beside it, at `frequency`, Hz; `alone` is its inductance without it.
    ///
    /// ```text
    /// x = f/f_corner:   L falls by k²x²/(1+x²),   resistance rises by k²·ωL·x/(1+x²)
    /// ```
    pub fn seen(&self, alone: f64, frequency: f64) -> Seen {
        let x = frequency / self.corner();
        let share = self.coupling * self.coupling * x / (1.0 + x * x);
        Seen { inductance: alone * (1.0 - share * x), added_resistance: share * 2.0 * PI * frequency * alone }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn former() -> MetalFormer {
        MetalFormer { diameter: 51.12e-3, wall: 0.12e-3, height: 38e-3, resistivity: 2.8e-8 }
    }
    fn winding() -> Section {
        Section { inner: 25.63e-3, outer: 26.156e-3, length: 14.68e-3 }
    }

    /// Source: Rosa & Grover's worked loop, a = 25 cm, wire radius 0.05 cm: 654.405·π cm = 2.05587 µH (value from memory).
    #[test]
    fn one_turn_is_the_printed_loop() {
        let ring = shorted_turns(1, 0.25, 0.5e-3, 1e-3, 0.1, Section { inner: 0.24, outer: 0.26, length: 0.02 });
        assert!((ring.inductance * 1e6 - 2.05587).abs() < 5e-6, "{}", ring.inductance);
    }

    /// The two coupled circuits solved as complex numbers: Z = jωL + ω²M²/(R + jωL_s).
    #[test]
    fn a_ring_is_seen_as_two_coupled_circuits() {
        let ring = former().closed(winding(), 0.0, 16);
        let alone = 103.0 * 103.0 * per_turn_squared(winding(), 16);
        for f in [100.0, 1e3, 1e4, 1e5] {
            let w = 2.0 * PI * f;
            let m2 = ring.coupling * ring.coupling * ring.inductance * alone;
            let (r, x) = (ring.resistance, w * ring.inductance);
            let seen = ring.seen(alone, f);
            let resistance = w * w * m2 * r / (r * r + x * x);
            let inductance = alone - w * w * m2 * x / (r * r + x * x) / w;
            assert!((seen.added_resistance / resistance - 1.0).abs() < 1e-12);
            assert!((seen.inductance / inductance - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_former_as_tall_as_a_thin_winding_upon_it_is_coupled_almost_fully() {
        let f = MetalFormer { height: 15e-3, ..former() };
        let thin = Section { inner: f.diameter / 2.0, outer: f.diameter / 2.0 + 1e-6, length: 15e-3 };
        let ring = f.closed(thin, 0.0, 32);
        assert!((ring.coupling - 1.0).abs() < 1e-4, "{}", ring.coupling);
        assert!((ring.inductance / per_turn_squared(thin, 32) - 1.0).abs() < 1e-3);
    }

    /// Scaling: all lengths doubled, resistivity the same: R_s halves, L_s doubles, k stays, the corner falls to a quarter.
    #[test]
    fn a_ring_twice_as_large_has_a_quarter_of_the_corner() {
        let twice = MetalFormer { diameter: 102.24e-3, wall: 0.24e-3, height: 76e-3, ..former() };
        let w = winding();
        let (small, large) = (
            former().closed(w, 2e-3, 16),
            twice.closed(Section { inner: 2.0 * w.inner, outer: 2.0 * w.outer, length: 2.0 * w.length }, 4e-3, 16),
        );
        assert!((large.coupling / small.coupling - 1.0).abs() < 1e-12);
        assert!((large.corner() / small.corner() - 0.25).abs() < 1e-12);
    }

    #[test]
    fn a_slit_leaves_what_the_former_beyond_the_plate_allows() {
        let f = former();
        assert!((f.damping_closed(8e-3) - 5.506).abs() < 0.001, "{}", f.damping_closed(8e-3));
        assert!((f.damping_slit(8e-3) / f.damping_closed(8e-3) - (1.0 - 8.0 / 38.0)).abs() < 1e-12);
        assert_eq!(f.damping_slit(50e-3), 0.0);
    }

    #[test]
    fn more_shorted_turns_show_more() {
        let w = winding();
        let alone = 103.0 * 103.0 * per_turn_squared(w, 16);
        let seen = |n| shorted_turns(n, 26.0175e-3, 0.127e-3, 0.2824e-3, 0.3437, w).seen(alone, 1e4).inductance;
        assert!(seen(1) < alone && seen(2) < seen(1) && seen(5) < seen(2));
    }
}
