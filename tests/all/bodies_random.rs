//! A few hundred seeded random bodies: every one must be closed, oriented, of the right genus, free of
//! self-intersections, sound once rounded to f32, and true to its definition within the facet.
//!
//! The definition is the description's own (`Band::offset_at` and the outline's distance), worked out apart from any
//! mesh. Self-intersections are looked for by the boolean kernel's general test.

use super::bodies::{added, sound, upright};
use super::seeded::Seeded;
use foamwright::drawing::body::{Band, LathePoint, Rib, Shape, Sweep};
use foamwright::drawing::given::Edge;
use foamwright::drawing::outline::{Outline, OutlineError};
use foamwright::measure::{Vec2, Vec3};
use foamwright::solid::{ShapeFault, Shell, Skin, shell_of};
use manifold_rust::manifold::Manifold;
use manifold_rust::types::{Error, MeshGL64};
use std::f64::consts::{PI, TAU};

/// The facet of these tests (mm).
const FACET: f64 = 0.02;

const KINDS: [&str; 8] = [
    "disc",
    "rounded rect",
    "obround",
    "polygon",
    "concave",
    "holed",
    "plus",
    "minus",
];

/// A random outline of a kind.
fn outline(kind: &str, g: &mut Seeded) -> Result<Outline, OutlineError> {
    let rounded = |g: &mut Seeded, l: f64, w: f64| {
        let r = g.between(0.5, l.min(w) * 0.45);
        Outline::rect(l - 2.0 * r, w - 2.0 * r).grown(r)
    };
    let star = |g: &mut Seeded, n: usize, reach: f64, least: f64| -> Vec<Vec2> {
        let turn = g.between(0.0, TAU);
        (0..n)
            .map(|i| {
                let angle = turn + TAU * (i as f64 + g.between(-0.25, 0.25)) / n as f64;
                Vec2::from_angle(angle) * reach * g.between(least, 1.0)
            })
            .collect()
    };
    let (l, w) = (g.between(30.0, 80.0), g.between(20.0, 60.0));
    match kind {
        "disc" => {
            let dia = g.between(6.0, 80.0);
            Ok(Outline::disc(dia).at(g.between(-20.0, 20.0), g.between(-20.0, 20.0)))
        }
        "rounded rect" => rounded(g, l, w),
        "obround" => Outline::obround(l, w.min(l) * 0.7),
        "polygon" => {
            let n = 3 + g.below(7);
            Outline::polygon(&star(g, n, w, if n > 4 { 0.5 } else { 1.0 }))
        }
        "concave" => {
            let n = 5 + g.below(6);
            Outline::polygon(&star(g, n, 40.0, 0.5))?.corners(g.between(0.5, 3.0))
        }
        "holed" => {
            let hole = Outline::disc(g.between(6.0, 12.0)).at(g.between(-3.0, 3.0), 0.0);
            let outer = rounded(g, l, w)?;
            Outline::from_loops(vec![outer.loops()[0].clone(), hole.loops()[0].clone()])
        }
        "plus" => {
            let other = Outline::disc(g.between(10.0, 40.0));
            let at = (g.between(-25.0, 25.0), g.between(-15.0, 15.0));
            rounded(g, l, w)?.plus(&other.at(at.0, at.1))
        }
        _ => {
            let other = Outline::disc(g.between(10.0, 25.0));
            let at = (g.between(15.0, 30.0), g.between(-15.0, 15.0));
            rounded(g, l, w)?.minus(&other.at(at.0, at.1))
        }
    }
}

/// A random band over an outline.
fn band(outline: Outline, g: &mut Seeded) -> Band {
    let height = g.between(4.0, 60.0);
    let mut band = upright(outline, height);
    band.draft_deg = if g.chance(0.3) {
        0.0
    } else {
        g.between(0.5, 5.0)
    };
    band.holds = if g.chance(0.5) { height } else { 0.0 };
    band.below = if g.chance(0.2) {
        0.0
    } else {
        g.between(0.05, 0.5)
    };
    band.flare = match g.below(4) {
        0 => Edge::Sharp,
        1 => Edge::Chamfer(g.between(0.5, 3.0)),
        _ => Edge::Round(g.between(0.5, 6.0)),
    };
    band.edge = match g.below(4) {
        0 => Edge::Sharp,
        1 => Edge::Chamfer(g.between(0.3, 2.5)),
        _ => Edge::Round(g.between(0.3, 2.5)),
    };
    if band.edge == Edge::Sharp && g.chance(0.5) {
        band.above = 0.5;
    }
    band
}

