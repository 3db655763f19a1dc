//! The boards drawn to scale.

use std::fmt::Write as _;

use crate::measure::Vec2;
use crate::pieces::{BoardDrawing, board_drawings};
use crate::sheet::boards::offcut_rows;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{line, section, text};

/// How long the drawing is on A4 and Letter (mm).
const PAPER_MM: f64 = 180.0;

/// A drawing a board.
pub(super) fn boards(source: &SheetSource) -> String {
    let (Some(pieces), Some(boards)) = (source.pieces, source.boards) else {
        let body = match source.pieces {
            Some(_) => "No layout yet, or no board takes the pieces.",
            None => "No boards.",
        };
        return section("boards", "Boards", &line(body));
    };
    let unit = source.part.unit;
    let rests = offcut_rows(source.part, boards);
    let mut body = String::new();
    for board in board_drawings(source.part, pieces, boards) {
        let rest = rests.iter().find(|r| r.board == board.number);
        let rest = rest.map_or_else(
            || "no off-cut".to_string(),
            |r| {
                format!(
                    "off-cut {} × {}",
                    unit.number(r.size_mm[0]),
                    unit.show(r.size_mm[1])
                )
            },
        );
        let names = board
            .pieces
            .iter()
            .map(|p| format!("{} {}", p.piece + 1, p.name));
        let caption = format!(
            "<b>Board {}</b>: {} × {} × {}, used to {}, {rest}. Drawn 1 : {:.1} where it is {PAPER_MM} mm long{}. <b>{}</b>",
            board.number,
            unit.number(board.length_mm),
            unit.number(board.width_mm),
            unit.show(board.thickness_mm),
            unit.show(board.used_length_mm),
            board.length_mm / PAPER_MM,
            if board.pieces.iter().any(|p| !p.seats[0].is_empty()) {
                "; dashed: where loose pieces are set on"
            } else {
                ""
            },
            text(&names.collect::<Vec<_>>().join(" · "))
        );
        body += &format!(
            "<figure>{}<figcaption>{caption}</figcaption></figure>\n",
            drawing(&board)
        );
    }
    section("boards", "Boards", &body)
}

fn drawing(board: &BoardDrawing) -> String {
    let (l, w) = (board.length_mm, board.width_mm);
    // A millimetre of paper.
    let mm = l / PAPER_MM;
    let mut out = format!("<svg viewBox=\"0 0 {l} {w}\" role=\"img\">");
    let _ = write!(out, "<title>board {}</title>", board.number);
    let used = board.used_length_mm;
    let _ = write!(
        out,
        "<line x1=\"{used:.2}\" y1=\"0\" x2=\"{used:.2}\" y2=\"{w}\" stroke=\"#000\" stroke-width=\"{:.2}\" stroke-dasharray=\"{:.2} {:.2}\"/>",
        0.4 * mm,
        3.0 * mm,
        2.0 * mm
    );
    for piece in &board.pieces {
        let d: String = piece.loops.iter().map(|l| path(l, w)).collect();
        let _ = write!(
            out,
            "<path d=\"{d}\" fill=\"#e4e4e4\" fill-rule=\"evenodd\" stroke=\"#000\" stroke-width=\"{:.2}\"><title>{}</title></path>",
            0.3 * mm,
            text(&piece.name)
        );
        let seats: String = piece.seats[0].iter().map(|l| path(l, w)).collect();
        if !seats.is_empty() {
            let _ = write!(
                out,
                "<path d=\"{seats}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{:.2}\" stroke-dasharray=\"{mm:.2}\"/>",
                0.2 * mm
            );
        }
        for (at, dia) in &piece.dowels {
            let _ = write!(
                out,
                "<circle cx=\"{:.2}\" cy=\"{:.2}\" r=\"{:.2}\" fill=\"#000\"/>",
                at.x,
                w - at.y,
                dia / 2.0
            );
        }
    }
    for piece in &board.pieces {
        let (at, high) = (piece.name_at, 3.5 * mm);
        let _ = write!(
            out,
            "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"{high:.2}\" font-weight=\"bold\" text-anchor=\"middle\" stroke=\"#fff\" stroke-width=\"{:.2}\" paint-order=\"stroke\">{}</text>",
            at.x,
            w - at.y + 0.35 * high,
            0.8 * mm,
            piece.piece + 1
        );
        if piece.letter_mm >= 1.6 * mm {
            let _ = write!(
                out,
                "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"{:.2}\" text-anchor=\"middle\" stroke=\"#fff\" stroke-width=\"{:.2}\" paint-order=\"stroke\">{}</text>",
                at.x,
                w - at.y + 1.3 * high,
                piece.letter_mm.min(2.5 * mm),
                0.6 * mm,
                text(&piece.name)
            );
        }
    }
    out + "</svg>"
}

/// A closed loop as path data, to a hundredth.
fn path(points: &[Vec2], width_mm: f64) -> String {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let way = if i == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{way}{:.2} {:.2}", p.x, width_mm - p.y);
    }
    d + "Z"
}
