//! The findings of a part that could be built: one file a check, each returns findings.
//!
//! What a check can know from the drawing it takes from there; what it measures it measures on the bodies of the
//! finished part (and, for `loose-lump`, on each stage; for the cutter's reach, on the pattern).

mod fillets;
mod metal;
mod openings;
mod order;
mod promised;
mod reach;
mod sharp;
mod stock;
mod thin;
mod through;
mod volumes;
pub mod walls;

use std::sync::Arc;

pub use order::settled;
pub use promised::wall_cut;
pub use reach::{gathered, reach, reach_of_mesh};
pub use sharp::on_surfaces;
pub use thin::{Side, Telling, thickness_map, thin_in_mesh};
pub use volumes::loose_lump;

use crate::drawing::Part;
use crate::drawing::body::Body;
use crate::drawing::given::FeatureId;
use crate::fault::{Finding, Span};
use crate::measure::Bounds;
use crate::pattern::{Staged, Stocks};
use crate::solid::Shell;

/// What the checks look at.
pub struct Subject<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// Stock on each marked surface.
    pub stocks: &'a Stocks,
    /// The finished part's bodies.
    pub finished: &'a Staged,
    /// Their meshes; one a member of `finished`.
    pub shells: &'a [Arc<Shell>],
    /// The boxes round them; one a member of `finished`.
    pub boxes: &'a [Bounds],
    /// Makes the mesh of any other body, or remembers it; `None` where it can't be made.
    pub shell_of: &'a dyn Fn(&Body) -> Option<Arc<Shell>>,
    /// The casting's bodies.
    pub casting: &'a Staged,
    /// What each feature added and removed in the finished part (mm³); one a feature.
    pub changes: &'a [Change],
}

/// A stage's bodies with their meshes and the boxes round those, one each.
#[derive(Debug, Clone)]
pub struct Bodies {
    /// The bodies.
    pub staged: Staged,
    /// Their meshes.
    pub shells: Vec<Arc<Shell>>,
    /// The boxes.
    pub boxes: Vec<Bounds>,
}

impl Bodies {
    /// A stage's bodies and their meshes, one each.
    pub fn new(staged: Staged, shells: Vec<Arc<Shell>>) -> Bodies {
        let boxes = shells.iter().map(|s| s.bounds()).collect();
        Bodies {
            staged,
            shells,
            boxes,
        }
    }
}

/// What a feature did to the finished part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Change {
    /// Metal added (mm³).
    pub added_mm3: f64,
    /// Metal removed (mm³).
    pub removed_mm3: f64,
}

/// What can be found while the meshes of the stages are still being settled. See [`settled`] for the rest.
pub fn inspect(subject: &Subject) -> Vec<Finding> {
    let mut findings = subject.part.findings.clone();
    findings.extend(openings::breaks_into(subject));
    findings.extend(openings::kept_open(subject));
    findings.extend(openings::capped(subject));
    findings.extend(through::many_walls(subject));
    findings.extend(through::comes_through(subject));
    findings.extend(stock::part_marked(subject));
    findings.extend(stock::in_stock(subject));
    findings.extend(stock::drill_later(subject));
    findings.extend(fillets::fillet_big(subject));
    findings.extend(volumes::no_effect(subject));
    findings
}

/// A feature as findings name it: its name and its place in the script.
fn named(part: &Part, id: FeatureId) -> (String, Span) {
    let feature = &part.features[id];
    (feature.name.clone(), feature.site.script().clone())
}
