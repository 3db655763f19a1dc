//! Stacks held against sums of prisms, and impossible bodies against the limits that they must quote.

use super::bodies::{built, fault, near, upright};
use super::bodies_carried::{lathe, sweep};
use foamwright::drawing::body::{Band, Shape};
use foamwright::drawing::given::Edge;
use foamwright::drawing::outline::Outline;
use foamwright::measure::Unit;
use foamwright::solid::ShapeFault;

#[test]
fn stacks_have_ledges_shared_rims_and_crossings() {
    let rect = |l: f64, w: f64| Outline::rect(l, w);
    let stack = |levels: &[(f64, Outline)]| built(Shape::Stack(levels.to_vec())).facets().volume();
    // A stepped block: flat ledge.
    let stepped = [
        (0.0, rect(40.0, 30.0)),
        (5.0, rect(40.0, 30.0)),
        (5.0, rect(20.0, 10.0)),
        (9.0, rect(20.0, 10.0)),
    ];
    near(stack(&stepped), 40.0 * 30.0 * 5.0 + 200.0 * 4.0, 1e-6);
    // A ledge that looks down (a tee slot).
    let tee = [
        (0.0, rect(10.0, 30.0)),
        (5.0, rect(10.0, 30.0)),
        (5.0, rect(20.0, 40.0)),
        (9.0, rect(20.0, 40.0)),
    ];
    near(stack(&tee), 1500.0 + 3200.0, 1e-6);
    // A ledge that shares three sides, in part.
    let moved = rect(30.0, 30.0).at(-5.0, 0.0);
    let shared = [
        (0.0, rect(40.0, 30.0)),
        (5.0, rect(40.0, 30.0)),
        (5.0, moved.clone()),
        (9.0, moved.clone()),
    ];
    near(stack(&shared), 1200.0 * 5.0 + 900.0 * 4.0, 1e-6);
    // One side slants, three stand upright.
    let slanted = [(0.0, rect(40.0, 30.0)), (6.0, moved)];
    near(stack(&slanted), 30.0 * 6.0 * 35.0, 1e-6);
    // Crossing rectangles on a ledge, and the same with a slanting wall: still closed.
    let crossed = [
        (0.0, rect(40.0, 10.0)),
        (5.0, rect(40.0, 10.0)),
        (5.0, rect(10.0, 40.0)),
        (9.0, rect(10.0, 40.0)),
    ];
    near(stack(&crossed), 400.0 * 9.0, 1e-6);
    stack(&[(0.0, rect(40.0, 10.0)), (5.0, rect(10.0, 40.0))]);
}

#[test]
fn impossible_bodies_quote_what_would_fit() {
    let boss = |edit: &dyn Fn(&mut Band)| {
        let mut band = upright(Outline::disc(20.0), 6.0);
        edit(&mut band);
        fault(Shape::Band(band))
    };
    let told = |f: &ShapeFault| {
        let hint = f.hints(Unit::Mm).first().cloned().unwrap_or_default();
        (
            f.key().unwrap_or("-"),
            format!("{}; {hint}", f.text(Unit::Mm)),
        )
    };
    // Fillet 5 and round 2 in a height of 6 (no draft): 4 is left for the fillet.
    let f = boss(&|b| (b.flare, b.edge) = (Edge::Round(5.0), Edge::Round(2.0)));
    assert_eq!(told(&f).0, "fillet");
    assert!(
        told(&f).1.contains("largest fillet that fits is 4 mm"),
        "{}",
        told(&f).1
    );
    let f = boss(&|b| b.edge = Edge::Chamfer(7.0));
    assert_eq!(told(&f).0, "chamfer");
    assert!(told(&f).1.contains("is 6 mm"), "{}", told(&f).1);
    // A rectangle 10 wide takes an edge of less than 5; a pocket 10 wide and 20 deep a draft below atan(5/20) = 14.036°.
    let narrow = upright(Outline::rect(30.0, 10.0), 20.0);
    let f = fault(Shape::Band(Band {
        edge: Edge::Chamfer(6.0),
        ..narrow.clone()
    }));
    assert_eq!(told(&f).0, "chamfer");
    assert!(
        told(&f).1.contains("is 4.99 mm") || told(&f).1.contains("is 5 mm"),
        "{}",
        told(&f).1
    );
    let f = fault(Shape::Band(Band {
        draft_deg: 20.0,
        holds: 0.0,
        ..narrow.clone()
    }));
    assert_eq!(told(&f).0, "draft");
    assert!(told(&f).1.contains("is 14.03 degrees"), "{}", told(&f).1);
    assert_eq!(
        fault(Shape::Band(Band { z1: 0.0, ..narrow })),
        ShapeFault::NoHeight { height: 0.0 }
    );

    let way = [[0.0, 0.0, 0.0], [50.0, 0.0, 0.0], [50.0, 50.0, 0.0]];
    let tunnel = |bend, d| fault(Shape::Sweep(sweep(&way, bend, Outline::disc(d))));
    let f = tunnel(Some(8.0), 20.0);
    assert!(
        matches!(f, ShapeFault::BendTooTight { point: 2, least, .. } if (least - 10.05).abs() < 1e-6),
        "{f:?}"
    );
    let f = tunnel(Some(60.0), 20.0);
    assert!(
        matches!(f, ShapeFault::LegTooShort { leg: 1, needs, bent: true, .. } if (needs - 60.0).abs() < 1e-6),
        "{f:?}"
    );
    assert!(matches!(
        tunnel(None, 101.0),
        ShapeFault::LegTooShort { bent: false, .. }
    ));
    let back = [
        [0.0, 0.0, 0.0],
        [60.0, 0.0, 0.0],
        [60.0, 60.0, 0.0],
        [30.0, 60.0, 0.0],
        [30.0, -60.0, 4.0],
    ];
    let f = fault(Shape::Sweep(sweep(&back, None, Outline::disc(10.0))));
    assert_eq!(f, ShapeFault::MeetsItself { legs: (1, 4) });
    let turned = [[0.0, 0.0, 0.0], [60.0, 0.0, 0.0], [10.0, 0.0, 0.0]];
    assert_eq!(
        fault(Shape::Sweep(sweep(&turned, None, Outline::disc(10.0)))),
        ShapeFault::TurnsBack { point: 2 }
    );

    let f = fault(lathe(&[(-2.0, 0.0, 0.0), (5.0, 0.0, 0.0), (5.0, 5.0, 0.0)]));
    assert!(
        matches!(f, ShapeFault::ProfileBehindAxis { .. }) && f.key() == Some("profile"),
        "{f:?}"
    );
    let f = fault(lathe(&[
        (2.0, 0.0, 0.0),
        (8.0, 6.0, 0.0),
        (8.0, 0.0, 0.0),
        (2.0, 9.0, 0.0),
    ]));
    assert!(matches!(f, ShapeFault::ProfileCrosses { .. }), "{f:?}");
}
