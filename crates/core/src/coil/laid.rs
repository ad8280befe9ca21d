//! The windings of a coil, worked out: which layers each has, how many wires lie together, and how they join.

use super::lay::{Arrangement, Connect, Kind};
use super::spec::Winding;
use crate::motor::Field;

/// One winding: its layers, and the wires that run beside each other in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// Its first layer, from the inside out.
    pub first: usize,
    /// How many layers it has.
    pub layers: usize,
    /// Wires joined in parallel at its ends; each is an unbroken length of its own.
    pub wires: u32,
}

/// How the layers of a coil are shared out.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// The windings, the inner or first one first. A plain coil has one.
    pub parts: Vec<Part>,
    /// Wires laid side by side at once, of whichever winding: a turn advances by so many pitches.
    pub hands: u32,
    /// Windings beside each other along the former.
    pub beside: u32,
    /// Layers that lie inside the former.
    pub inside: usize,
    /// How the windings are joined.
    pub connect: Connect,
    /// Layers altogether, as a radius meets them.
    pub layers: usize,
}

impl Laid {
    /// One wire, one winding, outside the former.
    pub fn plain(layers: usize) -> Laid {
        Laid {
            parts: vec![Part { first: 0, layers, wires: 1 }],
            hands: 1,
            beside: 1,
            inside: 0,
            connect: Connect::Apart,
            layers,
        }
    }

    /// Shares out the layers of a winding that [`super::lay::check`] let through.
    pub fn of(w: &Winding) -> Laid {
        let (layers, lay) = (w.layers as usize, &w.lay);
        let hands = lay.wires_in_hand.unwrap_or(1);
        let inner = lay.inner_layers.map_or(layers / 2, |n| n as usize);
        let whole = |wires| Part { first: 0, layers, wires };
        let (parts, hands, beside) = match (lay.kind, lay.arrangement) {
            (Kind::Dual, Some(Arrangement::Stacked)) => {
                let outer = Part { first: inner, layers: layers.saturating_sub(inner), wires: hands };
                (vec![Part { first: 0, layers: inner, wires: hands }, outer], hands, 1)
            }
            (Kind::Dual, Some(Arrangement::SideBySide)) => (vec![whole(hands); 2], hands, 2),
            (Kind::Dual, _) => (vec![whole(1); 2], 2, 1),
            _ => (vec![whole(hands)], hands, 1),
        };
        let inside = if lay.kind == Kind::InsideOutside { inner } else { 0 };
        let connect = lay.connect.unwrap_or(Connect::Apart);
        Laid { parts, hands, beside, inside, connect, layers }
    }

    /// One winding of one block on the outside of the former, whatever it is wound of.
    pub fn is_one_block(&self) -> bool {
        self.parts.len() == 1 && self.inside == 0
    }

    /// Unbroken lengths of wire in one coil.
    pub fn pieces(&self) -> u32 {
        self.parts.iter().map(|p| p.wires).sum()
    }

    /// Times that the coil goes round while it is wound.
    pub fn revolutions(&self, turns: &[u32]) -> u32 {
        self.beside * turns.iter().sum::<u32>()
    }

    /// Turns that one current would have to go round alone to make the field of all: every winding's in series, half of
    /// them in parallel, the first winding's where they are apart.
    pub fn turns_around(&self, turns: &[u32]) -> f64 {
        let of = |p: &Part| f64::from(turns.iter().skip(p.first).take(p.layers).sum::<u32>());
        let each: Vec<f64> = self.parts.iter().map(of).collect();
        match self.connect {
            Connect::Apart => each.first().copied().unwrap_or(0.0),
            Connect::Series => each.iter().sum(),
            Connect::Parallel => each.iter().sum::<f64>() / each.len() as f64,
        }
    }

    /// Whether a winding ends at the far side of the coil.
    pub fn ends_far(&self) -> bool {
        self.parts.iter().any(|p| p.layers % 2 == 1)
    }

