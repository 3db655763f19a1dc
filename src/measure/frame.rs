//! Frames, planes and boxes.

use super::{PARALLEL, Vec2, Vec3};

/// An orthonormal frame in the part's space: local (x, y, z) to part coordinates.
///
/// It may be left-handed: a place on a bottom keeps the part's plan (x and y as seen from above)
/// while its z looks down. Whoever builds a mesh in such a frame turns its triangles over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Where the local origin lies (mm).
    pub origin: Vec3,
    /// Unit direction of local x.
    pub x: Vec3,
    /// Unit direction of local y.
    pub y: Vec3,
    /// Unit direction of local z: for a face, outward from the metal.
    pub z: Vec3,
}

impl Frame {
    /// The part's own frame.
    pub const PART: Frame = Frame {
        origin: Vec3::ZERO,
        x: Vec3::X,
        y: Vec3::Y,
        z: Vec3::Z,
    };

    /// A frame with z along `facing` and y as near to `up` as it goes; x to the right as one
    /// looks at the face from outside. With `facing` up or down and no other hint, x and y are the part's.
    /// `up` defaults to +z, and to +y where that is parallel to `facing`.
    pub fn facing(origin: Vec3, facing: Vec3, up: Option<Vec3>) -> Frame {
        let z = facing.normalize_or(Vec3::Z);
        let level = z.cross(Vec3::Z).length() < 1e-9;
        if level && up.is_none() {
            return Frame {
                origin,
                x: Vec3::X,
                y: Vec3::Y,
                z,
            };
        }
        let hint = [up.unwrap_or(Vec3::Z), Vec3::Y, Vec3::X]
            .into_iter()
            .find(|u| u.cross(z).length() > 1e-6 * u.length())
            .unwrap_or(Vec3::X);
        let y = (hint - z * hint.dot(z)).normalize();
        Frame {
            origin,
            x: y.cross(z),
            y,
            z,
        }
    }

    /// A local point in part coordinates.
    pub fn point(&self, p: Vec3) -> Vec3 {
        self.origin + self.vector(p)
    }

    /// A local direction in part coordinates.
    pub fn vector(&self, v: Vec3) -> Vec3 {
        self.x * v.x + self.y * v.y + self.z * v.z
    }

    /// A part point in local coordinates.
    pub fn local(&self, p: Vec3) -> Vec3 {
        self.local_vector(p - self.origin)
    }

    /// A part direction in local coordinates.
    pub fn local_vector(&self, d: Vec3) -> Vec3 {
        Vec3::new(d.dot(self.x), d.dot(self.y), d.dot(self.z))
    }

    /// The same frame with its origin at local (u, v).
    pub fn moved(&self, at: Vec2) -> Frame {
        Frame {
            origin: self.point(at.extend(0.0)),
            ..*self
        }
    }

    /// The same frame shifted along its own z.
    pub fn raised(&self, by: f64) -> Frame {
        Frame {
            origin: self.origin + self.z * by,
            ..*self
        }
    }

    /// The same frame turned about its z, counter-clockwise in its own x-y plan.
    pub fn turned(&self, deg: f64) -> Frame {
        let (s, c) = sin_cos_deg(deg);
        Frame {
            x: self.x * c + self.y * s,
            y: self.y * c - self.x * s,
            ..*self
        }
    }

    /// z turned over, x and y kept: the frame of a bottom, a floor, or a cut that goes in.
    pub fn inward(&self) -> Frame {
        Frame {
            z: -self.z,
            ..*self
        }
    }

    /// Whether x, y, z make a right-handed frame.
    pub fn right_handed(&self) -> bool {
        self.x.cross(self.y).dot(self.z) > 0.0
    }

    /// The plane through the origin, with z as its normal.
    pub fn plane(&self) -> Plane {
        Plane {
            normal: self.z,
            offset: self.z.dot(self.origin),
        }
    }
}

/// Sine and cosine of degrees, exact at the quarter turns.
pub fn sin_cos_deg(deg: f64) -> (f64, f64) {
    let quarter = deg / 90.0;
    if quarter == quarter.round() {
        return match (quarter.rem_euclid(4.0)) as i32 {
            0 => (0.0, 1.0),
            1 => (1.0, 0.0),
            2 => (0.0, -1.0),
            _ => (-1.0, 0.0),
        };
    }
    deg.to_radians().sin_cos()
}

/// The plane `normal · p = offset`, unit normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// Unit normal.
    pub normal: Vec3,
    /// Distance of the plane from the origin along the normal (mm).
    pub offset: f64,
}

impl Plane {
    /// Signed distance of a point, positive on the normal's side (mm).
    pub fn distance(&self, p: Vec3) -> f64 {
        self.normal.dot(p) - self.offset
    }

    /// Whether both planes are the same and look the same way, to `within` mm.
    pub fn flush_with(&self, other: &Plane, within: f64) -> bool {
        (self.normal - other.normal).length() < PARALLEL.sqrt() * 1e-2
            && (self.offset - other.offset).abs() < within
    }
}

/// An axis-aligned box; empty until a point is added.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Least coordinates (mm).
    pub low: Vec3,
    /// Greatest coordinates (mm).
    pub high: Vec3,
}

impl Bounds {
    /// A box that holds nothing.
    pub const EMPTY: Bounds = Bounds {
        low: Vec3::INFINITY,
        high: Vec3::NEG_INFINITY,
    };

    /// The box of some points.
    pub fn of(points: impl IntoIterator<Item = Vec3>) -> Bounds {
        points.into_iter().fold(Bounds::EMPTY, |b, p| b.with(p))
    }

    /// The box grown to hold `p`.
    pub fn with(self, p: Vec3) -> Bounds {
        Bounds {
            low: self.low.min(p),
            high: self.high.max(p),
        }
    }

    /// The box of both.
    pub fn joined(self, other: Bounds) -> Bounds {
        Bounds {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    /// The box grown by `by` on all sides.
    pub fn grown(self, by: f64) -> Bounds {
        Bounds {
            low: self.low - by,
            high: self.high + by,
        }
    }

    /// Its eight corners.
    pub fn corners(&self) -> [Vec3; 8] {
        std::array::from_fn(|i| {
            let pick = |bit: usize, low: f64, high: f64| if i & bit == 0 { low } else { high };
            Vec3::new(
                pick(1, self.low.x, self.high.x),
                pick(2, self.low.y, self.high.y),
                pick(4, self.low.z, self.high.z),
            )
        })
    }

    /// Whether the two boxes share a point.
    pub fn meets(&self, other: &Bounds) -> bool {
        self.low.cmple(other.high).all() && other.low.cmple(self.high).all()
    }

    /// Whether the two boxes share more than `slack` mm along every axis.
    pub fn overlaps(&self, other: &Bounds, slack: f64) -> bool {
        let shared = self.high.min(other.high) - self.low.max(other.low);
        shared.min_element() > slack
    }

    /// Whether nothing was added.
    pub fn is_empty(&self) -> bool {
        self.low.x > self.high.x
    }

    /// Extents (mm).
    pub fn size(&self) -> Vec3 {
        self.high - self.low
    }

    /// Middle point.
    pub fn middle(&self) -> Vec3 {
        (self.low + self.high) * 0.5
    }
}
