//! The surface area that belongs to each metal cell.
//!
//! Method: each triangle is halved across its longest edge until its pieces are smaller than a cell; a piece's whole
//! area goes to the metal cell behind its middle, so that no area is lost where metal is resolved at all.

use crate::measure::Vec3;
use crate::pour::fields::grid::{Grid, Metal, NONE};
use crate::pour::fields::threads::gather;
use crate::solid::Solid;

/// Pieces are no longer than this share of a cell.
const PIECE: f64 = 0.8;

/// Area of the surface at each metal cell (mm²), without the places that `skip` tells.
pub(super) fn area_of(
    solid: &Solid,
    grid: &Grid,
    metal: &Metal,
    skip: &(dyn Fn(Vec3) -> bool + Sync),
) -> Vec<f32> {
    let found = gather(solid.triangles.len(), |range| {
        let mut out: Vec<(u32, f32)> = Vec::new();
        let mut waiting = Vec::new();
        for t in &solid.triangles[range] {
            let [a, b, c] = t.map(|i| solid.points[i as usize]);
            let normal = (b - a).cross(c - a);
            let twice = normal.length();
            if twice == 0.0 {
                continue;
            }
            let inward = normal * (-grid.cell_mm / twice);
            waiting.push(([a, b, c], twice / 2.0));
            while let Some((corners, area)) = waiting.pop() {
                if let Some(halves) = halved(&corners, PIECE * grid.cell_mm) {
                    waiting.extend(halves.map(|h| (h, area / 2.0)));
                    continue;
                }
                let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
                if !skip(middle) {
                    out.push((home(grid, metal, middle, inward), area as f32));
                }
            }
        }
        out
    });
    let mut area = vec![0.0; metal.len()];
    for (slot, mm2) in found.into_iter().flatten() {
        if slot != NONE {
            area[slot as usize] += mm2;
        }
    }
    area
}

/// The halves of a triangle across its longest edge, where that is longer than `most`.
fn halved(corners: &[Vec3; 3], most: f64) -> Option<[[Vec3; 3]; 2]> {
    let edge = |k: usize| corners[k].distance_squared(corners[(k + 1) % 3]);
    let mut longest = 0;
    for k in 1..3 {
        if edge(k) > edge(longest) {
            longest = k;
        }
    }
    if edge(longest) <= most * most {
        return None;
    }
    let [p, q, r] = [0, 1, 2].map(|k| corners[(longest + k) % 3]);
    let middle = (p + q) / 2.0;
    Some([[p, middle, r], [middle, q, r]])
}

/// The metal cell that a surface point belongs to; `inward` is one cell long.
fn home(grid: &Grid, metal: &Metal, p: Vec3, inward: Vec3) -> u32 {
    for back in [0.3, 0.0, 0.7, 1.0] {
        if let Some(cell) = grid.find(p + inward * back)
            && metal.holds(cell)
        {
            return metal.slot[cell];
        }
    }
    let Some(cell) = grid.find(p) else {
        return NONE;
    };
    let mut best = (0.0, NONE);
    for step in grid.around() {
        let Some(other) = cell.checked_add_signed(step) else {
            continue;
        };
        if other < grid.cells() && metal.holds(other) && grid.fill[other] > best.0 {
            best = (grid.fill[other], metal.slot[other]);
        }
    }
    best.1
}
