//! No-fit regions of all pairs of kinds and relative turns, made when first asked for.
//!
//! The region of A and B is the Minkowski difference A - B, with A first grown by the spacing. The disc that it is grown
//! by is a polygon around the true one, at most 0.9 % too large at its corners; its sides face the axes, so that straight
//! edges along the axes come to lie exactly the spacing apart. Holes that no piece can enter are filled, and holes are
//! kept only for pairs that may use them: differences of two outlines with many holes grow out of hand.

use std::f64::consts::TAU;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

use i_overlay::core::fill_rule::FillRule;
use i_overlay::i_float::float::rect::FloatRect;
use i_triangle::float::minkowski::{MinkowskiOperand, MinkowskiSolver};

use super::field::Field;
use super::kind::{Extent, Kind, direction, signed_area};
use crate::measure::Vec2;

type Solver = MinkowskiSolver<[f64; 2], i64>;
type Operand = MinkowskiOperand<[f64; 2], i64>;

/// Sides of the polygon that stands for the spacing's disc.
const DISC_SIDES: usize = 24;

/// How much farther the corners of the disc's polygon reach than the disc: 1 / cos 7.5°.
const DISC_REACH: f64 = 1.0087;

/// An outline that the solver can't take; the index of its kind.
#[derive(Debug, Clone, Copy)]
pub(super) struct BadKind(pub(super) usize);

/// A solver with its operands, which belong to it.
struct Kit {
    solver: Solver,
    /// Each kind grown by the spacing: with its holes, and filled.
    grown: Vec<[Operand; 2]>,
    /// Each kind at each turn, likewise: `kind * steps + turn`.
    plain: Vec<[Operand; 2]>,
    /// Whether kind b may lie in a hole of kind a: `a * kinds + b`.
    enters: Vec<bool>,
    steps: usize,
}

/// Whether a kind might lie in a hole, by boxes and areas.
fn may_enter(hole: &[Vec2], kind: &Kind, spacing_mm: f64, steps: usize) -> bool {
    let room = Extent::of(hole).size();
    let fits = |e: &Extent| {
        let need = e.size() + Vec2::splat(2.0 * spacing_mm);
        if steps <= 4 {
            need.cmple(room).all() || need.cmple(Vec2::new(room.y, room.x)).all()
        } else {
            need.max_element() <= room.length()
        }
    };
    kind.rim_area < signed_area(hole).abs() && kind.extents.iter().any(fits)
}

fn arrays(loops: &[Vec<Vec2>]) -> Vec<Vec<[f64; 2]>> {
    let list = |l: &Vec<Vec2>| l.iter().map(|p| p.to_array()).collect();
    loops.iter().map(list).collect()
}

impl Kit {
    fn new(kinds: &[Kind], spacing_mm: f64, steps: usize) -> Result<Kit, BadKind> {
        let points = kinds.iter().flat_map(|k| k.loops.iter().flatten());
        let reach = points.map(|p| p.length()).fold(1.0, f64::max);
        let off_mm = kinds.iter().map(|k| k.off_mm).fold(0.0, f64::max);
        // Twice the farthest corners, with room to spare.
        let side = 2.02 * (reach + DISC_REACH * (spacing_mm + 2.0 * off_mm));
        let mut solver =
            Solver::new(FloatRect::new(-side, side, -side, side).map_err(|_| BadKind(0))?);
        let mut kit_grown = Vec::new();
        let mut plain = Vec::new();
        let mut enters = vec![false; kinds.len() * kinds.len()];
        for (a, kind) in kinds.iter().enumerate() {
            let mut kept = vec![true];
            for hole in &kind.loops[1..] {
                let mut any = false;
                for (b, other) in kinds.iter().enumerate() {
                    let fits = may_enter(hole, other, spacing_mm, steps);
                    enters[a * kinds.len() + b] |= fits;
                    any |= fits;
                }
                kept.push(any);
            }
            let some = |loops: Vec<Vec<Vec2>>, holes: bool| -> Vec<Vec<Vec2>> {
                let all = loops.into_iter().zip(&kept).enumerate();
                all.filter(|(i, (_, k))| *i == 0 || holes && **k)
                    .map(|(_, (l, _))| l)
                    .collect()
            };
            let radius = spacing_mm + kind.off_mm + off_mm;
            let whole =
                grown(&mut solver, &some(kind.loops.clone(), true), radius).ok_or(BadKind(a))?;
            let filled =
                grown(&mut solver, &some(kind.loops.clone(), false), radius).ok_or(BadKind(a))?;
            kit_grown.push([whole, filled]);
            for k in 0..steps {
                let turned = kind.turned(k, steps);
                let whole = operand(&mut solver, &some(turned.clone(), true)).ok_or(BadKind(a))?;
                let filled = operand(&mut solver, &some(turned, false)).ok_or(BadKind(a))?;
                plain.push([whole, filled]);
            }
        }
        Ok(Kit {
            solver,
            grown: kit_grown,
            plain,
            enters,
            steps,
        })
    }

