//! Pieces cut out of a solid one after another: against the same cuts on the whole solid, against formulas, and with what
//! was remembered.

use std::f64::consts::PI;

use foamwright::drawing::body::Act;
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Frame, Vec3};
use foamwright::solid::{Memo, Shell, Solid, Workpiece, evaluate, shell_of};

use super::plates::{FACET, bar, in_turn, plate, ready, upright};
use super::seeded::Seeded;

/// Numbers of cuts, past any feature of these parts.
const CUT: usize = 5000;

fn solid_of(count: usize, seed: u64) -> Solid {
    let bodies = ready(&plate(count, seed));
    let steps = in_turn(bodies.len());
    let done = evaluate(&bodies, &steps, &mut Memo::default());
    done.expect("a solid").solid
}

/// A bar at a random place and slant, or an upright block, about as large as a loose boss.
fn cutter(g: &mut Seeded, around: &Solid) -> Shell {
    let (low, high) = (around.bounds().low, around.bounds().high);
    let at = Vec3::new(
        g.between(low.x, high.x),
        g.between(low.y, high.y),
        g.between(low.z, high.z),
    );
    let slant = Vec3::new(g.between(-1.0, 1.0), g.between(-1.0, 1.0), 1.0).normalize();
    let body = if g.chance(0.5) {
        bar(Act::Cut, at - slant * 14.0, at + slant * 14.0, 17.3)
    } else {
        let plan = Outline::rect(21.7, 13.3).at(at.x, at.y);
        upright(Act::Cut, Frame::PART, plan, at.z - 9.1, at.z + 12.3)
    };
    shell_of(&body, FACET).expect("a sound body")
}

fn same_surface(got: &Solid, want: &Solid, what: &str) {
    assert_eq!(got.bad_edges(), 0, "{what}");
    let near = |a: f64, b: f64, slack: f64| (a - b).abs() <= slack * b.abs().max(1.0);
    let (volume, area) = (got.volume_mm3(), got.area_mm2());
    assert!(near(volume, want.volume_mm3(), 1e-8), "{what}: {volume}");
    assert!(near(area, want.area_mm2(), 1e-7), "{what}: {area}");
    let of = |solid: &Solid, feature: usize| -> f64 {
        let own = solid.corners().zip(&solid.features);
        own.filter(|(_, f)| **f == feature)
            .map(|([a, b, c], _)| (b - a).cross(c - a).length() / 2.0)
            .sum()
    };
    let mut all: Vec<usize> = want.features.iter().chain(&got.features).copied().collect();
    all.sort_unstable();
    all.dedup();
    for feature in all {
        let (got, want) = (of(got, feature), of(want, feature));
        assert!(near(got, want, 1e-6), "{what}: {feature}: {got} for {want}");
    }
}

/// Both sides of every cut are those of the exact cut of the whole solid (`parted_by`), feature by feature.
#[test]
fn cuts_are_those_of_the_whole_solid() {
    let mut taken_any = 0;
    for seed in 0..6 {
        let g = &mut Seeded(700 + seed);
        let mut whole = solid_of(24, seed);
        let mut work = Workpiece::of(&whole, &whole.bounds().grown(40.0)).expect("a solid");
        let mut memo = Memo::default();
        for cut in 0..5 {
            let what = format!("seed {seed}, cut {cut}");
            let Shell {
                points, triangles, ..
            } = cutter(g, &whole);
            let parted = whole.parted_by(&points, &triangles, CUT + cut);
            let (inside, outside) = parted.expect("two sides");
            let piece = work.cut_out(points, triangles, CUT + cut, 0.0, &mut memo);
            let piece = piece.expect("a piece");
            same_surface(&piece, &inside, &what);
            same_surface(&work.solid(), &outside, &what);
            let volume = work.volume_mm3();
            let want = outside.volume_mm3();
            assert!((volume - want).abs() < 1e-6 * want, "{what}: {volume}");
            taken_any += usize::from(inside.volume_mm3() > 1.0);
            whole = outside;
        }
    }
    assert!(taken_any > 20, "only {taken_any} of 30 cuts took anything");
}

