//! Fields inside the metal: how heavy each section is, how it is fed, how the front runs, where sand doesn't go.
//!
//! Everything here is an estimate on a grid of cells, and whoever prints it says so, with the method's name. Volumes and
//! weights are taken from the mesh, never from the grid, which is off by about an eighth of a cell at each wall.
//! Members under 1.4 cells and gaps under 1.8 cells aren't resolved.
//!
//! Entry: [`fields`], then [`Fields::hot_spots`] and [`Fields::feeding`], [`Fields::front`]; [`unfilled`] for the sand.

mod area;
mod attitude;
mod ball;
mod basins;
mod contact;
mod corner;
mod fans;
mod far;
mod feed;
mod findings;
mod flats;
mod front;
mod girth;
mod grid;
mod hot;
mod map;
mod meet;
mod nearest;
mod outlook;
mod propose;
mod sand;
mod scan;
mod solver;
mod spread;
mod sweep;
mod threads;

use std::sync::{Arc, OnceLock};

pub use attitude::Attitude;
pub use ball::Ball;
pub use contact::{Contact, Kind};
pub use corner::Corner;
pub use far::{FarWall, lateness};
pub use feed::{FED_FROM, Fed};
pub use findings::{
    CORNER_FROM, Fill, HEAVY_FROM, SHARP_FROM, THICK_FROM, findings, misruns, no_sand,
};
pub use front::{Front, Last, SPEED_MM_S};
pub use grid::{Grid, Metal};
pub use hot::{HotSpot, STANDS_OUT};
pub use meet::Meeting;
pub use nearest::Nearest;
pub use outlook::{Outlook, Subject, cell_for, contacts, outlook};
pub use propose::Proposal;
pub use sand::{BALL_MM, Hollow, REPOSE_DEG, Why, unfilled};

use crate::measure::Vec3;
use crate::pour::fields::fans::Fans;
use crate::pour::fields::flats::Flats;
use crate::solid::Solid;

/// Surface is spread over this many half thicknesses.
const REACH: f32 = 2.0;

/// Empty cells round the mesh: steps of the front go three cells far.
const MARGIN: usize = 3;

/// A closed mesh on a grid, with what was worked out on its metal cells.
#[derive(Debug, Clone)]
pub struct Fields {
    /// The mesh.
    pub solid: Arc<Solid>,
    /// The cells.
    pub grid: Grid,
    /// The metal cells.
    pub metal: Metal,
    /// The nearest surface; one a metal cell.
    pub nearest: Nearest,
    /// Half thickness round about (mm); one a metal cell.
    pub half_mm: Vec<f32>,
    /// Metal of each metal cell and of the cells beside it that are less than half metal, as a share of a whole cell.
    pub volume: Vec<f32>,
    /// Local surface over volume (1/mm); one a metal cell.
    pub surface: Vec<f32>,
    /// The triangles at each point of the mesh.
    fans: Fans,
    /// The flat faces of the mesh, once they are asked for.
    flats: OnceLock<Flats>,
    /// The largest ball that takes in each metal cell, once that is asked for.
    girth_mm: OnceLock<Vec<f32>>,
}

/// The fields of a closed mesh on cells of this size (mm).
pub fn fields(solid: &Arc<Solid>, cell_mm: f64) -> Fields {
    fields_but(solid, cell_mm, &|_| false)
}

/// The same, where some places of the surface are no surface to the sand, such as where a gate joins it.
pub fn fields_but(
    solid: &Arc<Solid>,
    cell_mm: f64,
    joined: &(dyn Fn(Vec3) -> bool + Sync),
) -> Fields {
    let grid = Grid::of(solid, cell_mm, MARGIN);
    let metal = Metal::of(&grid);
    let nearest = nearest::nearest(solid, &grid, &metal);
    let half_mm = nearest::climb(&grid, &metal, &nearest.distance_mm);
    let area = area::area_of(solid, &grid, &metal, joined);
    let volume = spread::volumes(&grid, &metal);
    let surface = spread::spread(&grid, &metal, [&area, &volume, &half_mm], REACH);
    Fields {
        solid: Arc::clone(solid),
        grid,
        metal,
        nearest,
        half_mm,
        volume,
        surface,
        fans: Fans::of(solid),
        flats: OnceLock::new(),
        girth_mm: OnceLock::new(),
    }
}

