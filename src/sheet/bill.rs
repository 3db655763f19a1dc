//! The bill of foam pieces, as data and as a table for a spreadsheet.
//!
//! `bill.csv` is UTF-8 with a byte order mark, which spreadsheets need to read it as such, quoted after RFC 4180;
//! a cell that would be read as a formula gets an apostrophe before it. Its lengths are in the script's unit, which the
//! head names; `bill.json` is in mm as all that is for programs.

use serde::Serialize;

use crate::drawing::Part;
use crate::fault::{Site, Span};
use crate::measure::Unit;
use crate::pieces::{Boards, FoamPiece, Pieces};
use crate::sheet::boards::{
    BoardRow, BoardTotal, OffcutRow, board_rows, board_totals, offcut_rows,
};

/// Marks a text file as UTF-8.
const BYTE_ORDER_MARK: &str = "\u{feff}";

/// The bill, ready to be written as JSON.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // Field names are the bill's own keys; each carries its unit.
pub struct Bill {
    pub part: String,
    pub pieces: Vec<PieceRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub boards: Vec<BoardRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts: Vec<OffcutRow>,
    pub totals: Totals,
    #[serde(skip)]
    unit: Unit,
}

/// A piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct PieceRow {
    pub number: usize,
    pub name: String,
    pub kind: &'static str,
    pub size_mm: [f64; 3],
    pub volume_mm3: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board_mm: Option<f64>,
    pub sides: u8,
    pub glued_to: Vec<String>,
    pub glue_mm2: f64,
    pub foam_kg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
}

/// Sums over all pieces.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Totals {
    pub pieces: usize,
    pub volume_mm3: f64,
    pub glue_mm2: f64,
    pub foam_kg: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub boards: Vec<BoardTotal>,
}

/// A place where the pattern is parted.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct SplitRow {
    pub name: String,
    pub why: String,
    pub normal: [f64; 3],
    pub offset_mm: f64,
    pub glue_mm2: f64,
    pub of: Vec<String>,
    pub at: String,
}

/// The bill of a pattern's pieces; `foam_kg_m3` is the density of boards that give none.
pub fn bill(part: &Part, pieces: &Pieces, foam_kg_m3: f64) -> Bill {
    let rows = piece_rows(part, pieces, foam_kg_m3);
    let totals = Totals {
        pieces: rows.len(),
        volume_mm3: rows.iter().map(|r| r.volume_mm3).sum(),
        // Not `sum`: that of nothing is -0.
        glue_mm2: pieces.splits.iter().fold(0.0, |sum, s| sum + s.glue_mm2),
        foam_kg: rows.iter().map(|r| r.foam_kg).sum(),
        boards: Vec::new(),
    };
    Bill {
        part: part.name.clone(),
        pieces: rows,
        boards: Vec::new(),
        offcuts: Vec::new(),
        totals,
        unit: part.unit,
    }
}

/// The pieces as reports give them.
pub fn piece_rows(part: &Part, pieces: &Pieces, foam_kg_m3: f64) -> Vec<PieceRow> {
    let row = |(i, piece): (usize, &FoamPiece)| {
        let board = piece.board.map(|b| &part.boards[b]);
        let density = board.and_then(|b| b.density_kg_m3).unwrap_or(foam_kg_m3);
        let mut glued_to: Vec<String> = Vec::new();
        for glue in &piece.glued {
            let name = &pieces.pieces[glue.piece].name;
            if !glued_to.contains(name) {
                glued_to.push(name.clone());
            }
        }
        PieceRow {
            number: i + 1,
            name: piece.name.clone(),
            kind: "body",
            size_mm: piece.size_mm.to_array(),
            volume_mm3: piece.volume_mm3,
            board_mm: board.map(|b| b.thickness_mm),
            sides: piece.sides,
            glued_to,
            glue_mm2: piece.glued.iter().fold(0.0, |sum, g| sum + g.area_mm2),
            foam_kg: piece.volume_mm3 * 1e-9 * density,
            at: piece.site.as_ref().map(place),
        }
    };
    pieces.pieces.iter().enumerate().map(row).collect()
}

/// The splits as reports give them.
pub fn split_rows(part: &Part, pieces: &Pieces) -> Vec<SplitRow> {
    let splits = pieces.splits.iter();
    splits
        .map(|s| SplitRow {
            name: s.name.clone(),
            why: s.why.clone(),
            normal: s.plane.normal.to_array(),
            offset_mm: s.plane.offset,
            glue_mm2: s.glue_mm2,
            of: s
                .of
                .iter()
                .map(|&f| part.features[f].name.clone())
                .collect(),
            at: place(&s.site),
        })
        .collect()
}