/// The kernel's own view of a shell: accepted, and no triangle passes through another.
fn kernel_accepts(shell: &Shell) -> Result<(), String> {
    let mesh = MeshGL64 {
        num_prop: 3,
        vert_properties: shell.points.iter().flat_map(|p| p.to_array()).collect(),
        tri_verts: shell
            .triangles
            .iter()
            .flatten()
            .map(|&i| i.into())
            .collect(),
        ..MeshGL64::default()
    };
    let manifold = Manifold::from_mesh_gl64(&mesh);
    match manifold.status() {
        Error::NoError if manifold.is_empty() => Err("came out empty".into()),
        Error::NoError if manifold.has_self_intersections() => Err("passes through itself".into()),
        Error::NoError => Ok(()),
        _ => Err("not accepted".into()),
    }
}

/// The farthest that the walls stand off the definition, square to the surface (mm).
fn stray(shell: &Shell, band: &Band) -> f64 {
    let off = |p: Vec3| {
        let d = |z: f64| band.offset_at(z);
        let stands = band.outline.distance(p.truncate());
        let reach = 1e-4;
        let slope = (d(p.z + reach) - d(p.z - reach)) / (2.0 * reach);
        let first = (stands - d(p.z)).abs() / slope.hypot(1.0);
        if first < FACET {
            return first;
        }
        // Where the profile curves the tangent misleads: the nearest of many points of the profile itself.
        let nearest = |k: i32| {
            let z = p.z + f64::from(k) * 1e-4;
            (z - p.z).hypot(d(z) - stands)
        };
        (-600..600).map(nearest).fold(first, f64::min)
    };
    let walls = shell.triangles.iter().zip(&shell.skins);
    let walls = walls.filter(|(_, s)| !matches!(s, Skin::Foot | Skin::Top));
    walls.fold(0.0, |worst, (t, _)| {
        let [a, b, c] = t.map(|i| shell.points[i as usize]);
        let inside = |z: f64| z > band.z0 + 0.02 && z < band.z1 - 0.02;
        let places = [
            (a + b + c) / 3.0,
            (a + b) * 0.5,
            (b + c) * 0.5,
            (c + a) * 0.5,
        ];
        places
            .into_iter()
            .filter(|p| inside(p.z))
            .map(off)
            .fold(worst, f64::max)
    })
}

/// Holes of the widest section, less what is apart, that section grown by so much more.
fn base_genus(band: &Band, more: f64) -> i64 {
    let ends = [band.z0, band.z1].map(|z| band.offset_at(z));
    let widest = band
        .outline
        .grown(ends[0].max(ends[1]) + more)
        .expect("an outline grows");
    widest.holes() as i64 - (widest.outers() as i64 - 1)
}

#[test]
fn random_bands_are_sound_and_true() {
    let mut report = Vec::new();
    let mut made = 0;
    for kind in KINDS {
        let mut g = Seeded(7);
        for i in 0..28 {
            let Ok(base) = outline(kind, &mut g) else {
                continue;
            };
            let band = band(base, &mut g);
            match shell_of(&added(Shape::Band(band.clone())), FACET) {
                Err(
                    ShapeFault::TooTall { .. }
                    | ShapeFault::EdgeEats { .. }
                    | ShapeFault::DraftEats { .. },
                ) => {}
                Err(fault) => report.push(format!("{kind} {i}: {fault:?}")),
                Ok(shell) => {
                    made += 1;
                    let facets = shell.facets();
                    if !facets.edges_pair() || !facets.edges_hold_in_f32() {
                        report.push(format!("{kind} {i}: open"));
                        continue;
                    }
                    let genus = base_genus(&band, 0.0);
                    // Eased under its foot, a fillet may close a hole that is all but closed.
                    let eased = base_genus(&band, 0.2);
                    if facets.genus() != genus && facets.genus() != eased {
                        report.push(format!("{kind} {i}: genus {} for {genus}", facets.genus()));
                    }
                    // The kernel's test is slow: every third.
                    let accepted = if i % 3 == 0 {
                        kernel_accepts(&shell)
                    } else {
                        Ok(())
                    };
                    if let Err(why) = accepted {
                        report.push(format!("{kind} {i}: {why}"));
                    }
                    let stray = stray(&shell, &band);
                    if stray > FACET * 1.01 {
                        report.push(format!("{kind} {i}: stands off by {stray:.4}"));
                    }
                }
            }
        }
    }
    assert!(
        report.is_empty(),
        "{} of {made}:\n{}",
        report.len(),
        report.join("\n")
    );
    assert!(made > 200, "only {made} could be made");
}