impl Fields {
    /// The sections that freeze last, the largest modulus first.
    pub fn hot_spots(&self) -> Vec<HotSpot> {
        hot::hot_spots(self)
    }

    /// Junctions whose inside ball is more than `over` times the walls that meet there, the greatest ratio first.
    pub fn corners(&self, over: f64) -> Vec<Corner> {
        corner::corners(self, over)
    }

    /// How each of these spots is fed from some contacts; one a spot.
    pub fn feeding(&self, spots: &[HotSpot], contacts: &[Contact]) -> Vec<Fed> {
        feed::feeding(self, spots, contacts)
    }

    /// A gate that would feed a spot; `None` where no flat face near it takes one.
    pub fn propose(&self, spot: &HotSpot) -> Option<Proposal> {
        propose::propose(self, spot)
    }

    /// A gate that stands on a junction, and feeds what of these spots lies in it; `None` where no flat face is wide
    /// enough.
    pub fn propose_on(&self, corner: &Corner, spots: &[HotSpot]) -> Option<Proposal> {
        propose::propose_on(self, corner, spots)
    }

    /// How far the metal travels from some contacts.
    pub fn front(&self, contacts: &[Contact]) -> Front {
        front::front(self, contacts)
    }

    /// Where fronts meet over at least so much (mm²), the largest first.
    pub fn meetings(&self, front: &Front, least_mm2: f64) -> Vec<Meeting> {
        meet::meetings(self, front, least_mm2)
    }

    /// Features with metal so thin and so far from a gate that it would have frozen when the front comes, latest first.
    pub fn far_walls(&self, front: &Front) -> Vec<FarWall> {
        far::far_walls(self, front)
    }

    /// The usual modulus of the casting: half of the metal has less (mm).
    pub fn usual_modulus_mm(&self) -> f64 {
        let mut local: Vec<f32> = self.surface.iter().map(|w| 1.0 / w).collect();
        local.sort_unstable_by(f32::total_cmp);
        local.get(local.len() / 2).map_or(0.0, |m| f64::from(*m))
    }

    /// The diameter of the largest ball inside the metal that takes in each metal cell (mm); one a metal cell.
    pub fn girth_mm(&self) -> &[f32] {
        self.girth_mm.get_or_init(|| girth::girths(self))
    }

    /// The middle of a metal cell (mm).
    pub fn middle(&self, slot: u32) -> Vec3 {
        self.grid.middle(self.metal.cells[slot as usize] as usize)
    }

    /// The normal of the surface nearest to a metal cell, out of the metal; zero where none is known.
    pub fn outward(&self, slot: u32) -> Vec3 {
        let triangle = self.nearest.triangle[slot as usize] as usize;
        if triangle >= self.solid.triangles.len() {
            return Vec3::ZERO;
        }
        let [a, b, c] = self.corners_of(triangle as u32);
        (b - a).cross(c - a).normalize_or_zero()
    }

    /// The corners of a triangle of the mesh.
    fn corners_of(&self, triangle: u32) -> [Vec3; 3] {
        self.solid.triangles[triangle as usize].map(|i| self.solid.points[i as usize])
    }

    /// How far a point beside a metal cell is from the surface (mm), by the triangles near that cell.
    pub(in crate::pour::fields) fn room(&self, p: Vec3, slot: u32) -> f64 {
        ball::room(self, p, self.metal.cells[slot as usize] as usize)
    }

    /// Whether the straight way between two points stays in metal cells.
    pub fn clear(&self, from: Vec3, to: Vec3) -> bool {
        let steps = (from.distance(to) / (0.25 * self.grid.cell_mm))
            .ceil()
            .max(1.0);
        (1..steps as usize).all(|i| {
            let p = from + (to - from) * (i as f64 / steps);
            self.grid.find(p).is_some_and(|c| self.metal.holds(c))
        })
    }
}
