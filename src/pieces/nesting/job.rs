//! What is to be laid, on what, and the answer.

use crate::measure::Vec2;

/// How a piece may be turned on its board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Turns {
    /// Only as it is given.
    Fixed,
    /// As given, or by half a turn.
    Half,
    /// By quarter turns.
    Quarter,
    /// By any multiple of 15°.
    Free,
}

/// A flat piece to be laid some times over.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its loops in plan (mm), each closed of itself: the largest is the rim, the others are holes in it. Either
    /// direction will do.
    pub outline: Vec<Vec<Vec2>>,
    /// How many are wanted.
    pub count: usize,
    /// How it may be turned.
    pub turns: Turns,
}

/// Boards of one size. A board's frame has its origin at a corner, x along its length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Board {
    /// Length (mm): what is used of the last board is counted along it.
    pub length_mm: f64,
    /// Width (mm).
    pub width_mm: f64,
    /// Least distance from a piece to the board's edge (mm).
    pub margin_mm: f64,
    /// How many there are; as many as it takes when not said.
    pub count: Option<usize>,
}

/// What holds between pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rules {
    /// Least distance between two pieces (mm): the cutter and what it needs beside it.
    pub spacing_mm: f64,
}

/// How much work the search may do; counted in depth queries, not seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Effort {
    /// A look: well under a second.
    Quick,
    /// About three seconds at most on two cores.
    #[default]
    Usual,
    /// About a minute at most on two cores.
    Long,
    /// So many units of work for each of the two workers, however few the pieces.
    Units(u64),
}

/// One copy of a piece on a board: the given outline turned about its own origin, then moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Index of the piece as given.
    pub piece: usize,
    /// Which copy of it, from 0.
    pub copy: usize,
    /// Where the outline's origin comes to lie, along the board (mm).
    pub x: f64,
    /// The same across the board (mm).
    pub y: f64,
    /// Turn, counter-clockwise (degrees, 0 to under 360).
    pub turn_deg: f64,
}

/// A rectangle that stays whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffCut {
    /// Length, along the board (mm).
    pub length_mm: f64,
    /// Width (mm).
    pub width_mm: f64,
}

/// A board with what lies on it.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidBoard {
    /// Index of the size among the boards given.
    pub board: usize,
    /// From the board's start to the farthest end of a piece, and the margin (mm).
    pub used_length_mm: f64,
    /// What lies on it, by piece and copy.
    pub placed: Vec<Placed>,
    /// What is left beyond the used length, the board's whole width; none when nothing is.
    pub offcut: Option<OffCut>,
}

/// Why a piece was not laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It fits none of the boards given, in no turn that it allows.
    FitsNoBoard,
    /// The boards on hand are used up.
    NoBoardLeft,
}

/// A copy of a piece that lies on no board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unplaced {
    /// Index of the piece as given.
    pub piece: usize,
    /// Which copy of it, from 0.
    pub copy: usize,
    /// Why.
    pub why: Why,
}

/// Where every piece lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The boards used, in the order to cut them; the last is the one that is not filled.
    pub boards: Vec<LaidBoard>,
    /// What found no place, by piece and copy.
    pub unplaced: Vec<Unplaced>,
}

/// What can't be laid out at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NestingFault {
    /// A piece's outline has no area, or a point that is no number.
    Outline {
        /// Index of the piece as given.
        piece: usize,
    },
    /// A board's size or margin is no number.
    Board {
        /// Index of the board as given.
        board: usize,
    },
    /// The spacing is negative or no number.
    Spacing {
        /// As given (mm).
        spacing_mm: f64,
    },
}

impl std::fmt::Display for NestingFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NestingFault::Outline { piece } => {
                write!(
                    f,
                    "piece {piece} has no outline to lay: its rim needs an area and finite points"
                )
            }
            NestingFault::Board { board } => {
                write!(
                    f,
                    "board {board} has a length, width or margin that is no size: give millimetres"
                )
            }
            NestingFault::Spacing { spacing_mm } => {
                write!(f, "a spacing of {spacing_mm} mm is none: give 0 or more")
            }
        }
    }
}

impl std::error::Error for NestingFault {}
