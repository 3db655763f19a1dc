//! Every pair of surface elements that may make a wall thinner than a limit.
//!
//! Each leaf of the tree looks into the metal along its own normals, as deep as the limit: first a quarter of it, then
//! half, then all. A triangle that nearer partners cover takes no part in the later looks, so that thin fins cost no
//! more than their own thickness.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::facing::Overlap;
use super::surface::Surface;
use super::touch::Chord;
use super::tree::Node;
use crate::fault::Go;
use crate::measure::Vec3;

/// Faces up to this far from parallel make a wall (degrees).
pub(super) const WALL_DEG: f64 = 20.0;

/// Faces up to this far from parallel are looked at (degrees).
pub(super) const OBLIQUE_DEG: f64 = 62.0;

/// Threads that the search runs on.
const WORKERS: usize = 2;

/// Leaves or edges that a worker takes at a time.
const BATCH: usize = 64;

/// The looks, as shares of the limit.
const LOOKS: [f64; 3] = [0.25, 0.5, 1.0];

/// Partners up to this many times as far as the nearest cover a triangle together.
const COVER_WITHIN: f64 = 1.3;

/// A triangle is covered when this share of it is.
const COVERED: f64 = 0.98;

/// What kind of pair it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Facets up to 20° from parallel, a ball between them.
    Wall,
    /// A chord that ends at an inside edge or between facets of a bulge.
    Touch,
    /// Facets 20° to 62° from parallel.
    Oblique,
}

/// A pair of triangles with the least ball between them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    /// The ball's diameter (mm).
    pub thickness: f64,
    /// Where it touches.
    pub ends: [Vec3; 2],
    /// The triangles.
    pub triangles: [usize; 2],
    /// What kind.
    pub kind: Kind,
    /// Area over which the two face each other (mm²).
    pub area: f64,
    /// The largest ball of the pair (mm).
    pub largest: f64,
}

/// All candidates under a limit.
#[derive(Debug, Clone)]
pub(super) struct Found {
    /// In the order of the search.
    pub candidates: Vec<Candidate>,
    /// Under this (mm).
    pub limit: f64,
}

/// Runs `work` on numbers 0 to `count` on two threads, as long as it is wanted; what it adds comes out in the order of the
/// numbers.
pub(super) fn in_parallel<T: Send>(
    count: usize,
    batch: usize,
    go: Go,
    work: impl Fn(usize, &mut Vec<T>) + Sync,
) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let worker = || {
        let mut done: Vec<(usize, Vec<T>)> = Vec::new();
        loop {
            let start = next.fetch_add(batch, Ordering::Relaxed);
            if start >= count || !go() {
                return done;
            }
            let mut out = Vec::new();
            for i in start..count.min(start + batch) {
                work(i, &mut out);
            }
            if !out.is_empty() {
                done.push((start, out));
            }
        }
    };
    let mut parts: Vec<(usize, Vec<T>)> = if count <= batch {
        worker()
    } else {
        std::thread::scope(|scope| {
            let threads: Vec<_> = (0..WORKERS).map(|_| scope.spawn(worker)).collect();
            threads
                .into_iter()
                .flat_map(|thread| {
                    thread
                        .join()
                        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
                })
                .collect()
        })
    };
    parts.sort_by_key(|(start, _)| *start);
    parts.into_iter().flat_map(|(_, out)| out).collect()
}

/// Finds every candidate whose ball is smaller than `limit` mm.
pub(super) fn search(surface: &Surface, limit: f64, go: Go) -> Found {
    // How far a triangle sees (mm).
    let mut sight = vec![f64::MAX; surface.len()];
    let mut candidates: Vec<Candidate> = Vec::new();
    let mut nearer = 0.0;
    for share in LOOKS {
        let look = Look::new(surface, [nearer, limit * share], &sight);
        let leaves = &look.leaves;
        candidates.extend(in_parallel(leaves.len(), BATCH, go, |i, out| {
            look.leaf(leaves[i], out);
        }));
        if !go() {
            return Found {
                candidates: Vec::new(),
                limit,
            };
        }
        nearer = limit * share;
        cover(surface, &candidates, &mut sight);
    }
    candidates.extend(in_parallel(surface.sharp.len(), BATCH, go, |i, out| {
        let mut chords = Vec::new();
        surface.edge_chords(surface.sharp[i], limit, &mut chords);
        out.extend(chords.iter().map(touching));
    }));
    candidates.retain(|c| {
        c.thickness < limit
            && (c.kind == Kind::Touch || c.triangles.iter().all(|&t| c.thickness <= sight[t]))
    });
    Found { candidates, limit }
}

