//! Sums over neighbours solved for: `diagonal · x - Σ link · x(neighbour) = right side`, on packed cells.
//!
//! Method: conjugate gradients; each residual is smoothed by a V-cycle over coarser grids, whose cells are eight of the
//! next finer one joined (aggregation), the coarse answer raised by [`RAISED`], as joined cells answer too stiffly.
//! Sums run over runs of fixed length, so that the answer doesn't depend on the number of cores.

use crate::pour::fields::grid::NONE;
use crate::pour::fields::threads::fill;

/// The squared residual at which the rounds end, as a share of the first.
const ENOUGH: f64 = 1e-6;

/// Rounds never go beyond this; they take 10 to 14.
const MOST_ROUNDS: usize = 200;

/// Damping of the smoothing steps.
const DAMPED: f32 = 0.7;

/// What the coarse answer is raised by.
const RAISED: f32 = 1.5;

/// Levels aren't coarsened under this many cells.
const COARSE_ENOUGH: usize = 400;

/// Length of the runs that sums are taken over.
const RUN: usize = 8192;

/// One level of equations.
#[derive(Debug, Clone, Default)]
pub(super) struct Equations {
    /// Neighbours by place.
    pub near: Vec<[u32; 6]>,
    /// What each neighbour counts.
    pub link: Vec<[f32; 6]>,
    /// What the cell itself counts.
    pub diagonal: Vec<f32>,
    /// Each cell's place on its grid.
    pub place: Vec<[u16; 3]>,
}

/// A level with the way to the next coarser one.
struct Level {
    equations: Equations,
    /// The coarser cell that each belongs to; empty on the last level.
    parent: Vec<u32>,
}

impl Equations {
    fn apply(&self, x: &[f32], out: &mut [f32]) {
        fill(out, |start, part| {
            for (k, y) in part.iter_mut().enumerate() {
                let i = start + k;
                let mut sum = self.diagonal[i] * x[i];
                for (other, link) in self.near[i].iter().zip(&self.link[i]) {
                    if *other != NONE {
                        sum -= link * x[*other as usize];
                    }
                }
                *y = sum;
            }
        });
    }

    /// The equations of cells joined two by two by two, and which one each joins.
    fn coarser(&self) -> (Equations, Vec<u32>) {
        let size: [usize; 3] = std::array::from_fn(|k| {
            let most = self.place.iter().map(|p| p[k] / 2).max();
            usize::from(most.unwrap_or(0)) + 1
        });
        let mut known = vec![NONE; size.iter().product()];
        let mut out = Equations::default();
        let mut parent = Vec::with_capacity(self.place.len());
        for place in &self.place {
            let at = place.map(|x| x / 2);
            let [x, y, z] = at.map(usize::from);
            let slot = &mut known[(x * size[1] + y) * size[2] + z];
            if *slot == NONE {
                *slot = out.place.len() as u32;
                out.place.push(at);
            }
            parent.push(*slot);
        }
        let count = out.place.len();
        out.near = vec![[NONE; 6]; count];
        out.link = vec![[0.0; 6]; count];
        out.diagonal = vec![0.0; count];
        for (i, &up) in parent.iter().enumerate() {
            let a = up as usize;
            out.diagonal[a] += self.diagonal[i];
            for j in 0..6 {
                let other = self.near[i][j];
                if other == NONE {
                    continue;
                }
                let b = parent[other as usize];
                if up == b {
                    out.diagonal[a] -= self.link[i][j];
                } else {
                    out.near[a][j] = b;
                    out.link[a][j] += self.link[i][j];
                }
            }
        }
        (out, parent)
    }
}

fn levels(equations: Equations) -> Vec<Level> {
    let mut out = vec![Level {
        equations,
        parent: Vec::new(),
    }];
    while out.len() < 6 {
        let last = out.len() - 1;
        if out[last].equations.diagonal.len() <= COARSE_ENOUGH {
            break;
        }
        let (equations, parent) = out[last].equations.coarser();
        out[last].parent = parent;
        out.push(Level {
            equations,
            parent: Vec::new(),
        });
    }
    out
}

/// One V-cycle: an estimate of the answer to `right`.
fn cycle(levels: &[Level], right: &[f32], out: &mut [f32]) {
    let Some((level, coarser)) = levels.split_first() else {
        return;
    };
    let equations = &level.equations;
    let diagonal = &equations.diagonal;
    let mut product = vec![0.0; right.len()];
    let mut smooth = |out: &mut [f32]| {
        equations.apply(out, &mut product);
        let product = &product;
        fill(out, |start, part| {
            for (k, x) in part.iter_mut().enumerate() {
                let i = start + k;
                *x += DAMPED * (right[i] - product[i]) / diagonal[i];
            }
        });
    };
    for ((x, r), d) in out.iter_mut().zip(right).zip(diagonal) {
        *x = DAMPED * r / d;
    }
    let Some(next) = coarser.first() else {
        for _ in 0..7 {
            smooth(out);
        }
        return;
    };
    let mut left = vec![0.0; right.len()];
    equations.apply(out, &mut left);
    let mut coarse_right = vec![0.0; next.equations.diagonal.len()];
    for ((up, r), p) in level.parent.iter().zip(right).zip(&left) {
        coarse_right[*up as usize] += r - p;
    }
    let mut coarse = vec![0.0; coarse_right.len()];
    cycle(coarser, &coarse_right, &mut coarse);
    for (x, up) in out.iter_mut().zip(&level.parent) {
        *x += RAISED * coarse[*up as usize];
    }
    smooth(out);
}

/// The sum of products, over runs of fixed length.
fn dot(a: &[f32], b: &[f32]) -> f64 {
    let mut sums = vec![0.0_f64; a.len().div_ceil(RUN)];
    let run = |k: usize| k * RUN..((k + 1) * RUN).min(a.len());
    for (k, sum) in sums.iter_mut().enumerate() {
        let pairs = a[run(k)].iter().zip(&b[run(k)]);
        *sum = pairs.map(|(p, q)| f64::from(p * q)).sum();
    }
    sums.iter().sum()
}

/// Betters `x` until it solves the equations; tells how many rounds it took.
pub(super) fn solve(equations: Equations, right: &[f32], x: &mut [f32]) -> usize {
    let levels = levels(equations);
    let first = &levels[0].equations;
    let mut product = vec![0.0; x.len()];
    first.apply(x, &mut product);
    let mut left: Vec<f32> = right.iter().zip(&product).map(|(r, p)| r - p).collect();
    let mut smoothed = vec![0.0; x.len()];
    cycle(&levels, &left, &mut smoothed);
    let mut way = smoothed.clone();
    let mut size = dot(&left, &smoothed);
    let enough = ENOUGH * dot(right, x).abs().max(size);
    for round in 0..MOST_ROUNDS {
        if size <= enough {
            return round;
        }
        first.apply(&way, &mut product);
        let far = (size / dot(&way, &product)) as f32;
        for i in 0..x.len() {
            x[i] += far * way[i];
            left[i] -= far * product[i];
        }
        cycle(&levels, &left, &mut smoothed);
        let next = dot(&left, &smoothed);
        let turn = (next / size) as f32;
        size = next;
        for (w, s) in way.iter_mut().zip(&smoothed) {
            *w = s + turn * *w;
        }
    }
    MOST_ROUNDS
}
