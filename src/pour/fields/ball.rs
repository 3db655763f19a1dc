//! The largest ball inside the metal near a cell, and the mean of a value in a ball.
//!
//! Method: pattern search. The centre moves to whichever of 26 places round it is farther from the surface; where none
//! is, the step is halved. The surface is the triangles that are nearest to any cell round about, so that the ball
//! doesn't depend on the grid.

use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::grid::NONE;
use crate::pour::fields::nearest::distance;

/// Triangles are taken from so many cells each way.
const REACH: isize = 3;

/// The search ends with a step of this share of a cell.
const LAST_STEP: f64 = 1e-3;

/// How often the search may go on from a new cell.
const MOVES: usize = 20;

/// A ball inside the metal.
#[derive(Debug, Clone, PartialEq)]
pub struct Ball {
    /// Its centre (mm).
    pub at: Vec3,
    /// Its radius (mm).
    pub radius_mm: f64,
    /// The triangles that it touches, or nearly; in ascending order.
    pub touches: Vec<u32>,
}

/// The largest ball round about a metal cell.
pub(super) fn ball_near(fields: &Fields, slot: u32) -> Ball {
    let grid = &fields.grid;
    let mut home = fields.metal.cells[slot as usize] as usize;
    let mut at = grid.middle(home);
    let mut radius = 0.0;
    let mut triangles = Vec::new();
    for _ in 0..MOVES {
        triangles = triangles_round(fields, home);
        let middle = grid.middle(home);
        let far = (REACH as f64 - 1.0) * grid.cell_mm;
        let moved = climbed(fields, &triangles, at, |p| {
            (p - middle).abs().max_element() <= far
        });
        at = moved.0;
        radius = moved.1;
        let rim = (at - middle).abs().max_element() > far - 0.6 * grid.cell_mm;
        match grid.find(at) {
            Some(cell) if rim && fields.metal.holds(cell) && cell != home => home = cell,
            _ => break,
        }
    }
    let near = |t: &u32| distance(at, &fields.corners_of(*t)) < radius + 0.1 * grid.cell_mm;
    triangles.retain(near);
    Ball {
        at,
        radius_mm: radius,
        touches: triangles,
    }
}

/// The largest ball with its middle within a cell of a place, which lies in or beside a metal cell: middle and radius (mm).
pub(super) fn widest_round(fields: &Fields, slot: u32, from: Vec3) -> (Vec3, f64) {
    let triangles = triangles_round(fields, fields.metal.cells[slot as usize] as usize);
    let reach = fields.grid.cell_mm;
    climbed(fields, &triangles, from, |p| {
        (p - from).abs().max_element() <= reach
    })
}

/// How far a point is from the triangles near a cell (mm).
pub(super) fn room(fields: &Fields, p: Vec3, cell: usize) -> f64 {
    let triangles = triangles_round(fields, cell);
    let far = triangles
        .iter()
        .map(|t| distance(p, &fields.corners_of(*t)));
    far.fold(f64::INFINITY, f64::min)
}

/// The triangles nearest to the cells round a cell.
fn triangles_round(fields: &Fields, cell: usize) -> Vec<u32> {
    let grid = &fields.grid;
    let mut out = Vec::new();
    let reach = Vec3::splat(REACH as f64 * grid.cell_mm);
    let middle = grid.middle(cell);
    grid.each_within(middle - reach, middle + reach, |c| {
        let slot = fields.metal.slot[c];
        if slot != NONE && fields.nearest.triangle[slot as usize] != NONE {
            out.push(fields.nearest.triangle[slot as usize]);
        }
    });
    out.sort_unstable();
    out.dedup();
    // A narrow facet may be nearest to no cell's middle.
    for _ in 0..2 {
        fields.fans.widen(&fields.solid, &mut out);
    }
    out
}

/// The place farthest from some triangles, from `at` on, and how far it is.
fn climbed(
    fields: &Fields,
    triangles: &[u32],
    at: Vec3,
    allowed: impl Fn(Vec3) -> bool,
) -> (Vec3, f64) {
    let shapes: Vec<[Vec3; 3]> = triangles.iter().map(|t| fields.corners_of(*t)).collect();
    let room = |p: Vec3, least: f64| {
        let mut room = f64::INFINITY;
        for shape in &shapes {
            room = room.min(distance(p, shape));
            if room <= least {
                break;
            }
        }
        room
    };
    let (mut best, mut at) = (room(at, 0.0), at);
    let mut step = fields.grid.cell_mm / 2.0;
    while step > LAST_STEP * fields.grid.cell_mm {
        let mut moved = false;
        for k in 0..27 {
            let way = [k / 9 - 1, k / 3 % 3 - 1, k % 3 - 1].map(f64::from);
            let p = at + Vec3::from_array(way) * step;
            if !allowed(p) {
                continue;
            }
            let r = room(p, best);
            if r > best + 1e-9 {
                (best, at, moved) = (r, p, true);
            }
        }
        if !moved {
            step /= 2.0;
        }
    }
    (at, best)
}

/// The mean of a value (one a metal cell) in a ball, weighted by metal.
pub(super) fn mean_in(fields: &Fields, value: &[f32], at: Vec3, radius_mm: f64) -> f64 {
    let grid = &fields.grid;
    let radius = radius_mm.max(0.9 * grid.cell_mm);
    let (mut sum, mut weight) = (0.0, 0.0);
    grid.each_within(at - radius, at + radius, |c| {
        let slot = fields.metal.slot[c];
        if slot != NONE && grid.middle(c).distance(at) <= radius {
            let fill = f64::from(grid.fill[c]);
            sum += f64::from(value[slot as usize]) * fill;
            weight += fill;
        }
    });
    if weight > 0.0 { sum / weight } else { 0.0 }
}
