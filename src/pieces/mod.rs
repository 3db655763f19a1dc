//! The pattern as foam pieces on the bench: parted by the script's splits, each laid flat as it is cut, with the board
//! it needs and what it is glued to.
//!
//! The pieces together are the pattern: both sides of a split come from one exact cut.

mod auto;
mod board_drawing;
mod boards;
mod cut;
mod findings;
mod glue;
mod lay;
pub mod nesting;
mod on_boards;
mod snap;

use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::fault::{Faults, Finding, Site};
use crate::measure::{Frame, Plane, Vec3};
use crate::pattern::Stocks;
use crate::solid::Solid;

pub use board_drawing::{BoardDrawing, DrawnPiece, board_drawings};
pub use boards::board_for;
pub use on_boards::{Boards, CutBoard, area, lay_on_boards, on_board};

/// The pattern's pieces.
#[derive(Debug, Clone, Default)]
pub struct Pieces {
    /// The pieces, lowest first.
    pub pieces: Vec<FoamPiece>,
    /// Where the pattern was parted: the script's own splits in their order, then those added.
    pub splits: Vec<Parting>,
    /// What was found on the way.
    pub findings: Vec<Finding>,
}

/// A piece of foam.
#[derive(Debug, Clone)]
pub struct FoamPiece {
    /// Its name; no two pieces share one.
    pub name: String,
    /// As it is cut: lying flat, z up, its least corner at the origin (mm). Sound when rounded to f32. Triangles of a
    /// joint are of [`NO_FEATURE`](crate::solid::NO_FEATURE).
    pub solid: Arc<Solid>,
    /// Where it lies in the pattern: a point of `solid` is at `lay.point(p)` there.
    pub lay: Frame,
    /// Length, width and height as it lies (mm).
    pub size_mm: Vec3,
    /// Its volume (mm³).
    pub volume_mm3: f64,
    /// The board it is cut from, by its place in the drawing's list; `None` where none takes it or none is declared.
    pub board: Option<usize>,
    /// From how many sides it is cut: 1 where nothing but its lower face looks down, else 2.
    pub sides: u8,
    /// What it is glued to, in the order of pieces.
    pub glued: Vec<Glue>,
    /// Features with a surface on it, largest surface first.
    pub features: Vec<FeatureId>,
    /// The split that made it, or the feature it was parted off for; `None` for what no split names.
    pub site: Option<Site>,
}

/// A joint of a piece with another one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glue {
    /// The other piece, by its place in the list.
    pub piece: usize,
    /// Area that both touch (mm²).
    pub area_mm2: f64,
    /// The split that parts them.
    pub split: usize,
}

/// Where the pattern was parted.
#[derive(Debug, Clone)]
pub struct Parting {
    /// The split's name; the name of the piece it parts where it was added.
    pub name: String,
    /// The plane in the pattern (shrink and stock counted); its normal looks up.
    pub plane: Plane,
    /// Why it lies there, in a few words.
    pub why: String,
    /// Where the script asks for it.
    pub site: Site,
    /// Features that alone are parted off; empty is all.
    pub of: Vec<FeatureId>,
    /// Area of its joints (mm²).
    pub glue_mm2: f64,
}

/// The pieces of a pattern; `None` where the script says nothing of boards or splits.
///
/// # Errors
/// The kernel can't part the pattern; what `of` names can't be parted off alone.
pub fn pieces(part: &Part, stocks: &Stocks, pattern: &Solid) -> Result<Option<Pieces>, Faults> {
    if part.boards.is_empty() && part.splits.is_empty() && part.auto_split.is_none() {
        return Ok(None);
    }
    let mut splits = cut::planes(part, stocks, pattern);
    let (mut rough, cuts) = cut::cut(part, pattern, &splits)?;
    if let Some(site) = &part.auto_split {
        auto::split(part, site, &mut rough, &mut splits)?;
    }
    cut::in_order(&mut rough);
    let mut done = lay::laid(part, &rough, &splits);
    glue::join(part, &rough, &mut splits, &mut done);
    let findings = findings::findings(part, &splits, &cuts, &done);
    Ok(Some(Pieces {
        pieces: done,
        splits,
        findings,
    }))
}
