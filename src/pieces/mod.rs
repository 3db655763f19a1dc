//! The pattern as foam pieces on the bench: parted by the script's splits, each laid flat as it is cut, with the board
//! it needs and what it is glued to.
//!
//! The pieces and the wax at the feet of loose ones together are the pattern: both sides of a cut come from one exact cut.
//! Feet, handles and the gating are pieces beside it.

mod aids;
mod apart;
mod auto;
mod blank;
mod board_drawing;
mod boards;
mod cut;
mod dowels;
mod feet;
mod findings;
mod gating;
mod glue;
mod insert;
mod lay;
mod levels;
mod loose;
mod mend;
pub mod nesting;
mod on_boards;
mod recess;
mod region;
mod seat;
mod snap;
mod steps;

use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::fault::{Fault, Faults, Finding, Go, Site};
use crate::measure::{Frame, Plane, Vec3};
use crate::pattern::{Gated, Stocks};
use crate::solid::{Memo, Solid};

pub use apart::{Undone, undone};
pub use board_drawing::{BoardDrawing, DrawnPiece, board_drawings};
pub use boards::board_for;
pub use findings::unplaced;
pub use mend::{Mending, Patch, SLIVER_MM, mending};
pub use on_boards::{Boards, CutBoard, area, lay_on_boards, on_board};
pub use region::Bodies;

/// Less foam than this is no piece (mm³).
const SKIN_MM3: f64 = 0.05;

/// The pattern's pieces.
#[derive(Debug, Clone, Default)]
pub struct Pieces {
    /// The pieces, lowest first; then feet and handles, then those of the gating.
    pub pieces: Vec<FoamPiece>,
    /// Where the pattern was parted: the script's own splits in their order, then those added.
    pub splits: Vec<Parting>,
    /// Wax fillets at the feet of loose pieces: with them the pieces are the pattern.
    pub wax: Vec<Wax>,
    /// Pegs across the splits and under loose pieces.
    pub dowels: Vec<Dowel>,
    /// Where loose pieces are set on others.
    pub seats: Vec<Seat>,
    /// The order of gluing.
    pub steps: Vec<Step>,
}

impl Pieces {
    /// How many of the list, the first ones, are not of the gating.
    pub fn of_pattern(&self) -> usize {
        let gating = self.pieces.iter().position(|p| p.kind == Kind::Gating);
        gating.unwrap_or(self.pieces.len())
    }

    /// How deep the foot of a piece goes into a pocket (mm); `None` of one that ends at its seat.
    pub fn recess_of(&self, piece: usize) -> Option<f64> {
        let Kind::Loose(id) = self.pieces[piece].kind else {
            return None;
        };
        let own = self.pieces[piece].glued.iter().map(|g| g.split);
        let deep = own
            .map(|s| &self.splits[s])
            .find(|s| s.recess_mm > 0.0 && s.of.first() == Some(&id));
        deep.map(|s| s.recess_mm)
    }
}

/// What a piece is in the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A part of its body.
    Body,
    /// A feature cut on its own.
    Loose(FeatureId),
    /// A foot to stand it on, cut off before the pour.
    Prop,
    /// A handle to dip it by, cut off before the pour.
    Grip,
    /// A gate, runner, sprue, feeder or tie, glued on after coating.
    Gating,
}

impl Kind {
    /// Its name in bills: `body`, `loose`, `prop`, `grip`, `gating`.
    pub const fn name(self) -> &'static str {
        match self {
            Kind::Body => "body",
            Kind::Loose(_) => "loose",
            Kind::Prop => "prop",
            Kind::Grip => "grip",
            Kind::Gating => "gating",
        }
    }

    /// What to know of it at the bench, if anything.
    pub const fn note(self) -> Option<&'static str> {
        match self {
            Kind::Body | Kind::Loose(_) => None,
            Kind::Prop | Kind::Grip => Some("cut off before the pour"),
            Kind::Gating => Some("glue on after coating"),
        }
    }
}

/// A step of gluing.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The piece that is set, with whatever is on it by then, by its place in the list.
    pub piece: usize,
    /// The pieces that it is glued to.
    pub on: Vec<usize>,
    /// The pegs that go in, by their places in the list.
    pub dowels: Vec<usize>,
    /// The fillets of wax that are laid then, by their places in the list.
    pub wax: Vec<usize>,
}

