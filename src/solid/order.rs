//! The order of operations: "openings stay open" as one sequence of adds and cuts.
//!
//! An add comes before each cut that may take its metal, and after each cut that spares it; only pairs whose boxes
//! overlap matter. The sequence is the stable topological order: of the bodies that wait for nothing the first comes
//! next. Where a cycle stands in the way (two bodies, each in an opening that cuts the other) one add of the cycle is
//! trimmed beforehand by the cut that waits for it, which frees that cut of it.
//!
//! Why the plain evaluation of the sequence obeys the rule: a point is metal in it if some add holds it that no later
//! cut holding the point was to take, or was taken beforehand; the cuts that come before the add are those that spare
//! it, those that it was trimmed by, and those whose order makes no difference.

use std::collections::BTreeSet;

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

/// Who waits for whom.
struct Queue {
    /// For each body, those that must come before it and haven't yet.
    waits_for: Vec<BTreeSet<usize>>,
    /// For each body, those that wait for it.
    waited_by: Vec<Vec<usize>>,
    /// Bodies that wait for nothing and haven't been taken.
    free: BTreeSet<usize>,
}

/// The sequence whose plain evaluation obeys the rule; `claim(cut, add)` says what each cut may do.
pub fn in_order(bodies: &[Ready], claim: &dyn Fn(usize, usize) -> Claim) -> Vec<Step> {
    let mut queue = Queue::of(bodies, claim);
    let mut less: Vec<Vec<usize>> = vec![Vec::new(); bodies.len()];
    let mut sequence = Vec::with_capacity(bodies.len());
    while sequence.len() < bodies.len() {
        match queue.free.pop_first() {
            Some(next) => {
                queue.take(next);
                sequence.push(next);
            }
            None => {
                let (cut, add) = queue.break_cycle(bodies);
                less[add].push(cut);
            }
        }
    }
    sequence
        .into_iter()
        .map(|body| Step {
            body,
            less: std::mem::take(&mut less[body]),
        })
        .collect()
}

impl Queue {
    fn of(bodies: &[Ready], claim: &dyn Fn(usize, usize) -> Claim) -> Queue {
        let n = bodies.len();
        let mut queue = Queue {
            waits_for: vec![BTreeSet::new(); n],
            waited_by: vec![Vec::new(); n],
            free: BTreeSet::new(),
        };
        for a in (0..n).filter(|&i| bodies[i].act == Act::Add) {
            let near = bodies[a].bounds.grown(NEAR_MM);
            for c in (0..n).filter(|&i| bodies[i].act == Act::Cut) {
                if near.meets(&bodies[c].bounds) {
                    match claim(c, a) {
                        Claim::Takes => queue.wait(c, a),
                        Claim::Spares => queue.wait(a, c),
                        Claim::Either => {}
                    }
                }
            }
        }
        queue.free = (0..n).filter(|&i| queue.waits_for[i].is_empty()).collect();
        queue
    }

    fn wait(&mut self, later: usize, sooner: usize) {
        self.waits_for[later].insert(sooner);
        self.waited_by[sooner].push(later);
    }

    /// Lets a free body go; those that waited for it alone are free.
    fn take(&mut self, body: usize) {
        for later in std::mem::take(&mut self.waited_by[body]) {
            self.let_go(later, body);
        }
    }

    fn let_go(&mut self, later: usize, sooner: usize) {
        let waited = self.waits_for[later].remove(&sooner);
        if waited && self.waits_for[later].is_empty() {
            self.free.insert(later);
        }
    }

    /// No body is free, so a cycle of adds and cuts stands in the way: its first cut stops waiting for its add.
    /// Gives that cut and that add.
    fn break_cycle(&mut self, bodies: &[Ready]) -> (usize, usize) {
        let waiting = |i: &usize| self.waits_for[*i].first().copied();
        let mut path: Vec<usize> = Vec::new();
        let mut at = (0..bodies.len())
            .find(|i| !self.waits_for[*i].is_empty())
            .expect("with nothing free somebody waits");
        while !path.contains(&at) {
            path.push(at);
            at = waiting(&at).expect("who is waited for and not free waits itself");
        }
        let cycle = path.iter().skip_while(|i| **i != at);
        let cut = *cycle
            .filter(|i| bodies[**i].act == Act::Cut)
            .min()
            .expect("adds wait for cuts alone, so a cycle holds a cut");
        let add = waiting(&cut).expect("it is on a cycle");
        self.let_go(cut, add);
        (cut, add)
    }
}
