//! Two coils worked out together, so that what they have in common cannot set them apart.

use super::assume::{self, Origins};
use super::design::{DesignError, as_is, count, inputs};
use super::figures::{Figures, Fixed, Shape, ShapeAt, Spacing, figures, in_field};
use super::laid::Laid;
use super::range;
use super::spec::CoilSpec;
use crate::measured::{Input, Inputs, Propagated};
use crate::motor::Field;

/// One of the two, at the point where it is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// Its dimensions.
    pub shape: Shape,
    /// Its figures.
    pub figures: Figures,
    fixed: Fixed<'a>,
}

impl Side<'_> {
    /// Length of wire that works in the field as the windings are joined, m.
    pub fn in_field(&self, field: Field) -> f64 {
        in_field(self.shape, self.fixed, &self.figures, field)
    }
}

/// Two coils whose common dimensions move together.
#[derive(Debug)]
pub struct Joint<'a> {
    specs: [&'a CoilSpec; 2],
    turns: [Vec<u32>; 2],
    laid: [Laid; 2],
    spacing: [Spacing; 2],
    density: [f64; 2],
    inputs: Vec<Input>,
    places: [[usize; Shape::LEN]; 2],
}

impl<'a> Joint<'a> {
    /// The two coils, and `more` inputs that go with them.
    ///
    /// A dimension is common where both have it with the same value and uncertainty: one gap, one mandrel, one hand that
    /// winds. The wire's own dimensions are common only where `same_wire` says that both are of one spool; the two widths
    /// are never, since each is laid by itself.
    ///
    /// # Errors
    /// As [`super::design()`], with which of the two it was.
    pub fn new(specs: [&'a CoilSpec; 2], same_wire: bool, more: &[Input]) -> Result<Self, (usize, DesignError)> {
        let mut all = more.to_vec();
        let mut places = [[0; Shape::LEN]; 2];
        let mut lists = [[Input::certain(0.0); Shape::LEN]; 2];
        let (mut turns, mut spacing, mut density) = ([const { Vec::new() }; 2], [Spacing::WidthFilled; 2], [0.0; 2]);
        let laid = specs.map(|s| Laid::of(&s.winding));
        for (side, spec) in specs.iter().enumerate() {
            let at = |e: DesignError| (side, e);
            range::check(spec).map_err(|e| at(e.into()))?;
            let assumed = assume::complete(spec, &mut Origins(Vec::new()));
            (turns[side], spacing[side]) = count(spec, &laid[side], &assumed).map_err(at)?;
            density[side] = assumed.adhesive.kg_per_m3();
            lists[side] = inputs(spec, &assumed);
        }
        for member in 0..Shape::LEN {
            let (one, other) = (lists[0][member], lists[1][member]);
            places[0][member] = all.len();
            all.push(one);
            places[1][member] = all.len();
            if one == other && may_be_common(member, same_wire) {
                places[1][member] -= 1;
            } else {
                all.push(other);
            }
        }
        Ok(Joint { specs, turns, laid, spacing, density, inputs: all, places })
    }

    /// Carries the uncertainties of both through `formula`, which sees the `more` inputs and the two coils.
    pub fn propagate(&self, mut formula: impl FnMut(&[f64], [Side; 2], &mut Vec<f64>)) -> Propagated {
        Inputs::new(self.inputs.clone()).propagate(|x, out| formula(x, [self.side(0, x), self.side(1, x)], out))
    }

    /// The two coils at their middle values.
    pub fn middle(&self) -> [Side<'_>; 2] {
        let x: Vec<f64> = self.inputs.iter().map(|i| i.value).collect();
        [self.side(0, &x), self.side(1, &x)]
    }

    fn side(&self, side: usize, x: &[f64]) -> Side<'_> {
        let shape = Shape::from_array(self.places[side].map(|at| x[at]));
        let (spec, turns) = (self.specs[side], &self.turns[side]);
        let fixed = Fixed {
            wire: &spec.wire,
            turns,
            spacing: self.spacing[side],
            slit: spec.former.slit.m(),
            adhesive_density: self.density[side],
            bench_ratio: 1.0,
            hot_growth: 0.0,
            laid: &self.laid[side],
            as_is: as_is(spec),
        };
        Side { shape, figures: figures(shape, fixed), fixed }
    }
}

fn may_be_common(member: usize, same_wire: bool) -> bool {
    let of_the_wire = [
        ShapeAt::bare,
        ShapeAt::overall,
        ShapeAt::resistance_factor,
        ShapeAt::mass_factor,
        ShapeAt::under_bond,
        ShapeAt::bond_density,
        ShapeAt::axial,
    ];
    let own = [ShapeAt::width, ShapeAt::space, ShapeAt::former_outside];
    let is = |at: &ShapeAt| *at as usize == member;
    if of_the_wire.iter().any(is) { same_wire } else { !own.iter().any(is) }
}
