//! The blank that a piece is cut from, front and back: the piece in a rim of its board, held by tabs, as it comes off the
//! router. It is turned over about its long axis, in which its two holes lie; they stand unlike far out, so that it can't
//! be laid down turned round.

use std::f64::consts::TAU;
use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::foam::Blank;
use crate::measure::{Bounds, Vec2, Vec3};
use crate::pieces::FoamPiece;
use crate::solid::{BOX, Shell, Solid, SolidFault, joined, minus};

/// Width of the way round the piece where no cutter is declared (mm).
const WAY_MM: f64 = 10.0;
/// What the way is wider than the widest cutter (mm).
const ROOM_MM: f64 = 1.0;
/// How far a tab's end reaches into piece and rim (mm).
const BITE_MM: f64 = 1.0;
/// Width of a tab, at most (mm).
const TAB_MM: f64 = 15.0;
/// Height of a tab: the least, and the most (mm).
const TAB_HEIGHT_MM: [f64; 2] = [3.0, 12.0];
/// Places tried along a side for each tab.
const PLACES: usize = 12;
/// Sides of the polygon that stands for a hole.
const HOLE_SIDES: u32 = 48;

/// Blanks of all pieces where the script asks for them.
pub(super) fn make(part: &Part, pieces: &mut [FoamPiece]) -> Result<(), SolidFault> {
    let Some(wish) = &part.blank else {
        return Ok(());
    };
    let cutters = part.cutters.iter().map(|c| c.dia_mm);
    let way = cutters.reduce(f64::max).map_or(WAY_MM, |d| d + ROOM_MM);
    for piece in pieces {
        let board = piece.board.map_or(0.0, |b| part.boards[b].thickness_mm);
        piece.blank = Some(Arc::new(blank(piece, wish, way, board)?));
    }
    Ok(())
}

/// A piece in its blank, the piece lying as it does on its own.
fn blank(piece: &FoamPiece, wish: &Blank, way: f64, board_mm: f64) -> Result<Solid, SolidFault> {
    let size = piece.size_mm;
    let top = board_mm.max(size.z);
    let rim = wish.rim_mm;
    // The far hole stands farther out by two diameters, and the rim there is wider by as much.
    let farther = 2.0 * wish.dowel_dia_mm;
    let inner = Bounds {
        low: Vec3::new(-way, -way, -1.0),
        high: Vec3::new(size.x + way, size.y + way, top + 1.0),
    };
    let outer = Bounds {
        low: Vec3::new(-way - rim, -way - rim, 0.0),
        high: Vec3::new(size.x + way + rim + farther, size.y + way + rim, top),
    };
    let mut all = minus(&boxed(&outer), &boxed(&inner))?;
    for x in [-way - rim / 2.0, size.x + way + rim / 2.0 + farther] {
        let hole = hole(Vec2::new(x, size.y / 2.0), wish.dowel_dia_mm / 2.0, top);
        all = minus(&all, &hole)?;
    }
    for tab in tabs(piece, wish.tabs, way) {
        all = joined(&all, &boxed(&tab))?;
    }
    let all = joined(&all, &piece.solid.as_shell())?;
    let whole = Solid {
        features: vec![0; all.triangles.len()],
        points: all.points,
        triangles: all.triangles,
    };
    Ok(whole.settled_in_f32())
}

fn boxed(bounds: &Bounds) -> Shell {
    Shell::plain(bounds.corners().to_vec(), BOX.to_vec())
}

fn hole(at: Vec2, radius: f64, top: f64) -> Shell {
    let n = HOLE_SIDES;
    let rim = |z: f64| {
        (0..n).map(move |i| {
            let turn = Vec2::from_angle(f64::from(i) / f64::from(n) * TAU);
            (at + turn * radius).extend(z)
        })
    };
    let points: Vec<Vec3> = rim(-1.0).chain(rim(top + 1.0)).collect();
    let mut triangles = Vec::new();
    for i in 0..n {
        let j = (i + 1) % n;
        triangles.extend([[i, j, n + j], [i, n + j, n + i]]);
    }
    for i in 1..n - 1 {
        triangles.extend([[0, i + 1, i], [n, n + i, n + i + 1]]);
    }
    Shell::plain(points, triangles)
}

