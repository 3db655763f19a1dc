//! Outlines from sizes, points and loops.

use super::run::{ring_area, runs_of};
use super::tidy::{circle, crossing, sorted_by_nesting, split_long_arcs, tidy_ring};
use super::{Outline, OutlineError, Vertex};
use crate::measure::Vec2;

/// A vertex that starts a line.
pub(super) fn sharp(at: Vec2) -> Vertex {
    Vertex { at, bulge: 0.0 }
}

/// A size above zero, or the refusal of it.
pub(super) fn sized(size: f64) -> Result<f64, OutlineError> {
    if size.is_finite() && size > 0.0 {
        Ok(size)
    } else {
        Err(OutlineError::BadSize { size })
    }
}

impl Outline {
    /// A rectangle `l` along x by `w` along y (mm), centred.
    pub fn rect(l: f64, w: f64) -> Outline {
        let half = Vec2::new(l, w) * 0.5;
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        Outline {
            loops: vec![
                corners
                    .iter()
                    .map(|&(x, y)| sharp(half * Vec2::new(x, y)))
                    .collect(),
            ],
        }
    }

    /// A disc of this diameter (mm), centred: two vertices, each starting half a turn.
    pub fn disc(dia: f64) -> Outline {
        Outline {
            loops: vec![circle(Vec2::ZERO, dia * 0.5)],
        }
    }

    /// A rectangle with half-round ends, `l` over all along x and `w` wide (mm), centred.
    ///
    /// # Errors
    /// A size that isn't above zero; `l` less than `w`.
    pub fn obround(l: f64, w: f64) -> Result<Outline, OutlineError> {
        let (l, w) = (sized(l)?, sized(w)?);
        if l < w {
            return Err(OutlineError::WiderThanLong {
                length: l,
                width: w,
            });
        }
        let (reach, r) = ((l - w) * 0.5, w * 0.5);
        if l - w <= 1e-9 {
            return Ok(Outline::disc(w));
        }
        let ring = [
            (-reach, -r, 0.0),
            (reach, -r, 1.0),
            (reach, r, 0.0),
            (-reach, r, 1.0),
        ];
        let ring = ring.map(|(x, y, bulge)| Vertex {
            at: Vec2::new(x, y),
            bulge,
        });
        Ok(Outline {
            loops: vec![ring.to_vec()],
        })
    }

    /// A polygon through the points (mm), either way round.
    ///
    /// # Errors
    /// Fewer than three points that make an area; sides that cross or touch.
    pub fn polygon(points: &[Vec2]) -> Result<Outline, OutlineError> {
        Outline::from_loops(vec![points.iter().map(|&p| sharp(p)).collect()])
    }

    /// An outline from closed loops, either way round: a loop inside another is a hole, inside a hole an
    /// outer again. Arcs of more than half a turn are split, doubled points dropped, runs of one line or
    /// circle joined.
    ///
    /// # Errors
    /// Loops without area, numbers that aren't finite, loops that cross or touch themselves or each other.
    pub fn from_loops(loops: Vec<Vec<Vertex>>) -> Result<Outline, OutlineError> {
        if loops.is_empty() {
            return Err(OutlineError::Empty);
        }
        let mut rings = Vec::with_capacity(loops.len());
        for ring in loops {
            for v in &ring {
                for size in [v.at.x, v.at.y, v.bulge] {
                    if !size.is_finite() {
                        return Err(OutlineError::BadSize { size });
                    }
                }
            }
            rings.push(checked(&ring)?);
        }
        match crossing(&rings) {
            Some(near) => Err(OutlineError::CrossesItself { near }),
            None => Ok(sorted_by_nesting(rings)),
        }
    }
}

/// One loop, split and tidied, if it has an area.
fn checked(ring: &[Vertex]) -> Result<Vec<Vertex>, OutlineError> {
    let ring = split_long_arcs(ring);
    let curved = ring.iter().any(|v| v.bulge != 0.0);
    let wanted = if curved { 2 } else { 3 };
    let few = OutlineError::TooFewPoints {
        wanted,
        got: ring.len(),
    };
    if ring.len() < wanted {
        return Err(few);
    }
    // A figure of eight may have no area as a whole: it crosses, it isn't thin.
    if ring_area(&ring).abs() < 1e-9 * runs_of(&ring).map(|r| r.length()).sum::<f64>() {
        return match proper_crossing(&ring) {
            Some(near) => Err(OutlineError::CrossesItself { near }),
            None => Err(few),
        };
    }
    tidy_ring(&ring).ok_or(few)
}

/// Where two runs cross well away from all ends.
fn proper_crossing(ring: &[Vertex]) -> Option<Vec2> {
    let runs: Vec<_> = runs_of(ring).collect();
    for (i, a) in runs.iter().enumerate() {
        for b in &runs[i + 1..] {
            let found = a.crossings(b, 1e-9).into_iter().find(|p| {
                [a.from, a.to, b.from, b.to]
                    .iter()
                    .all(|q| q.distance(*p) > 1e-6)
            });
            if found.is_some() {
                return found;
            }
        }
    }
    None
}
