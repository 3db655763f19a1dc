//! The widest disc that fits inside an outline.
//!
//! Method: closed forms for discs, rectangles and obrounds. Otherwise a good place is found by halving the cells
//! that may hold the deepest (as in a search for the pole of inaccessibility) and by climbing; then the
//! shrunk outline tells whether anything lies deeper: it is empty, or one of its points is the better place.
//! Bisection between the two. A depth is only believed when the distance to the rim says so.

use super::offset::{TRIES, offset};
use super::run::Run;
use super::strips::grown_by_strips;
use super::{Outline, Vertex};
use crate::measure::Vec2;

/// What the deepest depth is found to (mm): the diameter to twice that, under a thousandth.
const DEPTH_MM: f64 = 4e-4;

/// Steps of a climb: enough to halve the step well below what the cells leave open.
const CLIMB_STEPS: usize = 30;

impl Outline {
    /// Diameter of the widest disc that fits inside (mm), to a thousandth.
    pub fn widest_disc(&self) -> f64 {
        if let Some((_, r)) = self.as_disc() {
            return 2.0 * r;
        }
        if let [ring] = self.loops.as_slice()
            && let Some(width) = bar_width(ring)
        {
            return width;
        }
        2.0 * self.deepest()
    }

    /// Depth of the deepest place (mm).
    fn deepest(&self) -> f64 {
        let mut depth = -self.distance(self.climbed(self.coarse()));
        let (low, high) = self.bounds();
        let mut least = (high - low).min_element() * 0.5 + DEPTH_MM;
        let (mut step, mut bracketed) = (DEPTH_MM, false);
        while least - depth > DEPTH_MM * 1.01 {
            let by = if bracketed {
                (0.5 * (depth + least)).max(depth + DEPTH_MM)
            } else {
                (depth + step).min(least)
            };
            match self.deeper(by) {
                Some(p) => {
                    depth = (-self.distance(self.climbed(p))).max(by);
                    step *= 8.0;
                }
                None => {
                    least = by;
                    bracketed = true;
                }
            }
        }
        depth
    }

    /// A place at least this deep, if there is one.
    fn deeper(&self, depth: f64) -> Option<Vec2> {
        let rings = match offset(self, -depth, TRIES[0]) {
            Some(rings) => rings,
            None => grown_by_strips(self, -depth).ok()?.loops,
        };
        let middle = |ring: &Vec<Vertex>| {
            let sum: Vec2 = ring.iter().map(|v| v.at).sum();
            sum / ring.len().max(1) as f64
        };
        let middles: Vec<Vec2> = rings.iter().map(middle).collect();
        rings
            .iter()
            .flatten()
            .map(|v| v.at)
            .chain(middles)
            .map(|p| (-self.distance(p), p))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(d, _)| *d > depth - 1e-5)
            .map(|(_, p)| p)
    }

    /// A good place to start: the deepest middle of cells halved while they may hold a deeper one.
    fn coarse(&self) -> Vec2 {
        let (low, high) = self.bounds();
        let size = (high - low)
            .min_element()
            .max((high - low).max_element() / 32.0);
        let (mut cells, mut half) = (Vec::new(), size * 0.5);
        let mut x = low.x;
        while x < high.x {
            let mut y = low.y;
            while y < high.y {
                cells.push(Vec2::new(x + half, y + half));
                y += size;
            }
            x += size;
        }
        let mut best = (f64::NEG_INFINITY, low);
        for _ in 0..6 {
            let depths: Vec<f64> = cells.iter().map(|&c| -self.distance(c)).collect();
            for (d, c) in depths.iter().zip(&cells) {
                if *d > best.0 {
                    best = (*d, *c);
                }
            }
            let mut hopeful: Vec<(f64, Vec2)> = depths
                .into_iter()
                .zip(cells)
                .filter(|(d, _)| d + half * std::f64::consts::SQRT_2 > best.0)
                .collect();
            hopeful.sort_by(|a, b| b.0.total_cmp(&a.0));
            hopeful.truncate(64);
            half *= 0.5;
            let quarters = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
            cells = hopeful
                .iter()
                .flat_map(|(_, c)| quarters.map(|(x, y)| *c + Vec2::new(x, y) * half))
                .collect();
        }
        best.1
    }

    /// The place moved uphill for a few steps, away from the rims that are nearest.
    fn climbed(&self, from: Vec2) -> Vec2 {
        let runs: Vec<Run> = self.runs().collect();
        let (mut at, mut depth) = (from, -self.distance(from));
        let mut step = depth.abs().max(0.1) * 0.25;
        for _ in 0..CLIMB_STEPS {
            let mut ways: Vec<Vec2> = runs
                .iter()
                .map(|r| at - r.nearest(at))
                .filter(|w| w.length() < depth + step)
                .map(|w| w.normalize_or_zero())
                .collect();
            ways.push(ways.iter().copied().sum::<Vec2>().normalize_or_zero());
            let along: Vec<Vec2> = ways.iter().map(|w| w.perp()).collect();
            ways.extend(along.iter().map(|w| -w));
            ways.extend(along);
            let deeper = ways
                .into_iter()
                .map(|w| at + w * step)
                .map(|p| (-self.distance(p), p))
                .max_by(|a, b| a.0.total_cmp(&b.0));
            match deeper {
                Some((d, p)) if d > depth => (depth, at) = (d, p),
                _ => step *= 0.5,
            }
        }
        at
    }
}

/// Width of a rectangle or obround: four runs, lines in parallel pairs, or two of them and two half turns.
fn bar_width(ring: &[Vertex]) -> Option<f64> {
    if ring.len() != 4 {
        return None;
    }
    let runs: Vec<Run> = super::run::runs_of(ring).collect();
    let square = |a: &Run, b: &Run| a.heading(0.0).dot(b.heading(0.0)).abs() < 1e-9;
    let lines: Vec<&Run> = runs.iter().filter(|r| r.bend.is_none()).collect();
    match lines.len() {
        4 => {
            let right = (0..4).all(|i| square(&runs[i], &runs[(i + 1) % 4]));
            right.then(|| runs[0].length().min(runs[1].length()))
        }
        2 => {
            let round = runs
                .iter()
                .all(|r| r.bend.is_none() || (r.bulge - 1.0).abs() < 1e-9);
            let smooth = lines[0].heading(0.0).dot(lines[1].heading(0.0)) < -1.0 + 1e-12;
            let chord = runs.iter().find(|r| r.bend.is_some())?;
            let across = (chord.to - chord.from)
                .normalize_or_zero()
                .dot(lines[0].heading(0.0))
                .abs()
                < 1e-9;
            (round && smooth && across).then(|| chord.from.distance(chord.to))
        }
        _ => None,
    }
}
