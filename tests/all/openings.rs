//! "Openings stay open", held against its definition at random points of random parts: a point is metal when some
//! body holds it that no opening may take away. Also: the order of features makes no difference.

use super::built::{built, figures, finished, near};
use super::random_part::RandomPart;
use super::seeded::Seeded;
use foamwright::drawing::body::Act;
use foamwright::measure::{Bounds, Vec3};
use foamwright::pattern::{Staged, Stocks, members, settle_stock};
use foamwright::shop::{Build, Stage};
use foamwright::solid::{Claim, Solid};

/// How near to a surface a point may lie and not be judged (mm): more than any facet stands off.
const SLACK: f64 = 0.05;

/// Whether points lie in a mesh: parity of the triangles above, found by columns.
pub struct Inside<'a> {
    solid: &'a Solid,
    bounds: Bounds,
    columns: Vec<Vec<usize>>,
}

/// Columns each way.
const COLUMNS: usize = 40;

impl Inside<'_> {
    /// Columns over a mesh.
    pub fn new(solid: &Solid) -> Inside<'_> {
        let mut inside = Inside {
            solid,
            bounds: solid.bounds().grown(0.1),
            columns: vec![Vec::new(); COLUMNS * COLUMNS],
        };
        for (t, corners) in solid.corners().enumerate() {
            let [a, b] = [Vec3::min, Vec3::max].map(|pick| {
                let corner = pick(pick(corners[0], corners[1]), corners[2]);
                inside.column(corner).expect("in the box")
            });
            for x in a.0..=b.0 {
                for y in a.1..=b.1 {
                    inside.columns[x * COLUMNS + y].push(t);
                }
            }
        }
        inside
    }

    fn column(&self, p: Vec3) -> Option<(usize, usize)> {
        let t = (p - self.bounds.low) / self.bounds.size() * COLUMNS as f64;
        let ok = |t: f64| (0.0..COLUMNS as f64).contains(&t);
        (ok(t.x) && ok(t.y)).then_some((t.x as usize, t.y as usize))
    }

    /// Whether a point in general position lies inside.
    pub fn holds(&self, p: Vec3) -> bool {
        let Some((x, y)) = self.column(p) else {
            return false;
        };
        let above = self.columns[x * COLUMNS + y].iter().filter(|&&t| {
            let [a, b, c] = self.solid.triangles[t].map(|i| self.solid.points[i as usize]);
            let side = |a: Vec3, b: Vec3| (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
            let s = [side(b, c), side(c, a), side(a, b)];
            let over = s.iter().all(|v| *v > 0.0) || s.iter().all(|v| *v < 0.0);
            let z = (s[0] * a.z + s[1] * b.z + s[2] * c.z) / (s[0] + s[1] + s[2]);
            over && z > p.z
        });
        above.count() % 2 == 1
    }
}

/// The boxes of a stage's bodies, to spare most points the closer look; none for a body laid over round ground.
pub fn boxes(staged: &Staged) -> Vec<Option<Bounds>> {
    let members = staged.members.iter();
    members
        .map(|m| m.body.drape.is_none().then(|| m.body.bounds().grown(1.0)))
        .collect()
}

/// Metal by the definition; `None` near a surface that decides. `boxes` are those of [`boxes`].
pub fn metal(staged: &Staged, boxes: &[Option<Bounds>], p: Vec3) -> Option<bool> {
    let spot = Bounds { low: p, high: p };
    let held: Vec<Option<bool>> = staged
        .members
        .iter()
        .zip(boxes)
        .map(|(m, b)| match b {
            Some(b) if !b.meets(&spot) => Some(false),
            _ => m.body.holds(p, SLACK),
        })
        .collect();
    let mut unsure = false;
    for (a, add) in staged.members.iter().enumerate() {
        if add.body.act != Act::Add || held[a] == Some(false) {
            continue;
        }
        let cuts = staged.members.iter().enumerate().filter(|(c, cut)| {
            cut.body.act == Act::Cut
                && held[*c] != Some(false)
                && staged.claim(*c, a) == Claim::Takes
        });
        let mut taken = held[a];
        for (c, _) in cuts {
            taken = match held[c] {
                Some(true) => Some(false),
                _ if taken == Some(false) => taken,
                _ => None,
            };
        }
        match taken {
            Some(true) => return Some(true),
            None => unsure = true,
            Some(false) => {}
        }
    }
    if unsure { None } else { Some(false) }
}

