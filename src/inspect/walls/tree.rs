//! A tree of boxes and cones of normals over the triangles of a mesh.
//!
//! Median split over the middles of the triangles' boxes and their normals, so that a leaf holds neighbours that
//! look the same way: a thin plate's two sides part early, and whole sides are passed over by their cone.

use std::cell::Cell;
use std::ops::Range;

use super::nearest::point_triangle;
use crate::measure::Vec3;

/// Triangles a leaf at most.
const LEAF: usize = 6;

/// What a turn of the normal by one radian is worth when the tree is split (mm).
const NORMAL_MM: f64 = 5.0;

/// The half angle of a cone that holds every direction.
const ALL: f32 = 3.2;

/// A node; its children are the next node and the one `right` places on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// Low corner of the box (mm).
    pub low: [f32; 3],
    /// High corner (mm).
    pub high: [f32; 3],
    /// Axis of the cone of normals.
    pub axis: [f32; 3],
    /// Its half angle (radians); 3.2 holds everything.
    pub half: f32,
    /// How many places on the second child lies; 0 for a leaf.
    right: u32,
    /// First triangle.
    pub start: u32,
    /// One past the last.
    pub end: u32,
}

impl Node {
    /// Whether it has no children.
    pub fn is_leaf(&self) -> bool {
        self.right == 0
    }

    /// Its triangles.
    pub fn triangles(&self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The cone's axis.
    pub fn axis(&self) -> Vec3 {
        Vec3::from_array(self.axis.map(f64::from))
    }

    /// Whether its box meets another.
    pub fn meets(&self, low: &[f32; 3], high: &[f32; 3]) -> bool {
        (0..3).all(|k| self.low[k] <= high[k] && self.high[k] >= low[k])
    }

    /// Whether some normal in the cone may turn from `axis` (of a cone `half` wide) by at least `turn` (radians).
    pub fn may_oppose(&self, axis: &[f32; 3], turn_less_half: f32) -> bool {
        let d = (0..3).map(|k| axis[k] * self.axis[k]).sum::<f32>();
        let need = turn_less_half - self.half;
        need <= 0.0 || d <= need.min(std::f32::consts::PI).cos()
    }

    /// Least and greatest of `axis · x` over the box.
    pub fn span(&self, axis: &[f32; 3]) -> (f32, f32) {
        (0..3).fold((0.0, 0.0), |(least, most), k| {
            let (a, b) = (axis[k] * self.low[k], axis[k] * self.high[k]);
            (least + a.min(b), most + a.max(b))
        })
    }

    /// Squared distance of a point from the box (mm²).
    fn distance2(&self, p: Vec3) -> f64 {
        (0..3)
            .map(|k| {
                let (low, high) = (f64::from(self.low[k]), f64::from(self.high[k]));
                let d = (low - p[k]).max(p[k] - high).max(0.0);
                d * d
            })
            .sum()
    }

    /// Whether the ray `from + s · along` meets the box for an s from 0 to `most`.
    fn on_ray(&self, from: Vec3, along: Vec3, most: f64) -> bool {
        let (mut enters, mut leaves) = (0.0_f64, most);
        for k in 0..3 {
            let (low, high) = (f64::from(self.low[k]), f64::from(self.high[k]));
            if along[k].abs() < 1e-12 {
                if from[k] < low || from[k] > high {
                    return false;
                }
                continue;
            }
            let (a, b) = ((low - from[k]) / along[k], (high - from[k]) / along[k]);
            enters = enters.max(a.min(b));
            leaves = leaves.min(a.max(b));
        }
        enters <= leaves
    }
}

/// The tree. Triangles are numbered in its order.
#[derive(Debug, Clone, Default)]
pub(super) struct Tree {
    /// In the order of a walk that enters the first child first.
    pub nodes: Vec<Node>,
}

impl Tree {
    /// The tree and the order of triangles: the first of the order is the tree's triangle 0.
    pub fn build(corners: &[[Vec3; 3]], normals: &[Vec3]) -> (Tree, Vec<u32>) {
        let keys: Vec<[f32; 6]> = corners
            .iter()
            .zip(normals)
            .map(|([a, b, c], n)| {
                let middle = (a.min(*b).min(*c) + a.max(*b).max(*c)) * 0.5;
                let n = *n * NORMAL_MM;
                [middle.x, middle.y, middle.z, n.x, n.y, n.z].map(|x| x as f32)
            })
            .collect();
        let mut order: Vec<u32> = (0..corners.len() as u32).collect();
        let maker = Maker {
            corners,
            normals,
            keys: &keys,
        };
        let nodes = if order.is_empty() {
            Vec::new()
        } else {
            maker.nodes(&mut order, 0, true)
        };
        (Tree { nodes }, order)
    }

