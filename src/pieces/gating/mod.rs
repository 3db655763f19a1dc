//! The gating as foam of its own, glued on after coating: gates, runners, sprues, feeders and ties, each shaped at its
//! ends to what it meets, laid flat, in lengths where no board takes it whole.
//!
//! With as many patterns as the tree carries these pieces are the gated pattern, and no two of them overlap. Pieces that
//! are alike on every pattern of a tree are one row, cut as often as needed.

mod joints;
mod lengths;
mod lying;
mod shaped;

use crate::fault::{Fault, Finding};
use crate::pieces::cut::{NO_JOINT, Rough};
use crate::pieces::{Pieces, Source, blank, findings};

/// What each triangle of a piece lies on, in place of its feature.
#[derive(Debug, Clone, Copy)]
struct Labels {
    /// How many patterns there are.
    copies: usize,
    /// How many pieces are laid.
    laid: usize,
}

impl Labels {
    /// On nothing.
    const FREE: usize = NO_JOINT;

    /// On this pattern of the tree.
    fn pattern(self, copy: usize) -> usize {
        NO_JOINT + 1 + copy
    }

    /// On this laid piece.
    fn laid(self, laid: usize) -> usize {
        self.pattern(self.copies) + laid
    }

    /// On the next length of its own.
    fn length(self, cut: usize) -> usize {
        self.laid(self.laid) + cut
    }

    fn of(self, label: usize) -> On {
        match label.checked_sub(NO_JOINT + 1) {
            None => On::Nothing,
            Some(n) if n < self.copies => On::Pattern(n),
            Some(n) if n < self.copies + self.laid => On::Laid(n - self.copies),
            Some(_) => On::Length,
        }
    }
}

/// What a label says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum On {
    Nothing,
    Pattern(usize),
    Laid(usize),
    Length,
}

/// Adds the pieces of the gating behind those of the pattern, whose shapes are `rough`; what can't be made is a finding.
pub(super) fn add(source: &Source, rough: &[Rough], pieces: &mut Pieces, found: &mut Vec<Finding>) {
    let Some(gated) = source.gated else {
        return;
    };
    let part = source.part;
    let labels = Labels {
        copies: gated.copies,
        laid: gated.laid.len(),
    };
    let made = shaped::shaped(part, gated, source.pattern, labels)
        .and_then(|shaped| lengths::in_lengths(part, gated, shaped, labels));
    let parts = match made {
        Ok(parts) => parts,
        Err(fault) => {
            let fault = Fault::new(format!("pieces of the gating: {}", fault.text()))
                .hint("none are made; move what it names a little");
            found.push(findings::unparted(fault));
            return;
        }
    };
    let first = pieces.pieces.len();
    joints::join(part, gated, rough, parts, labels, pieces);
    let own = &mut pieces.pieces[first..];
    if let Err(fault) = blank::make(part, own) {
        found.push(findings::unparted(Fault::new(fault.text())));
    }
    for piece in own {
        found.extend(findings::no_board(part, piece));
        found.extend(findings::thin_foam(part, piece));
    }
}
