//! The nearest triangle of each cell, and the half thickness of the metal round it.
//!
//! Method: cells on the surface are seeded with the triangles that pass through them; then each cell takes its
//! neighbour's triangle where that is nearer than its own, in sweeps from all eight corners of the grid. The half
//! thickness is the distance at the top that one comes to by climbing from cell to cell.

use crate::measure::Vec3;
use crate::pour::fields::grid::{Grid, Metal, NONE};
use crate::pour::fields::scan::{Lattice, steepest};
use crate::solid::Solid;

/// The distance to the surface and the nearest triangle.
#[derive(Debug, Clone, Default)]
pub struct Nearest {
    /// Distance of each metal cell's middle from the surface (mm); one a metal cell.
    pub distance_mm: Vec<f32>,
    /// The triangle; one a metal cell; the greatest u32 where none was found.
    pub triangle: Vec<u32>,
}

/// The nearest triangle of each metal cell.
pub(super) fn nearest(solid: &Solid, grid: &Grid, metal: &Metal) -> Nearest {
    let mut sweep = Sweep {
        grid,
        corners: solid.corners().collect(),
        distance: vec![f32::MAX; grid.cells()],
        triangle: vec![NONE; grid.cells()],
    };
    sweep.seed();
    let reach = sweep.reach();
    for round in 0..8 {
        sweep.pass(&reach, [round & 1, round >> 1 & 1, round >> 2 & 1]);
    }
    let pick = |c: &u32| *c as usize;
    Nearest {
        distance_mm: metal
            .cells
            .iter()
            .map(|c| sweep.distance[pick(c)])
            .collect(),
        triangle: metal
            .cells
            .iter()
            .map(|c| sweep.triangle[pick(c)])
            .collect(),
    }
}

struct Sweep<'a> {
    grid: &'a Grid,
    corners: Vec<[Vec3; 3]>,
    /// One a cell.
    distance: Vec<f32>,
    /// One a cell.
    triangle: Vec<u32>,
}

impl Sweep<'_> {
    /// Offers a triangle to a cell that has any metal.
    fn offer(&mut self, cell: usize, triangle: u32) {
        if self.grid.fill[cell] <= 0.0 || self.triangle[cell] == triangle {
            return;
        }
        let far = distance(self.grid.middle(cell), &self.corners[triangle as usize]) as f32;
        if far < self.distance[cell] {
            self.distance[cell] = far;
            self.triangle[cell] = triangle;
        }
    }

    /// Offers every triangle to the cells that it passes through or beside.
    fn seed(&mut self) {
        let grid = self.grid;
        for t in 0..self.corners.len() {
            let corners = self.corners[t];
            for p in corners {
                if let Some(cell) = grid.find(p) {
                    self.offer(cell, t as u32);
                }
            }
            let normal = (corners[1] - corners[0]).cross(corners[2] - corners[0]);
            let up = steepest(normal);
            let axes = [(up + 1) % 3, (up + 2) % 3];
            let lattice = Lattice {
                axes,
                first: axes.map(|k| grid.low[k] + grid.cell_mm / 2.0),
                pitch: grid.cell_mm,
                count: axes.map(|k| grid.count[k]),
            };
            lattice.cover(&corners, |column, row, p| {
                let height = ((p[up] - grid.low[up]) / grid.cell_mm) as usize;
                for k in height.saturating_sub(1)..=(height + 1).min(grid.count[up] - 1) {
                    let mut at = [0; 3];
                    (at[axes[0]], at[axes[1]], at[up]) = (column, row, k);
                    self.offer(grid.index(at), t as u32);
                }
            });
        }
    }

    /// The stretch of each column that has any metal.
    fn reach(&self) -> Vec<(usize, usize)> {
        let columns = self.grid.fill.chunks(self.grid.count[2]);
        columns
            .map(|c| {
                let first = c.iter().position(|f| *f > 0.0);
                let last = c.iter().rposition(|f| *f > 0.0);
                first.zip(last).map_or((0, 0), |(a, b)| (a, b + 1))
            })
            .collect()
    }

    /// One sweep: along each axis from low to high (0) or back (1). The margin of the grid is left out.
    fn pass(&mut self, reach: &[(usize, usize)], back: [usize; 3]) {
        let grid = self.grid;
        let steps = grid.steps();
        let from: [isize; 3] =
            std::array::from_fn(|k| if back[k] == 0 { -steps[k] } else { steps[k] });
        let along = |i: usize, n: usize, k: usize| if back[k] == 0 { i } else { n - 1 - i };
        for i in 1..grid.count[1] - 1 {
            let y = along(i, grid.count[1], 1);
            for j in 1..grid.count[0] - 1 {
                let x = along(j, grid.count[0], 0);
                let (low, high) = reach[y * grid.count[0] + x];
                for n in low..high {
                    let z = if back[2] == 0 { n } else { low + high - 1 - n };
                    let cell = grid.index([x, y, z]);
                    if grid.fill[cell] <= 0.0 {
                        continue;
                    }
                    for step in from {
                        let other = (cell as isize + step) as usize;
                        let worth =
                            self.distance[other] < self.distance[cell] + grid.cell_mm as f32;
                        if self.triangle[other] != NONE && worth {
                            self.offer(cell, self.triangle[other]);
                        }
                    }
                }
            }
        }
    }
}

