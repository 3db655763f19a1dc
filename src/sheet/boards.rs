//! The boards as reports and the bill give them.

use serde::Serialize;

use crate::drawing::Part;
use crate::pieces::{Boards, CutBoard, Pieces};

/// A board with what is cut from it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // Field names are the report's own keys; each carries its unit.
pub struct BoardRow {
    pub number: usize,
    pub thickness_mm: f64,
    pub size_mm: [f64; 2],
    pub used_length_mm: f64,
    /// Area of the board up to its used length (mm²).
    pub used_mm2: f64,
    /// Area of its pieces seen from above (mm²).
    pub pieces_mm2: f64,
    /// Share of that area that is pieces, 0 to 1.
    pub density: f64,
    pub placed: Vec<PlacedRow>,
}

/// A piece on a board: its lower left corner as it lies in its own file, turned, then moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct PlacedRow {
    pub piece: String,
    pub x_mm: f64,
    pub y_mm: f64,
    pub turn_deg: f64,
}

/// What is left of a board.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct OffcutRow {
    pub board: usize,
    pub thickness_mm: f64,
    pub size_mm: [f64; 2],
}

/// Sums over boards of one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct BoardTotal {
    pub thickness_mm: f64,
    pub size_mm: [f64; 2],
    pub boards: usize,
    pub used_length_mm: f64,
    pub used_mm2: f64,
}

/// The boards, one a row.
pub fn board_rows(part: &Part, pieces: &Pieces, boards: &Boards) -> Vec<BoardRow> {
    let row = |(at, laid): (usize, &CutBoard)| {
        let board = &part.boards[laid.board];
        let used_mm2 = laid.used_length_mm * board.width_mm;
        let placed = laid.placed.iter().map(|p| PlacedRow {
            piece: pieces.pieces[p.piece].name.clone(),
            x_mm: p.x,
            y_mm: p.y,
            turn_deg: p.turn_deg,
        });
        BoardRow {
            number: at + 1,
            thickness_mm: board.thickness_mm,
            size_mm: [board.length_mm, board.width_mm],
            used_length_mm: laid.used_length_mm,
            used_mm2,
            pieces_mm2: laid.pieces_mm2,
            density: laid.pieces_mm2 / used_mm2.max(f64::MIN_POSITIVE),
            placed: placed.collect(),
        }
    };
    boards.boards.iter().enumerate().map(row).collect()
}

/// What is left of each board.
pub fn offcut_rows(part: &Part, boards: &Boards) -> Vec<OffcutRow> {
    let rest = |(at, laid): (usize, &CutBoard)| {
        laid.offcut_mm.map(|size_mm| OffcutRow {
            board: at + 1,
            thickness_mm: part.boards[laid.board].thickness_mm,
            size_mm,
        })
    };
    boards.boards.iter().enumerate().filter_map(rest).collect()
}

/// Sums by size, in the order of boards.
pub fn board_totals(rows: &[BoardRow]) -> Vec<BoardTotal> {
    let mut totals: Vec<BoardTotal> = Vec::new();
    for row in rows {
        let same =
            |t: &&mut BoardTotal| t.thickness_mm == row.thickness_mm && t.size_mm == row.size_mm;
        match totals.iter_mut().find(same) {
            Some(total) => {
                total.boards += 1;
                total.used_length_mm += row.used_length_mm;
                total.used_mm2 += row.used_mm2;
            }
            None => totals.push(BoardTotal {
                thickness_mm: row.thickness_mm,
                size_mm: row.size_mm,
                boards: 1,
                used_length_mm: row.used_length_mm,
                used_mm2: row.used_mm2,
            }),
        }
    }
    totals
}
