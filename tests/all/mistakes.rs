//! One mistake each, as people make them: the finding must come, and name the right features and their lines.

use foamwright::fault::Finding;

use super::built::built_whole;

/// A script whose lines are counted from the part's own line, and what must be found: code, features with lines.
struct Mistake {
    what: &'static str,
    script: &'static str,
    code: &'static str,
    features: &'static [(&'static str, usize)],
}

/// Line 2 is `slab("s")`, 120 × 80 × 30 on the ground.
const HEAD: &str = "min_wall(4); shrink(0);\n\
    let s = slab(\"s\", #{ outline: rect(120, 80), height: 30 });\n";

const MISTAKES: &[Mistake] = &[
    Mistake {
        what: "a pocket milled down over a tunnel",
        script: "let t = tunnel(\"t\", #{ from: [-60, 0, 12], to: [60, 0, 12], inside: 10, wall: 5 });\n\
                 pocket(\"p\", #{ into: s.top, outline: rect(40, 30), depth: 11 });",
        code: "wall-cut",
        features: &[("t", 3), ("p", 4)],
    },
    Mistake {
        what: "the same, seen by the wall that is left",
        script: "let t = tunnel(\"t\", #{ from: [-60, 0, 12], to: [60, 0, 12], inside: 10, wall: 5 });\n\
                 pocket(\"p\", #{ into: s.top, outline: rect(40, 30), depth: 11 });",
        code: "thin-wall",
        features: &[("t", 3), ("p", 4)],
    },
    Mistake {
        what: "the pocket a little deeper still",
        script: "let t = tunnel(\"t\", #{ from: [-60, 0, 12], to: [60, 0, 12], inside: 10, wall: 5 });\n\
                 pocket(\"p\", #{ into: s.top, outline: rect(40, 30), depth: 14 });",
        code: "breaks-into",
        features: &[("p", 4), ("t", 3)],
    },
    Mistake {
        what: "a bore drilled into a chamber's wall from outside",
        script: "hollow(\"h\", #{ of: s, open: s.bottom, wall: 8, floor: 8 });\n\
                 bore(\"b\", #{ into: s.side(\"front\"), dia: 6, depth: 6 });",
        code: "wall-cut",
        features: &[("h", 3), ("b", 4)],
    },
    Mistake {
        what: "a bolt hole too near the rim",
        script: "bore(\"bolt\", #{ into: s.top, at: [52, 0], dia: 10, through: true });",
        code: "thin-wall",
        features: &[("bolt", 3), ("s", 2)],
    },
    Mistake {
        what: "a blind hole that leaves too thin a floor",
        script: "bore(\"b\", #{ into: s.top, dia: 20, depth: 27.5 });",
        code: "thin-wall",
        features: &[("b", 3), ("s", 2)],
    },
    Mistake {
        what: "two holes too near each other",
        script: "bore(\"one\", #{ into: s.top, at: [-8, 0], dia: 14, through: true });\n\
                 bore(\"two\", #{ into: s.top, at: [8, 0], dia: 14, through: true });",
        code: "thin-wall",
        features: &[("one", 3), ("two", 4)],
    },
    Mistake {
        what: "two cross holes that meet unannounced",
        script: "bore(\"down\", #{ into: s.top, dia: 8, depth: 20 });\n\
                 bore(\"across\", #{ into: s.side(\"front\"), dia: 8, depth: 60 });",
        code: "breaks-into",
        features: &[("across", 4), ("down", 3)],
    },
    Mistake {
        what: "a hole a little too deep",
        script: "bore(\"b\", #{ into: s.top, dia: 8, depth: 31 });",
        code: "comes-through",
        features: &[("b", 3)],
    },
    Mistake {
        what: "a hole through a housing goes through its other wall as well",
        script: "hollow(\"h\", #{ of: s, open: s.bottom, wall: 8, floor: 8 });\n\
                 bore(\"b\", #{ into: s.side(\"left\"), dia: 8, through: true, meets: \"h\" });",
        code: "many-walls",
        features: &[("b", 4)],
    },
    Mistake {
        what: "a pad set down over a bore's mouth",
        script: "bore(\"b\", #{ into: s.top, dia: 12, depth: 20 });\n\
                 slab(\"lid\", #{ on: s.top, outline: rect(30, 30), height: 6 });",
        code: "capped",
        features: &[("lid", 4), ("b", 3)],
    },
    Mistake {
        what: "a rib drawn across a pocket that clears it away",
        script: "let p = pocket(\"p\", #{ into: s.top, outline: rect(60, 40), depth: 12 });\n\
                 rib(\"r\", #{ on: level(10), from: [-40, 0], to: [40, 0], thick: 6, height: 18 });",
        code: "kept-open",
        features: &[("r", 4), ("p", 3)],
    },
    Mistake {
        what: "a bore where a pocket has taken the metal already",
        script: "let p = pocket(\"p\", #{ into: s.top, outline: rect(40, 40), depth: 12 });\n\
                 bore(\"b\", #{ into: s.top, dia: 8, depth: 8, meets: p });",
        code: "no-effect",
        features: &[("b", 4)],
    },
    Mistake {
        what: "a boss that stands on nothing",
        script: "boss(\"b\", #{ on: face(#{ at: [0, 0, 60], facing: [0, 0, 1] }), dia: 20, height: 10 });",
        code: "loose-lump",
        features: &[],
    },
    Mistake {
        what: "one of two flush faces without its finish mark",
        script: "let pad = slab(\"pad\", #{ outline: rect(40, 40).at(80, 0), height: 30 });\n\
                 stock(2); finish(s.top);",
        code: "part-marked",
        features: &[("pad", 3), ("s", 2)],
    },
    Mistake {
        what: "a boss no higher than the stock under it",
        script: "stock(3); finish(s.top);\n\
                 boss(\"low\", #{ on: s.top, dia: 20, height: 2 });",
        code: "in-stock",
        features: &[("low", 4), ("s", 2)],
    },
    Mistake {
        what: "a fillet wider than its host",
        script: "let p = boss(\"post\", #{ on: s.top, dia: 26, height: 20 });\n\
                 boss(\"cap\", #{ on: p.top, dia: 20, height: 8, fillet: 6 });",
        code: "fillet-big",
        features: &[("cap", 4)],
    },
    Mistake {
        what: "a boss without a foot fillet",
        script: "boss(\"b\", #{ on: s.top, dia: 24, height: 20, fillet: 0 });",
        code: "sharp-inside",
        features: &[("b", 3), ("s", 2)],
    },
    Mistake {
        what: "a ring groove that no cutter gets into from above or below",
        script: "let b = bore(\"b\", #{ into: s.top, dia: 30, through: true });\n\
                 groove(\"ring\", #{ into: b.wall, ring: 15, width: 6, depth: 5, meets: b });",
        code: "out-of-reach",
        features: &[("ring", 4)],
    },
    Mistake {
        what: "a slot narrower than the cutter on hand",
        script: "cutter(#{ dia: 8, reach: 40 });\n\
                 pocket(\"slot\", #{ into: s.top, outline: obround(40, 6), depth: 10 });",
        code: "tight-corner",
        features: &[("slot", 4)],
    },
    Mistake {
        what: "a pocket deeper than the cutter reaches",
        script: "cutter(#{ dia: 6, reach: 15 });\n\
                 pocket(\"deep\", #{ into: s.top, outline: rect(40, 30).corners(6), depth: 24 });",
        code: "too-deep",
        features: &[("deep", 4)],
    },
    Mistake {
        what: "a small hole that the casting leaves solid",
        script: "min_cored(10);\n\
                 bore(\"b\", #{ into: s.top, dia: 8, through: true });",
        code: "drill-later",
        features: &[("b", 4)],
    },
    Mistake {
        what: "letters narrower than metal runs",
        script: "rib(\"letter\", #{ on: s.top, from: [-20, 0], to: [20, 0], thick: 2.5, height: 1.5, fillet: 0 });",
        code: "raised-thin",
        features: &[("letter", 3)],
    },
    Mistake {
        what: "a dash fraction without quotes",
        script: "boss(\"b\", #{ on: s.top, dia: 12-3/8, height: 20 });",
        code: "dash-fraction",
        features: &[("12-3/8", 3)],
    },
];

