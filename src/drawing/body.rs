//! The bodies of a stage, as data: what `solid` turns into closed meshes and combines.
//!
//! Every body lives in a [`Frame`]; upright bodies rise along its z. A cut is described the same way,
//! with z pointing into the metal, so that one construction serves both.

use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::outline::Outline;
use crate::measure::{Bounds, Frame, Plane, Vec2, Vec3};

/// Whether a body adds metal or removes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Act {
    /// Adds.
    Add,
    /// Removes.
    Cut,
}

/// One closed body that a stage adds or cuts.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Whose it is.
    pub feature: FeatureId,
    /// Adds or removes.
    pub act: Act,
    /// Where it lies.
    pub frame: Frame,
    /// Its form in that frame.
    pub shape: Shape,
    /// Half-spaces that it is cut back to, in part coordinates: what lies on the normals' side goes.
    pub trims: Vec<Plane>,
    /// Bodies taken out of it before anything else, in order (a lip over the host's edge).
    pub less: Vec<Body>,
    /// Bodies that it is cut back to, in order (a skirt to its host's face).
    pub within: Vec<Body>,
    /// How its surface is laid over uneven ground, before anything else.
    pub drape: Option<Drape>,
}

impl Body {
    /// A body that nothing is taken from.
    pub fn plain(feature: FeatureId, act: Act, frame: Frame, shape: Shape) -> Body {
        Body {
            feature,
            act,
            frame,
            shape,
            trims: Vec::new(),
            less: Vec::new(),
            within: Vec::new(),
            drape: None,
        }
    }
}

/// A skirt laid over ground that isn't flat: each point moves along its frame's z by the height of the ground under it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drape {
    /// The ground rises by this much a millimetre along this direction of the frame's x and y, and by `offset` at the origin.
    Slope {
        /// Rise per mm.
        per_mm: Vec2,
        /// Height at the origin (mm).
        offset: f64,
    },
    /// The ground is a cylinder that touches the plane z = 0 along a line through `at`, in this unit direction.
    Round {
        /// Radius (mm).
        radius: f64,
        /// A point of the touching line in x and y.
        at: Vec2,
        /// Direction of that line in x and y.
        axis: Vec2,
    },
}

impl Drape {
    /// Height of the ground under a point of the frame's plan (mm).
    pub fn height(&self, p: Vec2) -> f64 {
        match self {
            Drape::Slope { per_mm, offset } => per_mm.dot(p) + offset,
            Drape::Round { radius, at, axis } => {
                let across = (p - *at).perp_dot(*axis);
                (radius * radius - across * across).max(0.0).sqrt() - radius
            }
        }
    }
}

/// The form of a body in its own frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Upright over an outline.
    Band(Band),
    /// A stack of outlines, walls running straight between neighbours; equal heights make a flat ledge.
    Stack(Vec<(f64, Outline)>),
    /// A bar along a path with a changing height.
    Rib(Rib),
    /// Revolved about z.
    Lathe(Vec<LathePoint>),
    /// A section carried along a way; the frame is the part's, or mirrored.
    Sweep(Sweep),
}

/// An upright body over an outline, from `z0` up to `z1`.
///
/// `outline` holds at height `holds`; with a draft the section is wider below that height and narrower above it:
/// offset at z is (holds - z) tan(draft). At `z1` the edge is rounded or chamfered away. At `z0` a `flare`
/// widens the section into the plane z = z0: a foot fillet, or the rounded or chamfered mouth of a cut.
/// Below z0 the section at z0 goes straight on by `below`; above z1 that at z1 by `above`.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// The section at `holds`.
    pub outline: Outline,
    /// Where the outline holds.
    pub holds: f64,
    /// The foot.
    pub z0: f64,
    /// The free end.
    pub z1: f64,
    /// Degrees; positive narrows upwards.
    pub draft_deg: f64,
    /// At the foot, widening: `Round` is a fillet tangent to the plane z = z0.
    pub flare: Edge,
    /// At the free end, narrowing.
    pub edge: Edge,
    /// Straight extension under the foot.
    pub below: f64,
    /// Straight extension over the free end (only with a sharp edge).
    pub above: f64,
}

/// A bar along a path: `Band` over the path's stroke, with its height changing linearly along the path.
#[derive(Debug, Clone, PartialEq)]
pub struct Rib {
    /// The way, at least two points, in the frame's x and y.
    pub path: Vec<Vec2>,
    /// Thickness at the free edge.
    pub thick: f64,
    /// Height over z0 at each path point.
    pub heights: Vec<f64>,
    /// The foot.
    pub z0: f64,
    /// Degrees; the section is wider towards the foot, `thick` holds at the free edge.
    pub draft_deg: f64,
    /// Foot fillet.
    pub flare: Edge,
    /// Free edge.
    pub edge: Edge,
    /// Straight extension under the foot.
    pub below: f64,
}

