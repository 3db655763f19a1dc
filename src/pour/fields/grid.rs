//! The grid of cells, and how much of each is metal.
//!
//! Method: rays along z, [`RAYS`] × [`RAYS`] a column of cells. The spans of a ray inside the mesh are exact and counted
//! by winding number, so that closed bodies which overlap count as their union. A cell is metal where at least half of
//! it is. Members under 1.4 cells and gaps under 1.8 cells aren't resolved.

use crate::measure::{Bounds, Vec3};
use crate::pour::fields::scan::Lattice;
use crate::pour::fields::threads::{fill_rows, gather};
use crate::solid::Solid;

/// Rays a column, each way: with 2 an upright 20 mm bar reads 4 % low.
const RAYS: usize = 4;

/// No cell, no triangle.
pub(super) const NONE: u32 = u32::MAX;

/// Cells over the box of a mesh and a margin; z runs fastest, then x, then y.
#[derive(Debug, Clone, Default)]
pub struct Grid {
    /// Edge of a cell (mm).
    pub cell_mm: f64,
    /// The grid's least corner (mm).
    pub low: Vec3,
    /// Cells along x, y, z.
    pub count: [usize; 3],
    /// How much of each cell is metal, 0 to 1; one a cell.
    pub fill: Vec<f32>,
}

impl Grid {
    /// The grid of a closed mesh with `margin` empty cells on each side.
    pub fn of(solid: &Solid, cell_mm: f64, margin: usize) -> Grid {
        let bounds = Bounds::of(solid.points.iter().copied());
        let along = |k: usize| (bounds.size()[k] / cell_mm - 1e-6).ceil().max(1.0) as usize;
        let count = [0, 1, 2].map(|k| along(k) + 2 * margin);
        let size = Vec3::from_array(count.map(|n| n as f64 * cell_mm));
        let mut grid = Grid {
            cell_mm,
            // In the middle, so that no face of an upright box lies on a row of rays.
            low: bounds.middle() - size / 2.0,
            count,
            fill: vec![0.0; count.iter().product()],
        };
        grid.cast(solid);
        grid
    }

    /// Cells.
    pub fn cells(&self) -> usize {
        self.fill.len()
    }

    /// The number of a cell by its place along x, y, z.
    pub fn index(&self, at: [usize; 3]) -> usize {
        (at[1] * self.count[0] + at[0]) * self.count[2] + at[2]
    }

    /// A cell's place along x, y, z.
    pub fn place(&self, cell: usize) -> [usize; 3] {
        let column = cell / self.count[2];
        [
            column % self.count[0],
            column / self.count[0],
            cell % self.count[2],
        ]
    }

    /// A cell's middle (mm).
    pub fn middle(&self, cell: usize) -> Vec3 {
        let at = Vec3::from_array(self.place(cell).map(|i| i as f64 + 0.5));
        self.low + at * self.cell_mm
    }

    /// The cell that a point lies in.
    pub fn find(&self, p: Vec3) -> Option<usize> {
        let at = (p - self.low) / self.cell_mm;
        let inside = (0..3).all(|k| at[k] >= 0.0 && at[k] < self.count[k] as f64);
        inside.then(|| self.index([at.x as usize, at.y as usize, at.z as usize]))
    }

    /// How far apart the numbers of neighbours along x, y, z are.
    pub(super) fn steps(&self) -> [isize; 3] {
        [
            self.count[2] as isize,
            (self.count[0] * self.count[2]) as isize,
            1,
        ]
    }

    /// How far a move by whole cells goes in numbers.
    pub(super) fn step(&self, by: [isize; 3]) -> isize {
        let steps = self.steps();
        (0..3).map(|k| by[k] * steps[k]).sum()
    }

    /// The 26 moves to the cells round a cell.
    pub(super) fn around(&self) -> Vec<isize> {
        let all = (0..27).map(|k| [k / 9 - 1, k / 3 % 3 - 1, k % 3 - 1]);
        all.filter(|d| *d != [0, 0, 0])
            .map(|d| self.step(d))
            .collect()
    }

    /// The cells of a box of points, cut to the grid: least and greatest place along each axis.
    pub(super) fn within(&self, low: Vec3, high: Vec3) -> [[usize; 3]; 2] {
        let cap = |x: f64, k: usize| (x.max(0.0) as usize).min(self.count[k] - 1);
        let place = |p: Vec3, k: usize| cap((p[k] - self.low[k]) / self.cell_mm, k);
        [
            [0, 1, 2].map(|k| place(low, k)),
            [0, 1, 2].map(|k| place(high, k)),
        ]
    }

    /// Calls `put` with every cell of a box of points.
    pub(super) fn each_within(&self, low: Vec3, high: Vec3, mut put: impl FnMut(usize)) {
        let [from, to] = self.within(low, high);
        for y in from[1]..=to[1] {
            for x in from[0]..=to[0] {
                for z in from[2]..=to[2] {
                    put(self.index([x, y, z]));
                }
            }
        }
    }

