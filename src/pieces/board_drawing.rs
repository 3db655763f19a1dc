//! A board as a drawing: the outlines of its pieces and where their names are written.

use crate::drawing::Part;
use crate::measure::{Vec2, Vec3};
use crate::pieces::nesting::signed_area;
use crate::pieces::on_boards::on_board;
use crate::pieces::{Boards, Pieces};

/// Letters are at most this high (mm), and at least [`LOW_MM`].
const HIGH_MM: f64 = 10.0;

/// Letters lower than this can't be read (mm).
const LOW_MM: f64 = 2.0;

/// Width of a letter by its height, widely enough for any plain lettering.
const LETTER: f64 = 0.7;

/// A seat whose heights differ by more than this isn't level (mm).
const LEVEL_MM: f64 = 0.05;

/// Lines across a piece among which the widest is written on.
const LINES: usize = 24;

/// A board drawn in its frame: origin at a corner, x along its length, y across (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct BoardDrawing {
    /// Its number, from 1.
    pub number: usize,
    /// Its length (mm).
    pub length_mm: f64,
    /// Its width (mm).
    pub width_mm: f64,
    /// Its thickness (mm).
    pub thickness_mm: f64,
    /// From its start to the end of the farthest piece, and the margin (mm).
    pub used_length_mm: f64,
    /// The pieces on it.
    pub pieces: Vec<DrawnPiece>,
}

/// A piece drawn on its board.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnPiece {
    /// Which, by its place in the list.
    pub piece: usize,
    /// Its name.
    pub name: String,
    /// Its loops: rims counter-clockwise, holes clockwise (mm).
    pub loops: Vec<Vec<Vec2>>,
    /// Holes for its pegs: middle and diameter (mm).
    pub dowels: Vec<(Vec2, f64)>,
    /// Where loose pieces are set on it, loops from the side that looks up on the board, and from the lower one (mm).
    pub seats: [Vec<Vec<Vec2>>; 2],
    /// Middle of its name (mm).
    pub name_at: Vec2,
    /// Height of the name's letters (mm).
    pub letter_mm: f64,
}

impl DrawnPiece {
    /// Its loops that go round foam.
    pub fn rims(&self) -> impl Iterator<Item = &Vec<Vec2>> {
        self.loops.iter().filter(|l| signed_area(l) > 0.0)
    }

    /// Its loops that go round holes.
    pub fn holes(&self) -> impl Iterator<Item = &Vec<Vec2>> {
        self.loops.iter().filter(|l| signed_area(l) < 0.0)
    }
}

/// The drawings of all boards, in their order.
pub fn board_drawings(part: &Part, pieces: &Pieces, boards: &Boards) -> Vec<BoardDrawing> {
    let drawing = |(at, laid): (usize, &crate::pieces::CutBoard)| {
        let board = &part.boards[laid.board];
        let drawn = laid.placed.iter().map(|placed| {
            let turn = |l: &Vec<Vec2>| l.iter().map(|p| on_board(placed, *p)).collect();
            let loops: Vec<Vec<Vec2>> = boards.outlines[placed.piece].iter().map(turn).collect();
            let name = pieces.pieces[placed.piece].name.clone();
            let dowels = dowel_holes(pieces, placed.piece);
            let seats =
                level_seats(pieces, placed.piece).map(|side| side.iter().map(turn).collect());
            let (name_at, letter_mm) = lettering(&loops, name.chars().count());
            DrawnPiece {
                piece: placed.piece,
                name,
                loops,
                dowels: dowels
                    .into_iter()
                    .map(|(at, dia)| (on_board(placed, at), dia))
                    .collect(),
                seats,
                name_at,
                letter_mm,
            }
        });
        BoardDrawing {
            number: at + 1,
            length_mm: board.length_mm,
            width_mm: board.width_mm,
            thickness_mm: board.thickness_mm,
            used_length_mm: laid.used_length_mm,
            pieces: drawn.collect(),
        }
    };
    boards.boards.iter().enumerate().map(drawing).collect()
}

/// The upright peg holes of a piece as it lies: middle and diameter (mm).
fn dowel_holes(pieces: &Pieces, piece: usize) -> Vec<(Vec2, f64)> {
    let lay = &pieces.pieces[piece].lay;
    let own = pieces.dowels.iter().filter(|d| d.pieces.contains(&piece));
    let upright = own.filter(|d| lay.local_vector(d.axis).z.abs() > 1.0 - 1e-6);
    upright
        .map(|d| (lay.local(d.at).truncate(), d.dia_mm))
        .collect()
}

/// The outlines of what is set on a piece, as the piece lies, where they lie level: those open upward, those open downward.
fn level_seats(pieces: &Pieces, piece: usize) -> [Vec<Vec<Vec2>>; 2] {
    let lay = &pieces.pieces[piece].lay;
    let mut out = [Vec::new(), Vec::new()];
    for seat in pieces.seats.iter().filter(|s| s.on == piece) {
        let local = |p: &Vec3| lay.local(*p);
        let heights = || seat.loops.iter().flatten().map(|p| local(p).z);
        let low = heights().fold(f64::INFINITY, f64::min);
        let high = heights().fold(f64::NEG_INFINITY, f64::max);
        if high - low > LEVEL_MM {
            continue;
        }
        let set = &pieces.pieces[seat.piece];
        let middle = local(&set.lay.point(set.size_mm / 2.0)).z;
        let plan = |l: &Vec<Vec3>| l.iter().map(|p| local(p).truncate()).collect();
        out[usize::from(middle < low)].extend(seat.loops.iter().map(plan));
    }
    out
}

/// The middle of the widest run of foam along x, and letters that fit on it.
fn lettering(loops: &[Vec<Vec2>], letters: usize) -> (Vec2, f64) {
    let points = || loops.iter().flatten();
    let low = points().fold(Vec2::INFINITY, |m, p| m.min(*p));
    let high = points().fold(Vec2::NEG_INFINITY, |m, p| m.max(*p));
    let mut best = ((low + high) / 2.0, 0.0);
    for k in 0..LINES {
        // Off the points that outlines usually have.
        let y = low.y + (high.y - low.y) * (k as f64 + 0.4871) / LINES as f64;
        let mut xs: Vec<f64> = loops.iter().flat_map(|l| crossings(l, y)).collect();
        xs.sort_by(f64::total_cmp);
        for run in xs.chunks_exact(2) {
            // Near the middle is better where it costs little.
            let aside = (y - (low.y + high.y) / 2.0).abs();
            let worth = run[1] - run[0] - 0.5 * aside;
            if worth > best.1 {
                best = (Vec2::new((run[0] + run[1]) / 2.0, y), worth);
            }
        }
    }
    let wide = best.1.max(0.0) * 0.9 / (LETTER * letters.max(1) as f64);
    (best.0, wide.clamp(LOW_MM, HIGH_MM))
}

/// Where a loop crosses a line along x.
fn crossings(points: &[Vec2], y: f64) -> Vec<f64> {
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .filter(|(p, q)| (p.y > y) != (q.y > y))
        .map(|(p, q)| p.x + (y - p.y) / (q.y - p.y) * (q.x - p.x))
        .collect()
}
