//! `prove`: of a script, or of a mesh that has none.

use crate::cli::End;
use crate::cli::arguments::ProveWish;
use crate::cli::make::end;
use crate::cli::show::{Progress, failed, fault, findings, say, summary};
use crate::fault::{Fault, Level};
use crate::shop::{Bench, PROVE_FACET_MM, Wish, prove_mesh, report_of, walls_at};

/// `foamwright prove`.
pub fn prove(wish: &ProveWish) -> End {
    let script = &wish.common.script;
    if script
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("stl"))
    {
        return mesh(wish);
    }
    if wish.min_wall.is_some() {
        return fault(
            Fault::new("--min-wall is for a mesh").hint("a script says it itself: min_wall(4.5);"),
        );
    }
    if !wish.cutter.is_empty() {
        return fault(
            Fault::new("--cutter is for a mesh")
                .hint("a script says it itself: cutter(#{ dia: 6, reach: 60 });"),
        );
    }
    let progress = Progress::new();
    let asked = Wish {
        overrides: wish.common.set.clone(),
        facet_mm: wish.common.facet,
        facet_at_most_mm: Some(PROVE_FACET_MM),
        ..Wish::default()
    };
    let build = match Bench::new().build(script, &asked, &|what| progress.step(what)) {
        Ok(build) => build,
        Err(failure) => return failed(&failure),
    };
    if let Some(at) = &wish.at {
        match walls_at(&build, at) {
            Ok(text) => say(&text),
            Err(trouble) => return fault(trouble),
        }
    } else if wish.json {
        say(&report_of(&build, script, wish.timings).json());
    } else {
        say(&summary(&build, &[], wish.timings));
    }
    end(&build)
}

/// `foamwright prove MESH.stl --min-wall MM --cutter DIA,REACH`.
fn mesh(wish: &ProveWish) -> End {
    let path = &wish.common.script;
    if wish.json || wish.at.is_some() || !wish.common.set.is_empty() {
        return fault(Fault::new(
            "--json, --at and --set are for a script, not for a mesh",
        ));
    }
    if wish.min_wall.is_none() && wish.cutter.is_empty() {
        return fault(
            Fault::new("say how thick the walls of a mesh have to be, or which cutters there are")
                .hint("foamwright prove MESH.stl --min-wall 4.5 --cutter 6,60"),
        );
    }
    match prove_mesh(path, wish.min_wall, &wish.cutter) {
        Ok(found) => {
            say(&format!("{}\n", path.display()));
            say(&findings(&found));
            if found.iter().any(|f| f.level == Level::Stop) {
                End::Stops
            } else {
                End::Good
            }
        }
        Err(trouble) => fault(trouble),
    }
}
