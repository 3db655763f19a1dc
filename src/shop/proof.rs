//! What takes longest: promised walls, walls everywhere, the cutter's reach, the foam pieces, how the metal fills and
//! freezes. A build can be shown before they are done.

use std::sync::Arc;
use std::time::Instant;

use crate::drawing::Part;
use crate::fault::Finding;
use crate::inspect::{self, Bodies};
use crate::measure::Vec3;
use crate::pattern::{Stage, Stocks};
use crate::pieces::{self, Pieces, Source};
use crate::pour::fields::{Outlook, Subject, cell_for, outlook};
use crate::shop::pipeline::{Build, joined};
use crate::solid::Solid;

/// What these checks need beside the build.
#[derive(Debug, Clone)]
pub struct Unproved {
    /// Stock on each marked surface.
    stocks: Stocks,
    /// Of the finished part and of the casting.
    bodies: [Bodies; 2],
    /// The solids as the booleans gave them.
    solids: [Solid; 2],
}

impl Unproved {
    /// The bodies and solids of the finished part and of the casting.
    pub(super) fn new(stocks: Stocks, bodies: [Bodies; 2], solids: [Solid; 2]) -> Unproved {
        Unproved {
            stocks,
            bodies,
            solids,
        }
    }
}

/// A build with all its findings and its foam pieces.
pub fn prove(mut build: Build, unproved: &Unproved) -> Build {
    let clock = Instant::now();
    let part = &build.part;
    let ([finished, casting], [done, cast]) = (&unproved.bodies, &unproved.solids);
    let pattern = build.stage(Stage::Pattern);
    let (pieces, found, expected) = std::thread::scope(|scope| {
        // What needs no pieces goes on beside them.
        let expected = scope.spawn(|| expected(&build));
        let promised = scope.spawn(|| inspect::wall_cut(part, finished, casting, &build.findings));
        let surfaces = scope.spawn(|| inspect::on_surfaces(part, done, cast));
        let (pieces, in_foam) = match pattern {
            Some(pattern) => pieces::pieces(&Source {
                part,
                stocks: &unproved.stocks,
                pattern: &pattern.solid,
                bodies: pieces::Bodies {
                    staged: &casting.staged,
                    shells: &casting.shells,
                },
            }),
            None => (None, Vec::new()),
        };
        let reach = match (&pieces, pattern) {
            (Some(pieces), _) if pieces.pieces.len() > 1 => reach_of_pieces(part, pieces),
            (_, Some(pattern)) => inspect::reach(part, &pattern.solid),
            _ => Vec::new(),
        };
        let found = [joined(promised), joined(surfaces), reach, in_foam];
        (pieces, found, joined(expected))
    });
    let findings = std::mem::take(&mut build.findings);
    let all = findings.into_iter().chain(found.into_iter().flatten());
    let of_pour = expected.iter().flat_map(|o| o.findings.iter().cloned());
    build.findings = inspect::settled(all.chain(of_pour).collect(), &build.part);
    build.outlook = expected.map(Arc::new);
    build.pieces = pieces.map(Arc::new);
    build.seconds.checks += clock.elapsed().as_secs_f64();
    build
}

/// How the casting fills and freezes, where the script gates it.
fn expected(build: &Build) -> Option<Outlook> {
    let casting = build.stage(Stage::Casting)?;
    let subject = Subject {
        part: &build.part,
        casting: &casting.solid,
        finished: &build.stage(Stage::Finished)?.solid,
        gated: build.gated.as_deref()?,
    };
    Some(outlook(&subject, cell_for(&build.part, &casting.figures)))
}

/// What a cutter doesn't reach of each piece from its two sides.
fn reach_of_pieces(part: &Part, pieces: &Pieces) -> Vec<Finding> {
    let mut found = Vec::new();
    for piece in &pieces.pieces {
        let (solid, frame) = piece.upright();
        for mut finding in inspect::reach(part, &solid) {
            finding.text = format!("in the piece \"{}\" {}", piece.name, finding.text);
            let place = |at: [f64; 3]| frame.point(Vec3::from_array(at)).to_array();
            finding.at_mm = finding.at_mm.map(place);
            found.push(finding);
        }
    }
    found
}
