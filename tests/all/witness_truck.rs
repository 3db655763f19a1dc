//! A second witness: the bodies that the general exact kernel truck-modeling can make, built there, tessellated by
//! truck-meshalgo, and compared in volume, area and genus.
//!
//! Each mesh stands off the true surface by at most its own tolerance, so two volumes differ by at most the sum of
//! both tolerances × the curved area; two areas by at most a share of the curved area, see [`Witness::agrees`].

use super::bodies::{added, sound, upright};
use foamwright::drawing::body::{Band, LathePoint, Shape, Sweep};
use foamwright::drawing::given::Edge;
use foamwright::drawing::outline::{Outline, Vertex as Corner};
use foamwright::measure::{Vec2, Vec3};
use foamwright::solid::{Facets, shell_of};
use std::f64::consts::PI;
use truck_meshalgo::prelude::*;
use truck_modeling::{
    Edge as Rim, EuclideanSpace, Point3, Rad, Solid, Vector3, Vertex, Wire, builder,
};

/// The facet of these tests, and the tolerance of the witness's meshes (mm).
const FACET: f64 = 0.02;

/// What a witness's mesh measures.
#[derive(Debug, Clone, Copy)]
struct Witness {
    volume: f64,
    area: f64,
    genus: i64,
}

impl Witness {
    /// Measures a solid of the witness; its orientation isn't given, so the volume is made positive.
    fn of(solid: &Solid) -> Witness {
        let mut mesh = solid.triangulation(FACET).to_polygon();
        mesh.put_together_same_attrs(1e-6)
            .remove_degenerate_faces()
            .remove_unused_attrs();
        let points: Vec<Vec3> = mesh
            .positions()
            .iter()
            .map(|p| Vec3::new(p.x, p.y, p.z))
            .collect();
        let mut triangles: Vec<[u32; 3]> = Vec::new();
        for face in mesh.face_iter() {
            let corner = |i: usize| face[i].pos as u32;
            triangles.extend((1..face.len() - 1).map(|i| [corner(0), corner(i), corner(i + 1)]));
        }
        let facets = Facets {
            points: &points,
            triangles: &triangles,
        };
        assert!(facets.edges_pair(), "the witness's own mesh is open");
        Witness {
            volume: facets.volume().abs(),
            area: facets.area(),
            genus: facets.genus(),
        }
    }

    /// Holds a body to it. `curved` is the body's curved area, `least_radius` the tightest curve (mm): a chord
    /// mesh's area falls short by about a third of tolerance / radius.
    fn agrees(&self, shape: Shape, curved: f64, least_radius: f64) {
        let shell = shell_of(&added(shape), FACET).expect("a sound body");
        sound(&shell);
        let got = shell.facets();
        let off = (got.volume() - self.volume).abs();
        assert!(
            off <= 2.0 * FACET * curved + 1e-6,
            "volume {} for {self:?}",
            got.volume()
        );
        let off = (got.area() - self.area).abs();
        assert!(
            off <= 2.0 * FACET / least_radius * curved + 1e-6,
            "area {} for {self:?}",
            got.area()
        );
        assert_eq!(got.genus(), self.genus);
    }
}

/// An outline's loop as a wire at a height, or in another plane by `place`.
fn wire(ring: &[Corner], place: &dyn Fn(Vec2) -> Point3) -> Wire {
    let vertices: Vec<Vertex> = ring.iter().map(|c| builder::vertex(place(c.at))).collect();
    let rim = |i: usize| -> Rim {
        let j = (i + 1) % ring.len();
        let (a, b) = (ring[i], ring[j]);
        if a.bulge == 0.0 {
            return builder::line(&vertices[i], &vertices[j]);
        }
        // An arc's middle lies half a chord × bulge to its right.
        let through = (a.at + b.at) * 0.5 - (b.at - a.at).perp() * (a.bulge * 0.5);
        builder::circle_arc(&vertices[i], &vertices[j], place(through))
    };
    (0..ring.len()).map(rim).collect()
}

/// An outline's loop in the plane at a height.
fn level(ring: &[Corner], z: f64) -> Wire {
    wire(ring, &|p| Point3::new(p.x, p.y, z))
}

