//! Feature bodies held against closed formulas: volume, area, genus.
//!
//! Bounds come from the facet: no point of the mesh stands off the true surface by more than it, so a volume is out by
//! at most facet × curved area. Plane-sided bodies must agree to rounding.

use foamwright::drawing::body::{Act, Band, Body, Drape, LathePoint, Shape};
use foamwright::drawing::given::Edge;
use foamwright::drawing::outline::{Outline, Vertex};
use foamwright::measure::{Frame, Vec2, Vec3};
use foamwright::solid::{ShapeFault, Shell, Skin, shell_of, shell_of_body};
use std::f64::consts::PI;

/// The facet of these tests (mm).
pub const FACET: f64 = 0.02;

/// An upright sharp-edged body over an outline, from 0 up to `height`; the outline holds at the top.
pub fn upright(outline: Outline, height: f64) -> Band {
    Band {
        outline,
        holds: height,
        z0: 0.0,
        z1: height,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
        above: 0.0,
    }
}

/// A shape as an added body in the part's frame.
pub fn added(shape: Shape) -> Body {
    Body::plain(0, Act::Add, Frame::PART, shape)
}

/// Holds a shell to the invariants that every body has.
pub fn sound(shell: &Shell) {
    let facets = shell.facets();
    assert!(facets.edges_pair(), "edges don't pair");
    assert!(facets.edges_hold_in_f32(), "edges don't hold in f32");
    assert!(facets.volume() > 0.0, "inside out: {}", facets.volume());
    assert_eq!(shell.skins.len(), shell.triangles.len());
}

/// Builds a shape and holds it to the invariants.
pub fn built(shape: Shape) -> Shell {
    let shell = shell_of(&added(shape), FACET).expect("a sound body");
    sound(&shell);
    shell
}

/// The fault of an impossible shape.
pub fn fault(shape: Shape) -> ShapeFault {
    shell_of(&added(shape), FACET).expect_err("an impossible body")
}

/// Asserts a value within a bound.
pub fn near(got: f64, want: f64, within: f64) {
    assert!(
        (got - want).abs() <= within,
        "got {got}, want {want} within {within}"
    );
}

/// A rectangle with round corners.
pub fn rounded_rect(l: f64, w: f64, r: f64) -> Outline {
    Outline::rect(l - 2.0 * r, w - 2.0 * r)
        .grown(r)
        .expect("a rectangle grows")
}

#[test]
fn a_block_is_exact_in_any_frame() {
    let turned = Frame::facing(Vec3::new(3.0, -4.0, 5.0), Vec3::new(1.0, 2.0, 2.0), None);
    for frame in [Frame::PART, Frame::PART.inward(), turned, turned.inward()] {
        let shape = Shape::Band(upright(Outline::rect(120.0, 50.0), 60.0));
        let shell = shell_of(&Body::plain(0, Act::Add, frame, shape), FACET).expect("a block");
        sound(&shell);
        near(shell.facets().volume(), 120.0 * 50.0 * 60.0, 1e-6);
        near(
            shell.facets().area(),
            2.0 * (120.0 * 50.0 + 120.0 * 60.0 + 50.0 * 60.0),
            1e-6,
        );
        near(shell.skin_area(Skin::Top), 6000.0, 1e-8);
        near(shell.skin_area(Skin::Foot), 6000.0, 1e-8);
        assert_eq!(
            (shell.facets().genus(), shell.facets().components()),
            (0, 1)
        );
        let top = frame.z;
        let highest = shell
            .points
            .iter()
            .map(|p| (*p - frame.origin).dot(top))
            .fold(0.0, f64::max);
        near(highest, 60.0, 1e-9);
    }
}

#[test]
fn large_faces_and_long_walls_have_extra_vertices() {
    let shell = built(Shape::Band(upright(Outline::rect(300.0, 200.0), 90.0)));
    for t in &shell.triangles {
        let [a, b, c] = t.map(|i| shell.points[i as usize]);
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        assert!(longest < 65.0, "a triangle is {longest} long");
    }
    let drum = [(0.0, 0.0), (60.0, 0.0), (60.0, 150.0), (0.0, 150.0)];
    let drum = drum.map(|(r, z)| LathePoint { r, z, bulge: 0.0 });
    let shell = built(Shape::Lathe(drum.to_vec()));
    assert!(
        shell.points.iter().any(|p| (p.z - 75.0).abs() < 20.0),
        "a drum is cut along its length"
    );
}

