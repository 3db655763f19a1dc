//! Outlines made ready for the search: oriented, about their own centre, with fewer points, their allowed turns listed.
//!
//! Points left out move the outline by at most [`COARSE_MM`]; how far it really moved is kept and added to the spacing,
//! so that the true outlines keep theirs. Outlines without such points (rectangles) lose nothing.

use super::job::{NestingFault, Piece, Turns};
use crate::measure::{Vec2, sin_cos_deg};

/// How far an outline may stand off the given one (mm): a hundredth of a usual spacing, and a fifth of a curve's points.
const COARSE_MM: f64 = 0.1;

/// Steps of a full turn for pieces that turn freely: 15° each.
pub const FREE_STEPS: usize = 24;

/// A box in plan.
#[derive(Debug, Clone, Copy)]
pub(super) struct Extent {
    pub(super) min: Vec2,
    pub(super) max: Vec2,
}

impl Extent {
    pub(super) fn of<'a>(points: impl IntoIterator<Item = &'a Vec2>) -> Extent {
        let none = Extent {
            min: Vec2::INFINITY,
            max: Vec2::NEG_INFINITY,
        };
        points.into_iter().fold(none, |b, p| Extent {
            min: b.min.min(*p),
            max: b.max.max(*p),
        })
    }

    pub(super) fn size(&self) -> Vec2 {
        self.max - self.min
    }
}

/// Pieces of one outline and the same turns.
#[derive(Debug, Clone)]
pub(super) struct Kind {
    /// Loops about the centre: the rim counter-clockwise, then holes clockwise.
    pub(super) loops: Vec<Vec<Vec2>>,
    /// Farthest that `loops` stand off the true outline (mm).
    pub(super) off_mm: f64,
    /// The centre in the given outline's coordinates.
    pub(super) centre: Vec2,
    /// Allowed turns in steps; of turns that look alike only the first.
    pub(super) turns: Vec<usize>,
    /// The fewest steps that bring the outline onto itself.
    pub(super) period: usize,
    /// Box of the true outline at each turn.
    pub(super) extents: Vec<Extent>,
    /// Area within the rim (mm²).
    pub(super) rim_area: f64,
    /// Area of the foam (mm²).
    pub(super) area: f64,
}

/// The area within a loop (mm²), positive when counter-clockwise: twice of it is the sum of crosses.
pub(in crate::pieces) fn signed_area(points: &[Vec2]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .map(|(p, q)| p.perp_dot(*q))
        .sum::<f64>()
        / 2.0
}

/// Direction of x after so many steps of a turn; exact at quarter turns.
pub(super) fn direction(step: usize, steps: usize) -> Vec2 {
    let (sin, cos) = sin_cos_deg(step as f64 * 360.0 / steps as f64);
    Vec2::new(cos, sin)
}

/// How many steps a full turn has for these pieces.
pub(super) fn steps_for(pieces: &[Piece]) -> usize {
    let free = pieces.iter().any(|p| p.turns == Turns::Free);
    if free { FREE_STEPS } else { 4 }
}

impl Kind {
    /// The kind of `pieces[index]`.
    pub(super) fn new(pieces: &[Piece], index: usize, steps: usize) -> Result<Kind, NestingFault> {
        let piece = &pieces[index];
        let fault = NestingFault::Outline { piece: index };
        let finite = piece.outline.iter().flatten().all(|p| p.is_finite());
        let mut given: Vec<Vec<Vec2>> = piece.outline.iter().map(|l| without_repeats(l)).collect();
        given.retain(|l| l.len() >= 3 && signed_area(l) != 0.0);
        given.sort_by(|a, b| signed_area(b).abs().total_cmp(&signed_area(a).abs()));
        let Some(rim) = given.first().filter(|_| finite) else {
            return Err(fault);
        };
        let rim_area = signed_area(rim).abs();
        let centre = centroid(rim);
        for (i, l) in given.iter_mut().enumerate() {
            if (signed_area(l) > 0.0) != (i == 0) {
                l.reverse();
            }
            l.iter_mut().for_each(|p| *p -= centre);
        }
        let area = given.iter().map(|l| signed_area(l)).sum();
        let extents = (0..steps)
            .map(|k| {
                let x = direction(k, steps);
                let turned: Vec<Vec2> = given[0].iter().map(|p| x.rotate(*p)).collect();
                Extent::of(&turned)
            })
            .collect();
        let period = period(&given, steps);
        let mut off_mm: f64 = 0.0;
        let loops = given.iter().map(|l| {
            let (few, off) = coarse(l);
            off_mm = off_mm.max(off);
            few
        });
        let loops = loops.collect();
        Ok(Kind {
            loops,
            off_mm,
            centre,
            turns: unlike(piece.turns, steps, period),
            period,
            extents,
            rim_area,
            area,
        })
    }

