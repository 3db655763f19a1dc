//! The steps of gluing, each with a picture: what is there in light grey, what is set darker, its wax darkest.

use crate::picture::{View, shows_most};
use crate::pieces::{Kind, Pieces, Step};
use crate::sheet::bill::step_rows;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{line, section, text};
use crate::sheet::shop_sheet::pictures::{SET, THERE, WAX, figure, toned};
use crate::solid::Solid;

/// The views among which the one is drawn that shows most of what is set.
const VIEWS: [View; 3] = [View::Iso, View::IsoBack, View::IsoBelow];

/// All steps.
pub(super) fn steps(source: &SheetSource) -> String {
    let Some(pieces) = source.pieces.filter(|p| !p.steps.is_empty()) else {
        return section("glue", "Glue-up", &line("Nothing to glue."));
    };
    let rows = step_rows(source.part, pieces);
    // What hangs together so far: one number a piece.
    let mut lump: Vec<usize> = (0..pieces.pieces.len()).collect();
    let mut body =
        line("Light: what is there. Darker: what this step sets. Darkest: its wax fillet.");
    body += "<div class=\"steps\">\n";
    let gating = |step: &Step| pieces.pieces[step.piece].kind == Kind::Gating;
    let mut coated = false;
    for (step, row) in pieces.steps.iter().zip(&rows) {
        if gating(step) && !coated {
            coated = true;
            body += "</div>\n<h3>Glue on after coating</h3>\n<div class=\"steps\">\n";
        }
        let solid = scene(pieces, step, &lump);
        let view = shows_most(&solid, &VIEWS, SET).unwrap_or(View::Iso);
        let caption = format!("<b>{}</b> {}", row.number, text(&row.text));
        body += &figure(&solid, view, [320, 240], &row.text, &caption);
        let set = lump[step.piece];
        for &on in &step.on {
            let joined = lump[on];
            lump.iter_mut()
                .filter(|l| **l == joined)
                .for_each(|l| *l = set);
        }
    }
    body += "</div>\n";
    section("glue", "Glue-up", &body)
}

/// What a step joins, in its place in the pattern.
fn scene(pieces: &Pieces, step: &Step, lump: &[usize]) -> Solid {
    let mut out = Solid::default();
    for (i, piece) in pieces.pieces.iter().enumerate() {
        if lump[i] == lump[step.piece] {
            out.append(&toned(&piece.placed(), SET));
        } else if step.on.iter().any(|&on| lump[i] == lump[on]) {
            out.append(&toned(&piece.placed(), THERE));
        }
    }
    for &wax in &step.wax {
        out.append(&toned(&pieces.wax[wax].solid, WAX));
    }
    out
}