/// A piece of foam.
#[derive(Debug, Clone)]
pub struct FoamPiece {
    /// Its name; no two pieces share one.
    pub name: String,
    /// As it is cut: lying flat, z up, its least corner at the origin (mm). Sound when rounded to f32. Triangles of a
    /// joint are of [`NO_FEATURE`](crate::solid::NO_FEATURE).
    pub solid: Arc<Solid>,
    /// The same in its blank, where the script asks for one: a rim round it and tabs that hold it.
    pub blank: Option<Arc<Solid>>,
    /// Where it lies in the pattern: a point of `solid` is at `lay.point(p)` there.
    pub lay: Frame,
    /// Length, width and height as it lies (mm).
    pub size_mm: Vec3,
    /// Its volume (mm³).
    pub volume_mm3: f64,
    /// The board it is cut from, by its place in the drawing's list; `None` where none takes it or none is declared.
    pub board: Option<usize>,
    /// What it is in the pattern.
    pub kind: Kind,
    /// How many are cut, for all patterns.
    pub count: usize,
    /// From how many sides it is cut: 1 where nothing but its lower face looks down, else 2.
    pub sides: u8,
    /// What it is glued to, in the order of pieces.
    pub glued: Vec<Glue>,
    /// Features with a surface on it, largest surface first.
    pub features: Vec<FeatureId>,
    /// The split that made it, or the feature it was parted off for; `None` for what no split names.
    pub site: Option<Site>,
}

impl FoamPiece {
    /// The piece with its cutting sides above and below, and where that lies in the pattern: in its own place there where
    /// it is cut from the pattern's top and bottom, so that heights are the pattern's, else as it lies.
    pub fn upright(&self) -> (Solid, Frame) {
        if self.lay.z.z.abs() < 1.0 - 1e-9 {
            return (Solid::clone(&self.solid), self.lay);
        }
        (self.placed(), Frame::PART)
    }

    /// The piece in its own place in the pattern.
    pub fn placed(&self) -> Solid {
        let placed = self.solid.points.iter().map(|p| self.lay.point(*p));
        Solid {
            points: placed.collect(),
            ..Solid::clone(&self.solid)
        }
    }

    /// The area over which it is glued to another piece (mm²).
    pub fn glue_of(&self, piece: usize) -> f64 {
        let joints = self.glued.iter().filter(|g| g.piece == piece);
        joints.fold(0.0, |sum, g| sum + g.area_mm2)
    }
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

/// A fillet of wax, laid when a loose piece is glued on.
#[derive(Debug, Clone)]
pub struct Wax {
    /// The loose feature.
    pub feature: FeatureId,
    /// Its piece, by its place in the list.
    pub piece: usize,
    /// Its radius as drawn (mm).
    pub radius_mm: f64,
    /// How long it is along the foot (mm).
    pub length_mm: f64,
    /// Its volume (mm³).
    pub volume_mm3: f64,
    /// The wax as it lies in the pattern.
    pub solid: Arc<Solid>,
}

/// A peg of foam across a split or under a loose piece, in a hole in each of two pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dowel {
    /// The split, by its place in the list.
    pub split: usize,
    /// The pieces below and above it, by their places in the list.
    pub pieces: [usize; 2],
    /// Its middle in the joint, in the pattern (mm).
    pub at: Vec3,
    /// Its axis, out of the piece below.
    pub axis: Vec3,
    /// Diameter (mm).
    pub dia_mm: f64,
    /// How deep it goes into each piece (mm).
    pub depth_mm: f64,
    /// Its volume, which is that of its two holes (mm³).
    pub volume_mm3: f64,
}

/// Where a loose piece is set on another.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    /// The loose piece, by its place in the list.
    pub piece: usize,
    /// The piece that it is set on.
    pub on: usize,
    /// Its outline, closed loops in the face that it is set on, in the pattern (mm).
    pub loops: Vec<Vec<Vec3>>,
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
    /// It is the seat of a loose piece or of a piece of the gating, not a split.
    pub loose: bool,
    /// How far the foot of a loose piece goes on below the plane, into a pocket (mm); 0 where it ends there.
    pub recess_mm: f64,
    /// Area of its joints (mm²).
    pub glue_mm2: f64,
}

