//! Closed meshes of plain bodies, made without the program's own modelling: polygons raised, profiles turned.

use std::f64::consts::TAU;
use std::sync::Arc;

use foamwright::measure::{Frame, Vec2, Vec3};
use foamwright::solid::Solid;

/// A body, its features numbered by the side that each triangle is of.
fn solid(points: Vec<Vec3>, triangles: Vec<[u32; 3]>, features: Vec<usize>) -> Solid {
    let solid = Solid {
        points,
        triangles,
        features,
    };
    assert!(solid.volume_mm3() > 0.0);
    solid
}

/// A polygon (counter-clockwise) raised to a height. Side k is feature k; foot and top are one feature more.
pub fn raised(outline: &[[f64; 2]], height: f64) -> Solid {
    let n = outline.len();
    let at = |z: f64| outline.iter().map(move |p| Vec3::new(p[0], p[1], z));
    let points: Vec<Vec3> = at(0.0).chain(at(height)).collect();
    let (mut triangles, mut features) = (Vec::new(), Vec::new());
    for k in 0..n {
        let (a, b) = (k as u32, ((k + 1) % n) as u32);
        let up = n as u32;
        triangles.extend([[a, b, b + up], [a, b + up, a + up]]);
        features.extend([k; 2]);
    }
    for [a, b, c] in ears(outline) {
        let up = n as u32;
        triangles.extend([[a, c, b], [a + up, b + up, c + up]]);
        features.extend([n; 2]);
    }
    solid(points, triangles, features)
}

/// A polygon cut into triangles, ear by ear.
fn ears(outline: &[[f64; 2]]) -> Vec<[u32; 3]> {
    let at = |i: u32| Vec2::from_array(outline[i as usize]);
    let turn = |a: u32, b: u32, c: u32| (at(b) - at(a)).perp_dot(at(c) - at(a));
    let mut left: Vec<u32> = (0..outline.len() as u32).collect();
    let mut out = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let ear = (0..n).find(|&i| {
            let [a, b, c] = [left[(i + n - 1) % n], left[i], left[(i + 1) % n]];
            let holds = |p: &u32| {
                ![a, b, c].contains(p)
                    && turn(a, b, *p) >= 0.0
                    && turn(b, c, *p) >= 0.0
                    && turn(c, a, *p) >= 0.0
            };
            turn(a, b, c) > 1e-9 && !left.iter().any(holds)
        });
        let i = ear.expect("a simple polygon has an ear");
        out.push([left[(i + n - 1) % n], left[i], left[(i + 1) % n]]);
        left.remove(i);
    }
    out.push([left[0], left[1], left[2]]);
    out
}

/// A box from the origin.
pub fn cuboid(size: [f64; 3]) -> Solid {
    let [x, y, z] = size;
    raised(&[[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]], z)
}

/// A profile of (radius, height), counter-clockwise in that plane, from axis to axis, turned about z. Run k of the
/// profile is feature k.
pub fn turned(profile: &[[f64; 2]], around: usize) -> Solid {
    let mut points = Vec::new();
    let mut rings: Vec<Vec<u32>> = Vec::new();
    for [r, z] in profile {
        let first = points.len() as u32;
        if *r == 0.0 {
            points.push(Vec3::new(0.0, 0.0, *z));
            rings.push(vec![first; around]);
            continue;
        }
        for i in 0..around {
            let (s, c) = (TAU * i as f64 / around as f64).sin_cos();
            points.push(Vec3::new(r * c, r * s, *z));
        }
        rings.push((first..first + around as u32).collect());
    }
    let (mut triangles, mut features) = (Vec::new(), Vec::new());
    for (k, pair) in rings.windows(2).enumerate() {
        for i in 0..around {
            let j = (i + 1) % around;
            let quad = [pair[0][i], pair[0][j], pair[1][j], pair[1][i]];
            for t in [[quad[0], quad[1], quad[2]], [quad[0], quad[2], quad[3]]] {
                if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                    triangles.push(t);
                    features.push(k);
                }
            }
        }
    }
    solid(points, triangles, features)
}

/// A ball about the origin.
pub fn ball(dia: f64) -> Solid {
    let steps = 48;
    let profile: Vec<[f64; 2]> = (0..=steps)
        .map(|i| {
            let a = TAU / 2.0 * f64::from(i) / f64::from(steps);
            let r = if i == 0 || i == steps { 0.0 } else { a.sin() };
            [dia / 2.0 * r, -dia / 2.0 * a.cos()]
        })
        .collect();
    turned(&profile, 96)
}

/// An upright cylinder on the origin.
pub fn cylinder(dia: f64, height: f64) -> Solid {
    let r = dia / 2.0;
    turned(&[[0.0, 0.0], [r, 0.0], [r, height], [0.0, height]], 96)
}

/// The same body in a frame square to nothing.
pub fn oblique(solid: &Solid) -> Solid {
    let facing = Vec3::new(0.31, 0.83, -0.47);
    let frame = Frame::facing(Vec3::new(13.1, -7.7, 3.3), facing, None).turned(37.0);
    Solid {
        points: solid.points.iter().map(|p| frame.point(*p)).collect(),
        ..solid.clone()
    }
}

/// For [`foamwright::pour::fields::fields`].
pub fn shared(solid: Solid) -> Arc<Solid> {
    Arc::new(solid)
}

/// Part of a circle as corners: centre, radius, from and to (degrees); just the centre where the radius is 0.
pub fn arc(centre: [f64; 2], radius: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
    if radius == 0.0 {
        return vec![centre];
    }
    (0..=16)
        .map(|i| {
            let (s, c) = (from + (to - from) * f64::from(i) / 16.0)
                .to_radians()
                .sin_cos();
            [centre[0] + radius * c, centre[1] + radius * s]
        })
        .collect()
}

/// Two cubes of 30 with a wall of 10 between them: side k of the outline is feature k.
pub fn cubes() -> Solid {
    let outline = [
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, 10.0],
        [70.0, 10.0],
        [70.0, 0.0],
        [100.0, 0.0],
        [100.0, 30.0],
        [70.0, 30.0],
        [70.0, 20.0],
        [30.0, 20.0],
        [30.0, 30.0],
        [0.0, 30.0],
    ];
    raised(&outline, 30.0)
}
