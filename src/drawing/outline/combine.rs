//! Outlines joined, cut and overlapped, with holes and any nesting.
//!
//! Method: an arrangement. All runs of all outlines are split where they meet, ends and crossings within a
//! snapping distance become one node, coincident pieces one edge. Each edge knows for either side which outlines
//! hold it; it stays if the rule differs across it, directed with the inside on its left. The edges left over
//! are walked node by node into simple loops. (The textbook overlay of planar subdivisions: de Berg et al.,
//! "Computational Geometry", chapter 2, from memory; here with arcs.)
//!
//! Promises: coincident rims, holes plugged by outers, nested regions and rims that touch come out right. Doesn't
//! promise detail finer than the snapping distance.

use super::run::Run;
use super::tidy::settled;
use super::trace::{Edge, traced};
use super::{Outline, OutlineError};
use crate::measure::{SAME_POINT_MM, Vec2};
use std::collections::BTreeMap;

/// Snapping distances (mm) in the order tried: rims that almost coincide may need a coarser or finer one.
const SNAPS: [f64; 3] = [SAME_POINT_MM, 10.0 * SAME_POINT_MM, 0.1 * SAME_POINT_MM];

impl Outline {
    /// Both together.
    ///
    /// # Errors
    /// `Failed` if the rims can't be sorted out.
    pub fn plus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        combined(&[self, o], |held| held[0] || held[1])
    }

    /// This without the other.
    ///
    /// # Errors
    /// `Empty` when nothing is left.
    pub fn minus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        combined(&[self, o], |held| held[0] && !held[1])
    }

    /// What both share.
    ///
    /// # Errors
    /// `Empty` when they share nothing.
    pub fn common(&self, o: &Outline) -> Result<Outline, OutlineError> {
        combined(&[self, o], |held| held[0] && held[1])
    }

    /// Whether `other` lies wholly inside this outline grown by `slack` mm.
    pub fn holds(&self, other: &Outline, slack: f64) -> bool {
        let ((low, high), (low2, high2)) = (self.bounds(), other.bounds());
        let room = slack + SAME_POINT_MM;
        if low2.cmplt(low - room).any() || high2.cmpgt(high + room).any() {
            return false;
        }
        let Ok(grown) = self.grown(slack) else {
            return false;
        };
        match other.minus(&grown) {
            Ok(left) => left.area() < SAME_POINT_MM * 10.0 * left.perimeter(),
            Err(why) => why == OutlineError::Empty,
        }
    }
}

/// The region where `rule` holds, given for each outline whether it holds the place.
///
/// # Errors
/// `Empty` when nothing is left; `Failed` if the edges don't close at any snapping distance.
pub(super) fn combined(
    sources: &[&Outline],
    rule: impl Fn(&[bool]) -> bool,
) -> Result<Outline, OutlineError> {
    for snap in SNAPS {
        if let Some(rings) = traced(&kept_edges(sources, &rule, snap)) {
            return settled(rings);
        }
    }
    Err(OutlineError::Failed {
        what: "rims that almost coincide".into(),
    })
}

/// A run with the outline that it belongs to and its box, grown by the snapping distance.
struct Owned {
    source: usize,
    run: Run,
    low: Vec2,
    high: Vec2,
}

impl Owned {
    fn apart(&self, other: &Owned) -> bool {
        self.low.cmpgt(other.high).any() || other.low.cmpgt(self.high).any()
    }
}

/// Pieces of one place: their run, and for each of them its outline and whether it runs the same way.
struct Shared {
    run: Run,
    ends: (usize, usize),
    owners: Vec<(usize, bool)>,
}

fn kept_edges(sources: &[&Outline], rule: &impl Fn(&[bool]) -> bool, snap: f64) -> Vec<Edge> {
    let runs: Vec<Owned> = sources
        .iter()
        .enumerate()
        .flat_map(|(source, o)| o.runs().map(move |run| (source, run)))
        .map(|(source, run)| {
            let (low, high) = run.bounds();
            let (low, high) = (low - snap, high + snap);
            Owned {
                source,
                run,
                low,
                high,
            }
        })
        .collect();
    let nodes = nodes(&runs, snap);
    let mut edges = Vec::new();
    for shared in pieces(&runs, &nodes, snap) {
        let (left, right) = sides(&shared, sources);
        let (left, right) = (rule(&left), rule(&right));
        let (a, b) = shared.ends;
        if left && !right {
            edges.push(Edge {
                run: shared.run,
                from: a,
                to: b,
            });
        } else if right && !left {
            let r = shared.run;
            edges.push(Edge {
                run: Run::new(r.to, r.from, -r.bulge),
                from: b,
                to: a,
            });
        }
    }
    edges
}

/// All ends and crossings, those within the snapping distance as one; sorted along x.
fn nodes(runs: &[Owned], snap: f64) -> Nodes {
    let mut points: Vec<Vec2> = runs.iter().map(|o| o.run.from).collect();
    for (i, a) in runs.iter().enumerate() {
        for b in &runs[i + 1..] {
            if a.source != b.source && !a.apart(b) {
                points.extend(a.run.crossings(&b.run, snap));
            }
        }
    }
    let mut nodes = Nodes::default();
    for p in points {
        nodes.add(p, snap);
    }
    nodes
}