#[test]
fn round_corners_and_holes_make_prisms() {
    let (l, w, r, h) = (60.0, 40.0, 8.0, 25.0);
    let section = l * w - (4.0 - PI) * r * r;
    let shell = built(Shape::Band(upright(rounded_rect(l, w, r), h)));
    near(
        shell.facets().volume(),
        section * h,
        FACET * 2.0 * PI * r * h,
    );
    let rim = 2.0 * (l + w) - 8.0 * r + 2.0 * PI * r;
    // A chord is shorter than its arc by a third of what its sag is of the radius.
    near(
        shell.facets().area(),
        2.0 * section + rim * h,
        FACET * (2.0 * PI * r + 2.0 * PI * h),
    );

    let [outer, hole] = [rounded_rect(l, w, r), Outline::disc(20.0)].map(|o| o.loops()[0].clone());
    let ring = Outline::from_loops(vec![outer, hole]).expect("a hole inside");
    let shell = built(Shape::Band(upright(ring, h)));
    near(
        shell.facets().volume(),
        (section - 100.0 * PI) * h,
        FACET * 2.0 * PI * (r + 10.0) * h,
    );
    assert_eq!(shell.facets().genus(), 1);
}

#[test]
fn draft_makes_frusta() {
    let (h, deg) = (30.0, 3.0_f64);
    let t = deg.to_radians().tan();
    // A round one: π h / 3 (R² + R r + r²).
    let band = Band {
        draft_deg: deg,
        ..upright(Outline::disc(40.0), h)
    };
    let (top, foot) = (20.0, 20.0 + h * t);
    let want = PI * h / 3.0 * (top * top + top * foot + foot * foot);
    let shell = built(Shape::Band(band));
    near(shell.facets().volume(), want, FACET * 2.0 * PI * foot * h);

    // A pocket's rectangle narrows with sharp corners: the integral of (l - 2zt)(w - 2zt), exact.
    let (l, w) = (50.0, 30.0);
    let band = Band {
        draft_deg: deg,
        holds: 0.0,
        ..upright(Outline::rect(l, w), h)
    };
    let want = l * w * h - (l + w) * t * h * h + 4.0 / 3.0 * t * t * h * h * h;
    near(built(Shape::Band(band)).facets().volume(), want, 1e-6);

    // A slab's rectangle widens to its foot with round corners: Steiner's A + P d + π d².
    let band = Band {
        draft_deg: deg,
        ..upright(Outline::rect(l, w), h)
    };
    let want = l * w * h + (l + w) * t * h * h + PI / 3.0 * t * t * h * h * h;
    near(
        built(Shape::Band(band)).facets().volume(),
        want,
        FACET * PI * t * h * h,
    );
}

/// Volume of a fillet round a disc, and of the ring lost inside one: the project's check values (derived, exact):
/// 2π[(1 - π/4) r² R ± (5/6 - π/4) r³].
const RINGS: [(f64, f64, f64, f64); 3] = [
    (10.0, 3.0, 129.48649, 113.22246),
    (12.5, 5.0, 459.01792, 383.72152),
    (25.0, 6.0, 1278.60088, 1148.48872),
];

#[test]
fn fillet_rings_agree_with_the_closed_values() {
    for (big, r, around, inside) in RINGS {
        let h = 20.0;
        let bound = FACET * PI * PI * r * (big + r) + FACET * 2.0 * PI * big * h;
        let core = PI * big * big * h;
        let band = Band {
            flare: Edge::Round(r),
            ..upright(Outline::disc(2.0 * big), h)
        };
        let shell = built(Shape::Band(band));
        near(shell.facets().volume(), core + around, bound);
        assert!(shell.skin_area(Skin::Flare) > 0.0);
        let band = Band {
            edge: Edge::Round(r),
            ..upright(Outline::disc(2.0 * big), h)
        };
        let shell = built(Shape::Band(band));
        near(shell.facets().volume(), core - inside, bound);
        assert!(shell.skin_area(Skin::Edge) > 0.0);
    }
}

#[test]
fn the_fillet_ring_itself_is_true_to_a_fine_facet() {
    // At a facet of 1 µm the ring stands for itself: the core's own chords are subtracted by a plain boss.
    for (big, r, around, _) in RINGS {
        let fine = 1e-3;
        let plain = upright(Outline::disc(2.0 * big), 20.0);
        let band = Band {
            flare: Edge::Round(r),
            ..plain.clone()
        };
        let volume = |band| {
            shell_of(&added(Shape::Band(band)), fine)
                .expect("a boss")
                .facets()
                .volume()
        };
        near(
            volume(band) - PI * big * big * 20.0,
            around,
            fine * (PI * PI * r * (big + r) + 40.0 * PI * big),
        );
    }
}