/// A vertex of a lathe profile, closed on itself; counter-clockwise in (r, z).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LathePoint {
    /// Distance from the axis, 0 on it.
    pub r: f64,
    /// Height.
    pub z: f64,
    /// Bulge of the run to the next vertex (0 is a line).
    pub bulge: f64,
}

/// A section carried along a way.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// The way, at least two points.
    pub way: Vec<Vec3>,
    /// Bend radius of the middle line at inner points; `None` is mitred.
    pub bend: Option<f64>,
    /// The section in (u, v): v as near +z as it goes at the start (+y if upright), u to the right looking along.
    pub section: Outline,
    /// Extra straight length at the start.
    pub before: f64,
    /// Extra straight length at the end.
    pub after: f64,
    /// Turn u over (a mirrored tunnel).
    pub flip_u: bool,
}

impl Body {
    /// A box that holds the body (mm); trims and drapes are not counted off.
    pub fn bounds(&self) -> Bounds {
        let upright = |outline: &Outline, grow: f64, z0: f64, z1: f64| {
            let (low, high) = outline.bounds();
            let (low, high) = (low - grow, high + grow);
            Bounds::of([z0, z1].into_iter().flat_map(|z| {
                [
                    (low.x, low.y),
                    (high.x, low.y),
                    (low.x, high.y),
                    (high.x, high.y),
                ]
                .map(|(x, y)| self.frame.point(Vec3::new(x, y, z)))
            }))
        };
        let growth = |draft_deg: f64, height: f64, flare: Edge| {
            let flare = match flare {
                Edge::Sharp => 0.0,
                Edge::Round(r) | Edge::Chamfer(r) => r,
            };
            (draft_deg.to_radians().tan() * height).max(0.0) + flare
        };
        match &self.shape {
            Shape::Band(b) => {
                let grow = growth(
                    b.draft_deg,
                    (b.holds - b.z0).abs().max((b.z1 - b.holds).abs()),
                    b.flare,
                );
                upright(&b.outline, grow, b.z0 - b.below, b.z1 + b.above)
            }
            Shape::Stack(levels) => levels.iter().fold(Bounds::EMPTY, |all, (z, o)| {
                all.joined(upright(o, 0.0, *z, *z))
            }),
            Shape::Rib(r) => {
                let high = r.heights.iter().copied().fold(0.0, f64::max);
                let grow = r.thick / 2.0 + growth(r.draft_deg, high, r.flare);
                r.path.iter().fold(Bounds::EMPTY, |all, p| {
                    let at = Frame {
                        origin: self.frame.point(p.extend(0.0)),
                        ..self.frame
                    };
                    [r.z0 - r.below, r.z0 + high]
                        .into_iter()
                        .fold(all, |all, z| {
                            [(-grow, -grow), (grow, -grow), (-grow, grow), (grow, grow)]
                                .into_iter()
                                .fold(all, |all, (x, y)| all.with(at.point(Vec3::new(x, y, z))))
                        })
                })
            }
            Shape::Lathe(points) => {
                let r = points.iter().map(|p| p.r).fold(0.0, f64::max);
                let low = points.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
                let high = points.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
                // A bulging run may stand out by half its chord.
                let bulge = points.iter().enumerate().map(|(i, p)| {
                    let q = &points[(i + 1) % points.len()];
                    p.bulge.abs() * (p.r - q.r).hypot(p.z - q.z) / 2.0
                });
                let more = bulge.fold(0.0, f64::max);
                let a = self.frame.z;
                let side = |k: f64| (1.0 - k * k).max(0.0).sqrt() * (r + more);
                let around = Vec3::new(side(a.x), side(a.y), side(a.z));
                let ends = Bounds::of(
                    [low - more, high + more].map(|z| self.frame.point(Vec3::new(0.0, 0.0, z))),
                );
                Bounds {
                    low: ends.low - around,
                    high: ends.high + around,
                }
            }
            Shape::Sweep(s) => {
                let n = s.way.len();
                let first = s.way[0] - (s.way[1] - s.way[0]).normalize() * s.before;
                let last = s.way[n - 1] + (s.way[n - 1] - s.way[n - 2]).normalize() * s.after;
                let points = s
                    .way
                    .iter()
                    .copied()
                    .chain([first, last])
                    .map(|p| self.frame.point(p));
                Bounds::of(points).grown(s.section.reach())
            }
        }
    }
}
