//! Seeded parts for the evaluation: plates with bosses, bores, pockets, ribs and tunnels, and heaps of turned bodies.

use std::sync::Arc;

use foamwright::drawing::body::{Act, Band, Body, Shape, Sweep};
use foamwright::drawing::given::Edge;
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Frame, Vec2, Vec3};
use foamwright::solid::{Ready, Step, shell_of};

use super::seeded::Seeded;

/// The facet of these parts (mm).
pub const FACET: f64 = 0.02;

/// An upright sharp-edged body from `z0` to `z1` in a frame.
pub fn upright(act: Act, frame: Frame, outline: Outline, z0: f64, z1: f64) -> Body {
    let band = Band {
        outline,
        holds: z1,
        z0,
        z1,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
        above: 0.0,
    };
    Body::plain(0, act, frame, Shape::Band(band))
}

fn disc(act: Act, x: f64, y: f64, dia: f64, z0: f64, z1: f64) -> Body {
    upright(act, Frame::PART, Outline::disc(dia).at(x, y), z0, z1)
}

/// A straight round bar between two points.
pub fn bar(act: Act, from: Vec3, to: Vec3, dia: f64) -> Body {
    let sweep = Sweep {
        way: vec![from, to],
        bend: None,
        section: Outline::disc(dia),
        before: 0.0,
        after: 0.0,
        flip_u: false,
    };
    Body::plain(0, act, Frame::PART, Shape::Sweep(sweep))
}

/// Bodies made ready, each a feature of its own.
pub fn ready(bodies: &[Body]) -> Vec<Ready> {
    let made = bodies.iter().enumerate().map(|(i, body)| {
        let shell = shell_of(body, FACET).expect("a sound body");
        Ready::new(i, body.act, Arc::new(shell))
    });
    made.collect()
}

/// The bodies one after another.
pub fn in_turn(count: usize) -> Vec<Step> {
    (0..count)
        .map(|body| Step {
            body,
            less: Vec::new(),
        })
        .collect()
}

/// A plate of about square stations 42 mm apart with `count` bodies. Feet are sunk by 0.2 mm, cuts overshoot.
pub fn plate(count: usize, seed: u64) -> Vec<Body> {
    const PITCH: f64 = 42.0;
    let g = &mut Seeded(seed);
    let columns = ((count as f64 / 2.6 * 1.4).sqrt().ceil() as usize).max(2);
    let rows = (count as f64 / 2.6 / columns as f64).ceil() as usize + 2;
    let (l, w) = ((columns as f64 + 0.4) * PITCH, (rows as f64 + 0.4) * PITCH);
    let middle = Vec2::new(columns as f64 - 1.0, rows as f64 - 1.0) * (PITCH / 2.0);
    let slab = Outline::rect(l - 30.0, w - 30.0)
        .grown(15.0)
        .expect("a rounded plate")
        .at(middle.x, middle.y);
    let mut bodies = vec![upright(Act::Add, Frame::PART, slab, 0.0, 10.0)];
    for row in 0..rows {
        let mut last_radius = 0.0;
        for column in 0..columns {
            let at = Vec2::new(column as f64, row as f64) * PITCH;
            let radius = station(g, &mut bodies, at);
            if last_radius > 0.0 && radius > 0.0 && g.chance(0.6) {
                let from = at.x - PITCH + last_radius - 2.0;
                let to = at.x - radius + 2.0;
                let rib = Outline::rect(to - from, 4.0).at((from + to) / 2.0, at.y);
                bodies.push(upright(Act::Add, Frame::PART, rib, 9.8, 16.0));
            }
            last_radius = radius;
        }
        if row % 3 == 0 {
            let y = row as f64 * PITCH;
            let ends = [-18.0, columns.min(4) as f64 * PITCH - PITCH + 18.0];
            let [a, b] = ends.map(|x| Vec3::new(x, y, 19.5));
            bodies.push(bar(Act::Add, a, b, 13.0));
            bodies.push(bar(Act::Cut, a - Vec3::X, b + Vec3::X, 8.5));
        }
        if bodies.len() >= count {
            break;
        }
    }
    bodies.truncate(count);
    bodies
}

/// What stands at a station; gives its radius, 0 for a pocket.
fn station(g: &mut Seeded, bodies: &mut Vec<Body>, at: Vec2) -> f64 {
    use Act::{Add, Cut};
    let mut put = |act, dia, z0, z1| bodies.push(disc(act, at.x, at.y, dia, z0, z1));
    match g.below(5) {
        0 | 1 => {
            let dia = 20.0 + g.below(9) as f64;
            put(Add, dia, 9.8, 30.0);
            put(Cut, 8.0 + g.below(3) as f64, -1.0, 31.0);
            dia / 2.0
        }
        2 => {
            put(Add, 30.0, 9.8, 22.0);
            put(Add, 18.0, 21.8, 35.0);
            put(Cut, 8.0, 20.5, 36.0);
            15.0
        }
        3 => {
            let pocket = Outline::rect(22.0, 22.0)
                .grown(4.0)
                .expect("a rounded pocket")
                .at(at.x, at.y);
            bodies.push(upright(Cut, Frame::PART, pocket, 5.0, 11.0));
            let mut put = |act, dia, z0, z1| bodies.push(disc(act, at.x, at.y, dia, z0, z1));
            put(Add, 14.0, 4.8, 16.0);
            put(Cut, 6.0, -1.0, 17.0);
            0.0
        }
        _ => {
            put(Add, 26.0, 9.8, 25.0);
            put(Cut, 9.0, -1.0, 26.0);
            put(Cut, 16.0, 20.0, 26.0);
            13.0
        }
    }
}

/// A block with bars and blocks at any angle added to it and cut out of it.
pub fn heap(count: usize, seed: u64) -> Vec<Body> {
    let g = &mut Seeded(seed);
    let base = Outline::rect(100.3, 80.7).at(50.0, 40.0);
    let mut bodies = vec![upright(Act::Add, Frame::PART, base, 0.0, 20.9)];
    while bodies.len() < count {
        let act = if g.chance(0.5) { Act::Add } else { Act::Cut };
        let mut spot = |reach: f64, z: f64| {
            Vec3::new(
                g.between(0.0, reach),
                g.between(0.0, 0.8 * reach),
                g.between(0.0, z),
            )
        };
        let (origin, lean) = (spot(100.0, 25.0), spot(2.0, 2.0) - Vec3::new(1.0, 0.8, 1.0));
        let lean = lean.try_normalize().unwrap_or(Vec3::Z);
        if g.chance(0.5) {
            let half = lean * g.between(8.0, 25.0);
            let dia = g.between(6.0, 22.0);
            bodies.push(bar(act, origin - half, origin + half, dia));
        } else {
            let frame = Frame::facing(origin, lean, None);
            let block = Outline::rect(g.between(5.0, 55.0), g.between(5.0, 25.0));
            let half = g.between(3.0, 17.0);
            bodies.push(upright(act, frame, block, -half, half));
        }
    }
    bodies
}