fn lines(found: &Finding) -> Vec<(&str, usize)> {
    let mut all: Vec<(&str, usize)> = found
        .features
        .iter()
        .map(|(name, place)| (name.as_str(), place.line))
        .collect();
    all.sort_unstable();
    all
}

#[test]
fn every_mistake_is_found_and_named() {
    assert!(MISTAKES.len() >= 20);
    let mut missed = Vec::new();
    for mistake in MISTAKES {
        let build = built_whole(&format!("{HEAD}{}", mistake.script));
        let mut wanted: Vec<(&str, usize)> = mistake.features.to_vec();
        wanted.sort_unstable();
        let of_code = build.findings.iter().filter(|f| f.code == mistake.code);
        if !of_code.clone().any(|f| lines(f) == wanted) {
            let all: Vec<(&str, Vec<(&str, usize)>)> =
                build.findings.iter().map(|f| (f.code, lines(f))).collect();
            missed.push(format!(
                "{}: wanted {} {wanted:?}, found {all:?}",
                mistake.what, mistake.code
            ));
        }
        for f in of_code {
            assert!(
                !f.text.is_empty() && !f.remedy.is_empty(),
                "{}",
                mistake.what
            );
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
}

/// The same slab without a mistake has no finding.
#[test]
fn no_mistake_no_finding() {
    let build = built_whole(HEAD);
    assert!(build.findings.is_empty(), "{:?}", build.findings);
}
