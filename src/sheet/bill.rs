//! The bill of foam pieces, as data and as a table for a spreadsheet.
//!
//! `bill.csv` is UTF-8 with a byte order mark, which spreadsheets need to read it as such, quoted after RFC 4180;
//! a cell that would be read as a formula gets an apostrophe before it. Its lengths are in the script's unit, which the
//! head names; `bill.json` is in mm as all that is for programs.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::drawing::Part;
use crate::measure::Unit;
use crate::pieces::{Boards, FoamPiece, Kind, Pieces, Step, Wax};
use crate::sheet::boards::{
    BoardRow, BoardTotal, OffcutRow, board_rows, board_totals, offcut_rows,
};
use crate::sheet::report::place;

/// Marks a text file as UTF-8.
const BYTE_ORDER_MARK: &str = "\u{feff}";

/// The bill, ready to be written as JSON.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // Field names are the bill's own keys; each carries its unit.
pub struct Bill {
    pub part: String,
    pub copies: usize,
    pub pieces: Vec<PieceRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub boards: Vec<BoardRow>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts: Vec<OffcutRow>,
    pub dowels: Vec<DowelRow>,
    pub steps: Vec<StepRow>,
    pub totals: Totals,
    #[serde(skip)]
    unit: Unit,
}

/// The pegs across one joint.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct DowelRow {
    pub split: String,
    /// The pieces below and above.
    pub pieces: [String; 2],
    pub dia_mm: f64,
    /// From end to end.
    pub length_mm: f64,
    /// In one pattern.
    pub count: usize,
    /// Their middles in the pattern.
    pub at_mm: Vec<[f64; 3]>,
}

/// A step of gluing.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct StepRow {
    pub number: usize,
    /// What is set, with whatever is on it by then.
    pub piece: String,
    /// What it is glued to.
    pub on: Vec<String>,
    /// How deep the pocket is that its foot is set in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recess_mm: Option<f64>,
    pub dowels: usize,
    /// Length of wax fillet laid then by radius (mm, as drawn).
    pub wax_fillet_mm: BTreeMap<String, f64>,
    /// All of it in a sentence, in the script's unit.
    pub text: String,
}

/// A piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct PieceRow {
    pub number: usize,
    pub name: String,
    pub kind: &'static str,
    /// How many are cut.
    pub count: usize,
    pub size_mm: [f64; 3],
    pub volume_mm3: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub board_mm: Option<f64>,
    pub sides: u8,
    pub glued_to: Vec<String>,
    pub glue_mm2: f64,
    /// Of one.
    pub foam_kg: f64,
    /// What to know of it at the bench: `glue on after coating`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// How deep its foot goes into a pocket of what it is glued to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recess_mm: Option<f64>,
    /// The loose feature that it is.
    pub feature: Option<String>,
    /// Length of wax fillet at its foot by radius (mm, as drawn).
    pub wax_fillet_mm: BTreeMap<String, f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
}

impl PieceRow {
    /// Whether it is of the gating.
    pub fn is_gating(&self) -> bool {
        self.kind == Kind::Gating.name()
    }
}

/// Sums over all pieces of all copies.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Totals {
    pub pieces: usize,
    pub volume_mm3: f64,
    pub glue_mm2: f64,
    pub foam_kg: f64,
    /// What of it is gating.
    pub gating_foam_kg: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub boards: Vec<BoardTotal>,
    pub dowels: usize,
    /// Length of wax fillet by radius (mm, as drawn).
    pub wax_fillet_mm: BTreeMap<String, f64>,
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
    let patterns = part.patterns();
    let copies = patterns as f64;
    // Not `sum`: that of nothing is -0.
    let sum = |of: &dyn Fn(&PieceRow) -> f64| {
        let all = rows.iter().map(|r| of(r) * r.count as f64);
        all.fold(0.0, |s, x| s + x)
    };
    let mut wax = fillets(pieces.wax.iter());
    wax.values_mut().for_each(|length| *length *= copies);
    let totals = Totals {
        pieces: rows.iter().map(|r| r.count).sum(),
        volume_mm3: sum(&|r| r.volume_mm3),
        // A joint is in the rows of both that it joins.
        glue_mm2: sum(&|r| r.glue_mm2) / 2.0,
        foam_kg: sum(&|r| r.foam_kg),
        gating_foam_kg: sum(&|r| if r.is_gating() { r.foam_kg } else { 0.0 }),
        dowels: pieces.dowels.len() * patterns,
        wax_fillet_mm: wax,
        boards: Vec::new(),
    };
    Bill {
        part: part.name.clone(),
        copies: patterns,
        pieces: rows,
        boards: Vec::new(),
        offcuts: Vec::new(),
        dowels: dowel_rows(pieces),
        steps: step_rows(part, pieces),
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
        let recess_mm = pieces.recess_of(i);
        let foot = |mm| format!("its foot goes {} into a pocket", part.unit.show(mm));
        let note = piece.kind.note().map(str::to_string);
        PieceRow {
            number: i + 1,
            name: piece.name.clone(),
            kind: piece.kind.name(),
            count: piece.count,
            size_mm: piece.size_mm.to_array(),
            volume_mm3: piece.volume_mm3,
            board_mm: board.map(|b| b.thickness_mm),
            sides: piece.sides,
            glued_to,
            glue_mm2: piece.glued.iter().fold(0.0, |sum, g| sum + g.area_mm2),
            foam_kg: piece.volume_mm3 * 1e-9 * density,
            note: note.or_else(|| recess_mm.map(foot)),
            recess_mm,
            feature: match piece.kind {
                Kind::Loose(f) => Some(part.features[f].name.clone()),
                _ => None,
            },
            wax_fillet_mm: fillets(pieces.wax.iter().filter(|w| w.piece == i)),
            at: piece.site.as_ref().map(|s| place(s.script())),
        }
    };
    pieces.pieces.iter().enumerate().map(row).collect()
}

