//! The order of operations: "openings stay open" as one sequence of adds and cuts.
//!
//! An add comes before each cut that may take its metal, and after each cut that spares it; only pairs whose boxes
//! overlap matter. The sequence is the stable topological order. Where a cycle stands in the way (two bodies, each in
//! an opening that cuts the other) one body is trimmed by the offending opening beforehand, which frees it of it.

use crate::drawing::body::Act;
use crate::solid::Ready;

/// Boxes this near count as overlapping (mm).
const NEAR_MM: f64 = 0.01;

/// One step of the sequence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Index of the body.
    pub body: usize,
    /// Cuts taken out of the body beforehand, by index.
    pub less: Vec<usize>,
}

/// The sequence whose plain evaluation obeys the rule. `spares(cut, add)`: the cut may not take metal of the add.
pub fn in_order(bodies: &[Ready], spares: &dyn Fn(usize, usize) -> bool) -> Vec<Step> {
    let n = bodies.len();
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); n];
    for a in (0..n).filter(|&i| bodies[i].act == Act::Add) {
        let near = bodies[a].bounds.grown(NEAR_MM);
        for c in (0..n).filter(|&i| bodies[i].act == Act::Cut) {
            if near.meets(&bodies[c].bounds) {
                if spares(c, a) {
                    before[a].push(c)
                } else {
                    before[c].push(a)
                }
            }
        }
    }
    let mut less: Vec<Vec<usize>> = vec![Vec::new(); n];
    let mut done = vec![false; n];
    let mut sequence = Vec::with_capacity(n);
    while sequence.len() < n {
        let free = (0..n).find(|&i| !done[i] && before[i].iter().all(|&b| done[b]));
        let next = free.unwrap_or_else(|| break_cycle(bodies, &mut before, &mut less, &done));
        done[next] = true;
        sequence.push(next);
    }
    sequence
        .into_iter()
        .map(|body| Step {
            body,
            less: std::mem::take(&mut less[body]),
        })
        .collect()
}

/// No body is free: the first waiting cut stops waiting for its adds, which are trimmed by it beforehand instead.
fn break_cycle(
    bodies: &[Ready],
    before: &mut [Vec<usize>],
    less: &mut [Vec<usize>],
    done: &[bool],
) -> usize {
    let on_cycle = (0..bodies.len())
        .find(|&i| !done[i] && bodies[i].act == Act::Cut && before[i].iter().any(|&b| !done[b]))
        .expect("a cycle of adds and cuts holds a cut that waits");
    for &add in before[on_cycle].iter().filter(|&&b| !done[b]) {
        less[add].push(on_cycle);
    }
    before[on_cycle].clear();
    on_cycle
}
