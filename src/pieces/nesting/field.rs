//! How deep a displacement lies in a no-fit region.
//!
//! The region of A and B is { d : A and B + d overlap }: polygons with holes. A grid over its box keeps, for each cell,
//! the few edges that can be nearest to a point of the cell, so that the exact depth (distance to the region's rim, 0
//! outside) costs two or three distances to segments.

use super::kind::{Extent, signed_area};
use crate::measure::Vec2;

/// Cells a side; a power of two, as cells are found by halving.
const SIDE: usize = 32;

/// One edge of the rim, the region on its left.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from: Vec2,
    /// Unit direction.
    along: Vec2,
    length: f64,
    /// Sum of the inward normals at the start and at the end: a point nearest to a corner lies in the region if it lies
    /// on that side of it (right at corners that hardly turn too).
    inward_at: [Vec2; 2],
}

impl Edge {
    /// Square of the distance to a point, and whether the point lies on the region's side.
    #[inline]
    fn distance2(&self, at: Vec2) -> (f64, bool) {
        let p = at - self.from;
        let t = p.dot(self.along);
        let c = self.along.perp_dot(p);
        if t < 0.0 {
            (p.length_squared(), p.dot(self.inward_at[0]) > 0.0)
        } else if t > self.length {
            let over = t - self.length;
            let q = p - self.along * self.length;
            (over * over + c * c, q.dot(self.inward_at[1]) > 0.0)
        } else {
            (c * c, c > 0.0)
        }
    }
}

/// A no-fit region, ready to be asked.
#[derive(Debug)]
pub(super) struct Field {
    extent: Extent,
    /// Cells per millimetre.
    per_mm: Vec2,
    /// First and number of each cell's candidates; none where the cell lies outside the region.
    cells: Vec<(u32, u32)>,
    candidates: Vec<u32>,
    edges: Vec<Edge>,
}

impl Field {
    /// From loops with the region on their left.
    pub(super) fn new(loops: &[Vec<Vec2>]) -> Field {
        let mut edges = Vec::new();
        for l in loops
            .iter()
            .filter(|l| l.len() >= 3 && signed_area(l) != 0.0)
        {
            push_edges(l, &mut edges);
        }
        let mut extent = Extent::of(edges.iter().map(|e| &e.from));
        if edges.is_empty() {
            extent = Extent {
                min: Vec2::ZERO,
                max: Vec2::ZERO,
            };
        }
        let size = extent.size().max(Vec2::splat(1e-9));
        let mut field = Field {
            extent,
            per_mm: SIDE as f64 / size,
            cells: vec![(0, 0); SIDE * SIDE],
            candidates: Vec::new(),
            edges,
        };
        if !field.edges.is_empty() {
            let all: Vec<u32> = (0..field.edges.len() as u32).collect();
            field.halve([0, 0], SIDE, &all, size / SIDE as f64);
        }
        field
    }

    /// Fills the square of `n` by `n` cells at `corner` from the edges that can be nearest there.
    fn halve(&mut self, corner: [usize; 2], n: usize, list: &[u32], cell: Vec2) {
        let at = Vec2::new(corner[0] as f64, corner[1] as f64) + Vec2::splat(n as f64 / 2.0);
        let middle = self.extent.min + at * cell;
        let half = (cell * n as f64).length() / 2.0 * (1.0 + 1e-9);
        let mut best = (f64::MAX, false);
        let distances: Vec<f64> = list
            .iter()
            .map(|&k| {
                let found = self.edges[k as usize].distance2(middle);
                if found.0 < best.0 {
                    best = found;
                }
                found.0.sqrt()
            })
            .collect();
        let near = best.0.sqrt();
        if !best.1 && near > half {
            return;
        }
        let keep: Vec<u32> = list
            .iter()
            .zip(&distances)
            .filter(|(_, d)| **d <= near + 2.0 * half)
            .map(|(k, _)| *k)
            .collect();
        if n == 1 {
            self.cells[corner[1] * SIDE + corner[0]] =
                (self.candidates.len() as u32, keep.len() as u32);
            self.candidates.extend_from_slice(&keep);
            return;
        }
        let h = n / 2;
        for (x, y) in [(0, 0), (h, 0), (0, h), (h, h)] {
            self.halve([corner[0] + x, corner[1] + y], h, &keep, cell);
        }
    }

    /// Depth of a displacement in the region (mm); 0 when the pieces are apart.
    #[inline]
    pub(super) fn depth(&self, at: Vec2) -> f64 {
        let (min, max) = (self.extent.min, self.extent.max);
        if at.x <= min.x || at.y <= min.y || at.x >= max.x || at.y >= max.y {
            return 0.0;
        }
        let x = (((at.x - min.x) * self.per_mm.x) as usize).min(SIDE - 1);
        let y = (((at.y - min.y) * self.per_mm.y) as usize).min(SIDE - 1);
        let (first, count) = self.cells[y * SIDE + x];
        if count == 0 {
            return 0.0;
        }
        let (mut best, mut nearest) = (f64::MAX, 0);
        for &k in &self.candidates[first as usize..(first + count) as usize] {
            let e = &self.edges[k as usize];
            let p = at - e.from;
            let t = p.dot(e.along).max(0.0).min(e.length);
            let d2 = (p - e.along * t).length_squared();
            if d2 < best {
                (best, nearest) = (d2, k);
            }
        }
        let (d2, inside) = self.edges[nearest as usize].distance2(at);
        if inside { d2.sqrt() } else { 0.0 }
    }

    /// How many corners the region has.
    #[inline]
    pub(super) fn corners(&self) -> usize {
        self.edges.len()
    }

    /// A corner: a displacement at which the pieces touch in two ways.
    #[inline]
    pub(super) fn corner(&self, index: usize) -> Vec2 {
        self.edges[index].from
    }

    /// How far (mm) one can go from `from` in a unit direction before entering the region, at most `most`. Corners that
    /// are only touched do not stop; the caller tests where it ends.
    pub(super) fn free_run(&self, from: Vec2, toward: Vec2, most: f64) -> f64 {
        let mut run = most;
        for e in &self.edges {
            let into = e.along.perp_dot(toward);
            if into <= 1e-12 {
                continue;
            }
            let p = e.from - from;
            let t = e.along.perp_dot(p) / into;
            let s = toward.perp_dot(p) / into;
            if t >= -1e-7 && t < run && s > 1e-9 && s < e.length - 1e-9 {
                run = t.max(0.0);
            }
        }
        run
    }

    /// Where the straight line through (x, ·) or (·, y) crosses the rim: the other coordinate of each crossing.
    pub(super) fn crossings(&self, axis: usize, value: f64, out: &mut Vec<f64>) {
        for e in &self.edges {
            let (a, d) = (e.from[axis], e.along[axis]);
            if d.abs() < 1e-12 {
                continue;
            }
            let t = (value - a) / d;
            if t >= 0.0 && t <= e.length {
                out.push(e.from[1 - axis] + t * e.along[1 - axis]);
            }
        }
    }
}

/// Adds the edges of a loop; points that repeat make none.
fn push_edges(points: &[Vec2], edges: &mut Vec<Edge>) {
    let mut points = points.to_vec();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    let n = points.len();
    let along = |i: usize| (points[(i + 1) % n] - points[i % n]).normalize_or_zero();
    for (i, &from) in points.iter().enumerate() {
        let inward = [along(i + n - 1), along(i), along(i + 1)].map(Vec2::perp);
        edges.push(Edge {
            from,
            along: along(i),
            length: from.distance(points[(i + 1) % n]),
            inward_at: [inward[0] + inward[1], inward[1] + inward[2]],
        });
    }
}
