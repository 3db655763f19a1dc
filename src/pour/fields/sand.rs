//! Hollows that dry sand doesn't fill: closed ones, ones with too narrow a mouth, and ones that it doesn't run into.
//!
//! Three layers, on cells whose z looks up as the pattern stands in the flask. (1) Air that no way leads to from outside.
//! (2) Air that a ball of [`BALL_MM`] coming from outside can't sweep, where it is wider than half of that ball.
//! (3) Repose: sand falls, and its level drops by the tangent of the angle of repose with each step sideways, and never
//! rises. What is unfilled at [`REPOSE_DEG`]\[0\] needs vibration or turning; what is unfilled at \[1\] stays empty.
//! The ball and both angles are our own choices, and are printed as such.

use std::collections::BinaryHeap;

use crate::measure::Vec3;
use crate::pour::fields::grid::Grid;
use crate::pour::fields::sweep::{distance2, outside};
use crate::solid::Solid;

/// Diameter of the ball that must pass for sand to get in (mm).
pub const BALL_MM: f64 = 3.0;

/// Angles of repose (degrees): of sand at rest, and of sand as well vibrated as one may hope.
pub const REPOSE_DEG: [f64; 2] = [30.0, 10.0];

/// Hollows smaller than this are trifles (mm³).
const TRIFLE_MM3: f64 = 200.0;

/// Why a hollow stays empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// No way leads into it.
    Closed,
    /// Its mouth is too narrow.
    Narrow,
    /// Sand doesn't run in, however it is shaken.
    Level,
    /// Sand runs in only by vibration or turning.
    Shaken,
}

/// A hollow that sand doesn't fill by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Hollow {
    /// Why.
    pub why: Why,
    /// Its unfilled volume, by the cells (mm³).
    pub volume_mm3: f64,
    /// A place in it, nearest to its middle (mm).
    pub at: Vec3,
    /// Its extents (mm).
    pub size_mm: Vec3,
}

/// The hollows of a pattern that stands with `up` upward, by reason and size.
pub fn unfilled(solid: &Solid, up: Vec3, cell_mm: f64) -> Vec<Hollow> {
    let turn = upright(up);
    let stood = Solid {
        points: solid
            .points
            .iter()
            .map(|p| turn.map(|axis| axis.dot(*p)).into())
            .collect(),
        ..solid.clone()
    };
    let ball = BALL_MM / 2.0;
    let margin = (2.0 * ball / cell_mm).ceil() as usize + 2;
    let grid = Grid::of(&stood, cell_mm, margin);
    let air: Vec<bool> = grid.fill.iter().map(|f| *f < 0.5).collect();
    let open = outside(&grid, &air);
    let swept = swept(&grid, &open, ball);
    let metal: Vec<bool> = air.iter().map(|a| !a).collect();
    let room = distance2(&grid, &metal);
    let wide = (0.5 * ball / cell_mm + 1.0) as f32;
    let [still, shaken] = REPOSE_DEG.map(|deg| poured(&grid, &open, deg.to_radians().tan() as f32));
    let mut out = Vec::new();
    let mut take = |why: Why, weight: &dyn Fn(usize) -> f32, counts: &dyn Fn(usize) -> bool| {
        let weights: Vec<f32> = (0..grid.cells()).map(weight).collect();
        for group in groups(&grid, &weights) {
            if group.iter().any(|c| counts(*c)) {
                out.push(hollow(&grid, why, &group, &weights));
            }
        }
    };
    let flag = |x: bool| f32::from(u8::from(x));
    take(Why::Closed, &|c| flag(air[c] && !open[c]), &|_| true);
    take(Why::Narrow, &|c| flag(open[c] && !swept[c]), &|c| {
        room[c] >= wide * wide
    });
    take(
        Why::Level,
        &|c| if swept[c] { 1.0 - shaken[c] } else { 0.0 },
        &|c| shaken[c] < 0.5 && room[c] >= wide * wide,
    );
    take(
        Why::Shaken,
        &|c| {
            if swept[c] {
                (shaken[c] - still[c]).max(0.0)
            } else {
                0.0
            }
        },
        &|c| shaken[c] - still[c] > 0.5 && room[c] >= wide * wide,
    );
    out.retain(|h: &Hollow| h.volume_mm3 >= TRIFLE_MM3);
    out.sort_by(|a, b| {
        a.why
            .cmp(&b.why)
            .then(b.volume_mm3.total_cmp(&a.volume_mm3))
    });
    for h in &mut out {
        let [x, y, z] = turn;
        h.at = x * h.at.x + y * h.at.y + z * h.at.z;
    }
    out
}

