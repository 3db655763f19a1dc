//! The result: one closed mesh that knows which feature made each triangle.

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;
use crate::solid::Shell;

/// A stage's solid (mm, part coordinates). Closed and outward-oriented; it may be several bodies.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solid {
    /// Vertices.
    pub points: Vec<Vec3>,
    /// Triangles, counter-clockwise seen from outside; indices into `points`.
    pub triangles: Vec<[u32; 3]>,
    /// The feature whose surface each triangle lies on; one a triangle.
    pub features: Vec<FeatureId>,
}

impl Solid {
    /// The same mesh without its features, as the booleans of shells take it.
    pub fn as_shell(&self) -> Shell {
        Shell::plain(self.points.clone(), self.triangles.clone())
    }

    /// The feature of the triangle whose middle is nearest to a place.
    pub fn feature_near(&self, p: Vec3) -> Option<FeatureId> {
        let far = |[a, b, c]: [Vec3; 3]| ((a + b + c) / 3.0).distance_squared(p);
        let all = self.corners().zip(&self.features);
        all.min_by(|a, b| far(a.0).total_cmp(&far(b.0)))
            .map(|(_, feature)| *feature)
    }

    /// Puts another mesh beside this one; nothing is joined or welded.
    pub fn append(&mut self, other: &Solid) {
        let first = self.points.len() as u32;
        self.points.extend(&other.points);
        let moved = other.triangles.iter().map(|t| t.map(|v| v + first));
        self.triangles.extend(moved);
        self.features.extend(&other.features);
    }
}