    fn field(&mut self, a: usize, b: usize, turn: usize) -> Field {
        let kinds = self.grown.len();
        let first = &self.grown[a][usize::from(!self.enters[a * kinds + b])];
        let second = &self.plain[b * self.steps + turn][usize::from(!self.enters[b * kinds + a])];
        let shapes = self
            .solver
            .difference(first, second)
            .expect("the domain is twice as wide as the farthest corners");
        let list = |l: Vec<[f64; 2]>| l.into_iter().map(Vec2::from_array).collect();
        let loops: Vec<Vec<Vec2>> = shapes.into_iter().flatten().map(list).collect();
        Field::new(&loops)
    }
}

fn operand(solver: &mut Solver, loops: &[Vec<Vec2>]) -> Option<Operand> {
    solver
        .prepare(&arrays(loops), FillRule::NonZero)
        .ok()
        .flatten()
}

/// The outline grown by a disc of so much.
fn grown(solver: &mut Solver, loops: &[Vec<Vec2>], radius_mm: f64) -> Option<Operand> {
    let base = operand(solver, loops)?;
    if radius_mm <= 0.0 {
        return Some(base);
    }
    let step = TAU / DISC_SIDES as f64;
    let corner = radius_mm / (step / 2.0).cos();
    let disc = (0..DISC_SIDES).map(|i| Vec2::from_angle((i as f64 + 0.5) * step) * corner);
    let disc = operand(solver, &[disc.collect()])?;
    let sum = solver.sum(&base, &disc).ok()?;
    solver.prepare(&sum, FillRule::NonZero).ok().flatten()
}

/// A kind in a turn.
pub(super) type Turned = (usize, usize);

/// All the regions.
pub(super) struct NoFit {
    kinds: usize,
    steps: usize,
    /// Direction of x at each turn.
    directions: Vec<Vec2>,
    periods: Vec<usize>,
    /// `(a * kinds + b) * steps + turn of b relative to a`, a ≤ b.
    fields: Vec<OnceLock<Field>>,
    kit: Mutex<Kit>,
    /// Box of each kind at each turn: `kind * steps + turn`.
    extents: Vec<Extent>,
    /// How far apart two boxes may be that still interact (mm).
    pub(super) reach_mm: f64,
}

impl NoFit {
    pub(super) fn new(kinds: &[Kind], spacing_mm: f64, steps: usize) -> Result<NoFit, BadKind> {
        let mut fields = Vec::new();
        fields.resize_with(kinds.len() * kinds.len() * steps, OnceLock::new);
        let off_mm = kinds.iter().map(|k| k.off_mm).fold(0.0, f64::max);
        Ok(NoFit {
            kinds: kinds.len(),
            steps,
            directions: (0..steps).map(|k| direction(k, steps)).collect(),
            periods: kinds.iter().map(|k| k.period).collect(),
            fields,
            kit: Mutex::new(Kit::new(kinds, spacing_mm, steps)?),
            extents: kinds
                .iter()
                .flat_map(|k| k.extents.iter().copied())
                .collect(),
            reach_mm: DISC_REACH * (spacing_mm + 4.0 * off_mm),
        })
    }

