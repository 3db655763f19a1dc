//! The checks that take longest: promised walls, walls everywhere, the cutter's reach. A build can be shown before they are
//! done.

use std::time::Instant;

use crate::inspect::{self, Bodies};
use crate::pattern::Stage;
use crate::shop::pipeline::{Build, joined};
use crate::solid::Solid;

/// What these checks need beside the build.
#[derive(Debug, Clone)]
pub struct Unproved {
    /// Of the finished part and of the casting.
    bodies: [Bodies; 2],
    /// The solids as the booleans gave them.
    solids: [Solid; 2],
}

impl Unproved {
    /// The bodies and solids of the finished part and of the casting.
    pub(super) fn new(bodies: [Bodies; 2], solids: [Solid; 2]) -> Unproved {
        Unproved { bodies, solids }
    }
}

/// A build with all its findings.
pub fn prove(mut build: Build, unproved: &Unproved) -> Build {
    let clock = Instant::now();
    let part = &build.part;
    let ([finished, casting], [done, cast]) = (&unproved.bodies, &unproved.solids);
    let pattern = build.stage(Stage::Pattern);
    let found = std::thread::scope(|scope| {
        let promised = scope.spawn(|| inspect::wall_cut(part, finished, casting, &build.findings));
        let reach = scope.spawn(|| pattern.map_or(Vec::new(), |p| inspect::reach(part, &p.solid)));
        let surfaces = inspect::on_surfaces(part, done, cast);
        [joined(promised), surfaces, joined(reach)]
    });
    let findings = std::mem::take(&mut build.findings);
    let all = findings.into_iter().chain(found.into_iter().flatten());
    build.findings = inspect::settled(all.collect(), &build.part);
    build.seconds.checks += clock.elapsed().as_secs_f64();
    build
}
