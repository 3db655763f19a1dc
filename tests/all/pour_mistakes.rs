//! One mistake each in what is poured, made by changing one line of an example, or of a small part where no example can
//! show it: the finding must come, name the right features by their lines, and not be there before.

use std::sync::Arc;

use super::built::{built_whole, near};
use super::examples::path_of;
use foamwright::fault::{Finding, Level, render_all};
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Build, Wish, expect};

/// A line's change and what must be found of it.
struct Slip<'a> {
    what: &'static str,
    /// What stands once in the script, and what takes its place.
    was: &'static str,
    now: &'static str,
    code: &'static str,
    level: Level,
    /// What the text says.
    says: &'static str,
    /// What the remedy says.
    advises: &'static str,
    /// Each feature's name, and what stands once in the script on the line that it is to be found by.
    about: &'a [(&'static str, &'static str)],
}

/// The findings of a script, but for those of walls, reach and pieces.
fn found(bench: &mut Bench, name: &str, source: &str) -> Vec<Finding> {
    let shaped = bench.shape_text(source, name, Arc::new(NoModules), &Wish::default(), &|_| {});
    let (build, _) = shaped.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("{name}: {shown}")
    });
    expect(build, &|| true).expect("it isn't stopped").findings
}

/// The one line of a script with a text in it, from 1.
#[track_caller]
fn line_with(script: &str, text: &str) -> usize {
    let with = |l: &(usize, &str)| l.1.contains(text);
    let lines: Vec<usize> = script
        .lines()
        .enumerate()
        .filter(with)
        .map(|l| l.0 + 1)
        .collect();
    assert_eq!(lines.len(), 1, "{text}: lines {lines:?}");
    lines[0]
}