    /// Makes ahead every region that the allowed turns can ask for, on so many threads.
    pub(super) fn make_all(&self, kinds: &[Kind], spacing_mm: f64, threads: usize) {
        let mut jobs = Vec::new();
        for a in 0..self.kinds {
            for b in a..self.kinds {
                let turns = kinds[a].turns.iter().flat_map(|ka| {
                    let relative =
                        move |kb: &usize| (kb + self.steps - ka) % self.steps % self.periods[b];
                    kinds[b].turns.iter().map(relative)
                });
                let mut turns: Vec<usize> = turns.collect();
                turns.sort_unstable();
                turns.dedup();
                jobs.extend(turns.into_iter().map(|t| (a, b, t)));
            }
        }
        let next = AtomicUsize::new(0);
        let work = |kit: &mut Kit| {
            while let Some(&(a, b, turn)) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                let field = kit.field(a, b, turn);
                // Two kits give the same region: whoever comes first, the content is one.
                let _ = self.fields[(a * self.kinds + b) * self.steps + turn].set(field);
            }
        };
        std::thread::scope(|s| {
            for _ in 1..threads.min(jobs.len()) {
                s.spawn(|| {
                    if let Ok(mut kit) = Kit::new(kinds, spacing_mm, self.steps) {
                        work(&mut kit);
                    }
                });
            }
            work(&mut self.kit());
        });
    }

    fn kit(&self) -> MutexGuard<'_, Kit> {
        self.kit.lock().unwrap_or_else(PoisonError::into_inner)
    }

    #[inline]
    fn field(&self, a: Turned, b: Turned) -> &Field {
        let mut turn = if b.1 >= a.1 {
            b.1 - a.1
        } else {
            b.1 + self.steps - a.1
        };
        let period = self.periods[b.0];
        while turn >= period {
            turn -= period;
        }
        self.fields[(a.0 * self.kinds + b.0) * self.steps + turn]
            .get_or_init(|| self.kit().field(a.0, b.0, turn))
    }

    /// Depth of overlap (mm) of `b` moved by `by` from `a`.
    #[inline]
    pub(super) fn depth(&self, a: Turned, b: Turned, by: Vec2) -> f64 {
        let (a, b, by) = if a.0 <= b.0 { (a, b, by) } else { (b, a, -by) };
        self.field(a, b).depth(self.inward(a, by))
    }

    /// How many corners the region of `b` about `a` has.
    pub(super) fn corners(&self, a: Turned, b: Turned) -> usize {
        let (a, b) = if a.0 <= b.0 { (a, b) } else { (b, a) };
        self.field(a, b).corners()
    }

    /// A corner of that region, as a move from `a`.
    pub(super) fn corner(&self, a: Turned, b: Turned, index: usize) -> Vec2 {
        if a.0 <= b.0 {
            self.outward(a, self.field(a, b).corner(index))
        } else {
            -self.outward(b, self.field(b, a).corner(index))
        }
    }

    /// How far `b`, moved by `by` from `a`, runs free of `a` in a unit direction, at most `most` (mm).
    pub(super) fn free_run(&self, a: Turned, b: Turned, by: Vec2, toward: Vec2, most: f64) -> f64 {
        let (a, b, by, toward) = if a.0 <= b.0 {
            (a, b, by, toward)
        } else {
            (b, a, -by, -toward)
        };
        self.field(a, b)
            .free_run(self.inward(a, by), self.inward(a, toward), most)
    }

    /// Crossings of the region's rim with the line on which the coordinate `axis` of the move is `value`, when `a` stands
    /// at a quarter turn (else none).
    pub(super) fn crossings(&self, a: Turned, b: Turned, axis: usize, value: f64) -> Vec<f64> {
        let swapped = a.0 > b.0;
        let (a, b, value) = if swapped {
            (b, a, -value)
        } else {
            (a, b, value)
        };
        let x = self.directions[a.1];
        let mut out = Vec::new();
        if x.x != 0.0 && x.y != 0.0 {
            return out;
        }
        // The line in the region's frame: its axis, and the signs of both coordinates.
        let (inner, line, other) = match (axis, x.y == 0.0) {
            (0, true) => (0, x.x, x.x),
            (_, true) => (1, x.x, x.x),
            (0, false) => (1, -x.y, x.y),
            (_, false) => (0, x.y, -x.y),
        };
        self.field(a, b).crossings(inner, value * line, &mut out);
        let sign = if swapped { -other } else { other };
        out.iter_mut().for_each(|v| *v *= sign);
        out
    }

    #[inline]
    fn inward(&self, a: Turned, v: Vec2) -> Vec2 {
        let x = self.directions[a.1];
        Vec2::new(v.x * x.x + v.y * x.y, v.y * x.x - v.x * x.y)
    }

    #[inline]
    fn outward(&self, a: Turned, v: Vec2) -> Vec2 {
        self.directions[a.1].rotate(v)
    }

    /// Box of a kind in a turn.
    #[inline]
    pub(super) fn extent(&self, a: Turned) -> &Extent {
        &self.extents[a.0 * self.steps + a.1]
    }
}
