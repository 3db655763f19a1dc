//! Local volume over area and inside balls against closed formulas, on bodies that stand upright and oblique.
//!
//! The grid's cells are 2 mm here; the bound on moduli is 6 %, that of the balls 0.5 %, whatever the turn.

use super::plain_solids::{arc, ball, cubes, cuboid, cylinder, oblique, raised, shared, turned};
use foamwright::pour::fields::{Corner, Fields, HotSpot, fields};
use foamwright::solid::Solid;

const CELL_MM: f64 = 2.0;

/// The fields of a body as it is and turned.
fn both(solid: &Solid) -> [Fields; 2] {
    [solid.clone(), oblique(solid)].map(|s| fields(&shared(s), CELL_MM))
}

#[track_caller]
fn within(got: f64, want: f64, share: f64) {
    let off = (got / want - 1.0).abs();
    assert!(off <= share, "{got} is off {want} by {:.2} %", 100.0 * off);
}

/// The one hot spot of a body.
#[track_caller]
fn only(fields: &Fields) -> HotSpot {
    let spots = fields.hot_spots();
    assert_eq!(spots.len(), 1, "{spots:?}");
    spots[0].clone()
}

#[test]
fn moduli_of_plain_solids_are_volume_over_area() {
    let cases = [
        // Half the thickness; a quarter of the bar, a quarter of the round: long bodies, ends left out.
        (cuboid([140.0, 120.0, 10.0]), 5.0, 10.0),
        (cuboid([20.0, 20.0, 120.0]), 5.0, 20.0),
        (cylinder(20.0, 120.0), 5.0, 20.0),
        // A sixth of the size of whole bodies.
        (ball(40.0), 40.0 / 6.0, 40.0),
        (cuboid([40.0; 3]), 40.0 / 6.0, 40.0),
        (cylinder(40.0, 40.0), 40.0 / 6.0, 40.0),
        // a b / (2 (a + b)).
        (cuboid([20.0, 40.0, 160.0]), 800.0 / 120.0, 20.0),
    ];
    for (solid, modulus, inside) in cases {
        for fields in both(&solid) {
            let spot = only(&fields);
            within(spot.modulus_mm, modulus, 0.06);
            within(spot.ball_mm, inside, 0.005);
        }
    }
}

/// Nothing of the surface is lost: the integral of surface over volume is the area.
#[test]
fn the_whole_surface_is_spread() {
    let solid = cuboid([60.0, 50.0, 12.0]);
    for fields in both(&solid) {
        let cells = fields.volume.iter().zip(&fields.surface);
        let sum: f64 = cells.map(|(v, w)| f64::from(v * w)).sum();
        let area = 2.0 * (60.0 * 50.0 + 60.0 * 12.0 + 50.0 * 12.0);
        within(sum * CELL_MM.powi(3), area, 1e-3);
    }
}