/// The bodies of a stage of a part whose marks give their amounts, or take them from `stock`.
pub fn staged(build: &Build, stage: Stage) -> Staged {
    let stocks = match stage {
        Stage::Finished => Stocks::new(),
        _ => settle_stock(&build.part, 100.0, &|_, _, _| Err("no grade".into())).expect("amounts"),
    };
    members(&build.part, stage, &stocks).expect("it was built")
}

/// Points to look at: half over the whole part, half in the boxes of its openings.
pub fn points(staged: &Staged, around: &Bounds, count: usize, g: &mut Seeded) -> Vec<Vec3> {
    let whole = around.grown(2.0);
    let cuts: Vec<Bounds> = staged
        .cuts
        .iter()
        .map(|c| {
            let b = c.clean.bounds().grown(1.0);
            Bounds {
                low: b.low.max(whole.low),
                high: b.high.min(whole.high),
            }
        })
        .collect();
    (0..count)
        .map(|i| {
            let b = if i % 2 == 0 || cuts.is_empty() {
                &whole
            } else {
                &cuts[g.below(cuts.len())]
            };
            let size = b.high - b.low;
            b.low + size * Vec3::from_array([(); 3].map(|()| g.unit()))
        })
        .collect()
}

/// Where mesh and definition differ: how many points were judged, and a line for each that differs.
pub fn differences(
    build: &Build,
    stage: Stage,
    staged: &Staged,
    g: &mut Seeded,
) -> (usize, Vec<String>) {
    let solid = &build.stage(stage).expect("built").solid;
    let inside = Inside::new(solid);
    let boxes = boxes(staged);
    let mut judged = 0;
    let mut out = Vec::new();
    for p in points(staged, &solid.bounds(), 2500, g) {
        let Some(wanted) = metal(staged, &boxes, p) else {
            continue;
        };
        judged += 1;
        if inside.holds(p) != wanted {
            let names: Vec<String> = staged
                .members
                .iter()
                .filter(|m| m.body.holds(p, SLACK) != Some(false))
                .map(|m| format!("{} {:?}", build.part.features[m.body.feature].name, m.role))
                .collect();
            out.push(format!("{p:.3} should be {wanted}: held by {names:?}"));
        }
    }
    (judged, out)
}

#[test]
fn random_parts_are_metal_where_the_definition_says() {
    let mut g = Seeded(5);
    let mut report = Vec::new();
    for seed in 0..20 {
        let part = RandomPart::new(seed);
        let script = part.shuffled(&mut g);
        let build = built(&script);
        let staged = staged(&build, Stage::Finished);
        let (judged, wrong) = differences(&build, Stage::Finished, &staged, &mut g);
        assert!(judged > 1600, "seed {seed}: only {judged} points judged");
        if !wrong.is_empty() {
            report.push(format!(
                "seed {seed}: {} of {judged}: {}\n{script}",
                wrong.len(),
                wrong[0]
            ));
        }
    }
    assert!(report.is_empty(), "{}\n{}", report.len(), report.join("\n"));
}

