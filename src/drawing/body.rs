//! The bodies of a stage, as data: what `solid` turns into closed meshes and combines.
//!
//! Every body lives in a [`Frame`]; upright bodies rise along its z. A cut is described the same way,
//! with z pointing into the metal, so that one construction serves both.

use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::outline::Outline;
use crate::measure::{Frame, Plane, Vec2, Vec3};

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