#[test]
fn straight_fillets_and_rounds_along_a_rim() {
    let (l, w, rc, h, q) = (80.0, 50.0, 10.0, 20.0, 4.0);
    let section = l * w - (4.0 - PI) * rc * rc;
    let straight = 2.0 * (l + w) - 8.0 * rc;
    let corner = (1.0 - PI / 4.0) * q * q;
    let turned = |sign: f64| 2.0 * PI * (corner * rc + sign * (5.0 / 6.0 - PI / 4.0) * q.powi(3));
    let bound = FACET * (2.0 * PI * rc * h + PI / 2.0 * q * (straight + 2.0 * PI * (rc + q)));
    let foot = Band {
        flare: Edge::Round(q),
        ..upright(rounded_rect(l, w, rc), h)
    };
    let volume = built(Shape::Band(foot)).facets().volume();
    near(volume, section * h + corner * straight + turned(1.0), bound);
    let edge = Band {
        edge: Edge::Round(q),
        ..upright(rounded_rect(l, w, rc), h)
    };
    let volume = built(Shape::Band(edge)).facets().volume();
    near(
        volume,
        section * h - corner * straight - turned(-1.0),
        bound,
    );
    // Sharp corners and a chamfer: a block less a frustum's missing part, exact.
    let edge = Band {
        edge: Edge::Chamfer(q),
        ..upright(Outline::rect(l, w), h)
    };
    let cap = l * w * q - (l + w) * q * q + 4.0 / 3.0 * q * q * q;
    near(
        built(Shape::Band(edge)).facets().volume(),
        l * w * (h - q) + cap,
        1e-6,
    );
    // A chamfered mouth widens it: Steiner again.
    let mouth = Band {
        flare: Edge::Chamfer(q),
        ..upright(Outline::rect(l, w), h)
    };
    let cap = l * w * q + (l + w) * q * q + PI / 3.0 * q * q * q;
    near(
        built(Shape::Band(mouth)).facets().volume(),
        l * w * (h - q) + cap,
        FACET * PI * 2.0 * q * q,
    );
}

#[test]
fn a_fully_rounded_boss_is_a_half_ball() {
    let r = 12.0;
    let band = Band {
        edge: Edge::Round(r),
        ..upright(Outline::disc(2.0 * r), r)
    };
    let shell = built(Shape::Band(band));
    near(
        shell.facets().volume(),
        2.0 / 3.0 * PI * r * r * r,
        FACET * 2.0 * PI * r * r,
    );
}

#[test]
fn extensions_go_straight_on() {
    let (h, deg) = (20.0, 5.0_f64);
    let t = deg.to_radians().tan();
    let plain = Band {
        draft_deg: deg,
        ..upright(Outline::disc(30.0), h)
    };
    let long = Band {
        below: 3.0,
        above: 2.0,
        ..plain.clone()
    };
    let (top, foot) = (15.0, 15.0 + h * t);
    let more =
        built(Shape::Band(long)).facets().volume() - built(Shape::Band(plain)).facets().volume();
    // The easing over the planes adds less than a hundredth of a millimetre of slope.
    near(
        more,
        PI * (3.0 * foot * foot + 2.0 * top * top),
        FACET * 2.0 * PI * (5.0 * foot),
    );
}

#[test]
fn the_same_body_gives_the_same_bytes() {
    let make = || {
        let band = Band {
            flare: Edge::Round(3.0),
            draft_deg: 2.0,
            edge: Edge::Round(2.0),
            ..upright(rounded_rect(90.0, 60.0, 9.0), 30.0)
        };
        built(Shape::Band(band))
    };
    let bits = |s: &Shell| -> Vec<u64> {
        s.points
            .iter()
            .flat_map(|p| p.to_array().map(f64::to_bits))
            .collect()
    };
    let (a, b) = (make(), make());
    assert_eq!(a.triangles, b.triangles);
    assert_eq!(bits(&a), bits(&b));
}

/// Loops of a bar bent to a half ring by two arcs: for outlines with concave arcs.
pub fn half_ring(inner: f64, outer: f64) -> Outline {
    let v = |x: f64, y: f64, bulge: f64| Vertex {
        at: Vec2::new(x, y),
        bulge,
    };
    Outline::from_loops(vec![vec![
        v(inner, 0.0, 0.0),
        v(outer, 0.0, 1.0),
        v(-outer, 0.0, 0.0),
        v(-inner, 0.0, -1.0),
    ]])
    .expect("a half ring")
}