fn prism(outline: &Outline, height: f64) -> Solid {
    let wires: Vec<Wire> = outline.loops().iter().map(|r| level(r, 0.0)).collect();
    let face = builder::try_attach_plane(&wires).expect("a plane face");
    builder::tsweep(&face, Vector3::new(0.0, 0.0, height))
}

/// Walls between pairs of wires of equal counts, and a plane at each end.
fn frusta(levels: &[Wire]) -> Solid {
    let ends = [&levels[0], &levels[levels.len() - 1]];
    let [foot, top] =
        ends.map(|w| builder::try_attach_plane(std::slice::from_ref(w)).expect("a plane face"));
    let mut shell: truck_modeling::Shell = levels
        .windows(2)
        .flat_map(|pair| builder::try_wire_homotopy(&pair[0], &pair[1]).expect("equal counts"))
        .collect();
    shell.push(foot.inverse());
    shell.push(top);
    Solid::new(vec![shell])
}

fn rounded_rect(l: f64, w: f64, r: f64) -> Outline {
    Outline::rect(l, w).corners(r).expect("corners that fit")
}

#[test]
fn prisms_agree() {
    let r = 6.0;
    let outer = rounded_rect(60.0, 40.0, r);
    Witness::of(&prism(&outer, 25.0)).agrees(
        Shape::Band(upright(outer.clone(), 25.0)),
        2.0 * PI * r * 25.0,
        r,
    );

    let belt = Outline::belt(&[(Vec2::new(0.0, 0.0), 40.0), (Vec2::new(70.0, 10.0), 18.0)])
        .expect("a belt");
    Witness::of(&prism(&belt, 12.0)).agrees(
        Shape::Band(upright(belt.clone(), 12.0)),
        2.0 * PI * 29.0 * 12.0,
        9.0,
    );

    let hole = Outline::disc(16.0).at(5.0, 2.0);
    let holed = outer.minus(&hole).expect("a hole");
    let witness = Witness::of(&prism(&holed, 30.0));
    assert_eq!(witness.genus, 1);
    witness.agrees(Shape::Band(upright(holed, 30.0)), 2.0 * PI * 14.0 * 30.0, r);
}

#[test]
fn frusta_agree() {
    let (h, deg, r) = (30.0, 4.0_f64, 8.0);
    let inset = h * deg.to_radians().tan();
    for (outline, round) in [
        (Outline::rect(50.0, 30.0), 0.0),
        (rounded_rect(50.0, 40.0, r), r),
    ] {
        let top = outline.grown(-inset).expect("a top is left");
        // Both start at the same corner: the offset keeps the loop's order here, or the nearest start is taken.
        let ring = &outline.loops()[0];
        let shift = (0..ring.len())
            .min_by(|&a, &b| {
                let far = |i: usize| top.loops()[0][i].at.distance(ring[0].at);
                far(a).total_cmp(&far(b))
            })
            .expect("corners");
        let mut narrow = top.loops()[0].clone();
        narrow.rotate_left(shift);
        let witness = Witness::of(&frusta(&[level(ring, 0.0), level(&narrow, h)]));
        let band = Band {
            draft_deg: deg,
            holds: 0.0,
            ..upright(outline.clone(), h)
        };
        witness.agrees(Shape::Band(band), 2.0 * PI * round * h, r - inset);
    }
}

#[test]
fn chamfered_and_drafted_bodies_agree() {
    // Foot, wall, chamfer: three frusta over one outline, all of equal counts.
    let (h, deg, c, r) = (24.0, 3.0_f64, 3.0, 9.0);
    let tan = deg.to_radians().tan();
    let outline = rounded_rect(70.0, 44.0, r);
    let at = |d: f64, z: f64| {
        let moved = if d == 0.0 {
            outline.clone()
        } else {
            outline.grown(d).expect("grows")
        };
        let from = Vec2::new(1000.0, -900.0);
        let mut ring = moved.loops()[0].clone();
        // The start of the long side, whatever the order of the offset.
        let first = (0..ring.len()).min_by(|&a, &b| {
            ring[a]
                .at
                .distance(from)
                .total_cmp(&ring[b].at.distance(from))
        });
        ring.rotate_left(first.expect("corners"));
        level(&ring, z)
    };
    let levels = [at(h * tan, 0.0), at(c * tan, h - c), at(-c, h)];
    let band = Band {
        draft_deg: deg,
        edge: Edge::Chamfer(c),
        ..upright(outline.clone(), h)
    };
    Witness::of(&frusta(&levels)).agrees(
        Shape::Band(band),
        2.0 * PI * (r + h * tan) * 1.5 * h,
        r - c,
    );
}