/// Points told apart, found again by place.
#[derive(Default)]
struct Nodes {
    at: Vec<Vec2>,
    /// Node numbers by the bits of a cell of the snapping grid.
    cells: BTreeMap<(i64, i64), Vec<usize>>,
}

/// Cells of the node grid are this many snapping distances wide.
const CELL_SNAPS: f64 = 4.0;

impl Nodes {
    fn cell(p: Vec2, snap: f64) -> (i64, i64) {
        let q = (p / (snap * CELL_SNAPS)).floor();
        (q.x as i64, q.y as i64)
    }

    fn add(&mut self, p: Vec2, snap: f64) -> usize {
        let (x, y) = Nodes::cell(p, snap);
        let around = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (x + i, y + j)));
        let known = around
            .filter_map(|c| self.cells.get(&c))
            .flatten()
            .copied()
            .find(|&n| self.at[n].distance(p) <= snap);
        known.unwrap_or_else(|| {
            self.at.push(p);
            self.cells
                .entry((x, y))
                .or_default()
                .push(self.at.len() - 1);
            self.at.len() - 1
        })
    }
}

/// Every run cut at every node on it; pieces that coincide are brought together.
fn pieces(runs: &[Owned], nodes: &Nodes, snap: f64) -> Vec<Shared> {
    let mut order: Vec<usize> = (0..nodes.at.len()).collect();
    order.sort_by(|&a, &b| nodes.at[a].x.total_cmp(&nodes.at[b].x));
    let mut found: Vec<Shared> = Vec::new();
    let mut known: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for owned in runs {
        let stops = stops(owned, nodes, &order, snap);
        for pair in stops.windows(2) {
            let ((t0, a), (t1, b)) = (pair[0], pair[1]);
            if a == b {
                continue;
            }
            let run = owned.run.piece(t0, t1, nodes.at[a], nodes.at[b]);
            let middle = run.point(0.5);
            let same = known.entry((a.min(b), a.max(b))).or_default();
            let twin = same
                .iter()
                .copied()
                .find(|&i| found[i].run.point(0.5).distance(middle) <= 2.0 * snap);
            match twin {
                Some(i) => {
                    let forward = found[i].ends == (a, b);
                    found[i].owners.push((owned.source, forward));
                }
                None => {
                    same.push(found.len());
                    found.push(Shared {
                        run,
                        ends: (a, b),
                        owners: vec![(owned.source, true)],
                    });
                }
            }
        }
    }
    found
}

/// The nodes on a run with their fractions, in its order, its own ends first and last.
fn stops(owned: &Owned, nodes: &Nodes, order: &[usize], snap: f64) -> Vec<(f64, usize)> {
    let start = order.partition_point(|&n| nodes.at[n].x < owned.low.x);
    let mut stops: Vec<(f64, usize)> = order[start..]
        .iter()
        .take_while(|&&n| nodes.at[n].x <= owned.high.x)
        .filter(|&&n| owned.run.distance(nodes.at[n]) <= snap)
        .map(|&n| (owned.run.fraction(nodes.at[n]).clamp(0.0, 1.0), n))
        .collect();
    let end = |p: Vec2, t: f64| {
        let near = |n: usize| nodes.at[n].distance(p);
        stops
            .iter()
            .map(|s| s.1)
            .min_by(|&a, &b| near(a).total_cmp(&near(b)))
            .map(|n| (t, n))
    };
    let (first, last) = (end(owned.run.from, 0.0), end(owned.run.to, 1.0));
    let (Some(first), Some(last)) = (first, last) else {
        return stops;
    };
    stops.retain(|s| s.1 != first.1 && s.1 != last.1);
    stops.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    stops.insert(0, first);
    stops.push(last);
    stops
}

/// For each outline whether it holds the left and the right side of the piece.
fn sides(shared: &Shared, sources: &[&Outline]) -> (Vec<bool>, Vec<bool>) {
    let middle = shared.run.point(0.5);
    let mut left = Vec::with_capacity(sources.len());
    let mut right = Vec::with_capacity(sources.len());
    for (k, source) in sources.iter().enumerate() {
        let mut ways = shared.owners.iter().filter(|o| o.0 == k).map(|o| o.1);
        let (l, r) = match (ways.next(), ways.next()) {
            (None, _) => {
                let inside = source.contains(middle);
                (inside, inside)
            }
            (Some(forward), None) => (forward, !forward),
            // Two rims of one outline lie on each other: a slit or a seam, told by a look to either side.
            (Some(_), Some(_)) => {
                let way = shared.run.heading(0.5).perp() * (20.0 * SAME_POINT_MM);
                (source.contains(middle + way), source.contains(middle - way))
            }
        };
        left.push(l);
        right.push(r);
    }
    (left, right)
}
