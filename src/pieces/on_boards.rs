//! The pieces laid on the boards they are cut from, thickness by thickness, in the boards' own frames.
//!
//! A piece is laid by the outline of what is seen from above, that of its blank where it has one, holes included, so that small pieces may lie in large
//! holes. Boards of one thickness are laid together and in the order declared; the widest spacing among them holds.

use std::sync::Arc;

use crate::drawing::Part;
use crate::fault::Go;
use crate::measure::{Frame, Vec2, Vec3, sin_cos_deg};
use crate::pieces::nesting::{
    self, Effort, Piece, Placed, Rules, Turns, lay_out_while, signed_area, silhouette,
};
use crate::pieces::{FoamPiece, Pieces};
use crate::solid::Solid;

/// Thicknesses are one where they differ by less (mm).
const SAME_MM: f64 = 1e-6;

/// The seed of the search: any will do, as long as it stays.
const SEED: u64 = 1;

/// All boards that pieces are laid on.
#[derive(Debug, Clone, PartialEq)]
pub struct Boards {
    /// The boards, thickest first, in the order to cut them.
    pub boards: Vec<CutBoard>,
    /// Pieces with a board that found no place on one, by their place in the list; each as often as it is missing.
    pub unplaced: Vec<usize>,
    /// One a piece: its loops seen from above as it lies (mm), the rim first.
    pub outlines: Vec<Arc<Vec<Vec<Vec2>>>>,
}

/// A board with the pieces that are cut from it. Its frame has its origin at a corner, x along its length.
#[derive(Debug, Clone, PartialEq)]
pub struct CutBoard {
    /// Which of the drawing's boards, by its place in the list.
    pub board: usize,
    /// From the board's start to the end of the farthest piece, and the margin (mm).
    pub used_length_mm: f64,
    /// Area of the foam of its pieces, seen from above (mm²).
    pub pieces_mm2: f64,
    /// The pieces on it, in the order of pieces.
    pub placed: Vec<Placed>,
    /// Their solids where they lie on it, z up from its lower side (mm). Each is sound when rounded to f32.
    pub solid: Arc<Solid>,
    /// Length and width of what is left beyond the used length (mm), where anything is.
    pub offcut_mm: Option<[f64; 2]>,
}

/// Lays all pieces that have a board; nothing where `go` says no before it is done.
pub fn lay_on_boards(part: &Part, pieces: &Pieces, effort: Effort, go: Go) -> Option<Boards> {
    let outlines: Vec<Arc<Vec<Vec<Vec2>>>> = pieces
        .pieces
        .iter()
        .map(|p| Arc::new(silhouette(cut_as(p))))
        .collect();
    let mut all = Boards {
        boards: Vec::new(),
        unplaced: Vec::new(),
        outlines,
    };
    for thickness_mm in thicknesses(part) {
        lay_thickness(part, pieces, thickness_mm, (effort, go), &mut all);
        if !go() {
            return None;
        }
    }
    Some(all)
}

/// What is cut out of the board for a piece: its blank, where it has one.
fn cut_as(piece: &FoamPiece) -> &Solid {
    piece.blank.as_ref().unwrap_or(&piece.solid)
}

/// Thicknesses of the boards, thickest first.
fn thicknesses(part: &Part) -> Vec<f64> {
    let mut all: Vec<f64> = part.boards.iter().map(|b| b.thickness_mm).collect();
    all.sort_by(|a, b| b.total_cmp(a));
    all.dedup_by(|a, b| (*a - *b).abs() < SAME_MM);
    all
}

fn lay_thickness(
    part: &Part,
    pieces: &Pieces,
    thickness_mm: f64,
    (effort, go): (Effort, Go),
    all: &mut Boards,
) {
    let of_thickness = |&b: &usize| (part.boards[b].thickness_mm - thickness_mm).abs() < SAME_MM;
    let sizes: Vec<usize> = (0..part.boards.len()).filter(of_thickness).collect();
    let on: Vec<usize> = (0..pieces.pieces.len())
        .filter(|&i| pieces.pieces[i].board.is_some_and(|b| of_thickness(&b)))
        .collect();
    if on.is_empty() {
        return;
    }
    // A piece may come to lie on any board of the thickness: what one forbids isn't done.
    let turns = if sizes.iter().all(|&b| part.boards[b].turns_freely) {
        Turns::Free
    } else {
        Turns::Quarter
    };
    let wanted: Vec<Piece> = on
        .iter()
        .map(|&i| Piece {
            outline: all.outlines[i].to_vec(),
            count: pieces.pieces[i].count,
            turns,
        })
        .collect();
    let boards: Vec<nesting::Board> = sizes
        .iter()
        .map(|&b| nesting::Board {
            length_mm: part.boards[b].length_mm,
            width_mm: part.boards[b].width_mm,
            margin_mm: part.boards[b].margin_mm,
            count: None,
        })
        .collect();
    let spacings = sizes.iter().map(|&b| part.boards[b].spacing_mm);
    let rules = Rules {
        spacing_mm: spacings.fold(0.0, f64::max),
    };
    match lay_out_while(&wanted, &boards, &rules, effort, SEED, go) {
        Ok(layout) => {
            all.unplaced
                .extend(layout.unplaced.iter().map(|u| on[u.piece]));
            for laid in layout.boards {
                let placed: Vec<Placed> = laid.placed.iter().map(|p| of(p, on[p.piece])).collect();
                let areas = placed.iter().map(|p| area(&all.outlines[p.piece]));
                all.boards.push(CutBoard {
                    board: sizes[laid.board],
                    used_length_mm: laid.used_length_mm,
                    pieces_mm2: areas.sum(),
                    solid: Arc::new(together(pieces, &placed)),
                    placed,
                    offcut_mm: laid.offcut.map(|o| [o.length_mm, o.width_mm]),
                });
            }
        }
        // The script checks boards and spacing: what is left is a piece without an outline.
        Err(_) => all.unplaced.extend(on),
    }
}

fn of(placed: &Placed, piece: usize) -> Placed {
    Placed { piece, ..*placed }
}

/// Area within rims and outside holes (mm²).
pub fn area(loops: &[Vec<Vec2>]) -> f64 {
    loops.iter().map(|l| signed_area(l)).sum()
}

/// Where a point of a placed piece's outline comes to lie on its board (mm).
pub fn on_board(placed: &Placed, p: Vec2) -> Vec2 {
    let (sin, cos) = sin_cos_deg(placed.turn_deg);
    Vec2::new(
        placed.x + cos * p.x - sin * p.y,
        placed.y + sin * p.x + cos * p.y,
    )
}

/// Placed pieces as one solid of many bodies.
fn together(pieces: &Pieces, placed: &[Placed]) -> Solid {
    let mut all = Solid::default();
    for p in placed {
        all.append(&solid_on_board(p, cut_as(&pieces.pieces[p.piece])));
    }
    all
}

/// A placed piece's solid in the frame of its board; sound when rounded to f32.
fn solid_on_board(placed: &Placed, solid: &Solid) -> Solid {
    let (sin, cos) = sin_cos_deg(placed.turn_deg);
    let (x, y) = (Vec3::new(cos, -sin, 0.0), Vec3::new(sin, cos, 0.0));
    let frame = Frame {
        origin: -(x * placed.x + y * placed.y),
        x,
        y,
        z: Vec3::Z,
    };
    solid.seen_from(&frame).settled().solid
}