/// Every slip of a script is found; `script` is as it should be.
#[track_caller]
fn each_is_found(name: &str, script: &str, slips: &[Slip<'_>]) {
    let mut bench = Bench::new();
    let before = found(&mut bench, name, script);
    let mut missed = Vec::new();
    for slip in slips {
        assert_eq!(script.matches(slip.was).count(), 1, "{name}: {}", slip.was);
        assert!(!slip.was.contains('\n') && !slip.now.contains('\n'));
        let seeded = script.replace(slip.was, slip.now);
        let wanted: Vec<(&str, usize)> = slip
            .about
            .iter()
            .map(|(n, text)| (*n, line_with(&seeded, text)))
            .collect();
        let is_it = |f: &&Finding| {
            let about = f.features.iter().map(|(n, place)| (n.as_str(), place.line));
            f.code == slip.code
                && f.level == slip.level
                && f.text.contains(slip.says)
                && f.remedy.contains(slip.advises)
                && about.eq(wanted.iter().copied())
        };
        let after = found(&mut bench, name, &seeded);
        if after.iter().any(|f| is_it(&f)) && !before.iter().any(|f| is_it(&f)) {
            continue;
        }
        let of_code = after.iter().filter(|f| f.code == slip.code);
        let of_code: Vec<_> = of_code
            .map(|f| (f.level, &f.features, &f.text, &f.remedy))
            .collect();
        missed.push(format!(
            "{}: wanted {} {wanted:?}, found {of_code:#?}",
            slip.what, slip.code
        ));
    }
    assert!(missed.is_empty(), "{name}:\n{}", missed.join("\n"));
}

#[track_caller]
fn each_is_found_in(example: &str, slips: &[Slip<'_>]) {
    let script = std::fs::read_to_string(path_of(example)).expect("the example is there");
    each_is_found(&format!("{example}.rhai"), &script, slips);
}

#[test]
fn of_the_control_lever() {
    let gate = ("gate", "gate(\"gate\"");
    let (arm, hub) = (("arm", "slab(\"arm\""), ("hub", "boss(\"hub\""));
    let spine = ("spine", "rib(\"spine\"");
    each_is_found_in(
        "control-lever",
        &[
            Slip {
                what: "a stub that no blade gets behind",
                was: "dia: (hub_dia - shaft) / 2 - 1, length: 15",
                now: "dia: (hub_dia - shaft) / 2 - 1, length: 2",
                code: "saw-plane",
                level: Level::Note,
                says: "no blade goes between gate and the casting",
                // 1 to grind and 1.5 of kerf as foam is cut, of which 2 are there: the blade's own size as cold metal is
                // held against the pattern's, so the grinding's 1.0 stays and 0.5 is missing.
                advises: "make it longer by 0.5 mm",
                about: &[gate],
            },
            Slip {
                what: "a rib that stands out past the cut",
                was: "height: [12, 6], round: 2",
                now: "height: [24, 16], round: 2",
                code: "saw-plane",
                level: Level::Note,
                says: "but spine stands 3.",
                advises: "farther out",
                about: &[gate, spine],
            },
            Slip {
                what: "a stub on the hub's side, square to nothing",
                was: "on: hub.top, at: [0, -ring]",
                now: "on: hub.around(-60, 7)",
                code: "saw-plane",
                level: Level::Note,
                says: "lies oblique",
                advises: "cut it off by hand",
                about: &[gate, arm],
            },
            Slip {
                what: "a sprue too low",
                was: "dia: [22, 16], height: 185",
                now: "dia: [22, 16], height: 100",
                code: "sprue-low",
                level: Level::Look,
                says: "the top of sprue",
                advises: "higher",
                about: &[("sprue", "sprue(\"sprue\"")],
            },
            Slip {
                what: "a flask too small",
                was: "flask(\"30 gal drum\");",
                now: "flask(\"5 gal pail\");",
                code: "flask-small",
                level: Level::Stop,
                says: "too small by",
                advises: "30 gal drum",
                about: &[("flask", "flask(")],
            },
            Slip {
                what: "a crucible too small",
                was: "flask(\"30 gal drum\");",
                now: "flask(\"30 gal drum\"); crucible(#{ kg: 0.5 });",
                code: "crucible-small",
                level: Level::Stop,
                says: "the crucible takes 0.50 kg",
                advises: "litres to the brim",
                about: &[("crucible", "crucible(")],
            },
            Slip {
                what: "a metal poured too cool for foam",
                was: "metal(\"A356\");",
                now: "metal(\"ZA-12\");",
                code: "cool-metal",
                level: Level::Look,
                says: "ZA-12",
                advises: "another metal",
                about: &[("metal", "metal(")],
            },
            Slip {
                what: "laid flat, so that sand doesn't run in under the arm",
                was: "pour_up([0, 0.6, 1]);",
                now: "pour_up([0, 0, 1]);",
                code: "no-sand",
                level: Level::Look,
                says: "stays empty",
                advises: "`pour_up(",
                about: &[arm],
            },
            Slip {
                what: "an arm too thin for the metal to run through",
                was: "let thick = setting(\"thick\", 10);",
                now: "let thick = setting(\"thick\", 3);",
                code: "misrun",
                level: Level::Look,
                says: "arm is thin",
                advises: "nearer",
                about: &[arm],
            },
            Slip {
                what: "a gate that no runner joins",
                was: "sprue(\"sprue\", #{ on: into_hub,",
                now: "gate(\"second\", #{ on: arm.side(\"left\"), size: [10, 6], length: 12 }); sprue(\"sprue\", #{ on: into_hub,",
                code: "no-effect",
                level: Level::Look,
                says: "second ends in the open",
                advises: "joins",
                about: &[("second", "gate(\"second\"")],
            },
            Slip {
                what: "holes left solid, which makes the hub heavier than its stub can feed",
                was: "min_cored(10);",
                now: "min_cored(30);",
                code: "gate-weak",
                // The script allows it, with its reason.
                level: Level::Note,
                says: "less than",
                advises: "a round stub of",
                about: &[gate, hub, ("hub below", "boss(\"hub below\"")],
            },
            Slip {
                what: "a rib twice as thick as the wall that it stands on",
                was: "thick: 7, height: [12, 6]",
                now: "thick: 18, height: [12, 6]",
                code: "hot-corner",
                level: Level::Note,
                says: "takes a ball of",
                advises: "make the fillet smaller",
                about: &[spine, ("shaft", "bore(\"shaft\"")],
            },
        ],
    );
}

#[test]
fn of_the_pump_cover() {
    let stub = |n: usize| (["stub.1", "stub.2", "stub.3"][n - 1], "gate(\"stub\"");
    each_is_found_in(
        "pump-cover",
        &[
            Slip {
                what: "a seal pad too high for what feeds it",
                was: "+ 18, height: 6 });",
                now: "+ 18, height: 26 });",
                code: "heavy",
                level: Level::Look,
                says: "seal and seal pad are heavy",
                advises: "feed it",
                about: &[
                    ("seal", "seals::pocket("),
                    ("seal pad", "boss(\"seal pad\""),
                ],
            },
            Slip {
                what: "bolt pads as high as bosses",
                was: "dia: 16, height: 3, fillet: 2",
                now: "dia: 16, height: 30, fillet: 2",
                code: "hot-corner",
                level: Level::Note,
                says: "machined away",
                advises: "make the fillet smaller",
                about: &[
                    ("bolt pad.1", "boss(\"bolt pad\""),
                    ("plate", "slab(\"plate\""),
                ],
            },
            Slip {
                what: "stubs that no blade gets behind",
                was: "dia: 21.5, length: 20",
                now: "dia: 21.5, length: 2",
                code: "saw-plane",
                level: Level::Note,
                says: "no blade goes between stub.1",
                advises: "make it longer by 0.5 mm",
                about: &[stub(1)],
            },
            Slip {
                what: "a pipe too low, its flange under the plate",
                was: "from: [-92, 0, 19], to: [-34, 0, 19]",
                now: "from: [-92, 0, 12], to: [-34, 0, 12]",
                code: "saw-plane",
                level: Level::Note,
                says: "but inlet flange stands 3.01 mm past the cut",
                advises: "cut 3.01 mm farther out, so that 4 mm stays to grind",
                about: &[stub(1), stub(2), ("inlet flange", "\"inlet flange\"")],
            },
            Slip {
                what: "a third stub that the runner doesn't join",
                was: "[[-21, 57.3], [21, 57.3]]",
                now: "[[-21, 57.3], [21, 57.3], [0, -61]]",
                code: "no-effect",
                level: Level::Look,
                says: "stub.3 ends in the open",
                advises: "joins",
                about: &[stub(3)],
            },
            Slip {
                what: "a sprue too low",
                was: "height: 190, cup",
                now: "height: 90, cup",
                code: "sprue-low",
                level: Level::Look,
                says: "the top of sprue",
                advises: "higher",
                about: &[("sprue", "sprue(\"sprue\"")],
            },
            Slip {
                what: "a flask too small",
                was: "flask(\"30 gal drum\");",
                now: "flask(\"5 gal pail\");",
                code: "flask-small",
                level: Level::Stop,
                says: "in diameter and",
                advises: "30 gal drum",
                about: &[("flask", "flask(")],
            },
            Slip {
                what: "a crucible too small",
                was: "crucible(#{ kg: 4 });",
                now: "crucible(#{ kg: 1.5 });",
                code: "crucible-small",
                level: Level::Stop,
                says: "the crucible takes 1.50 kg",
                advises: "litres to the brim",
                about: &[("crucible", "crucible(")],
            },
            Slip {
                what: "a crucible that only just takes it",
                was: "crucible(#{ kg: 4 });",
                now: "crucible(#{ kg: 2 });",
                code: "crucible-small",
                level: Level::Look,
                says: "just takes this pour: 2.00 kg, and",
                advises: "litres to the brim",
                about: &[("crucible", "crucible(")],
            },
            Slip {
                what: "a metal poured too cool for foam",
                was: "metal(\"A356\");",
                now: "metal(\"ZA-12\");",
                code: "cool-metal",
                level: Level::Look,
                says: "ZA-12",
                advises: "another metal",
                about: &[("metal", "metal(")],
            },
            Slip {
                what: "laid flat, so that sand doesn't rise into the chamber",
                was: "pour_up([0, 1, 0]);",
                now: "pour_up([0, 0, 1]);",
                code: "no-sand",
                level: Level::Look,
                says: "stays empty",
                advises: "`pour_up([0, 1, 0]);`",
                about: &[("chamber", "turned(\"chamber\"")],
            },
            Slip {
                what: "a pipe too thin for the metal to run through",
                was: "inside: 22, wall: 5, meets: chamber,",
                now: "inside: 22, wall: 2.5, meets: chamber,",
                code: "misrun",
                level: Level::Look,
                says: "outlet is thin",
                advises: "nearer",
                about: &[("outlet", "tunnel(\"outlet\"")],
            },
        ],
    );
}

/// A plate with a heavy post that a stub on its top feeds, a pot with a wide mouth beside it.
const OWN: &str = "part(\"stop block\"); shrink(0);
let plate = slab(\"plate\", #{ outline: rect(150, 60), height: 8 });
let post = boss(\"post\", #{ on: plate.top, at: [50, 0], dia: 36, height: 30 });
let into_post = gate(\"into post\", #{ on: post.top, dia: 30, length: 20 });
let pot = boss(\"pot\", #{ on: plate.top, at: [-40, 0], dia: 44, height: 34 });
let inside = turned(\"inside\", #{ into: pot.top, profile: [[0, 0], [16, 0], [16, -28], [0, -28]] });
sprue(\"sprue\", #{ on: into_post, dia: [24, 20], height: 220 });
";

/// What no example shows by one line: they have no heavy section with a gate of its own, no face as wide as a gate that is
/// far too thick, and no hollow of one mouth.
#[test]
fn of_a_small_part() {
    let gate = ("into post", "gate(\"into post\"");
    let (post, inside) = (("post", "let post ="), ("inside", "turned(\"inside\""));
    let plate = ("plate", "slab(\"plate\"");
    each_is_found(
        "own.rhai",
        OWN,
        &[
            Slip {
                what: "a stub too small for the post that it feeds",
                was: "on: post.top, dia: 30",
                now: "on: post.top, dia: 14",
                code: "gate-weak",
                level: Level::Look,
                says: "less than",
                advises: "make it larger: a round stub of",
                about: &[gate, post, plate],
            },
            Slip {
                what: "a post far too slight for the stub beside it",
                was: "let post = boss(\"post\", #{ on: plate.top, at: [50, 0], dia: 36, height: 30 });",
                now: "let post = slab(\"post\", #{ on: plate.top, at: [50, 0], outline: rect(46, 46), height: 1 });",
                code: "gate-thick",
                level: Level::Look,
                says: "far more than",
                advises: "make it smaller: a round stub of",
                about: &[gate, plate, post],
            },
            Slip {
                what: "the stub on the plate, with the post out of its reach",
                was: "on: post.top, dia: 30",
                now: "on: plate.top, at: [5, 0], dia: 26",
                code: "heavy",
                level: Level::Look,
                says: "post and plate are heavy",
                advises: "gate(\"post-gate\"",
                about: &[post, plate],
            },
            Slip {
                what: "a mouth that sand doesn't pass",
                was: "[[0, 0], [16, 0], [16, -28], [0, -28]]",
                now: "[[0, 0], [1.2, 0], [1.2, -5], [16, -5], [16, -28], [0, -28]]",
                code: "no-sand",
                level: Level::Look,
                says: "has a mouth that a ball of 3 mm doesn't pass",
                advises: "widen its mouth",
                about: &[inside],
            },
            Slip {
                what: "a lid over the pot",
                was: "let inside =",
                now: "slab(\"lid\", #{ on: pot.top, outline: disc(44), height: 5, fillet: 0 }); let inside =",
                code: "no-sand",
                level: Level::Stop,
                says: "is closed: no sand gets in",
                advises: "open it to the outside",
                about: &[inside],
            },
            Slip {
                what: "a mouth so narrow that sand runs in to its slope only",
                was: "[[0, 0], [16, 0], [16, -28], [0, -28]]",
                now: "[[0, 0], [5, 0], [5, -4], [16, -4], [16, -28], [0, -28]]",
                code: "no-sand",
                level: Level::Note,
                says: "only by vibration or turning",
                advises: "vibrate while filling",
                about: &[inside],
            },
        ],
    );
}

/// The line that `heavy` prints goes into the pump cover's script as it stands: the seal pad is fed, and nothing new stops.
#[test]
fn the_line_printed_for_the_pump_cover_feeds_it() {
    let script = std::fs::read_to_string(path_of("pump-cover")).expect("the example is there");
    let seeded = script.replace("+ 18, height: 6 });", "+ 18, height: 26 });");
    let of_part = |s: &str| built_whole(&s.replace("part(\"raw-water pump cover\");", ""));
    let heavy = |b: &Build| -> Vec<Finding> {
        b.findings
            .iter()
            .filter(|f| f.code == "heavy")
            .cloned()
            .collect()
    };
    let stops = |b: &Build| b.findings.iter().filter(|f| f.level == Level::Stop).count();
    let before = of_part(&seeded);
    let told = heavy(&before);
    assert_eq!(told.len(), 1, "{told:?}");
    let remedy = &told[0].remedy;
    let line = remedy
        .split('`')
        .nth(1)
        .unwrap_or_else(|| panic!("{remedy}"));
    let after = of_part(&format!("{seeded}\n{line}"));
    assert_eq!(heavy(&after), Vec::new(), "{line}");
    assert_eq!(
        stops(&after),
        stops(&before),
        "{line}: {:?}",
        after.findings
    );
    let [a, b] = [&before, &after].map(|b| b.pour.as_ref().expect("it is gated").gates.len());
    near(b as f64, a as f64 + 1.0, 0.0);
}

#[test]
fn of_the_gearbox_cover() {
    let step = ("step stub", "gate(\"step stub\"");
    let rim = |n: usize| {
        (
            ["rim stub.1", "rim stub.2", "rim stub.3"][n - 1],
            "gate(\"rim stub\"",
        )
    };
    let post = ("baffle post.1", "bosses::tapped(\"baffle post\"");
    let housing = ("housing", "slab(\"housing\"");
    each_is_found_in(
        "gearbox-cover",
        &[
            Slip {
                what: "a stub left out of the runner",
                was: "joins: [\"step stub\", \"rim stub.1\", \"rim stub.2\", \"rim stub.3\"]",
                now: "joins: [\"step stub\", \"rim stub.1\", \"rim stub.2\"]",
                code: "no-effect",
                level: Level::Look,
                says: "rim stub.3 ends in the open",
                advises: "joins",
                about: &[rim(3)],
            },
            Slip {
                what: "posts longer than the housing is deep",
                was: "\"1/4-20\", 5/8);",
                now: "\"1/4-20\", 3);",
                code: "saw-plane",
                level: Level::Note,
                says: "but baffle post.1 stands 0.52",
                advises: "farther out",
                about: &[step, rim(1), rim(2), rim(3), post],
            },
            Slip {
                what: "the same posts, whose roots are no longer drilled out",
                was: "\"1/4-20\", 5/8);",
                now: "\"1/4-20\", 3);",
                code: "hot-corner",
                level: Level::Look,
                says: "takes a ball of 0.67",
                advises: "make the fillet smaller",
                about: &[post, housing],
            },
            Slip {
                what: "a stub that no blade gets behind",
                was: "dia: 1.3, length: 3/4",
                now: "dia: 1.3, length: 1/11",
                code: "saw-plane",
                level: Level::Note,
                says: "no blade goes between step stub",
                advises: "make it longer by 0.00",
                about: &[step],
            },
            Slip {
                what: "a sprue too low",
                was: "height: 8, cup",
                now: "height: 4, cup",
                code: "sprue-low",
                level: Level::Look,
                says: "the top of sprue stands 3.6",
                advises: "higher",
                about: &[("sprue", "sprue(\"sprue\"")],
            },
            Slip {
                what: "a flask too small",
                was: "flask(\"55 gal drum\");",
                now: "flask(\"5 gal pail\");",
                code: "flask-small",
                level: Level::Stop,
                says: "too small by",
                advises: "drum",
                about: &[("flask", "flask(")],
            },
            Slip {
                what: "a crucible too small",
                was: "flask(\"55 gal drum\");",
                now: "flask(\"55 gal drum\"); crucible(#{ kg: 2 });",
                code: "crucible-small",
                level: Level::Stop,
                says: "the crucible takes 2.00 kg",
                advises: "litres to the brim",
                about: &[("crucible", "crucible(")],
            },
            Slip {
                what: "a metal poured too cool for foam",
                was: "metal(\"A356\");",
                now: "metal(\"ZA-12\");",
                code: "cool-metal",
                level: Level::Look,
                says: "ZA-12",
                advises: "another metal",
                about: &[("metal", "metal(")],
            },
            Slip {
                what: "laid flat, so that sand doesn't rise under the roof",
                was: "pour_up([0, 1, 0]);",
                now: "pour_up([0, 0, 1]);",
                code: "no-sand",
                level: Level::Look,
                says: "stays empty",
                advises: "`pour_up(",
                about: &[("shift tunnel", "tunnel(\"shift tunnel\"")],
            },
            Slip {
                what: "a housing too thin for the metal to run through",
                was: "let wall = setting(\"wall\", 1/4);",
                now: "let wall = setting(\"wall\", 0.16);",
                code: "misrun",
                level: Level::Look,
                says: "housing is thin",
                advises: "nearer",
                about: &[housing],
            },
        ],
    );
}
