//! Bodies turned about an axis or carried along a way, held against closed formulas (Pappus), and ribs.
//! Bounds as in `bodies`.

use super::bodies::{FACET, built, near, sound};
use foamwright::drawing::body::{LathePoint, Rib, Shape, Sweep};
use foamwright::drawing::given::Edge;
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Vec2, Vec3};
use std::f64::consts::PI;

/// A profile of points and bulges.
pub fn lathe(points: &[(f64, f64, f64)]) -> Shape {
    Shape::Lathe(
        points
            .iter()
            .map(|&(r, z, bulge)| LathePoint { r, z, bulge })
            .collect(),
    )
}

#[test]
fn turned_bodies_follow_pappus() {
    // A ring of square section, a torus (two half circles), a ball, a cone, a ball-ended peg.
    let quarter = (PI / 8.0).tan();
    let cases: [(&str, Shape, f64, f64, i64); 5] = [
        (
            "ring",
            lathe(&[
                (10.0, 0.0, 0.0),
                (15.0, 0.0, 0.0),
                (15.0, 8.0, 0.0),
                (10.0, 8.0, 0.0),
            ]),
            2.0 * PI * 12.5 * 40.0,
            2.0 * PI * 25.0 * 8.0,
            1,
        ),
        (
            "torus",
            lathe(&[(20.0, -6.0, 1.0), (20.0, 6.0, 1.0)]),
            2.0 * PI * 20.0 * PI * 36.0,
            4.0 * PI * PI * 20.0 * 6.0,
            1,
        ),
        (
            "ball",
            lathe(&[(0.0, -9.0, 1.0), (0.0, 9.0, 0.0)]),
            4.0 / 3.0 * PI * 729.0,
            4.0 * PI * 81.0,
            0,
        ),
        (
            "cone",
            lathe(&[(0.0, 0.0, 0.0), (12.0, 0.0, 0.0), (0.0, 30.0, 0.0)]),
            PI * 144.0 * 10.0,
            PI * 12.0 * 144.0_f64.hypot(30.0),
            0,
        ),
        (
            "peg",
            lathe(&[
                (0.0, 0.0, 0.0),
                (7.0, 0.0, 0.0),
                (7.0, 20.0, quarter),
                (0.0, 27.0, 0.0),
            ]),
            PI * 49.0 * 20.0 + 2.0 / 3.0 * PI * 343.0,
            2.0 * PI * 7.0 * 27.0,
            0,
        ),
    ];
    for (name, shape, volume, curved, genus) in cases {
        let shell = built(shape);
        let got = shell.facets();
        assert!(
            (got.volume() - volume).abs() < FACET * curved,
            "{name}: {} for {volume}",
            got.volume()
        );
        assert_eq!((got.genus(), got.components()), (genus, 1), "{name}");
    }
    // The same the other way round, and a profile whose tip touches the axis.
    let shell = built(lathe(&[
        (0.0, 30.0, 0.0),
        (12.0, 0.0, 0.0),
        (0.0, 0.0, 0.0),
    ]));
    near(
        shell.facets().volume(),
        PI * 1440.0,
        FACET * PI * 12.0 * 33.0,
    );
    let shell = built(lathe(&[
        (0.0, 0.0, 0.0),
        (12.0, -5.0, 0.0),
        (12.0, 5.0, 0.0),
    ]));
    near(
        shell.facets().volume(),
        2.0 * PI * 8.0 * 60.0,
        FACET * 2.0 * PI * 12.0 * 36.0,
    );
}

/// A section along a way, square at its ends.
pub fn sweep(way: &[[f64; 3]], bend: Option<f64>, section: Outline) -> Sweep {
    let way = way.iter().map(|p| Vec3::from_array(*p)).collect();
    Sweep {
        way,
        bend,
        section,
        before: 0.0,
        after: 0.0,
        flip_u: false,
    }
}

#[test]
fn tunnels_straight_mitred_and_bent() {
    let pipe = || {
        let [outer, hole] = [24.0, 16.0].map(|d| Outline::disc(d).loops()[0].clone());
        Outline::from_loops(vec![outer, hole]).expect("a pipe")
    };
    let area = PI * (144.0 - 64.0);
    let rim = 2.0 * PI * (12.0 + 8.0);
    let straight = sweep(&[[0.0, 0.0, 0.0], [30.0, 40.0, 0.0]], None, pipe());
    let shell = built(Shape::Sweep(Sweep {
        before: 5.0,
        after: 3.0,
        ..straight
    }));
    near(shell.facets().volume(), area * 58.0, FACET * rim * 58.0);
    assert_eq!(shell.facets().genus(), 1);

    // Mitred: a symmetric section keeps the middle line's length.
    let way = [
        [0.0, 0.0, 0.0],
        [60.0, 0.0, 0.0],
        [60.0, 70.0, 0.0],
        [60.0, 90.0, 40.0],
    ];
    let length = 60.0 + 70.0 + 20.0_f64.hypot(40.0);
    let shell = built(Shape::Sweep(sweep(&way, None, pipe())));
    near(shell.facets().volume(), area * length, FACET * rim * length);
    let shell = built(Shape::Sweep(sweep(&way, None, Outline::rect(14.0, 6.0))));
    near(shell.facets().volume(), 84.0 * length, 1e-6);

    // Bent (Pappus): each corner takes off 2 R tan(θ/2) and gives back R θ.
    let bend = 20.0;
    let turns = [
        PI / 2.0,
        20.0_f64.atan2(0.0).min(PI / 2.0) - 20.0_f64.atan2(40.0),
    ];
    let bent_length = turns
        .iter()
        .fold(length, |l, t| l + bend * (t - 2.0 * (t / 2.0).tan()));
    let shell = built(Shape::Sweep(sweep(&way, Some(bend), pipe())));
    let curved = rim * length * 1.6;
    near(shell.facets().volume(), area * bent_length, FACET * curved);
    assert_eq!(shell.facets().genus(), 1);
}

