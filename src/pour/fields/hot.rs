//! Hot spots: the sections that freeze last.
//!
//! Method: peaks of the local volume over area that stand at least [`STANDS_OUT`] over the pass to any higher one. The
//! modulus of a spot is 1 / the mean of surface over volume in the largest ball there.

use std::collections::BTreeMap;

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::ball::{Ball, ball_near, mean_in};
use crate::pour::fields::basins::peaks;
use crate::pour::fields::grid::NONE;

/// A peak counts from this ratio of its value to its pass.
pub const STANDS_OUT: f64 = 1.05;

/// A section that freezes later than what is round it.
#[derive(Debug, Clone, PartialEq)]
pub struct HotSpot {
    /// The middle of the largest ball inside it (mm).
    pub at: Vec3,
    /// Local volume over area (mm).
    pub modulus_mm: f64,
    /// Diameter of the largest ball inside it (mm).
    pub ball_mm: f64,
    /// The features whose surfaces are nearest to it, the largest share first.
    pub features: Vec<FeatureId>,
    /// Its metal cell, for [`Fields`].
    pub slot: u32,
}

/// All hot spots, the largest modulus first.
pub(super) fn hot_spots(fields: &Fields) -> Vec<HotSpot> {
    let local: Vec<f32> = fields.surface.iter().map(|w| 1.0 / w).collect();
    let mut out: Vec<HotSpot> = Vec::new();
    for peak in peaks(&fields.grid, &fields.metal, &local) {
        if f64::from(peak.value) < STANDS_OUT * f64::from(peak.pass) {
            continue;
        }
        let slot = widest_near(fields, peak.slot);
        let ball = ball_near(fields, slot);
        let same = |s: &HotSpot| s.at.distance(ball.at) < 0.25 * ball.radius_mm;
        if out.iter().any(same) {
            continue;
        }
        out.push(HotSpot {
            at: ball.at,
            modulus_mm: 1.0 / mean_in(fields, &fields.surface, ball.at, ball.radius_mm),
            ball_mm: 2.0 * ball.radius_mm,
            features: features_of(fields, &ball),
            slot,
        });
    }
    out.sort_by(|a, b| {
        let size = b.modulus_mm.total_cmp(&a.modulus_mm);
        size.then(a.slot.cmp(&b.slot))
    });
    out
}

/// The widest place that is plainly part of the section at a metal cell: within one and a half half thicknesses, in
/// sight, again and again.
fn widest_near(fields: &Fields, from: u32) -> u32 {
    let grid = &fields.grid;
    let mut slot = from;
    for _ in 0..8 {
        let half = fields.nearest.distance_mm[slot as usize];
        let middle = grid.middle(fields.metal.cells[slot as usize] as usize);
        let far = 1.5 * f64::from(half) + grid.cell_mm;
        // By more than the grid's own unevenness.
        let mut best = (half + 0.5 * grid.cell_mm as f32, slot);
        grid.each_within(middle - far, middle + far, |c| {
            let other = fields.metal.slot[c];
            if other == NONE || fields.nearest.distance_mm[other as usize] <= best.0 {
                return;
            }
            let place = grid.middle(c);
            if place.distance(middle) <= far && fields.clear(middle, place) {
                best = (fields.nearest.distance_mm[other as usize], other);
            }
        });
        if best.1 == slot {
            break;
        }
        slot = best.1;
    }
    slot
}

/// The features nearest to the cells of a ball and round it, by share.
pub(super) fn features_of(fields: &Fields, ball: &Ball) -> Vec<FeatureId> {
    let mut share: BTreeMap<FeatureId, f64> = BTreeMap::new();
    let radius = ball.radius_mm.max(fields.grid.cell_mm);
    fields
        .grid
        .each_within(ball.at - radius, ball.at + radius, |c| {
            let slot = fields.metal.slot[c];
            if slot == NONE || fields.grid.middle(c).distance(ball.at) > radius {
                return;
            }
            let triangle = fields.nearest.triangle[slot as usize] as usize;
            if let Some(&feature) = fields.solid.features.get(triangle) {
                *share.entry(feature).or_default() += 1.0;
            }
        });
    let mut shares: Vec<(FeatureId, f64)> = share.into_iter().collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    shares.into_iter().map(|(feature, _)| feature).collect()
}