/// Walls of 12 that meet: the ball that touches the outsides and the rounds of radius r between them.
/// Formulas: elementary geometry, worked out in the comments.
#[test]
fn balls_at_junctions_are_those_of_the_formulas() {
    let t = 12.0;
    let tee = |r: f64| {
        let mut outline = vec![[-50.0, 0.0], [50.0, 0.0], [50.0, t]];
        outline.extend(arc([t / 2.0 + r, t + r], r, 270.0, 180.0));
        outline.extend([[t / 2.0, 60.0], [-t / 2.0, 60.0]]);
        outline.extend(arc([-t / 2.0 - r, t + r], r, 0.0, -90.0));
        outline.push([-50.0, t]);
        raised(&outline, 50.0)
    };
    let ell = |r: f64| {
        let mut outline = vec![[0.0, 0.0], [60.0, 0.0], [60.0, t]];
        outline.extend(arc([t + r, t + r], r, 270.0, 180.0));
        outline.extend([[t, 60.0], [0.0, 60.0]]);
        raised(&outline, 50.0)
    };
    let cross = |r: f64| {
        let mut outline = Vec::new();
        for quarter in 0..4 {
            let (s, c) = (90.0 * f64::from(quarter)).to_radians().sin_cos();
            let mut part = vec![[50.0, -t / 2.0], [50.0, t / 2.0]];
            part.extend(arc([t / 2.0 + r, t / 2.0 + r], r, 270.0, 180.0));
            outline.extend(
                part.iter()
                    .map(|p| [c * p[0] - s * p[1], s * p[0] + c * p[1]]),
            );
        }
        raised(&outline, 50.0)
    };
    let root = 2.0_f64.sqrt();
    // Centre at height R over the foot: (t/2 + r)² + (t + r - R)² = (R + r)².
    let of_tee = |r: f64| ((t / 2.0 + r).powi(2) + (t + r).powi(2) - r * r) / (t + 2.0 * r);
    // Centre at (R, R): √2 (t + r - R) = R + r.
    let of_ell = |r: f64| 2.0 * (root * (t + r) - r) / (1.0 + root);
    // Centre in the middle: √2 (t/2 + r) = R + r.
    let of_cross = |r: f64| 2.0 * (root * (t / 2.0 + r) - r);
    for r in [0.0, 6.0, 12.0] {
        let cases = [
            (tee(r), of_tee(r)),
            (ell(r), of_ell(r)),
            (cross(r), of_cross(r)),
        ];
        for (solid, want) in cases {
            for fields in both(&solid) {
                let corners = fields.corners(1.1);
                assert_eq!(corners.len(), 1, "{corners:?}");
                within(corners[0].ball_mm, want, 0.005);
                // The walls are taken at cells, so that a part of a cell may be missed.
                within(corners[0].wall_mm, t, 0.03);
            }
        }
    }
    // An even wall has no junction.
    for even in [cuboid([90.0, 70.0, 12.0]), cuboid([20.0, 20.0, 120.0])] {
        for fields in both(&even) {
            assert_eq!(fields.corners(1.2), Vec::<Corner>::new());
        }
    }
}

/// Two cubes of 30 with a bar of 10 × 10 between them are two hot spots, each credited to its own sides.
#[test]
fn cubes_with_a_neck_are_two_spots_of_their_own_sides() {
    let left = [0, 1, 9, 10, 11];
    for fields in both(&cubes()) {
        let spots = fields.hot_spots();
        assert_eq!(spots.len(), 2, "{spots:?}");
        let sides: Vec<bool> = spots
            .iter()
            .map(|s| {
                let sides = s.features.iter().filter(|f| **f != 12).take(3);
                let here = sides.filter(|f| left.contains(f)).count();
                assert!(here == 0 || here == 3, "{spots:?}");
                here == 3
            })
            .collect();
        assert!(sides.contains(&true) && sides.contains(&false), "{spots:?}");
        for spot in &spots {
            within(spot.ball_mm, 30.0, 0.005);
        }
    }
}

/// A stouter boss is a hotter one; a body twice as large has twice the modulus.
#[test]
fn moduli_grow_with_size_and_with_a_fillet() {
    let boss = |fillet: f64, scale: f64| {
        let mut profile = vec![[0.0, 0.0], [40.0, 0.0], [40.0, 8.0]];
        profile.extend(arc([8.0 + fillet, 8.0 + fillet], fillet, 270.0, 180.0));
        profile.extend([[8.0, 16.0], [0.0, 16.0]]);
        let scaled: Vec<[f64; 2]> = profile.iter().map(|p| p.map(|x| x * scale)).collect();
        turned(&scaled, 64)
    };
    let modulus = |solid: Solid, cell_mm: f64| {
        let fields = fields(&shared(solid), cell_mm);
        fields.hot_spots()[0].modulus_mm
    };
    let plain = modulus(boss(0.0, 1.0), 1.5);
    assert!(modulus(boss(5.0, 1.0), 1.5) > plain);
    within(modulus(boss(0.0, 2.0), 3.0), 2.0 * plain, 1e-3);
}

#[test]
fn the_same_on_every_run() {
    let solid = shared(oblique(&cuboid([60.0, 40.0, 20.0])));
    let first = fields(&solid, CELL_MM);
    for _ in 0..2 {
        let again = fields(&solid, CELL_MM);
        assert!(first.surface == again.surface && first.hot_spots() == again.hot_spots());
    }
}