#[test]
fn random_sweeps_are_sound() {
    let mut g = Seeded(9);
    let mut made = 0;
    for i in 0..120 {
        let r = g.between(4.0, 12.0);
        let section = match i % 3 {
            0 => Outline::disc(2.0 * r),
            1 => Outline::obround(3.0 * r, 2.0 * r).expect("longer than wide"),
            _ => Outline::rect(2.5 * r, 1.5 * r).grown(1.0).expect("grows"),
        };
        let unit =
            |g: &mut Seeded| Vec3::from_array([(); 3].map(|()| g.between(-1.0, 1.0))).normalize();
        let mut way = vec![Vec3::ZERO];
        let mut along = unit(&mut g);
        for _ in 0..2 + g.below(3) {
            way.push(way[way.len() - 1] + along * g.between(40.0, 90.0));
            along = loop {
                let next = unit(&mut g);
                if next.dot(along) > -0.3 {
                    break next;
                }
            };
        }
        let bend = g.chance(0.7).then(|| g.between(6.0, 40.0));
        let area = section.area();
        let length = middle_line(&way, bend);
        let rim = section.perimeter() * length * 2.0;
        let sweep = Sweep {
            way,
            bend,
            section,
            before: 0.5,
            after: 0.5,
            flip_u: g.chance(0.5),
        };
        match shell_of(&added(Shape::Sweep(sweep)), FACET) {
            Ok(shell) => {
                sound(&shell);
                made += 1;
                let volume = shell.facets().volume();
                // Pappus: the section's middle lies on the way.
                assert!(
                    (volume - area * (length + 1.0)).abs() < FACET * rim,
                    "{i}: {volume}"
                );
                assert_eq!(shell.facets().genus(), 0);
            }
            Err(
                ShapeFault::BendTooTight { .. }
                | ShapeFault::LegTooShort { .. }
                | ShapeFault::MeetsItself { .. },
            ) => {}
            Err(fault) => panic!("{i}: {fault:?}"),
        }
    }
    assert!(made > 50, "only {made} could be made");
}

/// Length of a way's middle line, bends taken.
fn middle_line(way: &[Vec3], bend: Option<f64>) -> f64 {
    let legs: Vec<Vec3> = way.windows(2).map(|w| w[1] - w[0]).collect();
    let straight: f64 = legs.iter().map(|l| l.length()).sum();
    let Some(bend) = bend else { return straight };
    legs.windows(2).fold(straight, |length, pair| {
        let angle = pair[0].angle_between(pair[1]);
        length + bend * (angle - 2.0 * (angle * 0.5).tan())
    })
}

#[test]
fn random_turned_bodies_are_sound() {
    let mut g = Seeded(3);
    for i in 0..80 {
        let n = 3 + g.below(5);
        // Round a point off the axis or on it, always simple.
        let (reach, off) = (g.between(3.0, 30.0), g.chance(0.5));
        let center = Vec2::new(if off { reach * 1.2 } else { 0.0 }, g.between(-20.0, 20.0));
        let span = if off { TAU } else { PI };
        let mut points: Vec<LathePoint> = (0..n)
            .map(|k| {
                let angle = -PI / 2.0 + span * (k as f64 + 0.5) / n as f64;
                let p = center + Vec2::from_angle(angle) * reach * g.between(0.6, 1.0);
                LathePoint {
                    r: p.x,
                    z: p.y,
                    bulge: g.between(0.0, 0.1),
                }
            })
            .collect();
        if !off {
            points.insert(
                0,
                LathePoint {
                    r: 0.0,
                    z: center.y - reach,
                    bulge: 0.0,
                },
            );
            points.push(LathePoint {
                r: 0.0,
                z: center.y + reach,
                bulge: 0.0,
            });
        }
        let shell = shell_of(&added(Shape::Lathe(points)), FACET).expect("a simple profile");
        sound(&shell);
        assert_eq!(shell.facets().genus(), i64::from(off), "{i}");
        if i % 3 == 0 {
            kernel_accepts(&shell).expect("a sound lathe");
        }
    }
}