#[test]
fn nothing_stands_in_an_opening_but_what_is_meant_to() {
    // From the drawing alone, without the bodies: a point well inside an opening is metal only where a feature
    // that stands in that opening, or fills it, holds it.
    let mut g = Seeded(6);
    let near_by = [Vec3::X, Vec3::Y, Vec3::Z].map(|v| v * 0.08);
    for seed in 100..112 {
        let part = RandomPart::new(seed);
        let build = built(&part.shuffled(&mut g));
        let solid = &build.stage(Stage::Finished).expect("built").solid;
        let inside = Inside::new(solid);
        let staged = staged(&build, Stage::Finished);
        let well_in = |id: usize, p: Vec3| {
            let holds = |p: Vec3| build.part.opening_holds(id, p);
            holds(p) && near_by.iter().all(|v| holds(p + *v) && holds(p - *v))
        };
        for p in points(&staged, &solid.bounds(), 2000, &mut g) {
            if !inside.holds(p) {
                continue;
            }
            for (id, opening) in build.part.features.iter().enumerate() {
                let drafted = opening.word == "pocket" || opening.word == "bore";
                if !opening.opens() || !well_in(id, p) {
                    continue;
                }
                // Fillets at a floor keep its corner: look above them.
                let local = opening.frame.local(p);
                if drafted
                    && build.part.opening_holds(id, p - opening.frame.z * 2.1)
                        != build.part.opening_holds(id, p)
                    && local.z < 0.0
                {
                    continue;
                }
                let excused = staged.members.iter().any(|m| {
                    let name = &build.part.features[m.body.feature].name;
                    let line = part.lines.iter().find(|l| l.name == *name).expect("made");
                    line.inside.as_deref() == Some(&opening.name)
                        && m.body.act == Act::Add
                        && m.body.holds(p, SLACK) != Some(false)
                });
                assert!(excused, "seed {seed}: {p} is metal inside {}", opening.name);
            }
        }
    }
}

#[test]
fn the_order_of_features_makes_no_difference() {
    let mut g = Seeded(7);
    for seed in 200..208 {
        let part = RandomPart::new(seed);
        let volume = finished(&part.script());
        for _ in 0..2 {
            let script = part.shuffled(&mut g);
            let other = finished(&script);
            assert!(
                (other / volume - 1.0).abs() < 1e-6,
                "seed {seed}: {volume} and {other}\n{}\n\n{script}",
                part.script()
            );
        }
    }
}

#[test]
fn crossed_tunnels_share_what_two_bars_share() {
    // A block of 80³ with two through ways of radius 12 crossing squarely: together they remove twice π r² L less
    // the 16 r³/3 that they share (Archimedes); facets hide at most perimeter × facet × length of each.
    let script = |meets: &str| {
        format!(
            "slab(\"block\", #{{ outline: rect(80, 80), height: 80 }});
             tunnel(\"a\", #{{ from: [-40, 0, 40], to: [40, 0, 40], inside: 24, wall: 0 }});
             tunnel(\"b\", #{{ from: [0, -40, 40], to: [0, 40, 40], inside: 24, wall: 0{meets} }});"
        )
    };
    let pi = std::f64::consts::PI;
    let shared = 16.0 * 12f64.powi(3) / 3.0;
    let want = 80f64.powi(3) - 2.0 * pi * 144.0 * 80.0 + shared;
    let slack = 2.0 * pi * 24.0 * 0.02 * 80.0;
    let build = built(&script(", meets: \"a\""));
    near(figures(&build, Stage::Finished).volume_mm3, want, slack);
    assert_eq!(
        figures(&build, Stage::Finished).handles,
        3,
        "a cross of ways: 4 mouths"
    );
    assert!(build.findings.is_empty());
    let build = built(&script(""));
    assert_eq!(build.findings.len(), 1);
    assert_eq!(build.findings[0].code, "breaks-into");
    near(
        build.findings[0].value.expect("a volume"),
        shared,
        shared * 3.0 * 0.02 / 12.0,
    );
    // Walls in the open: each way stays open through the other's wall.
    let walled = "tunnel(\"a\", #{ from: [-40, 0, 40], to: [40, 0, 40], inside: 24, wall: 4 });
        tunnel(\"b\", #{ from: [0, -40, 40], to: [0, 40, 40], inside: 24, wall: 4, meets: \"a\" });";
    let bars = |r: f64| 2.0 * pi * r * r * 80.0 - 16.0 * r.powi(3) / 3.0;
    let build = built(walled);
    near(
        figures(&build, Stage::Finished).volume_mm3,
        bars(16.0) - bars(12.0),
        slack * 2.4,
    );
    assert!(build.findings.is_empty(), "{:?}", build.findings);
}
