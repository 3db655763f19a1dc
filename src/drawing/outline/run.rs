//! One run of a loop, a line or an arc of at most half a turn: the plane geometry that the rest stands on.
//!
//! Promises: ends are exact (`point(0.0)` and `point(1.0)` are the vertices bit for bit).
//! Formulas for bulge, centre and radius: closed plane trigonometry.

use super::Vertex;
use crate::measure::Vec2;
use std::f64::consts::TAU;

/// Circle and turn of an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bend {
    /// Centre (mm).
    pub centre: Vec2,
    /// Radius (mm), positive.
    pub radius: f64,
    /// Angle turned through (rad), positive counter-clockwise.
    pub sweep: f64,
}

/// A line or an arc from one vertex to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Run {
    /// First vertex (mm).
    pub from: Vec2,
    /// Last vertex (mm).
    pub to: Vec2,
    /// Tangent of a quarter of the turn; 0 for a line.
    pub bulge: f64,
    /// Circle of an arc, none for a line.
    pub bend: Option<Bend>,
}

/// An arc whose bulge is under this is a line: at 2 m length it stands 1e-9 mm off its chord.
const STRAIGHT_BULGE: f64 = 1e-12;

impl Run {
    /// A run from vertices and bulge.
    pub fn new(from: Vec2, to: Vec2, bulge: f64) -> Run {
        let chord = to - from;
        let length = chord.length();
        if bulge.abs() < STRAIGHT_BULGE || length == 0.0 {
            return Run {
                from,
                to,
                bulge: 0.0,
                bend: None,
            };
        }
        let radius = length * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        let rise = (1.0 - bulge * bulge) / (4.0 * bulge);
        let bend = Bend {
            centre: (from + to) * 0.5 + chord.perp() * rise,
            radius,
            sweep: 4.0 * bulge.atan(),
        };
        Run {
            from,
            to,
            bulge,
            bend: Some(bend),
        }
    }

    /// A straight run.
    pub fn line(from: Vec2, to: Vec2) -> Run {
        Run::new(from, to, 0.0)
    }

    /// Length along the run (mm).
    pub fn length(&self) -> f64 {
        match self.bend {
            Some(b) => b.radius * b.sweep.abs(),
            None => self.from.distance(self.to),
        }
    }

    /// The point at a fraction of the length.
    pub fn point(&self, t: f64) -> Vec2 {
        if t == 0.0 {
            return self.from;
        }
        if t == 1.0 {
            return self.to;
        }
        match self.bend {
            Some(b) => b.centre + Vec2::from_angle(b.sweep * t).rotate(self.from - b.centre),
            None => self.from.lerp(self.to, t),
        }
    }

    /// Unit direction of travel at a fraction of the length.
    pub fn heading(&self, t: f64) -> Vec2 {
        match self.bend {
            Some(b) => {
                let spoke = Vec2::from_angle(b.sweep * t).rotate(self.from - b.centre);
                (spoke.perp() * b.sweep.signum()).normalize_or_zero()
            }
            None => (self.to - self.from).normalize_or_zero(),
        }
    }

    /// Where along the run's carrier the foot of `p` lies: below 0 before it, above 1 behind it.
    pub fn fraction(&self, p: Vec2) -> f64 {
        match self.bend {
            Some(b) => {
                let (start, spoke) = (self.from - b.centre, p - b.centre);
                let turn = start.perp_dot(spoke).atan2(start.dot(spoke)) * b.sweep.signum();
                let sweep = b.sweep.abs();
                let turn = if turn < -(TAU - sweep) * 0.5 {
                    turn + TAU
                } else {
                    turn
                };
                turn / sweep
            }
            None => {
                let way = self.to - self.from;
                let square = way.length_squared();
                if square == 0.0 {
                    0.0
                } else {
                    (p - self.from).dot(way) / square
                }
            }
        }
    }

    /// Distance from `p` to the nearest point of the run (mm).
    pub fn distance(&self, p: Vec2) -> f64 {
        let t = self.fraction(p);
        if t <= 0.0 {
            return p.distance(self.from).min(p.distance(self.to));
        }
        if t >= 1.0 {
            return p.distance(self.to).min(p.distance(self.from));
        }
        match self.bend {
            Some(b) => (p.distance(b.centre) - b.radius).abs(),
            None => p.distance(self.from.lerp(self.to, t)),
        }
    }

    /// The nearest point of the run to `p`.
    pub fn nearest(&self, p: Vec2) -> Vec2 {
        let t = self.fraction(p);
        if t > 0.0 && t < 1.0 {
            return match self.bend {
                Some(b) => b.centre + (p - b.centre).normalize_or(Vec2::X) * b.radius,
                None => self.point(t),
            };
        }
        if p.distance_squared(self.from) <= p.distance_squared(self.to) {
            self.from
        } else {
            self.to
        }
    }

    /// The piece between two fractions, with its ends where they are told to be.
    pub fn piece(&self, t0: f64, t1: f64, from: Vec2, to: Vec2) -> Run {
        match self.bend {
            Some(b) => Run::new(from, to, (b.sweep * (t1 - t0) * 0.25).tan()),
            None => Run::line(from, to),
        }
    }