    /// A figure that the windings add as they are joined: turns, or force per current.
    ///
    /// ```text
    /// series  Σ b_i        parallel  Σ (b_i/R_i) / Σ (1/R_i)        apart  b_1
    /// ```
    ///
    /// `each` gives the figure and the resistance of every winding. In parallel the currents share themselves out by
    /// resistance, so that two equal windings have the figure of one.
    pub fn joined(&self, each: &[(f64, f64)]) -> f64 {
        let first = each.first().map_or(0.0, |e| e.0);
        match self.connect {
            _ if each.len() < 2 => first,
            Connect::Apart => first,
            Connect::Series => each.iter().map(|e| e.0).sum(),
            Connect::Parallel => {
                each.iter().map(|e| e.0 / e.1).sum::<f64>() / each.iter().map(|e| 1.0 / e.1).sum::<f64>()
            }
        }
    }

    /// Length of wire of one winding that works in the field, m; windings side by side have half of it each.
    ///
    /// `turns` and `diameters` of all layers, `pitch` from wire to wire, `width` of the whole coil.
    pub fn in_field(
        &self,
        p: &Part,
        field: Field,
        turns: &[u32],
        diameters: &[f64],
        (pitch, width): (f64, f64),
    ) -> f64 {
        let mine = match field {
            Field::Filled(height) => Field::Filled(height / f64::from(self.beside)),
            tall @ Field::Tall(_) => tall,
        };
        mine.wire_in_it(
            turns.iter().skip(p.first).take(p.layers).map(|n| f64::from(*n)),
            diameters.iter().skip(p.first).take(p.layers).copied(),
            pitch * f64::from(self.hands),
            width,
        )
    }

    /// Resistance of the windings as they are joined.
    pub fn resistance(&self, each: &[f64]) -> f64 {
        let first = each.first().copied().unwrap_or(0.0);
        match self.connect {
            _ if each.len() < 2 => first,
            Connect::Apart => first,
            Connect::Series => each.iter().sum(),
            Connect::Parallel => 1.0 / each.iter().map(|r| 1.0 / r).sum::<f64>(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coil::lay::Lay;

    fn laid(layers: u32, lay: Lay) -> Laid {
        Laid::of(&Winding { layers, width: None, turns_per_layer: None, lay })
    }

    #[test]
    fn layers_go_to_the_windings_that_have_them() {
        assert_eq!(laid(2, Lay::default()).parts, [Part { first: 0, layers: 2, wires: 1 }]);
        let stacked = Lay { kind: Kind::Dual, arrangement: Some(Arrangement::Stacked), ..Lay::default() };
        let l = laid(6, Lay { inner_layers: Some(2), wires_in_hand: Some(3), ..stacked });
        assert_eq!(l.parts, [Part { first: 0, layers: 2, wires: 3 }, Part { first: 2, layers: 4, wires: 3 }]);
        assert_eq!((l.pieces(), l.hands), (6, 3));
        let in_hand = Lay { kind: Kind::Dual, arrangement: Some(Arrangement::InHand), ..Lay::default() };
        let l = laid(2, in_hand);
        assert_eq!((l.pieces(), l.hands, l.revolutions(&[20, 19])), (2, 2, 39));
        let beside = Lay { kind: Kind::Dual, arrangement: Some(Arrangement::SideBySide), ..Lay::default() };
        assert_eq!(laid(2, beside).revolutions(&[20, 19]), 78);
    }

    #[test]
    fn equal_windings_double_in_series_and_halve_in_parallel() {
        let mut l = laid(2, Lay { kind: Kind::Dual, arrangement: Some(Arrangement::InHand), ..Lay::default() });
        l.connect = Connect::Series;
        assert_eq!((l.resistance(&[4.0, 4.0]), l.joined(&[(5.0, 4.0), (5.0, 4.0)])), (8.0, 10.0));
        l.connect = Connect::Parallel;
        assert_eq!((l.resistance(&[4.0, 4.0]), l.joined(&[(5.0, 4.0), (5.0, 4.0)])), (2.0, 5.0));
    }
}
