//! Pieces to lay, shared by the tests and the bench: published instances, and a made-up order of a small shop.

use std::f64::consts::TAU;

use foamwright::measure::Vec2;
use foamwright::pieces::nesting::{Board, Piece, Turns};

/// A published instance, scaled to a strip a metre wide (its unit is none in particular): its pieces, and its strip as
/// one board far too long.
pub fn strip(text: &str) -> (Vec<Piece>, Board) {
    let json: serde_json::Value = serde_json::from_str(text).expect("JSON");
    let number = |v: &serde_json::Value| v.as_f64().expect("a number");
    let width_mm = 1000.0;
    let scale = width_mm / number(&json["strip_height"]);
    let items = json["items"].as_array().expect("items");
    let piece = |item: &serde_json::Value| {
        let points = item["shape"]["data"].as_array().expect("points");
        let allowed = item["allowed_orientations"].as_array().expect("turns");
        let allowed: Vec<f64> = allowed.iter().map(number).collect();
        let mut rim: Vec<Vec2> = points
            .iter()
            .map(|p| Vec2::new(number(&p[0]), number(&p[1])) * scale)
            .collect();
        if rim.first() == rim.last() {
            rim.pop();
        }
        Piece {
            outline: vec![rim],
            count: number(&item["demand"]) as usize,
            turns: if allowed == [0.0] {
                Turns::Fixed
            } else {
                Turns::Half
            },
        }
    };
    let pieces: Vec<Piece> = items.iter().map(piece).collect();
    let board = Board {
        length_mm: 10.0 * area(&pieces) / width_mm,
        width_mm,
        margin_mm: 0.0,
        count: Some(1),
    };
    (pieces, board)
}

/// Area of the foam of all copies (mm²): holes run the other way round.
pub fn area(pieces: &[Piece]) -> f64 {
    let signed = |l: &Vec<Vec2>| {
        let next = l.iter().cycle().skip(1);
        l.iter().zip(next).map(|(p, q)| p.perp_dot(*q)).sum::<f64>() / 2.0
    };
    let one = |p: &Piece| p.outline.iter().map(signed).sum::<f64>().abs() * p.count as f64;
    pieces.iter().map(one).sum()
}

/// A circle of so many points, counter-clockwise; clockwise for a negative radius.
pub fn circle(at: Vec2, radius: f64, points: usize) -> Vec<Vec2> {
    let turn = |i: usize| i as f64 / points as f64 * TAU * radius.signum();
    (0..points)
        .map(|i| at + Vec2::from_angle(turn(i)) * radius.abs())
        .collect()
}

/// The convex hull of a hub and its ears, with a bore.
fn flange(hub: f64, reach: f64, ear: f64, ears: usize, bore: f64) -> Vec<Vec<Vec2>> {
    let mut points = circle(Vec2::ZERO, hub, 48);
    for k in 0..ears {
        let at = Vec2::from_angle(k as f64 / ears as f64 * TAU) * reach;
        points.extend(circle(at, ear, 48));
    }
    vec![hull(points), circle(Vec2::ZERO, -bore, 48)]
}

/// Convex hull, from the lowest x on, lower side first.
fn hull(mut points: Vec<Vec2>) -> Vec<Vec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut out: Vec<Vec2> = Vec::new();
    for _ in 0..2 {
        let base = out.len();
        for &q in &points {
            while out.len() >= base + 2 {
                let (o, p) = (out[out.len() - 2], out[out.len() - 1]);
                if (p - o).perp_dot(q - o) > 1e-9 {
                    break;
                }
                out.pop();
            }
            out.push(q);
        }
        out.pop();
        points.reverse();
    }
    out
}

/// A made-up order: two rings, ten flanges, two angle brackets.
pub fn shop(turns: Turns) -> Vec<Piece> {
    let piece = |outline: Vec<Vec<Vec2>>, count| Piece {
        outline,
        count,
        turns,
    };
    let ring = |r: f64, bore: f64, n| vec![circle(Vec2::ZERO, r, n), circle(Vec2::ZERO, -bore, n)];
    let angle = [
        [0.0, 0.0],
        [210.0, 0.0],
        [210.0, 60.0],
        [60.0, 60.0],
        [60.0, 210.0],
        [0.0, 210.0],
    ];
    vec![
        piece(ring(240.0, 170.0, 96), 2),
        piece(ring(130.0, 60.0, 48), 2),
        piece(flange(85.0, 130.0, 32.0, 2, 50.0), 3),
        piece(flange(60.0, 95.0, 28.0, 3, 35.0), 3),
        piece(flange(40.0, 62.0, 18.0, 4, 22.0), 2),
        piece(vec![angle.map(Vec2::from_array).to_vec()], 2),
    ]
}
