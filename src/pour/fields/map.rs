//! Values of the fields at points of a surface, for a page that colours by them.

use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::front::Front;
use crate::pour::fields::grid::NONE;

impl Fields {
    /// Local volume over area just inside a point of the surface (mm); `inward` is unit. Not a number where there is no
    /// metal cell near it.
    pub fn modulus_at(&self, p: Vec3, inward: Vec3) -> f32 {
        self.slot_behind(p, inward)
            .map_or(f32::NAN, |slot| 1.0 / self.surface[slot])
    }

    /// The metal's travel to a point of the surface (mm); infinite where no gate leads. Not a number where there is no
    /// metal cell near it.
    pub fn travel_at(&self, front: &Front, p: Vec3, inward: Vec3) -> f32 {
        self.slot_behind(p, inward)
            .map_or(f32::NAN, |slot| front.travel_mm[slot])
    }

    /// Local volume over area at each point of the mesh (mm).
    pub fn modulus_map(&self) -> Vec<f32> {
        self.at_points(|p, inward| self.modulus_at(p, inward))
    }

    /// The metal's travel to each point of the mesh (mm).
    pub fn travel_map(&self, front: &Front) -> Vec<f32> {
        self.at_points(|p, inward| self.travel_at(front, p, inward))
    }

    /// A value at each point of the mesh, with the inward direction there.
    fn at_points(&self, value: impl Fn(Vec3, Vec3) -> f32) -> Vec<f32> {
        let mut inward = vec![Vec3::ZERO; self.solid.points.len()];
        for (t, [a, b, c]) in self.solid.triangles.iter().zip(self.solid.corners()) {
            let normal = (b - a).cross(c - a);
            t.iter().for_each(|i| inward[*i as usize] -= normal);
        }
        let points = self.solid.points.iter().zip(&inward);
        points
            .map(|(p, inward)| value(*p, inward.normalize_or_zero()))
            .collect()
    }

    /// The metal cell behind a point of the surface.
    fn slot_behind(&self, p: Vec3, inward: Vec3) -> Option<usize> {
        let cell_mm = self.grid.cell_mm;
        for back in [0.5, 1.0, 0.0, 1.5] {
            let cell = self.grid.find(p + inward * (back * cell_mm));
            if let Some(cell) = cell.filter(|c| self.metal.holds(*c)) {
                return Some(self.metal.slot[cell] as usize);
            }
        }
        let mut best = (f64::INFINITY, NONE);
        let reach = 2.0 * cell_mm;
        self.grid.each_within(p - reach, p + reach, |c| {
            let far = self.grid.middle(c).distance(p);
            if self.metal.holds(c) && far < best.0 {
                best = (far, self.metal.slot[c]);
            }
        });
        (best.1 != NONE).then_some(best.1 as usize)
    }
}
