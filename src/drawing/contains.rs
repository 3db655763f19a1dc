//! Whether a point lies in a body, from its description alone: the definition that meshes are held against.

use crate::drawing::body::{Band, Body, Rib, Shape};
use crate::drawing::given::Edge;
use crate::drawing::outline::{Outline, Vertex};
use crate::drawing::way::Way;
use crate::measure::{Vec2, Vec3};

impl Body {
    /// Whether the part point `p` lies in the body; `None` within about `slack` mm of its surface, or where the
    /// description says no more than its neighbouring sections do.
    pub fn holds(&self, p: Vec3, slack: f64) -> Option<bool> {
        let mut local = self.frame.local(p);
        if let Some(drape) = self.drape {
            local.z -= drape.height(Vec2::new(local.x, local.y));
        }
        let mut answer = self.shape.holds(local, slack);
        for plane in &self.trims {
            answer = both(answer, side(-plane.distance(p), slack));
        }
        for less in &self.less {
            answer = both(answer, less.holds(p, slack).map(|inside| !inside));
        }
        for within in &self.within {
            answer = both(answer, within.holds(p, slack));
        }
        answer
    }
}

/// Inside where the depth below the surface is positive; unsure near it.
fn side(depth: f64, slack: f64) -> Option<bool> {
    if depth.abs() < slack {
        None
    } else {
        Some(depth > 0.0)
    }
}

/// Inside both.
fn both(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    match (a, b) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

impl Shape {
    /// Whether a point of the body's own frame lies inside.
    fn holds(&self, p: Vec3, slack: f64) -> Option<bool> {
        let flat = Vec2::new(p.x, p.y);
        match self {
            Shape::Band(band) => both(
                side(
                    (p.z - (band.z0 - band.below)).min(band.z1 + band.above - p.z),
                    slack,
                ),
                side(band.offset_at(p.z) - band.outline.distance(flat), slack),
            ),
            Shape::Stack(levels) => stack_holds(levels, p, slack),
            Shape::Rib(rib) => rib.holds(p, slack),
            Shape::Lathe(points) => {
                let vertices = points
                    .iter()
                    .map(|q| Vertex {
                        at: Vec2::new(q.r, q.z),
                        bulge: q.bulge,
                    })
                    .collect();
                let outline = Outline::from_loops(vec![vertices]).ok()?;
                let at = Vec2::new(flat.length(), p.z);
                // The axis is no surface: look a little beside it.
                let at = Vec2::new(
                    at.x.max(2.0 * slack)
                        .min(outline.bounds().1.x * 0.5)
                        .max(at.x),
                    at.y,
                );
                side(-outline.distance(at), slack)
            }
            Shape::Sweep(s) => {
                let way = Way::new(&s.way, s.bend, s.flip_u, s.before, s.after);
                let mut unsure = false;
                for shift in [0.0, -slack, slack] {
                    for at in way.sections_at(p + Vec3::splat(shift)) {
                        match side(-s.section.distance(at), slack) {
                            Some(true) if shift == 0.0 => return Some(true),
                            Some(false) => {}
                            _ => unsure = true,
                        }
                    }
                }
                if unsure { None } else { Some(false) }
            }
        }
    }
}

/// Between two levels a point is in when it is in both sections, out when it is in neither.
fn stack_holds(levels: &[(f64, Outline)], p: Vec3, slack: f64) -> Option<bool> {
    let (low, high) = (levels.first()?.0, levels.last()?.0);
    let within = side((p.z - low).min(high - p.z), slack);
    if within != Some(true) {
        return within;
    }
    let i = levels
        .windows(2)
        .position(|w| (w[0].0..=w[1].0).contains(&p.z))?;
    let flat = Vec2::new(p.x, p.y);
    let (a, b) = (
        side(-levels[i].1.distance(flat), slack),
        side(-levels[i + 1].1.distance(flat), slack),
    );
    if a == b { a } else { None }
}

impl Band {
    /// How far the section at height z stands out from the outline (mm): draft, flare and edge together.
    pub fn offset_at(&self, z: f64) -> f64 {
        let z = z.clamp(self.z0, self.z1);
        let a = self.draft_deg.to_radians();
        let wall = |z: f64| (self.holds - z) * a.tan();
        let mut d = wall(z);
        match self.flare {
            Edge::Round(r) if z < self.z0 + r * (1.0 - a.sin()) => {
                let centre = wall(self.z0 + r) + r / a.cos();
                let down = self.z0 + r - z;
                d = centre - (r * r - down * down).max(0.0).sqrt();
            }
            Edge::Chamfer(c) => d += (c - (z - self.z0)).max(0.0),
            _ => {}
        }
        match self.edge {
            Edge::Round(q) if z > self.z1 - q * (1.0 - a.sin()) => {
                let centre = wall(self.z1 - q) - q / a.cos();
                let up = z - (self.z1 - q);
                d = centre + (q * q - up * up).max(0.0).sqrt();
            }
            Edge::Chamfer(c) if z > self.z1 - c => {
                let t = (z - (self.z1 - c)) / c;
                d = wall(self.z1 - c) * (1.0 - t) + (wall(self.z1) - c) * t;
            }
            _ => {}
        }
        d
    }
}

impl Rib {
    /// Whether a point lies in the rib; unsure where draft or edges and a falling height mix.
    fn holds(&self, p: Vec3, slack: f64) -> Option<bool> {
        let (beside, height) = self.nearest(Vec2::new(p.x, p.y));
        let upright = side(
            (p.z - (self.z0 - self.below)).min(self.z0 + height - p.z),
            slack,
        );
        let half = self.thick / 2.0;
        let high = self.heights.iter().copied().fold(0.0, f64::max);
        let level = self.heights.iter().all(|h| (h - high).abs() < 1e-9);
        if level || (self.draft_deg == 0.0 && self.flare == Edge::Sharp && self.edge == Edge::Sharp)
        {
            let band = Band {
                outline: Outline::default(),
                holds: self.z0 + high,
                z0: self.z0,
                z1: self.z0 + high,
                draft_deg: self.draft_deg,
                flare: self.flare,
                edge: self.edge,
                below: self.below,
                above: 0.0,
            };
            return both(upright, side(half + band.offset_at(p.z) - beside, slack));
        }
        let flare = match self.flare {
            Edge::Sharp => 0.0,
            Edge::Round(r) | Edge::Chamfer(r) => r,
        };
        let widest = half + flare + high * self.draft_deg.to_radians().tan();
        match (upright, beside > widest + slack) {
            (Some(false), _) | (_, true) => Some(false),
            _ => None,
        }
    }

    /// Distance from the middle line in plan, and the height there (mm).
    fn nearest(&self, p: Vec2) -> (f64, f64) {
        let mut best = (f64::INFINITY, 0.0);
        for (i, leg) in self.path.windows(2).enumerate() {
            let along = leg[1] - leg[0];
            let t = ((p - leg[0]).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            let distance = p.distance(leg[0] + along * t);
            if distance < best.0 {
                best = (
                    distance,
                    self.heights[i] + (self.heights[i + 1] - self.heights[i]) * t,
                );
            }
        }
        best
    }
}
