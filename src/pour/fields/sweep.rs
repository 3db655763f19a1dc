//! Cells that outside air reaches, and distances between cells.

use crate::pour::fields::grid::Grid;

/// A distance that no grid has.
const FAR2: f32 = 1e12;

/// The cells of a kind that are joined by faces to the rim of the grid.
pub(super) fn outside(grid: &Grid, open: &[bool]) -> Vec<bool> {
    let mut seen = vec![false; grid.cells()];
    let mut waiting = Vec::new();
    let rim = |at: [usize; 3]| (0..3).any(|k| at[k] == 0 || at[k] + 1 == grid.count[k]);
    for cell in 0..grid.cells() {
        if open[cell] && rim(grid.place(cell)) {
            seen[cell] = true;
            waiting.push(cell);
        }
    }
    let steps = grid.steps();
    while let Some(cell) = waiting.pop() {
        let at = grid.place(cell);
        for k in 0..3 {
            for (step, inside) in [
                (-steps[k], at[k] > 0),
                (steps[k], at[k] + 1 < grid.count[k]),
            ] {
                let other = (cell as isize + step) as usize;
                if inside && open[other] && !seen[other] {
                    seen[other] = true;
                    waiting.push(other);
                }
            }
        }
    }
    seen
}

/// The squared distance of each cell's middle from the nearest marked one's, in cells.
///
/// Method: the lower envelope of parabolas, one axis after the other (P. Felzenszwalb and D. Huttenlocher, "Distance
/// Transforms of Sampled Functions", 2012; from memory).
pub(super) fn distance2(grid: &Grid, marked: &[bool]) -> Vec<f32> {
    let mut out: Vec<f32> = marked.iter().map(|m| if *m { 0.0 } else { FAR2 }).collect();
    let steps = grid.steps();
    let mut envelope = Envelope::default();
    for axis in [2, 0, 1] {
        let step = steps[axis] as usize;
        let (a, b) = ((axis + 1) % 3, (axis + 2) % 3);
        for i in 0..grid.count[a] {
            for j in 0..grid.count[b] {
                let first = i * steps[a] as usize + j * steps[b] as usize;
                envelope.line(&mut out, first, step, grid.count[axis]);
            }
        }
    }
    out
}

/// The parabolas of one line that are lowest somewhere.
#[derive(Default)]
struct Envelope {
    values: Vec<f32>,
    /// Where each has its foot.
    feet: Vec<usize>,
    /// From where on each is the lowest.
    from: Vec<f32>,
}

impl Envelope {
    fn line(&mut self, out: &mut [f32], first: usize, step: usize, count: usize) {
        self.values.clear();
        self.values
            .extend((0..count).map(|i| out[first + i * step]));
        self.feet.clear();
        self.from.clear();
        for q in 0..count {
            if self.values[q] < FAR2 / 10.0 {
                self.add(q);
            }
        }
        let mut k = 0;
        for q in 0..count {
            while k + 1 < self.feet.len() && self.from[k + 1] < q as f32 {
                k += 1;
            }
            if let Some(&foot) = self.feet.get(k) {
                let off = q as f32 - foot as f32;
                out[first + q * step] = off * off + self.values[foot];
            }
        }
    }

    fn add(&mut self, q: usize) {
        let lifted = |p: usize, v: f32| v + (p * p) as f32;
        while let (Some(&p), Some(&from)) = (self.feet.last(), self.from.last()) {
            let rise = lifted(q, self.values[q]) - lifted(p, self.values[p]);
            let crossing = rise / (2.0 * (q - p) as f32);
            if crossing > from {
                self.feet.push(q);
                self.from.push(crossing);
                return;
            }
            self.feet.pop();
            self.from.pop();
        }
        self.feet.push(q);
        self.from.push(f32::MIN);
    }
}
