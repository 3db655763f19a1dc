//! The largest inside ball that takes in each metal cell: a wall's thickness, and at a junction what the ball there
//! measures.
//!
//! Method: the local thickness of T. Hildebrand and P. Rüegsegger (Journal of Microscopy 185, 1997; from memory): a place
//! is as thick as the largest ball that it lies in and that lies in the body. Balls have their middles where two surfaces
//! that look apart are as near as each other, which is found between the middles of neighbouring cells; along the ridge of
//! a junction, where such a ball would be a part of a cell too small, and at the peaks of the distance they are exact.
//! Each cell is given the largest ball that its middle lies in. Cells that no ball takes in, as in a sharp edge, have what
//! is beside them.

use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::ball::{ball_near, widest_round};
use crate::pour::fields::corner::{room_at, stands_out};
use crate::pour::fields::grid::NONE;
use crate::pour::fields::nearest::distance;
use crate::pour::fields::threads::gather;

/// Two surfaces look apart where the cosine of their normals is under this; two facets of a round don't.
const APART: f64 = 0.7;

/// A ball grows on its way along the ridge where the ways from both surfaces, added up, are longer than this: between
/// parallel walls they cancel.
const GROWS: f64 = 0.15;

/// A ball less than the largest beside it by more than this, in cells, isn't on a ridge of its own.
const LESS: f64 = 0.3;

/// A ball: its middle and its radius (mm).
type Ball = (Vec3, f64);

/// The diameter of the largest ball that takes in each metal cell (mm); one a metal cell.
pub(super) fn girths(fields: &Fields) -> Vec<f32> {
    let (grid, metal) = (&fields.grid, &fields.metal);
    let mut balls = all_balls(fields);
    balls.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut girth = vec![0.0; metal.len()];
    for (at, radius) in balls {
        grid.each_within(at - radius, at + radius, |c| {
            let slot = metal.slot[c];
            if slot != NONE && girth[slot as usize] == 0.0 && grid.middle(c).distance(at) <= radius
            {
                girth[slot as usize] = 2.0 * radius as f32;
            }
        });
    }
    spread(fields, &mut girth);
    girth
}

/// Balls from all over the middle of the metal.
fn all_balls(fields: &Fields) -> Vec<Ball> {
    let metal = &fields.metal;
    let between = gather(metal.len(), |slots| -> Vec<(u32, Ball, [u32; 2])> {
        slots
            .flat_map(|slot| (0..3).filter_map(move |k| between(fields, slot as u32, k)))
            .collect()
    });
    let between: Vec<_> = between.into_iter().flatten().collect();
    let mut widest = vec![0.0f64; metal.len()];
    for (slot, (_, radius), _) in &between {
        let at = &mut widest[*slot as usize];
        *at = at.max(*radius);
    }
    let exact = gather(between.len(), |some| -> Vec<Ball> {
        let some = between[some].iter();
        let ridges = some.filter(|(slot, ball, pair)| {
            on_a_ridge(fields, &widest, *slot, ball.1) && grows(fields, *ball, *pair)
        });
        ridges
            .map(|(slot, ball, _)| widest_round(fields, *slot, ball.0))
            .collect()
    });
    let mut balls: Vec<Ball> = between.iter().map(|(_, ball, _)| *ball).collect();
    balls.extend(exact.into_iter().flatten());
    balls.extend(stands_out(fields).map(|slot| {
        let ball = ball_near(fields, slot);
        (ball.at, ball.radius_mm)
    }));
    // Metal of one cell has no middle between cells.
    let thin = |near: &[u32; 6]| (0..3).any(|k| near[2 * k] == NONE && near[2 * k + 1] == NONE);
    let slots = (0..metal.len() as u32).filter(|slot| thin(&metal.near[*slot as usize]));
    balls.extend(slots.map(|slot| (fields.middle(slot), room_at(fields, slot))));
    balls
}

/// The ball between a metal cell and its next neighbour along an axis, where two surfaces that look apart are as near as
/// each other there; with the cell and both triangles.
fn between(fields: &Fields, slot: u32, axis: usize) -> Option<(u32, Ball, [u32; 2])> {
    let other = fields.metal.near[slot as usize][2 * axis + 1];
    if other == NONE || fields.outward(slot).dot(fields.outward(other)) >= APART {
        return None;
    }
    let triangle = |slot: u32| fields.nearest.triangle[slot as usize];
    let (mine, theirs) = (triangle(slot), triangle(other));
    let (from, to) = (fields.middle(slot), fields.middle(other));
    let far = |p: Vec3, t: u32| distance(p, &fields.corners_of(t));
    // How much nearer each end is to its own surface; straight between them, which planes are.
    let [here, there] = [
        far(from, theirs) - far(from, mine),
        far(to, mine) - far(to, theirs),
    ];
    let share = if here + there > 0.0 {
        here / (here + there)
    } else {
        0.5
    };
    let at = from.lerp(to, share.clamp(0.0, 1.0));
    let beside = [slot, other].map(|s| fields.metal.near[s as usize]);
    let near = beside.iter().flatten().filter(|s| **s != NONE);
    let known = near.map(|s| triangle(*s)).filter(|t| *t != NONE);
    let radius = known.map(|t| far(at, t)).fold(f64::INFINITY, f64::min);
    Some((slot, (at, radius), [mine, theirs]))
}

/// Whether no ball beside a cell is larger by more than the grid's own unevenness.
fn on_a_ridge(fields: &Fields, widest: &[f64], slot: u32, radius: f64) -> bool {
    let cell = fields.metal.cells[slot as usize] as isize;
    let most = radius + LESS * fields.grid.cell_mm;
    fields.grid.around().iter().all(|step| {
        let other = fields.metal.slot[(cell + step) as usize];
        other == NONE || widest[other as usize] <= most
    })
}

/// Whether a ball between two triangles grows some way: not so between parallel walls.
fn grows(fields: &Fields, (at, _): Ball, pair: [u32; 2]) -> bool {
    let step = 1e-3 * fields.grid.cell_mm;
    let ways = pair.map(|t| {
        let corners = fields.corners_of(t);
        let rise =
            |way: Vec3| distance(at + way * step, &corners) - distance(at - way * step, &corners);
        Vec3::new(rise(Vec3::X), rise(Vec3::Y), rise(Vec3::Z)) / (2.0 * step)
    });
    (ways[0] + ways[1]).length() > GROWS
}

/// Gives cells without a ball the greatest of those beside them, from cell to cell.
fn spread(fields: &Fields, girth: &mut [f32]) {
    let mut bare: Vec<u32> = (0..girth.len() as u32)
        .filter(|s| girth[*s as usize] == 0.0)
        .collect();
    loop {
        let beside = |slot: &u32| {
            let near = fields.metal.near[*slot as usize]
                .iter()
                .filter(|o| **o != NONE);
            near.map(|o| girth[*o as usize]).fold(0.0, f32::max)
        };
        let found: Vec<(u32, f32)> = bare
            .iter()
            .map(|s| (*s, beside(s)))
            .filter(|f| f.1 > 0.0)
            .collect();
        if found.is_empty() {
            return;
        }
        for (slot, most) in found {
            girth[slot as usize] = most;
        }
        bare.retain(|s| girth[*s as usize] == 0.0);
    }
}