    /// Least and greatest coordinates.
    pub fn bounds(&self) -> (Vec2, Vec2) {
        let (mut low, mut high) = (self.from.min(self.to), self.from.max(self.to));
        if let Some(b) = self.bend {
            for way in [Vec2::X, Vec2::Y, Vec2::NEG_X, Vec2::NEG_Y] {
                let p = b.centre + way * b.radius;
                let t = self.fraction(p);
                if t > 0.0 && t < 1.0 {
                    low = low.min(p);
                    high = high.max(p);
                }
            }
        }
        (low, high)
    }

    /// Twice the area between the run and the origin, signed (Green's theorem).
    pub fn double_area(&self) -> f64 {
        let chord = self.from.perp_dot(self.to);
        match self.bend {
            Some(b) => chord + b.radius * b.radius * (b.sweep - b.sweep.sin()),
            None => chord,
        }
    }

    /// Points within `near` of both runs where their carriers cross or touch.
    pub fn crossings(&self, other: &Run, near: f64) -> Vec<Vec2> {
        let found = match (self.bend, other.bend) {
            (None, None) => line_line(self, other),
            (None, Some(b)) => line_circle(self, b, near),
            (Some(a), None) => line_circle(other, a, near),
            (Some(a), Some(b)) => circle_circle(a, b, near),
        };
        found
            .into_iter()
            .flatten()
            .filter(|&p| self.distance(p) <= near && other.distance(p) <= near)
            .collect()
    }
}

fn line_line(a: &Run, b: &Run) -> [Option<Vec2>; 2] {
    let (u, v) = (a.to - a.from, b.to - b.from);
    let cross = u.perp_dot(v);
    if cross.abs() <= 1e-12 * u.length() * v.length() {
        return [None, None];
    }
    let t = (b.from - a.from).perp_dot(v) / cross;
    [Some(a.from + u * t), None]
}

fn line_circle(a: &Run, b: Bend, near: f64) -> [Option<Vec2>; 2] {
    let way = (a.to - a.from).normalize_or_zero();
    let foot = a.from + way * (b.centre - a.from).dot(way);
    let off = foot.distance(b.centre);
    if off > b.radius + near {
        return [None, None];
    }
    let half = b.radius * b.radius - off * off;
    if half <= 0.0 {
        return [Some(foot), None];
    }
    let reach = way * half.sqrt();
    [Some(foot - reach), Some(foot + reach)]
}

fn circle_circle(a: Bend, b: Bend, near: f64) -> [Option<Vec2>; 2] {
    let way = b.centre - a.centre;
    let apart = way.length();
    let (sum, gap) = (a.radius + b.radius, (a.radius - b.radius).abs());
    if apart < 1e-12 || apart > sum + near || apart < gap - near {
        return [None, None];
    }
    let way = way / apart;
    let along = (apart * apart + a.radius * a.radius - b.radius * b.radius) / (2.0 * apart);
    let half = a.radius * a.radius - along * along;
    if half <= 0.0 {
        return [Some(a.centre + way * a.radius * along.signum()), None];
    }
    let (foot, reach) = (a.centre + way * along, way.perp() * half.sqrt());
    [Some(foot - reach), Some(foot + reach)]
}

/// The runs of a closed loop, one a vertex.
pub(super) fn runs_of(ring: &[Vertex]) -> impl Iterator<Item = Run> + '_ {
    (0..ring.len()).map(|i| run_at(ring, i))
}

/// The run that starts at a vertex of a closed loop.
pub(super) fn run_at(ring: &[Vertex], i: usize) -> Run {
    Run::new(ring[i].at, ring[(i + 1) % ring.len()].at, ring[i].bulge)
}

/// Signed area of a closed loop (mm²), positive counter-clockwise.
pub(super) fn ring_area(ring: &[Vertex]) -> f64 {
    runs_of(ring).map(|r| r.double_area()).sum::<f64>() * 0.5
}

/// How often a closed loop winds round `p`, counter-clockwise positive. On the rim either side may come out.
pub(super) fn winding(ring: &[Vertex], p: Vec2) -> i32 {
    runs_of(ring).map(|r| r.winding(p)).sum()
}

impl Run {
    /// The run's share of a winding number: the chord by half-open crossing of a ray towards +x, then the part
    /// of the disc between chord and arc. A point on a chord counts as moved by a hair to the right, then up.
    fn winding(&self, p: Vec2) -> i32 {
        let way = self.to - self.from;
        let side = way.perp_dot(p - self.from);
        let left = side > 0.0 || (side == 0.0 && (way.y < 0.0 || (way.y == 0.0 && way.x > 0.0)));
        let chord = if self.from.y <= p.y && p.y < self.to.y && left {
            1
        } else if self.to.y <= p.y && p.y < self.from.y && !left {
            -1
        } else {
            0
        };
        let cap = match self.bend {
            Some(b) if p.distance_squared(b.centre) < b.radius * b.radius => {
                if b.sweep > 0.0 && !left {
                    1
                } else if b.sweep < 0.0 && left {
                    -1
                } else {
                    0
                }
            }
            _ => 0,
        };
        chord + cap
    }
}
