//! Peaks of a value on the metal cells, and the passes between them.
//!
//! Method: cells are joined in falling order of the value (a merge tree); where two joined groups meet, the lower peak's
//! pass has been found. Ties go by cell number.

use crate::pour::fields::grid::{Grid, Metal, NONE};

/// A peak and its pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Peak {
    /// Its metal cell.
    pub slot: u32,
    /// The value there.
    pub value: f32,
    /// The highest value on the way to any higher peak; 0 where there is none in this body.
    pub pass: f32,
}

/// All peaks, in falling order.
pub(super) fn peaks(grid: &Grid, metal: &Metal, value: &[f32]) -> Vec<Peak> {
    let mut order: Vec<u32> = (0..metal.len() as u32).collect();
    order.sort_unstable_by(|&a, &b| {
        let high = |i: u32| value[i as usize];
        high(b).total_cmp(&high(a)).then(a.cmp(&b))
    });
    let around = grid.around();
    let mut groups = Groups {
        parent: vec![NONE; metal.len()],
        peak: vec![NONE; metal.len()],
    };
    let mut out: Vec<Peak> = Vec::new();
    for &slot in &order {
        groups.parent[slot as usize] = slot;
        let cell = metal.cells[slot as usize] as isize;
        let here = value[slot as usize];
        for step in &around {
            let other = metal.slot[(cell + step) as usize];
            if other != NONE && groups.parent[other as usize] != NONE {
                groups.join(slot, other, here, &mut out);
            }
        }
        let root = groups.root(slot) as usize;
        if groups.peak[root] == NONE {
            groups.peak[root] = out.len() as u32;
            out.push(Peak {
                slot,
                value: here,
                pass: 0.0,
            });
        }
    }
    out
}

/// Groups of cells, each with its highest peak.
struct Groups {
    /// The way to a group's root; the greatest u32 for a cell not joined yet.
    parent: Vec<u32>,
    /// The peak of a root.
    peak: Vec<u32>,
}

impl Groups {
    fn root(&mut self, mut i: u32) -> u32 {
        while self.parent[i as usize] != i {
            let up = self.parent[self.parent[i as usize] as usize];
            self.parent[i as usize] = up;
            i = up;
        }
        i
    }

    /// Joins the groups of two cells; the lower peak gets this value as its pass.
    fn join(&mut self, a: u32, b: u32, here: f32, peaks: &mut [Peak]) {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return;
        }
        let (pa, pb) = (self.peak[a as usize], self.peak[b as usize]);
        // Peaks are numbered in falling order, and no peak is the highest number: the smaller is the higher.
        let (high, low) = if pa < pb { (a, b) } else { (b, a) };
        let lower = pa.max(pb);
        if lower != NONE {
            peaks[lower as usize].pass = here;
        }
        self.parent[low as usize] = high;
    }
}
