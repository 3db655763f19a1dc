//! The boards of a build: laid once its pieces are known, and their files.

use std::sync::Arc;
use std::time::Instant;

use crate::export::{board_dxf, board_svg, stl};
use crate::fault::Go;
use crate::inspect;
use crate::pieces::nesting::Effort;
use crate::pieces::{board_drawings, lay_on_boards, unplaced};
use crate::shop::files::Output;
use crate::shop::pipeline::Build;

/// Whether a build has pieces that are still to be laid on boards.
pub fn lacks_boards(build: &Build) -> bool {
    let cut = |pieces: &Arc<crate::pieces::Pieces>| pieces.pieces.iter().any(|p| p.board.is_some());
    build.boards.is_none() && build.pieces.as_ref().is_some_and(cut)
}

/// A build with its pieces laid on boards; the same build where it has none, or where `go` says no before it is done.
pub fn laid(mut build: Build, effort: Effort, go: Go) -> Build {
    if let Some(pieces) = build.pieces.as_ref().filter(|_| lacks_boards(&build)) {
        let clock = Instant::now();
        let boards = lay_on_boards(&build.part, pieces, effort, go);
        if let Some(boards) = &boards {
            let missing = unplaced(&build.part, pieces, boards);
            let all = build.findings.drain(..).chain(missing);
            build.findings = inspect::settled(all.collect(), &build.part);
        }
        build.boards = boards.map(Arc::new);
        build.seconds.boards += clock.elapsed().as_secs_f64();
    }
    build
}

/// Drawings and solids of the boards, each with its size in bytes.
pub(super) fn board_files(build: &Build) -> Vec<(Output<'_>, u64)> {
    let (Some(pieces), Some(boards)) = (&build.pieces, &build.boards) else {
        return Vec::new();
    };
    let mut outputs: Vec<(Output, u64)> = Vec::new();
    let drawings = board_drawings(&build.part, pieces, boards);
    for (drawing, board) in drawings.iter().zip(&boards.boards) {
        let name = format!("board {}", drawing.number);
        let title = format!("{} {name}", build.part.name);
        let base = format!("boards/board-{}", drawing.number);
        let (mut svg, mut dxf) = (Vec::new(), Vec::new());
        // Writing to memory doesn't fail.
        let _ = board_svg::write(drawing, &title, &mut svg);
        let _ = board_dxf::write(drawing, &title, &mut dxf);
        for (ending, bytes) in [("svg", svg), ("dxf", dxf)] {
            let size = bytes.len() as u64;
            let output = Output {
                name: format!("{base}.{ending}"),
                contents: Box::new(move |to| to.write_all(&bytes)),
            };
            outputs.push((output, size));
        }
        let output = Output {
            name: format!("{base}.stl"),
            contents: Box::new(move |to| stl::write(&board.solid, &title, to)),
        };
        outputs.push((output, stl::bytes(&board.solid)));
    }
    outputs
}
