//! The result: one closed mesh that knows which feature made each triangle.

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;

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