/// A right-handed frame whose z looks along `up`.
fn upright(up: Vec3) -> [Vec3; 3] {
    let z = up.normalize_or(Vec3::Z);
    let x = if z.cross(Vec3::Z).length() < 1e-9 {
        Vec3::X
    } else {
        Vec3::Z.cross(z).normalize()
    };
    [x, z.cross(x), z]
}

/// Open air that a ball (radius in mm) coming from outside sweeps.
fn swept(grid: &Grid, open: &[bool], radius_mm: f64) -> Vec<bool> {
    let closed: Vec<bool> = open.iter().map(|o| !o).collect();
    // A cell's half width is the metal's, not the ball's.
    let reach = (radius_mm / grid.cell_mm + 0.5) as f32;
    let fits: Vec<bool> = distance2(grid, &closed)
        .iter()
        .map(|d| *d >= reach * reach)
        .collect();
    let middles = outside(grid, &fits);
    let near = distance2(grid, &middles);
    let near = near.iter().map(|d| *d < reach * reach);
    near.zip(open).map(|(near, open)| near && *open).collect()
}

/// How much of each open cell sand fills, 0 to 1, with this tangent of the angle of repose.
fn poured(grid: &Grid, open: &[bool], slope: f32) -> Vec<f32> {
    let height = grid.count[2];
    let mut level = from_above(grid, open);
    // Level above cell in one number, which is quicker to hold against another than two: levels are positive, so their bits
    // are in their order.
    let mut queue: BinaryHeap<u64> = BinaryHeap::new();
    let queued = |level: f32, cell: usize| u64::from(level.to_bits()) << 32 | cell as u64;
    // Only where there is air beside that nothing fell into.
    let steps = grid.steps();
    for (cell, here) in level.iter().enumerate() {
        let [x, y, _] = grid.place(cell);
        let rim = x == 0 || y == 0 || x + 1 == grid.count[0] || y + 1 == grid.count[1];
        if *here <= 0.0 || rim {
            continue;
        }
        let beside = [-steps[0], steps[0], -steps[1], steps[1]];
        let empty = |s: &isize| {
            let other = (cell as isize + s) as usize;
            open[other] && level[other] <= 0.0
        };
        if beside.iter().any(empty) {
            queue.push(queued(*here, cell));
        }
    }
    let sides = sides(grid, slope);
    while let Some(next) = queue.pop() {
        let (here, cell) = (f32::from_bits((next >> 32) as u32), next as u32 as usize);
        if here < level[cell] {
            continue;
        }
        let mut put = |other: usize, to: f32| {
            let floor = (other % height) as f32;
            let to = to.min(floor + 1.0);
            if open[other] && to > floor && to > level[other] + 1e-4 {
                level[other] = to;
                queue.push(queued(to, other));
            }
        };
        let [x, y, z] = grid.place(cell);
        if z > 0 {
            put(cell - 1, here);
        }
        for side in &sides {
            let (to_x, to_y) = (x as isize + side.by[0], y as isize + side.by[1]);
            let inside = (0..grid.count[0] as isize).contains(&to_x)
                && (0..grid.count[1] as isize).contains(&to_y);
            let clear = |s: &isize| open[(cell as isize + s) as usize];
            if !inside || !side.through.iter().all(clear) {
                continue;
            }
            // The slope may leave this layer on the way.
            let to = here - side.drop;
            for down in 0..=z.min(3) {
                let other = (cell as isize + side.step) as usize - down;
                if !open[other] {
                    break;
                }
                put(other, to);
                if to > (z - down) as f32 {
                    break;
                }
            }
        }
    }
    let share = |(cell, level): (usize, &f32)| match open[cell] {
        true => (level - (cell % height) as f32).clamp(0.0, 1.0),
        false => 0.0,
    };
    level.iter().enumerate().map(share).collect()
}

