//! Which places of a lattice a triangle covers, seen along one axis; a place on a shared edge is covered once.

use crate::measure::Vec3;

/// A lattice in the plane that the axes `u` and `v` span.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lattice {
    /// Axis across a row, and axis from row to row.
    pub axes: [usize; 2],
    /// Coordinates of the first place (mm).
    pub first: [f64; 2],
    /// From place to place (mm).
    pub pitch: f64,
    /// Places along each axis.
    pub count: [usize; 2],
}

impl Lattice {
    /// Calls `put` with each covered place, column then row, and the triangle's point over it.
    pub fn cover(&self, corners: &[Vec3; 3], mut put: impl FnMut(usize, usize, Vec3)) {
        let [u, v] = self.axes;
        let flat = corners.map(|p| [p[u], p[v]]);
        let twice = turn(flat[0], flat[1], flat[2]);
        if twice == 0.0 {
            return;
        }
        let sign = twice.signum();
        let low = flat.iter().map(|p| p[1]).fold(f64::MAX, f64::min);
        let high = flat.iter().map(|p| p[1]).fold(f64::MIN, f64::max);
        for row in self.places(1, low, high) {
            let at_v = self.first[1] + row as f64 * self.pitch;
            let (from, to) = crossed(&flat, at_v);
            for column in self.places(0, from, to) {
                let at = [self.first[0] + column as f64 * self.pitch, at_v];
                let shares =
                    [(1, 2), (2, 0), (0, 1)].map(|(i, j)| turn_once(flat[i], flat[j], at) * sign);
                if shares.iter().all(|s| *s >= 0.0) {
                    let sum: f64 = shares.iter().sum();
                    let point =
                        (corners[0] * shares[0] + corners[1] * shares[1]) + corners[2] * shares[2];
                    put(column, row, point / sum);
                }
            }
        }
    }

    /// The places between two coordinates along an axis, and one more at each end where rounding may matter.
    fn places(&self, axis: usize, low: f64, high: f64) -> std::ops::Range<usize> {
        let place = |x: f64| (x - self.first[axis]) / self.pitch;
        let from = (place(low) - 0.01).ceil().max(0.0);
        let to = (place(high) + 0.01).floor() + 1.0;
        if from >= to {
            return 0..0;
        }
        from as usize..(to as usize).min(self.count[axis])
    }
}

/// Where the row at `v` crosses a triangle.
fn crossed(flat: &[[f64; 2]; 3], v: f64) -> (f64, f64) {
    let (mut low, mut high) = (f64::MAX, f64::MIN);
    for k in 0..3 {
        let (p, q) = (flat[k], flat[(k + 1) % 3]);
        if (p[1] - v) * (q[1] - v) > 0.0 {
            continue;
        }
        let ends = if p[1] == q[1] {
            [p[0], q[0]]
        } else {
            [p[0] + (q[0] - p[0]) * (v - p[1]) / (q[1] - p[1]); 2]
        };
        low = low.min(ends[0]).min(ends[1]);
        high = high.max(ends[0]).max(ends[1]);
    }
    (low, high)
}

/// Twice the area of p, q, r; positive where they turn left.
fn turn(p: [f64; 2], q: [f64; 2], r: [f64; 2]) -> f64 {
    (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])
}

/// The same for an edge p to q and a place, worked out alike for both triangles of the edge, and never 0: a place on the
/// edge falls to one of them.
fn turn_once(p: [f64; 2], q: [f64; 2], at: [f64; 2]) -> f64 {
    let forward = (p[0], p[1]) <= (q[0], q[1]);
    let mut twice = if forward {
        turn(p, q, at)
    } else {
        turn(q, p, at)
    };
    if twice == 0.0 {
        twice = f64::MIN_POSITIVE;
    }
    if forward { twice } else { -twice }
}

/// The axis along which a direction is steepest.
pub(super) fn steepest(d: Vec3) -> usize {
    let a = d.abs();
    if a.x >= a.y && a.x >= a.z {
        0
    } else if a.y >= a.z {
        1
    } else {
        2
    }
}
