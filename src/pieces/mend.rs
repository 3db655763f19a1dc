//! Foam that was cut from an earlier version, made good: what to glue in and what to carve away.
//!
//! Both are exact differences of the two patterns, where they lie in the pattern. What is thinner than foam can be cut or
//! glued is left out, and counted.

use std::collections::BTreeMap;

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;
use crate::solid::{Solid, SolidFault, difference};

/// On the average no thinner than this is worth gluing or carving (mm): our own choice.
pub const SLIVER_MM: f64 = 0.5;

/// So many of a patch's triangles, the largest, say which feature it belongs to.
const ASKED: usize = 64;

/// Nor smaller than this (mm³).
const SLIVER_MM3: f64 = 20.0;

/// A body of foam to glue in, or to carve away.
#[derive(Debug, Clone)]
pub struct Patch {
    /// Its mesh, where it lies in the pattern; sound when rounded to f32.
    pub solid: Solid,
    /// Its volume (mm³).
    pub volume_mm3: f64,
    /// Its extents along the pattern's axes (mm).
    pub size_mm: Vec3,
    /// Its middle in the pattern (mm).
    pub at: Vec3,
    /// The feature of the pattern whose surface is nearest to most of its own.
    pub feature: Option<FeatureId>,
}

/// What the foam needs.
#[derive(Debug, Clone, Default)]
pub struct Mending {
    /// What the pattern has and the foam has not, the largest first.
    pub glue_in: Vec<Patch>,
    /// What the foam has and the pattern has not, the largest first.
    pub carve: Vec<Patch>,
    /// How many bodies of either kind were left out as slivers.
    pub slivers: usize,
    /// Their volume (mm³).
    pub slivers_mm3: f64,
}

/// What foam that was cut as `cut` needs to become `pattern`. Both in mm, in the same place.
///
/// # Errors
/// The kernel panicked or refused a mesh.
pub fn mending(pattern: &Solid, cut: &Solid) -> Result<Mending, SolidFault> {
    let mut out = Mending::default();
    let (missing, surplus) = (difference(pattern, cut)?, difference(cut, pattern)?);
    out.glue_in = patches(&missing, pattern, &mut out.slivers, &mut out.slivers_mm3);
    out.carve = patches(&surplus, pattern, &mut out.slivers, &mut out.slivers_mm3);
    Ok(out)
}

/// The bodies of a difference that are worth it, the largest first.
fn patches(
    left: &Solid,
    pattern: &Solid,
    slivers: &mut usize,
    slivers_mm3: &mut f64,
) -> Vec<Patch> {
    let mut out = Vec::new();
    for body in left.bodies() {
        let solid = body.settled().solid;
        let volume_mm3 = solid.volume_mm3();
        // A wide flat body has two sides: its mean thickness is twice its volume over its area.
        let thick_mm = 2.0 * volume_mm3 / solid.area_mm2().max(f64::MIN_POSITIVE);
        if volume_mm3 < SLIVER_MM3 || thick_mm < SLIVER_MM {
            *slivers += 1;
            *slivers_mm3 += body.volume_mm3();
            continue;
        }
        let bounds = solid.bounds();
        let at = (bounds.low + bounds.high) / 2.0;
        out.push(Patch {
            volume_mm3,
            size_mm: bounds.size(),
            at,
            feature: feature_of(&solid, pattern),
            solid,
        });
    }
    out.sort_by(|a, b| b.volume_mm3.total_cmp(&a.volume_mm3));
    out
}

/// The feature that the largest triangles of a patch lie nearest to, by area.
fn feature_of(patch: &Solid, pattern: &Solid) -> Option<FeatureId> {
    let sized = patch.corners().map(|[a, b, c]| {
        let area = (b - a).cross(c - a).length();
        (area, (a + b + c) / 3.0)
    });
    let mut sized: Vec<(f64, Vec3)> = sized.collect();
    sized.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut votes: BTreeMap<FeatureId, f64> = BTreeMap::new();
    for (area, middle) in sized.into_iter().take(ASKED) {
        if let Some(feature) = pattern.feature_near(middle) {
            *votes.entry(feature).or_default() += area;
        }
    }
    let most = votes.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
    most.map(|(feature, _)| feature)
}
