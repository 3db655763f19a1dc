//! The page's mesh, read back and held against the solid that it was made from.

use std::collections::{BTreeMap, BTreeSet};

use foamwright::export::view::{MAGIC, NO_FEATURE, write};
use foamwright::measure::Vec3;
use foamwright::shop::Stage;
use foamwright::solid::{Solid, difference};

use crate::built::built;

/// The crease angle that the layout promises.
const CREASE_DEG: f64 = 25.0;

struct View {
    points: Vec<Vec3>,
    normals: Vec<Vec3>,
    features: Vec<u16>,
    triangles: Vec<[usize; 3]>,
    lines: Vec<[usize; 2]>,
}

fn read(bytes: &[u8]) -> View {
    let u32_at = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
    assert_eq!(u32_at(0), MAGIC);
    assert_eq!(&bytes[..4], b"FWM1");
    let [nv, nt, ne] = [4, 8, 12].map(|at| u32_at(at) as usize);
    assert_eq!(bytes.len(), 16 + 20 * nv + 12 * nt + 8 * ne);
    let vertex = |i: usize| 16 + 20 * i;
    let f = |at: usize| f64::from(f32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()));
    let s =
        |at: usize| f64::from(i16::from_le_bytes(bytes[at..at + 2].try_into().unwrap())) / 32767.0;
    let index = |at: usize| {
        let i = u32_at(at) as usize;
        assert!(i < nv);
        i
    };
    View {
        points: (0..nv)
            .map(vertex)
            .map(|v| Vec3::new(f(v), f(v + 4), f(v + 8)))
            .collect(),
        normals: (0..nv)
            .map(vertex)
            .map(|v| Vec3::new(s(v + 12), s(v + 14), s(v + 16)))
            .collect(),
        features: (0..nv)
            .map(vertex)
            .map(|v| u16::from_le_bytes(bytes[v + 18..v + 20].try_into().unwrap()))
            .collect(),
        triangles: (0..nt)
            .map(|t| [0, 1, 2].map(|k| index(16 + 20 * nv + 12 * t + 4 * k)))
            .collect(),
        lines: (0..ne)
            .map(|e| [0, 1].map(|k| index(16 + 20 * nv + 12 * nt + 8 * e + 4 * k)))
            .collect(),
    }
}

fn view(solid: &Solid) -> View {
    let mut bytes = Vec::new();
    write(solid, &mut bytes).unwrap();
    let mut again = Vec::new();
    write(solid, &mut again).unwrap();
    assert!(bytes == again, "the same solid, the same bytes");
    read(&bytes)
}

/// An edge by its places.
fn edge(a: Vec3, b: Vec3) -> [[u64; 3]; 2] {
    let bits = |p: Vec3| p.to_array().map(|x| (x + 0.0).to_bits());
    let mut ends = [bits(a), bits(b)];
    ends.sort();
    ends
}

fn holds(solid: &Solid) {
    let view = view(solid);
    assert_eq!(view.triangles.len(), solid.triangles.len());
    // Divergence theorem: the signed tetrahedra from the origin sum up to the volume. The solid's points are f32 already.
    let six: f64 = view
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|i| view.points[i]);
            a.dot(b.cross(c))
        })
        .sum();
    let want = solid.volume_mm3();
    assert!(
        (six / 6.0 - want).abs() <= 1e-9 * want,
        "{} for {want}",
        six / 6.0
    );
    let mut around: BTreeMap<[[u64; 3]; 2], Vec<(Vec3, usize)>> = BTreeMap::new();
    for (t, corners) in view.triangles.iter().enumerate() {
        let [a, b, c] = corners.map(|i| view.points[i]);
        let face = (b - a).cross(c - a).normalize_or_zero();
        for (k, &i) in corners.iter().enumerate() {
            assert_eq!(usize::from(view.features[i]), solid.features[t]);
            let normal = view.normals[i];
            assert!((normal.length() - 1.0).abs() < 1e-4);
            // Shading never turns away from the face by more than the crease.
            assert!(normal.dot(face) > 0.0, "triangle {t}");
            let (from, to) = (view.points[i], view.points[corners[(k + 1) % 3]]);
            around
                .entry(edge(from, to))
                .or_default()
                .push((face, solid.features[t]));
        }
    }
    let drawn: BTreeSet<_> = view
        .lines
        .iter()
        .map(|l| edge(view.points[l[0]], view.points[l[1]]))
        .collect();
    assert_eq!(drawn.len(), view.lines.len(), "each line once");
    for (ends, sides) in &around {
        let [(n, f), (m, g)] = sides[..] else {
            panic!("an edge has {} triangles", sides.len());
        };
        let turn_deg = n.dot(m).clamp(-1.0, 1.0).acos().to_degrees();
        // The layout's bound is a rounded cosine: nothing is asked within a tenth of a degree of it.
        if f != g || turn_deg > CREASE_DEG + 0.1 {
            assert!(
                drawn.contains(ends),
                "an edge that turns by {turn_deg}° is not drawn"
            );
        } else if turn_deg < CREASE_DEG - 0.1 {
            assert!(
                !drawn.contains(ends),
                "an edge that turns by {turn_deg}° within a feature is drawn"
            );
        }
    }
    assert!(drawn.iter().all(|ends| around.contains_key(ends)));
}

const PART: &str = "stock(2); fillets(3); let p = slab(\"plate\", #{ outline: rect(60, 40).corners(5), height: 8 }); \
    let b = boss(\"hub\", #{ on: p.top, dia: 24, height: 15, draft: 2, bore: 10 }); \
    bore(\"holes\", #{ into: p.top, at: [[-24, 0], [24, 0]], dia: 6, through: true }); finish(b.top);";

#[test]
fn every_stage_reads_back_as_it_is() {
    let build = built(PART);
    assert_eq!(build.stages.len(), 3);
    for built in &build.stages {
        holds(&built.solid);
    }
}

#[test]
fn a_block_has_twelve_lines_and_a_vertex_for_each_corner_of_each_side() {
    let build = built("slab(\"s\", #{ outline: rect(10, 20), height: 5 });");
    let solid = &build.stage(Stage::Finished).unwrap().solid;
    let view = view(solid);
    assert_eq!(
        (view.points.len(), view.triangles.len(), view.lines.len()),
        (24, 12, 12)
    );
}

/// What an edit adds and removes: blocks, so every volume is exact.
#[test]
fn differences_are_what_the_edit_did() {
    let solid = |l: f64, w: f64| {
        let build = built(&format!(
            "slab(\"s\", #{{ outline: rect({l}, {w}), height: 5 }});"
        ));
        build.stage(Stage::Finished).unwrap().solid.clone()
    };
    let (was, now) = (solid(30.0, 20.0), solid(34.0, 18.0));
    let added = difference(&now, &was).unwrap();
    let removed = difference(&was, &now).unwrap();
    assert!((added.volume_mm3() - 4.0 * 18.0 * 5.0).abs() < 1e-6);
    assert!((removed.volume_mm3() - 2.0 * 30.0 * 5.0).abs() < 1e-6);
    assert_eq!(added.surfaces().len(), 2);
    assert!(view(&added).features.iter().all(|f| *f == NO_FEATURE));
    // Against itself nothing is left, nor of what is under a cubic millimetre.
    assert!(difference(&was, &was).unwrap().triangles.is_empty());
    let hardly = solid(30.001, 20.0);
    assert!(difference(&hardly, &was).unwrap().triangles.is_empty());
}
