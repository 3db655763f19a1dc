//! Junctions: places whose inside ball is large against the walls that meet there.
//!
//! A sharp inside corner heats the sand in it, which volume over area doesn't see; the ball does. Method: peaks of the
//! distance from the surface; the walls' thickness is the median of the distances along the middle of the metal that
//! lies one ball's diameter away, so that neither the ridge of a long junction nor one stout wall decides.

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::ball::{Ball, ball_near};
use crate::pour::fields::basins::peaks;
use crate::pour::fields::grid::NONE;
use crate::pour::fields::hot::features_of;

/// A peak of the distance counts from this ratio to its pass; under it, it is the grid's own unevenness.
const STANDS_OUT: f32 = 1.1;

/// Two surfaces face each other where the cosine of their normals is under this.
const FACING: f64 = -0.7;

/// A junction.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    /// The middle of the ball (mm).
    pub at: Vec3,
    /// Diameter of the largest ball inside it (mm).
    pub ball_mm: f64,
    /// The thickness of the walls beside it (mm).
    pub wall_mm: f64,
    /// The features whose surfaces are nearest to it, the largest share first.
    pub features: Vec<FeatureId>,
}

impl Corner {
    /// Ball over wall.
    pub fn ratio(&self) -> f64 {
        self.ball_mm / self.wall_mm
    }

    /// Whether another is a place of the same long junction.
    fn same_as(&self, other: &Corner) -> bool {
        let shared = self.features.iter().filter(|f| other.features.contains(f));
        let most = self.features.len().max(other.features.len());
        2 * shared.count() > most && (self.ball_mm / other.ball_mm - 1.0).abs() < 0.02
    }
}

/// Junctions with a ratio above `over`, the greatest first.
pub(super) fn corners(fields: &Fields, over: f64) -> Vec<Corner> {
    let mut out: Vec<Corner> = Vec::new();
    for slot in stands_out(fields) {
        let ball = ball_near(fields, slot);
        let Some(wall_mm) = wall_beside(fields, &ball) else {
            continue;
        };
        let corner = Corner {
            at: ball.at,
            ball_mm: 2.0 * ball.radius_mm,
            wall_mm,
            features: features_of(fields, &ball),
        };
        if corner.ratio() > over {
            out.push(corner);
        }
    }
    out.sort_by(|a, b| b.ratio().total_cmp(&a.ratio()));
    let mut kept: Vec<Corner> = Vec::new();
    for corner in out {
        if !kept.iter().any(|k| k.same_as(&corner)) {
            kept.push(corner);
        }
    }
    kept
}

/// The metal cells at the peaks of the distance, but for the grid's own unevenness.
pub(super) fn stands_out(fields: &Fields) -> impl Iterator<Item = u32> {
    let uneven = 0.35 * fields.grid.cell_mm as f32;
    let all = peaks(&fields.grid, &fields.metal, &fields.nearest.distance_mm);
    all.into_iter()
        .filter(move |p| p.value >= STANDS_OUT * p.pass && p.value >= p.pass + uneven)
        .map(|p| p.slot)
}

/// The usual thickness of the walls one diameter away from a ball's middle (mm).
fn wall_beside(fields: &Fields, ball: &Ball) -> Option<f64> {
    let grid = &fields.grid;
    let inner = 2.0 * ball.radius_mm;
    let outer = inner + 1.5 * grid.cell_mm;
    let mut slots = Vec::new();
    grid.each_within(ball.at - outer, ball.at + outer, |c| {
        let slot = fields.metal.slot[c];
        let far = grid.middle(c).distance(ball.at);
        if slot != NONE && (inner..=outer).contains(&far) && middle_of_wall(fields, slot) {
            slots.push(slot);
        }
    });
    slots.retain(|slot| fields.clear(ball.at, fields.middle(*slot)));
    let far = |slot: &u32| fields.nearest.distance_mm[*slot as usize];
    slots.sort_by(|a, b| far(a).total_cmp(&far(b)).then(a.cmp(b)));
    let median = *slots.get(slots.len() / 2)?;
    Some(2.0 * room_at(fields, median))
}

/// Whether a metal cell lies in the middle between two surfaces that face each other: along some axis the surface is
/// nearer on both sides, and is another one. (The middle also runs out to convex edges; that is no wall.)
fn middle_of_wall(fields: &Fields, slot: u32) -> bool {
    let far = |slot: u32| fields.nearest.distance_mm[slot as usize];
    let here = far(slot);
    let less = 0.4 * fields.grid.cell_mm as f32;
    let near = fields.metal.near[slot as usize];
    (0..3).any(|k| {
        let (a, b) = (near[2 * k], near[2 * k + 1]);
        if a == NONE || b == NONE {
            return false;
        }
        // Where the middle lies between two cells, both are as far as each other.
        let ridge = far(a).max(far(b)) <= here + 1e-3 && far(a).min(far(b)) < here - less;
        ridge && fields.outward(a).dot(fields.outward(b)) < FACING
    })
}

/// Half the thickness at a metal cell: the farthest from the surface within half a cell of its middle (mm).
pub(super) fn room_at(fields: &Fields, slot: u32) -> f64 {
    let here = f64::from(fields.nearest.distance_mm[slot as usize]);
    let inward = -fields.outward(slot);
    let from = fields.middle(slot);
    let step = 0.05 * fields.grid.cell_mm;
    let ahead = |s: f64| fields.room(from + inward * s, slot);
    let steps = (0..=20).map(|i| ahead(f64::from(i) * step));
    steps.fold(here, f64::max)
}
