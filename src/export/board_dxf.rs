//! A board as DXF, release 12: the oldest form that every program reads. Millimetres; layers `board`, `outline`,
//! `holes`, `dowels`, `seats` and `seats-below` (where loose pieces are set on, seen from above, and on the lower side),
//! `names`; loops are closed polylines, peg holes circles, in the board's frame, its corner at the origin.
//!
//! A line of a group's code and a line of its value make up the whole format. Letters beyond ASCII are written as the
//! format's own `\U+XXXX`.

use std::fmt::Write as _;
use std::io::{self, Write};

use crate::export::SEATS;
use crate::measure::Vec2;
use crate::pieces::BoardDrawing;

/// The layers and their colours by the format's numbers: grey, white, blue, red, cyan, magenta, green.
const LAYERS: [(&str, u8); 7] = [
    ("board", 8),
    ("outline", 7),
    ("holes", 5),
    ("dowels", 1),
    (SEATS[0], 4),
    (SEATS[1], 6),
    ("names", 3),
];

/// Writes a board; `title` goes into a comment.
///
/// # Errors
/// What the writer says.
pub fn write(board: &BoardDrawing, title: &str, to: &mut dyn Write) -> io::Result<()> {
    let mut out = Groups::default();
    out.text(999, &format!("{title}, millimetres"));
    out.head(board);
    out.tables();
    out.text(0, "SECTION");
    out.text(2, "ENTITIES");
    let (l, w) = (board.length_mm, board.width_mm);
    let rim = [[0.0, 0.0], [l, 0.0], [l, w], [0.0, w]].map(Vec2::from_array);
    out.polyline("board", &rim);
    for piece in &board.pieces {
        piece.rims().for_each(|l| out.polyline("outline", l));
        piece.holes().for_each(|l| out.polyline("holes", l));
        for (at, dia) in &piece.dowels {
            out.text(0, "CIRCLE");
            out.text(8, "dowels");
            out.point(*at);
            out.number(40, dia / 2.0);
        }
        for (layer, seats) in SEATS.iter().zip(&piece.seats) {
            seats.iter().for_each(|l| out.polyline(layer, l));
        }
        out.name(&piece.name, piece.name_at, piece.letter_mm);
    }
    out.text(0, "ENDSEC");
    out.text(0, "EOF");
    to.write_all(out.0.as_bytes())
}

/// The file so far.
#[derive(Default)]
struct Groups(String);

impl Groups {
    fn text(&mut self, code: u16, value: &str) {
        let _ = write!(self.0, "{code:>3}\r\n{}\r\n", plain(value));
    }

    fn number(&mut self, code: u16, value: f64) {
        let _ = write!(self.0, "{code:>3}\r\n{:.6}\r\n", value + 0.0);
    }

    fn whole(&mut self, code: u16, value: usize) {
        let _ = write!(self.0, "{code:>3}\r\n{value}\r\n");
    }

    fn point(&mut self, at: Vec2) {
        self.number(10, at.x);
        self.number(20, at.y);
        self.number(30, 0.0);
    }

    fn head(&mut self, board: &BoardDrawing) {
        self.text(0, "SECTION");
        self.text(2, "HEADER");
        self.text(9, "$ACADVER");
        self.text(1, "AC1009");
        self.text(9, "$EXTMIN");
        self.point(Vec2::ZERO);
        self.text(9, "$EXTMAX");
        self.point(Vec2::new(board.length_mm, board.width_mm));
        self.text(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.text(0, "SECTION");
        self.text(2, "TABLES");
        self.text(0, "TABLE");
        self.text(2, "LTYPE");
        self.whole(70, 1);
        self.text(0, "LTYPE");
        self.text(2, "CONTINUOUS");
        self.whole(70, 0);
        self.text(3, "Solid line");
        self.whole(72, 65);
        self.whole(73, 0);
        self.number(40, 0.0);
        self.text(0, "ENDTAB");
        self.text(0, "TABLE");
        self.text(2, "LAYER");
        self.whole(70, LAYERS.len());
        for (name, colour) in LAYERS {
            self.text(0, "LAYER");
            self.text(2, name);
            self.whole(70, 0);
            self.whole(62, usize::from(colour));
            self.text(6, "CONTINUOUS");
        }
        self.text(0, "ENDTAB");
        self.text(0, "ENDSEC");
    }

    fn polyline(&mut self, layer: &str, points: &[Vec2]) {
        self.text(0, "POLYLINE");
        self.text(8, layer);
        self.whole(66, 1);
        self.point(Vec2::ZERO);
        // Closed.
        self.whole(70, 1);
        for p in points {
            self.text(0, "VERTEX");
            self.text(8, layer);
            self.point(*p);
        }
        self.text(0, "SEQEND");
        self.text(8, layer);
    }

    /// A name with its middle at a place.
    fn name(&mut self, name: &str, at: Vec2, height_mm: f64) {
        self.text(0, "TEXT");
        self.text(8, "names");
        self.point(at);
        self.number(40, height_mm);
        self.text(1, name);
        // Middle, across and along.
        self.whole(72, 1);
        self.number(11, at.x);
        self.number(21, at.y);
        self.number(31, 0.0);
        self.whole(73, 2);
    }
}

/// A value that stays on its line and in ASCII; a letter of more than four hexadecimal digits becomes two.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            // What begins a code of the format's own.
            '%' | '^' | '\\' => {
                let _ = write!(out, "\\U+{:04X}", u32::from(c));
            }
            ' '..='~' => out.push(c),
            c if c.is_control() => out.push(' '),
            c => {
                for unit in c.encode_utf16(&mut [0; 2]) {
                    let _ = write!(out, "\\U+{unit:04X}");
                }
            }
        }
    }
    out
}