    /// Walks the nodes that `enters` lets in by number, and calls `leaf` for each leaf so reached.
    #[inline]
    pub fn walk(&self, mut enters: impl FnMut(usize, &Node) -> bool, mut leaf: impl FnMut(&Node)) {
        if self.nodes.is_empty() {
            return;
        }
        let mut stack = [0_u32; 64];
        let mut top = 1;
        while top > 0 {
            top -= 1;
            let at = stack[top];
            let node = &self.nodes[at as usize];
            if !enters(at as usize, node) {
                continue;
            }
            if node.is_leaf() {
                leaf(node);
            } else {
                stack[top] = at + 1;
                stack[top + 1] = at + node.right;
                top += 2;
            }
        }
    }

    /// The first triangle that a ray meets within `most` mm: how far (mm) and which.
    pub fn ray(
        &self,
        corners: &[[Vec3; 3]],
        normals: &[Vec3],
        from: Vec3,
        along: Vec3,
        most: f64,
    ) -> Option<(f64, usize)> {
        let best = Cell::new(most);
        let mut hit = None;
        self.walk(
            |_, node| node.on_ray(from, along, best.get()),
            |node| {
                for i in node.triangles() {
                    let ([a, b, c], n) = (corners[i], normals[i]);
                    let slope = n.dot(along);
                    if slope.abs() < 1e-9 {
                        continue;
                    }
                    let s = (a - from).dot(n) / slope;
                    if s < 0.0 || s >= best.get() {
                        continue;
                    }
                    let x = from + along * s;
                    let inside = |p: Vec3, q: Vec3| (q - p).cross(x - p).dot(n) >= -1e-9;
                    if inside(a, b) && inside(b, c) && inside(c, a) {
                        best.set(s);
                        hit = Some((s, i));
                    }
                }
            },
        );
        hit
    }

    /// The nearest triangle within `cap` mm that `wanted` lets in: which, and the nearest point on it. A node is
    /// entered only where `enters` says so.
    pub fn nearest(
        &self,
        corners: &[[Vec3; 3]],
        p: Vec3,
        cap: f64,
        enters: impl Fn(&Node) -> bool,
        wanted: impl Fn(usize) -> bool,
    ) -> Option<(usize, Vec3)> {
        let best = Cell::new(cap * cap);
        let mut found = None;
        self.walk(
            |_, node| node.distance2(p) < best.get() && enters(node),
            |node| {
                for i in node.triangles().filter(|&i| wanted(i)) {
                    let q = point_triangle(p, &corners[i]);
                    let d = q.distance_squared(p);
                    if d < best.get() {
                        best.set(d);
                        found = Some((i, q));
                    }
                }
            },
        );
        found
    }
}

struct Maker<'a> {
    corners: &'a [[Vec3; 3]],
    normals: &'a [Vec3],
    keys: &'a [[f32; 6]],
}

