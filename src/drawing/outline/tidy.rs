//! Loops made canonical: doubled points dropped, runs of one carrier joined, long arcs split, loops turned the
//! right way round, crossings found.

use super::run::{Run, ring_area, run_at, runs_of, winding};
use super::{Outline, OutlineError, Vertex};
use crate::measure::{SAME_POINT_MM, Vec2};
use std::f64::consts::PI;

/// Two runs are joined where the middle vertex stands off the joined run by no more than this (mm):
/// a tenth of what counts as one point, so that joining never moves the rim.
const JOIN_MM: f64 = SAME_POINT_MM * 0.1;

/// A loop whose area is less than this times its length is a sliver of rounding, not a shape (mm).
const SLIVER_MM: f64 = 1e-6;

/// Splits arcs of more than half a turn in two.
pub(super) fn split_long_arcs(ring: &[Vertex]) -> Vec<Vertex> {
    let mut out = Vec::with_capacity(ring.len());
    for (i, v) in ring.iter().enumerate() {
        if v.bulge.abs() <= 1.0 {
            out.push(*v);
            continue;
        }
        if v.bulge.abs() < 1.0 + 1e-9 {
            out.push(Vertex {
                at: v.at,
                bulge: v.bulge.signum(),
            });
            continue;
        }
        let half = (v.bulge.atan() * 0.5).tan();
        let middle = run_at(ring, i).point(0.5);
        out.push(Vertex {
            at: v.at,
            bulge: half,
        });
        out.push(Vertex {
            at: middle,
            bulge: half,
        });
    }
    out
}

/// The full circle of two half turns, the first from its +x point.
pub(super) fn circle(centre: Vec2, radius: f64) -> Vec<Vertex> {
    let way = Vec2::new(radius, 0.0);
    [centre + way, centre - way]
        .map(|at| Vertex { at, bulge: 1.0 })
        .to_vec()
}

/// Centre and radius if all runs are arcs of one circle, turning the same way.
pub(super) fn whole_circle(ring: &[Vertex]) -> Option<(Vec2, f64)> {
    let first = run_at(ring, 0).bend?;
    let longest = runs_of(ring).max_by(|a, b| a.length().total_cmp(&b.length()))?;
    let best = longest.bend?;
    let mut turned = 0.0;
    for run in runs_of(ring) {
        let b = run.bend?;
        turned += b.sweep;
        let off = |p: Vec2| (p.distance(best.centre) - best.radius).abs();
        let far = off(run.from).max(off(run.point(0.5)));
        if b.sweep.signum() != first.sweep.signum() || far > SAME_POINT_MM {
            return None;
        }
    }
    ((turned.abs() - 2.0 * PI).abs() < 1e-3).then_some((best.centre, best.radius))
}

/// One loop with doubled points dropped and runs of one carrier joined; none if nothing is left.
/// A full circle becomes its two-vertex form.
pub(super) fn tidy_ring(ring: &[Vertex]) -> Option<Vec<Vertex>> {
    let mut ring = without_doubles(ring);
    if ring.len() < 2 {
        return None;
    }
    if let Some((centre, radius)) = whole_circle(&ring) {
        let mut round = circle(centre, radius);
        if ring_area(&ring) < 0.0 {
            round.reverse();
            round.iter_mut().for_each(|v| v.bulge = -1.0);
        }
        return Some(round);
    }
    let mut i = 0;
    let mut left = ring.len();
    while left > 0 && ring.len() > 2 {
        let n = ring.len();
        let (before, after) = (run_at(&ring, (i + n - 1) % n), run_at(&ring, i % n));
        if let Some(joined) = joined(&before, &after) {
            ring[(i + n - 1) % n].bulge = joined.bulge;
            ring.remove(i % n);
            i = if i == 0 { 0 } else { i - 1 };
            left = ring.len();
        } else {
            i = (i + 1) % n;
            left -= 1;
        }
    }
    let length: f64 = runs_of(&ring).map(|r| r.length()).sum();
    (ring_area(&ring).abs() > SLIVER_MM * length).then_some(ring)
}

fn without_doubles(ring: &[Vertex]) -> Vec<Vertex> {
    let mut out: Vec<Vertex> = Vec::with_capacity(ring.len());
    for v in ring {
        match out.last_mut() {
            Some(last) if last.at.distance(v.at) <= SAME_POINT_MM => last.bulge = v.bulge,
            _ => out.push(*v),
        }
    }
    while out.len() > 1 && out[0].at.distance(out[out.len() - 1].at) <= SAME_POINT_MM {
        out.pop();
    }
    out
}

