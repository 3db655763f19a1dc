//! Feeding, the front's travel and the sand on plain bodies, against lengths and volumes by formula.

use std::f64::consts::PI;

use super::built::built;
use super::plain_solids::{cubes, cuboid, raised, shared, turned};
use foamwright::measure::Vec3;
use foamwright::pour::fields::{
    Contact, Kind, Outlook, SPEED_MM_S, Subject, Why, fields, outlook, unfilled,
};
use foamwright::shop::{Build, Stage};
use foamwright::solid::Solid;

const CELL_MM: f64 = 2.0;

fn gate(at: [f64; 3], normal: Vec3, dia_mm: f64) -> Contact {
    Contact::round(Vec3::from_array(at), normal, dia_mm, Kind::Gate, 0)
}

#[track_caller]
fn within(got: f64, want: f64, share: f64) {
    let off = (got / want - 1.0).abs();
    assert!(off <= share, "{got} is off {want} by {:.2} %", 100.0 * off);
}

#[test]
fn a_gates_modulus_is_area_over_perimeter() {
    let round = gate([0.0; 3], Vec3::Z, 20.0);
    within(round.modulus_mm(), 20.0 / 4.0, 1e-12);
    let sides = [Vec3::X * 19.0, Vec3::Y * 19.0];
    let square = Contact::rect(Vec3::ZERO, Vec3::Z, sides, Kind::Gate, 0);
    within(square.modulus_mm(), 19.0 / 4.0, 1e-12);
    assert!(square.covers(Vec3::new(9.4, -9.4, 0.1), 0.5));
    assert!(!square.covers(Vec3::new(9.6, 0.0, 0.1), 0.5));
    assert!(!square.covers(Vec3::new(0.0, 0.0, 0.6), 0.5));
}

#[test]
fn a_section_behind_a_neck_needs_a_gate_of_its_own() {
    // Two cylinders of 30 × 30, moduli 5, and a round neck of 10 × 40, modulus 2.5, between them.
    let profile = [
        [0.0, 0.0],
        [15.0, 0.0],
        [15.0, 30.0],
        [5.0, 30.0],
        [5.0, 70.0],
        [15.0, 70.0],
        [15.0, 100.0],
        [0.0, 100.0],
    ];
    let fields = fields(&shared(turned(&profile, 64)), CELL_MM);
    let spots = fields.hot_spots();
    assert_eq!(spots.len(), 2);
    let low = gate([0.0, 0.0, 0.0], -Vec3::Z, 24.0);
    let high = gate([0.0, 0.0, 100.0], Vec3::Z, 24.0);
    let one = fields.feeding(&spots, &[low]);
    for (fed, spot) in one.iter().zip(&spots) {
        assert_eq!(fed.contact, Some(0));
        if spot.at.z < 50.0 {
            assert!(fed.reached() && fed.ratio > 0.95, "{fed:?}");
        } else {
            assert!(!fed.reached(), "{fed:?}");
            // 2.5 / 5 in the neck's middle; it reads warm.
            assert!((0.5..0.7).contains(&fed.ratio), "{fed:?}");
            within(fed.neck_mm, 10.0, 0.005);
            assert!((30.0..70.0).contains(&fed.neck_at.z), "{fed:?}");
        }
        within(fed.supply, 24.0 / 4.0 / spot.modulus_mm, 1e-9);
    }
    let both = fields.feeding(&spots, &[low, high]);
    assert!(both.iter().all(|fed| fed.reached()), "{both:?}");
    let none = fields.feeding(&spots, &[]);
    assert!(none.iter().all(|f| f.contact.is_none() && !f.reached()));
}

/// A proposed gate stands flat on the cube and has 1.1 times its modulus.
#[test]
fn a_proposal_would_feed_its_spot() {
    let fields = fields(&shared(cubes()), CELL_MM);
    let spots = fields.hot_spots();
    for spot in &spots {
        let proposal = fields.propose(spot).expect("a cube has flat sides");
        within(proposal.dia_mm / 4.0, 1.1 * spot.modulus_mm, 1e-9);
        within(proposal.way_mm, 15.0, 0.01);
        let contact = Contact::round(proposal.at, proposal.facing, proposal.dia_mm, Kind::Gate, 0);
        let fed = fields.feeding(std::slice::from_ref(spot), &[contact]);
        assert!(
            fed[0].reached() && fed[0].supply >= contact.call() - 1e-9,
            "{fed:?}"
        );
    }
    // On a bar of 20 no stub of 1.1 times its modulus, 22 across, lies flat.
    let bar = shared(cuboid([20.0, 20.0, 80.0]));
    let fields = foamwright::pour::fields::fields(&bar, CELL_MM);
    assert!(fields.propose(&fields.hot_spots()[0]).is_none());
}