/// The line in the person's own script, without folders.
fn place(site: &Site) -> String {
    let span = site.script();
    let file = span.file.rsplit(['/', '\\']).next().unwrap_or(&span.file);
    Span {
        file: file.into(),
        ..span.clone()
    }
    .to_string()
}

impl Bill {
    /// The same with the boards that the pieces are cut from.
    pub fn with_boards(mut self, part: &Part, pieces: &Pieces, boards: &Boards) -> Bill {
        self.boards = board_rows(part, pieces, boards);
        self.offcuts = offcut_rows(part, boards);
        self.totals.boards = board_totals(&self.boards);
        self
    }

    /// The bill as JSON, indented, ending in a line feed.
    pub fn json(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }

    /// The bill as a table of comma-separated values: a head, a row a piece, a row of totals, a row a board.
    pub fn csv(&self) -> String {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(BYTE_ORDER_MARK.as_bytes().to_vec());
        let rows = std::iter::once(self.head())
            .chain(self.pieces.iter().map(|p| self.row(p)))
            .chain(std::iter::once(self.sums()))
            .chain(self.boards.iter().map(|b| self.board(b)));
        for row in rows {
            // Writing to memory can't fail, and every row has as many cells as the head.
            let _ = writer.write_record(row.iter().map(|cell| plain(cell)));
        }
        let bytes = writer.into_inner().unwrap_or_default();
        String::from_utf8(bytes).unwrap_or_default()
    }

    fn head(&self) -> [String; 13] {
        let unit = self.unit.symbol();
        let area = self.area_unit();
        [
            "number".to_string(),
            "name".to_string(),
            "kind".to_string(),
            format!("board ({unit})"),
            format!("length ({unit})"),
            format!("width ({unit})"),
            format!("height ({unit})"),
            "volume (cm³)".to_string(),
            "weight (g)".to_string(),
            "cut from sides".to_string(),
            "glued to".to_string(),
            format!("glue area ({area})"),
            "script".to_string(),
        ]
    }

    fn row(&self, piece: &PieceRow) -> [String; 13] {
        let length = |mm: f64| self.unit.number(mm);
        let [l, w, h] = piece.size_mm.map(length);
        [
            piece.number.to_string(),
            piece.name.clone(),
            piece.kind.to_string(),
            piece.board_mm.map_or_else(String::new, length),
            l,
            w,
            h,
            format!("{:.1}", piece.volume_mm3 / 1e3),
            format!("{:.1}", piece.foam_kg * 1e3),
            piece.sides.to_string(),
            piece.glued_to.join("; "),
            self.area(piece.glue_mm2),
            piece.at.clone().unwrap_or_default(),
        ]
    }

    fn sums(&self) -> [String; 13] {
        let mut row: [String; 13] = Default::default();
        row[0] = "total".to_string();
        row[1] = match self.totals.pieces {
            1 => "1 piece".to_string(),
            n => format!("{n} pieces"),
        };
        row[7] = format!("{:.1}", self.totals.volume_mm3 / 1e3);
        row[8] = format!("{:.1}", self.totals.foam_kg * 1e3);
        row[11] = self.area(self.totals.glue_mm2);
        row
    }

    /// A board: its thickness, the length used and its width stand in the columns of those names.
    fn board(&self, board: &BoardRow) -> [String; 13] {
        let mut row = self.sums().map(|_| String::new());
        row[0] = format!("board {}", board.number);
        row[1] = match board.placed.len() {
            1 => "1 piece".to_string(),
            n => format!("{n} pieces"),
        };
        row[2] = "board, length used".to_string();
        row[3] = self.unit.number(board.thickness_mm);
        row[4] = self.unit.number(board.used_length_mm);
        row[5] = self.unit.number(board.size_mm[1]);
        row
    }

    fn area_unit(&self) -> &'static str {
        match self.unit {
            Unit::Mm => "cm²",
            Unit::Inch => "in²",
        }
    }

    fn area(&self, mm2: f64) -> String {
        match self.unit {
            Unit::Mm => format!("{:.1}", mm2 / 100.0),
            Unit::Inch => format!("{:.2}", mm2 / (25.4 * 25.4)),
        }
    }
}

/// A cell that no spreadsheet takes for a formula.
fn plain(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{cell}")
    } else {
        cell.to_string()
    }
}
