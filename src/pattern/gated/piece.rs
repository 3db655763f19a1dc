//! A piece of the gating as it lies in the pattern.

use crate::drawing::body::Body;
use crate::drawing::gating::Section;
use crate::measure::{Frame, Vec2, Vec3, sin_cos_deg};

/// How the gating lies on the pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Gated {
    /// The pieces as they lie, in the order in which they were added: stubs, ties, runners, sprues.
    pub laid: Vec<Laid>,
    /// What each adds outside the pattern and the pieces before it (mm³); one a laid piece.
    pub outside_mm3: Vec<f64>,
    /// How many patterns there are.
    pub copies: usize,
    /// Where each of them stands, in the order of copies; the first where the pattern itself does.
    pub places: Vec<Rigid>,
}

/// A piece of the gating, or a riser of a runner, in pattern coordinates (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Its number in `part.gating.pieces`.
    pub piece: usize,
    /// Which pattern of the tree it stands on, from 0; 0 for runners and sprues.
    pub copy: usize,
    /// Its body.
    pub body: Body,
    /// Where it lies.
    pub place: LaidPlace,
}

/// Where a piece lies, in pattern coordinates (mm).
#[derive(Debug, Clone, PartialEq)]
pub enum LaidPlace {
    /// A gate or a feeder.
    Stub {
        /// Origin in the raw face's plane, z outward.
        frame: Frame,
        /// Its section in the frame's x and y.
        section: Section,
        /// From the face's plane to its free end.
        length: f64,
        /// How deep its foot reaches under the plane.
        sink: f64,
        /// The runner, or the sprue, that its end meets, by number in `part.gating.pieces`.
        meets: Option<usize>,
    },
    /// A runner, or a riser from a gate's end to its level, along its middle line.
    Bar {
        /// The middle line.
        way: Vec<Vec3>,
        /// Its section.
        section: Section,
        /// Whether it is a riser.
        riser: bool,
    },
    /// A tie.
    Tie {
        /// Its ends.
        ends: [Vec3; 2],
        /// Its section.
        section: Section,
    },
    /// A sprue.
    Sprue {
        /// The middle of its foot.
        foot: Vec3,
        /// The middle of its top.
        top: Vec3,
        /// Diameters at top and foot.
        dia: [f64; 2],
    },
}

/// Where a pattern of a tree stands: a turn about an upright line, then a shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rigid {
    sin_cos: (f64, f64),
    about: Vec2,
    shift: Vec3,
}

impl Rigid {
    pub(super) fn shift(by: Vec3) -> Rigid {
        Rigid {
            sin_cos: (0.0, 1.0),
            about: Vec2::ZERO,
            shift: by,
        }
    }

    pub(super) fn turn(deg: f64, about: Vec2) -> Rigid {
        Rigid {
            sin_cos: sin_cos_deg(deg),
            about,
            shift: Vec3::ZERO,
        }
    }

    fn vector(&self, v: Vec3) -> Vec3 {
        let (s, c) = self.sin_cos;
        Vec3::new(c * v.x - s * v.y, s * v.x + c * v.y, v.z)
    }

    /// Where a point of the first pattern comes to lie (mm).
    pub fn point(&self, p: Vec3) -> Vec3 {
        if self.sin_cos == (0.0, 1.0) {
            return p + self.shift;
        }
        let about = self.about.extend(0.0);
        about + self.vector(p - about) + self.shift
    }

    /// The point of the first pattern that comes to lie here (mm).
    pub fn back(&self, p: Vec3) -> Vec3 {
        if self.sin_cos == (0.0, 1.0) {
            return p - self.shift;
        }
        let about = self.about.extend(0.0);
        let (s, c) = self.sin_cos;
        let d = p - self.shift - about;
        about + Vec3::new(c * d.x + s * d.y, c * d.y - s * d.x, d.z)
    }

    pub(super) fn frame(&self, frame: &Frame) -> Frame {
        Frame {
            origin: self.point(frame.origin),
            x: self.vector(frame.x),
            y: self.vector(frame.y),
            z: self.vector(frame.z),
        }
    }
}
