//! Wall thickness everywhere on a closed mesh, by pairs of surface elements.
//!
//! The wall between two elements of surface is the diameter of the ball tangent to both, where its chord runs in
//! metal. Nothing is sampled: flats give the same to the last digit however they are cut into triangles, curved
//! surfaces to their sag. What counts as a wall:
//!
//! | class | faces from parallel | |
//! | --- | --- | --- |
//! | [`Class::Wall`] | up to 5° | |
//! | [`Class::Slanting`] | 5° to 20° | at its thin end |
//! | [`Class::Oblique`] | 20° to 62° | where the thin zone is at least as deep as it is thick |
//! | [`Class::Feather`] | | an outside edge of 62° or less, where metal runs out to nothing |
//! | [`Class::Raised`] | up to 20° | lower than thick, with one free end: lettering |
//!
//! [`Surface::new`] makes a mesh ready, [`Walls::under`] searches it for all walls under a limit.

mod at;
mod extent;
mod facing;
mod judge;
mod nearest;
mod probe;
mod search;
mod surface;
mod touch;
mod tree;

pub use at::{Thickness, thickness_at};
pub use nearest::least_distance;
pub use surface::{InsideEdge, Surface, smooth_regions};

use crate::fault::Go;
use crate::measure::Vec3;
use search::Found;

/// A wall counts as thin only if it is thinner than the limit by this much (mm): dimensions meet limits exactly, and
/// meshes round.
pub const LIMIT_SLACK_MM: f64 = 0.005;

/// What kind of thin place it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// Two faces up to 5° from parallel, or two places that come nearest to each other.
    Wall,
    /// Two faces 5° to 20° from parallel.
    Slanting,
    /// Two faces 20° to 62° from parallel.
    Oblique,
    /// An outside edge at which metal runs out to nothing.
    Feather,
    /// A raised bar lower than it is thick.
    Raised,
}

/// A place that is too thin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThinPlace {
    /// What kind.
    pub class: Class,
    /// The wall (mm): the diameter of the ball that touches both sides; 0 at a feather edge.
    pub thickness_mm: f64,
    /// How far the two faces are from parallel (degrees); at a feather edge the angle of the metal.
    pub angle_deg: f64,
    /// The middle of the chord (mm).
    pub at: Vec3,
    /// Its two ends (mm): where the ball touches; at a feather edge the ends of the edge.
    pub ends: [Vec3; 2],
    /// Whether a side is curved: the wall is then known to the mesh's sag only.
    pub curved: bool,
    /// The features on its two sides; at a feather edge in ascending order, otherwise in the order of `ends`.
    pub features: [usize; 2],
    /// How large the area under the limit is: its least width and the length square to that (mm).
    pub extent_mm: [f64; 2],
}

/// All walls of a mesh under a limit.
pub struct Walls<'a> {
    surface: &'a Surface,
    found: Found,
}

impl<'a> Walls<'a> {
    /// Searches a mesh for walls thinner than `limit_mm`.
    pub fn under(surface: &'a Surface, limit_mm: f64, go: Go) -> Walls<'a> {
        let found = search::search(surface, limit_mm - LIMIT_SLACK_MM, go);
        Walls { surface, found }
    }

    /// The thin places, thinnest first; ties by features and place. A pair of features has one for each pair of its
    /// faces, and one for its feather edges.
    pub fn places(&self) -> Vec<ThinPlace> {
        let mut out = judge::judge(self.surface, &self.found);
        out.extend(judge::knife_places(self.surface));
        out.sort_by(|a, b| {
            let place = |p: &ThinPlace| p.at.to_array();
            a.thickness_mm
                .total_cmp(&b.thickness_mm)
                .then_with(|| a.features.cmp(&b.features))
                .then_with(|| {
                    place(a)
                        .partial_cmp(&place(b))
                        .unwrap_or(a.class.cmp(&b.class))
                })
        });
        out
    }

    /// The least thickness seen from each triangle, in the order of the mesh as given (mm); infinite where it is not
    /// under the limit.
    pub fn map(&self) -> Vec<f32> {
        at::map(self.surface, &self.found)
    }
}
