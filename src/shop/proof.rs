//! What takes longest: promised walls, walls everywhere, the cutter's reach, the foam pieces, how the metal fills and
//! freezes. A build can be shown before they are done.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

use crate::drawing::Part;
use crate::fault::{Finding, Go};
use crate::inspect::{self, Bodies};
use crate::measure::Vec3;
use crate::pattern::Stage;
use crate::pieces::{self, FoamPiece, Pieces, Source};
use crate::pour::fields::{Outlook, Subject, cell_for, outlook};
use crate::shop::pipeline::{Build, joined};
use crate::solid::{Memo, Solid};

/// What these checks need beside the build.
#[derive(Debug, Clone)]
pub struct Unproved {
    /// Of the finished part and of the casting.
    bodies: [Bodies; 2],
    /// The solids as the booleans gave them.
    solids: [Solid; 2],
    /// What was cut out of patterns before.
    cuts: Arc<Mutex<Memo>>,
}

impl Unproved {
    /// The bodies and solids of the finished part and of the casting.
    pub(super) fn new(bodies: [Bodies; 2], solids: [Solid; 2], cuts: Arc<Mutex<Memo>>) -> Unproved {
        Unproved {
            bodies,
            solids,
            cuts,
        }
    }
}

/// A build with all its findings, its foam pieces, and how it is expected to fill and freeze.
pub fn prove_all(build: Build, unproved: &Unproved) -> Build {
    timed(build, |build| {
        let (proof, expected) = std::thread::scope(|scope| {
            let expected = scope.spawn(|| expected(&build, &|| true));
            (proof(&build, unproved, &|| true), joined(expected))
        });
        with_expected(with_proof(build, proof), expected)
    })
}

/// A build with its foam pieces, and the findings about walls, reach and pieces; `None` where `go` says no before that is
/// done.
pub fn prove(build: Build, unproved: &Unproved, go: Go) -> Option<Build> {
    let build = timed(build, |build| {
        let proof = proof(&build, unproved, go);
        with_proof(build, proof)
    });
    go().then_some(build)
}

/// A build with how it is expected to fill and freeze, where its script gates it; `None` where `go` says no before that
/// is done.
pub fn expect(build: Build, go: Go) -> Option<Build> {
    let build = timed(build, |build| {
        let expected = expected(&build, go);
        with_expected(build, expected)
    });
    go().then_some(build)
}

/// A build with something done to it, and the time that it took.
fn timed(build: Build, change: impl FnOnce(Build) -> Build) -> Build {
    let clock = Instant::now();
    let mut build = change(build);
    build.seconds.checks += clock.elapsed().as_secs_f64();
    build
}

fn with_proof(mut build: Build, (pieces, found): Proof) -> Build {
    build.pieces = pieces.map(Arc::new);
    with_findings(build, found)
}

fn with_expected(mut build: Build, expected: Option<Outlook>) -> Build {
    let found = expected.as_ref().map(|o| o.findings.clone());
    build.outlook = expected.map(Arc::new);
    with_findings(build, found.unwrap_or_default())
}

fn with_findings(mut build: Build, found: Vec<Finding>) -> Build {
    let before = std::mem::take(&mut build.findings);
    build.findings = inspect::settled(before.into_iter().chain(found).collect(), &build.part);
    build
}

/// The pieces, and what was found beside.
type Proof = (Option<Pieces>, Vec<Finding>);

fn proof(build: &Build, unproved: &Unproved, go: Go) -> Proof {
    let part = &build.part;
    let ([finished, casting], [done, cast]) = (&unproved.bodies, &unproved.solids);
    let pattern = build.stage(Stage::Pattern);
    std::thread::scope(|scope| {
        // What needs no pieces goes on beside them.
        let promised =
            scope.spawn(|| inspect::wall_cut(part, finished, casting, &build.findings, go));
        let surfaces = scope.spawn(|| inspect::on_surfaces(part, done, cast, go));
        let (pieces, in_foam) = match pattern {
            Some(pattern) => {
                let cuts = unproved.cuts.lock();
                let mut cuts = cuts.unwrap_or_else(PoisonError::into_inner);
                let source = Source {
                    part,
                    stocks: &build.stocks,
                    pattern: &pattern.solid,
                    bodies: pieces::Bodies {
                        staged: &casting.staged,
                        shells: &casting.shells,
                    },
                    gated: build.gated.as_deref(),
                };
                let made = pieces::pieces(&source, &mut cuts, go);
                if go() {
                    cuts.end_run();
                } else {
                    cuts.give_up_run();
                }
                made
            }
            None => (None, Vec::new()),
        };
        let reach = match (&pieces, pattern) {
            (Some(pieces), _) if pieces.of_pattern() > 1 => {
                reach_of_pieces(part, &pieces.pieces, go)
            }
            (pieces, Some(pattern)) => {
                let mut found = inspect::reach(part, &pattern.solid);
                let beside = pieces.iter().flat_map(|p| &p.pieces[p.of_pattern()..]);
                found.extend(reach_of_pieces(part, beside, go));
                found
            }
            _ => Vec::new(),
        };
        let reach = inspect::gathered(part, reach);
        let found = [joined(promised), joined(surfaces), reach, in_foam];
        (pieces, found.into_iter().flatten().collect())
    })
}

/// How the casting fills and freezes, where the script gates it.
fn expected(build: &Build, go: Go) -> Option<Outlook> {
    let casting = build.stage(Stage::Casting)?;
    let subject = Subject {
        part: &build.part,
        casting: &casting.solid,
        finished: &build.stage(Stage::Finished)?.solid,
        gated: build.gated.as_deref()?,
    };
    outlook(&subject, cell_for(&build.part, &casting.figures), go)
}

/// What a cutter doesn't reach of each piece from its two sides.
fn reach_of_pieces<'a>(
    part: &Part,
    pieces: impl IntoIterator<Item = &'a FoamPiece>,
    go: Go,
) -> Vec<Finding> {
    let mut found = Vec::new();
    for piece in pieces.into_iter().take_while(|_| go()) {
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