impl Maker<'_> {
    /// The nodes of a run of triangles, which it puts in order; `fork` gives the first half a thread of its own.
    fn nodes(&self, order: &mut [u32], start: u32, fork: bool) -> Vec<Node> {
        if order.len() <= LEAF {
            return vec![self.leaf(order, start)];
        }
        let axis = self.widest(order);
        let middle = order.len() / 2;
        let end = start + order.len() as u32;
        let key = |i: &u32| self.keys[*i as usize][axis];
        // Ties are broken by number, so that the split is the same on every run.
        order.select_nth_unstable_by(middle, |a, b| key(a).total_cmp(&key(b)).then(a.cmp(b)));
        let (first, second) = order.split_at_mut(middle);
        let second_start = start + middle as u32;
        let (first, second) = if fork {
            std::thread::scope(|scope| {
                let thread = scope.spawn(|| self.nodes(first, start, false));
                let second = self.nodes(second, second_start, false);
                let first = thread.join();
                (
                    first.unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
                    second,
                )
            })
        } else {
            (
                self.nodes(first, start, false),
                self.nodes(second, second_start, false),
            )
        };
        let mut node = joined(&first[0], &second[0]);
        node.right = 1 + first.len() as u32;
        (node.start, node.end) = (start, end);
        let mut out = Vec::with_capacity(1 + first.len() + second.len());
        out.push(node);
        out.extend_from_slice(&first);
        out.extend_from_slice(&second);
        out
    }

    /// The key along which a run spreads most.
    fn widest(&self, order: &[u32]) -> usize {
        let (mut low, mut high) = ([f32::MAX; 6], [f32::MIN; 6]);
        for &i in order {
            for k in 0..6 {
                low[k] = low[k].min(self.keys[i as usize][k]);
                high[k] = high[k].max(self.keys[i as usize][k]);
            }
        }
        (0..6)
            .max_by(|&a, &b| (high[a] - low[a]).total_cmp(&(high[b] - low[b])))
            .unwrap_or(0)
    }

    fn leaf(&self, order: &[u32], start: u32) -> Node {
        let (mut low, mut high) = (Vec3::MAX, Vec3::MIN);
        let mut sum = Vec3::ZERO;
        for &i in order {
            for p in self.corners[i as usize] {
                low = low.min(p);
                high = high.max(p);
            }
            sum += self.normals[i as usize];
        }
        let axis = sum.normalize_or_zero();
        let half = order
            .iter()
            .map(|&i| axis.dot(self.normals[i as usize]).clamp(-1.0, 1.0).acos())
            .fold(0.0, f64::max);
        Node {
            low: low.to_array().map(below),
            high: high.to_array().map(|x| -below(-x)),
            axis: axis.to_array().map(|x| x as f32),
            half: if axis == Vec3::ZERO {
                ALL
            } else {
                half as f32 + 1e-3
            },
            right: 0,
            start,
            end: start + order.len() as u32,
        }
    }
}

/// A little less than x, as f32: no box loses what lies on its rim.
fn below(x: f64) -> f32 {
    (x - 1e-4 - x.abs() * 2e-7) as f32
}

/// The box and the cone round two nodes.
fn joined(a: &Node, b: &Node) -> Node {
    let mut out = *a;
    for k in 0..3 {
        out.low[k] = a.low[k].min(b.low[k]);
        out.high[k] = a.high[k].max(b.high[k]);
    }
    let (u, w) = (a.axis(), b.axis());
    let turn = u.dot(w).clamp(-1.0, 1.0).acos();
    let (ha, hb) = (f64::from(a.half), f64::from(b.half));
    let (axis, half) = if turn + hb <= ha {
        (u, ha)
    } else if turn + ha <= hb {
        (w, hb)
    } else {
        let half = (turn + ha + hb) / 2.0;
        let sin = turn.sin();
        if half >= 3.1 || sin <= 1e-6 {
            (u, f64::from(ALL))
        } else {
            let share = (half - ha) / turn;
            let axis = u * (((1.0 - share) * turn).sin() / sin) + w * ((share * turn).sin() / sin);
            (axis.normalize_or_zero(), half + 1e-3)
        }
    };
    out.axis = axis.to_array().map(|x| x as f32);
    out.half = half as f32;
    out
}