    /// Loops after so many steps.
    pub(super) fn turned(&self, step: usize, steps: usize) -> Vec<Vec<Vec2>> {
        let x = direction(step, steps);
        let turn = |l: &Vec<Vec2>| l.iter().map(|p| x.rotate(*p)).collect();
        self.loops.iter().map(turn).collect()
    }
}

/// Allowed turns in steps, without those that look like an earlier one.
fn unlike(turns: Turns, steps: usize, period: usize) -> Vec<usize> {
    let every = match turns {
        Turns::Fixed => steps,
        Turns::Half => steps / 2,
        Turns::Quarter => steps / 4,
        Turns::Free => 1,
    };
    let mut seen = vec![false; period];
    let all = (0..steps).step_by(every);
    all.filter(|t| !std::mem::replace(&mut seen[t % period], true))
        .collect()
}

fn without_repeats(points: &[Vec2]) -> Vec<Vec2> {
    let mut out: Vec<Vec2> = points.to_vec();
    out.dedup();
    while out.len() > 1 && out.first() == out.last() {
        out.pop();
    }
    out
}

/// Middle of the area within a loop: a shape that turns onto itself turns about it.
fn centroid(points: &[Vec2]) -> Vec2 {
    let base = points[0];
    let mut sum = Vec2::ZERO;
    let mut twice = 0.0;
    for pair in points.windows(2) {
        let (p, q) = (pair[0] - base, pair[1] - base);
        let cross = p.perp_dot(q);
        sum += (p + q) * cross;
        twice += cross;
    }
    base + sum / (3.0 * twice)
}

/// The fewest steps that bring the loops onto themselves, to a millionth of their reach.
fn period(loops: &[Vec<Vec2>], steps: usize) -> usize {
    let points: Vec<Vec2> = loops.iter().flatten().copied().collect();
    let reach = points.iter().map(|p| p.length()).fold(0.0, f64::max);
    let onto = |k: usize| {
        let x = direction(k, steps);
        points.iter().all(|p| {
            let q = x.rotate(*p);
            points.iter().any(|r| r.distance(q) <= 1e-6 * reach)
        })
    };
    (1..steps)
        .find(|&k| steps.is_multiple_of(k) && onto(k))
        .unwrap_or(steps)
}

/// The loop with as few of its points as stay within [`COARSE_MM`], and how far it stands off then.
fn coarse(points: &[Vec2]) -> (Vec<Vec2>, f64) {
    let n = points.len();
    let far = |from: usize| {
        let at = |i: &usize| points[*i].distance_squared(points[from]);
        (0..n)
            .max_by(|a, b| at(a).total_cmp(&at(b)))
            .unwrap_or(from)
    };
    let a = far(0);
    let b = far(a);
    let (low, high) = (a.min(b), a.max(b));
    let mut kept = vec![false; n];
    let off = thin(points, low, high, &mut kept).max(thin(points, high, low + n, &mut kept));
    let few: Vec<Vec2> = (0..n).filter(|&i| kept[i]).map(|i| points[i]).collect();
    if few.len() < 3 {
        (points.to_vec(), 0.0)
    } else {
        (few, off)
    }
}

/// Marks the points to keep from `from` to `to` (counted on around the loop); returns the farthest of the others.
fn thin(points: &[Vec2], from: usize, to: usize, kept: &mut [bool]) -> f64 {
    let n = points.len();
    let mut worst: f64 = 0.0;
    let mut open = vec![(from, to)];
    while let Some((a, b)) = open.pop() {
        kept[a % n] = true;
        kept[b % n] = true;
        let (p, q) = (points[a % n], points[b % n]);
        let mut far = (0.0, a);
        for i in a + 1..b {
            let d = to_segment(points[i % n], p, q);
            if d > far.0 {
                far = (d, i);
            }
        }
        if far.0 > COARSE_MM {
            open.push((a, far.1));
            open.push((far.1, b));
        } else {
            worst = worst.max(far.0);
        }
    }
    // A point on its line but for rounding does not move the outline.
    if worst < 1e-9 { 0.0 } else { worst }
}

/// Distance from a point to a segment.
pub(super) fn to_segment(at: Vec2, p: Vec2, q: Vec2) -> f64 {
    let along = q - p;
    let length2 = along.length_squared();
    let t = if length2 > 0.0 {
        ((at - p).dot(along) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (at - p - along * t).length()
}
