//! Outlines moved, turned and mirrored.

use super::tidy::{reversed, tidy_ring};
use super::{Outline, Vertex};
use crate::measure::{Vec2, sin_cos_deg};

impl Outline {
    /// Moved by (x, y) (mm).
    pub fn at(&self, x: f64, y: f64) -> Outline {
        self.mapped(|p| p + Vec2::new(x, y))
    }

    /// Turned about its origin, counter-clockwise (degrees).
    pub fn turn(&self, deg: f64) -> Outline {
        let (s, c) = sin_cos_deg(deg);
        self.mapped(|p| Vec2::new(c, s).rotate(p))
    }

    /// Left and right swapped: x becomes -x.
    pub fn mirrored_x(&self) -> Outline {
        self.mirrored(|p| Vec2::new(-p.x, p.y))
    }

    /// Front and back swapped: y becomes -y.
    pub fn mirrored_y(&self) -> Outline {
        self.mirrored(|p| Vec2::new(p.x, -p.y))
    }

    fn mapped(&self, to: impl Fn(Vec2) -> Vec2) -> Outline {
        let ring = |ring: &Vec<Vertex>| {
            let moved = |v: &Vertex| Vertex { at: to(v.at), ..*v };
            let moved: Vec<Vertex> = ring.iter().map(moved).collect();
            same_start(moved)
        };
        Outline {
            loops: self.loops.iter().map(ring).collect(),
        }
    }

    /// A mirror turns every arc the other way; running the loops backwards keeps outers counter-clockwise.
    fn mirrored(&self, to: impl Fn(Vec2) -> Vec2) -> Outline {
        let flipped = self.mapped(to);
        let ring = |ring: &Vec<Vertex>| {
            let mut back = reversed(ring);
            back.iter_mut().for_each(|v| v.bulge = -v.bulge);
            same_start(back)
        };
        Outline {
            loops: flipped.loops.iter().map(ring).collect(),
        }
    }
}

/// A full circle starts at its +x point wherever it is turned to, so that equal ones are sampled alike.
fn same_start(ring: Vec<Vertex>) -> Vec<Vertex> {
    match ring.len() {
        2 => tidy_ring(&ring).unwrap_or(ring),
        _ => ring,
    }
}
