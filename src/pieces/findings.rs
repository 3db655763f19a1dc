//! `no-board`, `thin-foam` by whole pieces, and splits that part nothing.

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::fault::{Fault, Finding, Level, Span};
use crate::pieces::boards::{SLACK_MM, takes_plan};
use crate::pieces::{Boards, FoamPiece, Kind, Parting, Pieces};

/// What is found on pieces and splits; `cuts` says of each of the script's splits whether it parted anything.
pub(super) fn findings(
    part: &Part,
    splits: &[Parting],
    cuts: &[bool],
    pieces: &[FoamPiece],
) -> Vec<Finding> {
    let mut found = Vec::new();
    for (split, _) in splits.iter().zip(cuts).filter(|(_, cut)| !**cut) {
        let mut finding = Finding::new(
            "no-effect",
            Level::Look,
            format!("the split \"{}\" parts nothing", split.name),
            "move it to where there is foam on both sides, or leave it out",
        );
        finding.features = split
            .of
            .first()
            .map(|&f| named(part, f))
            .into_iter()
            .collect();
        if finding.features.is_empty() {
            let place = (split.name.clone(), split.site.script().clone());
            finding.features.push(place);
        }
        found.push(finding);
    }
    for piece in pieces {
        found.extend(no_board(part, piece));
        found.extend(thin_foam(part, piece));
    }
    found
}

/// Pieces that found no place on a board.
pub fn unplaced(part: &Part, pieces: &Pieces, boards: &Boards) -> Vec<Finding> {
    let mut missing = boards.unplaced.clone();
    missing.dedup();
    let told = missing.into_iter().map(|p| {
        let piece = &pieces.pieces[p];
        let text = format!("the piece \"{}\" found no place on a board", piece.name);
        let remedy = "declare a larger board, or leave less of it for the margin";
        let mut finding = Finding::new("no-board", Level::Stop, text, remedy);
        finding.stage = Some("pattern");
        finding.features = main_feature(part, piece);
        finding
    });
    told.collect()
}

/// What can't be cut, as a finding.
pub(super) fn unparted(fault: Fault) -> Finding {
    let remedy = fault.hints.first().cloned().unwrap_or_else(|| {
        "move the split or the loose piece, or leave it out: no pieces are made".to_string()
    });
    let mut finding = Finding::new("unparted", Level::Stop, fault.text, remedy);
    finding.stage = Some("pattern");
    let place = fault.calls.last().cloned().or(fault.span);
    finding.features = place
        .map(|span| ("pieces".to_string(), span))
        .into_iter()
        .collect();
    finding
}

fn named(part: &Part, id: FeatureId) -> (String, Span) {
    let feature = &part.features[id];
    (feature.name.clone(), feature.site.script().clone())
}

/// The feature with the largest surface on a piece.
fn main_feature(part: &Part, piece: &FoamPiece) -> Vec<(String, Span)> {
    let first = piece.features.first().map(|&id| named(part, id));
    let own = || {
        let site = piece.site.as_ref().filter(|_| piece.kind == Kind::Gating)?;
        Some((piece.name.clone(), site.script().clone()))
    };
    first.or_else(own).into_iter().collect()
}

pub(super) fn no_board(part: &Part, piece: &FoamPiece) -> Option<Finding> {
    if part.boards.is_empty() || piece.board.is_some() {
        return None;
    }
    let unit = part.unit;
    let size = piece.size_mm;
    let thickness = |i: usize| part.boards[i].thickness_mm;
    let wide = (0..part.boards.len()).filter(|&i| takes_plan(part, i, size));
    let thickest = wide.map(thickness).reduce(f64::max);
    let (text, value, limit) = match thickest {
        Some(most) => (
            format!(
                "the piece \"{}\" is {} high as it lies, and the thickest board that takes it is {}",
                piece.name,
                unit.show(size.z),
                unit.show(most)
            ),
            size.z,
            most,
        ),
        None => {
            let widest = part.boards.iter().map(|b| b.inside_mm());
            let [length, width] =
                widest.fold(
                    [0.0_f64; 2],
                    |a, b| {
                        if a[0] * a[1] < b[0] * b[1] { b } else { a }
                    },
                );
            let text = format!(
                "the piece \"{}\" is {} x {} as it lies, and the largest board has {} x {} inside its margins",
                piece.name,
                unit.number(size.x),
                unit.show(size.y),
                unit.number(length),
                unit.show(width)
            );
            (text, size.x.max(size.y), length.max(width))
        }
    };
    let remedy = if piece.kind == Kind::Gating {
        "make it smaller, lead it in straight legs, or declare a larger board"
    } else if thickest.is_some() {
        "part it with split(…) or auto_split(), or declare a thicker board"
    } else {
        "part it with split(…) along an upright face, or declare a larger board"
    };
    let mut finding = Finding::new("no-board", Level::Stop, text, remedy);
    finding.stage = Some("pattern");
    finding.features = main_feature(part, piece);
    finding.value = Some(value);
    finding.limit = Some(limit);
    Some(finding)
}

pub(super) fn thin_foam(part: &Part, piece: &FoamPiece) -> Option<Finding> {
    let least = part.min_foam_mm?;
    let thickness = piece.size_mm.min_element();
    if thickness >= least - SLACK_MM {
        return None;
    }
    let unit = part.unit;
    let text = format!(
        "the piece \"{}\" is {} thick, under the {} that can be handled",
        piece.name,
        unit.show(thickness),
        unit.show(least)
    );
    let remedy = match piece.kind {
        Kind::Gating => "make it thicker",
        _ => "move the split beside it",
    };
    let mut finding = Finding::new("thin-foam", Level::Look, text, remedy);
    finding.stage = Some("pattern");
    finding.features = main_feature(part, piece);
    finding.value = Some(thickness);
    finding.limit = Some(least);
    Some(finding)
}