/// The tabs, spread over the four sides: front, back, left, right and on.
fn tabs(piece: &FoamPiece, count: usize, way: f64) -> Vec<Bounds> {
    let mut out = Vec::new();
    for k in 0..count {
        let side = k % 4;
        // How many stand on this side, and which of them this is.
        let (of, number) = ((count - side).div_ceil(4), k / 4);
        let share = (number as f64 + 0.5) / of as f64;
        out.extend(tab(piece, side, share, 1.0 / of as f64, way));
    }
    out
}

/// A tab on one side, where the piece comes nearest to it within a stretch round a share of the side.
fn tab(piece: &FoamPiece, side: usize, share: f64, stretch: f64, way: f64) -> Option<Bounds> {
    let size = piece.size_mm;
    // Across the piece from the side, and along it.
    let (length, deep) = if side < 2 {
        (size.x, size.y)
    } else {
        (size.y, size.x)
    };
    let width = TAB_MM.min(length / 3.0);
    let high = (size.z / 3.0).clamp(TAB_HEIGHT_MM[0].min(size.z), TAB_HEIGHT_MM[1]);
    let far_side = side % 2 == 1;
    // A point that lies so far along the side and so deep behind it.
    let point = |along: f64, in_by: f64, z: f64| {
        let across = if far_side { deep - in_by } else { in_by };
        if side < 2 {
            Vec3::new(along, across, z)
        } else {
            Vec3::new(across, along, z)
        }
    };
    let mut best: Option<(f64, f64, f64)> = None;
    for place in 0..PLACES {
        let off = (place as f64 + 0.5) / PLACES as f64 - 0.5;
        let along = (share + off * stretch) * length;
        let along = along.clamp(width / 2.0, length - width / 2.0);
        for z in [0.5, 0.3, 0.7].map(|s| (s * size.z).clamp(high / 2.0, size.z - high / 2.0)) {
            let mut deepest: Option<f64> = Some(0.0);
            for a in [-0.49, 0.0, 0.49] {
                for b in [-0.49, 0.0, 0.49] {
                    let from = point(along + a * width, -1.0, z + b * high);
                    let to = point(along + a * width, 0.0, z + b * high);
                    let hit = first_hit(&piece.solid, from, to - from);
                    deepest = deepest.zip(hit).map(|(d, h)| d.max(h - 1.0));
                }
            }
            // Of places as near the one nearest the middle of its stretch.
            let rank = |d: f64, along: f64| d + 1e-3 * (along - share * length).abs();
            if let Some(d) = deepest
                && best.is_none_or(|(was, at, _)| rank(d, along) < rank(was, at) - 1e-9)
            {
                best = Some((d, along, z));
            }
        }
    }
    let (deep_in, along, z) = best?;
    let ends = [
        point(along - width / 2.0, -way - BITE_MM, z - high / 2.0),
        point(along + width / 2.0, deep_in + BITE_MM, z + high / 2.0),
    ];
    Some(Bounds::of(ends))
}

/// How far along a ray a solid begins (in lengths of `way`).
fn first_hit(solid: &Solid, from: Vec3, way: Vec3) -> Option<f64> {
    let mut least: Option<f64> = None;
    for [a, b, c] in solid.corners() {
        let normal = (b - a).cross(c - a);
        let slope = normal.dot(way);
        if slope >= 0.0 {
            continue;
        }
        let t = normal.dot(a - from) / slope;
        let p = from + way * t;
        let inside = [(a, b), (b, c), (c, a)]
            .iter()
            .all(|(q, r)| (*r - *q).cross(p - *q).dot(normal) >= -1e-9 * normal.length_squared());
        if t >= 0.0 && inside && least.is_none_or(|l| t < l) {
            least = Some(t);
        }
    }
    least
}
