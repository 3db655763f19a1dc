//! Local surface over volume: the area at the surface, spread out into the metal.
//!
//! Method: `w - div(λ² grad w) = a` in the metal, with no flow out of it; `a` is the surface area per cell's volume, λ
//! so many times the local half thickness. The integral of w is the whole area: nothing is lost. 1/w is a length, the
//! local volume over area: half the thickness in a plate, a quarter of the thickness in a square bar.

use crate::pour::fields::grid::{Grid, Metal, NONE};
use crate::pour::fields::solver::{Equations, solve};

/// Surface over volume at each metal cell (1/mm), from the area (mm²), volume (share of a cell) and half thickness (mm)
/// of each. `reach` is λ in half thicknesses.
pub(super) fn spread(
    grid: &Grid,
    metal: &Metal,
    [area_mm2, volume, half_mm]: [&[f32]; 3],
    reach: f32,
) -> Vec<f32> {
    let cell = grid.cell_mm as f32;
    let length2: Vec<f32> = half_mm.iter().map(|r| (reach * r / cell).powi(2)).collect();
    let mut diagonal = volume.to_vec();
    let mut link = vec![[0.0; 6]; metal.len()];
    for (i, near) in metal.near.iter().enumerate() {
        for (j, &other) in near.iter().enumerate() {
            if other != NONE {
                link[i][j] = (length2[i] + length2[other as usize]) / 2.0;
                diagonal[i] += link[i][j];
            }
        }
    }
    let cells = metal.cells.iter();
    let equations = Equations {
        near: metal.near.clone(),
        link,
        diagonal,
        place: cells
            .map(|&c| grid.place(c as usize).map(|x| x as u16))
            .collect(),
    };
    let right: Vec<f32> = area_mm2.iter().map(|a| a / cell.powi(3)).collect();
    let mut w: Vec<f32> = half_mm.iter().map(|r| 1.0 / r.max(0.3 * cell)).collect();
    solve(equations, &right, &mut w);
    w
}

/// The volume of each metal cell, as a share of a whole one; what lies in cells under one half goes to the fullest
/// neighbour.
pub(super) fn volumes(grid: &Grid, metal: &Metal) -> Vec<f32> {
    let cells = metal.cells.iter();
    let mut volume: Vec<f32> = cells.map(|&c| grid.fill[c as usize]).collect();
    let steps = grid.steps();
    for (cell, &fill) in grid.fill.iter().enumerate() {
        if fill <= 0.0 || fill >= 0.5 {
            continue;
        }
        let mut to = (0.0, NONE);
        for step in steps.iter().flat_map(|s| [-s, *s]) {
            let other = (cell as isize + step) as usize;
            if metal.holds(other) && grid.fill[other] > to.0 {
                to = (grid.fill[other], metal.slot[other]);
            }
        }
        if to.1 != NONE {
            volume[to.1 as usize] += fill;
        }
    }
    volume
}