/// Both runs as one, if they lie on one line or one circle and go on the same way.
fn joined(a: &Run, b: &Run) -> Option<Run> {
    if a.heading(1.0).dot(b.heading(0.0)) < 0.5 {
        return None;
    }
    let whole = match (a.bend, b.bend) {
        (None, None) => Run::line(a.from, b.to),
        (Some(p), Some(q)) if p.sweep.signum() == q.sweep.signum() => {
            let sweep = p.sweep + q.sweep;
            if sweep.abs() > PI + 1e-9 || (p.radius - q.radius).abs() > 1e-3 * p.radius {
                return None;
            }
            Run::new(a.from, b.to, (sweep * 0.25).tan().clamp(-1.0, 1.0))
        }
        _ => return None,
    };
    let fits = [a.to, a.point(0.5), b.point(0.5)]
        .iter()
        .all(|&p| whole.distance(p) <= JOIN_MM);
    fits.then_some(whole)
}

/// The loop run backwards.
pub(super) fn reversed(ring: &[Vertex]) -> Vec<Vertex> {
    let n = ring.len();
    (0..n)
        .map(|i| Vertex {
            at: ring[n - 1 - i].at,
            bulge: -ring[(2 * n - 2 - i) % n].bulge,
        })
        .collect()
}

/// Where two runs of the loops cross or touch other than at a shared vertex.
pub(super) fn crossing(rings: &[Vec<Vertex>]) -> Option<Vec2> {
    let mut all = Vec::new();
    for (k, ring) in rings.iter().enumerate() {
        for (i, run) in runs_of(ring).enumerate() {
            let (low, high) = run.bounds();
            all.push((k, i, run, low - SAME_POINT_MM, high + SAME_POINT_MM));
        }
    }
    for (a, &(k, i, run, low, high)) in all.iter().enumerate() {
        for &(l, j, other, low2, high2) in &all[a + 1..] {
            if low.cmpgt(high2).any() || low2.cmpgt(high).any() {
                continue;
            }
            let n = rings[k].len();
            let follows = k == l && (i + 1) % n == j;
            let leads = k == l && (j + 1) % n == i;
            if let Some(p) = clash(&run, &other, follows, leads) {
                return Some(p);
            }
        }
    }
    None
}

/// Where two runs meet; the vertex that neighbours share does not count.
fn clash(a: &Run, b: &Run, follows: bool, leads: bool) -> Option<Vec2> {
    let near = SAME_POINT_MM;
    let shared: Vec<Vec2> = [(follows, a.to), (leads, a.from)]
        .into_iter()
        .filter_map(|(yes, p)| yes.then_some(p))
        .collect();
    let ends = [b.from, b.to]
        .into_iter()
        .filter(|&p| a.distance(p) <= near)
        .chain(
            [a.from, a.to]
                .into_iter()
                .filter(|&p| b.distance(p) <= near),
        );
    // Neighbours that leave a shared vertex almost tangent cross there within rounding: forgive a little more.
    let apart = if shared.is_empty() { 0.0 } else { 10.0 * near };
    let meets = ends
        .chain(a.crossings(b, near * 0.01))
        .find(|p| shared.iter().all(|q| p.distance(*q) > apart));
    meets.or_else(|| folded(a, b, follows, leads))
}

/// Neighbours that turn back on themselves: the second begins along the first.
fn folded(a: &Run, b: &Run, follows: bool, leads: bool) -> Option<Vec2> {
    let (first, second) = match (follows, leads) {
        (true, _) => (a, b),
        (_, true) => (b, a),
        _ => return None,
    };
    let short = first.length().min(second.length()).min(1.0) * 0.5;
    let (p, q) = (
        first.point(1.0 - short / first.length()),
        second.point(short / second.length()),
    );
    (p.distance(q) <= SAME_POINT_MM).then_some(first.to)
}

/// Loops by nesting: those inside an even number of others are outers, the rest holes; outers first.
pub(super) fn sorted_by_nesting(rings: Vec<Vec<Vertex>>) -> Outline {
    let inside = |ring: &[Vertex], p: Vec2| winding(ring, p) != 0;
    let depth: Vec<usize> = (0..rings.len())
        .map(|i| {
            let probe = run_at(&rings[i], 0).point(0.5);
            (0..rings.len())
                .filter(|&j| j != i && inside(&rings[j], probe))
                .count()
        })
        .collect();
    let (mut outers, mut holes) = (Vec::new(), Vec::new());
    for (ring, depth) in rings.into_iter().zip(depth) {
        let hole = depth % 2 == 1;
        let ring = if (ring_area(&ring) < 0.0) == hole {
            ring
        } else {
            reversed(&ring)
        };
        if hole { &mut holes } else { &mut outers }.push(ring);
    }
    outers.append(&mut holes);
    Outline { loops: outers }
}

/// An outline of loops that are known to be sound and rightly turned: tidied, slivers dropped, outers first.
///
/// # Errors
/// `Empty` when nothing is left.
pub(super) fn settled(
    rings: impl IntoIterator<Item = Vec<Vertex>>,
) -> Result<Outline, OutlineError> {
    let mut loops: Vec<Vec<Vertex>> = rings.into_iter().filter_map(|r| tidy_ring(&r)).collect();
    loops.sort_by_key(|r| ring_area(r) < 0.0);
    if loops.is_empty() {
        return Err(OutlineError::Empty);
    }
    Ok(Outline { loops })
}