/// The pegs of each joint.
pub fn dowel_rows(pieces: &Pieces) -> Vec<DowelRow> {
    let mut rows: Vec<DowelRow> = Vec::new();
    for dowel in &pieces.dowels {
        let split = &pieces.splits[dowel.split].name;
        let joint = dowel.pieces.map(|p| pieces.pieces[p].name.clone());
        let length_mm = 2.0 * dowel.depth_mm;
        let at = dowel.at.to_array();
        let like =
            |r: &&mut DowelRow| r.split == *split && r.pieces == joint && r.length_mm == length_mm;
        match rows.iter_mut().find(like) {
            Some(row) => {
                row.count += 1;
                row.at_mm.push(at);
            }
            None => rows.push(DowelRow {
                split: split.clone(),
                pieces: joint,
                dia_mm: dowel.dia_mm,
                length_mm,
                count: 1,
                at_mm: vec![at],
            }),
        }
    }
    rows
}

/// The order of gluing.
pub fn step_rows(part: &Part, pieces: &Pieces) -> Vec<StepRow> {
    let name = |p: usize| pieces.pieces[p].name.clone();
    let row = |(i, step): (usize, &Step)| {
        let on: Vec<String> = step.on.iter().map(|&p| name(p)).collect();
        let wax = fillets(step.wax.iter().map(|&w| &pieces.wax[w]));
        let set = &pieces.pieces[step.piece];
        let mut text = format!("glue {} to {}", set.name, on.join(" and "));
        if set.kind == Kind::Gating {
            text = format!("after coating, {text}");
            if part.to_a_pour() > 1 && set.count > part.pours() {
                text += ", on each pattern of the tree";
            }
        }
        let recess_mm = pieces.recess_of(step.piece);
        if let Some(mm) = recess_mm {
            text += &format!(", set in its pocket, {} deep", part.unit.show(mm));
        }
        match step.dowels.len() {
            0 => {}
            1 if recess_mm.is_some() => text += ", over a dowel",
            n if recess_mm.is_some() => text += &format!(", over {n} dowels"),
            1 => text += " over a dowel",
            n => text += &format!(" over {n} dowels"),
        }
        for (radius, length) in &wax {
            let radius = part.unit.show(radius.parse().unwrap_or(0.0));
            let long = length_of_wax(part.unit, *length);
            text += &format!(
                "; wax fillet {radius} round its foot, {long} {} long",
                part.unit.symbol()
            );
        }
        if matches!(set.kind, Kind::Prop | Kind::Grip) {
            text += "; cut it off before the pour";
        }
        StepRow {
            number: i + 1,
            piece: name(step.piece),
            on,
            recess_mm,
            dowels: step.dowels.len(),
            wax_fillet_mm: wax,
            text,
        }
    };
    pieces.steps.iter().enumerate().map(row).collect()
}

/// A length of wax as the shop measures it, without its unit.
fn length_of_wax(unit: Unit, length_mm: f64) -> String {
    match unit {
        Unit::Mm => format!("{length_mm:.0}"),
        Unit::Inch => format!("{:.1}", length_mm / Unit::Inch.mm()),
    }
}

/// Lengths of wax fillet by radius (mm).
fn fillets<'a>(wax: impl Iterator<Item = &'a Wax>) -> BTreeMap<String, f64> {
    let mut lengths = BTreeMap::new();
    for wax in wax {
        let radius = format!("{}", (wax.radius_mm * 1e3).round() / 1e3);
        *lengths.entry(radius).or_insert(0.0) += wax.length_mm;
    }
    lengths
}

