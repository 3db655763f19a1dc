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

/// What a cut may do to an add.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Claim {
    /// It takes the add's metal.
    Takes,
    /// It leaves the add's metal alone.
    Spares,
    /// Another cut takes all that this one would: their order makes no difference.
    Either,
}

/// The sequence whose plain evaluation obeys the rule; `claim(cut, add)` says what each cut may do.
pub fn in_order(bodies: &[Ready], claim: &dyn Fn(usize, usize) -> Claim) -> Vec<Step> {
    let n = bodies.len();
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); n];
    for a in (0..n).filter(|&i| bodies[i].act == Act::Add) {
        let near = bodies[a].bounds.grown(NEAR_MM);
        for c in (0..n).filter(|&i| bodies[i].act == Act::Cut) {
            if near.meets(&bodies[c].bounds) {
                match claim(c, a) {
                    Claim::Takes => before[c].push(a),
                    Claim::Spares => before[a].push(c),
                    Claim::Either => {}
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
