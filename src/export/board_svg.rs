//! A board as SVG: millimetres, one group a layer (`board`, `outline`, `holes`, `dowels`, `seats` and `seats-below`, where
//! loose pieces are set on, `names`), the board's corner at the lower left. A drawing's y looks down, so a point of the
//! board at (x, y) is at (x, width - y) here.

use std::fmt::Write as _;
use std::io::{self, Write};

use crate::export::SEATS;
use crate::fault::no_markup;
use crate::measure::Vec2;
use crate::pieces::{BoardDrawing, DrawnPiece};

/// Width of the lines (mm): a hair, as a machine follows their middle.
const LINE_MM: f64 = 0.2;

/// Writes a board; `title` names it.
///
/// # Errors
/// What the writer says.
pub fn write(board: &BoardDrawing, title: &str, to: &mut dyn Write) -> io::Result<()> {
    let mut out = String::new();
    let (l, w) = (board.length_mm, board.width_mm);
    out.push_str("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{l}mm\" height=\"{w}mm\" viewBox=\"0 0 {l} {w}\">"
    );
    let _ = writeln!(out, "<title>{}</title>", no_markup(title));
    let style = format!("fill=\"none\" stroke-width=\"{LINE_MM}\"");
    let _ = writeln!(
        out,
        "<g id=\"board\" {style} stroke=\"#888888\">\n<rect x=\"0\" y=\"0\" width=\"{l}\" height=\"{w}\"/>\n</g>"
    );
    let loops = |piece: &'_ DrawnPiece, holes: bool| -> Vec<Vec<Vec2>> {
        if holes {
            piece.holes().cloned().collect()
        } else {
            piece.rims().cloned().collect()
        }
    };
    for (layer, colour, holes) in [("outline", "#000000", false), ("holes", "#0000ff", true)] {
        let _ = writeln!(out, "<g id=\"{layer}\" {style} stroke=\"{colour}\">");
        for piece in &board.pieces {
            let d: String = loops(piece, holes).iter().map(|l| path(l, w)).collect();
            if !d.is_empty() {
                let name = no_markup(&piece.name);
                let _ = writeln!(out, "<path d=\"{d}\"><title>{name}</title></path>");
            }
        }
        out.push_str("</g>\n");
    }
    let _ = writeln!(out, "<g id=\"dowels\" {style} stroke=\"#ff0000\">");
    for (at, dia) in board.pieces.iter().flat_map(|p| &p.dowels) {
        let [x, y, r] = [at.x, w - at.y, dia / 2.0].map(number);
        let _ = writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>");
    }
    out.push_str("</g>\n");
    for (side, (layer, colour)) in SEATS.iter().zip(["#008b8b", "#a000a0"]).enumerate() {
        let _ = writeln!(out, "<g id=\"{layer}\" {style} stroke=\"{colour}\">");
        for piece in &board.pieces {
            let d: String = piece.seats[side].iter().map(|l| path(l, w)).collect();
            if !d.is_empty() {
                let _ = writeln!(out, "<path d=\"{d}\"/>");
            }
        }
        out.push_str("</g>\n");
    }
    out.push_str(
        "<g id=\"names\" fill=\"#000000\" font-family=\"sans-serif\" text-anchor=\"middle\">\n",
    );
    for piece in &board.pieces {
        let at = piece.name_at;
        let _ = writeln!(
            out,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\">{}</text>",
            number(at.x),
            number(w - at.y + 0.35 * piece.letter_mm),
            number(piece.letter_mm),
            no_markup(&piece.name)
        );
    }
    out.push_str("</g>\n</svg>\n");
    to.write_all(out.as_bytes())
}

/// A closed loop as path data.
fn path(points: &[Vec2], width_mm: f64) -> String {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let way = if i == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{way}{} {}", number(p.x), number(width_mm - p.y));
    }
    d.push('Z');
    d
}

/// A length to a ten-thousandth of a millimetre.
fn number(x: f64) -> String {
    let text = format!("{x:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_string()
}