fn touching(chord: &Chord) -> Candidate {
    Candidate {
        thickness: chord.length,
        ends: chord.ends,
        triangles: chord.triangles,
        kind: Kind::Touch,
        area: 0.0,
        largest: chord.length,
    }
}

/// Shortens the sight of triangles that nearer partners cover.
fn cover(surface: &Surface, candidates: &[Candidate], sight: &mut [f64]) {
    let mut starts = vec![0_u32; surface.len() + 1];
    let walls = || candidates.iter().filter(|c| c.kind == Kind::Wall);
    for c in walls() {
        for t in c.triangles {
            starts[t + 1] += 1;
        }
    }
    for i in 0..surface.len() {
        starts[i + 1] += starts[i];
    }
    let mut next = starts.clone();
    let mut partners = vec![(0.0, 0.0, 0.0); starts[surface.len()] as usize];
    for c in walls() {
        for t in c.triangles {
            partners[next[t] as usize] = (c.thickness, c.largest, c.area);
            next[t] += 1;
        }
    }
    for i in 0..surface.len() {
        let list = &mut partners[starts[i] as usize..starts[i + 1] as usize];
        if list.is_empty() || sight[i] < f64::MAX {
            continue;
        }
        list.sort_unstable_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        let (enough, within) = (COVERED * surface.area(i), COVER_WITHIN * list[0].0);
        let (mut sum, mut farthest) = (0.0, 0.0_f64);
        for &(thickness, largest, area) in list.iter().take_while(|p| p.0 <= within) {
            sum += area;
            farthest = farthest.max(largest).max(thickness);
            if sum > enough {
                sight[i] = farthest + 0.01;
                break;
            }
        }
    }
}

/// One look into the metal: every pair with a ball between `nearer` and `deep`.
struct Look<'a> {
    surface: &'a Surface,
    nearer: f64,
    deep: f64,
    /// How far the look reaches sideways (mm).
    sideways: f64,
    /// Whether a triangle takes part.
    open: Vec<bool>,
    /// Whether any triangle of a node takes part.
    open_nodes: Vec<bool>,
    leaves: Vec<usize>,
    wall: f64,
    oblique: f64,
}

