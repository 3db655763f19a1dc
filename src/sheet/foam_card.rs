//! Cards of the foam for the preview page: what the bill says of pieces, steps and boards, and what their picture needs.

use serde::Serialize;

use crate::drawing::Part;
use crate::pieces::{Boards, Pieces, Step, undone};
use crate::sheet::bill::{PieceRow, StepRow, piece_rows, step_rows};
use crate::sheet::boards::{BoardRow, board_rows};
use crate::sheet::card::Shown;

/// All pieces of a build.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoamCard {
    /// The pieces; a piece's place in the list is its body's in the mesh. The bodies after them are wax.
    pub pieces: Vec<PieceCard>,
    /// The order of gluing.
    pub steps: Vec<StepCard>,
    /// The boards; none where they are not laid out yet.
    pub boards: Option<Vec<BoardRow>>,
}

/// A piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceCard {
    /// The bill's row.
    #[serde(flatten)]
    pub row: PieceRow,
    /// Numbers of the features with a surface on it, largest first.
    pub features: Vec<usize>,
    /// The file of the line that made it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// That line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
}

/// A step of gluing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepCard {
    /// The bill's row.
    #[serde(flatten)]
    pub row: StepRow,
    /// The piece that is set, by its place in the list.
    pub sets: usize,
    /// What it is set on, by places in the list.
    pub onto: Vec<usize>,
    /// Bodies in the mesh of the wax that is laid then.
    pub wax: Vec<usize>,
    /// What moves when the step is undone, by places in the list.
    pub moves: Vec<usize>,
    /// And how (mm).
    pub by_mm: [f64; 3],
}

/// The cards of a pattern's pieces; `boards` as they are to be shown, `foam_kg_m3` the density of boards that give none.
pub fn foam_card(
    part: &Part,
    pieces: &Pieces,
    boards: Option<&Boards>,
    foam_kg_m3: f64,
    shown: Shown,
) -> FoamCard {
    let rows = piece_rows(part, pieces, foam_kg_m3);
    let piece = |(row, piece): (PieceRow, &crate::pieces::FoamPiece)| {
        let at = piece.site.as_ref().map(|site| site.script());
        PieceCard {
            row,
            features: piece.features.clone(),
            file: at.map(|span| shown(&span.file)),
            line: at.map(|span| span.line),
        }
    };
    let first_wax = pieces.pieces.len();
    let step = |((row, step), undone): ((StepRow, &Step), crate::pieces::Undone)| StepCard {
        row,
        sets: step.piece,
        onto: step.on.clone(),
        wax: step.wax.iter().map(|w| first_wax + w).collect(),
        moves: undone.pieces,
        by_mm: undone.by_mm.to_array(),
    };
    let told = step_rows(part, pieces).into_iter().zip(&pieces.steps);
    FoamCard {
        pieces: rows.into_iter().zip(&pieces.pieces).map(piece).collect(),
        steps: told.zip(undone(pieces)).map(step).collect(),
        boards: boards.map(|b| board_rows(part, pieces, b)),
    }
}