#[test]
fn turned_bodies_agree() {
    // Clear of the axis: a ring with a rounded outside and a groove.
    let v = |r: f64, z: f64, bulge: f64| LathePoint { r, z, bulge };
    let profiles = [
        vec![
            v(12.0, 0.0, 0.0),
            v(30.0, 0.0, 0.3),
            v(30.0, 14.0, 0.0),
            v(20.0, 14.0, -0.4),
            v(16.0, 14.0, 0.0),
            v(12.0, 14.0, 0.0),
        ],
        vec![
            v(8.0, -5.0, 0.0),
            v(15.0, -2.0, 0.2),
            v(18.0, 9.0, 0.0),
            v(9.0, 6.0, 0.0),
        ],
    ];
    for profile in profiles {
        let ring: Vec<Corner> = profile
            .iter()
            .map(|p| Corner {
                at: Vec2::new(p.r, p.z),
                bulge: p.bulge,
            })
            .collect();
        let section = wire(&ring, &|p| Point3::new(p.x, 0.0, p.y));
        let face = builder::try_attach_plane(&[section]).expect("a plane face");
        let solid: Solid = builder::rsweep(
            &face,
            Point3::origin(),
            Vector3::unit_z(),
            Rad(2.0 * PI + 0.1),
        );
        let outline = Outline::from_loops(vec![ring]).expect("a simple profile");
        let curved = 2.0 * PI * 32.0 * outline.perimeter();
        let witness = Witness::of(&solid);
        assert_eq!(witness.genus, 1);
        witness.agrees(Shape::Lathe(profile), curved, 2.0);
    }
}

#[test]
fn tunnels_agree_piece_by_piece() {
    // Along x, a quarter bend of radius 25, along y: the witness makes each piece alone and shares two sections.
    let (bend, first, second) = (25.0, 60.0, 55.0);
    let round = Outline::disc(20.0);
    let square = rounded_rect(24.0, 14.0, 3.0);
    for (section, least) in [(round, 10.0), (square, 3.0)] {
        let ring = &section.loops()[0];
        // u lies to the right of +x seen with z up, which is -y.
        let across = |x: f64| wire(ring, &move |p: Vec2| Point3::new(x, -p.x, p.y));
        let face = |x: f64| builder::try_attach_plane(&[across(x)]).expect("a plane face");
        let start: Solid = builder::tsweep(&face(0.0), Vector3::new(first - bend, 0.0, 0.0));
        let center = Point3::new(first - bend, bend, 0.0);
        let turn: Solid = builder::rsweep(
            &face(first - bend),
            center,
            Vector3::unit_z(),
            Rad(PI / 2.0),
        );
        let end: Solid = builder::tsweep(&face(0.0), Vector3::new(second - bend, 0.0, 0.0));
        let [a, b, c] = [start, turn, end].map(|s| Witness::of(&s));
        let sum = Witness {
            volume: a.volume + b.volume + c.volume,
            area: a.area + b.area + c.area - 4.0 * section.area(),
            genus: 0,
        };
        let way = [[0.0, 0.0], [first, 0.0], [first, second]].map(|[x, y]| Vec3::new(x, y, 0.0));
        let sweep = Sweep {
            way: way.to_vec(),
            bend: Some(bend),
            section: section.clone(),
            before: 0.0,
            after: 0.0,
            flip_u: false,
        };
        sum.agrees(Shape::Sweep(sweep), section.perimeter() * 120.0, least);
    }
}