#[test]
fn the_front_goes_the_shortest_way() {
    // Straight through a block.
    let block = fields(&shared(cuboid([100.0, 60.0, 20.0])), CELL_MM);
    let contact = gate([0.0, 20.0, 8.0], -Vec3::X, 8.0);
    let front = block.front(&[contact]);
    assert_eq!(front.unreached(), 0);
    let last = front.last(&block).expect("there is a gate");
    assert!(last.at.x > 98.0 && last.at.y > 58.0, "{last:?}");
    within(
        last.travel_mm,
        contact.nearest(last.at).distance(last.at),
        0.015,
    );
    let raw = front.travel_mm.iter().copied().fold(0.0, f32::max);
    within(f64::from(raw), last.travel_mm, 0.015);
    within(last.seconds[0] * SPEED_MM_S[1], last.travel_mm, 1e-12);
    within(last.seconds[1] * SPEED_MM_S[0], last.travel_mm, 1e-12);
    // Round the inside corner of an angle, at (12, 12): the way unfolds to a straight line.
    let outline = [
        [0.0, 0.0],
        [90.0, 0.0],
        [90.0, 12.0],
        [12.0, 12.0],
        [12.0, 90.0],
        [0.0, 90.0],
    ];
    let angle = fields(&shared(raised(&outline, 24.0)), 1.5);
    let contact = gate([90.0, 6.0, 12.0], Vec3::X, 6.0);
    let last = angle
        .front(&[contact])
        .last(&angle)
        .expect("there is a gate");
    let corner = Vec3::new(12.0, 12.0, 0.0);
    let foot = contact.nearest(Vec3::new(12.0, 12.0, 12.0));
    let flat = |p: Vec3| (p - corner).truncate().length();
    let want = (flat(foot) + flat(last.at)).hypot(last.at.z - foot.z);
    within(last.travel_mm, want, 0.015);
}

#[test]
fn fronts_meet_on_the_far_side_of_a_ring() {
    let ring = [
        [20.0, 0.0],
        [30.0, 0.0],
        [30.0, 15.0],
        [20.0, 15.0],
        [20.0, 0.0],
    ];
    let fields = fields(&shared(turned(&ring, 96)), CELL_MM);
    let front = fields.front(&[gate([30.0, 0.0, 7.5], Vec3::X, 8.0)]);
    let seams = fields.meetings(&front, 30.0);
    assert_eq!(seams.len(), 1, "{seams:?}");
    assert!(
        seams[0].at.distance(Vec3::new(-25.0, 0.0, 7.5)) < 4.0,
        "{seams:?}"
    );
    // The ring's section.
    within(seams[0].area_mm2, 150.0, 0.3);
    let block = fields_of_block();
    assert!(block.0.meetings(&block.1, 30.0).is_empty());
}

fn fields_of_block() -> (
    foamwright::pour::fields::Fields,
    foamwright::pour::fields::Front,
) {
    let block = fields(&shared(cuboid([60.0, 40.0, 20.0])), CELL_MM);
    let front = block.front(&[gate([0.0, 20.0, 10.0], -Vec3::X, 8.0)]);
    (block, front)
}

/// A round pot with a cavity of 24 across and 24 high under a mouth.
fn pot(mouth: f64) -> Solid {
    let r = mouth / 2.0;
    turned(
        &[
            [0.0, 0.0],
            [20.0, 0.0],
            [20.0, 40.0],
            [r, 40.0],
            [r, 32.0],
            [12.0, 32.0],
            [12.0, 8.0],
            [0.0, 8.0],
        ],
        64,
    )
}

