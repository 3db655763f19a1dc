//! Thin walls as findings: codes, levels, limits, wording; `prove --at` and `prove MESH.stl`.

use std::fs;
use std::path::Path;

use super::built::{built, near, said};
use super::cli::run;
use foamwright::fault::{Finding, Level};
use foamwright::shop::{Build, read_mesh};

/// The one finding of a build.
#[track_caller]
fn only(build: &Build) -> &Finding {
    assert_eq!(build.findings.len(), 1, "{:?}", said(build));
    &build.findings[0]
}

/// A pocket milled down to `wall` mm over a tunnel whose top is at 22.
fn over_a_tunnel(wall: f64) -> String {
    format!(
        "let a = slab(\"block\", #{{ outline: rect(80, 60), height: 40 }});
tunnel(\"oil way\", #{{ from: [-40, 0, 15], to: [40, 0, 15], inside: 14, wall: 0 }});
pocket(\"window\", #{{ into: a.top, outline: rect(20, 20), depth: {} }});",
        18.0 - wall
    )
}

#[test]
fn a_pocket_over_a_tunnel_names_both_and_their_lines() {
    let build = built(&format!("min_wall(4.5);\n{}", over_a_tunnel(2.0)));
    let found = only(&build);
    assert_eq!((found.code, found.level), ("thin-wall", Level::Stop));
    assert_eq!(found.stage, Some("casting"));
    let names: Vec<(&str, usize)> = found
        .features
        .iter()
        .map(|(name, span)| (name.as_str(), span.line))
        .collect();
    assert_eq!(names, [("oil way", 3), ("window", 4)]);
    near(found.value.expect("a wall"), 2.0, 0.02);
    assert_eq!(found.limit, Some(4.5));
    assert!(
        found
            .text
            .starts_with("the wall between oil way and window is 2 mm at [")
    );
    assert!(
        found.text.contains("2.5 mm under the least of 4.5 mm"),
        "{}",
        found.text
    );
    for said in ["oil way (line 3)", "window (line 4)", "2.5 mm"] {
        assert!(found.remedy.contains(said), "{}", found.remedy);
    }
    let at = found.at_mm.expect("a place");
    near(at[1], 0.0, 1.0);
    near(at[2], 23.0, 0.1);
    assert!(
        built(&format!("min_wall(4.5); {}", over_a_tunnel(4.5)))
            .findings
            .is_empty()
    );
}

#[test]
fn the_least_wall_is_the_metals_unless_it_is_said() {
    let plate = |words: &str, height: f64| {
        built(&format!(
            "{words} slab(\"plate\", #{{ outline: rect(60, 40), height: {height} }});"
        ))
    };
    // Lost foam in aluminium: 3 to 4 mm (the metals table); the thick end can be relied on.
    let build = plate("metal(\"A356\");", 3.9);
    assert_eq!(
        (only(&build).value, only(&build).limit),
        (Some(3.9), Some(4.0))
    );
    assert!(plate("metal(\"A356\");", 4.0).findings.is_empty());
    assert!(plate("min_wall(3);", 3.0).findings.is_empty());
    assert!(plate("min_wall(0);", 1.0).findings.is_empty());
    // A metal of one's own has the least wall that it is given, or none.
    let own = "metal(#{ name: \"mine\", shrink: 1.2, density: 2700";
    assert!(plate(&format!("{own} }});"), 1.0).findings.is_empty());
    assert_eq!(
        only(&plate(&format!("{own}, min_wall: 5 }});"), 4.9)).limit,
        Some(5.0)
    );
}

#[test]
fn casting_and_finished_have_limits_of_their_own() {
    let plate = |words: &str| {
        built(&format!(
            "{words} let p = slab(\"plate\", #{{ outline: rect(60, 40), height: 4 }}); finish(p.top, 2);"
        ))
    };
    // 6 as cast, 4 machined.
    assert!(
        plate("min_wall(5); min_wall_finished(3);")
            .findings
            .is_empty()
    );
    let build = plate("min_wall(5);");
    assert_eq!(
        (only(&build).stage, only(&build).value),
        (Some("finished"), Some(4.0))
    );
    let build = plate("min_wall(5); min_wall_finished(4.5);");
    assert_eq!(
        (only(&build).stage, only(&build).limit),
        (Some("finished"), Some(4.5))
    );
    // Told once, with what is left after machining.
    let build = plate("min_wall(7);");
    assert_eq!(
        (only(&build).stage, only(&build).value),
        (Some("casting"), Some(6.0))
    );
    assert!(
        only(&build).text.ends_with("; 4 mm once machined"),
        "{}",
        only(&build).text
    );
    // A stronger limit after machining is told beside it.
    let build = plate("min_wall(7); min_wall_finished(8);");
    assert_eq!(build.findings.len(), 2, "{:?}", said(&build));
}

#[test]
fn inches_are_told_in_inches() {
    let build = built(
        "units(\"in\"); min_wall(1/4); slab(\"plate\", #{ outline: rect(3, 2), height: 3/16 });",
    );
    let found = only(&build);
    near(found.value.expect("a wall"), 25.4 * 3.0 / 16.0, 1e-9);
    assert!(
        found.text.contains("is 0.1875 in at [")
            && found.text.contains("0.0625 in under the least of 0.25 in"),
        "{}",
        found.text
    );
}

#[test]
fn knives_slants_and_raised_bars_have_codes_of_their_own() {
    let build =
        built("slab(\"wedge\", #{ outline: polygon([[0, 0], [40, 0], [0, 40]]), height: 12 });");
    let found = only(&build);
    assert_eq!((found.code, found.level), ("feather-edge", Level::Look));
    near(found.value.expect("an angle"), 45.0, 1e-6);
    // Sides that lean 20° each way leave 1 mm at the end: the ball there is 1 / cos 20° across.
    let half = 0.5 + 20.0 * 20f64.to_radians().tan();
    let build = built(&format!(
        "min_wall(4); slab(\"ridge\", #{{ outline: polygon([[-{half}, 0], [{half}, 0], [0.5, 20], [-0.5, 20]]), height: 30 }});"
    ));
    let found = only(&build);
    assert_eq!((found.code, found.level), ("slant-wall", Level::Look));
    near(
        found.value.expect("a wall"),
        1.0 / 20f64.to_radians().cos(),
        1e-6,
    );
    assert!(found.text.contains("close at 40°"), "{}", found.text);
    let build = built(
        "let a = slab(\"plate\", #{ outline: rect(60, 60), height: 10 });
         slab(\"bar\", #{ on: a.top, outline: rect(30, 2), height: 1 });",
    );
    let found = only(&build);
    assert_eq!(
        (found.code, found.level, found.value),
        ("raised-thin", Level::Note, Some(2.0))
    );
    assert!(found.text.contains("1 mm high"), "{}", found.text);
}

#[test]
fn a_thin_wall_may_be_allowed_with_its_reason() {
    let build = built(&format!(
        "min_wall(4.5); {} allow(\"thin-wall\", [\"window\"], \"drilled through later\");",
        over_a_tunnel(2.0)
    ));
    let found = only(&build);
    assert_eq!(found.level, Level::Note);
    assert_eq!(found.allowed.as_deref(), Some("drilled through later"));
}

/// A closed tetrahedron-cornered box as text STL, one face left out where asked.
fn box_stl([l, w, h]: [f64; 3], leave_out: Option<usize>) -> String {
    let corner = |i: usize| [i & 1, i >> 1 & 1, i >> 2 & 1].map(|b| b as f64);
    let faces = [
        [0, 2, 3],
        [0, 3, 1],
        [4, 5, 7],
        [4, 7, 6],
        [0, 1, 5],
        [0, 5, 4],
        [2, 6, 7],
        [2, 7, 3],
        [0, 4, 6],
        [0, 6, 2],
        [1, 3, 7],
        [1, 7, 5],
    ];
    let mut out = "solid box\n".to_string();
    for (i, face) in faces.iter().enumerate() {
        if leave_out == Some(i) {
            continue;
        }
        out.push_str("facet normal 0 0 0\nouter loop\n");
        for &c in face {
            let [x, y, z] = corner(c);
            out.push_str(&format!("vertex {} {} {}\n", x * l, y * w, z * h));
        }
        out.push_str("endloop\nendfacet\n");
    }
    out + "endsolid box\n"
}

#[test]
fn a_mesh_is_proved_without_a_script() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(
        dir.path().join("plate.stl"),
        box_stl([40.0, 30.0, 3.0], None),
    )
    .unwrap();
    let ran = run(dir.path(), &["prove", "plate.stl", "--min-wall", "4.5"]);
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(ran.out.contains("stop thin-wall"), "{}", ran.out);
    assert!(
        ran.out.contains("is 3 mm at") && ran.out.contains("1.5 mm under the least of 4.5 mm"),
        "{}",
        ran.out
    );
    let ran = run(dir.path(), &["prove", "plate.stl", "--min-wall", "3"]);
    assert_eq!(
        (ran.status, ran.out.contains("no findings")),
        (0, true),
        "{}",
        ran.out
    );
    let ran = run(dir.path(), &["prove", "plate.stl"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("--min-wall 4.5"), "{}", ran.err);
}

/// A cup with corners of 4 and a bore in its side, which nothing gets to from above or below.
#[test]
fn a_mesh_is_proved_against_cutters() {
    let dir = tempfile::tempdir().unwrap();
    let script = "part(\"cup\"); let c = slab(\"c\", #{ outline: rect(60, 60), height: 40 });
        pocket(\"p\", #{ into: c.top, outline: rect(30, 30).corners(4), depth: 30 });
        bore(\"b\", #{ into: c.side(\"front\"), dia: 10, depth: 8, cored: true });";
    fs::write(dir.path().join("cup.rhai"), script).unwrap();
    assert_eq!(run(dir.path(), &["make", "cup.rhai"]).status, 0);
    let mesh = "out/cup/finished.stl";
    let codes = |cutters: &[&str]| -> Vec<String> {
        let mut all = vec!["prove", mesh];
        all.extend(cutters.iter().flat_map(|c| ["--cutter", c]));
        let ran = run(dir.path(), &all);
        assert_eq!(ran.status, 0, "{}", ran.err);
        let code = |l: &str| {
            Some(
                l.trim_start()
                    .strip_prefix("look ")?
                    .split(':')
                    .next()?
                    .into(),
            )
        };
        ran.out.lines().filter_map(code).collect()
    };
    assert_eq!(codes(&["8,30"]), ["out-of-reach"]);
    assert_eq!(codes(&["8"]), ["out-of-reach"]);
    assert_eq!(codes(&["8,29"]), ["out-of-reach", "too-deep"]);
    assert_eq!(codes(&["10,30"]), ["out-of-reach", "tight-corner"]);
    assert_eq!(codes(&["10,30", "8,30"]), ["out-of-reach"]);
    for wrong in ["0", "6,x", "6,60,5", "6,60,25,1"] {
        assert_eq!(
            run(dir.path(), &["prove", mesh, "--cutter", wrong]).status,
            2
        );
    }
    let ran = run(dir.path(), &["prove", "cup.rhai", "--cutter", "6,60"]);
    assert!(
        ran.status == 2 && ran.err.contains("cutter(#{"),
        "{}",
        ran.err
    );
}

#[test]
fn a_mesh_that_is_not_closed_is_refused_with_the_place() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(
        dir.path().join("open.stl"),
        box_stl([40.0, 30.0, 3.0], Some(2)),
    )
    .unwrap();
    fs::write(dir.path().join("short.stl"), [7_u8; 90]).unwrap();
    let ran = run(dir.path(), &["prove", "open.stl", "--min-wall", "4.5"]);
    assert_eq!(ran.status, 2);
    // The lid's first half is missing: edges along y = 0 and x = 40, at the top.
    assert!(
        ran.err.contains("isn't closed: 3 of its edges") && ran.err.contains("3.000]"),
        "{}",
        ran.err
    );
    let ran = run(dir.path(), &["prove", "short.stl", "--min-wall", "4.5"]);
    assert!(
        ran.status == 2 && ran.err.contains("ends too early"),
        "{}",
        ran.err
    );
    assert!(read_mesh(Path::new("there/is/none.stl")).is_err());
}

#[test]
fn prove_tells_the_wall_at_a_place() {
    let dir = tempfile::tempdir().unwrap();
    let script = format!("part(\"block\");\n{}", over_a_tunnel(5.0));
    fs::write(dir.path().join("block.rhai"), script).unwrap();
    let ran = run(dir.path(), &["prove", "block.rhai", "--at", "0,0,27"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let line = ran.out.lines().next().unwrap();
    assert!(
        line.starts_with("finished  5 mm between window (block.rhai:4:1)"),
        "{}",
        ran.out
    );
    assert!(line.contains("oil way (block.rhai:3:1)"), "{}", ran.out);
    let ran = run(dir.path(), &["prove", "block.rhai", "--at", "-1,2"]);
    assert!(
        ran.status == 2 && ran.err.contains("is no place"),
        "{}",
        ran.err
    );
}