impl<'a> Look<'a> {
    fn new(surface: &'a Surface, [nearer, deep]: [f64; 2], sight: &[f64]) -> Look<'a> {
        let open: Vec<bool> = (0..surface.len())
            .map(|i| sight[i] == f64::MAX && surface.normals[i] != Vec3::ZERO)
            .collect();
        let nodes = &surface.tree.nodes;
        let open_nodes: Vec<bool> = nodes
            .iter()
            .map(|n| open[n.triangles()].iter().any(|o| *o))
            .collect();
        let leaves = (0..nodes.len())
            .filter(|&i| nodes[i].is_leaf() && open_nodes[i])
            .collect();
        let half = |deg: f64| (deg.to_radians() / 2.0).sin();
        let oblique = half(OBLIQUE_DEG);
        Look {
            surface,
            nearer,
            deep,
            sideways: deep * half(WALL_DEG).max(oblique / (1.0 + 2.0 * oblique)) + 1e-3,
            open,
            open_nodes,
            leaves,
            wall: -WALL_DEG.to_radians().cos(),
            oblique: -OBLIQUE_DEG.to_radians().cos(),
        }
    }

    /// Looks from one leaf.
    fn leaf(&self, at: usize, out: &mut Vec<Candidate>) {
        let surface = self.surface;
        let leaf = surface.tree.nodes[at];
        let own: Vec<usize> = leaf.triangles().filter(|&a| self.open[a]).collect();
        let column = Column::new(self, &leaf, &own);
        let first = leaf.start + 1;
        let mut overlap = Overlap::default();
        surface.tree.walk(
            |at, node| node.end > first && self.open_nodes[at] && column.may_hold(node),
            |node| {
                for &a in &own {
                    for b in node.triangles() {
                        if b > a && self.open[b] {
                            self.pair(a, b, &mut overlap, out);
                        }
                    }
                }
            },
        );
    }

    fn pair(&self, a: usize, b: usize, overlap: &mut Overlap, out: &mut Vec<Candidate>) {
        let surface = self.surface;
        let (x, y) = (&surface.corners[a], &surface.corners[b]);
        let (na, nb) = (surface.normals[a], surface.normals[b]);
        let d = na.dot(nb);
        if d > self.oblique {
            return;
        }
        let wall = d <= self.wall;
        // An oblique wall counts only where the thin zone is at least as deep as it is thick.
        let most = if wall {
            self.deep
        } else {
            self.deep / (1.0 + 2.0 * ((1.0 + d) * 0.5).sqrt())
        };
        if !reaches(x[0].dot(na), y.map(|p| p.dot(na)), most)
            || !reaches(y[0].dot(nb), x.map(|p| p.dot(nb)), most)
        {
            return;
        }
        let across = boxes_meet(x, y, (na - nb) * (most * 0.52));
        if across {
            overlap.find(surface, a, b, most);
        }
        if across
            && overlap.area > 1e-12
            && let Some((thickness, ends, largest)) = overlap.least(surface, a, b)
            && (wall && thickness >= self.nearer || !wall && self.in_turn(thickness, most))
            && thickness < most
        {
            out.push(Candidate {
                thickness,
                ends,
                triangles: [a, b],
                kind: if wall { Kind::Wall } else { Kind::Oblique },
                area: overlap.area,
                largest,
            });
        }
        if wall
            && let Some(chord) = surface.bulge_chord(a, b, self.deep)
            && chord.length >= self.nearer
        {
            out.push(touching(&chord));
        }
    }

    /// Whether no earlier look found an oblique wall.
    fn in_turn(&self, thickness: f64, most: f64) -> bool {
        thickness >= most * self.nearer / self.deep
    }
}

/// Whether the box of `x`, moved against `by` or a part of it, meets the box of `y`: the ends of a chord differ by the
/// ball's radius times the difference of the normals.
fn boxes_meet(x: &[Vec3; 3], y: &[Vec3; 3], by: Vec3) -> bool {
    let low = |t: &[Vec3; 3]| t[0].min(t[1]).min(t[2]);
    let high = |t: &[Vec3; 3]| t[0].max(t[1]).max(t[2]);
    let reach_low = low(x) - by.max(Vec3::ZERO) - 1e-6;
    let reach_high = high(x) - by.min(Vec3::ZERO) + 1e-6;
    reach_low.cmple(high(y)).all() && reach_high.cmpge(low(y)).all()
}

/// Whether some corner lies under a facet's plane at `level`, and none of them all deeper than `most`.
fn reaches(level: f64, corners: [f64; 3], most: f64) -> bool {
    let low = corners[0].min(corners[1]).min(corners[2]);
    let high = corners[0].max(corners[1]).max(corners[2]);
    level - low >= 1e-6 && level - high <= most
}

/// What a leaf looks into.
struct Column {
    low: [f32; 3],
    high: [f32; 3],
    axis: [f32; 3],
    /// Least and greatest of `axis · x` (mm).
    span: [f32; 2],
    /// The turn that a partner's normals must reach, less the leaf's own spread (radians).
    turn: f32,
}

impl Column {
    fn new(look: &Look, leaf: &Node, own: &[usize]) -> Column {
        let (mut low, mut high) = (Vec3::MAX, Vec3::MIN);
        let axis = leaf.axis();
        let mut span = [f64::MAX, f64::MIN];
        for &a in own {
            let n = look.surface.normals[a];
            let side = (Vec3::ONE - n * n).max(Vec3::ZERO).map(f64::sqrt) * look.sideways + 1e-3;
            for p in look.surface.corners[a] {
                let deep = p - n * look.deep;
                low = low.min(p.min(deep) - side);
                high = high.max(p.max(deep) + side);
                let along = axis.dot(p);
                span = [span[0].min(along), span[1].max(along)];
            }
        }
        let slack = f64::from(leaf.half).min(1.0) * look.deep * 1.1 + 1e-3;
        Column {
            low: low.to_array().map(|x| x as f32),
            high: high.to_array().map(|x| x as f32),
            axis: leaf.axis,
            span: [
                (span[0] - look.deep - slack) as f32,
                (span[1] + slack) as f32,
            ],
            turn: (180.0 - OBLIQUE_DEG).to_radians() as f32 - leaf.half,
        }
    }

    fn may_hold(&self, node: &Node) -> bool {
        if !node.meets(&self.low, &self.high) || !node.may_oppose(&self.axis, self.turn) {
            return false;
        }
        let (least, most) = node.span(&self.axis);
        least <= self.span[1] && most >= self.span[0]
    }
}