/// The splits as reports give them.
pub fn split_rows(part: &Part, pieces: &Pieces) -> Vec<SplitRow> {
    let splits = pieces.splits.iter().filter(|s| !s.loose);
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
            at: place(s.site.script()),
        })
        .collect()
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
        let rows = std::iter::once(self.head())
            .chain(self.pieces.iter().map(|p| self.row(p)))
            .chain(self.pegs())
            .chain(std::iter::once(self.sums()))
            .chain(self.boards.iter().map(|b| self.board(b)));
        table(rows)
    }

    fn head(&self) -> [String; 16] {
        let unit = self.unit.symbol();
        let area = self.area_unit();
        [
            "number".to_string(),
            "name".to_string(),
            "kind".to_string(),
            "count".to_string(),
            format!("board ({unit})"),
            format!("length ({unit})"),
            format!("width ({unit})"),
            format!("height ({unit})"),
            "volume (cm³)".to_string(),
            "weight (g)".to_string(),
            "cut from sides".to_string(),
            "glued to".to_string(),
            format!("glue area ({area})"),
            format!("wax fillet, radius: length ({unit})"),
            "note".to_string(),
            "script".to_string(),
        ]
    }

    fn row(&self, piece: &PieceRow) -> [String; 16] {
        let length = |mm: f64| self.unit.number(mm);
        let [l, w, h] = piece.size_mm.map(length);
        [
            piece.number.to_string(),
            piece.name.clone(),
            piece.kind.to_string(),
            piece.count.to_string(),
            piece.board_mm.map_or_else(String::new, length),
            l,
            w,
            h,
            format!("{:.1}", piece.volume_mm3 / 1e3),
            format!("{:.1}", piece.foam_kg * 1e3),
            piece.sides.to_string(),
            piece.glued_to.join("; "),
            self.area(piece.glue_mm2),
            self.wax(&piece.wax_fillet_mm),
            piece.note.clone().unwrap_or_default(),
            piece.at.clone().unwrap_or_default(),
        ]
    }

    /// A row for the pegs of each size.
    fn pegs(&self) -> Vec<[String; 16]> {
        let mut sizes: Vec<(f64, f64, usize)> = Vec::new();
        for row in &self.dowels {
            let count = row.count * self.copies;
            let like = |s: &&mut (f64, f64, usize)| s.0 == row.dia_mm && s.1 == row.length_mm;
            match sizes.iter_mut().find(like) {
                Some(size) => size.2 += count,
                None => sizes.push((row.dia_mm, row.length_mm, count)),
            }
        }
        let row = |(dia, length, count): (f64, f64, usize)| {
            let mut row: [String; 16] = Default::default();
            row[1] = "dowel".to_string();
            row[2] = "dowel".to_string();
            row[3] = count.to_string();
            row[5] = self.unit.number(length);
            row[6] = self.unit.number(dia);
            row[7] = self.unit.number(dia);
            row
        };
        sizes.into_iter().map(row).collect()
    }

    fn sums(&self) -> [String; 16] {
        let mut row: [String; 16] = Default::default();
        row[0] = "total".to_string();
        row[1] = match self.totals.pieces {
            1 => "1 piece".to_string(),
            n => format!("{n} pieces"),
        };
        row[8] = format!("{:.1}", self.totals.volume_mm3 / 1e3);
        row[9] = format!("{:.1}", self.totals.foam_kg * 1e3);
        row[12] = self.area(self.totals.glue_mm2);
        row[13] = self.wax(&self.totals.wax_fillet_mm);
        row
    }

    /// A board: its thickness, the length used and its width stand in the columns of those names.
    fn board(&self, board: &BoardRow) -> [String; 16] {
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

    fn wax(&self, lengths: &BTreeMap<String, f64>) -> String {
        let said = lengths.iter().map(|(radius, length)| {
            let radius = radius.parse().unwrap_or(0.0);
            let long = length_of_wax(self.unit, *length);
            format!("{}: {long}", self.unit.number(radius))
        });
        said.collect::<Vec<_>>().join("; ")
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

/// Rows of as many cells each as a table for a spreadsheet: see the head of this module.
pub(super) fn table(rows: impl IntoIterator<Item = impl AsRef<[String]>>) -> String {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(BYTE_ORDER_MARK.as_bytes().to_vec());
    for row in rows {
        // Writing to memory can't fail.
        let _ = writer.write_record(row.as_ref().iter().map(|cell| plain(cell)));
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// A cell that no spreadsheet takes for a formula.
fn plain(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{cell}")
    } else {
        cell.to_string()
    }
}
