//! Values of the fields at points of a surface, for a page that colours by them.
//!
//! Method: between the middles of the eight cells round a place a little inside the surface, each weighed by its nearness
//! along the axes; cells that aren't metal are left out, so that nothing comes from beyond a wall or a gap.

use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::front::Front;
use crate::pour::fields::grid::NONE;
use crate::pour::fields::meet::Meeting;

/// Places along the way in, as shares of a cell.
const ALONG: f64 = 0.5;

/// How far in a value is looked for, in cells: half a cell first, on the first cells' middles.
const IN: [f64; 4] = [0.5, 1.0, 0.0, 1.5];

impl Fields {
    /// Local volume over area of the section behind a point of the surface (mm); `inward` is unit. It is that of the mean
    /// surface over volume from the surface to half the local thickness: right at the surface it would read 8 % low.
    /// `None` where there is no metal cell near it.
    pub fn modulus_at(&self, p: Vec3, inward: Vec3) -> Option<f64> {
        let half = self.just_inside(p, inward, &|slot| self.half_mm[slot])?;
        let surface = |slot: usize| self.surface[slot];
        let steps = (half / (ALONG * self.grid.cell_mm)).ceil().max(1.0);
        let (mut sum, mut count) = (0.0, 0.0);
        for k in 0..steps as usize {
            let depth = (k as f64 + 0.5) * half / steps;
            // The way may leave the metal where a heavier section is beside a thin one.
            match self.between(p + inward * depth, &surface) {
                Some(w) => (sum, count) = (sum + w, count + 1.0),
                None if count > 0.0 => break,
                None => {}
            }
        }
        if count == 0.0 {
            (sum, count) = (self.just_inside(p, inward, &surface)?, 1.0);
        }
        Some(count / sum)
    }

    /// The diameter of the largest ball inside the metal at a point of the surface (mm). `None` where there is no metal cell
    /// near it.
    pub fn ball_at(&self, p: Vec3, inward: Vec3) -> Option<f64> {
        let girth = self.girth_mm();
        self.just_inside(p, inward, &|slot| girth[slot])
    }

    /// The metal's travel to a point of the surface (mm). `None` where there is no metal cell near it that a gate leads to.
    pub fn travel_at(&self, front: &Front, p: Vec3, inward: Vec3) -> Option<f64> {
        self.just_inside(p, inward, &|slot| front.travel_mm[slot])
    }

    /// Where fronts meet: 1 at the metal cells of some meetings and those beside them, 0 elsewhere; one a metal cell.
    pub fn seams(&self, meetings: &[Meeting]) -> Vec<f32> {
        let mut seams = vec![0.0; self.metal.len()];
        for &slot in meetings.iter().flat_map(|m| &m.slots) {
            seams[slot as usize] = 1.0;
            for &other in &self.metal.near[slot as usize] {
                if other != NONE {
                    seams[other as usize] = 1.0;
                }
            }
        }
        seams
    }

    /// A value (one a metal cell) just inside a point of the surface; `None` where no metal cell near it has one.
    pub fn just_inside(&self, p: Vec3, inward: Vec3, value: &dyn Fn(usize) -> f32) -> Option<f64> {
        let cell_mm = self.grid.cell_mm;
        let places = IN.map(|back| p + inward * (back * cell_mm));
        let found = places.iter().find_map(|place| self.between(*place, value));
        found.or_else(|| {
            let mut best = (f64::INFINITY, None);
            let reach = 2.0 * cell_mm;
            self.grid.each_within(p - reach, p + reach, |c| {
                let far = self.grid.middle(c).distance(p);
                if self.metal.holds(c) && far < best.0 {
                    best = (far, Some(value(self.metal.slot[c] as usize)));
                }
            });
            best.1.map(f64::from).filter(|v| v.is_finite())
        })
    }

    /// A value between the middles of the metal cells round a place; what isn't finite counts as no metal.
    fn between(&self, p: Vec3, value: &dyn Fn(usize) -> f32) -> Option<f64> {
        let grid = &self.grid;
        let at = (p - grid.low) / grid.cell_mm - 0.5;
        let low = at.floor();
        let share = at - low;
        let (mut sum, mut weight) = (0.0, 0.0);
        for corner in 0..8 {
            let up = [corner & 1, corner >> 1 & 1, corner >> 2 & 1];
            let place: [f64; 3] = std::array::from_fn(|k| low[k] + up[k] as f64);
            let there = (0..3).all(|k| place[k] >= 0.0 && place[k] < grid.count[k] as f64);
            let near: f64 = (0..3)
                .map(|k| if up[k] == 1 { share[k] } else { 1.0 - share[k] })
                .product();
            if !there || near <= 0.0 {
                continue;
            }
            let slot = self.metal.slot[grid.index(place.map(|x| x as usize))];
            if slot == NONE {
                continue;
            }
            let v = value(slot as usize);
            if v.is_finite() {
                sum += near * f64::from(v);
                weight += near;
            }
        }
        (weight > 0.0).then(|| sum / weight)
    }
}
