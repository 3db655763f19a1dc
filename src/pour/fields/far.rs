//! Thin walls that the front reaches late: by then a wall as thin would have frozen.
//!
//! Both sides are ranges, so their middles are compared (the geometric means of the front's speeds and of the mould's
//! constants). That rule is our own choice, and whoever prints it says so with both ranges.

use std::collections::BTreeMap;

use crate::drawing::given::FeatureId;
use crate::foundry::freezing::{MOULD_S_CM2, freezing_s};
use crate::foundry::gating::front_s;
use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::front::{Front, SPEED_MM_S};
use crate::solid::NO_FEATURE;

/// Less of a wall's middle than this at a feature isn't told (mm³).
const TRIFLE_MM3: f64 = 500.0;

/// The middle of a wall lies this far in, as a share of its half thickness: at its edges a wall reads thinner than it is.
const MIDDLE: f32 = 0.8;

/// The metal of a feature that the front reaches late.
#[derive(Debug, Clone, PartialEq)]
pub struct FarWall {
    /// The feature whose surface is nearest.
    pub feature: FeatureId,
    /// Where it is latest (mm).
    pub at: Vec3,
    /// The metal's travel to there (mm).
    pub travel_mm: f64,
    /// The modulus there (mm).
    pub modulus_mm: f64,
    /// How much of its walls' middle is reached late (mm³), by the cells.
    pub volume_mm3: f64,
}

impl FarWall {
    /// Least and greatest time of the travel there (s).
    pub fn reached_s(&self) -> [f64; 2] {
        front_s(self.travel_mm)
    }

    /// Least and greatest time in which a wall as thin freezes (s).
    pub fn freezes_s(&self) -> [f64; 2] {
        [MOULD_S_CM2.low, MOULD_S_CM2.high].map(|b| freezing_s(b, self.modulus_mm))
    }
}

/// The middle of the travel's time over the middle of the freezing time: from 1 on it is late.
pub fn lateness(travel_mm: f64, modulus_mm: f64) -> f64 {
    let speed = (SPEED_MM_S[0] * SPEED_MM_S[1]).sqrt();
    let constant = (MOULD_S_CM2.low * MOULD_S_CM2.high).sqrt();
    travel_mm / speed / freezing_s(constant, modulus_mm)
}

/// Features with metal that is reached late, the latest first.
pub(super) fn far_walls(fields: &Fields, front: &Front) -> Vec<FarWall> {
    let cell_mm3 = fields.grid.cell_mm.powi(3);
    let mut by_feature: BTreeMap<FeatureId, (f64, FarWall)> = BTreeMap::new();
    for (slot, travel) in front.travel_mm.iter().enumerate() {
        let (travel_mm, modulus_mm) = (f64::from(*travel), 1.0 / f64::from(fields.surface[slot]));
        if fields.nearest.distance_mm[slot] < MIDDLE * fields.half_mm[slot] {
            continue;
        }
        let late = lateness(travel_mm, modulus_mm);
        let feature = feature_near(fields, slot);
        if !travel_mm.is_finite() || late < 1.0 || feature == NO_FEATURE {
            continue;
        }
        let found = || FarWall {
            feature,
            at: fields.middle(slot as u32),
            travel_mm,
            modulus_mm,
            volume_mm3: 0.0,
        };
        let (latest, wall) = by_feature.entry(feature).or_insert_with(|| (late, found()));
        if late > *latest {
            let volume_mm3 = wall.volume_mm3;
            (*latest, *wall) = (late, found());
            wall.volume_mm3 = volume_mm3;
        }
        wall.volume_mm3 += cell_mm3;
    }
    let mut out: Vec<_> = by_feature.into_values().collect();
    out.retain(|(_, wall)| wall.volume_mm3 >= TRIFLE_MM3);
    out.sort_by(|a, b| b.0.total_cmp(&a.0));
    out.into_iter().map(|(_, wall)| wall).collect()
}

/// The feature whose surface is nearest to a metal cell.
fn feature_near(fields: &Fields, slot: usize) -> FeatureId {
    let triangle = fields.nearest.triangle[slot] as usize;
    fields
        .solid
        .features
        .get(triangle)
        .copied()
        .unwrap_or(NO_FEATURE)
}
