//! Thickness at one place, and over all triangles.

use super::probe::oblique_turn;
use super::search::{Found, Kind, in_parallel};
use super::surface::Surface;
use crate::measure::Vec3;

/// The candidates of a triangle that are tried before it is given up.
const TRIES: usize = 6;

/// A way through metal begins so far in (mm), past the surface that it begins on.
const BEGIN_MM: f64 = 1e-3;

/// The wall at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thickness {
    /// The diameter of the ball that touches both sides (mm).
    pub thickness_mm: f64,
    /// Where it touches (mm): first on the side nearest to the place asked for.
    pub ends: [Vec3; 2],
    /// The features of the two sides.
    pub features: [usize; 2],
}

/// The thickness of the wall at the place of the surface nearest to `p`, between its face and the faces that oppose
/// it (up to 62° from parallel). `None` where no face opposes it, or on a mesh without triangles.
pub fn thickness_at(surface: &Surface, p: Vec3) -> Option<Thickness> {
    let everything = surface.tree.nodes.first()?;
    let high = Vec3::from_array(everything.high.map(f64::from));
    let low = Vec3::from_array(everything.low.map(f64::from));
    let size = surface.size_mm();
    let reach = size + p.distance((low + high) * 0.5);
    let (first, on) = surface.tree.nearest(
        &surface.corners,
        p,
        reach,
        |_| true,
        |i| surface.normals[i] != Vec3::ZERO,
    )?;
    // Where several triangles meet, the one that looks most towards the place.
    let facing = surface.normals[first];
    let way = (p - on).normalize_or(facing);
    let first = surface.owner(first, on, if way.dot(facing) < 0.0 { -way } else { way });
    let normal = surface.normal_at(first, on);
    let (thickness_mm, stop) = surface.ball_at(on, normal, size * 2.0, oblique_turn());
    let (second, end) = stop?;
    Some(Thickness {
        thickness_mm,
        ends: [on, end],
        features: [surface.features[first], surface.features[second]],
    })
}

/// Way in against a direction of sight: a face that looks away by more than this can't be seen along it.
const STEEP: f64 = 1e-6;

impl Surface {
    /// From corner to corner of the box round it (mm).
    fn size_mm(&self) -> f64 {
        let corner = |c: [f32; 3]| Vec3::from_array(c.map(f64::from));
        let everything = self.tree.nodes.first();
        everything.map_or(0.0, |n| corner(n.low).distance(corner(n.high)))
    }

    /// How far it is from a place on the surface, going in (a unit direction), to where the metal ends (mm); infinite
    /// where it never does. Metal that the way enters only a little farther on counts from the place.
    pub fn through(&self, from: Vec3, inward: Vec3) -> f64 {
        let most = 2.0 * self.size_mm();
        let mut gone = BEGIN_MM;
        while gone < most {
            let hit = self.ray(from + inward * gone, inward, most - gone);
            let Some((far, triangle)) = hit else {
                return f64::INFINITY;
            };
            gone += far;
            if self.normals[triangle].dot(inward) > 0.0 {
                return gone;
            }
            gone += BEGIN_MM;
        }
        f64::INFINITY
    }

    /// Whether a place on the surface, where the way in is that (a unit direction), can be seen from straight above or
    /// straight below. A place on a wall is looked for `off_mm` before it.
    pub fn seen_upright(&self, place: Vec3, inward: Vec3, off_mm: f64) -> bool {
        let far = 2.0 * self.size_mm();
        let from = place - inward * off_mm;
        [Vec3::Z, Vec3::NEG_Z]
            .into_iter()
            .filter(|way| inward.dot(*way) < STEEP)
            .any(|way| self.ray(from, way, far).is_none())
    }
}

/// The least thickness seen from each triangle as given (mm), infinite where it isn't under the limit of the search.
pub(super) fn map(surface: &Surface, found: &Found) -> Vec<f32> {
    let mut order: Vec<u32> = (0..found.candidates.len() as u32).collect();
    let candidate = |i: u32| &found.candidates[i as usize];
    order.sort_unstable_by(|&a, &b| {
        candidate(a)
            .thickness
            .total_cmp(&candidate(b).thickness)
            .then(a.cmp(&b))
    });
    let mut seen: Vec<Vec<u32>> = vec![Vec::new(); surface.len()];
    for i in order {
        for t in candidate(i).triangles {
            if seen[t].len() < TRIES && candidate(i).kind != Kind::Oblique {
                seen[t].push(i);
            }
        }
    }
    let least: Vec<(u32, f32)> = in_parallel(surface.len(), 256, &|| true, |t, out| {
        let thin = seen[t]
            .iter()
            .find(|&&i| surface.in_metal(candidate(i).ends));
        let mm = thin.map_or(f32::INFINITY, |&i| candidate(i).thickness as f32);
        out.push((surface.given[t], mm));
    });
    let mut out = vec![f32::INFINITY; surface.len()];
    for (t, mm) in least {
        out[t as usize] = mm;
    }
    out
}