#[test]
fn a_sections_v_looks_up_and_its_u_to_the_right() {
    // Low on the left: an L standing at (u, v) in [0, 4] × [0, 2] and [0, 1] × [0, 6].
    let ell = [
        (0.0, 0.0),
        (4.0, 0.0),
        (4.0, 2.0),
        (1.0, 2.0),
        (1.0, 6.0),
        (0.0, 6.0),
    ];
    let ell = Outline::polygon(&ell.map(|(x, y)| Vec2::new(x, y))).expect("an L");
    let ends = |way: &[[f64; 3]], flip_u: bool| {
        let shape = Shape::Sweep(Sweep {
            flip_u,
            ..sweep(way, None, ell.clone())
        });
        built(shape).bounds()
    };
    // Looking along +y with z up, right is +x.
    let b = ends(&[[0.0, 0.0, 0.0], [0.0, 50.0, 0.0]], false);
    near(b.high.x, 4.0, 1e-9);
    near(b.high.z, 6.0, 1e-9);
    let b = ends(&[[0.0, 0.0, 0.0], [0.0, 50.0, 0.0]], true);
    near(b.low.x, -4.0, 1e-9);
    // Upright: v is +y, so looking along +z right is -x.
    let b = ends(&[[0.0, 0.0, 0.0], [0.0, 0.0, 50.0]], false);
    near(b.high.y, 6.0, 1e-9);
    near(b.low.x, -4.0, 1e-9);
}

fn rib(path: &[[f64; 2]], thick: f64, heights: &[f64]) -> Rib {
    Rib {
        path: path.iter().map(|p| Vec2::from_array(*p)).collect(),
        thick,
        heights: heights.to_vec(),
        z0: 0.0,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
    }
}

#[test]
fn ribs_level_and_falling() {
    let (l, t) = (60.0, 8.0);
    let area = l * t + PI * 16.0;
    let level = rib(&[[0.0, 0.0], [l, 0.0]], t, &[15.0, 15.0]);
    near(
        built(Shape::Rib(level)).facets().volume(),
        area * 15.0,
        FACET * 2.0 * PI * 4.0 * 15.0,
    );

    // Falling from 20 to 10: level over the half discs at both ends, even along the path.
    let half_disc = PI * 8.0;
    let want = l * t * 15.0 + half_disc * 30.0;
    let falling = rib(&[[0.0, 0.0], [l, 0.0]], t, &[20.0, 10.0]);
    near(
        built(Shape::Rib(falling)).facets().volume(),
        want,
        FACET * 2.0 * PI * 4.0 * 20.0,
    );

    // A kink in the middle of a straight path: the ridge is there.
    let ridge = rib(
        &[[0.0, 0.0], [30.0, 0.0], [60.0, 0.0]],
        t,
        &[10.0, 20.0, 10.0],
    );
    let want = l * t * 15.0 + 2.0 * half_disc * 10.0;
    near(
        built(Shape::Rib(ridge)).facets().volume(),
        want,
        FACET * 2.0 * PI * 4.0 * 20.0,
    );
}

#[test]
fn a_gusset_runs_out_into_its_foot() {
    // Over its foot: a wedge of 40 × 6 × 20 / 2 and the half disc at the wall; below it, what is sunk.
    let mut gusset = rib(&[[0.0, 0.0], [40.0, 0.0]], 6.0, &[20.0, 0.0]);
    gusset.below = 0.5;
    let shell = built(Shape::Rib(gusset.clone()));
    assert!(shell.bounds().low.z > -0.5 - 1e-9 && shell.bounds().high.z < 20.0 + 1e-9);
    let wedge = 40.0 * 6.0 * 10.0 + PI * 4.5 * 20.0;
    let sunk = 0.5 * (40.0 * 6.0 + PI * 9.0);
    near(
        shell.facets().volume(),
        wedge + sunk,
        0.5 * PI * 4.5 + FACET * 600.0,
    );
    gusset.flare = Edge::Round(3.0);
    gusset.edge = Edge::Round(1.5);
    gusset.draft_deg = 2.0;
    sound(&built(Shape::Rib(gusset)));
}