#[test]
fn random_ribs_are_sound() {
    let mut g = Seeded(11);
    let mut made = 0;
    let mut report = Vec::new();
    for i in 0..60 {
        let thick = g.between(4.0, 9.0);
        let mut path = vec![Vec2::ZERO];
        let mut heading = g.between(0.0, TAU);
        for _ in 0..1 + g.below(4) {
            path.push(path[path.len() - 1] + Vec2::from_angle(heading) * g.between(15.0, 40.0));
            heading += g.between(-1.1, 1.1);
        }
        let mut heights: Vec<f64> = path.iter().map(|_| g.between(8.0, 30.0)).collect();
        if g.chance(0.3) {
            let last = heights.len() - 1;
            heights[last] = 0.0;
        }
        let rib = Rib {
            path,
            thick,
            heights,
            z0: 0.0,
            draft_deg: if g.chance(0.3) {
                0.0
            } else {
                g.between(0.5, 3.0)
            },
            flare: if g.chance(0.3) {
                Edge::Sharp
            } else {
                Edge::Round(g.between(0.5, 3.0))
            },
            edge: if g.chance(0.4) {
                Edge::Sharp
            } else {
                Edge::Round(g.between(0.5, thick * 0.4))
            },
            below: 0.3,
        };
        match shell_of(&added(Shape::Rib(rib.clone())), FACET) {
            Ok(shell) => {
                made += 1;
                let facets = shell.facets();
                let highest = rib.heights.iter().copied().fold(0.0, f64::max);
                let bounds = shell.bounds();
                if !facets.edges_pair() || !facets.edges_hold_in_f32() || facets.genus() != 0 {
                    report.push(format!("{i}: open"));
                } else if let Err(why) = kernel_accepts(&shell) {
                    report.push(format!("{i}: {why} {rib:?}"));
                } else if bounds.high.z > highest + 1e-9 || bounds.low.z < -0.3 - 1e-9 {
                    report.push(format!("{i}: from {} to {}", bounds.low.z, bounds.high.z));
                }
            }
            Err(fault) => report.push(format!("{i}: {fault:?}")),
        }
    }
    assert!(
        report.is_empty(),
        "{} of {made}:\n{}",
        report.len(),
        report.join("\n")
    );
}

#[test]
fn random_stacks_are_sound() {
    let mut g = Seeded(5);
    let mut report = Vec::new();
    for i in 0..40 {
        let kinds: Vec<&str> = (0..3).map(|_| KINDS[g.below(KINDS.len())]).collect();
        let sections: Vec<Outline> = kinds
            .iter()
            .filter_map(|k| outline(k, &mut g).ok())
            .collect();
        let rise = g.between(2.0, 12.0);
        // Ledges between straight walls: the volume is the sum of the prisms.
        let ledged: Vec<(f64, Outline)> = sections
            .iter()
            .enumerate()
            .flat_map(|(k, o)| [k, k + 1].map(|k| (k as f64 * rise, o.clone())))
            .collect();
        let want: f64 = sections.iter().map(|o| o.area() * rise).sum();
        let curved: f64 = sections.iter().map(|o| o.perimeter() * rise).sum();
        match shell_of(&added(Shape::Stack(ledged)), FACET) {
            Ok(shell) => {
                sound(&shell);
                let volume = shell.facets().volume();
                if (volume - want).abs() > FACET * curved {
                    report.push(format!("{i} {kinds:?}: {volume} for {want}"));
                }
                if let Err(why) = kernel_accepts(&shell) {
                    report.push(format!("{i} {kinds:?}: ledges: {why}"));
                }
            }
            Err(fault) => report.push(format!("{i} {kinds:?}: ledges: {fault:?}")),
        }
        // Slanting walls between sections that cross anyhow.
        let slanting = sections
            .into_iter()
            .enumerate()
            .map(|(k, o)| (k as f64 * rise, o))
            .collect();
        match shell_of(&added(Shape::Stack(slanting)), FACET) {
            Ok(shell) => {
                sound(&shell);
                if let Err(why) = kernel_accepts(&shell) {
                    report.push(format!("{i} {kinds:?}: slants: {why}"));
                }
            }
            Err(fault) => report.push(format!("{i} {kinds:?}: slants: {fault:?}")),
        }
    }
    assert!(report.is_empty(), "{}", report.join("\n"));
}
