//! Directed edges walked into simple loops.
//!
//! Promises: each edge is used once; a loop that comes back to a node is split there, so loops never touch themselves
//! (two loops may touch). With the inside on the left of every edge, outers come out counter-clockwise
//! and holes clockwise.

use super::Vertex;
use super::run::Run;
use crate::measure::Vec2;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// A piece of rim from one node to another, the inside on its left.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    /// Its shape, ends at the nodes.
    pub run: Run,
    /// Node where it starts.
    pub from: usize,
    /// Node where it ends.
    pub to: usize,
}

/// The loops that the edges make; none if some node has more edges in than out.
pub(super) fn traced(edges: &[Edge]) -> Option<Vec<Vec<Vertex>>> {
    let mut leaving: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut balance: BTreeMap<usize, i32> = BTreeMap::new();
    for (i, e) in edges.iter().enumerate() {
        leaving.entry(e.from).or_default().push(i);
        *balance.entry(e.from).or_default() += 1;
        *balance.entry(e.to).or_default() -= 1;
    }
    if balance.values().any(|b| *b != 0) {
        return None;
    }
    let mut used = vec![false; edges.len()];
    let mut loops = Vec::new();
    for start in 0..edges.len() {
        if used[start] {
            continue;
        }
        used[start] = true;
        let mut path = vec![start];
        while let Some(&last) = path.last() {
            let node = edges[last].to;
            if let Some(k) = path.iter().position(|&e| edges[e].from == node) {
                loops.push(
                    path.split_off(k)
                        .iter()
                        .map(|&e| vertex(&edges[e]))
                        .collect(),
                );
                continue;
            }
            let next = next(edges, last, leaving.get(&node)?, &used)?;
            used[next] = true;
            path.push(next);
        }
    }
    Some(loops)
}

fn vertex(e: &Edge) -> Vertex {
    Vertex {
        at: e.run.from,
        bulge: e.run.bulge,
    }
}

/// The free edge that bounds the same bit of inside: the first clockwise from where the walk came from.
fn next(edges: &[Edge], last: usize, leaving: &[usize], used: &[bool]) -> Option<usize> {
    let free: Vec<usize> = leaving.iter().copied().filter(|&e| !used[e]).collect();
    if free.len() < 2 {
        return free.first().copied();
    }
    let came = &edges[last].run;
    // Looking a short way along all of them tells tangent arcs apart.
    let short = free
        .iter()
        .map(|&e| edges[e].run.length())
        .fold(came.length(), f64::min)
        * 0.5;
    let back = came.point(1.0 - short / came.length()) - came.to;
    let turn = |e: usize| {
        let run = &edges[e].run;
        let way: Vec2 = run.point(short / run.length()) - run.from;
        way.angle_to(back).rem_euclid(TAU)
    };
    free.into_iter()
        .min_by(|&a, &b| turn(a).total_cmp(&turn(b)))
}
