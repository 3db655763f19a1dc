//! Pegs across the splits: every one lies in foam with its wall round it, by winding numbers at points round it; no turn
//! and no flip lays the pegs of a joint on each other; volumes are closed formulas.

use std::f64::consts::PI;

use super::built::{built, near, said};
use super::pieces::{piece, pieces, plain};
use foamwright::measure::{Vec2, Vec3};
use foamwright::pieces::{Dowel, Pieces};
use foamwright::sheet::bill::bill;
use foamwright::shop::Build;
use foamwright::solid::Solid;

const BOARD: &str = "board(#{ thickness: 50, length: 600, width: 300 });";

/// Every point of a peg and of the foam asked for round it lies in the pattern, and in the piece that it is said to.
pub fn in_foam(build: &Build, pieces: &Pieces, wall: f64) {
    let pattern = &build.stages[2].solid;
    for d in &pieces.dowels {
        let x = d.axis.any_orthonormal_vector();
        let y = d.axis.cross(x);
        for (radius, deep) in [
            (0.0, d.depth_mm),
            (d.dia_mm / 2.0 + wall - 0.05, d.depth_mm),
        ] {
            for step in 0..12 {
                let (sin, cos) = (f64::from(step) * PI / 6.0).sin_cos();
                for z in [-0.99, -0.5, -0.01, 0.01, 0.5, 0.99] {
                    let p = d.at + (x * cos + y * sin) * radius + d.axis * (z * deep);
                    assert!(pattern.holds(p), "{d:?} at {p}");
                }
            }
        }
        for (side, sign) in [(0, -1.0), (1, 1.0)] {
            let piece = &pieces.pieces[d.pieces[side]];
            let solid: &Solid = &piece.solid;
            let inside = |p: Vec3| solid.holds(piece.lay.local(p));
            let beside = d.at + x * (d.dia_mm / 2.0 + 0.5) + d.axis * (sign * d.depth_mm / 2.0);
            assert!(inside(beside), "{} has no foam beside it", piece.name);
            assert!(
                !inside(d.at + d.axis * (sign * d.depth_mm / 2.0)),
                "no hole"
            );
            assert!(
                inside(d.at + d.axis * (sign * (d.depth_mm + 0.5))),
                "the hole goes too deep"
            );
        }
    }
}

/// The smallest misfit when pegs of a joint are turned or flipped in any way that lays one pair on another (mm).
fn misfit(dowels: &[&Dowel]) -> f64 {
    let at: Vec<Vec2> = dowels.iter().map(|d| d.at.truncate()).collect();
    let mut least = f64::INFINITY;
    for (i, j) in pairs(at.len()) {
        for (k, l) in pairs(at.len()) {
            let (from, to) = (at[j] - at[i], at[l] - at[k]);
            for flipped in [false, true] {
                if (i, j) == (k, l) && !flipped {
                    continue;
                }
                let turn = |p: Vec2| {
                    let p = p - at[i];
                    let p = if flipped { Vec2::new(p.x, -p.y) } else { p };
                    let from = if flipped {
                        Vec2::new(from.x, -from.y)
                    } else {
                        from
                    };
                    at[k] + Vec2::from_angle(to.to_angle() - from.to_angle()).rotate(p)
                };
                let worst = at.iter().map(|p| {
                    let q = turn(*p);
                    at.iter()
                        .map(|o| o.distance(q))
                        .fold(f64::INFINITY, f64::min)
                });
                least = least.min(worst.fold(0.0, f64::max));
            }
        }
    }
    least
}

fn pairs(n: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..n).flat_map(move |i| (0..n).filter(move |j| *j != i).map(move |j| (i, j)))
}