/// π r² t, less what the inscribed polygon's arcs leave (an arc's sagitta is at most the facet).
#[test]
fn what_a_round_cut_takes_has_the_volume_of_its_formula() {
    let slab = upright(Act::Add, Frame::PART, Outline::rect(100.0, 80.0), 0.0, 12.0);
    let bodies = ready(&[slab]);
    let solid = evaluate(&bodies, &in_turn(1), &mut Memo::default()).expect("a solid");
    let mut work = Workpiece::of(&solid.solid, &solid.solid.bounds()).expect("a solid");
    let (r, t) = (10.0, 12.0);
    let through = shell_of(
        &bar(Act::Cut, Vec3::Z * -5.0, Vec3::Z * 20.0, 2.0 * r),
        FACET,
    );
    let through = through.expect("a sound body");
    let memo = &mut Memo::default();
    let plug = work.cut_out(through.points, through.triangles, CUT, 0.0, memo);
    let volume = plug.expect("a plug").volume_mm3();
    let want = PI * r * r * t;
    let short = 2.0 * FACET / r * want;
    assert!(
        volume <= want * (1.0 + 1e-12) && volume >= want - short,
        "{volume} for {want}"
    );
    assert!((volume + work.volume_mm3() - 100.0 * 80.0 * t).abs() < 1e-6);
}

/// A cutter that no surface comes near takes all of itself inside, and nothing outside.
#[test]
fn a_cutter_away_from_every_surface() {
    let slab = upright(Act::Add, Frame::PART, Outline::rect(100.0, 80.0), 0.0, 40.0);
    let bodies = ready(&[slab]);
    let solid = evaluate(&bodies, &in_turn(1), &mut Memo::default()).expect("a solid");
    let block = |z: f64| {
        let body = upright(Act::Cut, Frame::PART, Outline::rect(10.0, 8.0), z, z + 6.0);
        shell_of(&body, FACET).expect("a sound body")
    };
    let mut work = Workpiece::of(&solid.solid, &solid.solid.bounds().grown(99.0)).expect("a solid");
    let memo = &mut Memo::default();
    let (inside, above) = (block(17.0), block(70.0));
    let taken = work.cut_out(inside.points, inside.triangles, CUT, 0.0, memo);
    let taken = taken.expect("a block");
    assert!((taken.volume_mm3() - 480.0).abs() < 1e-9);
    assert!(taken.features.iter().all(|f| *f == CUT));
    let nothing = work.cut_out(above.points, above.triangles, CUT, 0.0, memo);
    assert!(nothing.expect("nothing").triangles.is_empty());
    // The block's place is a void now.
    assert!((work.volume_mm3() - (320_000.0 - 480.0)).abs() < 1e-6);
    assert!((work.solid().volume_mm3() - (320_000.0 - 480.0)).abs() < 1e-6);
}

#[test]
fn less_than_asked_for_stays_on() {
    let slab = upright(Act::Add, Frame::PART, Outline::rect(100.0, 80.0), 0.0, 40.0);
    let bodies = ready(&[slab]);
    let solid = evaluate(&bodies, &in_turn(1), &mut Memo::default()).expect("a solid");
    let mut work = Workpiece::of(&solid.solid, &solid.solid.bounds().grown(9.0)).expect("a solid");
    let body = upright(Act::Cut, Frame::PART, Outline::rect(10.0, 8.0), 38.0, 45.0);
    let cut = shell_of(&body, FACET).expect("a sound body");
    let memo = &mut Memo::default();
    let mut take = |least: f64| {
        let (points, triangles) = (cut.points.clone(), cut.triangles.clone());
        let taken = work
            .cut_out(points, triangles, CUT, least, memo)
            .expect("a cut");
        (taken.volume_mm3(), work.volume_mm3())
    };
    assert_eq!(take(161.0), (0.0, 320_000.0));
    let (taken, left) = take(159.0);
    assert!((taken - 160.0).abs() < 1e-9 && (left - 319_840.0).abs() < 1e-6);
}

/// What is remembered changes no bit of what comes out.
#[test]
fn remembered_cuts_give_the_same_bytes() {
    let whole = solid_of(24, 3);
    let memo = &mut Memo::default();
    let mut runs = Vec::new();
    let mut known = 0;
    for run in 0..3 {
        let g = &mut Seeded(77);
        let mut work = Workpiece::of(&whole, &whole.bounds().grown(40.0)).expect("a solid");
        let mut pieces = Vec::new();
        for cut in 0..5 {
            let shell = cutter(g, &whole);
            let piece = work.cut_out(shell.points, shell.triangles, CUT + cut, 0.0, memo);
            pieces.push(piece.expect("a piece"));
        }
        pieces.push(work.solid());
        runs.push(pieces);
        if run == 0 {
            known = memo.len();
            assert!(known > 0);
        }
        assert_eq!(runs[run], runs[0]);
        assert_eq!(
            memo.len(),
            known,
            "each run after the first finds all it needs"
        );
        memo.end_run();
    }
}