#[test]
fn concave_outlines_keep_their_fillets_true() {
    // Fillet round a half ring, by Steiner and Pappus: straight runs, arcs, two 90° corners at each end.
    let (inner, outer, h, r) = (20.0, 30.0, 15.0, 4.0);
    let area = PI / 2.0 * (outer * outer - inner * inner);
    let corner = (1.0 - PI / 4.0) * r * r;
    let third = (5.0 / 6.0 - PI / 4.0) * r * r * r;
    // Round the outside (centre side +), inside the inside (-), along two straight ends, round four sharp corners.
    let fillet = PI * (corner * outer + third)
        + PI * (corner * inner - third)
        + 2.0 * corner * (outer - inner)
        + 2.0 * PI * third;
    let band = Band {
        flare: Edge::Round(r),
        ..upright(half_ring(inner, outer), h)
    };
    let volume = built(Shape::Band(band)).facets().volume();
    let curved = PI * (inner + outer) * h + PI / 2.0 * r * (PI * (inner + outer + r) + 20.0);
    near(volume, area * h + fillet, FACET * curved);
}

#[test]
fn sizes_that_coincide_build_too() {
    let holed = |d: f64| {
        rounded_rect(60.0, 40.0, 5.0)
            .minus(&Outline::disc(d))
            .expect("a hole")
    };
    let edges = [
        Edge::Sharp,
        Edge::Round(5.0),
        Edge::Chamfer(5.0),
        Edge::Round(2.5),
    ];
    let outlines = [
        ("corner radius as the edge", rounded_rect(60.0, 40.0, 5.0)),
        ("hole as the fillet", holed(10.0)),
        ("a ring as wide as two edges", holed(30.0)),
        ("slot", Outline::obround(50.0, 20.0).expect("an obround")),
        (
            "tangent belt",
            Outline::belt(&[(Vec2::ZERO, 40.0), (Vec2::new(10.0, 0.0), 20.0)]).expect("a belt"),
        ),
        (
            "cross",
            Outline::rect(60.0, 20.0)
                .plus(&Outline::rect(20.0, 60.0))
                .expect("a cross"),
        ),
        (
            "cross with round corners",
            Outline::rect(60.0, 20.0)
                .plus(&Outline::rect(20.0, 60.0))
                .and_then(|o| o.corners(5.0))
                .expect("a cross"),
        ),
        (
            "two islands",
            Outline::disc(20.0)
                .at(-15.0, 0.0)
                .plus(&Outline::disc(20.0).at(15.0, 0.0))
                .expect("two"),
        ),
        ("half ring", half_ring(10.0, 25.0)),
        (
            "notched",
            Outline::rect(60.0, 40.0)
                .minus(&Outline::rect(10.0, 20.0).at(0.0, 10.0))
                .expect("a notch"),
        ),
    ];
    let mut told = Vec::new();
    for (name, outline) in &outlines {
        for (i, flare) in edges.into_iter().enumerate() {
            for edge in edges {
                for draft_deg in [0.0, 2.0] {
                    let band = Band {
                        flare,
                        edge,
                        draft_deg,
                        below: 0.2 * i as f64,
                        ..upright(outline.clone(), 20.0)
                    };
                    match shell_of(&added(Shape::Band(band)), FACET) {
                        Ok(shell) => sound(&shell),
                        Err(fault) => {
                            told.push(format!("{name} {flare:?} {edge:?} {draft_deg}: {fault:?}"))
                        }
                    }
                }
            }
        }
    }
    assert!(told.is_empty(), "{}", told.join("\n"));
}

#[test]
fn what_is_laid_over_a_cylinder_follows_it() {
    // A square's skirt over a round of radius 30: chords of its straight sides would stand off by over a millimetre.
    let radius = 30.0;
    let drape = Drape::Round {
        radius,
        at: Vec2::ZERO,
        axis: Vec2::X,
    };
    let square = |d: f64| Outline::rect(24.0, 24.0).grown(d).expect("grows");
    let levels = vec![
        (-0.2, square(4.0)),
        (0.0, square(4.0)),
        (1.2, square(1.2)),
        (4.0, square(0.1)),
    ];
    let body = Body {
        drape: Some(drape),
        ..added(Shape::Stack(levels))
    };
    let shell = shell_of_body(&body, FACET).expect("a skirt");
    sound(&shell);
    let height = |p: Vec3| drape.height(p.truncate());
    let ground = |p: Vec3| (p.z - height(p)).abs() < 1e-9;
    let mut checked = 0;
    for t in shell
        .triangles
        .iter()
        .zip(&shell.skins)
        .filter(|(_, s)| **s == Skin::Side)
        .map(|(t, _)| t)
    {
        let corners = t.map(|i| shell.points[i as usize]);
        for (a, b) in [(0, 1), (1, 2), (2, 0)].map(|(i, j)| (corners[i], corners[j])) {
            if ground(a) && ground(b) {
                let middle = (a + b) * 0.5;
                near(middle.y.hypot(middle.z + radius), radius, FACET);
                checked += 1;
            }
        }
    }
    assert!(checked > 100, "only {checked} edges lie on the ground");
}