#[test]
fn three_pegs_hold_two_halves_one_way_round() {
    let build = plain(&format!(
        "{BOARD} min_foam(4); slab(\"block\", #{{ outline: rect(120, 80), height: 60 }});
         split(\"low\", #{{ at: level(30) }}); dowels(#{{ dia: 8, depth: 12 }});"
    ));
    let pieces = pieces(&build);
    assert_eq!(pieces.dowels.len(), 3);
    assert!(said(&build).is_empty(), "{:?}", said(&build));
    in_foam(&build, pieces, 4.0);
    let joint: Vec<&Dowel> = pieces.dowels.iter().collect();
    assert!(misfit(&joint) > 3.0, "{}", misfit(&joint));
    for d in &pieces.dowels {
        assert_eq!((d.depth_mm, d.pieces, d.split), (12.0, [0, 1], 0));
        // A polygon on the circle: short by less than 2 % for its facet.
        let whole = PI * 16.0 * 24.0;
        assert!(d.volume_mm3 < whole && d.volume_mm3 > 0.98 * whole);
    }
    // The glue is less by the pegs' own sections.
    near(
        piece(pieces, "low").glued[0].area_mm2,
        9600.0 - 3.0 * PI * 16.0,
        3.0,
    );
    let bill = bill(&build.part, pieces, 25.0);
    assert_eq!((bill.totals.dowels, bill.dowels[0].count), (3, 3));
    assert!(
        bill.csv().contains("\r\n,dowel,dowel,3,,24,8,8,"),
        "{}",
        bill.csv()
    );
}

#[test]
fn pegs_keep_off_bores_and_thin_walls() {
    // Round the bore of 60 the ring is 15 wide: pegs of 6 with walls of 4 have a millimetre of room.
    let build = plain(&format!(
        "{BOARD} min_foam(4); let pipe = slab(\"pipe\", #{{ outline: disc(90), height: 50 }});
         bore(\"hole\", #{{ into: pipe.top, dia: 60, through: true }});
         bore(\"side\", #{{ into: pipe.top, at: [0, 37.5], dia: 5, through: true }});
         split(\"low\", #{{ at: level(25) }}); dowels(#{{ dia: 6, depth: 10 }});"
    ));
    let pieces = pieces(&build);
    assert_eq!(pieces.dowels.len(), 3);
    in_foam(&build, pieces, 4.0);
}

#[test]
fn a_joint_without_room_is_told() {
    let script = |width: f64| {
        format!(
            "{BOARD} min_foam(4); slab(\"bar\", #{{ outline: rect(100, {width}), height: 50 }});
             split(\"low\", #{{ at: level(25) }}); dowels(#{{ dia: 8, depth: 10 }});"
        )
    };
    let build = plain(&script(15.0));
    assert_eq!(said(&build)[0].0, "few-dowels");
    assert!(
        build.findings[0].text.contains("0 of 3"),
        "{}",
        build.findings[0].text
    );
    // In a bar pegs stand in a row: three are turned into each other by none, with their distances unlike.
    let build = plain(&script(18.0));
    assert!(said(&build).is_empty(), "{:?}", said(&build));
    assert_eq!(build.pieces.as_ref().unwrap().dowels.len(), 3);
}

#[test]
fn a_shallow_piece_takes_shorter_pegs() {
    let build = plain(&format!(
        "{BOARD} min_foam(3); slab(\"block\", #{{ outline: rect(120, 80), height: 40 }});
         split(\"low\", #{{ at: level(11) }}); dowels(#{{ dia: 8, depth: 10 }});"
    ));
    let pieces = pieces(&build);
    assert_eq!(pieces.dowels.len(), 3);
    assert!(pieces.dowels.iter().all(|d| d.depth_mm == 7.0));
    in_foam(&build, pieces, 3.0);
}

#[test]
fn pegs_stand_where_the_script_says() {
    let build = built(&format!(
        "{BOARD} shrink([1, 2, 0]); slab(\"block\", #{{ outline: rect(120, 80), height: 60 }});
         split(\"low\", #{{ at: level(30) }});
         dowels(#{{ dia: 8, depth: 10, at: [[-40, 20], [40, 10], [58, 0]] }});"
    ));
    let pieces = build.pieces.as_ref().unwrap();
    assert_eq!(pieces.dowels.len(), 2);
    near(pieces.dowels[0].at.x, -40.4, 1e-9);
    near(pieces.dowels[0].at.y, 20.4, 1e-9);
    // The third is too near the edge at 60.6.
    assert_eq!(said(&build)[0].0, "few-dowels");
    assert!(build.findings[0].text.contains("58, 0"));
}

#[test]
fn pegs_cross_a_tilted_split_squarely() {
    let build = plain(
        "slab(\"block\", #{ outline: rect(90, 60), height: 90 });
         split(\"wedge\", #{ at: face(#{ at: [0, 0, 45], facing: [1, 0, 1] }) });
         dowels(#{ dia: 6, depth: 8 });",
    );
    let pieces = pieces(&build);
    assert_eq!(pieces.dowels.len(), 3);
    in_foam(&build, pieces, 3.0);
    for d in &pieces.dowels {
        near(d.axis.x, 0.5_f64.sqrt(), 1e-9);
    }
}

/// A boss of 40 by 24 set on a plate over two pegs: with what their holes hold, the pieces and the wax are the pattern.
#[test]
fn a_loose_piece_is_set_on_its_pegs() {
    let build = plain(
        "min_foam(4); let plate = slab(\"plate\", #{ outline: rect(120, 80), height: 30 });
         boss(\"post\", #{ on: plate.top, at: [10, 5], dia: 40, height: 24, fillet: 4,
             loose: #{ peg: #{ dia: 6, depth: 10 } } });",
    );
    let pieces = pieces(&build);
    assert!(said(&build).is_empty(), "{:?}", said(&build));
    assert_eq!(pieces.dowels.len(), 2);
    in_foam(&build, pieces, 4.0);
    let middle = (pieces.dowels[0].at + pieces.dowels[1].at).truncate() / 2.0;
    // Turned half round, the pegs miss their holes by twice what their middle lies off the foot's.
    assert!(
        2.0 * middle.distance(Vec2::new(10.0, 5.0)) > 3.0,
        "{middle}"
    );
    let seat = &pieces.splits[pieces.dowels[0].split];
    assert!(seat.loose && seat.name == "post");
    for d in &pieces.dowels {
        near(d.at.z, 30.0, 1e-3);
        near(d.depth_mm, 10.0, 1e-12);
        // A polygon on the circle: short by less than 2 % for its facet.
        let whole = PI * 9.0 * 20.0;
        assert!(d.volume_mm3 < whole && d.volume_mm3 > 0.97 * whole);
    }
    let foam: f64 = pieces.pieces.iter().map(|p| p.volume_mm3).sum();
    let wax: f64 = pieces.wax.iter().map(|w| w.volume_mm3).sum();
    let pegs: f64 = pieces.dowels.iter().map(|d| d.volume_mm3).sum();
    let whole = build.stages[2].solid.volume_mm3();
    assert!(((foam + wax + pegs) / whole - 1.0).abs() < 1e-6);
    // The outline of the seat is the foot's alone; the glue is less by the pegs' sections.
    assert_eq!(pieces.seats[0].loops.len(), 1);
    near(
        piece(pieces, "post").glued[0].area_mm2,
        PI * 400.0 - 2.0 * PI * 9.0,
        PI * 40.0 * 0.02 + 2.0,
    );
    let bill = bill(&build.part, pieces, 25.0);
    assert_eq!((bill.totals.dowels, bill.dowels[0].count), (2, 2));
    assert_eq!(bill.dowels[0].length_mm, 20.0);
    let set = bill.steps.iter().find(|s| s.piece == "post").unwrap();
    assert!(
        set.text
            .starts_with("glue post to body over 2 dowels; wax fillet"),
        "{}",
        set.text
    );
}

#[test]
fn pegs_under_loose_pieces_keep_to_where_there_is_foam() {
    // Ten of foam under the foot, less four that stay: pegs of ten go seven deep at most, so half.
    let thin = |height: f64, dia: f64| {
        plain(&format!(
            "min_foam(4); let plate = slab(\"plate\", #{{ outline: rect(120, 80), height: {height} }});
             let post = boss(\"post\", #{{ on: plate.top, dia: {dia}, height: 24 }});
             loose(post, #{{ peg: #{{ dia: 6, depth: 10, count: 2 }} }});"
        ))
    };
    let build = thin(10.0, 40.0);
    in_foam(&build, pieces(&build), 4.0);
    for d in &pieces(&build).dowels {
        near(d.depth_mm, 5.0, 1e-12);
    }
    // Six deep there is no foam to spare; a foot of 13 has no room beside a peg of 6 for twice 4.
    for (build, high) in [(thin(6.0, 40.0), 6.0), (thin(30.0, 13.0), 30.0)] {
        assert!(pieces(&build).dowels.is_empty());
        let finding = build
            .findings
            .iter()
            .find(|f| f.code == "few-dowels")
            .unwrap();
        assert!(
            finding
                .text
                .contains("0 of 2 pegs fit under the loose piece"),
            "{}",
            finding.text
        );
        // At the line that asks for them.
        assert_eq!(finding.features[0].1.line, 3);
        near(piece(pieces(&build), "body").volume_mm3, 9600.0 * high, 0.5);
    }
    // Without pegs asked for there are none, and splits' own stay the splits'.
    let build = plain(&format!(
        "{BOARD} let plate = slab(\"plate\", #{{ outline: rect(120, 80), height: 60 }});
         boss(\"post\", #{{ on: plate.top, dia: 40, height: 24, loose: true }});
         split(\"low\", #{{ at: level(30) }}); dowels(#{{ dia: 8, depth: 12 }});"
    ));
    let pieces = pieces(&build);
    assert_eq!(pieces.dowels.len(), 3);
    assert!(pieces.dowels.iter().all(|d| !pieces.splits[d.split].loose));
}