    /// Fills the cells by rays.
    fn cast(&mut self, solid: &Solid) {
        let [across, rows, up] = self.count;
        let pitch = self.cell_mm / RAYS as f64;
        let lattice = Lattice {
            axes: [0, 1],
            // Off round numbers, so that rays don't run along walls.
            first: [
                self.low.x + pitch * 0.500_317,
                self.low.y + pitch * 0.500_193,
            ],
            pitch,
            count: [across * RAYS, rows * RAYS],
        };
        let rays = Rays::meet(solid, &lattice, self.low.z);
        let one = 1.0 / (RAYS * RAYS) as f32;
        let cell = self.cell_mm as f32;
        fill_rows(&mut self.fill, up, |start, part| {
            let mut hits = Vec::new();
            for (i, column) in part.chunks_mut(up).enumerate() {
                let at = start / up + i;
                for ray in 0..RAYS * RAYS {
                    let x = at % across * RAYS + ray % RAYS;
                    let y = at / across * RAYS + ray / RAYS;
                    rays.spans(y * across * RAYS + x, &mut hits, |from, to| {
                        add_span(column, from / cell, to / cell, one);
                    });
                }
            }
        });
    }
}

/// Adds a span between two heights (in cells) to a column.
fn add_span(column: &mut [f32], from: f32, to: f32, one: f32) {
    let last = column.len() - 1;
    let place = |x: f32| (x.max(0.0) as usize).min(last);
    let (first, end) = (place(from), place(to));
    if first == end {
        column[first] += one * (to - from);
        return;
    }
    column[first] += one * (first as f32 + 1.0 - from);
    for cell in &mut column[first + 1..end] {
        *cell += one;
    }
    column[end] += one * (to - end as f32);
}

/// Where rays meet a mesh.
struct Rays {
    /// Where each ray's hits begin; one more at the end.
    start: Vec<u32>,
    /// Height (mm over the grid's low side), and 1 where the ray goes in, -1 where it comes out.
    hits: Vec<(f32, i8)>,
}

impl Rays {
    fn meet(solid: &Solid, lattice: &Lattice, floor: f64) -> Rays {
        let width = lattice.count[0];
        let found = gather(solid.triangles.len(), |range| {
            let mut out: Vec<(u32, f32, i8)> = Vec::new();
            for t in &solid.triangles[range] {
                let corners = t.map(|i| solid.points[i as usize]);
                let normal = (corners[1] - corners[0]).cross(corners[2] - corners[0]);
                let way = if normal.z > 0.0 { -1 } else { 1 };
                lattice.cover(&corners, |column, row, p| {
                    out.push(((row * width + column) as u32, (p.z - floor) as f32, way));
                });
            }
            out
        });
        let mut start = vec![0_u32; width * lattice.count[1] + 1];
        for (ray, ..) in found.iter().flatten() {
            start[*ray as usize + 1] += 1;
        }
        for i in 1..start.len() {
            start[i] += start[i - 1];
        }
        let mut next = start.clone();
        let mut hits = vec![(0.0, 0); found.iter().map(Vec::len).sum()];
        for (ray, height, way) in found.into_iter().flatten() {
            let at = &mut next[ray as usize];
            hits[*at as usize] = (height, way);
            *at += 1;
        }
        Rays { start, hits }
    }

    /// The spans of a ray inside the mesh, low and high.
    fn spans(&self, ray: usize, hits: &mut Vec<(f32, i8)>, mut span: impl FnMut(f32, f32)) {
        let range = self.start[ray] as usize..self.start[ray + 1] as usize;
        hits.clear();
        hits.extend_from_slice(&self.hits[range]);
        hits.sort_unstable_by(|p, q| p.0.total_cmp(&q.0).then(q.1.cmp(&p.1)));
        let (mut depth, mut from) = (0_i32, 0.0);
        for &(height, way) in hits.iter() {
            if depth == 0 && way > 0 {
                from = height;
            }
            depth += i32::from(way);
            if depth == 0 && way < 0 {
                span(from, height);
            }
        }
    }
}

/// The metal cells, packed, each with its six neighbours.
#[derive(Debug, Clone, Default)]
pub struct Metal {
    /// The cell of each.
    pub cells: Vec<u32>,
    /// The place of each cell in `cells`, or the greatest u32.
    pub slot: Vec<u32>,
    /// Neighbours by place in `cells`: -x, +x, -y, +y, -z, +z; the greatest u32 where there is none.
    pub near: Vec<[u32; 6]>,
}

impl Metal {
    /// The metal of a grid with a margin of at least one cell.
    pub(super) fn of(grid: &Grid) -> Metal {
        let mut slot = vec![NONE; grid.cells()];
        let mut cells = Vec::new();
        for (i, fill) in grid.fill.iter().enumerate() {
            if *fill >= 0.5 {
                slot[i] = cells.len() as u32;
                cells.push(i as u32);
            }
        }
        let steps = grid.steps();
        let near = cells
            .iter()
            .map(|&c| {
                std::array::from_fn(|j| {
                    let step = if j % 2 == 0 {
                        -steps[j / 2]
                    } else {
                        steps[j / 2]
                    };
                    slot[(c as isize + step) as usize]
                })
            })
            .collect();
        Metal { cells, slot, near }
    }

    /// Whether a cell is metal.
    pub fn holds(&self, cell: usize) -> bool {
        self.slot[cell] != NONE
    }

    /// How many cells.
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }
}
