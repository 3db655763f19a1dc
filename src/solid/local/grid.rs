//! Which triangles lie near a box: a grid over x and y of lists of triangle numbers.

use crate::measure::Bounds;

/// Width of a cell (mm): about that of a boss.
const CELL_MM: f64 = 15.0;
/// At most so many cells along a side.
const MOST_CELLS: f64 = 96.0;

#[derive(Debug, Clone, Default)]
pub(super) struct Grid {
    low: [f64; 2],
    cell: f64,
    count: [usize; 2],
    cells: Vec<Vec<u32>>,
}

impl Grid {
    /// A grid over a box; what lies outside falls into the cells at its rim.
    pub(super) fn over(bounds: &Bounds) -> Grid {
        let size = bounds.size();
        let longest = size.x.max(size.y).max(CELL_MM);
        let cell = CELL_MM.max(longest / MOST_CELLS);
        let count = [size.x, size.y].map(|s| (s.max(0.0) / cell) as usize + 1);
        Grid {
            low: [bounds.low.x, bounds.low.y],
            cell,
            count,
            cells: vec![Vec::new(); count[0] * count[1]],
        }
    }

    /// The span of cells that a box covers along an axis.
    fn span(&self, axis: usize, from: f64, to: f64) -> std::ops::RangeInclusive<usize> {
        // The cast takes anything below zero to zero.
        let at = |x: f64| (((x - self.low[axis]) / self.cell) as usize).min(self.count[axis] - 1);
        at(from)..=at(to)
    }

    /// Enters a triangle by its box.
    pub(super) fn enter(&mut self, triangle: u32, bounds: &Bounds) {
        for y in self.span(1, bounds.low.y, bounds.high.y) {
            for x in self.span(0, bounds.low.x, bounds.high.x) {
                self.cells[y * self.count[0] + x].push(triangle);
            }
        }
    }

    /// The triangles whose box meets `region`, in the order of their numbers; `boxed` gives a live one's box. Cells
    /// that are looked at forget the dead.
    pub(super) fn near<'a>(
        &mut self,
        region: &Bounds,
        boxed: impl Fn(u32) -> Option<&'a Bounds>,
    ) -> Vec<u32> {
        let mut near = Vec::new();
        for y in self.span(1, region.low.y, region.high.y) {
            for x in self.span(0, region.low.x, region.high.x) {
                self.cells[y * self.count[0] + x].retain(|&t| {
                    let bounds = boxed(t);
                    if bounds.is_some_and(|b| b.meets(region)) {
                        near.push(t);
                    }
                    bounds.is_some()
                });
            }
        }
        near.sort_unstable();
        near.dedup();
        near
    }
}