/// The level of the sand in each cell (cells over the grid's low side) that falls straight in, or was there before: the
/// pattern stands on a levelled bed, and the rim of the grid is full.
fn from_above(grid: &Grid, open: &[bool]) -> Vec<f32> {
    let height = grid.count[2];
    let metal = |cell: &usize| grid.fill[*cell] >= 0.5;
    let foot = (0..grid.cells()).filter(metal).map(|c| c % height).min();
    let mut level = vec![0.0; grid.cells()];
    for (column, cells) in level.chunks_mut(height).enumerate() {
        let (x, y) = (column % grid.count[0], column / grid.count[0]);
        let rim = x == 0 || y == 0 || x + 1 == grid.count[0] || y + 1 == grid.count[1];
        let mut falls = true;
        for z in (0..height).rev() {
            falls &= open[column * height + z];
            if falls || rim || foot.is_some_and(|foot| z < foot) {
                cells[z] = z as f32 + 1.0;
            }
        }
    }
    level
}

/// A step sideways.
struct Side {
    by: [isize; 2],
    step: isize,
    /// How far the level drops (cells).
    drop: f32,
    /// Cells that a long step passes through.
    through: Vec<isize>,
}

/// Steps in 16 directions.
fn sides(grid: &Grid, slope: f32) -> Vec<Side> {
    let mut out = Vec::new();
    for k in 0..25_isize {
        let by = [k / 5 - 2, k % 5 - 2];
        if by[0] % 2 == 0 && by[1] % 2 == 0 {
            continue;
        }
        let length = ((by[0] * by[0] + by[1] * by[1]) as f32).sqrt();
        let through = if by[0].abs() == 2 {
            vec![[by[0] / 2, 0], [by[0] / 2, by[1]]]
        } else if by[1].abs() == 2 {
            vec![[0, by[1] / 2], [by[0], by[1] / 2]]
        } else {
            Vec::new()
        };
        let number = |b: [isize; 2]| grid.step([b[0], b[1], 0]);
        out.push(Side {
            by,
            step: number(by),
            drop: slope * length,
            through: through.into_iter().map(number).collect(),
        });
    }
    out
}

/// Groups of cells with any weight that share faces.
fn groups(grid: &Grid, weight: &[f32]) -> Vec<Vec<usize>> {
    let mut seen = vec![false; weight.len()];
    let steps = grid.steps();
    let mut out = Vec::new();
    for first in 0..weight.len() {
        if weight[first] <= 0.0 || seen[first] {
            continue;
        }
        seen[first] = true;
        let mut group = vec![first];
        let mut next = 0;
        while let Some(&cell) = group.get(next) {
            next += 1;
            for step in steps.iter().flat_map(|s| [-s, *s]) {
                let Some(other) = cell.checked_add_signed(step) else {
                    continue;
                };
                if other < weight.len() && weight[other] > 0.0 && !seen[other] {
                    seen[other] = true;
                    group.push(other);
                }
            }
        }
        out.push(group);
    }
    out
}

fn hollow(grid: &Grid, why: Why, group: &[usize], weight: &[f32]) -> Hollow {
    let volume: f64 = group.iter().map(|c| f64::from(weight[*c])).sum();
    let middle = group.iter().map(|c| grid.middle(*c)).sum::<Vec3>() / group.len() as f64;
    let far = |c: &usize| grid.middle(*c).distance_squared(middle);
    let nearest = group.iter().min_by(|a, b| far(a).total_cmp(&far(b)));
    let (mut low, mut high) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
    for c in group {
        low = low.min(grid.middle(*c));
        high = high.max(grid.middle(*c));
    }
    Hollow {
        why,
        volume_mm3: volume * grid.cell_mm.powi(3),
        at: nearest.map_or(middle, |c| grid.middle(*c)),
        size_mm: high - low + Vec3::splat(grid.cell_mm),
    }
}