impl Parting {
    /// The plane that the pieces are glued in: that of a pocket's floor where a foot is let into one.
    pub fn joint(&self) -> Plane {
        Plane {
            offset: self.plane.offset - self.recess_mm,
            ..self.plane
        }
    }
}

/// What pieces are made of.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// Stock on each marked surface.
    pub stocks: &'a Stocks,
    /// The pattern's solid, settled.
    pub pattern: &'a Solid,
    /// The casting's bodies and their meshes.
    pub bodies: Bodies<'a>,
    /// How the gating lies, where there is any.
    pub gated: Option<&'a Gated>,
}

/// The pieces of a pattern, and what was found on the way; no pieces where the script says nothing of boards, splits or
/// loose pieces, or where they can't be cut.
///
/// `memo` may hold what was cut before; what comes out doesn't depend on it.
pub fn pieces(source: &Source, memo: &mut Memo, go: Go) -> (Option<Pieces>, Vec<Finding>) {
    let part = source.part;
    let wanted = !part.boards.is_empty()
        || !part.splits.is_empty()
        || part.auto_split.is_some()
        || part.blank.is_some()
        || !part.aids.is_empty()
        || part.features.iter().any(|f| f.loose);
    if !wanted {
        return (None, Vec::new());
    }
    match made(source, memo, go) {
        Ok((pieces, findings)) => (Some(pieces), findings),
        Err(faults) => (None, faults.0.into_iter().map(findings::unparted).collect()),
    }
}

/// No faults at all where `go` said no.
fn made(source: &Source, memo: &mut Memo, go: Go) -> Result<(Pieces, Vec<Finding>), Faults> {
    let wanted = || {
        if go() {
            Ok(())
        } else {
            Err(Faults(Vec::new()))
        }
    };
    let (part, pattern) = (source.part, source.pattern);
    let mut splits = cut::planes(part, source.stocks, pattern);
    let loose = loose::cut(source, &mut splits, memo, &wanted)?;
    let rest = loose.as_ref().map(|l| l.rest.solid());
    let (mut rough, cuts) = cut::cut(part, rest.as_ref().unwrap_or(pattern), &splits)?;
    wanted()?;
    let (loose, wax) = loose.map_or_else(Default::default, |l| (l.rough, l.wax));
    rough.extend(loose);
    if let Some(site) = &part.auto_split {
        auto::split(part, site, &mut rough, &mut splits)?;
    }
    wanted()?;
    // What a cut beside a face leaves of it is a skin thinner than any foam cell, not a piece.
    rough.retain(|piece| piece.solid.volume_mm3() >= SKIN_MM3);
    cut::in_order(&mut rough);
    let mut findings = Vec::new();
    let dowels = dowels::set(part, &mut rough, &splits, &mut findings, memo)?;
    wanted()?;
    let blocks = aids::blocks(part, source.stocks, &rough)?;
    let mut carriers = vec![None; rough.len()];
    carriers.extend(blocks.iter().map(|b| Some(b.1)));
    rough.extend(blocks.into_iter().map(|b| b.0));
    let mut done = lay::laid(part, &rough, &splits);
    recess::check(part, &rough, &splits, &done)?;
    glue::join(part, &rough, &mut splits, &mut done);
    blank::make(part, &mut done).map_err(|fault| Faults::from(Fault::new(fault.text())))?;
    findings.extend(findings::findings(part, &splits, &cuts, &done));
    wanted()?;
    let wax = feet::of_pieces(part, wax, &rough, &splits);
    let seats = seat::seats(part, &rough, &splits, &done, &dowels);
    let steps = steps::steps(&steps::Bench {
        rough: &rough,
        pieces: &done,
        splits: &splits,
        wax: &wax,
        dowels: &dowels,
        carriers: &carriers,
    });
    let mut pieces = Pieces {
        pieces: done,
        splits,
        wax,
        dowels,
        seats,
        steps,
    };
    gating::add(source, &rough, &mut pieces, &mut findings);
    Ok((pieces, findings))
}