#[test]
fn sand_fills_what_lies_open_and_not_what_is_closed() {
    let cavity = PI * 144.0 * 24.0;
    // Closed: a box in a box.
    let mut closed = cuboid([40.0, 40.0, 40.0]);
    let inner = cuboid([20.0, 20.0, 20.0]);
    let first = closed.points.len() as u32;
    closed
        .points
        .extend(inner.points.iter().map(|p| *p + Vec3::splat(10.0)));
    closed.triangles.extend(
        inner
            .triangles
            .iter()
            .map(|[a, b, c]| [a + first, c + first, b + first]),
    );
    closed.features.extend(&inner.features);
    let found = unfilled(&closed, Vec3::Z, 1.0);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].why, Why::Closed);
    within(found[0].volume_mm3, 8000.0, 0.02);
    // A mouth of 2 is under the ball.
    let found = unfilled(&pot(2.0), Vec3::Z, 1.0);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].why, Why::Narrow);
    within(found[0].volume_mm3, cavity, 0.06);
    // A mouth of 8 lets sand in, and it lies at its angle under the shoulder.
    let found = unfilled(&pot(8.0), Vec3::Z, 1.0);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].why, Why::Shaken);
    // Over r from 4 to 12: 2 π r (r - 4) (tan 30° - tan 10°).
    let ring = 2.0 * PI * ((12.0_f64.powi(3) - 64.0) / 3.0 - 2.0 * (144.0 - 16.0));
    let slopes = 30.0_f64.to_radians().tan() - 10.0_f64.to_radians().tan();
    within(found[0].volume_mm3, ring * slopes, 0.15);
    // Upside down nothing gets in.
    let found = unfilled(&pot(8.0), -Vec3::Z, 1.0);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].why, Why::Level);
    within(found[0].volume_mm3, cavity + PI * 16.0 * 8.0, 0.08);
    // Open over its whole width, it fills.
    assert_eq!(unfilled(&pot(24.0), Vec3::Z, 1.0), Vec::new());
}

/// A boss at the end of a plate, gated as told: the codes and names of what is found.
fn outlook_of(gate: &str) -> Outlook {
    let build = built(&format!(
        "let plate = slab(\"plate\", #{{ outline: rect(140, 60), height: 8 }});
         let boss = boss(\"post\", #{{ on: plate.top, at: [45, 0], dia: 36, height: 30 }});
         gate(\"g\", #{{ {gate}, length: 20 }});"
    ));
    outlook_at(&build)
}

fn outlook_at(build: &Build) -> Outlook {
    let solid = |stage: Stage| &build.stage(stage).expect("it is built").solid;
    let subject = Subject {
        part: &build.part,
        casting: solid(Stage::Casting),
        finished: solid(Stage::Finished),
        gated: build.gated.as_deref().expect("it is gated"),
    };
    outlook(&subject, CELL_MM, &|| true).unwrap()
}

#[test]
fn a_heavy_boss_wants_a_gate_of_its_own() {
    let far = outlook_of("on: plate.side(\"left\"), size: [24, 7]");
    let codes: Vec<&str> = far.findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["heavy"], "{:?}", far.findings);
    let heavy = &far.findings[0];
    assert_eq!(heavy.features[0].0, "post", "{heavy:?}");
    assert!(
        heavy
            .remedy
            .contains("gate(\"post-gate\", #{ on: face(#{ at: [")
    );
    assert!(heavy.text.contains("estimated"), "{heavy:?}");
    // Chvorinov: B (V/A)², 200 to 400 s/cm².
    let modulus_cm = far.spots[0].modulus_mm / 10.0;
    within(far.freezing_s[0][0], 200.0 * modulus_cm.powi(2), 1e-9);
    within(far.freezing_s[0][1], 400.0 * modulus_cm.powi(2), 1e-9);
    // The gate's foot lies on the casting's left side, the last place beyond the boss.
    within(-far.contacts[0].at.x, 70.0, 1e-6);
    assert!(far.last.as_ref().is_some_and(|last| last.at.x > 40.0));
    // On the boss: large enough, too small, far too large is no face there.
    let codes = |gate: &str| -> Vec<&'static str> {
        let found = outlook_of(gate).findings;
        found.iter().map(|f| f.code).collect()
    };
    assert_eq!(codes("on: boss.top, dia: 30"), Vec::<&str>::new());
    assert_eq!(codes("on: boss.top, dia: 12"), ["gate-weak"]);
}

#[test]
fn a_gate_thicker_than_its_section_calls_for_is_told() {
    let build = built(
        "let bar = slab(\"bar\", #{ outline: rect(90, 60), height: 10 });
         gate(\"g\", #{ on: bar.top, dia: 40, length: 20 });",
    );
    let found = outlook_at(&build).findings;
    // Moduli 10 and about 4: more than 1.5 · 1.1 times.
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].code, "gate-thick");
}