/// The half thickness at each metal cell (mm): the distance at the top of the climb from there.
pub(super) fn climb(grid: &Grid, metal: &Metal, distance_mm: &[f32]) -> Vec<f32> {
    let mut order: Vec<u32> = (0..metal.len() as u32).collect();
    order.sort_unstable_by(|&a, &b| {
        let far = |i: u32| distance_mm[i as usize];
        far(b).total_cmp(&far(a)).then(a.cmp(&b))
    });
    let around = grid.around();
    let mut top = vec![NONE; metal.len()];
    for &i in &order {
        let cell = metal.cells[i as usize] as isize;
        let mut best = (distance_mm[i as usize], i);
        for step in &around {
            let other = metal.slot[(cell + step) as usize];
            if other != NONE && distance_mm[other as usize] > best.0 {
                best = (distance_mm[other as usize], other);
            }
        }
        top[i as usize] = if best.1 == i { i } else { top[best.1 as usize] };
    }
    top.iter().map(|t| distance_mm[*t as usize]).collect()
}

/// The distance of a point from a triangle (mm).
///
/// Method: the regions of the triangle by the signs of its edges' products (C. Ericson, "Real-Time Collision
/// Detection", 2005, §5.1.5; from memory).
pub(super) fn distance(p: Vec3, &[a, b, c]: &[Vec3; 3]) -> f64 {
    let (ab, ac) = (b - a, c - a);
    let on = |from: Vec3| (ab.dot(p - from), ac.dot(p - from));
    let ((a1, a2), (b1, b2), (c1, c2)) = (on(a), on(b), on(c));
    if a1 <= 0.0 && a2 <= 0.0 {
        return p.distance(a);
    }
    if b1 >= 0.0 && b2 <= b1 {
        return p.distance(b);
    }
    let over_c = a1 * b2 - b1 * a2;
    if over_c <= 0.0 && a1 >= 0.0 && b1 <= 0.0 {
        return p.distance(a + ab * (a1 / (a1 - b1)));
    }
    if c2 >= 0.0 && c1 <= c2 {
        return p.distance(c);
    }
    let over_b = c1 * a2 - a1 * c2;
    if over_b <= 0.0 && a2 >= 0.0 && c2 <= 0.0 {
        return p.distance(a + ac * (a2 / (a2 - c2)));
    }
    let over_a = b1 * c2 - c1 * b2;
    let (to_c, to_b) = (b2 - b1, c1 - c2);
    if over_a <= 0.0 && to_c >= 0.0 && to_b >= 0.0 {
        return p.distance(b + (c - b) * (to_c / (to_c + to_b)));
    }
    let normal = ab.cross(ac);
    ((p - a).dot(normal) / normal.length()).abs()
}
